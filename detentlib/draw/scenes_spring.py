"""The pictures of the panels of notebooks 02 and 03: one spring, and the snap.

`one_spring(knife)` and `the_snap(knife)` give a Panel ready to show, made as those of scenes.py are.
"""

import numpy as np
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.patches import FancyArrowPatch, Polygon, Rectangle
from scipy.optimize import brentq

from ..knife.parts import KnifeError
from ..knife.units import convert
from ..mechanics.feel import feel
from ..say.measure import MM
from ..tune.moves import preset, with_one_ball, with_preset, with_relief
from .controls import BLADE_ANGLE, Control, Dropdown
from .drawing import BACK, BALLS, BAR, BEFORE, CONE, GREY, GRID, INK, OPENING, PUSH, SMALL, STYLES, Curve, unit_axis
from .panel import Panel, Words
from .scene import DIRECTION, Line, OneCurve, Plot, Scene, angle_control, control_for, panel_of, span_of
from .sideview import Lever, SideView
from .story import WAYS, Story

RELIEF, RATE, PRESET = "relief thickness", "rate", "preset"
_WITHIN = 1 - 1e-9  # just within yield, so that no last digit counts as past it
_NARROW = 0.01  # of the span; a stretch no wider has no room for its name


def sprung(knife, extras):
    """The knife with relief thickness (or measured rate) and preset as the sliders say."""
    if RELIEF in extras:
        knife = with_relief(knife, extras[RELIEF])
    elif RATE in extras:
        knife = knife.replace({"bar.rate": extras[RATE], "bar.riding_force": extras[RATE] * preset(knife)})
    return with_preset(knife, extras[PRESET] - preset(knife)) if PRESET in extras else knife


def kept(knife):
    """The knife as a bar bent past its yield leaves it: it takes a set, and riding it then presses no harder than at yield.

    As if the relief could hold nothing beyond yield; within it, the knife itself.
    """
    limit, stress = knife.bar.yield_stress, feel(knife).relief_stress_ride
    if limit is None or stress is None or stress <= limit:
        return knife
    return knife.replace({"bar.riding_force": knife.bar.riding_force * limit / stress * _WITHIN})


