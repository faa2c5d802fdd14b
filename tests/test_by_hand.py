"""The arithmetic by hand ends where dl.feel ends, for every kind of knife, and a pocket calculator gets the same
from what is printed.
"""

import math
import re

import numpy as np
import pytest
from hypothesis import given, settings

import detentlib as dl
from detentlib.mechanics.carry import Detent
from detentlib.pages.arithmetic import Line, Sentence, said
from detentlib.pages.by_hand import worked_example
from tests.knives import CARDS, FOLDER, HELD_BETWEEN, JOINED, LETS_GO_LATE, SHARE_AT_REST, A, B, C, D, E, sound_knives

SALLOWGATE = dl.read_knife(FOLDER / "sallowgate-folder.toml")


def _on_one_spring(rests, friction, give, ball_2=(2.0, 0.75), arms=(30.0, 30.0)):
    """Two balls with rest offsets near nothing on a bar that gives sideways [mm/N]; ball_2: diameter, protrusion."""
    first = dl.Ball(2.0, 0.75, 6.0, arms[0], dl.Recess(1.5, rest_offset=rests[0]))
    second = dl.Ball(*ball_2, 7.5, arms[1], dl.Recess(1.5, rest_offset=rests[1]))
    bar = dl.LockBar(14.0, rate=4.0, side_compliance=give)
    return dl.Knife("on one spring", [first, second], bar, dl.Blade(10.0), dl.Friction(friction))


SPECIAL = {
    "held between two rims": _on_one_spring((0.0, 0.0625), 0.0, 0.003),
    "held between two rims that stick": _on_one_spring((0.0, 0.03), 0.12, 0.003),
    "ball 2 in the middle of its recess": _on_one_spring((-0.002, 0.0), 0.05, 0.005, (2.02, 0.749), (37.0, 36.35)),
    "off the stop between two rims": _on_one_spring(
        (-0.0017423, 0.0001594), 0.05, 0.005, (2.0178, 0.74884), (37.0, 36.3545)
    ),
    "ball 2 takes over where ball 1 slips": LETS_GO_LATE,
    "two share at rest": SHARE_AT_REST,
    "one slides back": HELD_BETWEEN,
    "rounded rim": A.replace({"balls[0].recess.edge_radius": 0.05}),
    "wide chamfer": A.replace({"balls[0].recess.chamfer_width": 0.2}),
    "light chamfer": A.replace({"balls[0].recess.chamfer_width": 0.02}),
    "dimple": A.replace(
        {"balls[0].recess.diameter": 0.0, "balls[0].recess.chamfer_width": 0.62, "balls[0].recess.depth": None}
    ),
    "floor": A.replace({"balls[0].recess.depth": 0.2}),
    "off the stop": A.replace({"balls[0].recess.rest_offset": -0.05}),
    "off track": A.replace({"balls[0].recess.off_track": 0.05}),
    "sideways give": A.replace({"bar.side_compliance": 0.004}),
    "held all round": A.replace({"bar.side_compliance": 0.006, "balls[0].recess.rest_offset": 0.01}),
    "dimple that gives": dl.Knife(
        "dimple that gives",
        [dl.Ball(2.0, 0.75, 6.0, 30.0, dl.Recess(0.0, rest_offset=0.015625, chamfer_width=0.75, chamfer_deg=25.0))],
        dl.LockBar(14.0, rate=4.0, side_compliance=0.003),
        dl.Blade(10.0),
        dl.Friction(0.0),
    ),
    "on the brink of the floor": dl.Knife(
        "on the brink of the floor",
        [dl.Ball(2.0, 0.75, 6.0, 30.0, dl.Recess(1.5, depth=0.25))],
        dl.LockBar(14.0, rate=4.0, side_compliance=0.003),
        dl.Blade(10.0),
        dl.Friction(0.125),
    ),
    "give at an angle": A.replace({"bar.side_compliance": 0.004, "balls[0].track_to_bar_deg": 70.0}),
    "ball 2 joins while ball 1 sticks": JOINED,
    "ball 2 joins askew": JOINED.replace({"balls[1].track_to_bar_deg": 80.0}),
    "no friction": A.replace({"friction.rim": 0.0}),
    "two leaves": dl.Knife(
        "two leaves",
        [B.balls[0], dl.Ball(1.5875, 0.42, 9.6, 35.4, dl.Recess(1.3208, rest_offset=0.07), bar=1)],
        A.bar,
        A.blade,
        A.friction,
        dl.LockBar(17, rate=9),
    ),
    "twist": A.replace({"balls[0].side_offset": 1.5}),
    "ball 2 rides": B.replace({"balls[1].hinge_distance": 28.0}),
}
ONE_BODY = {f"{knife.title}, one body": knife for knife in CARDS.values()}
ROOTED = {"root that gives": CARDS["A"].replace({"bar.root_up": 1.27, "bar.root_side": 1.58})}
KNIVES = {knife.title: knife for knife in (A, B, C, D, E, SALLOWGATE)} | SPECIAL | ONE_BODY | ROOTED


