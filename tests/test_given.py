"""Nonsense given to the measuring functions: refused in words of the bench, never by an error of numpy, and never
answered with a number.
"""

import math
from dataclasses import replace

import numpy as np
import pytest

import detentlib as dl
from detentlib.doubt.many import RESULTS
from detentlib.measure.arcs import Rim, rows_of
from detentlib.measure.given import pasted_again
from detentlib.measure.photo import against_ball, scale_from
from detentlib.measure.pull import off_stop
from detentlib.measure.readings import KINDS, ReadingError, Readings
from detentlib.measure.trace import HandoverSeen
from detentlib.measure.value import Value, mean_of
from detentlib.say.headline import headline
from tests.bench_readings import forces_of, pulls_of, trace_of
from tests.knives import A, B, C

pytestmark = pytest.mark.filterwarnings("error")

TRACE, PULLS, FORCES = trace_of(A, 1), pulls_of(A, 1), forces_of(A, 1)
CIRCLE = dl.fit_circle(np.array([(1, 0), (0, 1), (-1, 0), (0.1, -1.0)]))
OFF_TRACK = A.replace({"balls[0].recess.off_track": 0.08, "friction.rim": 0.25})
MANY = A.with_arrays({"friction.rim": np.array([[0.1], [0.2]])})


def trace(angle, lift):
    return Readings("lift trace", {"angle": np.asarray(angle, float), "lift": np.asarray(lift, float)}, {}, "a trace")


def pulls(opening, letting_back):
    return Readings("two-way pull", {"opening": opening, "letting back": letting_back}, {}, "some pulls")


# lift trace


def test_angles_behind_the_stop_are_refused():
    with pytest.raises(ReadingError, match=r"a trace: has \d+ angles below 0, down to -6\.5\d+°.* count from the stop"):
        dl.lift_trace(trace(-TRACE["angle"], TRACE["lift"]), A)
    with pytest.raises(ReadingError, match=r"force trace: has .* angles below 0"):
        dl.fit_knife(A, [replace(FORCES, columns={"angle": -FORCES["angle"], "force": FORCES["force"]})])
    with pytest.raises(ReadingError, match=r"angles up to 1\d+\.\d+°, and no blade turns past 360°"):
        dl.lift_trace(trace(TRACE["angle"] ** 4, TRACE["lift"]), A)
    assert TRACE["angle"].min() < 0  # a little of it is the ± of the protractor
    assert dl.lift_trace(TRACE, A).contact_deg.value == pytest.approx(49.1, abs=0.5)


@pytest.mark.parametrize("knife", [A, B, C], ids=["A", "B", "C"])
@pytest.mark.parametrize("seed", range(3))
def test_inches_typed_as_mm_are_told(knife, seed):
    read = trace_of(knife, seed)
    with pytest.raises(
        ReadingError, match=r"rises by 0\.0\d+ mm.* As inches they fit: 0\.2\d+ mm\. Write the column as lift \[in\]"
    ):
        dl.lift_trace(trace(read["angle"], read["lift"] / 25.4), knife)


@pytest.mark.parametrize("diameter", [0.4, 0.8, 1.2])
def test_shallow_seats_are_not_taken_for_inches(diameter):
    knife = A.replace(
        {"balls[0].recess.diameter": diameter, "balls[0].recess.rest_offset": 0.02, "balls[0].recess.depth": None}
    )
    found, true = dl.lift_trace(trace_of(knife, 2), knife), math.degrees(math.asin((diameter / 2 - 0.02) / 0.79375))
    assert abs(found.contact_deg.value - true) < 2 * found.contact_deg.doubt


@pytest.mark.parametrize("size", [1e-6, 0.003, 0.1, 1.0, 50.0])
def test_noise_shows_no_lift_curve(size):
    rng = np.random.default_rng(3)
    for _ in range(40):
        noise = trace(TRACE["angle"], size * rng.standard_normal(TRACE["angle"].size))
        with pytest.raises(ReadingError, match="shows no lift curve: the readings scatter by ±"):
            dl.lift_trace(noise, A)


