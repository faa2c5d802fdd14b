"""The panels of notebooks 04 and 05: two balls on one spring, and offset recesses.

`two_balls(knife)` and `offset_recesses(knife)` give a Panel ready to show.
"""

from collections.abc import Sequence

import numpy as np
from matplotlib.axes import Axes
from matplotlib.patches import Rectangle

from ..knife.parts import Knife
from ..say.measure import Measure
from ..tune.moves import with_one_ball, with_second_leaf
from ..tune.pair import (
    PRESS,
    TWO_THOU,
    Band,
    lead_at_stop,
    press_difference,
    shared_loads,
    sharing_band,
    squashing,
    with_ball_2_sunk,
    with_press_difference,
    with_rim_lead,
    with_second_ball,
)
from .controls import Control, Dropdown, Setting
from .drawing import BALLS, CONE, ENVELOPE, GREY, INK, OPENING, PLATE, STYLES, caption
from .panel import Panel
from .scene import Line, Plot, Scene, break_force, panel_of
from .story import Story
from .words import Words, first_up

DEEPER, ASIDE, LEAD, OUT = "press-depth difference", "off the centre line", "rim lead", "track radius of ball 2"
SECOND, SAME, OWN, NONE = "second ball", "same leaf", "second leaf", "none"
RECESS, SMALLER, SHIFTED, TURNED = "recess 2", "smaller", "shifted", "turned"
_POINTS = 41
_AT_ONCE = 1e-4  # °, over which nobody sees a stretch
_TRACK, _HINGE, _SIZE = "balls[1].track_radius", "balls[1].hinge_distance", "balls[1].diameter"


class Pair(Scene):
    """Two balls over each other, their lift with the bar on top, the force at the tab beside that of ball 1 alone."""

    lens = True

    def __init__(self, samples: Sequence[Story]):
        """Remember ball 1 alone, to compare with."""
        self._alone = Story(with_one_ball(samples[0].knife), samples[0].run.angle_deg[-1])
        super().__init__(samples)

    def plots(self, story: Story) -> tuple[Plot, Plot]:
        """Lift of each ball with the bar on top; the force to open, and the same with ball 1 alone."""
        first = Line("ball 1", BALLS[0], STYLES[0], True, lambda story: story.demand_at_first(0))
        second = Line("ball 2", BALLS[1], STYLES[1], False, _second_lift)
        bar = Line("", ENVELOPE, STYLES[0], True, lambda story: story.run.gap, 7.0)
        both = Line("this knife", OPENING, STYLES[0], True, lambda story: story.run.tab_force, 3.0)
        one = Line("ball 1 alone", INK, STYLES[1], True, self._alone_force, 1.4)
        lift = Plot("lift at ball 1", "mm", bar, first, second, from_zero=True)
        return lift, Plot("force to open", "N", both, one, legend="upper right")

    def draw(self, story: Story, way: str, measure: Measure, extras: Setting) -> None:
        """As in Scene, with the names of the lift curves kept apart."""
        super().draw(story, way, measure, extras)
        _, *lifts = self._plots[0].curves
        top = max(lifts, key=lambda curve: curve.name.xy[1])
        for curve in lifts:
            curve.stand(above=curve is top)

    def _shown(self):
        return (
            "Sections to scale of each ball at its own travel; beside them the lift of each as seen at ball 1 with the"
            f" bar on top, and the force to open with that of ball 1 alone, from 0° to {self.span:g}°."
        )

    def _alone_force(self, story):
        """Force to open with ball 1 alone, at the angles of now."""
        return np.interp(story.run.angle_deg, self._alone.run.angle_deg, self._alone.run.tab_force)

    def _against_one(self, story, measure):
        """(break force, barrier), how many times those of ball 1 alone they are, in words."""
        now, one = story.feel, self._alone.feel
        force = f"break force {_times(now.break_force, one.break_force, ' × ball 1 alone')}"
        barrier = f"barrier {measure.short(now.barrier, 'mJ')}, {_times(now.barrier, one.barrier, ' × ball 1 alone')}"
        return force, barrier


def _times(now, one, said):
    return f"{now / one:.2f}{said}" if one > 0 else "that ball 1 alone has none of"


def _second_lift(story):
    """Lift demand of ball 2 as seen at ball 1; without one that of the bar, so that the axes hold."""
    return story.demand_at_first(1) if len(story.knife.balls) > 1 else story.run.gap