def _lines(knife):
    return [line for part in worked_example(knife) for line in part.lines if isinstance(line, Line)]


def _ends_in_feel(knife, rel):
    lines, felt = _lines(knife), dl.feel(knife)
    forces = [line.value for line in lines if line.id == "F5"]
    assert forces[0] == pytest.approx(felt.break_force, rel=rel)
    if felt.letback_force is not None:
        assert forces[1] == pytest.approx(felt.letback_force, rel=rel, abs=1e-3)
    barrier = [line.value for line in lines if line.letter == "W"][-1]
    assert barrier == pytest.approx(felt.barrier, rel=rel, abs=1e-4)
    assert [line.value for line in lines if line.id == "L2a" or line.letter == r"\theta_f"][-1] == pytest.approx(
        felt.break_out_deg
    )


@pytest.mark.parametrize("knife", KNIVES.values(), ids=KNIVES)
def test_it_ends_where_feel_ends(knife):
    _ends_in_feel(knife, 1e-4)


@given(sound_knives())
@settings(max_examples=25)
def test_it_ends_where_feel_ends_for_any_knife(knife):
    try:
        dl.feel(knife)
    except dl.KnifeError:
        return
    _ends_in_feel(knife, 1e-3)


def test_it_ends_where_feel_ends_with_rest_offsets_near_nothing():
    """On a bar that gives sideways two rims can hold it between them, as in some of these."""
    rng, held = np.random.default_rng(3), 0
    for _ in range(40):
        rests, give, friction = rng.uniform([0, 0], [0.05, 0.1]), rng.choice([5e-4, 3e-3]), rng.choice([0.0, 0.12])
        ball_2 = 2.0 * rng.uniform(0.95, 1.05), 0.75 + rng.uniform(-0.02, 0.02)
        knife = _on_one_spring(rests, friction, give, ball_2)
        _ends_in_feel(knife, 1e-3)
        held += np.count_nonzero(Detent(knife).resting[0].loads) == 2
    assert held >= 4


def test_it_ends_where_feel_ends_where_the_bar_springs_sideways_at_the_peak():
    """Just past the peak the bar has swung over, and asks for less: the page works out the moment before."""
    rng, sprung = np.random.default_rng(4242), 0
    while sprung < 3:
        sizes = rng.uniform([0.9] * 2, [2.0] * 2)
        balls = [
            dl.Ball(
                size,
                rng.uniform(0.28, 0.42) * size,
                rng.uniform(6, 12),
                rng.uniform(34, 42),
                dl.Recess(rng.uniform(0.7, 0.93) * size, rest_offset=rng.uniform(0.0, 0.12)),
            )
            for size in sizes
        ]
        bar = dl.LockBar(
            rng.uniform(10, 22), rate=rng.uniform(4, 15), side_compliance=rng.uniform(0.001, 0.008), parallel_gap=0.1
        )
        knife = dl.Knife("at random", balls, bar, dl.Blade(14.0), dl.Friction(rng.uniform(0.05, 0.2)))
        try:
            felt = dl.feel(knife)
        except dl.KnifeError:
            continue
        past = dl.sweep(knife, [felt.peak_deg + 1e-6]).tab_force[0]
        if past < 0.95 * felt.break_force:
            sprung += 1
            _ends_in_feel(knife, 1e-4)


def test_the_demo_knife_by_the_numbers_of_its_card():
    found = {}
    for line in _lines(A):
        found.setdefault(line.letter, line.value)
    assert found["b"] == pytest.approx(0.6004, abs=5e-5)
    assert found[r"\varphi"] == pytest.approx(49.15, abs=0.005)
    assert found["s"] == pytest.approx(0.2746, abs=5e-5)
    assert found["k"] == pytest.approx(10.30, abs=0.005)
    assert found["N"] == pytest.approx(14.21, abs=0.005)
    assert found["T"] == pytest.approx(168.5, abs=0.05)
    assert found["F"] == pytest.approx(12.04, abs=0.005)


def test_the_lines_come_in_the_order_of_a_hand():
    letters = [line.letter for line in _lines(A)]
    wanted = ["k", "b", r"\varphi", "s", "g", r"\psi", "M", "N", "m", "T", "F", "W"]
    places = [letters.index(letter) for letter in wanted]
    assert places == sorted(places)


def _calculator(line):
    """The result of a line from its printed numbers, as a person types them: no library formula."""
    expression = line.expression.subs({symbol: _printed(value, unit) for symbol, (value, unit) in line.numbers.items()})
    found = float(expression)
    return math.degrees(found) if line.unit == "deg" else found


