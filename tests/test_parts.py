"""The parts: what they refuse and what they say, paths, replacing, many knives in one."""

import math
import re
from dataclasses import FrozenInstanceError, fields, replace

import numpy as np
import pytest

import detentlib as dl
from detentlib.knife.parts import Problem, field_problem, spec
from detentlib.knife.units import quantity
from tests.knives import A, B, C, E, measured

PARTS = {
    "recess": dl.Recess(1.3208, rest_offset=0.06, depth=0.6),
    "ball": dl.Ball(1.5875, 0.42, 8.001, 36.4, dl.Recess(1.3208)),
    "bar": dl.LockBar(17.04, 1.1, 6.0, 7.0, 3.0, 113_800.0, 44_000.0, rate=10.3),
    "blade": dl.Blade(14.0, 21.0, 34.0, 36.0, 74_000.0, 178.0),
    "friction": dl.Friction(0.12, 0.12, 3.0),
}
NUMBERS = [(name, each.name) for name, part in PARTS.items() for each in fields(part) if "rule" in each.metadata]


def rule(name, field):
    return next(each for each in fields(PARTS[name]) if each.name == field).metadata["rule"]


def refused(name, field, value):
    with pytest.raises(dl.KnifeError) as caught:
        replace(PARTS[name], **{field: value})
    (problem,) = caught.value.problems
    assert problem.where == field
    assert problem.wrong
    assert problem.why
    assert problem.cure
    return problem


@pytest.mark.parametrize(("name", "field"), NUMBERS)
@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf, 10**400])
def test_not_finite(name, field, value):
    assert "is not a finite number" in refused(name, field, value).wrong


@pytest.mark.parametrize(("name", "field"), NUMBERS)
@pytest.mark.parametrize("value", ["1.2", "", True, [1.0], {}, 1j])
def test_not_a_number(name, field, value):
    problem = refused(name, field, value)
    assert problem.wrong == "is not a number"
    assert problem.value == repr(value)


@pytest.mark.parametrize(("name", "field"), NUMBERS)
def test_on_just_under_and_just_over_the_rule_of_each_field(name, field):
    tiny, given = 1e-12, spec_of(name, field)
    low_allowed = {
        "positive": [tiny],
        "not negative": [0.0, tiny],
        "any": [-tiny, 0.0, tiny],
        "acute": [tiny, 90 - 1e-9],
    }[rule(name, field)]
    low_refused = {"positive": [0.0, -tiny, -0.0], "not negative": [-tiny], "any": [], "acute": [0.0, 90.0, -tiny]}[
        rule(name, field)
    ]
    for value in low_allowed:
        problem = field_problem(given, value)
        # a tiny size is none only where nothing that a knife has is nearly as small
        small = given.metadata["unit"] == "mm" and given.metadata["sane"][0] > 0 and abs(value) == tiny
        assert "no size that anything has" in problem.wrong if small else problem is None
    for value in low_refused:
        assert "must" in refused(name, field, value).wrong


def spec_of(name, field):
    return next(each for each in fields(PARTS[name]) if each.name == field)


@pytest.mark.parametrize(("name", "field"), NUMBERS)
def test_every_field_says_what_it_is(name, field):
    data = spec_of(name, field).metadata
    assert data["meaning"]
    assert data["unit"] in {"mm", "N", "N/mm", "mm/N", "MPa", "deg", "g", "g·mm²", "N·mm", ""}
    if data["typical"]:
        assert data["typical"].doubt > 0


@pytest.mark.parametrize(("name", "field"), [pair for pair in NUMBERS if spec_of(*pair).default is None])
def test_what_may_be_unknown_may_be_none(name, field):
    part = replace(PARTS[name], **{field: None})
    assert getattr(part, field) is None


@pytest.mark.parametrize(("name", "field"), [pair for pair in NUMBERS if spec_of(*pair).default is not None])
def test_what_must_be_known_may_not_be_none(name, field):
    assert refused(name, field, None).wrong == "is not a number"


@pytest.mark.parametrize(("name", "field"), NUMBERS)
def test_sizes_that_nothing_has(name, field):
    if rule(name, field) != "acute":
        assert "no size that anything has" in refused(name, field, 1e308).wrong
    if rule(name, field) == "positive":
        assert "no size that anything has" in refused(name, field, 1e-300).wrong


