"""The picture of the panel of notebook 06: the whole swing, around the tang.

`around_the_tang(knife)` gives a Panel ready to show.
"""

import math
from collections.abc import Sequence

import numpy as np
from matplotlib.axes import Axes
from matplotlib.patches import Rectangle
from matplotlib.ticker import FixedFormatter, FixedLocator, NullLocator
from matplotlib.transforms import Affine2D

from ..knife.parts import Knife
from ..mechanics.lift import CHAMFER, EDGE, FLAT, FLOOR, RIM, ROUND
from ..mechanics.swing import Swing, leavings
from ..say.measure import Measure
from .controls import Control, Setting
from .drawing import BALLS, GREY, INK, PLATE, SMALL, STEEL, STYLES, caption, scale_bar
from .panel import Panel
from .play import Pace
from .scene import BLADE, Line, Plot, Scene, angle_control, both_ways, samples_of
from .section import Section, tang_outline
from .story import SwingStory
from .tang_face import TangFace, draw_balls, tang_radius
from .words import Number, Words

RUN_OFF = "balls[0].run_off_deg"
_FACE, _SECTION, _STRIP = (0.005, 0.555, 0.475, 0.44), (0.005, 0.275, 0.475, 0.26), (0.03, 0.075, 0.94, 0.04)
MOST = 14  # stretches that can be shown
_ENDS = (0.0, 0.34, 0.58, 1.0)  # shares of the width: near end, middle, far end
_FAR_END, _BEFORE = 9.0, 1.0  # deg: the far end where no ball runs off; what is shown before and beyond
_WIDE = 0.2  # share of the strip that holds its words inside
_MIDDLE = 0.3  # share of the strip from which words from the left meet those from the right
_HAIR = 0.05  # °, of a stretch that is over at once and gets no words
_ROWS = 4
_HATCH = {RIM: "//", CHAMFER: "//", ROUND: "//", FLAT: "", FLOOR: "..", EDGE: "xx", None: "--"}
_TOGETHER = "+"


class Ends:
    """The scale of the whole swing with its two ends stretched: the rest, and from where the first ball runs off."""

    def __init__(self, rest_deg: float, off_deg: float, open_deg: float):
        """rest_deg: how far the near end goes; off_deg: where the far one begins; open_deg: the open blade [deg]."""
        self.angles = np.array([0.0, rest_deg, off_deg, open_deg])
        whole = np.diff(_ENDS) / np.diff(self.angles) * open_deg
        near, far = f"rest, stretched ×{whole[0]:.0f}", f"run-off, stretched ×{whole[2]:.0f}"
        self.names = [(0.0, "left", near), (open_deg, "right", far)]
        near, far = np.arange(0.0, rest_deg, 2.0), np.arange(open_deg, off_deg, -4.0)[::-1]
        self._ticks = [*near, *np.arange(50.0, off_deg - 20.0, 50.0), *far]

    def share(self, angle: np.ndarray) -> np.ndarray:
        """Share of the width at an angle [deg]."""
        return np.interp(angle, self.angles, _ENDS)

    def angle(self, share: np.ndarray) -> np.ndarray:
        """Angle [deg] at a share of the width."""
        return np.interp(share, _ENDS, self.angles)

    def lay(self, ax: Axes) -> None:
        """Stretch the axis across, and mark where the stretching ends."""
        ax.set_xscale("function", functions=(self.share, self.angle))
        for angle in self.angles[1:3]:
            ax.axvline(angle, color=GREY, lw=0.9, ls=STYLES[2])
        self.count(ax)

    def count(self, ax: Axes) -> None:
        """Ticks that stand closer at the ends."""
        ax.xaxis.set_major_locator(FixedLocator(self._ticks))
        ax.xaxis.set_major_formatter(FixedFormatter([f"{tick:.6g}" for tick in self._ticks]))
        ax.xaxis.set_minor_locator(NullLocator())