class OneSpring(OneCurve):
    """The bar from its edge, its force over how far it is bent, and the stress in the relief against yield."""

    def __init__(self, knife, extras, samples, lead="Seated the ball"):
        """samples: of Story at the ends of the sliders; the axes are fixed to hold them. lead: how the answer line begins."""
        self.title, self._last, self._lead = "one spring", samples[0], lead
        self.extras = {**extras, BLADE_ANGLE: (0.0, "deg")}
        self.span = samples[0].run.angle_deg[-1]
        self.figure = Figure(figsize=(7.7, 4.4), dpi=100, facecolor="white")
        FigureCanvasAgg(self.figure)
        most = max(story.feel.ride_load for story in samples)
        self._side = SideView(self.figure.add_axes((0.005, 0.59, 0.99, 0.405)), knife, 4.0 / most)
        self._place_plot(1.08 * max(preset(story.knife) for story in samples), 1.08 * most)
        self._place_gauge(samples)
        self.moving = [*self._side.artists, *self._curve.artists, *self._marks, self._note, *self._stress]
        self._scale_bar = []
        self.relabel(MM)

    def show(self, knife, extras, measure):
        """Compute everything, then draw it; returns the Words. Raises KnifeError with the picture untouched."""
        asked = sprung(knife, extras)
        made = kept(asked)
        lost = preset(asked) - preset(made)
        story = Story(made, self.span, extras.get(BLADE_ANGLE, 0.0), self._last)
        now = story.run.load[story.at, 0]
        words = self._words(story, now, lost, measure)._replace(knife=made)
        self._last = story
        self._side.draw(made, story.seat(0), now / story.feel.rate, measure)
        self._draw_plot(story.feel, now, lost, measure)
        self._draw_gauge(made.bar.yield_stress, story.feel, lost, measure)
        return words

    def relabel(self, measure):
        """Axes and scale bar in the measure's units."""
        for artist in self._scale_bar:
            artist.remove()
        self._scale_bar = self._side.scale_bar(measure)
        unit_axis(self._plot.yaxis, self._plot.get_ylim(), "force at the ball", "N", measure)
        unit_axis(self._plot.xaxis, self._plot.get_xlim(), "bent by, at the ball", "mm", measure)
        unit_axis(self._gauge.xaxis, self._gauge.get_xlim(), "stress in the relief", "MPa", measure)

    def _place_plot(self, widest, highest):
        self._plot = ax = self.figure.add_axes((0.075, 0.115, 0.5, 0.44))
        ax.set(xlim=(0, widest), ylim=(0, highest))
        ax.grid(color=GRID, lw=0.8)
        ax.tick_params(labelsize=SMALL)
        ax.spines[["top", "right"]].set_visible(False)
        self._curve = Curve(ax, "", BALLS[0])
        (self._yielded,) = ax.plot([], [], color=PUSH, lw=1.5, ls=STYLES[1])
        self._set_name = ax.text(0, 0, "", ha="left", va="bottom", size=SMALL, color=PUSH)
        self._drops = [ax.plot([], [], color=GREY, lw=1, ls=":")[0] for _ in range(2)]
        (self._dots,) = ax.plot([], [], "o", ms=5, color=GREY)
        (self._now,) = ax.plot([], [], "o", ms=7, mfc="white", mec=INK, mew=1.5)
        words = {"size": SMALL, "color": GREY, "textcoords": "offset points", "annotation_clip": True}
        self._at = [
            ax.annotate("seated", (0, 0), (-7, 3), ha="right", va="bottom", **words),
            ax.annotate("riding", (0, 0), (7, -2), ha="left", va="top", **words),
        ]
        white = {"fc": "white", "ec": "none", "pad": 1.5}
        self._off = ax.text(0.99, 0.93, "", transform=ax.transAxes, ha="right", va="top", size=SMALL, color=INK, bbox=white)
        self._preset = FancyArrowPatch((0, 0), (1, 0), arrowstyle="<|-|>", mutation_scale=8, lw=0.9, color=INK, shrinkA=0, shrinkB=0)
        ax.add_patch(self._preset)
        self._preset_name = ax.text(0, 0, "preset", ha="center", va="bottom", size=SMALL, color=INK)
        self._note = ax.text(0.99, 0.03, "", transform=ax.transAxes, ha="right", va="bottom", size=SMALL, color=BEFORE)
        self._marks = [self._yielded, self._set_name, *self._drops, self._dots, self._now, *self._at, self._off, self._preset, self._preset_name]

    def _draw_plot(self, felt, now, lost, measure):
        """The line from free to riding, with seat, riding and now; lost: the set [mm] that bending further leaves."""
        loads = np.array([felt.rest_load, felt.ride_load])
        bends = loads / felt.rate
        self._curve.draw([0.0, bends[1]], [0.0, loads[1]])
        past = ([bends[1], bends[1] + lost, lost], [loads[1], loads[1], 0.0]) if lost else ([], [])
        self._yielded.set_data(*past)
        self._set_name.set_text(f"set {measure.short(lost, 'mm')}" if lost else "")
        self._set_name.set_position((lost + 0.06 * self._plot.get_xlim()[1], 0.02 * self._plot.get_ylim()[1]))
        for drop, x, y in zip(self._drops, bends, loads, strict=True):
            drop.set_data([x, x], [0, y])
        self._dots.set_data(bends, loads)
        self._now.set_data([now / felt.rate], [now])
        for name, x, y in zip(self._at, bends, loads, strict=True):
            name.xy = x, y
        highest = self._plot.get_ylim()[1]
        level = loads[1] + 0.12 * highest if loads[1] < 0.78 * highest else 0.16 * highest
        self._preset.set_positions((0, level), (bends[1], level))
        self._preset_name.set_position((bends[1] / 2, level))
        self._off.set_text(f"above this plot: riding {measure.short(loads[1], 'N')}" if loads[1] > highest else "")

    def _place_gauge(self, samples):
        self._gauge = ax = self.figure.add_axes((0.63, 0.235, 0.345, 0.1))
        stresses = [story.feel.relief_stress_ride for story in samples if story.feel.relief_stress_ride is not None]
        limit = samples[0].knife.bar.yield_stress or 0.0
        ax.set(xlim=(0, 1.05 * max([1.1 * limit, 100.0, *stresses])), ylim=(0, 1))
        ax.set_yticks([])
        ax.tick_params(labelsize=SMALL)
        ax.spines[["top", "right", "left"]].set_visible(False)
        ax.set_visible(bool(stresses))
        self._seated = ax.add_patch(Rectangle((0, 0.15), 0, 0.7, fc=BAR, ec=INK, lw=1))
        self._riding = ax.add_patch(Rectangle((0, 0.15), 0, 0.7, fc="white", ec=INK, lw=1, hatch="////"))
        if limit:
            ax.axvline(limit, color=PUSH, lw=2)
            ax.annotate("yield", (limit, 1), (0, 2), textcoords="offset points", ha="center", va="bottom", size=SMALL, color=PUSH)
        self._said = ax.text(0.63, 0.54, "", transform=self.figure.transFigure, size=SMALL, color=INK, va="top", linespacing=1.35, clip_on=False)
        self._stress = [self._riding, self._seated, self._said]

    def _draw_gauge(self, limit, felt, lost, measure):
        """Stress seated and riding as a bar, and in words."""
        self._said.set_text("\n".join(_stress_words(limit, felt, lost, measure)))
        for part in (self._seated, self._riding):
            part.set_visible(felt.relief_stress_ride is not None)
        if felt.relief_stress_ride is not None:
            self._seated.set_width(felt.relief_stress_rest)
            self._riding.set_width(felt.relief_stress_ride)

    def _words(self, story, now, lost, measure):
        """Force seated, riding and now, the rate, the preset, and what that makes at the tab."""
        felt, knife = story.feel, story.knife
        bent = f"Bent so far, the relief yields and the bar takes a set of {measure.say(lost, 'mm')}; what is left is about this. " if lost else ""
        answer = (
            f"{bent}{self._lead} presses with {measure.say(felt.rest_load, 'N')}, riding the flat with {measure.say(felt.ride_load, 'N')}; "
            f"now, at {measure.short(story.angle_deg, 'deg')}, with {measure.short(now, 'N')}. "
            f"Rate {measure.short(felt.rate, 'N/mm')}, preset {measure.short(preset(knife), 'mm')}. "
            f"Break force at the tab {measure.say(felt.break_force, 'N')}.{story.warning()}"
        )
        alt = (
            f"Side view of the bar to scale: {_bar_words(knife.bar, measure)}, bent by {measure.say(now / felt.rate, 'mm')} at the ball. "
            f"Below, the force over the bend: a straight line through nothing{' that ends at yield' if lost else ''}. "
            f"{_first_up(', '.join(_stress_words(knife.bar.yield_stress, felt, lost, measure)))}. {answer}"
        )
        return Words(answer, alt)