@pytest.mark.parametrize("level", [0.0, 0.2, -3.0])
def test_a_level_shows_no_lift_curve(level):
    with pytest.raises(ReadingError, match="shows no lift curve"):
        dl.lift_trace(trace(TRACE["angle"], np.full(TRACE["angle"].size, level)), A)


def test_a_rise_that_no_ball_makes_is_refused():
    with pytest.raises(
        ReadingError, match=r"rises by 6\.\d+ mm, and a ball of this card can lift it by less than 0\.794 mm"
    ):
        dl.lift_trace(trace(TRACE["angle"], 25.4 * TRACE["lift"]), A)


def test_a_bar_that_falls_is_told_by_how_much():
    with pytest.raises(ReadingError, match=r"falls by 0\.27 mm\. Does the indicator's sign fit"):
        dl.lift_trace(trace(TRACE["angle"], -TRACE["lift"]), A)


@pytest.mark.parametrize("pasted", [np.tile, np.repeat], ids=["below each other", "and sorted"])
def test_rows_pasted_again_count_once_and_are_told(pasted):
    once, five = dl.lift_trace(TRACE, A), dl.lift_trace(trace(pasted(TRACE["angle"], 5), pasted(TRACE["lift"], 5)), A)
    assert five.contact_deg == once.contact_deg
    assert five.angle_deg.size == len(TRACE)
    assert f"{4 * len(TRACE)} of the {5 * len(TRACE)} rows repeat earlier rows exactly" in five.verdict
    assert "repeat" not in once.verdict


def test_a_scale_between_two_points_in_one_place_is_none():
    with pytest.raises(ReadingError, match=r"scale: the two points of the scale lie in one place"):
        scale_from((3, 4), (3, 4), 1.0)


def test_one_reading_has_no_scatter():
    with pytest.raises(ValueError, match="one reading has no scatter; read at least twice"):
        mean_of([12.0])


def test_readings_without_one_of_their_columns_are_refused():
    with pytest.raises(ReadingError, match=r"built: has no column 'lift'"):
        dl.lift_trace(Readings("lift trace", {"angle": np.array([0.0, 1.0])}, {}, "built"), A)


def test_a_trace_says_in_short_what_it_found():
    found = dl.lift_trace(TRACE, A)
    assert repr(found) == (
        f"<LiftTrace: contact angle {found.contact_deg.value:.1f} ± {found.contact_deg.doubt:.1f}°, no handover seen>"
    )


@pytest.mark.parametrize("rim", [Rim(1.32), Rim(1.32, edge_radius=0.05), Rim(1.2, chamfer_width=0.06)], ids=repr)
def test_slope_and_turn_of_a_seat_are_what_its_sink_grows_by(rim):
    """Central differences of the sink, by the gap from the outline; a cone has one slope."""
    gap, step = np.array([0.02, 0.2, 0.4, 0.6]), 1e-5
    low, here, high = (np.array(rim.seat(0.79375, gap + side * step)) for side in (-1, 0, 1))
    assert here[1:] == pytest.approx((high - low)[:2] / (2 * step), rel=1e-6, abs=1e-9)


ONCE = [*[0] * 5, *range(1, 31)]


@pytest.mark.parametrize(
    ("rows", "again"),
    [
        (ONCE + ONCE[10:23], range(35, 48)),
        (ONCE[:25] + ONCE[8:18] + ONCE[25:], range(25, 35)),
        (ONCE + ONCE[10:23] + ONCE[10:23], range(35, 61)),
        (ONCE + ONCE[2:20], range(35, 53)),
        (ONCE + ONCE[10:17], ()),
        (ONCE + ONCE[22:9:-1], ()),
    ],
    ids=["at the end", "in between", "two times", "from the stop on", "too few", "on the way back"],
)
def test_a_part_of_the_rows_pasted_again_counts_once(rows, again):
    assert np.flatnonzero(pasted_again([np.array(rows), np.array(rows) / 3])).tolist() == list(again)