def _printed(value, unit):
    number = re.sub(
        r"·10(.*)", lambda power: "e" + power[1].translate(str.maketrans("⁻⁰¹²³⁴⁵⁶⁷⁸⁹", "-0123456789")), said(value)
    ).replace("−", "-")
    return math.radians(float(number)) if unit == "deg" else float(number)


@pytest.mark.parametrize("knife", [A, C, SALLOWGATE], ids=lambda knife: knife.title)
def test_a_pocket_calculator_gets_the_result_from_what_is_printed(knife):
    lines = _lines(knife)
    assert len(lines) > 20
    for line in lines:
        assert _calculator(line) == pytest.approx(line.value, rel=2e-3, abs=2e-5), line.said


@pytest.mark.parametrize("knife", KNIVES.values(), ids=KNIVES)
def test_a_line_on_the_bar_takes_the_number_that_the_last_line_with_its_letter_gave(knife):
    given = {}
    for line in worked_example(knife)[0].lines:
        if not isinstance(line, Line):
            continue
        for symbol in line.expression.free_symbols & line.numbers.keys():
            number = line.numbers[symbol][0]
            assert number == pytest.approx(given.get(symbol.name, number), rel=1e-6), (line.said, symbol)
        assert line.letter not in ("D", "D_r"), "the letters of ball and recess"
        given[line.letter] = line.value


@pytest.mark.parametrize("knife", [*ROOTED.values(), JOINED], ids=lambda knife: knife.title)
def test_what_multiplies_is_no_angle_in_degrees(knife):
    """281898 · 0.118°² is not what a calculator makes of it."""
    aside = [line for line in _lines(knife) if line.id == "E1a"]
    assert aside
    assert all(unit != "deg" for line in aside for _, unit in line.numbers.values())


def test_the_energy_riding_is_that_of_the_moment_riding():
    (riding,) = [line for line in _lines(A) if line.letter == "U_r"]
    (moment,) = [line.value for line in _lines(A) if line.letter == "M_r"]
    assert {symbol.name: number for symbol, (number, _) in riding.numbers.items()}["M_r"] == pytest.approx(moment)


def test_what_a_search_leaves_over_is_nothing():
    """Ball 2 is held in the middle of its recess: its search ends within a millionth of a millimetre of it."""
    distances = [line for line in _lines(JOINED) if line.letter == "d"]
    assert {said(line.value) for line in distances} >= {"0"}
    assert not any("·10" in said(line.value) for line in distances)


@pytest.mark.parametrize("knife", KNIVES.values(), ids=KNIVES)
def test_every_line_is_sound_mathml_with_and_without_its_answer(knife):
    import xml.etree.ElementTree as ET

    for line in _lines(knife):
        filled, blank = (line.math(filled) for filled in (True, False))
        for shown in (filled, blank):
            ET.fromstring(shown)
            assert "\\" not in shown
            assert "nan" not in shown
        assert f"<mn>{said(line.value)}</mn>" in filled
        assert "<mn></mn>" in blank
        if line.expression.free_symbols:
            first, other = ("".join(ET.fromstring(shown).find(".//mtr/mtd[3]").itertext()) for shown in (filled, blank))
            assert first == other


def test_a_blank_keeps_results_out_of_the_sentences():
    for part in worked_example(C):
        for each in (part.heading, *part.lines):
            if isinstance(each, Sentence):
                assert each.text(False).count("____") == len(each.results)
    heading = worked_example(C)[-1].heading
    assert heading.text() == "The handover at 1.9017°: ball 2 gives the bar to ball 1"
    assert heading.text(False) == "The handover at 1.9017°: ball ____ gives the bar to ball ____"


def test_at_a_handover_both_balls_ask_for_the_same_bar_angle():
    for knife in (C, D, E):
        handovers = [part for part in worked_example(knife) if part.heading.words.startswith("The handover")]
        assert len(handovers) == len(dl.feel(knife).handovers) > 0
        for part in handovers:
            one, two = (line.value for line in part.lines if isinstance(line, Line) and line.id == "B4")
            assert one == pytest.approx(two, abs=1e-9)


def test_a_knife_that_cannot_work_is_refused():
    too_wide = A.replace({"balls[0].recess.diameter": 1.75})
    with pytest.raises(dl.KnifeError, match="rim gap"):
        worked_example(too_wide)


def test_a_number_is_written_so_that_it_can_be_typed():
    assert [said(value) for value in (0.0, 1e-12, 1e-7, 12345.6, 0.000123456, -2.5)] == [
        "0",
        "0",  # left of rounding
        "1·10⁻⁷",
        "12346",
        "0.00012346",
        "−2.5",
    ]
    assert np.isclose(_printed(1.25e-7, ""), 1.25e-7)
