"""The panels of notebooks 00 and 01: one ball, the whole knife, and two knives side by side.

`one_ball(knife)`, `whole_knife(knife)` and `side_by_side(knife, other)` give a Panel ready to show.
"""

from collections.abc import Sequence

from ..knife.parts import Knife
from ..mechanics.carry import FACE
from ..mechanics.lift import ROUND
from ..mechanics.limits import working
from ..say.measure import Measure
from ..tune.moves import with_one_ball
from .controls import Control, Setting
from .drawing import BALLS, ENVELOPE, OPENING, STYLES
from .panel import Panel
from .scene import BLADE, Line, Plot, Scene, angle_control, both_ways, break_force, panel_of, span_of
from .section import Seat, Section
from .story import SMOOTH, Story
from .words import Number, Words, first_up

_NO_PUSH = 0.005  # N, shown as none


class OneBall(Scene):
    """Where the rim touches, and what that does to a push, as without friction."""

    title = "one ball"

    def plots(self, story: Story) -> tuple[Plot, Plot]:
        """Contact angle, and the slope of the lift curve."""
        angle = Line("", BALLS[0], STYLES[0], True, lambda story: story.run.contact_deg[:, 0])
        slope = Line("", OPENING, STYLES[0], True, lambda story: story.wedge())
        return Plot("contact angle", "deg", angle), Plot("slope of the lift curve", "", slope)

    def seat(self, story: Story, ball: int, way: str) -> Seat:
        """The ball with the push that the slope alone asks for."""
        return story.seat(ball, SMOOTH)

    def words(self, story: Story, way: str, measure: Measure, extras: Setting) -> Words:
        """What carries and where, and what a push does there."""
        recess = story.knife.balls[0].recess
        where, push = _pushed(story, measure)
        sentence = f"At {measure.short(story.angle_deg, 'deg')}: {story.touching(measure)}{where}."
        rest = (f"{first_up(push)}." if push else "") + story.warning()
        number = Number("Push to open at the ball, without friction", self.seat(story, 0, way).push, "N")
        seen = (
            f"Section to scale: ball of {measure.round(story.knife.balls[0].diameter, 'mm')} in a recess of"
            f" {measure.round(recess.diameter, 'mm')}, rest offset {measure.say(recess.rest_offset, 'mm')}; beside it"
            f" contact angle and slope of the lift curve from 0° to {self.span:g}°."
        )
        return Words(number, sentence, rest.strip(), seen)


def _pushed(story, measure):
    """How the one ball of a Story stands now, and what a push there does without friction, in words."""
    run, at, seat = story.run, story.at, story.seat(0, SMOOTH)
    if run.carrier[at] == FACE:
        return ": the ball hangs clear of its rim, and no rim holds the blade here", ""
    way = "shut" if seat.push > 0 else "open"
    presses = f"presses the blade {way} with {measure.say(abs(seat.push), 'N')} at the ball"
    if run.touch[at, 0] == ROUND and abs(seat.push) < _NO_PUSH:
        return ", in the middle of its recess", "the rim holds it on every side, and presses the blade neither way"
    if run.touch[at, 0] == ROUND:
        return ", in the middle of its recess", f"the rim holds it on every side, and the bar, bent sideways, {presses}"
    slope = run.slope[at]
    if slope < 0:
        return ", on its far side", f"without friction the rim {presses}"
    if slope == 0:
        return ": nothing rises here, and a push meets friction only", ""
    depth = story.knife.balls[0].protrusion - run.gap[at]
    return (
        f", rim gap {measure.say(run.rim_gap[at, 0], 'mm')}, {measure.say(depth, 'mm')} deep in the recess",
        f"without friction 10 N of push at the ball lifts {10 / slope:.1f} N of bar force (slope {slope:.3f})",
    )


class WholeKnife(Scene):
    """The lift demands with the envelope, and what the finger feels at the tab both ways."""

    title, lens = "the whole knife", True

    def plots(self, story: Story) -> tuple[Plot, Plot]:
        """Lift of each ball with the bar on top, and the tab force opening and letting back."""
        count = len(story.knife.balls)
        lifts = [Line("lift curve", BALLS[0], STYLES[0], False, lambda story: story.run.gap)]
        if count > 1:
            lifts = [lifts[0]._replace(name="", colour=ENVELOPE, width=7.0)]
            for i in range(count):
                look = BALLS[i % 3], STYLES[i % 3]
                lifts.append(Line(f"ball {i + 1}", *look, i == 0, lambda story, i=i: story.demand_at_first(i)))
        return Plot("lift at ball 1", "mm", *lifts, from_zero=True), Plot(*both_ways("force at the tab"))

    def words(self, story: Story, way: str, measure: Measure, extras: Setting) -> Words:
        """Now, and the knife as a whole."""
        angle = measure.short(story.angle_deg, "deg")
        sentence = f"At {angle}: {story.touching(measure, way)}; {story.at_tab(way, measure)}."
        rest = f"The knife: {story.feeling(measure)}.{story.warning()}"
        seen = (
            f"Section to scale, gap between bar and tang {measure.say(story.run.gap[story.at], 'mm')}; "
            f"beside it lift and force at the tab from 0° to {self.span:g}°."
        )
        return Words(break_force(story), sentence, rest, seen)