@pytest.mark.parametrize(
    ("name", "field", "value"),
    [("blade", "tab_arm", 1e-9), ("ball", "track_radius", 1e-3), ("bar", "width", 1e-6)],
)
def test_a_length_a_hundred_times_smaller_than_any_of_a_knife_is_refused(name, field, value):
    assert "no size that anything has" in refused(name, field, value).wrong


IN_MM = [pair for pair in NUMBERS if spec_of(*pair).metadata["unit"] == "mm" and spec_of(*pair).metadata["sane"][0] > 0]


@pytest.mark.parametrize(("name", "field"), IN_MM)
def test_inches_typed_as_millimetres_get_a_question(name, field):
    low, high = spec_of(name, field).metadata["sane"]
    inches = min(low * 0.99, high / 25.4)
    problem = field_problem(spec_of(name, field), inches)
    assert "Were these inches?" in problem.why
    assert f"{inches * 25.4:.4g} mm" in problem.why
    assert f'"{inches:g} in"' in problem.cure
    assert field_problem(spec_of(name, field), low) is None


# what somebody typed, the question it gets, and what was meant: sizes in the units of a drawing, a gauge or a data
# sheet
SLIPS = [
    ("recess", "diameter", 52, "thou", 1.3208),
    ("recess", "diameter", 1321, "µm", 1.321),
    ("recess", "chamfer_width", 20, "thou", 0.508),
    ("recess", "edge_radius", 20, "thou", 0.508),
    ("recess", "rest_offset", -2.4, "thou", -0.06096),
    ("recess", "depth", 24, "thou", 0.6096),
    ("recess", "chamfer_deg", 0.785, "radians", 44.977),
    ("ball", "diameter", 62.5, "thou", 1.5875),
    ("ball", "protrusion", 420, "µm", 0.42),
    ("ball", "track_radius", 0.078, "inches", 1.9812),
    ("ball", "track_radius", 0.008, "m", 8.0),
    ("ball", "track_radius", 800, "thou", 20.32),
    ("ball", "contact_modulus", 115, "GPa", 115_000),
    ("bar", "riding_force", 1738, "gf", 17.0439577),
    ("bar", "rate", 10_300, "N/m", 10.3),
    ("bar", "relief_thickness", 43, "thou", 1.0922),
    ("bar", "youngs_modulus", 113.8, "GPa", 113_800),
    ("bar", "youngs_modulus", 1.138e11, "Pa", 113_800),
    ("bar", "youngs_modulus", 16.5e6, "psi", 113_763.5),
    ("bar", "shear_modulus", 44, "GPa", 44_000),
    ("bar", "yield_stress", 0.88, "GPa", 880),
    ("bar", "yield_stress", 127_600, "psi", 879.77),
    ("bar", "side_compliance", 5, "µm/N", 0.005),
    ("blade", "mass", 0.034, "kg", 34),
    ("blade", "mass", 1.2, "oz", 34.019),
    ("blade", "inertia", 7.4e-5, "kg·m²", 74_000),
    ("blade", "inertia", 74, "kg·mm²", 74_000),
    ("blade", "inertia", 0.25, "lb·in²", 73_160),
    ("blade", "opening_deg", 3.1, "radians", 177.6),
    ("blade", "opening_deg", 1, "radians", 57.3),
    ("blade", "tab_arm", 0.55, "inches", 13.97),
    ("friction", "rim", 12, "per cent", 0.12),
]


@pytest.mark.parametrize(("name", "field", "value", "unit", "meant"), SLIPS)
def test_a_slip_of_the_unit_gets_a_question_and_each_cure_works(name, field, value, unit, meant):
    problem = refused(name, field, value)
    small = abs(value) < abs(meant)
    assert f"is too {'small' if small else 'large'} for the {spec_of(name, field).metadata['meaning']}" in problem.wrong
    assert f"Were these {unit}?" in problem.why
    written = (
        [float(problem.cure.removeprefix("Write ").rstrip("."))]
        if unit == "per cent"
        else re.findall(r'"(.*)", or (\S+) for', problem.cure)[0]
    )
    for each in written:
        cured = quantity(each, spec_of(name, field).metadata["unit"]).value
        assert cured == pytest.approx(meant, rel=1e-3)
        assert field_problem(spec_of(name, field), cured) is None


