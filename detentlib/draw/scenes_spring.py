"""The pictures of the panels of notebooks 02 and 03: one spring, what it gives sideways, and the snap.

`one_spring(knife)`, `the_give(knife)` and `the_snap(knife)` give a Panel ready to show.
"""

from collections.abc import Sequence

import numpy as np
from matplotlib.artist import Artist
from matplotlib.patches import Polygon, Rectangle
from scipy.optimize import brentq

from ..knife.parts import Knife, LockBar
from ..knife.units import convert
from ..mechanics import bar as bars
from ..mechanics.carry import Detent
from ..mechanics.feel import feel, loaded_offset
from ..mechanics.lift import lift
from ..mechanics.limits import working
from ..say.measure import Measure
from ..tune.moves import preset, with_one_ball, with_preset, with_relief
from .controls import BLADE_ANGLE, Control, Setting
from .drawing import (
    BALLS,
    BAR,
    CONE,
    GREY,
    GRID,
    INK,
    OPENING,
    PLATE,
    PUSH,
    SMALL,
    STYLES,
    Arrow,
    Curve,
    beside,
    caption,
)
from .panel import Panel
from .scene import BLADE, Line, Picture, Plot, Scene, both_ways, break_force, panel_of, span_of
from .section import Section
from .sideview import SIDEWAYS, EdgeView, FaceView, Lever, SideView
from .story import Story
from .words import Number, Words, first_up

RELIEF, RATE, PRESET = "relief thickness", "rate", "preset"
_WITHIN = 1 - 1e-9  # just within yield, so that no last digit counts as past it
_DUST = 1e-9  # mm, last digits
_ROOM = 1.22  # times the greatest force, so that the preset stands over it
_LEFT = 0.25  # of the plot, the least place of a name that stands left of its point
_NARROW = 0.01  # of the span; a stretch no wider has no room for its name
GIVE = "bar.side_compliance"
_MOST = 0.008  # mm/N, beyond any bar of such sizes
_GIVES = np.linspace(0.0, _MOST, 33)


def sprung(knife: Knife, extras: Setting) -> Knife:
    """The knife with relief thickness (or measured rate) and preset as the sliders say."""
    if RELIEF in extras:
        knife = with_relief(knife, extras[RELIEF])
    elif RATE in extras:
        knife = knife.replace({"bar.rate": extras[RATE], "bar.riding_force": extras[RATE] * preset(knife)})
    return with_preset(knife, extras[PRESET] - preset(knife)) if PRESET in extras else knife


def kept(knife: Knife) -> Knife:
    """The knife as a bar bent past its yield leaves it: it takes a set, and riding it then presses no harder than at
    yield.

    As if the relief could hold nothing beyond yield; within it, the knife itself.
    """
    limit, stress = knife.bar.yield_stress, feel(knife).relief_stress_ride
    if limit is None or stress is None or stress <= limit:
        return knife
    return knife.replace({"bar.riding_force": knife.bar.riding_force * limit / stress * _WITHIN})