class Strip:
    """Loads of both balls at one blade angle over the press-depth difference, the sharing band, and what a press
    repeats.

    `artists` move, back to front.
    """

    def __init__(self, ax: Axes, most: float):
        """ax: a plot over the press-depth difference [mm]; most: the greatest load [N]."""
        self.ax, self.ends = ax, ax.get_xlim()
        ax.set_ylim(0, 1.15 * most)
        across = ax.get_xaxis_transform()
        self.band = ax.add_patch(Rectangle((0, 0), 0, 1, transform=across, fc=CONE, ec="none"))
        self.hair = ax.add_patch(Rectangle((0, 0), 0, 1, transform=across, fc="none", ec=INK, lw=0.9))
        self.lines = [ax.plot([], [], color=BALLS[i], ls=STYLES[i], lw=2)[0] for i in (0, 1)]
        self.names = [
            caption(ax, 0, 0, f"ball {i + 1}", BALLS[i], ("right", "left")[i], "bottom", bbox=PLATE) for i in (0, 1)
        ]
        (self.upright,) = ax.plot([], [], color=INK, lw=1, ls=":", transform=across)
        mark = {"color": INK, "marker": "|", "ms": 8, "lw": 1.6, "transform": across}
        self.presses = [ax.plot([], [], **mark)[0] for _ in PRESS]
        for line in self.presses:  # above the loads, and no wider
            line.set_clip_path(Rectangle((0, 0), 1, 2, transform=ax.transAxes))
        self.press_names = [caption(ax, 0, 0, "", INK, va="center", transform=across) for _ in PRESS]
        (self.dots,) = ax.plot([], [], "o", ms=6, mfc="white", mec=INK, mew=1.5, clip_on=False)
        self.said = caption(ax, 0, 1.42, "", INK, va="bottom", transform=ax.transAxes)
        self._of_ball_2 = [self.upright, *self.presses, *self.press_names]
        self.artists = [self.band, self.hair, self.upright, *self.lines, *self.names, *self.presses]
        self.artists += [*self.press_names, self.dots, self.said]

    def draw(self, story: Story, band: Band | None, deeper: float, measure: Measure) -> None:
        """Show a Story at a press-depth difference [mm]; band: its Band where one bar presses both balls, else None."""
        now = story.run.load[story.at]
        at, loads = np.array(self.ends), [[load, load] for load in now]
        said = "each leaf presses its own ball" if len(now) > 1 else "one ball has the bar to itself"
        if band:
            at = np.union1d(np.linspace(*self.ends, _POINTS), [*np.linspace(band.ends, band.begins, 9), deeper])
            loads = shared_loads(story.knife, at, story.angle_deg).T
            now = loads[:, np.searchsorted(at, deeper)]
            self.band.set(x=band.ends, width=band.width)
            self.hair.set(x=(band.begins + band.ends - band.bar) / 2, width=band.bar)
            wide = measure.short(band.width, "mm")
            said = f"both carry in the yellow only, {wide} wide; if only the bar gave, between the black lines"
        for artist in (self.band, self.hair):
            artist.set_visible(band is not None)
        self.said.set_text(said)
        self._draw_loads(at, loads)
        self.dots.set_data([deeper] * len(now), now)
        self.upright.set_data([deeper, deeper], [0, 1])
        for artist in self._of_ball_2:
            artist.set_visible(len(now) > 1)
        self._draw_presses(deeper, measure)

    def _draw_loads(self, at, loads):
        wide = np.ptp(self.ends)
        for i, (line, name) in enumerate(zip(self.lines, self.names, strict=True)):
            line.set_visible(i < len(loads))
            name.set_visible(i < len(loads))
            if i < len(loads):
                line.set_data(at, loads[i])
                above = loads[i][-1 if i == 0 else 0] + 0.04 * self.ax.get_ylim()[1]
                name.set_position((self.ends[1 - i] + i * 0.01 * wide, above))

    def _draw_presses(self, deeper, measure):
        wide = np.ptp(self.ends)
        left = deeper - self.ends[0] > 0.6 * wide
        for k, (how, doubt) in enumerate(PRESS.items()):
            height, beside = 1.28 - 0.17 * k, doubt + 0.01 * wide
            self.presses[k].set_data([deeper - doubt, deeper, deeper + doubt], [height] * 3)
            place, ha = (deeper - beside, "right") if left else (deeper + beside, "left")
            self.press_names[k].set(position=(place, height), ha=ha, text=f"{how} ±{measure.short(doubt, 'mm')}")