def test_independent_readings_at_the_same_angles_all_count():
    angle = np.round(TRACE["angle"], 1)
    again = trace(np.tile(angle, 2), np.concatenate([TRACE["lift"], trace_of(A, 2)["lift"]]))
    found = dl.lift_trace(again, A)
    assert found.angle_deg.size == 2 * angle.size
    assert "repeat" not in found.verdict


def test_readings_on_the_stop_may_be_alike():
    stop = np.zeros(30)
    found = dl.lift_trace(trace(np.append(stop, TRACE["angle"]), np.append(stop, TRACE["lift"])), A)
    assert found.angle_deg.size == 30 + len(TRACE)


def test_a_climb_out_of_a_flat_stretch_has_words():
    flat, steep = (HandoverSeen(Value(1.0, 0.1), ratio, 0.01).steeper for ratio in (math.inf, 2.304))
    assert flat == "steep, where it was flat"
    assert steep == "2.30 times as steep"


# readings, knives and numbers of a wrong kind

WANTS = (
    (dl.lift_trace, TRACE, "a lift trace is wanted"),
    (dl.two_way_pull, PULLS, "two-way pulls are wanted"),
)
NOT_NUMBERS = ("text", None, [0.1], {}, np.zeros(3), 1j, True, "0.1")
NO_NUMBERS = (math.nan, math.inf, 10**400, 1e300)


@pytest.mark.parametrize(("measure", "_", "said"), WANTS)
@pytest.mark.parametrize("given", ["text", None, [], 3.0, A, np.zeros((3, 2))])
def test_what_is_no_readings(measure, _, said, given):
    with pytest.raises(ReadingError, match=f"is no set of readings, where {said}"):
        measure(given, A)


@pytest.mark.parametrize(("measure", "readings"), [(measure, readings) for measure, readings, _ in WANTS])
def test_what_is_no_knife(measure, readings):
    with pytest.raises(
        ValueError, match=r"knife = 'Pellowfen A': is not a Knife\. .* Give one, read from its knife file"
    ):
        measure(readings, "Pellowfen A")
    with pytest.raises(ValueError, match="holds many knives at once"):
        measure(readings, MANY)


def test_a_headline_of_no_knife():
    with pytest.raises(ValueError, match="is not a Knife"):
        headline()


NUMBERS = (
    (lambda given: dl.lift_trace(TRACE, A, hinge_ratio=given), "hinge_ratio", "positive"),
    (lambda given: dl.lift_trace(TRACE, A, lift_doubt=given), "lift_doubt", "positive"),
    (lambda given: dl.lift_trace(TRACE, A, angle_doubt=given), "angle_doubt", "positive"),
    (lambda given: dl.two_way_pull(PULLS, A, gauge_doubt=given), "gauge_doubt", "not negative"),
    (lambda given: dl.two_way_pull(PULLS, A, attitude_deg=given), "attitude_deg", "any"),
    (lambda given: dl.two_way_pull(PULLS, A, (given, 1.0)), "contact_deg", "positive"),
    (lambda given: dl.two_way_pull(PULLS, A, (49.0, given)), "contact_deg", "not negative"),
    (lambda given: off_stop(A, given), "friction", "not negative"),
    (lambda given: dl.fit_circle([(1, 0), (0, 1), (-1, 0)], scale=given), "scale", "positive"),
    (lambda given: dl.fit_circle([(1, 0), (0, 1), (-1, given)]), "points", "any"),
    (lambda given: scale_from((0, 0), (3, 4), given), "distance", "positive"),
    (lambda given: scale_from((0, 0), (3, 4), 1.0, given), "doubt", "not negative"),
    (lambda given: scale_from((0, 0), (3, 4), 1.0, 0.0, given), "picked", "not negative"),
    (lambda given: dl.fit_knife(A, [PULLS], noise={"force": given}), "noise", "positive"),
    (lambda given: dl.fit_knife(A, [PULLS], attitude_deg=given), "attitude_deg", "any"),
    (lambda given: dl.fit_knife(A, [TRACE], hinge_ratio=given), "hinge_ratio", "positive"),
)


