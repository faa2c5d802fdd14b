"""The topics that can be practised, and how their fresh numbers are drawn: from a seed, the same on every machine."""

import difflib
import math
import random
import tomllib
from collections.abc import Callable, Mapping, Sequence
from itertools import combinations
from pathlib import Path
from types import MappingProxyType
from typing import NamedTuple, TypeVar

from ...derivations.formulas import formulas
from ...knife.checks import short
from ...knife.units import convert
from ...tune.stock import BALLS, INCH_BALLS, NUMBER_DRILLS
from ..questions.apprentice import ratio_of_two
from ..questions.asking import Given, LetterQuestion, Question
from ..questions.one_ball import touching, whole_job
from ..questions.table import QUESTIONS
from ..questions.two_balls import difference_of_two, touch
from .more import PRACTISED

_GAP = (0.58, 0.84)  # shares of the ball's radius that give the usual contact angles, 35° to 57°
_USUAL_BALLS = ("3/64 in", "1.5 mm", "1/16 in", "5/64 in", "2.0 mm")
_LEAST = 0.012  # mm, the smallest clearance that is asked for: below it the last digit of a depth decides
_ALL = QUESTIONS | PRACTISED

Thing = TypeVar("Thing")


class Topic(NamedTuple):
    """What can be practised: its name, what a reader can do after it, the notebook that teaches it; see topics.toml.

    sketch: what to draw on paper before anything is reckoned.
    draw(Draw) -> {ID of a question: its numbers}, or None where these will not do and others are to be drawn.
    steps: {number of a worked step, as text: ID of the question that knows what people do wrong in it}.
    """

    name: str
    can: str
    notebook: str
    sketch: str
    draw: Callable
    steps: Mapping = MappingProxyType({})

    @property
    def sketch_first(self) -> str:
        """What to draw, as a sentence."""
        return f"Sketch first: {self.sketch}."


class Draw:
    """Numbers from a topic, a seed and a try; only `random()` is used, which gives the same in every Python.

    >>> Draw("seat", 1).number(0.4, 0.6, 0.05) in (0.4, 0.45, 0.5, 0.55, 0.6)
    True
    """

    def __init__(self, topic: str, seed: int, attempt: int = 0):
        """The same topic, seed and attempt give the same numbers."""
        self._random = random.Random(f"{topic}, {seed}, {attempt}")

    def number(self, low: float, high: float, step: float) -> float:
        """One of low, low + step, ... up to high."""
        steps = round((high - low) / step)
        return round(low + step * int(self._random.random() * (steps + 1)), 6)

    def pick(self, things: Sequence[Thing]) -> Thing:
        """One of a row of things."""
        return things[int(self._random.random() * len(things))]

    def ball(self) -> Given:
        """A ball that people use."""
        size = self.pick([size for size in BALLS if size.name in _USUAL_BALLS])
        shown = f"{size.name} ({size.diameter:.5g} mm)" if size in INCH_BALLS else ""
        return Given(size.diameter, "mm", shown)

    def gap(self, ball: Given) -> float:
        """A rim gap [mm] for a ball, with a usual contact angle."""
        low, high = (round(share * ball.value / 2, 2) for share in _GAP)
        return self.number(low, high, 0.005)

    def thou(self, low: float = 1.0, high: float = 3.0) -> Given:
        """A difference in size or height between so many thou, in half thou."""
        thou = self.number(low, high, 0.5)
        mm = convert(thou, "thou", "mm")
        return Given(mm, "mm", f"{thou:g} thou ({mm:g} mm)")


def drawn(topic: Topic, seed: int) -> tuple[Question | LetterQuestion, ...]:
    """The questions of a topic for a seed: the first draw that will do, with wrong answers that can be told apart."""
    attempt = 0
    while True:
        numbers = topic.draw(Draw(topic.name, seed, attempt))
        parts = tuple(_ALL[id].fresh(**given) for id, given in (numbers or {}).items())
        if parts and all(told_apart(asked) for asked in parts):
            return parts
        attempt += 1


def told_apart(asked: Question | LetterQuestion) -> bool:
    """True where no known wrong answer is the right one, and no two of them, with different words, are one number."""
    if isinstance(asked, LetterQuestion):
        return True
    wrong = [(asked.wrong(mistake), mistake.words) for mistake in asked.mistakes]
    if any(asked.fits(value, asked.answer) for value, _ in wrong):
        return False
    return not any(asked.fits(one, two) for (one, first), (two, second) in combinations(wrong, 2) if first != second)