class TwoBalls(Pair):
    """Who carries what, and the strip of the sharing band."""

    title, size = "two balls on one spring", (7.7, 5.5)
    foot, places, height = 0.29, (0.715, 0.395), 0.255

    def __init__(self, samples: Sequence[Story], ends: tuple[float, float]):
        """ends: of the press-depth difference [mm]."""
        super().__init__(samples)
        across = ("press-depth difference: ball 2 lower by", "mm", 9)
        ax = self.plot((0.075, 0.085, 0.895, 0.14), (*ends, 0, 1), across, ("load", "N", 2))
        self._strip = Strip(ax, max(story.run.load.max() for story in samples))
        self.moving += self._strip.artists
        self._known, self._band_of = None, None

    def followed(self, knife: Knife, angle: float) -> Story:
        """The knife, elastic where both balls carry and rigid elsewhere; and ball 1 alone, taken the same way."""
        shared = _one_bar(knife) and bool(np.all(shared_loads(knife, press_difference(knife), angle) > 0))
        made = squashing(knife) if shared else knife
        one = with_one_ball(made)
        if (one, shared) != (self._alone.knife, self._alone.elastic):
            self._alone = Story(one, self.span, angle, elastic=shared)
        return Story(made, self.span, angle, self.story, shared)

    def words(self, story: Story, way: str, measure: Measure, extras: Setting) -> Words:
        """Who carries what, and how that compares with one ball."""
        run, at, knife = story.run, story.at, story.knife
        band = self._banded(knife, story.angle_deg) if _one_bar(knife) else None
        loads = [measure.short(load, "N") for load in run.load[at]]
        if len(loads) == 1 or run.carrier[at] < 0:
            now = f"{run.touching[at]}, pressed with {loads[0]}"
        elif knife.second_bar:
            now = f"each leaf presses its own ball, with {loads[0]} and {loads[1]}"
        elif min(run.load[at]) > 0:
            now = f"both carry, {loads[0]} and {loads[1]} at the balls"
        else:
            carrier = run.carrier[at]
            clear = measure.say(run.clearance[at, 1 - carrier], "mm")
            now = f"ball {carrier + 1} carries {loads[carrier]}, ball {2 - carrier} is idle by {clear}"
        force, barrier = self._against_one(story, measure)
        barrier += ", squash of balls and rims counted" if story.elastic else ""
        sentence = f"At {measure.short(story.angle_deg, 'deg')}: {now}; {force}."
        self._band, both = band, ""
        if band:
            both = f"; both carry from {measure.short(band.ends, 'mm')} to {measure.short(band.begins, 'mm')}"
        below = f"the load of each ball over the press-depth difference{both}; with it what a press repeats"
        seen = f"{self._shown()} Below, {below}."
        return Words(break_force(story), sentence, f"{first_up(barrier)}.{story.warning()}", seen)

    def _banded(self, knife, angle):
        """The sharing band, which does not hang on how deep ball 2 is pressed: found anew where more was moved."""
        of = with_ball_2_sunk(squashing(knife)), angle
        if of != self._band_of:
            self._band_of, self._known = of, sharing_band(knife, angle)
        return self._known

    def draw(self, story: Story, way: str, measure: Measure, extras: Setting) -> None:
        """The balls that there are, their curves, and the strip."""
        count = len(story.knife.balls)
        there, (*_, second) = self._sections[:count], self._plots[0].curves
        for section, lens in zip(self._sections, self._lenses, strict=True):
            for artist in (*section.artists, *lens.artists):
                artist.set_visible(section in there)
        for artist in (second.now, second.name):
            artist.set_visible(count > 1)
        super().draw(story, way, measure, extras)
        if count == 1:
            self._sections[1].names[2].set(text="no second ball", visible=True)
        self._strip.draw(story, self._band, extras[DEEPER], measure)