@pytest.mark.parametrize(("use", "name", "rule"), NUMBERS)
def test_what_is_no_number_of_its_kind(use, name, rule):
    for given in NOT_NUMBERS:
        if name != "scale" or given is not None:
            with pytest.raises(ValueError, match=rf"{name}.* = .*: is not a number"):
                use(given)
    for given in NO_NUMBERS:
        with pytest.raises(
            ValueError,
            match=rf"{name}.*: (is not a finite number|is no size that anything has|must lie between 0° and 90°)",
        ):
            use(given)
    for given in {"positive": (0, -1.0), "not negative": (-1.0,), "any": ()}[rule]:
        with pytest.raises(
            ValueError, match=rf"{name}.*: must (be greater than zero|not be negative|lie between 0° and 90°)"
        ):
            use(given)


@pytest.mark.parametrize(
    ("angle", "said"),
    [
        (np.zeros((9, 2)), "the column 'angle' is no row of numbers"),
        (list(range(9)), "the column 'angle' is no row of numbers"),
        (np.array(["a"] * 9), "the column 'angle' is no row of numbers"),
        (np.append(np.arange(8.0), np.nan), "reading 9 of angle is nan, which is no reading"),
        (np.append(np.arange(8.0), 1e300), "reading 9 of angle is 1e.300: nothing at the bench is as large"),
        (np.arange(8.0), "the column 'lift' has 9 rows where the first has 8"),
    ],
)
def test_columns_that_are_none(angle, said):
    broken = Readings("lift trace", {"angle": angle, "lift": np.arange(9.0)}, {}, "made by hand")
    with pytest.raises(ReadingError, match=f"made by hand: {said}"):
        dl.lift_trace(broken, A)
    with pytest.raises(ReadingError, match=f"made by hand: {said}"):
        dl.fit_knife(A, [broken])


@pytest.mark.parametrize(("kind", "use"), [("lift trace", dl.lift_trace), ("two-way pull", dl.two_way_pull)])
@pytest.mark.parametrize("count", [0, 1])
def test_no_row_and_one_row(kind, use, count):
    with pytest.raises(ReadingError, match=r"different angles below 20°|pair"):
        use(Readings(kind, {name: np.ones(count) for name in KINDS[kind].must}, {}, "short"), A)


# two-way pull


@pytest.mark.parametrize("given", [49.0, "text", (49.0,), (49.0, 1.0, 2.0), [], {}])
def test_a_contact_angle_comes_with_its_doubt(given):
    with pytest.raises(ValueError, match=r"contact_deg = .*is not a number with its ±.*Give both"):
        dl.two_way_pull(PULLS, A, given)


@pytest.mark.parametrize("contact", [(89.0, 4.0), (1.0, 4.0)])
def test_a_contact_angle_that_may_be_no_angle_is_refused(contact):
    with pytest.raises(ReadingError, match="reaches out of 0° to 90°"):
        dl.two_way_pull(PULLS, A, contact)


# circles


@pytest.mark.parametrize(
    "points", ["text", None, 3.0, {}, np.zeros(3), np.zeros((4, 3)), [1, 2, 3], np.zeros((2, 2, 2)), np.array(3.0)]
)
def test_what_is_no_list_of_points(points):
    with pytest.raises(ValueError, match=r"points.* is (no list of points|not a number)"):
        dl.fit_circle(points)


def test_readings_of_another_kind_are_no_points():
    with pytest.raises(ReadingError, match="where photo points are wanted"):
        dl.fit_circle(TRACE)


def test_a_point_in_the_middle_is_no_point_of_the_edge():
    with pytest.raises(ReadingError, match="point 5 lies in the middle of the circle"):
        dl.fit_circle([(1, 0), (0, 1), (-1, 0), (0, -1), (0, 0)], "algebraic")