class OneSpring(Picture):
    """The bar from its edge, its force over how far it is bent, and the stress in the relief against yield."""

    title = "one spring"

    def __init__(self, samples: Sequence[Story], lead: str, farthest: float):
        """samples: Stories that the axes hold. lead: how the sentence begins. farthest: the greatest bend [mm]."""
        super().__init__()
        self._last, self._lead, self._span = samples[0], lead, samples[0].run.angle_deg[-1]
        most = max(story.feel.ride_load for story in samples)
        self._side = SideView(self.figure.add_axes((0.005, 0.59, 0.99, 0.405)), samples[0].knife, 4.0 / most)
        self.scale_bars = self._side.scale_bars
        self._place_plot(1.08 * farthest, _ROOM * most)
        self._place_gauge(samples)
        bent = max(preset(story.knife) for story in samples)
        self._edge = EdgeView(self.figure.add_axes((0.37, 0.0, 0.335, 0.575)), samples[0].knife, bent)
        parts = self._side, self._edge, self._curve
        self.moving = [artist for part in parts for artist in part.artists]
        self.moving += [*self._marks, self.note, *self._stress]

    def show(self, knife: Knife, extras: Setting, measure: Measure) -> Words:
        """Compute everything, then draw it."""
        story = Story(knife, self._span, extras.get(BLADE_ANGLE, 0.0), self._last)
        lost = extras[PRESET] - preset(knife)
        lost = lost if lost > _DUST else 0.0
        now = story.run.load[story.at, 0]
        words = self._words(story, now, lost, measure)
        self._last = story
        self._side.draw(knife, story.seat(0), now / story.feel.rate, measure)
        self._edge.draw(knife, now / story.feel.rate, measure)
        self._draw_plot(story.feel, now, lost, measure)
        self._draw_gauge(knife.bar.yield_stress, story.feel, lost, measure)
        return words

    def _place_plot(self, widest, highest):
        ends = (0, widest, 0, highest)
        across, up = ("bent by, at the ball", "mm", 4), ("force at the ball", "N", 5)
        self._plot = ax = self.plot((0.07, 0.115, 0.285, 0.44), ends, across, up)
        self._curve = Curve(ax, "", BALLS[0])
        self.curves = [self._curve]
        (self._yielded,) = ax.plot([], [], color=PUSH, lw=1.5, ls=STYLES[1])
        self._set_name = caption(ax, 0, 0, "", PUSH, "left", "bottom")
        self._drops = [ax.plot([], [], color=GREY, lw=1, ls=":")[0] for _ in range(2)]
        (self._dots,) = ax.plot([], [], "o", ms=5, color=GREY)
        (self._now,) = ax.plot([], [], "o", ms=7, mfc="white", mec=INK, mew=1.5)
        self._at = [
            beside(ax, name, (0, 0), (right, 3), GREY, ha, "bottom", annotation_clip=True)
            for name, right, ha in (("seated", -7, "right"), ("riding", 7, "left"))
        ]
        look = {"size": 8, "width": 0.9, "heads": "<|-|>"}
        self._preset = Arrow(ax, INK, **look, fontsize=SMALL, va="bottom", bbox=PLATE, clip_on=False)
        self.note = caption(ax, 0.99, 0.03, "", GREY, "right", "bottom", transform=ax.transAxes)
        self._marks = [self._yielded, self._set_name, *self._drops, self._dots, self._now, *self._at]
        self._marks += self._preset.artists

    def _draw_plot(self, felt, now, lost, measure):
        """The line from free to riding, with seat, riding and now; lost: the set [mm] that bending further leaves."""
        loads = np.array([felt.rest_load, felt.ride_load])
        bends = loads / felt.rate
        self._curve.draw([0.0, bends[1]], [0.0, loads[1]])
        past = ([bends[1], bends[1] + lost, lost], [loads[1], loads[1], 0.0]) if lost else ([], [])
        self._yielded.set_data(*past)
        self._set_name.set_text(f"set {measure.short(lost, 'mm')}" if lost else "")
        highest = self._plot.get_ylim()[1]
        self._set_name.set_position((lost + 0.09 * highest / felt.rate, 0.02 * highest))
        for drop, x, y in zip(self._drops, bends, loads, strict=True):
            drop.set_data([x, x], [0, y])
        self._dots.set_data(bends, loads)
        self._now.set_data([now / felt.rate], [now])
        for name, x, y in zip(self._at, bends, loads, strict=True):
            name.xy = x, y
        left = bends[0] > _LEFT * self._plot.get_xlim()[1]  # else there is no room beside the axis
        for name, said in zip(self._at, ("seated", "riding") if left else ("", "seated, riding"), strict=True):
            name.set_text(said)
        level = loads[1] + 0.09 * highest  # over every line of now
        self._preset.draw((0, level), (bends[1], level), "preset", (bends[1] / 2, level + 0.015 * highest))

    def _place_gauge(self, samples):
        stresses = [story.feel.relief_stress_ride for story in samples if story.feel.relief_stress_ride is not None]
        limit = samples[0].knife.bar.yield_stress or 0.0
        ends = (0, 1.05 * max([1.1 * limit, 100.0, *stresses]), 0, 1)
        across, up = ("stress in the relief", "MPa", 3), ("", "", 5)
        self._gauge = ax = self.plot((0.745, 0.235, 0.222, 0.1), ends, across, up)
        ax.grid(False)
        ax.yaxis.set_visible(False)
        ax.spines["left"].set_visible(False)
        ax.set_visible(bool(stresses))
        self._seated = ax.add_patch(Rectangle((0, 0.15), 0, 0.7, fc=BAR, ec=INK, lw=1))
        self._riding = ax.add_patch(Rectangle((0, 0.15), 0, 0.7, fc="white", ec=INK, lw=1, hatch="////"))
        if limit:
            ax.axvline(limit, color=PUSH, lw=2)
            beside(ax, "yield", (limit, 1), (0, 2), PUSH, "center", "bottom")
        look = {"transform": self.figure.transFigure, "linespacing": 1.35, "clip_on": False}
        self._said = caption(ax, 0.735, 0.54, "", INK, va="top", **look)
        self._stress = [self._riding, self._seated, self._said]

    def _draw_gauge(self, limit, felt, lost, measure):
        self._said.set_text("\n".join(_stress_words(limit, felt, lost, measure)))
        for part in (self._seated, self._riding):
            part.set_visible(felt.relief_stress_ride is not None)
        if felt.relief_stress_ride is not None:
            self._seated.set_width(felt.relief_stress_rest)
            self._riding.set_width(felt.relief_stress_ride)

    def _words(self, story, now, lost, measure):
        felt, knife = story.feel, story.knife
        seated = ""
        sentence = (
            f"{self._lead} presses with {measure.say(felt.rest_load, 'N')}, riding the flat with"
            f" {measure.say(felt.ride_load, 'N')}; now, at {measure.short(story.angle_deg, 'deg')}, with"
            f" {measure.short(now, 'N')}."
        )
        if lost:
            bent = f"Past yield the bar takes a set of {measure.say(lost, 'mm')}; about this is left: riding the flat"
            sentence, seated = f"{bent} it presses with {measure.say(felt.ride_load, 'N')}.", f"{sentence} "
        rest = (
            f"{seated}Rate {measure.short(felt.rate, 'N/mm')}, preset {measure.short(preset(knife), 'mm')}. Break force"
            f" at the tab {measure.say(felt.break_force, 'N')}.{story.warning()}"
        )
        number = Number("The seated bar presses at the ball with", felt.rest_load, "N")
        bar = "a stick on a hinge, its thickness not known"
        if knife.bar.drawn:
            bar = f"relief {measure.say(knife.bar.relief_thickness, 'mm')} thick"
        seen = (
            f"Side view of the bar to scale: {bar}, bent by"
            f" {measure.say(now / felt.rate, 'mm')} at the ball. Below, the bar with its bend drawn"
            f" ×{self._edge.times}. Beside it the force over the bend: a straight line through nothing"
            f"{' that ends at yield' if lost else ''}."
            f" {first_up(', '.join(_stress_words(knife.bar.yield_stress, felt, lost, measure)))}."
        )
        return Words(number, sentence, rest, seen)