def topic_named(name: str) -> Topic:
    """The Topic of this name, or the only one that begins like it; ValueError naming near ones.

    >>> topic_named("Who").name
    'who carries'
    >>> topic_named("handovr")
    Traceback (most recent call last):
    ValueError: there is no topic 'handovr' to practise; did you mean handover or sharing?
    """
    wanted = str(name).strip().casefold()
    begun = [topic for known, topic in TOPICS.items() if wanted and known.startswith(wanted)]
    matching = [TOPICS[wanted]] if wanted in TOPICS else begun
    if len(matching) != 1:
        near = [topic.name for topic in begun] or difflib.get_close_matches(wanted, TOPICS, 2, 0.4) or TOPICS
        raise ValueError(f"there is no topic {short(name)} to practise; did you mean {' or '.join(near)}?")
    return matching[0]


def _sink(ball: Given, gap: float) -> float:
    return touching("", "sink", ball.value, gap).value


def _to(step: float, value: float, rounded: Callable = round) -> float:
    """A number in steps that an instrument reads."""
    return round(step * rounded(value / step), 3)


def _seat(draw):
    ball = draw.ball()
    numbers = {"ball": ball, "gap": draw.gap(ball)}
    return {"01-angle": numbers, "01-seat": numbers}


def _spring(draw):
    rate, rise = draw.number(4.0, 20.0, 0.1), draw.number(0.18, 0.4, 0.01)
    riding = draw.number(8.0, 20.0, 0.1)
    thin = draw.number(0.9, 1.5, 0.05)
    thick = round(thin + draw.pick((0.05, 0.1, 0.15, 0.2)), 2)
    return {
        "02-rate": {"riding": riding, "rise": rise, "further": round(riding + rate * rise, 1)},
        "02-thicker": {"rate": draw.number(4.0, 14.0, 0.1), "thin": thin, "thick": thick},
        "02-back": {"lost": draw.number(0.4, 2.5, 0.1), "rate": draw.number(4.0, 20.0, 0.1)},
    }


def _arms(draw):
    pounds, tab = draw.number(1.3, 4.0, 0.05), draw.number(10.0, 16.0, 0.5)
    stud = draw.number(tab + 3.0, 26.0, 0.5)
    force, held = draw.number(6.0, 18.0, 0.1), draw.number(6.0, 18.0, 0.1)
    drag = draw.number(1.0, 6.0, 0.5)
    at_stud = round((held * tab + drag) / stud, 1)
    return {
        "practice-torque": {"pounds": pounds, "arm": tab},
        "00-stud": {"force": force, "tab": tab, "stud": stud},
        "03-tab": {"force": at_stud, "stud": stud, "drag": drag, "tab": tab},
    }


def _wedged(draw):
    """Bar force, contact angle and friction at a rim."""
    load, angle = draw.number(8.0, 18.0, 0.1), draw.number(38.0, 56.0, 0.5)
    return {"load": load, "angle": angle, "mu": draw.number(0.08, 0.24, 0.01)}


def _friction(draw):
    numbers = _wedged(draw)
    arms = {"track": draw.number(6.0, 11.0, 0.1), "tab": draw.number(10.0, 16.0, 0.5)}
    hold = QUESTIONS["03-hold"]
    back = hold.fresh(**numbers, **arms).answer
    opens = hold.fresh(**numbers | {"mu": -numbers["mu"]}, **arms).answer
    pulls = {"opens": round(_to(0.05, opens), 2), "back": round(_to(0.05, back), 2)}
    if not (6.0 <= pulls["opens"] <= 18.0 and pulls["back"] >= 1.5):
        return None
    again = _wedged(draw)  # other numbers for what comes after: its friction would answer the first question
    return {"03-mu": pulls | {"angle": numbers["angle"]}, "03-open": again, "03-hold": again | arms}


def _barrier(draw):
    riding, rate, rise = draw.number(11.0, 25.0, 0.1), draw.number(5.0, 18.0, 0.5), draw.number(0.15, 0.4, 0.005)
    numbers = {"seated": round(riding - rate * rise, 2), "riding": riding, "rise": rise}
    return {"03-barrier": numbers, "practice-barrier-two": numbers}


