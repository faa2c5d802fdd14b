"""The panels of notebooks 00 and 01: one ball, the whole knife, and two knives side by side.

`one_ball(knife)`, `whole_knife(knife)` and `side_by_side(knife, other)` give a Panel ready to show.
"""

from ..mechanics.carry import FACE
from ..mechanics.lift import ROUND
from ..tune.moves import with_one_ball
from .controls import Dropdown
from .drawing import BACK, BALLS, ENVELOPE, OPENING, STYLES
from .panel import Panel, Words
from .scene import DIRECTION, Line, Plot, Scene, angle_control, control_for, panel_of, span_of
from .story import SMOOTH, WAYS, Story


class OneBall(Scene):
    """Where the rim touches, and what that does to a push."""

    def plots(self, stories):
        """Contact angle, and the slope of the lift curve."""
        angle = Line("contact angle", BALLS[0], STYLES[0], True, lambda now: now[0].run.contact_deg[:, 0])
        slope = Line("slope of the lift curve", OPENING, STYLES[0], True, lambda now: now[0].wedge())
        return Plot("contact angle", "deg", (angle,)), Plot("push per newton of bar", "", (slope,))

    def _draw_sections(self, stories, way, measure):
        """The ball in its recess, with the push that the slope alone asks for."""
        for section, story, ball in self._sections:
            section.draw(stories[story].seat(ball, SMOOTH), way, measure)

    def words(self, stories, way, measure):
        """What carries and where, what a push does there, and how far the bar gives sideways."""
        story = stories[0]
        recess, gives = story.knife.balls[0].recess, story.gives(measure)
        answer = f"At {measure.short(story.angle_deg, 'deg')}: {story.touching(measure)}{_pushed(story, measure)}{gives and '; ' + gives}.{story.warning()}"
        alt = (
            f"Section to scale: ball of {measure.round(story.knife.balls[0].diameter, 'mm')} in a recess of {measure.round(recess.diameter, 'mm')}, "
            f"rest offset {measure.say(recess.rest_offset, 'mm')}; beside it contact angle and slope of the lift curve from 0° to {self.span:g}°. {answer}"
        )
        return Words(answer, alt)


def _pushed(story, measure):
    """What a push on the tang meets at the one ball of a Story now, without friction, in words."""
    run, at, seat = story.run, story.at, story.seat(0, SMOOTH)
    if run.carrier[at] == FACE:
        return ": the ball hangs clear of its rim, and no rim holds the blade here"
    presses = f"presses the blade {'shut' if seat.push > 0 else 'open'} with {measure.say(abs(seat.push), 'N')} at the ball"
    if run.touch[at, 0] == ROUND:
        return f", in the middle of its recess: the rim holds it on every side, and the bar, bent sideways, {presses}"
    slope = run.slope[at]
    if slope < 0:
        return f", on its far side: without friction the rim {presses}"
    if slope == 0:
        return ": nothing rises here, and a push meets friction only"
    depth = story.knife.balls[0].protrusion - run.gap[at]
    return (
        f", rim gap {measure.say(run.rim_gap[at, 0], 'mm')}, {measure.say(depth, 'mm')} deep in the recess. "
        f"Without friction 10 N of push at the ball lifts {10 / slope:.1f} N of bar force (slope {slope:.3f})"
    )


class WholeKnife(Scene):
    """The lift demands with the envelope, and what the finger feels at the tab both ways."""

    def plots(self, stories):
        """Lift of each ball with the bar on top, and the tab force opening and letting back."""
        count = len(stories[0].knife.balls)
        lifts = [Line("lift curve", BALLS[0], STYLES[0], False, lambda now: now[0].run.gap)]
        if count > 1:
            balls = [Line(f"ball {i + 1}", BALLS[i % 3], STYLES[i % 3], i == 0, lambda now, i=i: now[0].demand_at_first(i)) for i in range(count)]
            lifts = [lifts[0]._replace(name="", colour=ENVELOPE, width=7.0), *balls]
        opening = Line("opening", OPENING, STYLES[0], True, lambda now: now[0].run.tab_force)
        back = Line("letting back", BACK, STYLES[1], False, lambda now: now[0].back.tab_force)
        return Plot("lift at ball 1", "mm", tuple(lifts), from_zero=True), Plot("force at the tab", "N", (opening, back))

    def words(self, stories, way, measure):
        """Now, and the knife as a whole."""
        story = stories[0]
        state = "; ".join(filter(None, (story.touching(measure, way), story.gives(measure, way), story.at_tab(way, measure))))
        now = f"At {measure.short(story.angle_deg, 'deg')}: {state}."
        answer = f"{now} The knife: {story.feeling(measure)}.{story.warning()}"
        alt = (
            f"Section to scale, gap between bar and tang {measure.say(story.run.gap[story.at], 'mm')}; "
            f"beside it lift and force at the tab from 0° to {self.span:g}°. {answer}"
        )
        return Words(answer, alt)


