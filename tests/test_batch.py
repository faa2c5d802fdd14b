"""A batch as pulled: its tests and intervals against published tables and brute force, its words, refusals."""

import math
import re

import numpy as np
import pytest
from scipy import stats

import detentlib as dl
from detentlib.__main__ import main
from detentlib.measure.readings import NAME, readings_from_rows, readings_from_text
from detentlib.measure.spread import analysis_of_variance, clopper_pearson, deviation_of, grubbs_limit, stands_out
from detentlib.tune.moves import as_made
from detentlib.tune.table import TERMINAL
from tests.invented import READINGS
from tests.knives import CARDS, FOLDER

FILE = READINGS / "batch-pellowfen-a.csv"
KNIFE = FOLDER / "pellowfen-a.toml"
# values: limit for 1 %, for 5 % (ISO 5725-2:1994, table 5, one outlier, both sides; the 5 % are the upper 2.5 % of ASTM
# E178)
GRUBBS = {
    3: (1.155, 1.155),
    4: (1.496, 1.481),
    5: (1.764, 1.715),
    6: (1.973, 1.887),
    7: (2.139, 2.020),
    8: (2.274, 2.126),
    9: (2.387, 2.215),
    10: (2.482, 2.290),
    12: (2.636, 2.412),
    15: (2.806, 2.549),
    20: (3.001, 2.709),
    30: (3.236, 2.908),
    40: (3.381, 3.036),
}
# Rosner's 54 values, in the NIST/SEMATECH e-Handbook, 1.3.5.17.3: three outliers at 5 %
ROSNER = """-0.25 0.68 0.94 1.15 1.20 1.26 1.26 1.34 1.38 1.43 1.49 1.49 1.55 1.56 1.58 1.65 1.69 1.70 1.76 1.77 1.81
1.91 1.94
1.96 1.99 2.06 2.09 2.10 2.14 2.15 2.23 2.24 2.26 2.35 2.37 2.40 2.47 2.54 2.62 2.64 2.90 2.92 2.92 2.93 3.21 3.26 3.30
3.59
3.68 4.30 4.64 5.34 5.42 6.01"""


def batch_text(pulls, head="knife, opening [N]"):
    return "\n".join([head, *(f"{name}, {pull}" for name, pull in pulls)])


@pytest.fixture(scope="module")
def found():
    return dl.batch_of(dl.read_readings(FILE), CARDS["A"], window="11 to 13.5 N")


# the statistics


@pytest.mark.checked_by("published", "Grubbs, tabled limits", "batch_of")
@pytest.mark.parametrize(("count", "limits"), GRUBBS.items())
def test_the_limits_of_grubbs_are_the_tabled_ones(count, limits):
    assert [grubbs_limit(count, level) for level in (0.01, 0.05)] == pytest.approx(
        limits, abs=1e-3
    )  # one in the last digit


@pytest.mark.checked_by("published", "Rosner, 1983", "batch_of")
def test_several_odd_values_are_found_as_published():
    values = np.array(ROSNER.split(), float)
    assert [values[i] for i in stands_out(values, 0.05)] == [5.34, 5.42, 6.01]
    # the first limit and the first distance of the same table
    assert grubbs_limit(54, 0.05) == pytest.approx(3.158, abs=1e-3)  # one in the last digit
    assert (values.max() - values.mean()) / values.std(ddof=1) == pytest.approx(
        3.118, abs=1e-3
    )  # one in the last digit


@pytest.mark.parametrize("count", [4, 8, 12, 30])
def test_chance_alone_is_called_odd_as_often_as_said(count):
    rng = np.random.default_rng(3)
    for level, most in ((0.05, 0.065), (0.01, 0.018)):
        wrong = np.mean([bool(stands_out(row, level)) for row in rng.normal(size=(3000, count))])
        assert 0.6 * level < wrong < most