def _job(draw):
    ball = draw.ball()
    numbers = {
        "ball": ball,
        "gap": draw.gap(ball),
        "riding": draw.number(12.0, 22.0, 0.1),
        "rate": draw.number(5.0, 16.0, 0.1),
        "mu": draw.number(0.08, 0.16, 0.01),
        "track": draw.number(7.0, 10.0, 0.1),
        "tab": draw.number(11.0, 16.0, 0.5),
    }
    lines = whole_job(**numbers | {"ball": ball.value})
    usual = 6.0 <= lines[-1].value <= 18.0 and lines[1].value < 0.5
    return {"practice-job": numbers} if usual else None


def _lift(draw):
    ball = draw.ball()
    numbers = {"ball": ball, "lift": _to(0.005, draw.number(0.195, 0.44, 0.005) * ball.value / 2)}
    return {"07-lift": numbers, "practice-lift-gap": numbers}


def _who(draw):
    ball = draw.ball()
    gap_1 = draw.gap(ball)
    gap_2 = round(gap_1 - draw.number(0.02, 0.12, 0.01), 3)
    out_1 = round(_to(0.005, _sink(ball, gap_1), math.ceil) + draw.number(0.1, 0.2, 0.005), 3)
    out_2 = round(out_1 - draw.number(0.02, 0.08, 0.005), 3)
    clear = (out_1 - _sink(ball, gap_1)) - (out_2 - _sink(ball, gap_2))
    if abs(clear) < _LEAST or gap_2 < 0.4 * ball.value / 2:
        return None
    numbers = {"ball": ball, "out_1": out_1, "gap_1": gap_1, "out_2": out_2, "gap_2": gap_2}
    return {"04-who": numbers, "practice-who": numbers}


def _sharing(draw):
    load, angle = draw.number(8.0, 20.0, 0.5), draw.number(35.0, 57.0, 1.0)
    share = draw.pick((20.0, 30.0, 40.0, 60.0, 70.0, 80.0))
    wedge = {"push": draw.number(5.0, 15.0, 0.5), "angle": draw.number(25.0, 60.0, 1.0)}
    return {"04-split": {"load": load, "angle": angle, "share": share}, "01-wedge": wedge}


def _instrument(draw):
    rod, depth = draw.number(0.04, 0.08, 0.01), draw.pick((0.005, 0.01, 0.02, 0.03))
    difference = draw.thou(0.5, 3.0)
    if 0.7 < difference_of_two(depth)[-1].value / difference.value < 1.4:
        return None
    return {"04-prove": {"doubt": rod}, "practice-settle": {"depth": depth, "difference": difference}}


def _touch(draw):
    ball = draw.ball()
    numbers = {"ball": ball, "gap": draw.gap(ball), "deeper": draw.thou(1.0, 3.5)}
    return {"05-touch": numbers, "practice-drill": numbers}


def _beyond_touch(draw):
    """(numbers of a handover, what C2 makes of them), with a rim lead that makes ball 2 touch; or None."""
    ball = draw.ball()
    gap, deeper = draw.gap(ball), draw.thou(1.0, 3.0)
    least = touch(ball.value, gap, deeper.value)[-1].value
    lead = _to(0.005, least * draw.number(1.15, 1.9, 0.05))
    over = formulas["C2"](height_difference=deeper.value, rim_lead=lead, ball_radius=ball.value / 2, rim_gap_1=gap)
    if lead <= least or over.travel < 0.03 or over.phi_2 < math.radians(8) or gap - lead < 0.3 * ball.value / 2:
        return None
    return {"ball": ball, "gap": gap, "deeper": deeper, "lead": lead}, over


def _handover(draw):
    first = _beyond_touch(draw)
    if first is None:
        return None
    turn = {"travel": draw.number(0.05, 0.4, 0.005), "track": draw.number(6.0, 11.0, 0.1)}
    other = _beyond_touch(draw)  # the step is asked of other balls: its angles would answer the first question
    if other is None:
        return None
    numbers, over = first[0], other[1]
    angles = {"before": round(math.degrees(over.phi_2), 1), "after": round(math.degrees(over.phi_1), 1)}
    drawn = {"practice-handover-angle": numbers, "05-handover": numbers}
    return drawn | {"practice-handover-turn": turn, "05-step": angles}


