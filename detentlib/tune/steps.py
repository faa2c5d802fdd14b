"""The small steps a bench can take on a knife, cheapest to undo first: what each sets, and what it costs."""

from typing import NamedTuple

from ..knife.units import both
from .moves import as_drilled, pin_assumed
from .stock import BALLS, DRILLS

REVERSIBLE, ONE_WAY, INFORMATION = "reversible", "one-way", "for information"
# rim friction, common practice: freshly oiled 0.08 to 0.15, dirty or starved 0.15 to 0.30, dry hardened steel 0.3 to 0.6
OILED, STARVED, DRY = 0.10, 0.22, 0.45
PRESET_STEP, TAB_STEP, DRAG_STEP = 0.1, 1.0, 1.0


class Step(NamedTuple):
    """One step: a short key, the words for people, its cost, what it sets, how large it is, and why it cannot be taken.

    numbers: {path: new value}, with the words of `moves.as_made`; size and unit: for saying how far into the step a
    limit lies; why_not: empty where it can be taken; fixed: it ends there wherever it began, as a drill of the stock does,
    and otherwise by as much further.
    """

    key: str
    words: str
    cost: str
    numbers: dict
    size: float = 0.0
    unit: str = ""
    why_not: str = ""
    fixed: bool = False


def steps(knife, length):
    """Every Step on a knife, lengths changed by `length` [mm], in the order in which a bench should think of them.

    Clean and oil, pivot, stop pin, preload, ball, recess, relief; then what is told for information only.
    """
    found = [
        _oil(knife),
        _pivot(knife),
        *_stop(knife, length),
        *_preload(knife),
        *(step for i in range(len(knife.balls)) for step in _ball(knife, i, length)),
        *(step for i in range(len(knife.balls)) for step in _recess(knife, i, length)),
        *_relief(knife, length),
        *_for_information(knife, length),
    ]
    return tuple(found)


def _oil(knife):
    why_not = "" if knife.friction.rim > OILED else f"it runs at {knife.friction.rim:g} already"
    return _friction(knife, "oil", "clean and oil", OILED, REVERSIBLE, why_not)


def _friction(knife, key, words, mu, cost, why_not=""):
    now = knife.friction.rim
    numbers = {"friction.rim": mu} | ({} if knife.friction.flat is None else {"friction.flat": mu})
    return Step(key, f"{words}: friction {now:g} to {mu:g}", cost, numbers, mu - now, "", why_not, fixed=True)


def _pivot(knife):
    drag = knife.friction.pivot_torque
    less = min(DRAG_STEP, drag)
    why_not = "" if less else "the pivot has no drag to take away"
    return Step("pivot", f"pivot eased by {both(less, 'N·mm')}", REVERSIBLE, {"friction.pivot_torque": drag - less}, less, "N·mm", why_not)


def _stop(knife, length):
    for key, sense, words in (("pin_thinner", -1, "thinner"), ("pin_thicker", 1, "thicker")):
        yield Step(key, f"stop pin {both(length, 'mm')} {words} in diameter{pin_assumed(knife)}", REVERSIBLE, {"pin": sense * length}, length, "mm")


def _preload(knife):
    for key, bar, name in _bars(knife):
        for way, sense, words in (("more", 1, "in"), ("less", -1, "out")):
            numbers = {f"{bar}.preset": sense * PRESET_STEP}
            yield Step(f"preset_{way}{key}", f"{name} bent {words} by {both(PRESET_STEP, 'mm')}", REVERSIBLE, numbers, PRESET_STEP, "mm")


def _bars(knife):
    """(end of the key, path, words) of each bar."""
    return [("", "bar", "bar")] + ([("[1]", "second_bar", "second leaf")] if knife.second_bar else [])


def _ball(knife, i, length):
    ball, at, whose = knife.balls[i], f"balls[{i}]", f"ball {i + 1}"
    yield Step(f"press[{i}]", f"{whose} pressed {both(length, 'mm')} deeper", ONE_WAY, {f"{at}.protrusion": ball.protrusion - length}, length, "mm")
    larger = next((size for size in BALLS if size.diameter > ball.diameter + _SAME), None)
    numbers = {f"{at}.diameter": larger.diameter} if larger else {}
    yield _to_stock(f"ball[{i}]", f"{whose} next size up", numbers, ball.diameter, larger, "no larger ball is stocked")


def _recess(knife, i, length):
    recess, at = knife.balls[i].recess, f"balls[{i}].recess"
    whose = f"recess {i + 1}"
    yield Step(f"recess[{i}]", f"{whose} {both(length, 'mm')} wider", ONE_WAY, as_drilled(knife, i, recess.diameter + length), length, "mm")
    larger = next((size for size in DRILLS if size.diameter > recess.diameter + _SAME), None)
    numbers = as_drilled(knife, i, larger.diameter) if larger else {}
    yield _to_stock(f"drill[{i}]", f"{whose} next drill up", numbers, recess.diameter, larger, "no larger drill is stocked")
    if i:
        yield Step(f"place[{i}]", f"{whose} alone set over by {both(length, 'mm')}", ONE_WAY, {f"{at}.rest_offset": recess.rest_offset + length}, length, "mm")


def _relief(knife, length):
    for key, path, name in _bars(knife):
        bar, words = getattr(knife, path), f"relief of the {name} {both(length, 'mm')} thinner, same bend"
        why_not, numbers = "", {}
        if not bar.drawn:
            why_not = "the drawn sizes of the bar are not known"
        elif bar.relief_thickness <= length:
            why_not = "it would cut the bar through"
        else:
            numbers = {f"{path}.relief_thickness": bar.relief_thickness - length}
        yield Step(f"relief{key}", words, ONE_WAY, numbers, length, "mm", why_not)


def _for_information(knife, length):
    for key, words, mu in (("starved", "left to run dirty", STARVED), ("dry", "degreased and dry", DRY)):
        yield _friction(knife, key, words, mu, INFORMATION, "" if knife.friction.rim < mu else f"it runs at {knife.friction.rim:g} already")
    for i, ball in enumerate(knife.balls):
        sense = -1 if ball.recess.off_track < 0 else 1
        numbers = {f"balls[{i}].recess.off_track": ball.recess.off_track + sense * length}
        yield Step(f"off_track[{i}]", f"recess {i + 1} {both(length, 'mm')} further off its track", INFORMATION, numbers, length, "mm")
    yield Step("tab", f"tab longer by {both(TAB_STEP, 'mm')}", INFORMATION, {"blade.tab_arm": knife.blade.tab_arm + TAB_STEP}, TAB_STEP, "mm")


_SAME = 1e-6  # mm, nearer than this is the same stock size


def _to_stock(key, words, numbers, now, size, none_left):
    if size is None:
        return Step(key, words, ONE_WAY, {}, 0.0, "mm", none_left)
    return Step(key, f"{words}, {size.name}", ONE_WAY, numbers, size.diameter - now, "mm", fixed=True)
