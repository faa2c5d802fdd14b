"""How a number was measured: what each word is worth, what it refuses, and that a number of which nobody says anything
is never exact.

Outside: error limits of DIN 862, 863 and 878, and general tolerances of ISO 2768-1 (from memory); balls of ISO 3290-1
by the table of tune/stock.py. No ± may be narrower than the instrument alone.
"""

import random
import re
from dataclasses import fields, replace

import pytest

import detentlib as dl
from detentlib.files.fields import TABLES, data_of, knife_from_fields, read_number, texts_of
from detentlib.files.instead import other_way, read_instead
from detentlib.files.instruments import GUESS, INSTRUMENTS, WAYS, doubt_by, read_said, words_for
from detentlib.files.knife_file import knife_text, read_knife, write_knife
from detentlib.files.pulled import PULLED
from detentlib.knife.parts import Ball, KnifeError, Recess, spec
from detentlib.knife.paths import field_of
from detentlib.knife.units import UnitError, Within
from detentlib.measure.readings import ReadingError, readings_from_text
from detentlib.pages.handout import handout_page
from detentlib.say.headline import headline
from tests.knives import CARDS, FOLDER, A

OWNERS = {"balls[0]": Ball, "balls[0].recess": Recess, **TABLES}
NUMBERS = [f"{owner}.{each.name}" for owner, kind in OWNERS.items() for each in fields(kind) if "unit" in each.metadata]
NUMBERS += [other for path in NUMBERS for other in [other_way(path)] if other and read_instead(other)]
NUMBERS += ["balls[1].lower_by", "balls[1].further_out", "balls[1].recess.smaller_by", *PULLED]
CARD = {
    "bar.riding_force": "17.04 N, pull gauge",
    "bar.rate": "10.3 ± 0.5 N/mm",
    "balls[0].diameter": "1/16 in, stock size",
    "balls[0].protrusion": "0.420 mm, depth micrometer",
    "balls[0].track_radius": "0.315 in, calipers",
    "balls[0].hinge_distance": "36.4 mm, ruler",
    "balls[0].recess.diameter": "52 thou, drill",
    "balls[0].recess.rest_offset": "0.06",
    "blade.tab_arm": "14.0 mm ± 0.2",
    "friction.rim": "0.120, guess",
    "friction.pivot_torque": "3 N·mm, exactly",
}


@pytest.mark.parametrize("path", NUMBERS)
def test_nothing_said_is_a_guess_and_wider_than_any_instrument(path):
    data = data_of(path)
    for value in (0.0, 1.0, 50.0):
        if value == 0 and data["rule"] in ("positive", "acute"):
            continue
        found, doubt, said = read_number(path, f"{value}", data)
        assert (found, said.word) == (value, GUESS)
        assert doubt > 0
        assert doubt >= max(doubt_by(word, path, value, data) for word in words_for(path, data))
        assert all(doubt_by(word, path, value, data) > 0 for word in words_for(path, data))


def test_every_word_measures_something_and_says_how_its_doubt_comes_about():
    used = {word for path in NUMBERS for word in words_for(path, data_of(path))}
    assert used == WAYS.keys()
    assert {each.word for each in INSTRUMENTS} < WAYS.keys()
    named = {name for way in WAYS.values() for _, names in way.doubts for name in names}
    assert named <= {field_of(path) for path in NUMBERS}
    for way in WAYS.values():
        assert way.reads
        assert way.why


@pytest.mark.parametrize(
    ("word", "path", "limit"),
    [
        ("calipers", "balls[0].diameter", 0.03),  # DIN 862, 0.01 mm steps, to 200 mm, from memory
        ("micrometer", "balls[0].diameter", 0.004),  # DIN 863-1, to 25 mm, from memory
        ("depth micrometer", "balls[0].protrusion", 0.005),  # DIN 863-2, from memory
        ("dial indicator", "balls[0].recess.rim_gap", 0.017),  # DIN 878, over 10 mm, from memory
        ("stock size", "balls[0].diameter", 0.009),  # ISO 3290-1, a lot of grade 10 against nominal
        ("drawing", "bar.relief_thickness", 0.1),  # ISO 2768-1 m, from memory: to 6 mm, to 30 mm, to 120 mm
        ("drawing", "blade.tab_arm", 0.2),
        ("drawing", "balls[0].hinge_distance", 0.3),
    ],
)
def test_no_doubt_is_narrower_than_the_instrument_alone(word, path, limit):
    assert doubt_by(word, path, 1.0, data_of(path)) >= limit