class SwingStrip:
    """One box for each stretch, coloured by the ball and hatched by what it touches; `artists` move, back to front."""

    def __init__(self, ax: Axes, ends: Ends):
        """ends: the scale of the blade angle, from shut to open."""
        self.ax, self._ends = ax, ends
        ax.set(xlim=(0, ends.angles[-1]), ylim=(0, 1))
        ax.set_yticks([])
        ax.tick_params(labelsize=SMALL)
        ax.spines[["top", "right", "left"]].set_visible(False)
        ends.lay(ax)
        self.boxes = [ax.add_patch(Rectangle((0, 0), 0, 1, fc="white", ec=INK, lw=0.9)) for _ in range(MOST)]
        self.names = [caption(ax, 0, 0.5, "", INK, bbox=PLATE, clip_on=False) for _ in range(MOST)]
        self.leads = [ax.plot([], [], color=GREY, lw=0.8, clip_on=False)[0] for _ in range(MOST)]
        (self.upright,) = ax.plot([0, 0], [-0.25, 1.25], color=INK, lw=2.2, clip_on=False)
        self.artists = [*self.boxes, *self.leads, *self.names, self.upright]

    def draw(self, swung: Swing, angle_deg: float) -> None:
        """Show the stretches of a Swing and the angle of now [deg]."""
        shown = swung.stretches[:MOST]
        for artist in (*self.boxes, *self.names, *self.leads):
            artist.set_visible(False)
        rows = self._rows(shown)
        for stretch, row, box, name, lead in zip(shown, rows, self.boxes, self.names, self.leads, strict=False):
            middle = self._middle(stretch)
            colour, ground = (BALLS[stretch.carrier % 3], "white") if stretch.carrier >= 0 else (GREY, STEEL)
            box.set(x=stretch.from_deg, width=stretch.to_deg - stretch.from_deg, ec=colour, fc=ground, visible=True)
            box.set_hatch(_TOGETHER if stretch.shared else _HATCH[stretch.touch])
            if row is None:
                continue
            name.set(text=stretch.touching, color=colour, visible=True)
            if row < 0:
                name.set(position=(middle, 0.5), ha="center", va="center")
                continue
            height, side = 1.45 + 0.75 * row, 1 if self._left(stretch) else -1
            beside = self._ends.angle(self._ends.share(middle) + side * 0.006)
            name.set(position=(beside, height), ha="left" if side > 0 else "right", va="center")
            lead.set_data([middle, middle], [1.0, height])
            lead.set_visible(True)
        self.upright.set_xdata([angle_deg, angle_deg])

    def _left(self, stretch):
        return self._ends.share(self._middle(stretch)) < 0.5

    def _middle(self, stretch):
        """The angle in the middle of a stretch, as it is seen [deg]."""
        return self._ends.angle(self._ends.share([stretch.from_deg, stretch.to_deg]).mean())

    def _wide(self, stretch):
        return float(np.diff(self._ends.share([stretch.from_deg, stretch.to_deg]))[0])

    def _rows(self, stretches):
        """Row of the words of each stretch, −1 inside the strip, None without; so that no lead crosses words."""
        rows = {}
        seen = [i for i, each in enumerate(stretches) if each.to_deg - each.from_deg >= _HAIR]
        narrow = [i for i in seen if self._wide(stretches[i]) <= _WIDE]
        left = [i for i in narrow if self._left(stretches[i])][::-1]
        right = [i for i in narrow if i not in left]
        # words in the middle run towards each other, so that those from the left stand a row higher
        high = bool(left and right and self._ends.share(self._middle(stretches[left[0]])) > _MIDDLE)
        for order, first in ((left, high), (right, 0)):
            rows |= {i: row % _ROWS for row, i in enumerate(order, first)}
        wide = {i: -1 for i in seen if i not in narrow}
        return [(rows | wide).get(i) for i in range(len(stretches))]


