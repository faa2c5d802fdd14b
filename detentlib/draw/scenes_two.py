"""The pictures of the panels of notebooks 04 and 05: two balls on one spring, and offset recesses.

`two_balls(knife)` and `offset_recesses(knife)` give a Panel ready to show, made as those of scenes.py are.
"""

import numpy as np

from ..say.measure import MM
from ..tune.moves import with_one_ball, with_second_leaf
from ..tune.pair import TWO_THOU, lead_at_stop, press_difference, shared_loads, sharing_band, squashing, with_press_difference, with_rim_lead, with_second_ball
from .controls import Dropdown
from .drawing import CONE, GREY, SMALL
from .pair_scene import Pair, panel_of_pair, start_at
from .panel import Words
from .scene import control_for
from .story import Story
from .strip import Strip

DEEPER, ASIDE, LEAD, OUT = "press-depth difference", "off the centre line", "rim lead", "track radius of ball 2"
SECOND, SAME, OWN, NONE = "second ball", "same leaf", "second leaf", "none"
RECESS, SMALLER, SHIFTED, TURNED = "recess 2", "smaller", "shifted", "turned"
_AT_ONCE = 1e-4  # °, over which nobody sees a stretch
_TRACK, _HINGE, _SIZE = "balls[1].track_radius", "balls[1].hinge_distance", "balls[1].diameter"


class TwoBalls(Pair):
    """Who carries what, and the strip of the sharing band."""

    size, foot, places, height = (7.7, 5.5), 0.29, (0.715, 0.395), 0.255

    def __init__(self, title, samples, ends):
        """ends: of the press-depth difference [mm]."""
        self._strip = self._band = None
        super().__init__(title, samples)
        most = max(story.run.load.max() for stories in samples for story in stories)
        self._strip = Strip(self.figure.add_axes((0.075, 0.085, 0.895, 0.165)), ends, most)
        self.moving += self._strip.artists
        self.relabel(MM)

    def relabel(self, measure):
        """Axes and scale bars in the measure's units."""
        super().relabel(measure)
        if self._strip:
            self._strip.relabel(measure)

    def show(self, knife, extras, measure):
        """As Scene.show, with the second ball as the choice and the sliders have it."""
        made = _paired(knife, extras)
        words = super().show(made, extras, measure)
        story = self._last[0]
        loads, deeper = story.run.load[story.at], extras[DEEPER]
        if self._band:
            self._strip.share(made, self._band, deeper, story.angle_deg, measure)
        else:
            self._strip.apart(loads, deeper, measure, "each leaf presses its own ball" if len(loads) > 1 else "one ball has the bar to itself")
        return words._replace(knife=made)

    def words(self, stories, way, measure):
        """Who carries what, and how that compares with one ball."""
        story = stories[0]
        run, at, knife = story.run, story.at, story.knife
        self._band = sharing_band(knife, story.angle_deg) if len(knife.balls) > 1 and knife.second_bar is None else None
        loads = [measure.short(load, "N") for load in run.load[at]]
        if len(loads) == 1 or run.carrier[at] < 0:
            now = f"{run.touching[at]}, pressed with {loads[0]}"
        elif knife.second_bar:
            now = f"each leaf presses its own ball, with {loads[0]} and {loads[1]}"
        elif min(run.load[at]) > 0:
            now = f"both carry, {loads[0]} and {loads[1]}"
        else:
            carrier = run.carrier[at]
            now = f"ball {carrier + 1} carries {loads[carrier]}, ball {2 - carrier} is idle by {measure.say(run.clearance[at, 1 - carrier], 'mm')}"
        answer = f"At {measure.short(story.angle_deg, 'deg')}: {now}. {self._against_one(story, measure)}"
        answer += story.warning()
        band = self._band and f"; both carry from {measure.short(self._band.ends, 'mm')} to {measure.short(self._band.begins, 'mm')}"
        alt = f"{self._shown()} Below, the load of each ball over the press-depth difference{band or ''}; with it what a press repeats. {answer}"
        return Words(answer, alt)

    def _stories(self, knife, angle):
        """The knife, elastic where both balls carry and rigid elsewhere; and ball 1 alone, taken the same way."""
        shared = len(knife.balls) > 1 and knife.second_bar is None and bool(np.all(shared_loads(knife, press_difference(knife), angle) > 0))
        made = squashing(knife) if shared else knife
        one = with_one_ball(made)
        if (one, shared) != (self._alone.knife, self._alone.elastic):
            self._alone = Story(one, self.span, angle, elastic=shared)
        return [Story(made, self.span, angle, self._last[0], shared)]

    def _draw_sections(self, stories, way, measure):
        """The balls that there are."""
        count = len(stories[0].knife.balls)
        for section, story, ball in self._sections:
            for artist in section.artists:
                artist.set_visible(ball < count)
            if ball < count:
                section.draw(stories[story].seat(ball, way), way, measure)
            else:
                section.names[2].set(text="no second ball", visible=True)
        second = self._plots[0][2][2]
        for artist in (second.now, second.name):
            artist.set_visible(count > 1)


