"""How the questions of notebooks 09 and 10 are answered: settling an argument, and alone at the bench."""

import math

from ...argue.judging import judge
from ...argue.scale import TRUE
from ...derivations.formulas import formulas
from ...doubt.budget import budget
from ...files.demo import demo
from ...measure.trace import lift_trace
from ...measure.value import mean_of
from ...say.working import Worked, product, quotient, total
from ...tune.pair import press_difference
from .asking import Way, bench_readings
from .one_ball import drag_added, whole_job

_GAUGE, _CALIPERS = 0.2, 0.06  # ± (95 %) of a pull gauge [N] and of the depth rod of calipers [mm]: common practice
_WAYS = {"a": {"friction": "none"}, "b": {"spring": "constant"}, "c": {"blade": "plane"}}


def _side():
    knife = demo("pellowfen-c")
    twice, nothing = (judge(id, knife) for id in ("doubles", "nothing"))
    letter = "a" if twice.word == TRUE else "b" if nothing.word == TRUE else "c"
    return letter, {"twice": twice, "nothing": nothing}


def _flip():
    """Which of three other drawings of D turns the verdict on a lower second ball round."""
    id, knife = "lower-weakens", demo("pellowfen-d")
    now = judge(id, knife, card="exact")
    found = {letter: judge(id, knife, card="exact", **way) for letter, way in _WAYS.items()}
    return next(letter for letter, other in found.items() if other.word != now.word), {"now": now} | found


def ratio_of_two(with_both: float, with_one: float, doubt: float) -> list[Worked]:
    """How many times one force [N] is of another, first line, and the ± of that, last line; doubt: ± of each [N]."""
    times = quotient("How many times.", "x", with_both, with_one, "")
    shares = [
        quotient("Share of the ± in the first reading.", "u_1", doubt, with_both, ""),
        quotient("Share of the ± in the second reading.", "u_2", doubt, with_one, ""),
    ]
    first, second = (share.value for share in shares)
    size = times.value * math.hypot(first, second)
    shown = rf"\pm = {times.value:.4g} \sqrt{{{first:.4g}^2 + {second:.4g}^2}} = {size:.4g}"
    return [times, *shares, Worked("Squares add up, and the ratio carries them.", lambda: shown, size, "")]


def _settled(difference, doubt):
    both = product("Two readings of one ± make root two of it.", r"\pm", math.sqrt(2), doubt, "mm")
    return [both, quotient("The difference, in times its own ±.", "x", difference, both.value, "")]


def _first_reading():
    """Which reading of C is hardest to put down to chance, were it a knife with one ball."""
    trace = lift_trace(bench_readings("lift-trace-c"), demo("pellowfen-b"))
    pull = mean_of(bench_readings("two-way-pull-c")["opening"], _GAUGE)
    one_ball = budget(demo("pellowfen-a"), "gauge_break_force")  # his old knife is not on the bench: only its card is
    apart, either = abs(one_ball.value - pull.value), math.hypot(pull.doubt, one_ball.doubt)
    deeper, doubt = press_difference(demo("pellowfen-c")), math.sqrt(2) * _CALIPERS
    chances = {"a": _by_chance(apart, either), "b": trace.chance, "c": _by_chance(deeper, doubt)}
    found = {"times": float(f"{1 / trace.chance:.1g}"), "apart": apart, "either": either}
    return min(chances, key=chances.get), found | {"deeper": deeper, "doubt": doubt}


def _by_chance(apart, doubt):
    """Chance that two equal things are read so far apart, where the difference has this ± (95 %)."""
    return math.erfc(2 * apart / doubt / math.sqrt(2))


def _bug(ball, gap, riding, rate, mu, track, tab, angle, depth, load, push, pull):
    """The line of Ilby's sheet, angle to pull, whose number does not follow from the numbers above it."""
    follows = {
        "a": (angle, whole_job(ball, gap, riding, rate, mu, track, tab)[0].value),
        "b": (depth, whole_job(ball, gap, riding, rate, mu, track, tab)[1].value),
        "c": (load, riding - rate * depth),
        "d": (push, load * formulas["F2"](phi=math.radians(angle), mu=mu, cos_chi=1.0)),
        "e": (pull, formulas["F5"](torque=push * track, arm=tab)),
    }
    letter = max(follows, key=lambda line: abs(follows[line][0] / follows[line][1] - 1))
    return letter, {"follows": follows[letter][1], "written": follows[letter][0]}


def _bored(gap, offset):
    said = "From the middle of the recess to its rim: what is left, and what the stop has taken."
    reach = total(said, "a", gap, offset, "mm")
    return [reach, product("Twice that is the diameter.", "D", 2, reach.value, "mm")]


ANSWERS = {
    "09-side": _side,
    "09-flip": _flip,
    "09-ratio": Way(
        ratio_of_two,
        worst_case=lambda n: n.line(1) * (n.line(2) + n.line(3)),
        one_reading=lambda n: n.line(3),
        difference=lambda n: math.sqrt(2) * n.doubt,
    ),
    "09-settled": Way(
        _settled,
        one_reading=lambda n: n.difference / n.doubt,
        worst_case=lambda n: n.difference / (2 * n.doubt),
        upside_down=lambda n: 1 / n.again(),
    ),
    "10-first": _first_reading,
    "10-bug": _bug,
    "10-push": Way(
        lambda **numbers: whole_job(**numbers, track=1.0, tab=1.0)[:6],
        drag_added=drag_added,
        no_friction=lambda n: n.again(mu=0),
        force_on_the_flat=lambda n: n.again(rate=0),
    ),
    "10-recess": Way(
        _bored,
        radius=lambda n: n.line(1),
        no_offset=lambda n: 2 * n.gap,
        other_side=lambda n: n.again(offset=-n.offset),
    ),
}