class SideBySide(Scene):
    """Two knives over the same axes; the second one stays as it is."""

    title, lens = "side by side", True
    size = (7.7, 3.8)  # four sections in a taller still would be more than a notebook should store

    def __init__(self, samples: Sequence[Story]):
        """samples: a Story of each knife."""
        self._other = samples[1]
        names = [story.knife.title for story in samples]
        self._names = names if names[0] != names[1] else [f"{name} ({i})" for i, name in enumerate(names, 1)]
        super().__init__(samples)

    def followed(self, knife: Knife, angle: float) -> Story:
        """The Story of the first knife; the second stands at the same angle."""
        self._other = Story(self._other.knife, self.span, angle, self._other)
        return super().followed(knife, angle)

    def plots(self, story: Story) -> tuple[Plot, Plot]:
        """Lift and opening force of both."""
        first, second = ((name, BALLS[i], STYLES[i], i == 0) for i, name in enumerate(self._names))
        lifts = Line(*first, lambda story: story.run.gap), Line(*second, lambda story: self._other.run.gap)
        other = Line(*second, lambda story: self._other.run.tab_force)
        forces = Line(*first, lambda story: story.run.tab_force), other
        return Plot("lift at ball 1", "mm", *lifts), Plot("force to open", "N", *forces, legend="upper right")

    def draw(self, story: Story, way: str, measure: Measure, extras: Setting) -> None:
        """Sections of both knives, and the plots."""
        for section, lens, (i, ball) in zip(self._sections, self._lenses, self._shown, strict=True):
            seat = (story, self._other)[i].seat(ball, way)
            section.draw(seat, way, measure)
            lens.draw(seat)
        for plot in self._plots:
            plot.draw(story, measure)

    def words(self, story: Story, way: str, measure: Measure, extras: Setting) -> Words:
        """Both feelings, and how far they lie apart."""
        stories = story, self._other
        told = [f"{name}: {each.feeling(measure)}." for name, each in zip(self._names, stories, strict=True)]
        first, second = (each.feel for each in stories)
        against = "No break force or barrier to divide by."
        if first.break_force > 0 and first.barrier > 0:
            force, barrier = second.break_force / first.break_force, second.barrier / first.barrier
            against = f"The second: {force:.2f} × the break force, {barrier:.2f} × the barrier."
        heads = *self._names, "difference"
        number = break_force(story)._replace(heads=heads, against=second.break_force)
        angle = measure.short(story.angle_deg, "deg")
        beside = "beside them lift and opening force of both on the same axes"
        seen = f"Sections to scale of both knives at {angle}; {beside}."
        return Words(number, against, " ".join(told), seen)

    def _place_sections(self, samples):
        """A row for each knife, its balls beside each other, its name over the first."""
        counts = [len(story.knife.balls) for story in samples]
        self._shown = [(i, ball) for i, count in enumerate(counts) for ball in range(count)]
        radius = max(ball.radius for story in samples for ball in story.knife.balls)
        newton, wide = min(story.newton(radius) for story in samples), 0.475 / max(counts)
        made = []
        for i, ball in self._shown:
            ax = self.figure.add_axes((0.005 + ball * 0.48 / max(counts), 0.995 - (i + 1) * 0.47, wide, 0.97 * 0.47))
            title = self._names[i] if ball == 0 else ""
            # room for the title above the push
            made.append(Section(ax, radius, newton, f"ball {ball + 1}", title, high=1.5))
        return made


def one_ball(knife: Knife) -> Panel:
    """Panel of notebook 01: ball 1 alone, with pushes as without friction; its recess and the blade angle move."""
    alone = with_one_ball(knife)
    return panel_of(OneBall, alone, _recess_controls(alone, 0.0), {})


def whole_knife(knife: Knife) -> Panel:
    """Panel of notebook 00: riding force, friction, recess diameter, rest offset and blade angle move."""
    controls = [
        Control("bar.riding_force", "Riding force", 6.0, 25.0, 0.1),
        Control("friction.rim", "Friction at the rim", 0.0, 0.4, 0.005),
        *_recess_controls(knife, -0.06),
    ]
    bore, rest = "balls[0].recess.diameter", "balls[0].recess.rest_offset"
    tries = {
        "fresh oil, friction 0.10": {"friction.rim": 0.10},
        "dry and dirty, friction 0.30": {"friction.rim": 0.30},
        "recess 2 thou larger": {bore: knife.get(bore) + 0.0508},
        "stop pin lets 2 thou more in": {rest: knife.get(rest) - 0.0508},
    }
    return panel_of(WholeKnife, knife, controls, tries, BLADE)


def side_by_side(knife: Knife, other: Knife) -> Panel:
    """Panel of notebook 00: two knives on the same axes; only the blade angle moves."""
    span = span_of(map(working, (knife, other)))
    return Panel(knife, [angle_control(span)], SideBySide([Story(each, span) for each in (knife, other)]))


def _recess_controls(knife, nearest):
    """Recess diameter to beyond the ball, which is refused, and rest offset from `nearest` [mm], with room for the
    tries.
    """
    ball, recess = knife.balls[0].diameter, knife.balls[0].recess
    widest, nearest = max(round(1.02 * ball, 2), recess.diameter + 0.06), min(nearest, recess.rest_offset - 0.06)
    return [
        Control("balls[0].recess.diameter", "Recess diameter", round(0.7 * ball, 2), widest, 0.001),
        Control("balls[0].recess.rest_offset", "Rest offset", nearest, 0.18, 0.001),
    ]