class OffsetRecesses(Pair):
    """Both balls on their own travel, and each handover marked from where both carry to where one has it all."""

    title = "offset recesses"

    def __init__(self, samples: Sequence[Story]):
        """The plots of a Pair with the marks of two handovers on each."""
        super().__init__(samples)
        self._upright = [[plot.ax.axvspan(0, 0, fc=CONE, ec=GREY, lw=0.9) for plot in self._plots] for _ in range(2)]
        ax = self._plots[0].ax
        self._marks = [
            caption(ax, 0, 0.14, "", GREY, "left", "bottom", transform=ax.get_xaxis_transform()) for _ in range(2)
        ]
        # behind the curves
        self.moving = [*(span for spans in self._upright for span in spans), *self.moving, *self._marks]

    def draw(self, story: Story, way: str, measure: Measure, extras: Setting) -> None:
        """Each ball with how far it has travelled, the plots, and the handovers on them."""
        for i, section in enumerate(self._sections):
            travel = story.knife.balls[i].track_radius * np.radians(story.angle_deg)
            section.name = f"ball {i + 1}, travelled {measure.short(travel, 'mm')}"
        super().draw(story, way, measure, extras)
        handovers = story.feel.handovers
        for i, (spans, mark) in enumerate(zip(self._upright, self._marks, strict=True)):
            for artist in (*spans, mark):
                artist.set_visible(i < len(handovers))
            if i < len(handovers):
                over = handovers[i]
                for span in spans:
                    span.set(x=over.start_deg, width=over.end_deg - over.start_deg)
                balls = f"ball {over.from_ball + 1} → {over.to_ball + 1}"
                mark.set(x=over.end_deg, text=f" {balls}\n {_stretch(over, measure)}")

    def words(self, story: Story, way: str, measure: Measure, extras: Setting) -> Words:
        """Rim lead, who carries now, the handovers with their steps, and how it all compares with one ball."""
        loads = story.run.load[story.at]
        shares = " and ".join(measure.short(load, "N") for load in loads)
        now = f"both carry, {shares} at the balls" if min(loads) > 0 else story.touching(measure)
        told = [_once(each, measure) for each in story.feel.handovers]
        rims = story.back.rim_gap[0]  # shut, as it rests
        force, barrier = self._against_one(story, measure)
        sentence = f"At {measure.short(story.angle_deg, 'deg')}: {now}; {force}."
        over = " ".join(told) or "No handover on opening."
        lead = f"Rim lead {measure.say(rims[0] - rims[1], 'mm')}"
        rest = f"{lead}. {over} {first_up(barrier)}.{story.warning()}"
        return Words(break_force(story), sentence, rest, self._shown())


def two_balls(knife: Knife) -> Panel:
    """Panel of notebook 04: ball 1 and a twin of it on the same leaf; press-depth difference, distances, side offset
    and blade angle move.

    Both stand level at the start, so that they share. Where the knife has a ball 2 of its own, a try takes its height
    and distances. The second ball can go on a leaf of its own, or out.
    """
    own = with_second_ball(knife)
    pair = with_second_ball(with_one_ball(knife), deeper=0.0)
    first, second = own.balls
    arm, out = first.hinge_distance, first.track_radius
    near = round(arm * 28.0 / 36.4, 1)
    as_it_is = {DEEPER: round(press_difference(own), 9), _TRACK: second.track_radius, _HINGE: second.hinge_distance}
    controls = [
        _holding(as_it_is, Control(DEEPER, "Press-depth difference", -0.03, 0.08, 0.0005, 0.0, "mm")),
        _holding(as_it_is, Control(_TRACK, "Track radius of ball 2", round(0.8 * out, 2), round(1.25 * out, 2), 0.05)),
        _holding(as_it_is, Control(_HINGE, "Hinge distance of ball 2", near, round(1.12 * arm, 1), 0.1)),
    ]
    if pair.bar.drawn and pair.bar.shear_modulus:
        controls.append(Control(ASIDE, "Balls off centre, ± each", 0.0, 3.0, 0.1, 0.0, "mm"))
    tries = {
        "ball 2 placed as in this knife": as_it_is,
        "ball 2 lower by 2 thou": {DEEPER: TWO_THOU},
        "level, ball 2 further out": {_TRACK: round(1.2 * out, 2)},
        "lower by 2 thou, much nearer the hinge": {DEEPER: TWO_THOU, _HINGE: near},
    }
    ends = controls[0].lo, controls[0].hi
    extremes = [{SECOND: OWN, DEEPER: ends[0]}, {_HINGE: near, DEEPER: ends[0]}]
    choice = Dropdown(SECOND, "Ball 2", (SAME, OWN, NONE))
    return panel_of(lambda samples: TwoBalls(samples, ends), pair, controls, tries, choice, extremes, _paired)


