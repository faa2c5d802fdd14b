"""The questions of notebook 10: alone at the bench; entered in table.py."""

import math
from functools import cache

from ...bench.trace import lift_trace
from ...bench.value import mean_of
from ...doubt.budget import budget
from ...mechanics.formulas import formulas
from ...workshop.pair import press_difference
from ..practice.job import drag_added, whole_job
from ..working import product, total
from .asking import Choice, Given, Mistake, Question, bench_readings, demo

_GAUGE, _CALIPERS = 0.2, 0.06  # ± (95 %) of a pull gauge [N] and of the depth rod of calipers [mm]: common practice


@cache
def _first_reading():
    """Which reading of C is hardest to put down to chance, were it a knife with one ball: the chance is taken for each."""
    trace = lift_trace(bench_readings("lift-trace-c"), demo("pellowfen-b"))
    pull = mean_of(bench_readings("two-way-pull-c")["opening"], _GAUGE)
    one_ball = budget(demo("pellowfen-a"), "gauge_break_force")  # his old knife is not on the bench: only its card is
    apart, either = abs(one_ball.value - pull.value), math.hypot(pull.doubt, one_ball.doubt)
    deeper, doubt = press_difference(demo("pellowfen-c")), math.sqrt(2) * _CALIPERS
    chances = {"a": _by_chance(apart, either), "b": trace.chance, "c": _by_chance(deeper, doubt)}
    said = (
        f"A bar that never changes hands would give such a trace once in some {float(f'{1 / trace.chance:.1g}'):,.0f} times. "
        f"The gauge finds C {apart:.1f} ± {either:.1f} N softer than the card of one ball says, which may be nothing, and says not why. "
        f"The calipers would find {deeper:.3f} ± {doubt:.3f} mm between the balls, which may be nothing."
    )
    return min(chances, key=chances.get), said


def _by_chance(apart, doubt):
    """Chance that two equal things are read so far apart, where the difference has this ± (95 %)."""
    return math.erfc(2 * apart / doubt / math.sqrt(2))


# the sheet on which Ilby reckoned, and what is written on it: the numbers are Ilby's own
_SHEET = {"ball": 1.5875, "gap": 0.56, "riding": 15.0, "rate": 9.0, "mu": 0.15, "track": 8.4, "tab": 13.0}
_WRITTEN = {
    "a": ("Contact angle: sin φ = 0.56 / 0.794, φ = 44.9°", 44.9),
    "b": ("Seat depth: 0.231 mm", 0.231),
    "c": ("Bar, seated: 15.0 − 9.0 × 0.231 = 12.9 N", 12.9),
    "d": ("Push: N tan φ + μ N = 14.8 N", 14.8),
    "e": ("At the tab: 14.8 × 8.4 / 13.0 = 9.56 N", 9.56),
}


def _bug():
    """The line whose number does not follow from the numbers above it."""
    angle, depth, load, push, _ = (number for _, number in _WRITTEN.values())
    lines = whole_job(**_SHEET)
    follows = {
        "a": lines[0].value,
        "b": lines[1].value,
        "c": _SHEET["riding"] - _SHEET["rate"] * depth,
        "d": load * formulas["F2"](phi=math.radians(angle), mu=_SHEET["mu"], cos_chi=1.0),
        "e": formulas["F5"](torque=push * _SHEET["track"], arm=_SHEET["tab"]),
    }
    letter = max(follows, key=lambda each: abs(_WRITTEN[each][1] / follows[each] - 1))
    said = f"That line says {_WRITTEN[letter][1]:.1f} N; from the lines above it follow {follows[letter]:.1f} N. Every other line follows from those before it."
    return letter, said


def _opening(ball, gap, riding, rate, mu):
    return whole_job(ball, gap, riding, rate, mu, track=1.0, tab=1.0)[:6]


def _drag_added(ball, gap, riding, rate, mu):
    return drag_added(ball, gap, riding, rate, mu, track=1.0, tab=1.0)


def _bored(gap, offset):
    reach = total("From the middle of the recess to its rim: what is left, and what the stop has taken.", "a", gap, offset, "mm")
    return [reach, product("Twice that is the diameter.", "D", 2, reach.value, "mm")]


APPRENTICE = (
    Choice(
        "10-first",
        "Pellowfen C holds no harder than with one ball, and bumps on the way out. "
        "Before anything is taken apart you may take one set of readings. Which tells most about why?",
        {"a": "Five pulls at the tab", "b": "A lift trace", "c": "Calipers over both balls"},
        _first_reading,
        ("Which of them sees where on the way something happens?",),
        {
            "a": "“The force is what he complains of.” So it is. But one number at one place does not say why.",
            "c": "“It must be the press depth.” Perhaps. But the depth rod does not see 2 thou, and it cannot see a recess at all.",
        },
    ),
    Choice(
        "10-bug",
        f"Ilby has reckoned a push at the tab, with friction {_SHEET['mu']:g}. One line does not follow from those above it. Which?",
        {letter: words for letter, (words, _) in _WRITTEN.items()},
        _bug,
        ("Four of them you have done in practice. What is the force that friction belongs to?",),
        {
            "a": "That line is sound: rim gap over the ball's radius is the sine.",
            "b": "That line is sound: the radius less the third side of the triangle.",
            "c": "That line is sound. The bar has come down into the seat, so it presses less than on the flat. The bend was counted once.",
            "e": "That line only passes the slip on: force times track radius over tab arm.",
        },
    ),
    Question(
        "10-push",
        "A {ball} ball, rim gap {gap}. The bar presses with {riding} on the flat, at a rate of {rate}. Friction is {mu}. "
        "What should that line have given, the push at the ball?",
        {
            "ball": Given(_SHEET["ball"], "mm", "1/16 in (1.5875 mm)"),
            "gap": Given(_SHEET["gap"], "mm"),
            "riding": Given(_SHEET["riding"], "N"),
            "rate": Given(_SHEET["rate"], "N/mm"),
            "mu": Given(_SHEET["mu"], ""),
        },
        "N",
        _opening,
        ("The rim presses harder than the bar does, so its friction is more than μ times the bar.", "Friction steepens the rim by the friction angle."),
        (
            Mistake(_drag_added, "that is Ilby's number. μN is the drag on a flat. At the rim, friction belongs to the force of the rim, which is more."),
            Mistake(lambda ball, gap, riding, rate, mu: _opening(ball, gap, riding, rate, 0.0)[-1].value, "that leaves friction out."),
            Mistake(
                lambda ball, gap, riding, rate, mu: _opening(ball, gap, riding, 0.0, mu)[-1].value,
                "that takes the force on the flat. In its seat the bar has come down, and presses less.",
            ),
        ),
    ),
    Question(
        "10-recess",
        "A lift trace gives a rim gap of {gap} for the ball that carries at rest. There, the bar pressing, it rests {offset} "
        "short of the middle of its recess. How wide is that recess?",
        {"gap": Given(0.53, "mm"), "offset": Given(0.06, "mm")},
        "mm",
        _bored,
        ("The ball stands off the middle towards the rim that works. Draw it from above.",),
        (
            Mistake(lambda gap, offset: gap + offset, "that is its radius."),
            Mistake(lambda gap, offset: 2 * gap, "that leaves out the rest offset: the ball does not stand in the middle."),
            Mistake(lambda gap, offset: 2 * (gap - offset), "the rest offset brings the ball nearer to its rim. So the middle is further off, not nearer."),
        ),
    ),
)
