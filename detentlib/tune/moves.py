"""Moves at the bench, each from one Knife to another: thin the relief, bend the bar, take a ball out, shift a rim."""

from collections.abc import Mapping
from dataclasses import replace

from ..derivations.formulas import formulas
from ..knife.parts import Knife, KnifeError, Problem, name_of, spec
from ..knife.paths import BARS, place_of, swap
from ..knife.units import convert
from ..knife.values import Values
from ..mechanics import bar as bars
from ..mechanics.carry import bars_of

THOU = convert(1.0, "thou", "mm")
RATE_ALONE = "Its rate alone does not say how thick the relief is."
GIVE_SIZES = "Give relief_thickness, relief_length, width, thickness and the material"
REVERSIBLE = "reversible"
BENT = "bent: plastic, can be bent back"
LOCK_TOO = "Bending or thinning the bar changes the lock as well: check that again."
PIN_TOO = "The same stop pin may set the open stop and the lock-up: after another pin check both."


def preset(knife: Knife) -> Values:
    """How far the bar is bent at ball 1 when it rides the flat [mm]: riding force over rate.

    >>> from detentlib.files.demo import demo
    >>> round(preset(demo("pellowfen-a")), 2)                                # 17.04 N at 10.30 N/mm
    1.65
    """
    return knife.bar.riding_force / bars.rate(knife.bar, knife.balls[0])


def with_relief(knife: Knife, thickness: Values) -> Knife:
    """The knife with its relief brought to another thickness [mm] at the same preset.

    Rate, riding force and sideways give change together (B1, B6a); a measured one is changed in the ratio of the drawn
    ones. Raises KnifeError where the drawn sizes of the bar are not known.

    >>> from detentlib.files.demo import demo
    >>> round(with_relief(demo("pellowfen-a"), 1.1 * 2 ** (1 / 3)).bar.riding_force, 1)  # about twice
    31.8
    """
    knife.replace({"bar.relief_thickness": thickness})
    return knife.replace(as_made(knife, {"bar.relief_thickness": thickness}))


def with_preset(knife: Knife, change: Values) -> Knife:
    """The knife with the bar bent further by `change` at ball 1 [mm], + towards the tang: more force, the same rate.

    >>> from detentlib.files.demo import demo
    >>> round(with_preset(demo("pellowfen-a"), 0.1).bar.riding_force, 2)     # 17.04 N, and 0.1 mm at 10.30 N/mm
    18.07
    """
    return knife.replace(as_made(knife, {"bar.preset": change}))


def stripped(knife: Knife) -> Knife:
    """The knife as its parts lie on the bench: no rim pushes a bar aside. So it stands, too, as somebody lifts its bar
    off the blade at the ball, and its force at rest is what the gauge then reads.

    >>> from detentlib.files.demo import demo
    >>> from detentlib.mechanics.feel import feel
    >>> round(feel(stripped(demo("pellowfen-a"))).rest_load, 2)              # 14.21 N while it presses
    14.71
    """
    return knife.replace({f"{name}.side_compliance": 0.0 for name, _ in zip(BARS, bars_of(knife), strict=False)})


def worn_by(knife: Knife, more: Values) -> Knife:
    """The knife with every plain rim worn rounder: so much more edge radius [mm]; KnifeError for a chamfered one, which
    is not modelled rounded.

    >>> from detentlib.files.demo import demo
    >>> worn_by(demo("pellowfen-a"), 0.06).balls[0].recess.edge_radius
    0.06
    """
    return knife.replace(
        {f"balls[{i}].recess.edge_radius": b.recess.edge_radius + more for i, b in enumerate(knife.balls)}
    )


def with_one_ball_of(knife: Knife, diameter: Values) -> Knife:
    """The knife with ball 1 alone, changed for one of another diameter [mm] that stands out as far, in the same recess.

    >>> from detentlib.files.demo import demo
    >>> from detentlib.mechanics.feel import feel
    >>> c = demo("pellowfen-c")
    >>> larger = with_one_ball_of(c, 25.4 * 5 / 64)
    >>> len(larger.balls), feel(larger).break_force < feel(with_one_ball(c)).break_force  # it sinks in less
    (1, True)
    """
    return with_one_ball(knife).replace({"balls[0].diameter": diameter})