def test_what_is_no_circle_and_no_direction():
    with pytest.raises(ValueError, match="recess = 'text': is not a Circle"):
        against_ball("text", CIRCLE, (1, 0))
    for nowhere in ((0, 0), (0.0, 0.0)):
        with pytest.raises(ValueError, match=r"track_direction = .*points nowhere"):
            against_ball(CIRCLE, CIRCLE, nowhere)
    with pytest.raises(ValueError, match="unit = 3: is not the name of a unit"):
        dl.fit_circle([(1, 0), (0, 1), (-1, 0)], unit=3)


# fits


@pytest.mark.parametrize("given", ["friction.rim", 3, [None], (), {"friction.rim": 1}, ("title",)])
def test_what_is_no_list_of_numbers_to_find(given):
    with pytest.raises((ValueError, dl.KnifeError), match=r"free = .*is not a list of numbers to find|title"):
        dl.fit_knife(A, [PULLS], given)


def test_other_arguments_of_a_fit():
    with pytest.raises(ValueError, match=r"free.* names a number twice"):
        dl.fit_knife(A, [PULLS], ("friction.rim", "friction.rim"))
    with pytest.raises(ValueError, match=r"readings = .*: is not a list\. .* Give \[trace, pulls\]"):
        dl.fit_knife(A, PULLS)
    with pytest.raises(ReadingError, match="'text' is no set of readings, where a fit takes"):
        dl.fit_knife(A, ["text"])
    for noise in ({"lifts": 0.1}, [0.1], "text", 0.3):
        with pytest.raises(ValueError, match=r"noise = .*is not the ± of readings"):
            dl.fit_knife(A, [PULLS], noise=noise)
    with pytest.raises(ValueError, match="knife = None: is not a Knife"):
        dl.fit_knife(None, [PULLS])


def test_a_fit_that_finds_nothing_is_refused():
    with pytest.raises(ReadingError, match=r"tell nothing of friction coefficient at the rim\. Give readings that do"):
        dl.fit_knife(A, [TRACE], ("friction.rim",), use_card=False)


def test_very_many_readings_are_taken_together_and_tell_the_same():
    """40 times the trace, each time with its own scatter: the mean of each bin, as sure as that of all; what they
    leave among themselves counts.
    """
    rng = np.random.default_rng(3)
    angle, lift = np.tile(TRACE["angle"], 40), np.tile(TRACE["lift"], 40) + 1e-5 * rng.standard_normal(40 * len(TRACE))
    rows = rows_of(angle, lift, 0.003, 0.3, angle == 0)
    assert rows.height.size < len(TRACE)
    assert rows.count.sum() == angle.size == rows.height.size + rows.inside[1]
    assert np.average(rows.height, weights=rows.count) == pytest.approx(lift.mean())
    between = np.sum(rows.count * (rows.height - lift.mean()) ** 2)
    assert between + np.sum(rows.inside[0] * rows.count) == pytest.approx(np.sum((lift - lift.mean()) ** 2))


# budgets


def test_a_let_back_that_is_not_given_says_why():
    for result in ("letback_force", "gauge_letback_force"):
        with pytest.raises(
            ValueError, match=f"{result} is not given for Pellowfen A: the recess is off track and friction is high"
        ):
            dl.budgets(OFF_TRACK, [result])


@pytest.mark.parametrize("results", ["break_force", None, 3, {"break_force": 1}])
def test_results_are_a_list(results):
    with pytest.raises(ValueError, match=r"results = .*is not a list of names"):
        dl.budgets(A, results)


@pytest.mark.parametrize("result", [None, 3, [], "text"])
def test_what_is_no_result(result):
    with pytest.raises(ValueError, match="is no result that is worked out here; take one of"):
        dl.budget(A, result)


def test_other_arguments_of_a_budget():
    with pytest.raises(ValueError, match="knife = 'text': is not a Knife"):
        dl.budget("text", "break_force")


# whatever else