def test_a_share_of_a_number_is_a_doubt_of_two_digits():
    assert doubt_by("data sheet", "bar.youngs_modulus", 113_800.0, data_of("bar.youngs_modulus")) == 3400  # not 3414


def test_a_file_fills_the_doubts_from_how_each_number_was_measured(tmp_path):
    knife = knife_from_fields(CARD, "card")
    wanted = {
        "bar.riding_force": 0.7,
        "bar.rate": 0.5,
        "balls[0].diameter": Within(0.009),
        "balls[0].protrusion": 0.010,
        "balls[0].track_radius": 0.20,
        "balls[0].hinge_distance": 0.5,
        "balls[0].recess.diameter": 0.040,
        "balls[0].recess.rest_offset": 0.075,
        "blade.tab_arm": 0.2,
        "friction.rim": 0.04,
    }
    assert {path: knife.doubts.get(path) for path in CARD} == wanted | {"friction.pivot_torque": None}
    assert set(knife.assumed) & CARD.keys() == {"balls[0].recess.rest_offset", "friction.rim"}
    write_knife(knife, tmp_path / "card.toml")
    again = read_knife(tmp_path / "card.toml")
    assert (again, again.said) == (knife, knife.said)
    text = knife_text(knife)
    for path, said in CARD.items():
        assert f'{path.rpartition(".")[2]} = "{said}' in text
    assert 'rest_offset = "0.06, guess"' in text


def test_a_file_keeps_limits_apart_from_a_doubt_of_the_same_size(tmp_path):
    knife = knife_from_fields(
        CARD | {"balls[0].protrusion": "0.42 mm, within 0.02 mm", "blade.tab_arm": "14 within 0.2 mm, drawing"}, "card"
    )
    limits = {"balls[0].protrusion": Within(0.02), "blade.tab_arm": Within(0.2)}
    assert limits.items() <= knife.doubts.items()
    python = replace(knife, said={})
    for name, each in (("said", knife), ("python", python)):
        write_knife(each, tmp_path / f"{name}.toml")
        assert read_knife(tmp_path / f"{name}.toml") == knife
    assert 'protrusion = "0.42 within 0.02 mm"' in knife_text(python)
    assert knife != replace(knife, doubts=knife.doubts | {"balls[0].protrusion": 0.02})


def test_a_doubt_by_hand_goes_first_and_a_guess_with_one_stays_a_guess():
    knife = knife_from_fields(
        CARD | {"blade.tab_arm": "14 ± 0.3 mm, calipers", "friction.rim": "0.12 ± 0.1, guess"}, "card"
    )
    assert (knife.doubts["blade.tab_arm"], knife.said["blade.tab_arm"].word) == (0.3, "calipers")
    assert (knife.doubts["friction.rim"], "friction.rim" in knife.assumed) == (0.1, True)


def test_a_guess_is_marked_wherever_the_knife_is_judged_or_reported():
    knife, rim = knife_from_fields(CARD, "card"), "friction coefficient at the rim"
    assert f"{rim} (a guess)" in repr(headline(knife))
    assert re.search(rim + ".{0,200}guess", handout_page(knife), re.DOTALL)
    for told in (repr(dl.find_fault("too stiff", knife)), str(dl.judge("oil", knife))):
        assert re.search(f"On the card:? a guess, not measured: .*{rim}", told)
    assert "a guess, not measured" not in repr(dl.find_fault("too stiff", A))


