"""What was measured, in words: a lift trace, a two-way pull, a fit, and what to measure next, a sentence a line."""

from ..doubt.budget import budget
from ..doubt.many import RESULTS
from ..knife.parts import Knife, name_of, spec
from ..knife.paths import field_of
from ..knife.units import Within, both, two_digits
from ..measure.fit import KnifeFit
from ..measure.next_measurement import Advice, next_measurement
from ..measure.pull import Pull
from ..measure.trace import LiftTrace
from ..mechanics.feel import feel
from .measure import exactly

_WORTH = 0.05  # share of a ± that a measurement must take off to be worth its minutes: judgement
MIXED = "such parts add up to more than the whole: readings tell what these numbers make together, not each of them"
WIDE = (
    "a force worked out of this knife has a ± on the wide side, up to some two times what the readings ask for: an"
    " error off the track weakens to either side alike, which the file cannot tie to the other numbers"
)
_SLIPS = 0.01  # share of overshoot from which on it is worth a word


def trace_words(seen: LiftTrace | None, smoothing: bool = True) -> list[str]:
    """A LiftTrace in words: the ball at rest, handover, run-off, and how much was smoothed, where that is asked for;
    nothing for None.
    """
    if seen is None:
        return []
    ball = f"ball {seen.resting_ball + 1}"
    lines = [
        f"seat lift {_with(seen.seat_lift, 'mm')}",
        f"so {ball} touches at {_with(seen.contact_deg, 'deg')}, rim gap {_with(seen.rim_gap, 'mm')}",
        f"free of the rim at {_with(seen.break_out_deg, 'deg')}",
    ]
    if seen.untold:
        lines.append(f"handover: {seen.untold}")
    elif seen.handover is None:
        lines.append(f"handover: none; {seen.rival} explains the trace as well")
    else:
        found = seen.handover
        lines.append(f"handover at {_with(found.angle_deg, 'deg')}, the climb {found.steeper} after it")
    if seen.run_off is not None:
        lines.append(
            f"run-off at {_with(seen.run_off.angle_deg, 'deg')}, then lower by {_with(seen.run_off.drop, 'mm')}"
        )
    lines += [seen.smoothing] * smoothing
    if seen.explained < 0.01:
        lines.append("no arc of a ball explains this trace: look for a burr, a floor, a bent pivot")
    return lines


def pull_words(pull: Pull | None, knife: Knife | None = None, off_stop: bool = True) -> list[str]:
    """A Pull in words: both forces, friction and bar force apart, and what reading off the stop would have said, where
    that is asked for.

    knife: says at what angle its loaded ball rests with this friction, too. Nothing for None.
    """
    if pull is None:
        return []
    friction, pressing = _friction(pull.friction), _with(pull.bar_force, "N")
    lines = [
        f"{pull.repeats} pairs: opens at {_with(pull.opening, 'N')}",
        f"lets back against {_with(pull.letback, 'N')}",
        f"{friction}, the bar presses with {pressing} at rest",
    ]
    lines += _slip_words(pull)
    for off in pull.off_stop if off_stop else ():
        low = f"{100 * off.low:.0f} % low, friction would come out as {off.friction:.3f}"
        lines.append(f"a let-back read {off.off_deg:g}° off the stop: {low}")
    return lines if knife is None else [*lines, _rest_words(knife, pull)]


def _slip_words(pulled):
    """What a Pull or a KnifeFit says of friction that slides, and of pulls that stick and slip, in words."""
    lines = []
    if pulled.sliding is not None:
        lines.append(f"that is where it breaks away; sliding on, {_friction(pulled.sliding)}")
    if pulled.slip > _SLIPS:
        beyond = f"{100 * pulled.slip:.0f} % beyond a steady pull, which is taken off"
        lines.append(f"the pulls stick and slip: they read about {beyond}")
        lines.append("so few pairs tell little of that, which the ± counts")
    return lines


def _rest_words(knife, pull):
    """At what angle the loaded ball of a Knife rests with the friction of a Pull, in words.

    The bar gives less where the rim drags more.
    """
    felt = feel(knife.replace({"friction.rim": max(pull.friction.value, 0.0)}))
    return f"with that friction the loaded ball rests at {felt.contact_deg[max(felt.rest_carrier, 0)]:.1f}°"


def fit_words(fit: KnifeFit | None) -> list[str]:
    """A KnifeFit in words: the verdict, each number found, and what the readings cannot tell apart or not at all.

    The verdict alone where readings and card do not belong together; nothing for None.
    """
    if fit is None:
        return []
    if fit.foreign:
        return [fit.verdict]
    lines = [fit.verdict]
    for path, value in fit.values.items():
        lines.append(f"{name_of(path, fit.knife)}: {_with(value, spec(path)['unit'])}")
    off_track = any(field_of(path) == "recess.off_track" and doubt for path, doubt in fit.knife.doubts.items())
    return [*lines, *_slip_words(fit), *fit.alike, *fit.untold, *[WIDE] * off_track]


def next_words(advice: Advice, knife: Knife, result: str) -> str:
    """Advice of `next_measurement` in words, with the ± of the result that it leaves."""
    unit = spec(advice.path)["unit"]
    now, then = (exactly(two_digits(each), unit) for each in (advice.doubt_now, advice.doubt_then))
    now = f"within {now}" if isinstance(advice.doubt_now, Within) else f"±{now}"
    left = exactly(two_digits(advice.result_doubt), RESULTS[result].unit)
    what = f"{advice.instrument}, {advice.minutes:g} min: {name_of(advice.path, knife)}"
    return f"{what} from {now} to ±{then}; that leaves ±{left}"


def what_next(knife: Knife, result: str) -> list[str]:
    """A result of a Knife with its ±, and the one measurement to make next; or that none is worth its minutes, and why.

    result: as of `budget`. Worth its minutes is what takes off a twentieth of the ± or more.
    """
    sure = budget(knife, result)
    lines = [f"{RESULTS[result].words} {sure.interval.said(sure.unit)}"]
    advice = next_measurement(knife, result)
    worth = [each for each in advice if each.result_doubt <= (1 - _WORTH) * sure.doubt]
    if worth:
        return [*lines, next_words(worth[0], knife, result)]
    if advice:
        best = min(advice, key=lambda each: each.result_doubt)
        off = f"{100 * (1 - best.result_doubt / sure.doubt):.1g} % of that ±"
        told = f"takes off at most {off}: {best.instrument}, {best.minutes:g} min, for the {name_of(best.path, knife)}"
        lines.append(f"no further measurement of one number is worth its minutes here; any of them {told}")
    if sure.largest:
        alone = exactly(two_digits(abs(sure.shares[sure.largest])), sure.unit)
        lines.append(f"the largest part of the ±: the {name_of(sure.largest, knife)}, ±{alone} by itself")
        if sure.mixed:
            lines.append(MIXED)
    return lines


def _friction(value):
    return f"friction {value.value:.3f} ± {value.doubt:.3f}"


def _with(value, unit):
    return both(value.value, unit, value.doubt)