@pytest.mark.parametrize(
    ("name", "field", "values"),
    [
        ("bar", "relief_thickness", (0.4, 1.8)),  # liner lock and frame lock: common practice
        ("bar", "thickness", (0.4, 6)),
        ("bar", "width", (3, 14)),
        ("bar", "rate", (0.5, 60)),
        ("bar", "riding_force", (0.5, 80)),
        ("ball", "diameter", (0.8, 4)),
        ("ball", "protrusion", (0.05, 1)),
        ("ball", "track_radius", (3, 25)),
        ("blade", "mass", (4, 400)),
        ("blade", "inertia", (1_500, 3_000_000)),
        ("blade", "opening_deg", (80, 200)),
        ("friction", "rim", (0, 0.9)),
    ],
)
def test_small_and_large_knives_are_asked_nothing(name, field, values):
    assert [field_problem(spec_of(name, field), value) for value in values] == [None, None]


def test_the_pivot_within_the_recess():
    """A rim that reaches the pivot never lets the ball go: just under, on and just over."""
    wide = dl.Recess(4.0, off_track=-0.5)
    for radius in (2.5, 2.4999):
        problem = refused_by(lambda radius=radius: replace(PARTS["ball"], track_radius=radius, recess=wide))
        assert problem.where == "track_radius"
        assert "pivot inside the recess, whose rim reaches 2 mm" in problem.wrong
    assert replace(PARTS["ball"], track_radius=2.5001, recess=wide)


def refused_by(make):
    with pytest.raises(dl.KnifeError) as caught:
        make()
    (problem,) = caught.value.problems
    assert problem.cure
    return problem


def test_the_sixteenth_of_an_inch_ball():
    message = str(refused("ball", "diameter", 0.0625))
    assert "0.0625 mm" in message
    assert "or 1.5875 for millimetres" in message


def test_whole_numbers_become_floats_and_nothing_else_changes():
    blade = dl.Blade(14, np.float64(21.0), np.int64(34))
    assert [type(value) for value in (blade.tab_arm, blade.stud_arm, blade.mass)] == [float] * 3


def test_parts_are_frozen():
    for part in PARTS.values():
        with pytest.raises(FrozenInstanceError):
            setattr(part, fields(part)[0].name, 1.0)


def test_all_problems_of_a_part_at_once():
    with pytest.raises(dl.KnifeError) as caught:
        dl.Ball(-1, math.nan, 0, "x", None)
    assert [problem.where for problem in caught.value.problems] == [
        "diameter",
        "protrusion",
        "track_radius",
        "hinge_distance",
        "recess",
    ]


# between fields


def test_no_recess():
    assert refused("ball", "recess", None).wrong == "the ball has no recess"
    assert refused("ball", "recess", 1.3208).wrong == "the ball has no recess"
    problem = refused("recess", "diameter", 0.0)
    assert problem.wrong == "there is no recess"
    assert dl.Recess(0.0, chamfer_width=0.5).rim_radius == 0.5


def test_chamfer_with_edge_radius():
    with pytest.raises(dl.KnifeError, match=r"edge_radius = 0.05 mm: comes together with a chamfer of 0.1 mm"):
        dl.Recess(1.3, chamfer_width=0.1, edge_radius=0.05)
    assert dl.Recess(1.3, chamfer_width=0.1, edge_radius=0.0)
    assert dl.Recess(1.3, chamfer_width=0.0, edge_radius=0.05)


def test_rest_offset_on_just_under_and_just_over_the_rim_radius():
    for sign in (1, -1):
        assert dl.Recess(1.3, rest_offset=sign * (0.65 - 1e-12))
        for beyond in (0.65, 0.65 + 1e-12):
            with pytest.raises(
                dl.KnifeError, match=r"puts the ball 0.65 mm from the middle of a recess whose rim radius is 0.65 mm"
            ):
                dl.Recess(1.3, rest_offset=sign * beyond)
    # across and along count together, and a chamfer is part of the recess
    with pytest.raises(dl.KnifeError, match="rest_offset"):
        dl.Recess(1.0, rest_offset=0.3, off_track=0.4)
    assert dl.Recess(1.0, rest_offset=0.3, off_track=0.39)
    assert dl.Recess(1.0, rest_offset=0.55, chamfer_width=0.1)


def test_protrusion_on_just_under_and_just_over_the_diameter():
    assert replace(PARTS["ball"], protrusion=1.5875 - 1e-12)
    for value in (1.5875, 1.6):
        assert "fallen out" in refused("ball", "protrusion", value).why