def test_two_odd_ones_do_not_hide_each_other():
    usual = np.random.default_rng(5).normal(12.0, 0.3, 14)
    assert stands_out(np.append(usual, [16.6, 16.7]), 0.01) == (14, 15)
    assert stands_out(np.full(6, 12.0), 0.05) == ()


def test_variance_within_and_between_is_what_was_put_in():
    rng = np.random.default_rng(7)
    sizes = np.tile([1, 2, 3, 4], 1000)
    groups = [rng.normal(knife, 0.2, size) for knife, size in zip(rng.normal(12.0, 0.5, 4000), sizes, strict=True)]
    told = analysis_of_variance(groups)
    assert (told.within, told.between) == pytest.approx((0.2, 0.5), rel=0.03)
    few = groups[1:9]
    assert analysis_of_variance(few).chance == pytest.approx(stats.f_oneway(*few).pvalue)
    same = analysis_of_variance([np.array([1.0, 3.0]), np.array([2.0, 2.0])])
    assert (same.between, same.share) == (0.0, 1.0)


def test_pulls_that_repeat_to_the_digit_leave_chance_nothing_or_all():
    """A coarse gauge reads every knife alike twice over: then what differs between knives is no chance."""
    assert analysis_of_variance([np.array([12.0, 12.0]), np.array([12.5, 12.5])]).chance == 0.0
    assert analysis_of_variance([np.array([12.0, 12.0]), np.array([12.0, 12.0])]).chance == 1.0


@pytest.mark.checked_by("another program", "scipy, binomial", "batch_of")
def test_the_ends_of_a_share_leave_a_fortieth_on_either_side():
    share, low, high = clopper_pearson(4, 20)
    assert share == 0.2
    assert stats.binom.sf(3, 20, low) == pytest.approx(0.025)
    assert stats.binom.cdf(4, 20, high) == pytest.approx(0.025)
    assert clopper_pearson(0, 10)[1:] == pytest.approx((0.0, 1 - 0.025 ** (1 / 10)))


def test_the_ends_of_a_spread_hold_it_as_often_as_said():
    told = [deviation_of(row) for row in np.random.default_rng(9).normal(12.0, 0.5, (3000, 8))]
    assert np.mean([each.low < 0.5 < each.high for each in told]) == pytest.approx(0.95, abs=0.012)


# a batch


def test_the_dry_knife_of_the_invented_batch_stands_out(found):
    (opening,) = found.spreads
    assert [each.name for each in opening.odd] == ["A08"]
    assert set(found.outside) == {each.name for each in opening.knives if not 11 <= each.mean <= 13.5}
    assert "A08" in found.outside
    assert found.share[0] == len(found.outside) / 12
    readings = dl.read_readings(FILE)
    means = [readings["opening"][readings["knife"] == each.name].mean() for each in opening.knives]
    assert [each.mean for each in opening.knives] == pytest.approx(means)
    low, high = stats.t.interval(0.95, 11, np.mean(means), stats.sem(means))
    assert (opening.mean.value, opening.mean.doubt) == pytest.approx((np.mean(means), (high - low) / 2))
    assert opening.repeats.within == pytest.approx(0.15, rel=0.4)
    assert opening.own < opening.deviation.value


def test_what_a_cause_brings_is_what_the_changed_knife_does(found):
    """The relief alone, by two knives a shop's ± apart."""
    card = CARDS["A"]
    thick = card.bar.relief_thickness
    ends = [card.replace(as_made(card, {"bar.relief_thickness": thick + sign * 0.02})) for sign in (-1, 1)]
    thin, heavy = (dl.feel(each).gauge_break_force for each in ends)
    (relief,) = (each for each in found.causes if each.said == "thickness of the relief")
    assert relief.brings == pytest.approx((heavy - thin) / 2, rel=0.06)
    assert relief.takes / relief.holds == pytest.approx(1.96 * found.spreads[0].own / relief.brings, rel=1e-3)
    brings = [each.brings for each in found.causes]
    assert brings == sorted(brings, reverse=True)