class TheSnap(Scene):
    """What the finger feels opening and letting back, what friction takes between the two, and the hill in the bar."""

    foot = 0.2

    def __init__(self, title, samples):
        """The plots of a Scene with the loop, the dead band and the lever added."""
        super().__init__(title, samples)
        force, energy = (placed[0] for placed in self._plots)
        self._loop = force.add_patch(Polygon([(0, 0)], closed=True, fc=CONE, ec="none"))
        self._band = force.add_patch(Rectangle((0, 0), 0, 1, transform=force.get_xaxis_transform(), fc=GRID, ec=GREY, lw=0.8))
        small = {"size": SMALL, "va": "center"}
        low, high = force.get_ylim()
        force.set_ylim(low - 0.1 * (high - low), high)
        self._note.set(x=0.02, ha="left")
        self._band_name = force.text(0, 0.62, "dead\nband", transform=force.get_xaxis_transform(), color=GREY, ha="center", **small)
        self._stuck = force.add_patch(Rectangle((0, 0), 0, 1, transform=force.get_xaxis_transform(), fc=GRID, ec=GREY, lw=0.8))
        self._stuck_name = force.text(0, 0.03, "", transform=force.get_xaxis_transform(), color=GREY, ha="left", size=SMALL, va="bottom")
        beside = {"size": SMALL, "textcoords": "offset points", "ha": "left"}
        self._break = force.annotate("", (0, 0), (7, 3), color=OPENING, va="bottom", **beside)
        self._hold = force.annotate("", (0, 0), (3, -14), color=BACK, va="top", **beside)
        self._taken = force.text(0.99, 0.93, "", transform=force.transAxes, color=INK, ha="right", **small)
        self._barrier = energy.annotate("", (self.span, 0), (-2, -15), textcoords="offset points", color=BALLS[0], ha="right", va="top", size=SMALL)
        self._lever = Lever(self.figure.add_axes((0.005, 0.01, 0.475, self.foot)), samples)
        marks = [self._band_name, self._stuck_name, self._break, self._hold, self._taken, self._barrier]
        self.moving = [self._band, self._stuck, self._loop, *self.moving, *marks, *self._lever.artists]
        self.relabel(MM)

    def plots(self, stories):
        """Force of the push both ways, and the energy put in and stored."""
        opening = Line("opening", OPENING, STYLES[0], True, lambda now: now[0].run.tab_force)
        back = Line("letting back", BACK, STYLES[1], False, lambda now: now[0].back.tab_force)
        put_in = Line("put in by the hand", OPENING, STYLES[0], True, lambda now: now[0].work())
        held = Line("held by the bar", BALLS[0], STYLES[2], False, lambda now: now[0].stored())
        return Plot("force of the push", "N", (opening, back)), Plot("energy", "mJ", (put_in, held))

    def show(self, knife, extras, measure):
        """As Scene.show, and the marks on it."""
        words = super().show(knife, extras, measure)
        story, way = self._last[0], extras.get(DIRECTION, "opening")
        self._draw_marks(story, measure)
        self._lever.draw(story, way, measure)
        return words

    def words(self, stories, way, measure):
        """Now, the knife as a whole, and what a gauge reads."""
        story = stories[0]
        felt, arm = story.feel, measure.round(story.knife.blade.tab_arm, "mm")
        now = story.at_tab(way, measure, f"{arm} from the pivot")
        if story.sticks(way):
            now += f"; it slips at {measure.short(felt.take_up_deg, 'deg')}"
        gauge = f"A gauge reads {measure.short(felt.gauge_break_force, 'N')}"
        if felt.gauge_letback_force is not None:
            gauge += f" and {measure.short(felt.gauge_letback_force, 'N')}"
        answer = (
            f"At {measure.short(story.angle_deg, 'deg')}: {now}. {_first_up(story.feeling(measure))}. {gauge}. "
            f"Draws shut from {measure.short(felt.draw_in_deg, 'deg')}, snap ratio {felt.snap_ratio:.2f}.{story.warning()}"
        )
        alt = (
            f"Section to scale with the friction cone; below it the push on its arm. Force of the push from 0° to {self.span:g}°, opening and letting back; "
            f"between them friction takes {measure.short(story.lost(), 'mJ')}. Below, the energy put in and held. {answer}"
        )
        return Words(answer, alt)

    def _draw_marks(self, story, measure):
        """Loop, take-up, dead band, break force, let-back and barrier."""
        felt, run, back = story.feel, story.run, story.back
        inside = run.angle_deg <= felt.break_out_deg
        out = np.column_stack([run.angle_deg, run.tab_force])[inside]
        self._loop.set_xy(np.vstack([out, np.column_stack([back.angle_deg, back.tab_force])[inside][::-1]]))
        self._taken.set_text(f"yellow: {measure.short(story.lost(), 'mJ')} to friction")
        self._band.set_x(felt.draw_in_deg)
        self._band.set_width(felt.break_out_deg - felt.draw_in_deg)
        self._stuck.set_width(felt.take_up_deg)
        self._stuck_name.set_x(felt.take_up_deg)
        self._stuck_name.set_text(" rim sticks" if self._stuck.get_width() > _NARROW * self.span else "")
        self._band_name.set_text("dead\nband" if self._band.get_width() > 5 * _NARROW * self.span else "")
        self._band_name.set_x((felt.draw_in_deg + felt.break_out_deg) / 2)
        self._break.xy = felt.peak_deg, felt.break_force
        self._break.set_text(f"break {measure.short(felt.break_force, 'N')}")
        self._hold.set_text("" if felt.letback_force is None else f"let-back {measure.short(felt.letback_force, 'N')}")
        self._hold.xy = felt.rest_deg, felt.letback_force or 0.0
        self._barrier.xy = self.span, felt.barrier
        self._barrier.set_text(f"barrier {measure.short(felt.barrier, 'mJ')}")