class TheSnap(Scene):
    """What the finger feels opening and letting back, what friction takes between the two, and the hill in the bar."""

    title, foot = "the snap", 0.2

    def __init__(self, samples: Sequence[Story]):
        """The plots of a Scene with the loop, the dead band and the lever added."""
        super().__init__(samples)
        force, energy = (plot.ax for plot in self._plots)
        self._loop = force.add_patch(Polygon([(0, 0)], closed=True, fc=CONE, ec="none"))
        across = force.get_xaxis_transform()
        self.note.set(x=0.02, ha="left")
        self._band, self._stuck = (
            force.add_patch(Rectangle((0, 0), 0, 1, transform=across, fc=GRID, ec=GREY, lw=0.8)) for _ in range(2)
        )
        self._band_name = caption(force, 0, 0.62, "dead\nband", GREY, "center", "center", transform=across)
        self._taken = caption(force, 1.0, 1.02, "", INK, "right", "bottom", transform=force.transAxes)
        self._barrier = beside(energy, "", (self.span, 0), (-2, -15), BALLS[0], "right", "top")
        self._lever = Lever(self.figure.add_axes((0.005, 0.01, 0.475, self.foot)), samples)
        marks = [force.get_legend(), self._band_name, self._taken, self._barrier]
        self.moving = [self._band, self._stuck, self._loop, *self.moving, *marks, *self._lever.artists]

    def plots(self, story: Story) -> tuple[Plot, Plot]:
        """Force of the push both ways, and the energy put in and stored."""
        put_in = Line("put in by the hand", OPENING, STYLES[0], True, lambda story: story.work())
        held = Line("held by the bar", BALLS[0], STYLES[2], False, lambda story: story.stored())
        return Plot(*both_ways("force of the push"), legend="upper right"), Plot("energy", "mJ", put_in, held)

    def draw(self, story: Story, way: str, measure: Measure, extras: Setting) -> None:
        """As in Scene, with the marks and the lever."""
        super().draw(story, way, measure, extras)
        self._draw_marks(story, measure)
        self._lever.draw(story, way, measure)

    def words(self, story: Story, way: str, measure: Measure, extras: Setting) -> Words:
        """Now, the knife as a whole, and what a gauge reads."""
        felt, arm = story.feel, measure.round(story.knife.blade.tab_arm, "mm")
        now = story.at_tab(way, measure, f"{arm} from the pivot")
        if story.sticks(way):
            now += f"; it slips at {measure.short(felt.take_up_deg, 'deg')}"
        gauge = f"A gauge reads {measure.short(felt.gauge_break_force, 'N')}"
        if felt.gauge_letback_force is not None:
            gauge += f" and {measure.short(felt.gauge_letback_force, 'N')}"
        sentence = f"At {measure.short(story.angle_deg, 'deg')}: {now}."
        rest = (
            f"{first_up(story.feeling(measure))}. {gauge}. Draws shut from {measure.short(felt.draw_in_deg, 'deg')},"
            f" snap ratio {felt.snap_ratio:.2f}.{story.warning()}"
        )
        number = Number(f"Break force {arm} from the pivot", felt.break_force, "N")
        seen = (
            "Section to scale with the friction cone; below it the push on its arm. Force of the push from 0° to"
            f" {self.span:g}°, opening and letting back; between them friction takes"
            f" {measure.short(story.lost(), 'mJ')}. Below, the energy put in and held."
        )
        return Words(number, sentence, rest, seen)

    def _draw_marks(self, story, measure):
        felt, run, back = story.feel, story.run, story.back
        inside = run.angle_deg <= felt.break_out_deg
        out = np.column_stack([run.angle_deg, run.tab_force])[inside]
        self._loop.set_xy(np.vstack([out, np.column_stack([back.angle_deg, back.tab_force])[inside][::-1]]))
        sticks = felt.take_up_deg > _NARROW * self.span
        grey = f"; grey, left: take-up {felt.take_up_deg:.2f}°" if sticks else ""
        self._taken.set_text(f"yellow: {measure.short(story.lost(), 'mJ')} to friction{grey}")
        self._band.set(x=felt.draw_in_deg, width=felt.break_out_deg - felt.draw_in_deg)
        self._stuck.set_width(felt.take_up_deg)
        self._band_name.set_text("dead\nband" if self._band.get_width() > 5 * _NARROW * self.span else "")
        self._band_name.set_x((felt.draw_in_deg + felt.break_out_deg) / 2)
        self._barrier.xy = self.span, felt.barrier
        self._barrier.set_text(f"barrier {measure.short(felt.barrier, 'mJ')}")