def test_it_is_a_table_in_a_terminal_and_in_a_notebook(found):
    knives, causes, thou = found.tables()
    assert [row[0] for row in knives.rows] == [f"A{i:02}" for i in range(1, 13)]
    assert "thickness of the relief" in causes.text()
    assert thou.heads == ("step", "cost", "break force on the gauge", "on the way")
    assert "the detent alone" not in thou.text()
    assert str(found).startswith("batch-pellowfen-a.csv: 12 knives\nknife")
    assert "| A08 | 3 |" in found._repr_markdown_()
    assert repr(found) == "<Batch: 12 knives from batch-pellowfen-a.csv>"
    assert "nan" not in str(found)


def test_pulls_of_other_knives_than_the_card_are_told_so(found):
    assert "So the card is not these knives" not in str(found)
    text = batch_text([("a", 20.1), ("b", 20.3), ("c", 19.8)])
    told = " ".join(str(dl.batch_of(readings_from_text(text), CARDS["A"])).split())
    reads = dl.feel(CARDS["A"]).gauge_break_force
    assert "By its card a gauge reads 12.3 ± 2.0 N" in told
    assert "the mean of these pulls, 20.07 ± 0.63 N" in told
    assert "is further off than the ± of both. So the card is not these knives" in told
    near = readings_from_text(batch_text([("a", reads - 0.1), ("b", reads + 0.1), ("c", reads)]))
    assert "the card is not these knives" not in " ".join(str(dl.batch_of(near, CARDS["A"])).split())


def test_units_of_the_reader_and_pulls_back():
    text = "knife; letting back [lbf]; opening [lbf]\nno. 1; 1,6; 2,7\nno. 2; 1,5; 12 N\nno. 3; 1,55; 2,72"
    readings = readings_from_text(text)
    assert readings["knife"].tolist() == ["no. 1", "no. 2", "no. 3"]  # a point in a name is none in a number
    assert readings["opening"] == pytest.approx([12.010, 12.0, 12.099], abs=1e-3)
    told = dl.batch_of(readings)
    assert [each.name for each in told.spreads] == ["opening", "letting back"]
    assert told.spreads[0].repeats is None
    assert "One pull a knife, so what gauge and hand scatter is in the spread." in str(told)
    assert "(2.70" in str(told)
    assert told.share is None


@pytest.mark.parametrize(
    ("window", "outside"),
    [
        ("11.5 N to 12.5 N", ("c",)),
        ((11.5, None), ()),
        ("at most 12.05 N", ("b", "c")),
        ("2.6 to 2.72 lbf", ("b", "c")),
        (("2.71 lbf", None), ("a",)),
    ],
)
def test_windows_in_the_readers_words(window, outside):
    told = dl.batch_of(readings_from_text(batch_text([("a", 12.0), ("b", 12.2), ("c", 14.0)])), window=window)
    assert told.outside == outside


def test_pulls_that_explain_all_say_so():
    pulls = readings_from_text(batch_text([("a", 11), ("a", 13), ("b", 12), ("b", 12.1)]))
    told = dl.batch_of(pulls)
    assert "these pulls cannot tell the knives apart" in str(told)
    assert "2 knives are too few to tell" in str(told)
    assert "The pulls leave no spread to explain." in str(dl.batch_of(pulls, CARDS["A"]))


def test_only_an_odd_knife_pulled_twice_still_tells_the_scatter():
    usual = [(name, 12 + 0.1 * i) for i, name in enumerate("abcdef")]
    (opening,) = dl.batch_of(readings_from_text(batch_text([*usual, ("g", 16.0), ("g", 16.2)]))).spreads
    assert [each.name for each in opening.odd] == ["g"]
    assert opening.own == pytest.approx(math.sqrt(np.var([pull for _, pull in usual], ddof=1) - 0.02))


