"""The assumptions of an argument as switches: each takes a knife to the knife that somebody assumes."""

import difflib
from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace
from typing import NamedTuple

from ..knife.checks import short
from ..knife.parts import Knife
from ..mechanics import bar as bars
from ..mechanics.carry import Detent, bars_of
from ..mechanics.feel import loaded_offset
from ..tune.moves import without_friction
from ..tune.pair import squashing

WORN = 0.05  # mm, edge radius of a worn rim: an example
_NEXT_TO_NO_RATE = 0.01  # N/mm: the bar force changes by thousandths of a newton from seat to flat


class Assumption(NamedTuple):
    """One position of a switch: what is assumed, in words, and what it makes of the knife."""

    said: str
    change: Callable


class Switch(NamedTuple):
    """One assumption: its label and its options by name, the first as the knife's card has it."""

    label: str
    options: dict


def in_the_plane(knife: Knife) -> Knife:
    """The knife with every ball on the track radius of ball 1 and every recess on its track, tracks taken as separate.

    >>> from detentlib.files.demo import demo
    >>> [round(each.balls[1].track_radius, 3) for each in (demo("pellowfen-c"), in_the_plane(demo("pellowfen-c")))]
    [9.602, 8.001]
    """
    radius = knife.balls[0].track_radius
    changes = {f"balls[{i}].recess.off_track": 0.0 for i in range(len(knife.balls))}
    for i in range(1, len(knife.balls)):
        changes |= {f"balls[{i}].track_radius": radius, f"balls[{i}].bearing_deg": None}
    return knife.replace(changes)


def with_equal_hinge_distances(knife: Knife) -> Knife:
    """The knife with every ball at the hinge distance of ball 1, so that the bar lifts all of them alike."""
    first = knife.balls[0].hinge_distance
    return knife.replace({f"balls[{i}].hinge_distance": first for i in range(1, len(knife.balls))})


def with_constant_force(knife: Knife) -> Knife:
    """The knife with bars that press with their riding force wherever they stand, and give sideways as they did."""
    changes = {}
    for name, (bar, members) in zip(("bar", "second_bar"), bars_of(knife), strict=False):
        changes |= {f"{name}.{size}": None for size in ("relief_thickness", "relief_length", "width", "thickness")}
        changes[f"{name}.rate"] = _NEXT_TO_NO_RATE
        changes[f"{name}.side_compliance"] = bars.side_compliance(bar, knife.balls[members[0]])
    return knife.replace(changes)


def stiff_sideways(knife: Knife) -> Knife:
    """The knife with bars that give no way sideways, as in a textbook, each ball resting where it rests in the loaded
    knife.

    >>> from detentlib.files.demo import demo
    >>> stiff = stiff_sideways(demo("pellowfen-a"))
    >>> stiff.bar.side_compliance, round(stiff.balls[0].recess.rest_offset, 3)
    (0.0, 0.06)
    """
    changes = {f"{name}.side_compliance": 0.0 for name in ("bar", "second_bar") if getattr(knife, name) is not None}
    rests = loaded_offset(Detent(knife))  # the place in the pivot's play is in it
    changes |= {f"balls[{i}].recess.rest_offset": rest for i, rest in enumerate(rests)}
    return knife.replace(changes | {"blade.pivot_play": 0.0})


def with_sharp_rims(knife: Knife) -> Knife:
    """The knife with plain, sharp rims; the cone of a drilled dimple stays."""
    changes = {f"balls[{i}].recess.edge_radius": 0.0 for i in range(len(knife.balls))}
    changes |= {f"balls[{i}].recess.chamfer_width": 0.0 for i, ball in enumerate(knife.balls) if ball.recess.bored}
    return knife.replace(changes)


def with_worn_rims(knife: Knife) -> Knife:
    """The knife with every plain rim rounded by WORN; KnifeError for a chamfered one, which is not modelled rounded."""
    return knife.replace({f"balls[{i}].recess.edge_radius": WORN for i in range(len(knife.balls))})


def known_exactly(knife: Knife) -> Knife:
    """The knife as if every number of its card were exact."""
    return replace(knife, doubts={}, known_together={})


def _same(knife):
    return knife


def _switch(label, **options):
    """options: {name: what is assumed, in words, with what it makes of the knife where it is not as on the card}."""
    assumed = {name: (said, _same) if isinstance(said, str) else said for name, said in options.items()}
    return Switch(label, {name: Assumption(*each) for name, each in assumed.items()})


SWITCHES = {
    "blade": _switch(
        "Blade", turning="each ball runs on its own track radius", plane=("every ball travels alike", in_the_plane)
    ),
    "arms": _switch(
        "Hinge distances",
        own="each ball has its own hinge distance",
        equal=("the bar lifts every ball alike", with_equal_hinge_distances),
    ),
    "bar": _switch(
        "Bar",
        rigid="the bar is stiff beyond its relief",
        elastic=("bar, balls and rims give (steel on steel: an estimate)", squashing),
    ),
    "sideways": _switch(
        "Sideways",
        gives="the bar gives sideways as on the card",
        stiff=("a bar stiff sideways, as in a textbook", stiff_sideways),
    ),
    "friction": _switch("Friction", given="friction as on the card", none=("no friction", without_friction)),
    "spring": _switch(
        "Bar force",
        rising="the bar presses harder the further it is bent",
        constant=("the bar presses alike everywhere", with_constant_force),
    ),
    "rim": _switch(
        "Rims",
        given="rims as on the card",
        sharp=("sharp rims", with_sharp_rims),
        worn=(f"rims worn round, edge radius {WORN:g} mm", with_worn_rims),
    ),
    "card": _switch("Numbers", measured="as well known as the card says", exact=("every number exact", known_exactly)),
}


def all_but(*names: str) -> tuple[str, ...]:
    """Names of all switches but these."""
    return tuple(name for name in SWITCHES if name not in names)


def options_of(names: Iterable[str], start: Mapping[str, str], chosen: Mapping[str, str]) -> dict[str, str]:
    """{switch: option} of a claim: its start, with what was chosen; ValueError naming near ones for what there is not.

    >>> options_of(("blade", "bar"), {"bar": "elastic"}, {"blade": "plane"})
    {'blade': 'plane', 'bar': 'elastic'}
    >>> options_of(("blade",), {}, {"blade": "flat"})
    Traceback (most recent call last):
    ValueError: blade can be turning or plane, not 'flat'
    """
    for name, option in chosen.items():
        if name not in names:
            near = difflib.get_close_matches(name, names, 1, 0.5)
            cure = f"Did you mean {near[0]}" if near else f"It has {', '.join(names)}"
            raise ValueError(f"this claim has no switch {name}. {cure}")
        if not isinstance(option, str) or option not in SWITCHES[name].options:
            raise ValueError(f"{name} can be {' or '.join(SWITCHES[name].options)}, not {short(option)}")
    return {name: chosen.get(name, start.get(name, next(iter(SWITCHES[name].options)))) for name in names}


def assume(knife: Knife, options: Mapping[str, str]) -> Knife:
    """The knife under these {switch: option}."""
    for name, option in options.items():
        knife = SWITCHES[name].options[option].change(knife)
    return knife