def one_spring(knife):
    """Panel of notebook 02: ball 1 alone; relief thickness at the same preset, preset and blade angle move.

    A bar without drawn sizes has its measured rate in place of the relief.
    """
    alone = with_one_ball(knife)
    bar, bend = alone.bar, preset(alone)
    if bar.drawn:
        start, thick = (bar.relief_thickness, "mm"), bar.relief_thickness
        first = Control(RELIEF, "Relief thickness", round(0.8 * thick, 3), max(thick, min(round(1.4 * thick, 3), bar.thickness)), 0.002)
    else:
        start = (bar.rate, "N/mm")
        first = Control(RATE, "Rate", round(0.5 * bar.rate, 2), round(2.2 * bar.rate, 2), 0.05)
    controls = [first, Control(PRESET, "Preset", round(0.5 * bend, 2), round(2.1 * bend, 2), 0.01)]
    shown = [alone, *_that_work(sprung(alone, {control.path: end}) for control in controls for end in (control.lo, control.hi))]
    span = span_of(shown)
    extras, samples = {first.path: start, PRESET: (bend, "mm")}, [Story(each, span) for each in shown]
    scene = OneSpring(alone, extras, samples, "Seated the ball" if len(knife.balls) == 1 else "Ball 1 alone: seated it")
    return Panel(alone, [*controls, angle_control(span)], scene, _spring_tries(alone, first.hi))


