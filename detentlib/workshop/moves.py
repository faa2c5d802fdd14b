"""Moves at the bench, each from one Knife to another: thin the relief, bend the bar, take a ball out, shift a rim."""

from dataclasses import replace

from ..mechanics import bar as bars
from ..mechanics.feel import feel
from ..parts import Knife, KnifeError, Problem


def preset(knife):
    """How far the bar is bent at ball 1 when it rides the flat [mm]: riding force over rate.

    >>> from detentlib.parts import Ball, Blade, Friction, LockBar, Recess
    >>> ball = Ball(1.5875, 0.42, 8.001, 36.4, Recess(1.3208, rest_offset=0.06))
    >>> preset(Knife("A", [ball], LockBar(17.0, rate=10.0), Blade(14.0), Friction(0.12)))
    1.7
    """
    return knife.bar.riding_force / bars.rate(knife.bar, knife.balls[0])


def with_relief(knife, thickness):
    """The knife with its relief brought to another thickness [mm] at the same preset.

    Rate and riding force change together (B1); a measured rate is changed in the ratio of the drawn ones. Raises
    KnifeError where the drawn sizes of the bar are not known.

    >>> from detentlib.parts import Ball, Blade, Friction, LockBar, Recess
    >>> ball = Ball(1.5875, 0.42, 8.001, 36.4, Recess(1.3208, rest_offset=0.06))
    >>> bar = LockBar(17.04, 1.1, 6.0, 7.0, 3.0, material="Ti-6Al-4V")
    >>> knife = Knife("A", [ball], bar, Blade(14.0), Friction(0.12))
    >>> round(with_relief(knife, 1.1 * 2 ** (1 / 3)).bar.riding_force, 1)      # twice the cube, a little less with the thick part
    31.8
    """
    bar, first = knife.bar, knife.balls[0]
    if not bar.drawn:
        raise KnifeError(
            Problem(
                "bar.relief_thickness",
                "",
                "cannot be changed on a bar whose drawn sizes are not known",
                "Its rate alone does not say how thick the relief is.",
                "Give relief_thickness, relief_length, width, thickness and the material.",
            ),
            knife.title,
        )
    thinner = knife.replace({"bar.relief_thickness": thickness})
    ratio = bars.drawn_compliance(bar, first) / bars.drawn_compliance(thinner.bar, first)
    changes = {"bar.riding_force": bar.riding_force * ratio}
    if bar.rate is not None:
        changes["bar.rate"] = bar.rate * ratio
    return thinner.replace(changes)


def with_preset(knife, change):
    """The knife with the bar bent further by `change` at ball 1 [mm], + towards the tang: more force, the same rate.

    >>> from detentlib.parts import Ball, Blade, Friction, LockBar, Recess
    >>> ball = Ball(1.5875, 0.42, 8.001, 36.4, Recess(1.3208, rest_offset=0.06))
    >>> with_preset(Knife("A", [ball], LockBar(17.0, rate=10.0), Blade(14.0), Friction(0.12)), 0.1).bar.riding_force
    18.0
    """
    return knife.replace({"bar.riding_force": knife.bar.riding_force + bars.rate(knife.bar, knife.balls[0]) * change})


def with_one_ball(knife):
    """The knife with ball 1 alone: every other ball and a second leaf taken out."""
    return Knife(
        knife.title,
        knife.balls[:1],
        knife.bar,
        knife.blade,
        knife.friction,
        doubts=_kept(knife.doubts, knife),
        assumed=tuple(_kept(dict.fromkeys(knife.assumed), knife)),
    )


def with_second_leaf(knife):
    """The knife with every ball but the first in a second leaf of its own, equal to the first and pressed as hard."""
    balls = [knife.balls[0], *(replace(ball, bar=1) for ball in knife.balls[1:])]
    return replace(knife, balls=balls, second_bar=replace(knife.bar, parallel_gap=None))


def rim_lead(knife, ball=1):
    """How much nearer its working rim a ball stands than ball 1, at rest on the stop [mm]; + when it is nearer."""
    gaps = feel(knife).rim_gap
    return gaps[0] - gaps[ball]


def _kept(by_path, knife):
    """What belongs to ball 1 and to the first bar."""
    gone = ("second_bar", *(f"balls[{i}]" for i in range(1, len(knife.balls))))
    return {path: value for path, value in by_path.items() if not path.startswith(gone)}