def test_what_is_listed_as_assumed_is_no_guess_of_anybody_and_never_exact(tmp_path):
    path = tmp_path / "old.toml"
    path.write_text(
        knife_text(replace(A, assumed=("blade.tab_arm",))).replace("14.0 ± 0.6 mm", "14.0"), encoding="utf-8"
    )
    knife = read_knife(path)
    assert (knife.doubts["blade.tab_arm"], "blade.tab_arm" in knife.assumed, "blade.tab_arm" in knife.said) == (
        1.2,
        True,
        False,
    )


def test_what_a_knife_says_anew_is_written_anew():
    knife = knife_from_fields(CARD, "card").replace({"balls[0].protrusion": 0.5})
    assert "balls[0].protrusion" not in knife.said
    texts = texts_of(knife)
    assert texts["balls[0].protrusion"] == "0.5 ± 0.01 mm"
    assert texts["blade.tab_arm"] == "14.0 mm ± 0.2"
    surer = dl.Knife(
        knife.title, knife.balls, knife.bar, knife.blade, knife.friction, doubts={"blade.tab_arm": 0.1}, said=knife.said
    )
    assert (texts_of(surer)["blade.tab_arm"], texts_of(surer)["bar.rate"]) == ("14.0 ± 0.1 mm", "10.3 N/mm, exactly")


def test_a_knife_of_python_is_as_exact_as_its_programmer_says(tmp_path):
    """It has no said, and what it leaves without ± reads back without."""
    knife = dl.Knife("A", A.balls, A.bar, A.blade, A.friction)
    write_knife(knife, tmp_path / "exact.toml")
    again = read_knife(tmp_path / "exact.toml")
    assert (again, again.doubts, again.assumed) == (knife, {}, ())
    assert 'tab_arm = "14.0 mm, exactly"' in knife_text(knife)


@pytest.mark.parametrize(
    ("text", "word"),
    [("0.6 mm, microscope", "microscope"), ("24 thou ± 0.5, photo", "photo"), ("0.6", GUESS), ("0.6 ± 0.01 mm", "")],
)
def test_what_was_read_another_way_is_written_as_it_was_read(tmp_path, text, word):
    card = {path: said for path, said in CARD.items() if "rest_offset" not in path and "riding_force" not in path}
    knife = knife_from_fields(card | {"balls[0].recess.rim_gap": text, "bar.preset": "1.65 mm, calipers"}, "card")
    assert knife.doubts["balls[0].recess.rest_offset"] > 0
    assert ("balls[0].recess.rest_offset" in knife.assumed) is (word == GUESS)
    write_knife(knife, tmp_path / "card.toml")
    written = (tmp_path / "card.toml").read_text(encoding="utf-8")
    assert f'rim_gap = "{text}' in written
    assert 'preset = "1.65 mm, calipers"' in written
    again = read_knife(tmp_path / "card.toml")
    assert (again, again.said) == (knife, knife.said)
    moved = knife.replace({"balls[0].recess.diameter": 1.35})
    assert "rest_offset" in knife_text(moved)
    assert "rim_gap" not in knife_text(moved)


REFUSED = {
    "0.42 mm, depht micrometer": ("is no way of measuring that is known here", "Did you mean depth micrometer"),
    "0.42 mm, by eye": ("is no way of measuring that is known here", "calipers"),
    "0.42 mm, pull gauge": (
        "cannot measure the protrusion",
        "It is for forces, and what a force gives; this one is had by caliper depth rod",
    ),
    "0.42 mm, calipers": ("cannot measure the protrusion", "It is for lengths between its jaws"),
    "0.42 ± 0.01 mm, exactly": ("is said to be exact", "Keep one of the two"),
    "17 N, depth micrometer": ("a unit of force", "mm"),
    ", depth micrometer": ("is empty", "mm"),
}


@pytest.mark.parametrize("text", REFUSED)
def test_a_word_that_cannot_be_is_refused_with_its_reason_and_what_would_do(text):
    with pytest.raises(KnifeError) as caught:
        knife_from_fields(CARD | {"balls[0].protrusion": text}, "card")
    [problem] = caught.value.problems
    number = text.rpartition(",")[0]
    assert problem.where == "balls[0].protrusion"
    assert problem.value in (f'"{text}"', f'"{number}"')  # as it was typed, with the word where that is wrong
    assert REFUSED[text][0] in problem.wrong
    assert REFUSED[text][1] in problem.cure