def test_stiffness_must_be_known():
    with pytest.raises(dl.KnifeError, match=r"no rate, and no relief_length, youngs_modulus"):
        dl.LockBar(17.0, relief_thickness=1.1, width=7.0, thickness=3.0)
    assert dl.LockBar(17.0, rate=10.0).drawn is False
    assert PARTS["bar"].drawn is True


def test_relief_on_just_under_and_just_over_the_bar():
    assert replace(PARTS["bar"], relief_thickness=3.0)
    assert replace(PARTS["bar"], relief_thickness=3.0 - 1e-9)
    with pytest.raises(dl.KnifeError, match="thicker than the bar"):
        replace(PARTS["bar"], relief_thickness=3.0 + 1e-9)


def test_material_fills_what_is_not_given():
    bar = dl.LockBar(17.0, 1.1, 6.0, 7.0, 3.0, material="Ti-6Al-4V", shear_modulus=43_000)
    assert (bar.youngs_modulus, bar.shear_modulus, bar.yield_stress) == (113_800.0, 43_000.0, 880.0)
    with pytest.raises(dl.KnifeError, match=r"Did you mean Ti-6Al-4V\?"):
        dl.LockBar(17.0, rate=10.0, material="Ti6Al4V")


@pytest.mark.parametrize("value", [2, -1, True, 0.0, "0", None])
def test_a_ball_sits_in_bar_0_or_1(value):
    with pytest.raises(dl.KnifeError, match="is not a lock bar"):
        replace(PARTS["ball"], bar=value)


def test_balls_and_bars_must_fit():
    ball = PARTS["ball"]

    def knife(balls, second_bar=None):
        return dl.Knife("t", balls, PARTS["bar"], PARTS["blade"], PARTS["friction"], second_bar=second_bar)

    assert knife([ball, replace(ball, bar=1)], PARTS["bar"]).balls[1].bar == 1
    with pytest.raises(dl.KnifeError, match="first ball must sit in the first lock bar"):
        knife([])
    with pytest.raises(dl.KnifeError, match="first ball must sit in the first lock bar"):
        knife([replace(ball, bar=1)], PARTS["bar"])
    with pytest.raises(
        dl.KnifeError, match=r"balls\[1\].bar = 1: the ball sits in a second leaf, but the knife has none"
    ):
        knife([ball, replace(ball, bar=1)])
    with pytest.raises(dl.KnifeError, match="the second leaf has no ball"):
        knife([ball], PARTS["bar"])


def test_a_relief_ends_before_its_ball():
    """A plain liner, thin from its slot to its ball, may be said as one relief: twice the distance from its middle."""
    reach, near = PARTS["ball"].hinge_distance, replace(PARTS["ball"], bar=1, hinge_distance=20.0)

    def knife(length, second=None):
        balls, bar = [PARTS["ball"]], replace(PARTS["bar"], relief_length=length)
        more = {} if second is None else {"second_bar": replace(PARTS["bar"], relief_length=second)}
        return dl.Knife("t", [*balls, near] if more else balls, bar, PARTS["blade"], PARTS["friction"], **more)

    assert knife(2 * reach).bar.relief_length == 2 * reach
    assert knife(60.0, 6.0).second_bar.relief_length == 6.0
    beyond = "reaches beyond the ball, 20 mm from the middle of the relief"
    with pytest.raises(dl.KnifeError, match=rf"second_bar\.relief_length = 41 mm: {beyond}"):
        knife(6.0, 41.0)
    swapped = {"bar.relief_length": 37.0, "balls[0].hinge_distance": 5.5}
    with pytest.raises(dl.KnifeError, match=r"bar\.relief_length = 37 mm: .* hinge distance were swapped"):
        A.replace(swapped)


@pytest.mark.parametrize("doubt", [-0.1, math.nan, math.inf, "0.1"])
def test_a_doubt_is_a_number_not_below_zero(doubt):
    with pytest.raises(dl.KnifeError, match=r"friction.rim = ± .*must be a number not below zero"):
        replace(A, doubts={"friction.rim": doubt})


def test_doubts_and_assumptions_name_numbers_that_the_knife_has():
    for more in ({"doubts": {"friction.rimm": 0.1}}, {"assumed": ("friction.rimm",)}):
        with pytest.raises(dl.KnifeError, match=r"friction.rimm: there is no such field. Did you mean friction.rim"):
            replace(A, **more)
    with pytest.raises(dl.KnifeError, match="no such field"):
        replace(measured(A), doubts={"bar.relief_thickness": 0.01})