def the_snap(knife):
    """Panel of notebook 03: friction, the arm of the push, pivot drag and blade angle move."""
    blade = knife.blade
    far = blade.tab_arm if blade.stud_arm is None else blade.stud_arm
    controls = [
        control_for(knife, "friction.rim", "Friction at the rim", 0.0, 0.4, 0.005),
        control_for(knife, "blade.tab_arm", "Pivot to the push", round(0.7 * blade.tab_arm, 1), round(1.05 * max(far, blade.tab_arm), 1), 0.1),
        control_for(knife, "friction.pivot_torque", "Drag of the pivot", 0.0, 8.0, 0.1),
    ]
    tries = {
        "no friction": {"friction.rim": 0.0, "friction.pivot_torque": 0.0},
        "fresh oil, friction 0.10": {"friction.rim": 0.10},
        "dry and dirty, friction 0.30": {"friction.rim": 0.30},
    }
    if blade.stud_arm is not None:
        tries["push at the stud"] = {"blade.tab_arm": blade.stud_arm}
    return panel_of(TheSnap, "the snap", knife, controls, tries, Dropdown(DIRECTION, "Blade", tuple(WAYS)))


PANELS = {"one_spring": one_spring, "the_snap": the_snap}


def _that_work(knives):
    """Those that can work; the others are refused in words, not drawn."""
    for knife in knives:
        try:
            feel(knife)
        except KnifeError:
            continue
        yield knife


def _spring_tries(knife, thickest):
    """Settings to try: what a thou does, and two ways to twice the force."""
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
    """Stress in the relief seated and riding, against yield, in lines."""
    if felt.relief_stress_ride is None:
        return ["stress in the relief not known:", "its sizes are not given"]
    seated, riding = (measure.short(stress, "MPa") for stress in (felt.relief_stress_rest, felt.relief_stress_ride))
    said = [f"seated (plain) {seated}", f"riding (hatched) {riding}"]
    if limit is None:
        return [*said, "yield not known"]
    if lost:
        return [*said, "past yield: the bar takes a set"]
    return [*said, f"that is {100 * felt.relief_stress_ride / limit:.0f} % of yield"]


def _bar_words(bar, measure):
    """The bar's own sizes, in words."""
    return f"relief {measure.say(bar.relief_thickness, 'mm')} thick" if bar.drawn else "a stick on a hinge, its thickness not known"


def _first_up(text):
    return text[0].upper() + text[1:]