JUNK = (
    None,
    "text",
    b"x",
    [],
    [1, 2],
    {},
    math.nan,
    math.inf,
    -1,
    0,
    1e-300,
    1e300,
    True,
    1j,
    object(),
    np.array([]),
    np.zeros((2, 3)),
)
JUNK += (
    np.float64(2),
    np.array(3.0),
    np.ma.masked,
    A,
    MANY,
    TRACE,
    PULLS,
    ("friction.rim",),
    45.0,
    range(3),
    np.array(["a"]),
    (1.0, 2.0),
)
COLUMNS = (
    lambda rng, n: np.zeros(n),
    lambda rng, n: np.full(n, rng.choice([1e300, -1e5, np.nan, 1e-300, 5.0])),
    lambda rng, n: rng.standard_normal(n) * 10.0 ** rng.integers(-9, 9),
    lambda rng, n: np.sort(rng.uniform(0, 7, n)),
    lambda rng, n: np.linspace(0, rng.choice([1, 7, 20, 180]), n),
    lambda rng, n: rng.choice([0.0, 1.0, 10.0], n),
    lambda rng, n: np.zeros((n, 2)),
)
USES = {
    dl.lift_trace: ("lift trace", {"hinge_ratio": 0.8, "lift_doubt": 0.01, "angle_doubt": 0.5}),
    dl.two_way_pull: ("two-way pull", {"contact_deg": (49.0, 1.0), "gauge_doubt": 0.2, "attitude_deg": 30.0}),
    dl.fit_circle: ("photo points", {"method": "algebraic", "scale": 0.01, "unit": "mm"}),
    dl.fit_knife: (
        "force trace",
        {
            "free": ("friction.rim",),
            "noise": {"force": 0.3},
            "use_card": False,
            "attitude_deg": 3.0,
            "hinge_ratio": 0.8,
        },
    ),
}
KNIVES = (A, C, OFF_TRACK, replace(A, doubts={}), A.replace({"balls[0].recess.diameter": 1.8}), MANY)


def _drawn(rng, measure):
    """Arguments for a measuring function, some of them junk."""
    kind, named = USES[measure]
    count = int(rng.choice([0, 1, 2, 3, 8, 12, 30]))
    readings = Readings(
        kind, {name: COLUMNS[rng.integers(len(COLUMNS))](rng, count) for name in KINDS[kind].must}, {}, "drawn"
    )
    knife = KNIVES[rng.integers(len(KNIVES))]
    readings, knife = (JUNK[rng.integers(len(JUNK))] if rng.random() < 0.1 else each for each in (readings, knife))
    more = {
        name: JUNK[rng.integers(len(JUNK))] if rng.random() < 0.3 else given
        for name, given in named.items()
        if rng.random() < 0.3
    }
    placed = {dl.fit_circle: (readings,), dl.fit_knife: (knife, [readings])}.get(measure, (readings, knife))
    return placed, more


def _refusal_of(measure, placed, more):
    """Words of a refusal that comes from the library itself, None where there is an answer."""
    try:
        measure(*placed, **more)
    except ValueError as error:
        trail = error.__traceback__
        while trail.tb_next:
            trail = trail.tb_next
        said, module = str(error), trail.tb_frame.f_globals["__name__"]
    else:
        return None
    assert module.startswith("detentlib"), f"{said}: from {module}"
    return said


@pytest.mark.parametrize("measure", USES, ids=lambda measure: measure.__name__)
def test_whatever_is_given_is_answered_or_refused_in_own_words(measure):
    rng = np.random.default_rng(11)
    said = {_refusal_of(measure, *_drawn(rng, measure)) for _ in range(120)}
    assert len(said) > 15


def test_whatever_is_asked_of_a_budget():
    rng = np.random.default_rng(12)
    for _ in range(20):
        knife = KNIVES[rng.integers(len(KNIVES))]
        _refusal_of(dl.budgets, (knife, [str(rng.choice(list(RESULTS)))]), {})
    for junk in JUNK:
        assert _refusal_of(dl.budgets, (junk, ["break_force"]), {}) or junk is A
        assert _refusal_of(dl.budget, (A, junk), {})