@pytest.mark.parametrize("instrument", INSTRUMENTS, ids=lambda each: each.name)
def test_the_names_on_the_bench_sheet_are_taken_for_their_words(instrument):
    assert read_said(f"1, {instrument.name}") == read_said(f"1, {instrument.word}")


def test_plug_pins_are_pin_gauges():
    """The form's own hint says plug pins."""
    assert read_said("53 thou, plug pins").word == "pin gauges"


@pytest.mark.parametrize(
    ("path", "text", "asked"),
    [
        ("bar.riding_force", "18 kg", "Was it 18 N?"),
        ("balls[0].protrusion", "17 in", "Was it 17 thou?"),
        ("balls[0].recess.diameter", "53 mm", "Was it 53 thou?"),
    ],
)
def test_another_unit_is_asked_for_by_the_number_that_was_written(path, text, asked):
    """Not by the one that it comes to: nobody wrote 176.5 gf."""
    with pytest.raises(KnifeError) as caught:
        knife_from_fields(CARD | {path: text}, "card")
    [problem] = caught.value.problems
    assert (problem.value, problem.why) == (f'"{text}"', asked)


def test_titanium_is_asked_for_by_the_name_of_its_alloy():
    with pytest.raises(KnifeError, match=re.escape("Did you mean Ti-6Al-4V?")):
        knife_from_fields(CARD | {"bar.material": "titanium"}, "card")


def test_every_demo_number_is_written_as_it_was_read(tmp_path):
    for path in sorted(FOLDER.glob("*.toml")):
        given = dict(re.findall(r'^(\w+) = "(.*?)"', path.read_text(encoding="utf-8"), re.MULTILINE))
        text = knife_text(read_knife(path))
        assert all(f'{name} = "{said}"' in text for name, said in given.items())


_PIECES = [
    "±",
    "+/-",
    ",",
    "exactly",
    "guess",
    "depth micrometer",
    "pull gauge",
    "mm",
    "in",
    "%",
    "nan",
    "1e400",
    "-",
    "0",
    "9" * 40,
    '"',
    "\n",
    "#",
    "½",
    "\x00",
    "]",
]


def test_a_mutated_text_is_read_or_refused_in_words(tmp_path):
    """2,000 knife files, forms and readings with something wrong in them: nothing but our own errors."""
    rng, texts = random.Random(5), [knife_text(knife_from_fields(CARD, "card")), knife_text(CARDS["C"])]
    path, refused = tmp_path / "mutated.toml", 0
    for _ in range(1400):
        path.write_text(_mutated(rng, rng.choice(texts)), encoding="utf-8")
        try:
            knife = read_knife(path)
            assert read_again(knife, tmp_path) == knife
        except KnifeError as error:
            refused += bool(error.problems)
    for _ in range(600):
        box = rng.choice(list(CARD))
        try:
            knife_from_fields(CARD | {box: _mutated(rng, CARD[box])}, "form")
            readings_from_text(_mutated(rng, "angle [deg], lift [mm]\n0, 0\n1, 0.1 mm, calipers\n"))
        except (KnifeError, ReadingError) as error:
            refused += bool(error.problems)
    assert 300 < refused < 1900


def read_again(knife, folder):
    write_knife(knife, folder / "again.toml", replace=True)
    return read_knife(folder / "again.toml")


def _mutated(rng, text):
    """The text with a piece put in, taken out or written over, once or twice."""
    for _ in range(rng.randint(1, 2)):
        at = rng.randrange(len(text) + 1)
        text = text[:at] + rng.choice(_PIECES) + text[at + rng.choice([0, 1, 3]) :]
    return text


def test_a_quantity_s_own_error_names_the_word_alone():
    with pytest.raises(UnitError, match="'pull gauge' cannot measure"):
        doubt_by("pull gauge", "blade.tab_arm", 14.0, spec("blade.tab_arm"))