class OffsetRecesses(Pair):
    """Both balls on their own travel, and each handover marked from where both carry to where one has it all."""

    def __init__(self, title, samples):
        """The plots of a Pair with the marks of two handovers on each."""
        super().__init__(title, samples)
        self._upright = [[placed[0].axvspan(0, 0, fc=CONE, ec=GREY, lw=0.9) for placed in self._plots] for _ in range(2)]
        ax = self._plots[0][0]
        self._marks = [ax.text(0, 0.14, "", transform=ax.get_xaxis_transform(), size=SMALL, color=GREY, ha="left", va="bottom") for _ in range(2)]
        # behind the curves
        self.moving = [*(span for spans in self._upright for span in spans), *self.moving, *self._marks]

    def show(self, knife, extras, measure):
        """As Scene.show, with recess 2 as the sliders have it and the blade turning as the choice says."""
        made = _offset(knife, extras)
        words = super().show(made, extras, measure)
        handovers = self._last[0].feel.handovers
        for i, (spans, mark) in enumerate(zip(self._upright, self._marks, strict=True)):
            for artist in (*spans, mark):
                artist.set_visible(i < len(handovers))
            if i < len(handovers):
                over = handovers[i]
                for span in spans:
                    span.set_x(over.start_deg)
                    span.set_width(over.end_deg - over.start_deg)
                mark.set_x(over.end_deg)
                mark.set_text(f" ball {over.from_ball + 1} → {over.to_ball + 1}\n {_stretch(over, measure)}")
        return words._replace(knife=made)

    def words(self, stories, way, measure):
        """Rim lead, who carries now, the handovers with their steps, and how it all compares with one ball."""
        story = stories[0]
        loads = story.run.load[story.at]
        shares = " and ".join(measure.short(load, "N") for load in loads)
        now = f"both carry, {shares}" if min(loads) > 0 else story.touching(measure)
        told = [_once(each, measure) for each in story.feel.handovers]
        rims = story.back.rim_gap[0]  # shut, as it rests
        answer = (
            f"Rim lead {measure.say(rims[0] - rims[1], 'mm')}. At {measure.short(story.angle_deg, 'deg')}: {now}. "
            f"{' '.join(told) or 'No handover on opening.'} {self._against_one(story, measure)}{story.warning()}"
        )
        return Words(answer, f"{self._shown()} {answer}")

    def _draw_sections(self, stories, way, measure):
        """Each ball with how far it has travelled."""
        for section, story, ball in self._sections:
            travel = stories[story].knife.balls[ball].track_radius * np.radians(stories[story].angle_deg)
            section.name = f"ball {ball + 1}, travelled {measure.short(travel, 'mm')}"
            section.draw(stories[story].seat(ball, way), way, measure)


def two_balls(knife):
    """Panel of notebook 04: ball 1 and a twin of it on the same leaf; press-depth difference, distances, side offset and blade angle move.

    Both stand level at the start, so that they share. Where the knife has a ball 2 of its own, a try takes its height and
    distances. The second ball can go on a leaf of its own, or out.
    """
    own = with_second_ball(knife)
    pair = with_second_ball(with_one_ball(knife), deeper=0.0)
    first, second = own.balls
    starts, arm, aside = {DEEPER: 0.0}, first.hinge_distance, pair.bar.drawn and pair.bar.shear_modulus
    near = round(arm * 28.0 / 36.4, 1)
    as_it_is = {DEEPER: round(press_difference(own), 9), _TRACK: second.track_radius, _HINGE: second.hinge_distance}
    controls = [
        start_at(starts, DEEPER, "Press-depth difference", min(-0.03, as_it_is[DEEPER]), max(0.08, as_it_is[DEEPER]), 0.0005),
        _holding(as_it_is, control_for(pair, _TRACK, "Track radius of ball 2", round(0.8 * first.track_radius, 2), round(1.25 * first.track_radius, 2), 0.05)),
        _holding(as_it_is, control_for(pair, _HINGE, "Hinge distance of ball 2", near, round(1.12 * arm, 1), 0.1)),
    ]
    if aside:
        starts[ASIDE] = 0.0
        controls.append(start_at(starts, ASIDE, "Balls off centre, ± each", 0.0, 3.0, 0.1))
    tries = {
        "ball 2 placed as in this knife": as_it_is,
        "ball 2 pressed 2 thou deeper": {DEEPER: TWO_THOU},
        "level, ball 2 further out": {_TRACK: round(1.2 * first.track_radius, 2)},
        "2 thou deeper, much nearer the hinge": {DEEPER: TWO_THOU, _HINGE: near},
    }
    high = {DEEPER: controls[0].lo}
    extremes = [{SECOND: OWN}, {SECOND: OWN, **high}, {_HINGE: near, **high}]

    def scene_of(samples):
        return TwoBalls("two balls on one spring", samples, (controls[0].lo, controls[0].hi))

    return panel_of_pair(scene_of, _paired, pair, starts, controls, tries, extremes, Dropdown(SECOND, "Ball 2", (SAME, OWN, NONE)))