def one_spring(knife: Knife) -> Panel:
    """Panel of notebook 02: ball 1 alone; relief thickness at the same preset, preset and blade angle move.

    A bar without drawn sizes has its measured rate in place of the relief.
    """
    alone = with_one_ball(knife)
    bend, first = preset(alone), stiffness_control(alone.bar, (0.8, 1.4), (0.5, 2.2))
    controls = [first, Control(PRESET, "Preset", round(0.5 * bend, 2), round(2.1 * bend, 2), 0.01, bend, "mm")]
    lead = "Seated the ball" if len(knife.balls) == 1 else "Ball 1 alone: seated it"

    def make(made, extras):
        return kept(sprung(made, extras))

    most = [{first.path: first.hi, PRESET: controls[1].hi}]

    def scene_of(samples):
        return OneSpring(samples, lead, controls[1].hi)

    return panel_of(scene_of, alone, controls, _spring_tries(alone, first.hi), extremes=most, make=make)


def stiffness_control(bar: LockBar, thick: tuple[float, float], rates: tuple[float, float]) -> Control:
    """Relief thickness of a drawn bar between these two shares of it, else the measured rate between those."""
    if not bar.drawn:
        low, high = (round(share * bar.rate, 2) for share in rates)
        return Control(RATE, "Rate", low, high, 0.05, bar.rate, "N/mm")
    now = bar.relief_thickness
    low, high = (round(share * now, 3) for share in thick)
    return Control(RELIEF, "Relief thickness", low, max(now, min(high, bar.thickness)), 0.002, now, "mm")