class SideBySide(Scene):
    """Two knives over the same axes; the second one stays as it is."""

    size = (7.7, 3.8)  # four sections in a taller still would be more than a notebook should store

    def __init__(self, title, samples):
        """Remember the other knife, and what to call the two."""
        knife, self._other = (story.knife for story in samples[0])
        told_apart = knife.title != self._other.title
        self.names = [knife.title, self._other.title] if told_apart else [f"{knife.title} (1)", f"{knife.title} (2)"]
        super().__init__(title, samples)

    def knives(self, knife):
        """Both knives."""
        return [knife, self._other]

    def plots(self, stories):
        """Lift and opening force of both."""
        looks = [(name, BALLS[i], STYLES[i], i == 0) for i, name in enumerate(self.names)]
        lifts = [Line(*look, lambda now, i=i: now[i].run.gap) for i, look in enumerate(looks)]
        forces = [Line(*look, lambda now, i=i: now[i].run.tab_force) for i, look in enumerate(looks)]
        return Plot("lift at ball 1", "mm", tuple(lifts)), Plot("force to open", "N", tuple(forces), "upper right")

    def words(self, stories, way, measure):
        """Both feelings, and how far they lie apart."""
        told = [f"{name}: {story.feeling(measure)}." for name, story in zip(self.names, stories, strict=True)]
        first, second = (story.feel for story in stories)
        if first.break_force > 0 and first.barrier > 0:
            told.append(f"The second: {second.break_force / first.break_force:.2f} × the break force, {second.barrier / first.barrier:.2f} × the barrier.")
        answer, angle = " ".join(told), measure.short(stories[0].angle_deg, "deg")
        return Words(answer, f"Sections to scale of both knives at {angle}; beside them lift and opening force of both on the same axes. {answer}")


def one_ball(knife):
    """Panel of notebook 01: ball 1 of the knife alone, with pushes as without friction; recess diameter, rest offset and blade angle move."""
    alone = with_one_ball(knife)
    return panel_of(OneBall, "one ball", alone, _recess_controls(alone))


def whole_knife(knife):
    """Panel of notebook 00: recess diameter, rest offset, riding force, friction and blade angle move."""
    controls = [
        *_recess_controls(knife),
        control_for(knife, "bar.riding_force", "Riding force", 6.0, 25.0, 0.1),
        control_for(knife, "friction.rim", "Friction at the rim", 0.0, 0.4, 0.005),
    ]
    bore, rest = "balls[0].recess.diameter", "balls[0].recess.rest_offset"
    presets = {
        "fresh oil, friction 0.10": {"friction.rim": 0.10},
        "dry and dirty, friction 0.30": {"friction.rim": 0.30},
        "recess 2 thou larger": {bore: knife.get(bore) + 0.0508},
        "stop pin lets 2 thou more in": {rest: knife.get(rest) - 0.0508},
    }
    return panel_of(WholeKnife, "the whole knife", knife, controls, presets, Dropdown(DIRECTION, "Blade", tuple(WAYS)))


def side_by_side(knife, other):
    """Panel of notebook 00: two knives on the same axes; only the blade angle moves."""
    span = span_of([knife, other])
    scene = SideBySide("side by side", [[Story(each, span) for each in (knife, other)]])
    return Panel(knife, [angle_control(span)], scene)


PANELS = {"one_ball": one_ball, "whole_knife": whole_knife, "side_by_side": side_by_side}


def _recess_controls(knife):
    """Recess diameter to beyond the ball, which is refused with its reason, and rest offset to the far rim; both with room for the presets."""
    ball, recess = knife.balls[0].diameter, knife.balls[0].recess
    return [
        control_for(knife, "balls[0].recess.diameter", "Recess diameter", round(0.7 * ball, 2), max(round(1.02 * ball, 2), recess.diameter + 0.06), 0.001),
        control_for(knife, "balls[0].recess.rest_offset", "Rest offset", min(-0.06, recess.rest_offset - 0.06), 0.18, 0.001),
    ]