class AroundTheTang(Scene):
    """The turning tang on its face, the section of the ball that carries, lift and force over the swing, the strip."""

    title, size = "around the tang", (7.7, 5.0)
    places, height = (0.69, 0.36), 0.27

    def __init__(self, samples: Sequence[SwingStory]):
        """Lay out tang, section, plots and strip."""
        super().__init__(samples)
        self._plots[0].ax.tick_params(labelbottom=False)
        first = samples[0]
        off = [ball.run_off_deg for ball in first.knife.balls if ball.run_off_deg]
        off = min([*off, self.span - _FAR_END]) - _BEFORE
        self._ends = Ends(math.ceil(first.feel.break_out_deg) + _BEFORE, off, self.span)
        self.pace = Pace(self._ends.share, self._ends.angle)
        for plot in self._plots:
            self._ends.lay(plot.ax)
        lift = self._plots[0].ax
        for angle, ha, name in self._ends.names:
            caption(lift, angle, 1.01, name, ha=ha, va="bottom", transform=lift.get_xaxis_transform())
        self._strip = SwingStrip(self.figure.add_axes(_STRIP), self._ends)
        self.moving = [*self._face.artists, *self._balls, *self.moving, *self._strip.artists]

    def plots(self, story: SwingStory) -> tuple[Plot, Plot]:
        """Lift at ball 1, and the force at the tab both ways."""
        bar = Line("", BALLS[0], STYLES[0], True, lambda story: story.run.gap)
        forces = both_ways("force at the tab", back_above=True, back_width=1.6)
        return Plot("lift at ball 1", "mm", bar, from_zero=True), Plot(*forces, legend="lower center")

    def relabel(self, measure: Measure) -> None:
        """As of a Picture; the blade angle keeps its ticks."""
        super().relabel(measure)
        for plot in self._plots:
            self._ends.count(plot.ax)

    def followed(self, knife: Knife, angle: float) -> SwingStory:
        """The knife over its whole swing."""
        return SwingStory(knife, angle, self.story)

    def draw(self, story: SwingStory, way: str, measure: Measure, extras: Setting) -> None:
        """The tang turned to the blade angle, what lies along the track of the ball that carries, plots, strip."""
        (section,) = self._sections
        section.name = f"ball {story.shown(way) + 1}"
        section.draw(story.seat(story.shown(way), way), way, measure)
        recesses, edge = story.tang_at_ball(2 * section.half, way)
        section.tang.set_path(tang_outline(recesses, section.half, section.top, edge))
        for plot in self._plots:
            plot.draw(story, measure)
        self._turn.clear().rotate(math.radians(story.angle_deg))
        self._face.draw(story.knife, story.swing)
        self._strip.draw(story.swing, story.angle_deg)

    def words(self, story: SwingStory, way: str, measure: Measure, extras: Setting) -> Words:
        """What touches now, what the finger has to do, where balls leave the tang, and what the swing costs."""
        angle = measure.short(story.angle_deg, "deg")
        sentence = f"At {angle}: {story.touching(measure, way)}; {story.at_tab(way, measure)}."
        number = Number(f"Force at the tab now, {way}", float(story.turned(way).tab_force[story.at]), "N")
        gone = [_left(each, measure) for each in leavings(story.knife, story.swing)[:1]]
        crossed = story.swing.crossings[:1]
        drops = [f"{each.touching.capitalize()} again at {each.from_deg:.1f}°: a false detent." for each in crossed]
        cost = f"To open: {story.swing.work_opening:.0f} mJ, barrier {story.feel.barrier:.1f} mJ."
        seen = (
            "The tang on its face, to scale, turned to the blade angle, with pivot, recesses, the arcs that the balls"
            " ride and where they run off; under it the section of the ball that carries; beside them lift and force"
            f" at the tab, both ways, from 0° to {self.span:g}°; below a strip of what touches where."
        )
        return Words(number, sentence, " ".join([*gone, *drops, cost]), seen)

    def _place_sections(self, samples):
        """One section, of the ball that carries; above it the face of the tang."""
        knife = samples[0].knife
        ax = self.figure.add_axes(_FACE)
        top = tang_radius(knife)
        box = ax.get_window_extent()
        half = 1.04 * top
        ax.set(ylim=(-half, half), xlim=(-half * box.width / box.height, half * box.width / box.height))
        ax.set_axis_off()
        self._turn = Affine2D()
        self._face = TangFace(ax, len(knife.balls), self._turn + ax.transData)
        self._balls = draw_balls(ax, knife)
        left = ax.get_xlim()[0] + 0.5
        _, said = scale_bar(ax, left, 0.9 * half, 5.0, "5 mm", 0.0)
        said.set(x=left, y=0.83 * half, va="top")
        caption(ax, -left, 0.97 * half, "tang, seen\nfrom the bar", GREY, "right", "top")
        radius = max(ball.radius for ball in knife.balls)
        newton = radius / max(story.run.load.max() for story in samples)
        return [Section(self.figure.add_axes(_SECTION), radius, newton, "ball 1", high=1.05)]


def around_the_tang(knife: Knife) -> Panel:
    """Panel of notebook 06: blade angle over the whole swing, and the run-off of ball 1 where the card has it."""
    first, span = SwingStory(knife), float(knife.blade.opening_deg)
    starts, controls = first.knife.balls[0].run_off_deg, [angle_control(span, 0.1)]
    if starts is not None:
        controls.append(Control(RUN_OFF, "Run-off of ball 1", round(starts - 30.0), span + 2.0, 0.5))
    samples, _ = samples_of(knife, controls[1:], {})
    scene = AroundTheTang([first, *(SwingStory(each.knife) for each in samples[1:])])
    return Panel(knife, controls, scene, _tries(first, controls[0]), BLADE)


def _tries(story, angle):
    places = {"free of the rim": story.feel.break_out_deg, "half way": story.knife.blade.opening_deg / 2}
    for each in leavings(story.knife, story.swing):
        ball = each.ball + 1
        places[f"ball {ball} half over the edge"] = (each.angle_deg + each.until_deg) / 2
        if each.to is not None and each.to >= 0:
            places[f"ball {each.to + 1} has taken over"] = each.until_deg + 0.5
    return {name: {angle.path: round(min(at, angle.hi), 2)} for name, at in places.items()}


def _left(each, measure):
    further, lower = measure.say(each.past, "mm"), measure.say(each.drop, "mm")
    then = f"{each.then} {further} further, {lower} lower, at {each.until_deg:.1f}°"
    return f"Ball {each.ball + 1} runs off at {each.angle_deg:.1f}°; {then}."