def the_snap(knife: Knife) -> Panel:
    """Panel of notebook 03: friction, the arm of the push, pivot drag and blade angle move."""
    blade = knife.blade
    far = blade.tab_arm if blade.stud_arm is None else blade.stud_arm
    farthest = round(1.05 * max(far, blade.tab_arm), 1)
    controls = [
        Control("friction.rim", "Friction at the rim", 0.0, 0.4, 0.005),
        Control("blade.tab_arm", "Pivot to the push", round(0.7 * blade.tab_arm, 1), farthest, 0.1),
        Control("friction.pivot_torque", "Drag of the pivot", 0.0, 8.0, 0.1),
    ]
    tries = {
        "no friction": {"friction.rim": 0.0, "friction.pivot_torque": 0.0},
        "fresh oil, friction 0.10": {"friction.rim": 0.10},
        "dry and dirty, friction 0.30": {"friction.rim": 0.30},
    }
    if blade.stud_arm is not None:
        tries["push at the stud"] = {"blade.tab_arm": blade.stud_arm}
    return panel_of(TheSnap, knife, controls, tries, BLADE)


def _spring_tries(knife, thickest):
    bar, bend = knife.bar, preset(knife)
    tries = {"bend it twice as far": {PRESET: 2 * bend}}
    if not bar.drawn:
        return tries | {"twice the force: twice the rate": {RATE: 2 * bar.rate}}
    tries["one thou off the relief"] = {RELIEF: bar.relief_thickness - convert(1.0, "thou", "mm")}

    def missing(thickness):
        return with_relief(knife, thickness).bar.riding_force - 2 * bar.riding_force

    if missing(thickest) > 0:
        tries["twice the force: a thicker relief"] = {RELIEF: brentq(missing, bar.relief_thickness, thickest)}
    return tries


def _stress_words(limit, felt, lost, measure):
    if felt.relief_stress_ride is None:
        return ["stress in the relief not known:", "its sizes are not given"]
    seated, riding = (measure.short(stress, "MPa") for stress in (felt.relief_stress_rest, felt.relief_stress_ride))
    said = [f"seated (plain) {seated}", f"riding (hatched) {riding}"]
    if limit is None:
        return [*said, "yield not known"]
    if lost:
        return [*said, "past yield: the bar takes a set"]
    return [*said, f"that is {100 * felt.relief_stress_ride / limit:.0f} % of yield"]