def as_made(knife: Knife, numbers: Mapping[str, Values]) -> dict[str, Values]:
    """What a change at the bench does to the numbers of a knife whose bar keeps its bend: {path: value} for `replace`
    or `with_arrays`.

    numbers: {path: new value}, and besides the knife's own paths "bar.preset" and "second_bar.preset", how much further
    that bar is bent [mm, at its first ball, + towards the tang], "pin", how much thicker the stop pin is [mm in
    diameter; B9, see `stop_radius`], and "stop", how much further short of the recess the stop holds the blade for
    whatever reason [mm, at ball 1; each other ball in the ratio of its track radius]. Values may be arrays. Another
    relief thickness at the same bend changes rate, riding force and sideways give (B1, B6a; what was measured in the
    ratio of the drawn ones); a first ball that stands out further bends its bar by so much more (B5). Raises KnifeError
    for a relief on a bar whose drawn sizes are not known.

    >>> from detentlib.files.demo import demo
    >>> knife = demo("pellowfen-a")
    >>> round(as_made(knife, {"balls[0].protrusion": 0.40})["bar.riding_force"], 2)  # 17.04 N less 0.02 mm · 10.3
    16.83
    >>> moved = as_made(knife, {"pin": 0.0254})["balls[0].recess.rest_offset"]
    >>> round(moved - 0.105, 4)  # half of it at 12 mm, of that 8 mm in 12
    0.0085
    """
    values = {path: value for path, value in numbers.items() if path not in BENCH}
    if "stop" in numbers or "pin" in numbers:
        step = numbers.get("stop", 0.0) + numbers.get("pin", 0.0) * travel_by_pin(knife)
        for i, ball in enumerate(knife.balls):
            path = f"balls[{i}].recess.rest_offset"
            further = step * ball.track_radius / knife.balls[0].track_radius
            values[path] = values.get(path, ball.recess.rest_offset) + further
    if "pin" in numbers and knife.blade.pin_diameter is not None:
        values["blade.pin_diameter"] = knife.blade.pin_diameter + numbers["pin"]
    for name, (bar, members) in zip(BARS, bars_of(knife), strict=False):
        values |= _bar_as_made(knife, name, bar, members[0], numbers)
    return values


def stop_radius(knife: Knife) -> Values:
    """Pivot to where the tang meets the stop pin [mm], as is usual where the card does not say."""
    return spec("blade.stop_radius")["typical"].value if knife.blade.stop_radius is None else knife.blade.stop_radius


def travel_by_pin(knife: Knife) -> Values:
    """How much further short of the recess the stop holds ball 1 for each millimetre of pin diameter [mm/mm] (B9).

    >>> from detentlib.files.demo import demo
    >>> round(travel_by_pin(demo("pellowfen-a")), 3)  # a third: half of it at 12 mm, of that 8 mm in 12
    0.333
    """
    return formulas["B9"](
        pin_change=1.0, stop_radius=stop_radius(knife), track_radius=knife.balls[0].track_radius
    ).travel


def pin_assumed(knife: Knife) -> str:
    """A word, in brackets, that the stop radius is not on the card but assumed; empty where the card gives it."""
    return "" if knife.blade.stop_radius is not None else f" (stop radius {stop_radius(knife):g} mm assumed)"


def as_drilled(knife: Knife, i: int, diameter: Values) -> dict[str, Values]:
    """What drilling recess i wider does to its numbers: {path: value}. A chamfer is eaten from inside; a rounded rim is
    taken as rounded again alike.

    >>> from detentlib.knife.parts import Ball, Blade, Friction, Knife, LockBar, Recess
    >>> recess = Recess(1.20, chamfer_width=0.05)
    >>> ball, bar = Ball(1.5875, 0.42, 8.0, 36.4, recess), LockBar(17.0, rate=10.0)
    >>> knife = Knife("A", [ball], bar, Blade(14.0), Friction(0.12))
    >>> as_drilled(knife, 0, 1.26)                                           # 0.03 mm wider all round
    {'balls[0].recess.diameter': 1.26, 'balls[0].recess.chamfer_width': 0.02}
    """
    recess, at = knife.balls[i].recess, f"balls[{i}].recess"
    left = {f"{at}.chamfer_width": max(0.0, round(recess.rim_radius - diameter / 2, 9))} if recess.chamfer_width else {}
    return {f"{at}.diameter": diameter} | left