# paths


def test_paths_lead_to_numbers():
    for knife in (A, B, E, measured(A)):
        for path in knife.paths():
            assert isinstance(knife.get(path), float), path
            assert spec(path)["meaning"]
    assert "balls[1].recess.diameter" in B.paths()
    assert "bar.rate" not in A.paths()


def test_replace_gives_a_new_checked_knife():
    new = A.replace({"balls[0].recess.diameter": 1.2, "bar.riding_force": 15, "friction.rim": 0.1})
    assert (new.balls[0].recess.diameter, new.bar.riding_force, new.friction.rim) == (1.2, 15.0, 0.1)
    assert A.balls[0].recess.diameter == 1.3208
    assert new.title == A.title
    assert A.replace({}) == A


@pytest.mark.parametrize("path", [path for path in B.paths() if not path.startswith("second")])
def test_replacing_each_number_by_itself_changes_nothing(path):
    assert B.replace({path: B.get(path)}).get(path) == B.get(path)


def test_replace_names_every_problem_with_its_owner():
    with pytest.raises(dl.KnifeError) as caught:
        A.replace({"balls[0].recess.diameter": -1, "bar.riding_force": math.nan, "blade.tab_arm": 0})
    assert {problem.where for problem in caught.value.problems} == {
        "balls[0].recess.diameter",
        "bar.riding_force",
        "blade.tab_arm",
    }
    assert all(line.startswith("Pellowfen A: ") for line in str(caught.value).splitlines())


@pytest.mark.parametrize(
    ("path", "near"),
    [
        ("balls[0].recess.diametre", "balls[0].recess.diameter"),
        ("balls[0].protusion", "balls[0].protrusion"),
        ("bar.ridingforce", "bar.riding_force"),
        ("friction", "friction.rim"),
        ("balls[5].diameter", "balls[0].diameter"),
        ("ball[0].diameter", "balls[0].diameter"),
    ],
)
def test_an_unknown_path_names_the_near_ones(path, near):
    for ask in (A.get, lambda path: A.replace({path: 1.0}), lambda path: A.with_arrays({path: np.ones((2, 1))})):
        with pytest.raises(dl.KnifeError) as caught:
            ask(path)
        assert f"{path}: there is no such field" in str(caught.value)
        assert near in str(caught.value)


def test_a_replaced_number_is_no_longer_assumed_and_keeps_its_doubt():
    knife = replace(A, assumed=("friction.rim", "blade.mass"))
    new = knife.replace({"friction.rim": 0.15})
    assert new.assumed == ("blade.mass",)
    assert new.doubts["friction.rim"] == A.doubts["friction.rim"]


def test_a_number_taken_away_takes_its_doubt_with_it():
    new = A.replace({"blade.mass": None})
    assert new.blade.mass is None
    assert "blade.mass" not in new.doubts


def test_another_material_brings_its_own_moduli_unless_given():
    assert A.replace({"bar.material": "410"}).bar.youngs_modulus == 200_000
    assert A.replace({"bar.material": "410", "bar.youngs_modulus": 198_000}).bar.youngs_modulus == 198_000


# many in one


def test_arrays_leave_the_knife_itself_alone():
    values = np.array([[1.2], [1.3]])
    many = C.with_arrays({"balls[0].recess.diameter": values, "friction.rim": values / 10})
    assert many.balls[0].recess.diameter is values
    assert many.balls[0].recess.rim_radius.shape == (2, 1)
    assert C.balls[0].recess.diameter == 1.3208
    assert many.balls[1] == C.balls[1]


def test_take_picks_rows_and_keeps_what_all_share():
    many = C.with_arrays({"friction.rim": np.array([[0.1], [0.2], [0.3]])})
    some = many.take([2, 0])
    assert some.friction.rim.tolist() == [[0.3], [0.1]]
    assert some.balls == C.balls


def test_a_problem_in_one_line():
    problem = Problem("a.b", "3 mm", "is odd", "Because.", "Do this.")
    assert str(problem) == "a.b = 3 mm: is odd. Because. Do this."
    assert str(Problem("a.b", "", "is odd", "", "")) == "a.b: is odd."
    assert problem.inside("x").where == "x.a.b"
    error = dl.KnifeError(problem, "knife")
    assert isinstance(error, ValueError)
    assert error.problems == (problem,)