class TheGive(Picture):
    """The bar bent up and sideways, the ball at rest in its recess, and how far it then stands short of the middle."""

    title = "the give"

    def __init__(self, knife: Knife):
        """knife: with one ball and a number for its give."""
        super().__init__()
        self._last = story = Story(knife, span_of([working(knife)]))
        self._span = story.run.angle_deg[-1]
        self._side = SideView(self.figure.add_axes((0.005, 0.6, 0.99, 0.395)), knife, 4.0 / story.feel.ride_load)
        self._face = FaceView(self.figure.add_axes((0.005, 0.01, 0.3, 0.5)), knife)
        radius = knife.balls[0].radius
        ax = self.figure.add_axes((0.32, 0.06, 0.34, 0.47))
        self._section = Section(ax, radius, story.newton(radius), "ball 1, at rest", "dashed: stripped")
        (self._stripped,) = self._section.ax.plot([], [], color=PUSH, lw=1.2, ls=STYLES[1])
        self._place_plot(knife)
        self.moving = [*self._side.artists, *self._face.artists, *self._section.artists, self._stripped]
        self.moving += [*self._curve.artists, self._dot, self.note]

    def scale_bars(self, measure: Measure) -> list[Artist]:
        """Of the bar and of the section."""
        return [*self._side.scale_bars(measure), *self._section.scale_bars(measure)]

    def _place_plot(self, knife):
        self._offsets = [loaded_offset(Detent(knife.replace({GIVE: give})))[0] for give in _GIVES]
        high = max(*self._offsets, 0.0)
        ends = (0, 1.02 * _MOST, min(*self._offsets, 0.0), 1.15 * high or 1.0)
        across, up = ("sideways give", "mm/N", 3), ("short of the middle", "mm", 4)
        ax = self.plot((0.745, 0.125, 0.235, 0.37), ends, across, up)
        self._curve = Curve(ax, "", BALLS[0])
        self.curves = [self._curve]
        (self._dot,) = ax.plot([], [], "o", ms=7, mfc="white", mec=INK, mew=1.5, clip_on=False)
        self.note = caption(ax, 0.99, 0.97, "", GREY, "right", "top", transform=ax.transAxes)

    def show(self, knife: Knife, extras: Setting, measure: Measure) -> Words:
        """Compute everything, then draw it."""
        story = Story(knife, self._span, 0.0, self._last)
        seat, side, push = story.seat(0, "letting back"), story.run.side[0, 0], story.back.push[0, 0]
        words = self._words(story, seat, side, push, measure)
        self._last = story
        self._side.draw(knife, seat, seat.load / story.feel.rate, measure)
        self._face.draw(side, push, measure)
        self._section.draw(seat, "opening", measure)
        rim = seat.ball.recess.rim_radius - seat.ball.recess.rest_offset
        self._stripped.set_data([rim, rim], [0.0, 0.55 * self._section.top])
        self._curve.draw(_GIVES, self._offsets)
        self._dot.set_data([knife.get(GIVE)], [story.feel.loaded_offset[0]])
        return words

    def _words(self, story, seat, side, push, measure):
        ball, felt = seat.ball, story.feel
        stripped = float(np.degrees(lift(ball, 0.0).phi))
        sentence = (
            f"Loaded, the rim pushes the ball with {measure.say(abs(push), 'N')}, and the bar gives sideways by"
            f" {measure.say(abs(side), 'mm')}: it rests {measure.say(felt.loaded_offset[0], 'mm')} short of the middle"
            f" of its recess, touched at {measure.short(felt.contact_deg[0], 'deg')}."
        )
        rest = (
            f"Stripped, it stands {measure.say(ball.recess.rest_offset, 'mm')} short, touched at"
            f" {measure.short(stripped, 'deg')}.{story.warning()}"
        )
        seen = (
            "The bar from its edge, bent up in its relief, and on its face, turned sideways in the same relief, the"
            f" sideways turn drawn {SIDEWAYS} times too large. Section of the ball at rest, the place of the rim of"
            " stripped parts dashed."
        )
        return Words(break_force(story), sentence, rest, seen)


def the_give(knife: Knife) -> Panel:
    """Panel of notebook 02: ball 1 alone, shut; how far the bar gives sideways for each newton moves."""
    alone = with_one_ball(knife)
    own = float(bars.side_compliance(alone.bar, alone.balls[0]))
    alone = alone.replace({GIVE: own})
    control = Control(GIVE, "Sideways give", 0.0, max(_MOST, own), 0.0001)
    tries = {"stiff sideways, as in a textbook": {GIVE: 0.0}, "half as stiff": {GIVE: min(2 * own, control.hi)}}
    return Panel(alone, [control], TheGive(alone), tries)