# what cannot be


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("knife, opening [N]\na, 12\n, 13", "line 3: knife cell is empty. Write which knife it is, in every row"),
        ("knife [no], opening [N]\na, 12", "line 1: column 'knife [no]' holds names, which have no unit. Write knife"),
        ("knife, opening\na, 12", "line 1: column 'opening' has no unit"),
        ("knife, opening [N]\na, twelve", "line 2: opening 'twelve' cannot be read"),
        ("knife\na", "make no kind of readings"),
    ],
)
def test_bad_files_are_named_by_line(text, said):
    with pytest.raises(dl.ReadingError, match=re.escape(said)):
        readings_from_text(text)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (batch_text([("a", 12), ("a", 12.1)]), "holds one knife alone. A batch is two or more"),
        (batch_text([("a", 12), ("b", -2)]), "reading 2 of opening is −2.000 N"),
        (
            "opening [N], letting back [N]\n12, 7",
            "'two-way pull', where pulls of many knives are wanted. Give a file with the columns knife, opening [N]",
        ),
    ],
)
def test_what_is_no_batch_is_refused(text, said):
    with pytest.raises(dl.ReadingError, match=re.escape(said)):
        dl.batch_of(readings_from_text(text))


def test_a_window_that_is_none_is_refused():
    readings = readings_from_text(batch_text([("a", 12), ("b", 12.2)]))
    for window, said in (
        ("about 12 N", "is no window"),
        ("10 to ", "lacks its second number"),
        ("10 N –", "lacks its second number"),
        ("to 12 N", "lacks its first number"),
        ("at least", "lacks its number"),
        ("13 to 11 N", "the least is above the most"),
        ("11 mm to 12 mm", "a unit of length"),
        ("2 mm", "has mm, a unit of length"),
        ("8,5-12", 'has a comma in the number. A decimal point is written ".": write "8.5"'),
        ("8.5 to 12,5 N", 'comma in the number. A decimal point is written ".": write "12.5 N"'),
    ):
        with pytest.raises(dl.KnifeError, match=said):
            dl.batch_of(readings, window=window)


@pytest.mark.parametrize(
    ("window", "ends"),
    [
        ("8.5-12", (8.5, 12)),
        ("8.5 – 12 N", (8.5, 12)),
        ("2 lbf to 3", (8.896443, 13.344665)),  # 1 lbf is 4.4482216 N (NIST SP 811)
        ("2-3 lb", (8.896443, 13.344665)),
        ("10 +/- 1 N", (9, 11)),
        ("1e1 to 1.2e+1 N", (10, 12)),
    ],
)
def test_a_window_is_read_however_people_write_it(window, ends):
    readings = readings_from_text(batch_text([("a", 12), ("b", 12.2)]))
    assert [edge.at for edge in dl.batch_of(readings, window=window).edges] == pytest.approx(ends, rel=1e-6)


def test_names_may_be_typed_too():
    readings = readings_from_rows(("knife", "opening [N]"), [("1", "12"), ("2", "12.5"), ("", "")])
    assert readings["knife"].tolist() == ["1", "2"]
    assert readings.units == {"knife": NAME, "opening": "N"}


# in the terminal


def test_the_command_says_what_the_library_says(found, capsys):
    assert main(["batch", str(FILE), str(KNIFE), "--window", "11 to 13.5 N"]) == 0
    said, wrong = capsys.readouterr()
    assert wrong == ""
    for table in found.tables():
        rows = table._replace(notes=()).text(TERMINAL)
        assert rows in said
        assert max(map(len, rows.splitlines())) <= TERMINAL
        assert sorted(rows.split()) == sorted(table._replace(notes=()).text().split())
        assert all(" ".join(note.split()) in " ".join(said.split()) for note in table.notes)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("batch", str(KNIFE), str(FILE)), "pellowfen-a.toml: is a knife file, where readings (.csv) are wanted"),
        (("batch", "none.csv"), "none.csv: cannot be read"),
        (("batch", str(FILE), "--window", "soft"), "window of the break force on the gauge = 'soft': is no window"),
    ],
)
def test_the_command_says_what_is_wrong(words, said, capsys, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    assert main(list(words)) == 1
    printed, wrong = capsys.readouterr()
    assert printed == ""
    assert said in wrong