def _holding(setting, control):
    value = setting[control.path]
    return control._replace(lo=min(control.lo, value), hi=max(control.hi, value))


def offset_recesses(knife: Knife) -> Panel:
    """Panel of notebook 05: rim lead by a smaller or a shifted recess, press-depth difference, track radius and size of
    ball 2, blade angle.

    When ball 2 moves out, its hinge distance goes along, so that at the track radius of ball 1 both arms are those of
    ball 1. Tracks are taken as separate. A knife with one ball gets a twin of it, 2 thou lower.
    """
    pair = with_second_ball(knife).replace({"balls[1].bearing_deg": None})
    first, second = pair.balls
    near, far, size = first.track_radius, max(1.5 * first.track_radius, second.track_radius), first.diameter / 1.5875
    lead, deeper, out = (round(value, 9) for value in (lead_at_stop(pair), press_difference(pair), second.track_radius))
    controls = [
        Control(LEAD, "Rim lead", -0.05, round(0.2 * size, 2), 0.001, lead, "mm"),
        Control(DEEPER, "Press-depth difference", -0.03, 0.1, 0.0005, deeper, "mm"),
        Control(OUT, "Track radius of ball 2", near, round(far, 1), 0.05, out, "mm"),
        Control(_SIZE, "Diameter of ball 2", round(0.6 * first.diameter, 3), round(1.15 * first.diameter, 3), 0.0005),
    ]
    tries = {
        "equal recesses": {LEAD: 0.0},
        "one drill smaller": {LEAD: 0.06985},
        "one drill smaller, equal arms": {LEAD: 0.06985, OUT: near},
        "ball 2 much further out": {LEAD: 0.05, OUT: near * 11.2 / 8.001},
        "a smaller ball 2, equal arms": {LEAD: 0.1804 * size, _SIZE: 1.0 * size, OUT: near},
    }
    choice = Dropdown(RECESS, "Recess 2", (SMALLER, SHIFTED, TURNED))
    return panel_of(OffsetRecesses, pair, controls, tries, choice, make=_offset)


def _one_bar(knife):
    return len(knife.balls) > 1 and knife.second_bar is None


def _paired(pair, extras):
    made = with_press_difference(pair, extras[DEEPER])
    if extras.get(ASIDE):
        made = made.replace({"balls[0].side_offset": extras[ASIDE], "balls[1].side_offset": -extras[ASIDE]})
    leaf = extras.get(SECOND, SAME)
    return with_one_ball(made) if leaf == NONE else with_second_leaf(made) if leaf == OWN else made


def _offset(pair, extras):
    """The pair with rim lead, press-depth difference and arms of ball 2 as the extras and the choice say."""
    first, second = pair.balls
    way, out = extras.get(RECESS, SMALLER), extras[OUT]
    apart = second.track_radius - first.track_radius
    share = (out - first.track_radius) / apart if apart else 1.0
    hinge = first.hinge_distance + share * (second.hinge_distance - first.hinge_distance)
    made = with_press_difference(pair.replace({_TRACK: out, _HINGE: hinge}), extras[DEEPER])
    if way == SMALLER:
        return with_rim_lead(made, extras[LEAD])
    made = with_rim_lead(made.replace({"balls[1].recess.diameter": first.recess.diameter}), extras[LEAD], "shift")
    return made.turned_round() if way == TURNED else made


def _once(handover, measure):
    before, after = handover.torque_before, handover.torque_after
    way = "up" if after > before else "down"
    step = f"resistance {way} by {abs(100 * (after / before - 1)):.0f} %"
    while_both = ", where both carry" if handover.end_deg - handover.start_deg > _AT_ONCE else ""
    balls = f"ball {handover.from_ball + 1} to ball {handover.to_ball + 1}"
    return f"Handover from {balls} at {_stretch(handover, measure)}{while_both}: {step}."


def _stretch(handover, measure):
    """Where a handover takes place: one angle, or from where to where both carry."""
    ends = [measure.short(end, "deg") for end in (handover.start_deg, handover.end_deg)]
    return ends[0] if ends[0] == ends[1] else f"{ends[0]} to {ends[1]}"