def as_resized(knife: Knife, i: int, wider: Values) -> dict[str, Values]:
    """What recess i made wider by so much [mm], narrower below zero, does to its numbers: {path: value}.

    A bore keeps the width of its chamfer; a drilled dimple, which has no bore, gets its rim further out.

    >>> from detentlib.knife.parts import Ball, Blade, Friction, Knife, LockBar, Recess
    >>> dimple = Recess(0.0, chamfer_width=0.6)
    >>> ball, bar = Ball(1.5875, 0.42, 8.0, 36.4, dimple), LockBar(17.0, rate=10.0)
    >>> as_resized(Knife("A", [ball], bar, Blade(14.0), Friction(0.12)), 0, 0.1)
    {'balls[0].recess.chamfer_width': 0.65}
    """
    recess, at = knife.balls[i].recess, f"balls[{i}].recess"
    if not recess.bored:
        return {f"{at}.chamfer_width": recess.chamfer_width + wider / 2}
    return {f"{at}.diameter": recess.diameter + wider}


BENCH = {
    "bar.preset": "bend of the bar",
    "second_bar.preset": "bend of the second leaf",
    "pin": "diameter of the stop pin",
    "stop": "place of the stop",
}


def called(knife: Knife, path: str) -> str:
    """A path in words for people, such as "ball 2: rest offset of the recess"; the words of `as_made` count.

    >>> from detentlib.files.demo import demo
    >>> [called(demo("pellowfen-a"), path) for path in ("balls[0].recess.rest_offset", "stop")]
    ['rest offset of the recess', 'place of the stop']
    """
    return BENCH.get(path) or name_of(path, knife)


def _bar_as_made(knife, name, bar, k, numbers):
    """Rate, riding force, sideways give and parallel gap of one bar; k: its first ball."""
    first, height, relief = knife.balls[k], f"balls[{k}].protrusion", f"{name}.relief_thickness"
    if not {f"{name}.preset", height, relief} & numbers.keys():
        return {}
    changes, ratio = {}, 1.0
    if relief in numbers:
        need_drawn(knife, name)
        thinned = getattr(knife.with_arrays({relief: numbers[relief]}), name)
        ratio = bars.drawn_compliance(bar, first) / bars.drawn_compliance(thinned, first)
        if bar.rate is not None:
            changes[f"{name}.rate"] = bar.rate * ratio
        if bar.side_compliance is not None:
            drawn = knife.with_arrays({f"{name}.side_compliance": None})
            both = drawn, drawn.with_arrays({relief: numbers[relief]})
            before, after = (bars.side_compliance(getattr(each, name), first) for each in both)
            changes[f"{name}.side_compliance"] = bar.side_compliance * after / before
    if height in numbers and bar.parallel_gap is None:
        changes[f"{name}.parallel_gap"] = first.protrusion
    bend = numbers.get(f"{name}.preset", 0.0) + numbers.get(height, first.protrusion) - first.protrusion
    force = numbers.get(f"{name}.riding_force", bar.riding_force)
    return changes | {f"{name}.riding_force": (force + bars.rate(bar, first) * bend) * ratio}


def need_drawn(knife: Knife, name: str = "bar") -> None:
    """Raise KnifeError where the drawn sizes of a bar, "bar" or "second_bar", are not known."""
    if not getattr(knife, name).drawn:
        wrong = "is asked for here, but the drawn sizes are not known"
        cure = f"{GIVE_SIZES}."
        raise KnifeError(Problem(f"{name}.relief_thickness", "", wrong, RATE_ALONE, cure), knife.title)


def with_one_ball(knife: Knife) -> Knife:
    """The knife with ball 1 alone: every other ball and a second leaf taken out."""
    together = {pair: r for pair, r in knife.known_together.items() if len(_kept(dict.fromkeys(pair), knife)) == 2}
    return replace(
        knife,
        balls=knife.balls[:1],
        second_bar=None,
        doubts=_kept(knife.doubts, knife),
        assumed=tuple(_kept(dict.fromkeys(knife.assumed), knife)),
        known_together=together,
        said=_kept(knife.said, knife),
    )


def without_friction(knife: Knife) -> Knife:
    """The knife without friction at rim, flat and pivot."""
    return knife.replace(
        {f"friction.{name}": 0.0 for name in ("rim", "pivot_torque", "washer", "pin")} | {"friction.flat": None}
    )


def with_second_leaf(knife: Knife) -> Knife:
    """The knife with every ball but the first in a second leaf of its own, equal to the first and pressed as hard."""
    balls = [knife.balls[0], *(swap(ball, {("bar",): 1}) for ball in knife.balls[1:])]
    return replace(knife, balls=balls, second_bar=swap(knife.bar, {("parallel_gap",): None}))


def _kept(by_path, knife):
    return {path: value for path, value in by_path.items() if place_of(path).index == 0}
