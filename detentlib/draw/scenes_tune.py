"""The picture of the panel of notebook 08: the force at the tab in the window that is wanted, the hill in the bar, and
how near the limits are.

`tuning(knife, window)` gives a Panel ready to show.
"""

import math
from collections.abc import Mapping, Sequence
from typing import NamedTuple

from matplotlib.patches import Rectangle

from ..doubt.many import greatest_stress
from ..knife.parts import Knife
from ..knife.units import convert
from ..mechanics.feel import feel
from ..say.measure import MM, Measure
from ..tune import stock
from ..tune.moves import as_made, pin_assumed, preset
from .controls import Control, Dropdown, Setting
from .drawing import BALLS, BAR, BEFORE, ENVELOPE, GREY, INK, PLATE, PUSH, SMALL, STYLES, beside, caption
from .panel import Panel
from .scene import Line, Plot, Scene, both_ways, break_force, panel_of
from .scenes_spring import PRESET, RELIEF, sprung, stiffness_control
from .story import Story
from .words import Words

STOP, DRILL, AS_IT_IS = "stop pin", "drill", "as it is"
WANTED = (9.0, 11.0)  # N at the tab, what the owner in the notebook asks for


class Margin(NamedTuple):
    """How near one limit is: its name, a short one, how much is used (1 at the limit), and what is left, in words."""

    name: str
    label: str
    used: float
    left: str


def tuned(knife: Knife, extras: Setting, drills: Mapping[str, float] | None = None) -> Knife:
    """The knife with stop pin, drill, relief (or rate) and preset as the panel has them; drills: {word: diameter}."""
    if extras.get(DRILL, AS_IT_IS) != AS_IT_IS:
        knife = knife.replace({f"balls[{_carrier(knife)}].recess.diameter": drills[extras[DRILL]]})
    if extras.get(STOP):
        knife = knife.replace(as_made(knife, {"pin": extras[STOP]}))
    return sprung(knife, extras)


def margins(story: Story, measure: Measure = MM) -> list[Margin]:
    """The Margins of one Story at rest: yield of the relief, jamming, bar face against tang, ball against floor."""
    knife, felt = story.knife, story.feel
    at = max(felt.rest_carrier, 0)
    ball, lean = knife.balls[at], felt.contact_deg[at] + math.degrees(math.atan(knife.friction.rim))
    gap = float(story.run.gap[0])
    found = [
        Margin("jamming", "jamming", lean / 90, f"{measure.short(90 - lean, 'deg')} left"),
        Margin("bar face", "bar face", 1 - gap / ball.protrusion, f"{measure.short(gap, 'mm')} left"),
    ]
    if ball.recess.depth is not None:
        floor, depth = ball.recess.depth, felt.seat_depth[at]
        found.append(Margin("floor", "floor", depth / floor, f"{measure.short(floor - depth, 'mm')} left"))
    stress = greatest_stress(felt.relief_stress_rest, felt.relief_stress_side, felt.relief_stress_ride)
    if stress is not None and knife.bar.yield_stress:
        used = stress / knife.bar.yield_stress
        found.append(Margin("yield of the relief", "yield", used, measure.short(stress, "MPa")))
    return found


