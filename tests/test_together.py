"""What numbers were known together: checked, kept with the knife and in its file, dropped where a number is read
anew.
"""

from dataclasses import replace

import pytest

import detentlib as dl
from tests.knives import CARDS

FORCE, RIM, ARM = "bar.riding_force", "friction.rim", "blade.tab_arm"
RECESS = ("balls[0].recess.diameter", "balls[0].recess.rest_offset")
CARD = replace(CARDS["C"], known_together={(RIM, FORCE): -0.8, RECESS: 1 / 3})


@pytest.mark.parametrize(
    ("together", "match"),
    [
        ({(RIM, FORCE): 1.5}, "1.5: lies outside −1 to 1"),
        ({(RIM, FORCE): float("nan")}, "is not a number"),
        ({(RIM, FORCE): True}, "is not a number"),
        ({(RIM, "friction.washer"): 0.5}, "friction.washer has no ±"),
        ({(RIM, "friction.rimm"): 0.5}, "friction.rimm has no ±"),
        ({RIM: 0.5}, "is no pair of two numbers"),
        ({(RIM, RIM): 1.0}, "is no pair of two numbers"),
        ({(RIM, FORCE): 0.5, (FORCE, RIM): 0.5}, "is given twice"),
        ({(RIM, FORCE): 0.9, (RIM, ARM): 0.9, (FORCE, ARM): -0.9}, "cannot all hold at once"),
    ],
)
def test_what_cannot_be_is_refused(together, match):
    with pytest.raises(dl.KnifeError, match=match):
        replace(CARD, known_together=together)


def test_correlations_in_three_decimals_are_taken():
    """1, 0.6 and 0.6 hold together; written as 0.999, 0.600 and 0.560 they miss it by less than the last digit says."""
    written = {(RIM, FORCE): 0.999, (RIM, ARM): 0.600, (FORCE, ARM): 0.560}
    assert replace(CARD, known_together=written).known_together == written


def test_it_stays_where_a_number_is_only_set_and_goes_where_it_is_read_anew_or_taken_away():
    assert CARD.replace({RIM: 0.15}).known_together == CARD.known_together
    assert CARD.measured({RIM: (0.15, 0.02)}).known_together == {RECESS: 1 / 3}
    assert CARD.replace({"balls[1].bearing_deg": None}).known_together == CARD.known_together
    near = replace(CARD, known_together={("balls[1].bearing_deg", RIM): 0.5})
    assert near.replace({"balls[1].bearing_deg": None}).known_together == {}


def test_it_comes_back_from_a_file(tmp_path):
    dl.write_knife(CARD, tmp_path / "c.toml")
    again = dl.read_knife(tmp_path / "c.toml")
    assert again == CARD
    assert again.known_together == CARD.known_together


@pytest.mark.parametrize(
    ("table", "match"),
    [
        (
            '[known_together]\n"friction.rim" = 0.5\n',
            r"line \d+, known_together = friction.rim = 0.5: names no other number",
        ),
        ('[known_together]\n"friction.rim" = { "bar.riding_force" = 2 }\n', "lies outside −1 to 1"),
        ('[known_together]\n"friction.rim" = { "bar.riding" = 0.5 }\n', "bar.riding has no ±"),
    ],
)
def test_a_table_that_is_wrong_is_told_with_its_line(tmp_path, table, match):
    dl.write_knife(CARDS["A"], tmp_path / "a.toml")
    text = (tmp_path / "a.toml").read_text(encoding="utf-8")
    (tmp_path / "b.toml").write_text(text + table, encoding="utf-8")
    with pytest.raises(dl.KnifeError, match=match):
        dl.read_knife(tmp_path / "b.toml")