def _holding(setting, control):
    """The control with a range that holds the setting too."""
    value = setting[control.path]
    return control._replace(lo=min(control.lo, value), hi=max(control.hi, value))


def offset_recesses(knife):
    """Panel of notebook 05: rim lead by a smaller or a shifted recess, press-depth difference, track radius and size of ball 2, blade angle.

    When ball 2 moves out, its hinge distance goes along, so that at the track radius of ball 1 both arms are those of
    ball 1. Tracks are taken as separate. A knife with one ball gets a twin of it, 2 thou deeper.
    """
    pair = with_second_ball(knife).replace({"balls[1].bearing_deg": None})
    first, second = pair.balls
    starts = {LEAD: lead_at_stop(pair), DEEPER: press_difference(pair), OUT: second.track_radius}
    near, far, size = first.track_radius, max(1.5 * first.track_radius, second.track_radius), first.diameter / 1.5875
    controls = [
        start_at(starts, LEAD, "Rim lead", -0.05, round(0.2 * size, 2), 0.001),
        start_at(starts, DEEPER, "Press-depth difference", -0.03, 0.1, 0.0005),
        start_at(starts, OUT, "Track radius of ball 2", near, round(far, 1), 0.05),
        control_for(pair, _SIZE, "Diameter of ball 2", round(0.6 * first.diameter, 3), round(1.15 * first.diameter, 3), 0.0005),
    ]
    tries = {
        "equal recesses": {LEAD: 0.0},
        "one drill smaller": {LEAD: 0.06985},
        "one drill smaller, equal arms": {LEAD: 0.06985, OUT: near},
        "ball 2 much further out": {LEAD: 0.05, OUT: near * 11.2 / 8.001},
        "a smaller ball 2, equal arms": {LEAD: 0.1804 * size, _SIZE: 1.0 * size, OUT: near},
    }
    ways = [{RECESS: word} for word in (SHIFTED, TURNED)]

    def scene_of(samples):
        return OffsetRecesses("offset recesses", samples)

    return panel_of_pair(scene_of, _offset, pair, starts, controls, tries, ways, Dropdown(RECESS, "Recess 2", (SMALLER, SHIFTED, TURNED)))


PANELS = {"two_balls": two_balls, "offset_recesses": offset_recesses}


def _paired(pair, extras):
    """The pair with ball 2 as deep, as far aside and on the leaf that the extras say."""
    made = with_press_difference(pair, extras[DEEPER])
    if extras.get(ASIDE):
        made = made.replace({"balls[0].side_offset": extras[ASIDE], "balls[1].side_offset": -extras[ASIDE]})
    leaf = extras.get(SECOND, SAME)
    return with_one_ball(made) if leaf == NONE else with_second_leaf(made) if leaf == OWN else made


def _offset(pair, extras):
    """The pair with rim lead, press-depth difference and arms of ball 2 as the extras say, the lead got as the choice says."""
    first, second = pair.balls
    way, out = extras.get(RECESS, SMALLER), extras[OUT]
    share = 1.0 if second.track_radius == first.track_radius else (out - first.track_radius) / (second.track_radius - first.track_radius)
    hinge = first.hinge_distance + share * (second.hinge_distance - first.hinge_distance)
    made = with_press_difference(pair.replace({_TRACK: out, _HINGE: hinge}), extras[DEEPER])
    if way == SMALLER:
        return with_rim_lead(made, extras[LEAD])
    made = with_rim_lead(made.replace({"balls[1].recess.diameter": first.recess.diameter}), extras[LEAD], "shift")
    return made.turned_round() if way == TURNED else made


def _once(handover, measure):
    """A handover in words."""
    before, after = handover.torque_before, handover.torque_after
    way = "up" if after > before else "down"
    step = f"resistance {way} by {abs(100 * (after / before - 1)):.0f} %"
    while_both = ", where both carry" if handover.end_deg - handover.start_deg > _AT_ONCE else ""
    return f"Handover from ball {handover.from_ball + 1} to ball {handover.to_ball + 1} at {_stretch(handover, measure)}{while_both}: {step}."


def _stretch(handover, measure):
    """Where a handover takes place: one angle, or from where to where both carry."""
    ends = [measure.short(end, "deg") for end in (handover.start_deg, handover.end_deg)]
    return ends[0] if ends[0] == ends[1] else f"{ends[0]} to {ends[1]}"
