"""What the panels of notebooks 04 and 05 share: two balls over each other beside ball 1 alone, and how such a panel is put together."""

import numpy as np

from ..knife.parts import KnifeError
from ..knife.paths import place_of
from ..mechanics import limits
from ..tune.moves import with_one_ball
from .controls import Control
from .drawing import BALLS, ENVELOPE, INK, OPENING, STYLES
from .panel import Panel
from .scene import Line, Plot, Scene, angle_control, span_of
from .story import Story


class Pair(Scene):
    """Two balls over each other, their lift as seen at ball 1 with the bar on top, and the force at the tab beside that of ball 1 alone."""

    def __init__(self, title, samples):
        """Remember ball 1 alone, to compare with."""
        self._alone = Story(with_one_ball(samples[0][0].knife), samples[0][0].run.angle_deg[-1])
        super().__init__(title, samples)

    def plots(self, stories):
        """Lift of each ball with the bar on top; the force to open, and the same with ball 1 alone."""
        first = Line("ball 1", BALLS[0], STYLES[0], True, lambda now: now[0].demand_at_first(0))
        second = Line("ball 2", BALLS[1], STYLES[1], False, _second_lift)
        bar = Line("", ENVELOPE, STYLES[0], True, lambda now: now[0].run.gap, 7.0)
        both = Line("this knife", OPENING, STYLES[0], True, lambda now: now[0].run.tab_force, 3.0)
        one = Line("ball 1 alone", INK, STYLES[1], True, self._alone_force, 1.4)
        return Plot("lift at ball 1", "mm", (bar, first, second), from_zero=True), Plot("force to open", "N", (both, one), "upper right")

    def show(self, knife, extras, measure):
        """As Scene.show, with the names of the lift curves kept apart."""
        words = super().show(knife, extras, measure)
        _, *lifts = self._plots[0][2]
        top = max(lifts, key=lambda curve: curve.name.xy[1])
        for curve in lifts:
            curve.stand(above=curve is top)
        return words

    def _shown(self):
        """What there is to see, for who cannot see it."""
        return (
            "Sections to scale of each ball at its own travel; beside them the lift of each as seen at ball 1 with the bar on top, "
            f"and the force to open with that of ball 1 alone, from 0° to {self.span:g}°."
        )

    def _alone_force(self, now):
        """Force to open with ball 1 alone, at the angles of now."""
        return np.interp(now[0].run.angle_deg, self._alone.run.angle_deg, self._alone.run.tab_force)

    def _against_one(self, story, measure):
        """Break force and barrier, and how many times those of ball 1 alone they are."""
        now, one = story.feel, self._alone.feel
        force, barrier = _times(now.break_force, one.break_force, " × ball 1 alone"), _times(now.barrier, one.barrier, " ×")
        return f"Break force {measure.say(now.break_force, 'N')}{force}; barrier {measure.short(now.barrier, 'mJ')}{barrier}."


def _times(now, one, said):
    """How many times one is now, in words; nothing where one is nothing."""
    return f": {now / one:.2f}{said}" if one > 0 else ""


def _second_lift(now):
    """Lift demand of ball 2 as seen at ball 1; without one that of the bar, so that the axes hold."""
    return now[0].demand_at_first(1) if len(now[0].knife.balls) > 1 else now[0].run.gap


def start_at(starts, name, label, lo, hi, step):
    """A control of the scene whose range holds where it starts."""
    starts[name] = round(starts[name], 9)
    return Control(name, label, min(lo, starts[name]), max(hi, starts[name]), step)


def panel_of_pair(scene_of, maker, pair, starts, controls, tries, extremes, choice):
    """The panel of a pair whose axes hold what each slider, try and extreme does; a try that cannot be is not offered.

    scene_of(samples) gives the scene, maker(pair, extras) the knife; extremes: more settings to hold.
    """
    ends = [{control.path: end} for control in controls for end in (control.lo, control.hi)]
    settings = [*ends, *extremes, *tries.values()]
    made = [_made(maker, pair, starts, setting) for setting in settings]
    offered = {name: setting for name, setting in tries.items() if made[settings.index(setting)]}
    drawn = [pair, *filter(None, made)]
    span = span_of(drawn)
    scene = scene_of([[Story(each, span)] for each in drawn])
    scene.extras |= {name: (start, "mm") for name, start in starts.items()}
    return Panel(pair, [*controls, angle_control(span)], scene, offered, choice)


def _made(maker, pair, starts, setting):
    """The knife of a setting, None where it cannot be and would be refused in words."""
    paths = {name: value for name, value in setting.items() if place_of(name)}
    try:
        knife = maker(pair.replace(paths), starts | setting)
        limits.check(knife)
    except KnifeError:
        return None
    return knife