class Tuning(Scene):
    """Force at the tab with the wanted window, the hill in the bar, and below the sections the limits."""

    title = "tuning"
    size, foot = (7.7, 4.1), 0.31  # taller, its still with two balls would be more than a notebook should store

    def __init__(self, samples: Sequence[Story], window: tuple[float, float], starts: Setting):
        """window: (least, most) break force [N]. starts: {name: start} of what changes the lock too."""
        self._window, self._starts, self._knife = window, starts, samples[0].knife
        super().__init__(samples)
        self.note.set(y=0.06, va="bottom")
        self._place_window()
        self._place_margins()
        force, energy = (plot.ax for plot in self._plots)
        self._break = beside(force, "", (0, 0), (9, 2), INK, "left", "center", bbox=PLATE)
        self._barrier = beside(energy, "", (self.span, 0), (-2, -15), BALLS[0], "right", "top", bbox=PLATE)
        self.moving = [self._band, self._band_name, *self.moving, self._break, self._barrier, *self._used, *self._said]
        self.show(self._knife, {}, MM)
        self._as_it_came = [curve.now.get_data() for curve in self.curves]
        self.forget()

    def plots(self, story: Story) -> tuple[Plot, Plot]:
        """Force of the push both ways, and the energy held by the bar."""
        held = Line("held by the bar", BALLS[0], STYLES[0], False, lambda story: story.stored())
        return Plot(*both_ways("force at the tab")), Plot("energy", "mJ", held)

    def draw(self, story: Story, way: str, measure: Measure, extras: Setting) -> None:
        """As in Scene, with break force, barrier and limits."""
        super().draw(story, way, measure, extras)
        felt = story.feel
        self._break.xy = felt.peak_deg, felt.break_force
        self._break.set_text(f"break {measure.short(felt.break_force, 'N')}")
        self._barrier.xy = self.span, felt.barrier
        self._barrier.set_text(f"barrier {measure.short(felt.barrier, 'mJ')}")
        for bar, said, margin in zip(self._used, self._said, margins(story, measure), strict=True):
            bar.set_width(min(max(margin.used, 0.0), self._most))
            said.set_text(f"{100 * margin.used:.0f} %, {margin.left}")

    def words(self, story: Story, way: str, measure: Measure, extras: Setting) -> Words:
        """Inside the window or not, the feel, the limits, and what it asks to look after."""
        felt, (low, high) = story.feel, self._window
        near = max(margins(story, measure), key=lambda margin: margin.used)
        wanted = f"what is wanted, {measure.short(low, 'N')} to {measure.short(high, 'N')}"
        sentence = f"{self._verdict(felt.break_force, measure)} {wanted}.{self._lock(extras)}"
        rest = (
            f"The knife: {story.feeling(measure)}. Nearest limit: {near.name}, {100 * near.used:.0f} % used,"
            f" {near.left}.{story.warning()}"
        )
        limits = "; ".join(f"{each.name} {100 * each.used:.0f} % used, {each.left}" for each in margins(story, measure))
        seen = (
            f"Section to scale at rest; below it the limits: {limits}. Beside it the force at the tab from 0° to"
            f" {self.span:g}°, opening and letting back, with the wanted window as a band, and the energy held by the"
            " bar; in grey, before."
        )
        return Words(break_force(story), sentence, rest, seen)

    def forget(self) -> None:
        """Grey is the knife as it came."""
        for curve, (x, y) in zip(self.curves, self._as_it_came, strict=True):
            curve.before.set_data(x, y)
        self.note.set_text("grey: as it came")

    def relabel(self, measure: Measure) -> None:
        """As Scene.relabel; the window speaks the measure too."""
        super().relabel(measure)
        low, high = self._window
        self._band_name.set_text(f"wanted {low:.5g} to {high:.5g} N" if measure is MM else "wanted")

    def _verdict(self, force, measure):
        low, high = self._window
        if low <= force <= high:
            return "Inside"
        off, side = (low - force, "below") if force < low else (force - high, "above")
        return f"{measure.short(off, 'N')} {side}"

    def _lock(self, extras):
        asked = {name for name, start in self._starts.items() if abs(extras.get(name, start) - start) > 1e-9}
        said = " This changes the lock too: check the lock-up." if asked - {STOP} else ""
        if STOP in asked:
            said += f" The pin may set the open stop and the lock-up too: check them{pin_assumed(self._knife)}."
        return said

    def _place_window(self):
        ax, (low, high) = self._plots[0].ax, self._window
        bottom, top = ax.get_ylim()
        ax.set_ylim(bottom, max(top, 1.1 * high))
        self._band = ax.add_patch(Rectangle((0, low), self.span, high - low, fc=ENVELOPE, ec=GREY, lw=0.8, ls=":"))
        self._band_name = caption(ax, 0.985 * self.span, (low + high) / 2, "", INK, "right", "center")

    def _place_margins(self):
        ax = self._limits = self.figure.add_axes((0.1, 0.075, 0.205, self.foot - 0.1))
        found, self._most = margins(self.story), 1.12
        ax.set(xlim=(0, self._most), ylim=(len(found) - 0.45, -0.6))
        ax.set_yticks(range(len(found)), [each.label for each in found], size=SMALL)
        ax.set_xticks([0, 0.5, 1], ["0", "50 %", "limit"], size=SMALL)
        ax.tick_params(axis="y", length=0)
        ax.spines[["top", "right", "left"]].set_visible(False)
        ax.axvline(1, color=PUSH, lw=2)
        self._used = [ax.add_patch(Rectangle((0, i - 0.32), 0, 0.64, fc=BAR, ec=INK, lw=1)) for i in range(len(found))]
        for i, each in enumerate(found):
            ax.plot([each.used] * 2, [i - 0.45, i + 0.45], color=BEFORE, lw=2)
        self._said = [caption(ax, 1.03 * self._most, i, "", INK, va="center", clip_on=False) for i in range(len(found))]


def tuning(knife: Knife, window: tuple[float, float] = WANTED) -> Panel:
    """Panel of notebook 08: friction, stop pin, preset, relief thickness and the next drills move; window: wanted break
    force (least, most) [N].

    A bar without drawn sizes has its measured rate in place of the relief. Raises ValueError for a window that is none.
    """
    low, high = window
    if not 0 <= low < high < math.inf:
        cure = "give the least and the most break force, such as (9, 11)"
        raise ValueError(f"a window from {low:g} to {high:g} N is none: {cure}")
    bend, bar = preset(knife), stiffness_control(knife.bar, (0.88, 1.12), (0.7, 1.3))
    controls = [
        Control("friction.rim", "Friction at the rim", 0.05, 0.30, 0.005),
        Control(STOP, "Stop pin thicker", -0.12, 0.24, 0.002, 0.0, "mm"),
        Control(PRESET, "Preset", round(0.7 * bend, 2), round(1.3 * bend, 2), 0.01, bend, "mm"),
        bar,
    ]
    thou = convert(1.0, "thou", "mm")
    tries = {
        "stop pin: a thou thicker": {STOP: thou},
        "stop pin: a thou thinner": {STOP: -thou},
        "bent back by 0.1 mm": {PRESET: bend - 0.1},
        "bent in by 0.1 mm": {PRESET: bend + 0.1},
    }
    if knife.bar.drawn:
        tries["a thou off the relief"] = {RELIEF: bar.start - thou}
    drills = next_drills(knife)
    starts = {control.path: control.start for control in controls if control.start is not None}
    choice = Dropdown(DRILL, "Recess drilled", (AS_IT_IS, *drills))

    def scene_of(samples):
        return Tuning(samples, (float(low), float(high)), starts)

    return panel_of(scene_of, knife, controls, tries, choice, make=lambda *asked: tuned(*asked, drills), turns=False)


def next_drills(knife: Knife) -> dict[str, float]:
    """{word: diameter [mm]} of the next two stock drills above the recess of the ball that the knife rests on."""
    size = knife.balls[_carrier(knife)].recess.diameter
    larger = [each for each in stock.DRILLS if each.diameter > size + 1e-6]
    return {each.name: each.diameter for each in larger[:2]}


def _carrier(knife):
    return max(feel(knife).rest_carrier, 0)