def _peak(draw):
    numbers, _ = _beyond_touch(draw) or (None, None)
    return numbers and {"practice-peak": numbers, "practice-peak-barrier": numbers}


def _hinge(draw):
    arms = {"angle": draw.number(40.0, 56.0, 0.5), "times": draw.number(1.1, 1.5, 0.05)}
    hinge_1 = draw.number(32.0, 50.0, 0.2)
    hinges = {"hinge_1": hinge_1, "hinge_2": round(hinge_1 - draw.number(2.0, 5.0, 0.2), 1)}
    return {"05-match": arms, "practice-hinge": arms | hinges}


def _off_track(draw):
    ball = draw.ball()
    size = draw.pick([size for size in NUMBER_DRILLS if 0.78 < size.diameter / ball.value < 0.9])
    numbers = {
        "ball": ball,
        "drill": Given(size.diameter, "mm", f"{size.name} drill ({size.diameter:g} mm)"),
        "offset": draw.number(0.03, 0.1, 0.005),
        "off": draw.number(0.03, 0.1, 0.005),
        "track": draw.number(6.0, 11.0, 0.1),
    }
    at_stop, later = numbers | {"travel": 0.0}, numbers | {"travel": draw.number(0.02, 0.08, 0.005)}
    slopes = [PRACTISED["practice-off-stop"].fresh(**given).answer for given in (at_stop, later)]
    apart = abs(slopes[0] / slopes[1] - 1) > 0.04
    return {"practice-off-stop": at_stop, "practice-off-later": later} if apart else None


def _run_off(draw):
    ball, deeper = draw.ball(), draw.thou(1.0, 4.0)
    turn = {"travel": draw.number(0.2, 0.5, 0.005), "track": draw.number(6.0, 11.0, 0.1)}
    return {"06-roll": {"ball": ball, "deeper": deeper}, "practice-run-off-turn": turn}


def _thou_of_tuning(draw):
    ball = draw.ball()
    force, thick = draw.number(8.0, 20.0, 0.1), draw.number(0.9, 1.5, 0.05)
    softer = {"now": draw.number(11.0, 18.0, 0.1), "wanted": draw.number(7.0, 10.5, 0.5), "thick": thick}
    pin = {"load": draw.number(8.0, 18.0, 0.1), "change": draw.thou(2.0, 6.0), "stop": draw.number(11.0, 14.0, 0.5)}
    return {
        "08-thou": {"force": force, "thick": thick, "off": draw.thou(1.0, 2.0)},
        "practice-relief": softer,
        "08-pin": {"ball": ball, "track": draw.number(7.0, 10.0, 0.1), "gap": draw.gap(ball)} | pin,
    }


def _argument(draw):
    """Two readings and a bound on how many times they are of each other, not so near that the last digit decides."""
    one = draw.number(8.0, 15.0, 0.1)
    both = round(one * draw.number(0.85, 1.3, 0.05), 1)
    pulls = {"with_both": both, "with_one": one, "doubt": draw.number(0.1, 0.4, 0.1)}
    bound = draw.number(0.9, 1.3, 0.05)
    apart = abs(both / one - bound) / ratio_of_two(**pulls)[-1].value
    if 0.8 < apart < 1.25 or bound == 1.0:
        return None
    heights = {"difference": draw.thou(0.5, 3.0), "doubt": draw.pick((0.005, 0.01, 0.02, 0.03))}
    return {"09-ratio": pulls, "practice-verdict": pulls | {"bound": bound}, "09-settled": heights}


_DRAWS = {
    "seat": _seat,
    "spring": _spring,
    "arms": _arms,
    "friction": _friction,
    "barrier": _barrier,
    "job": _job,
    "who carries": _who,
    "sharing": _sharing,
    "instrument": _instrument,
    "touch": _touch,
    "handover": _handover,
    "peak": _peak,
    "hinge": _hinge,
    "off track": _off_track,
    "run-off": _run_off,
    "lift": _lift,
    "tuning": _thou_of_tuning,
    "argument": _argument,
}
_WORDS = tomllib.loads(Path(__file__).with_suffix(".toml").read_text(encoding="utf-8"))
TOPICS = {name: Topic(name, draw=draw, **_WORDS[name]) for name, draw in _DRAWS.items()}
