"""The picture of the panel of notebook 06: the whole swing, around the tang.

`around_the_tang(knife)` gives a Panel ready to show.
"""

import math
from collections.abc import Sequence

from matplotlib.axes import Axes
from matplotlib.patches import Rectangle
from matplotlib.transforms import Affine2D

from ..knife.parts import Knife
from ..mechanics.lift import CHAMFER, EDGE, FLAT, FLOOR, RIM, ROUND
from ..mechanics.swing import Swing, leavings
from ..say.measure import MM, Measure
from .controls import Control, Dropdown, Setting
from .drawing import BALLS, GREY, INK, SMALL, STEEL, STYLES, scale_bar, unit_axis
from .panel import Panel, Words
from .scene import DIRECTION, Line, Plot, Scene, angle_control, both_ways, samples_of
from .section import Section, tang_outline
from .story import WAYS, SwingStory
from .tang_face import TangFace, draw_balls, tang_radius

RUN_OFF = "balls[0].run_off_deg"
_FACE, _SECTION, _STRIP = (0.005, 0.555, 0.475, 0.44), (0.005, 0.275, 0.475, 0.26), (0.03, 0.075, 0.94, 0.04)
MOST = 14  # stretches that can be shown
_WIDE = 0.3  # share of the strip that holds its words inside
_HAIR = 0.05  # °, of a stretch that is over at once and gets no words
_ROWS = 4
_HATCH = {RIM: "////", CHAMFER: "////", ROUND: "////", FLAT: "", FLOOR: "..", EDGE: "xxx", None: "---"}
_TOGETHER = "++"


class SwingStrip:
    """One box for each stretch, coloured by the ball and hatched by what it touches; `artists` move, back to front."""

    def __init__(self, ax: Axes, open_deg: float):
        """open_deg: opening angle of the blade [deg]."""
        self.ax, self._open = ax, open_deg
        ax.set(xlim=(0, open_deg), ylim=(0, 1))
        ax.set_yticks([])
        ax.tick_params(labelsize=SMALL)
        ax.spines[["top", "right", "left"]].set_visible(False)
        unit_axis(ax.xaxis, (0, open_deg), "", "deg", MM, 4)
        ax.xaxis.label.set_visible(False)
        self.boxes = [ax.add_patch(Rectangle((0, 0), 0, 1, fc="white", ec=INK, lw=0.9)) for _ in range(MOST)]
        self.names = [ax.text(0, 0.5, "", size=SMALL, color=INK, clip_on=False) for _ in range(MOST)]
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
            middle = (stretch.to_deg + stretch.from_deg) / 2
            colour = BALLS[stretch.carrier % 3] if stretch.carrier >= 0 else GREY
            box.set(
                x=stretch.from_deg,
                width=stretch.to_deg - stretch.from_deg,
                ec=colour,
                fc=STEEL if stretch.carrier < 0 else "white",
                visible=True,
            )
            box.set_hatch(_TOGETHER if stretch.shared else _HATCH[stretch.touch])
            if row is None:
                continue
            name.set(text=stretch.touching, color=colour, visible=True)
            if row < 0:
                name.set(position=(middle, 0.5), ha="center", va="center")
                continue
            height, side = 1.45 + 0.75 * row, 1 if self._left(stretch) else -1
            name.set(
                position=(middle + side * 0.006 * self._open, height), ha="left" if side > 0 else "right", va="center"
            )
            lead.set_data([middle, middle], [1.0, height])
            lead.set_visible(True)
        self.upright.set_xdata([angle_deg, angle_deg])

    def _left(self, stretch):
        return stretch.from_deg + stretch.to_deg < self._open

    def _rows(self, stretches):
        """Row of the words of each stretch above the strip, −1 inside it, None without words; so that no lead
        crosses words.
        """
        rows = {}
        narrow = [i for i, each in enumerate(stretches) if _HAIR <= each.to_deg - each.from_deg <= _WIDE * self._open]
        for order in (
            [i for i in narrow if self._left(stretches[i])][::-1],
            [i for i in narrow if not self._left(stretches[i])],
        ):
            rows |= {i: row % _ROWS for row, i in enumerate(order)}
        wide = {i: -1 for i, each in enumerate(stretches) if each.to_deg - each.from_deg > _WIDE * self._open}
        return [(rows | wide).get(i) for i in range(len(stretches))]


class AroundTheTang(Scene):
    """The turning tang on its face, the section of the ball that carries, lift and force over the swing, and the
    strip in words.
    """

    size = (7.7, 5.4)
    places, height = (0.69, 0.36), 0.27

    def __init__(self, samples: Sequence[SwingStory]):
        """Lay out tang, section, plots and strip."""
        super().__init__("around the tang", samples)
        self._plots[0].ax.tick_params(labelbottom=False)
        self._strip = SwingStrip(self.figure.add_axes(_STRIP), self.span)
        self.moving = [*self._face.artists, *self._balls, *self.moving, *self._strip.artists]

    def plots(self, story: SwingStory) -> tuple[Plot, Plot]:
        """Lift at ball 1, and the force at the tab both ways."""
        bar = Line("", BALLS[0], STYLES[0], True, lambda story: story.run.gap)
        forces = both_ways("force at the tab", back_above=True, back_width=1.6)
        return Plot("lift at ball 1", "mm", bar, from_zero=True), Plot(*forces, legend="lower center")

    def followed(self, knife: Knife, angle: float) -> SwingStory:
        """The knife over its whole swing."""
        return SwingStory(knife, angle, self.story)

    def draw(self, story: SwingStory, way: str, measure: Measure, extras: Setting) -> None:
        """The tang turned to the blade angle, the ball that carries on what of the tang lies along its track, plots
        and strip.
        """
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
        now = (
            f"At {measure.short(story.angle_deg, 'deg')}: {story.touching(measure, way)}; {story.at_tab(way, measure)}."
        )
        gone = [_left(each, measure) for each in leavings(story.knife, story.swing)[:1]]
        drops = [
            f"{each.touching.capitalize()} again at {each.from_deg:.1f}°: a false detent."
            for each in story.swing.crossings[:1]
        ]
        cost = f"To open: {story.swing.work_opening:.0f} mJ, barrier {story.feel.barrier:.1f} mJ."
        seen = (
            "The tang on its face, to scale, turned to the blade angle, with pivot, recesses, the arcs that the balls"
            " ride and where they run off; under it the section of the ball that carries; beside them lift and force"
            f" at the tab, both ways, from 0° to {self.span:g}°; below a strip of what touches where."
        )
        return Words(" ".join([now, *gone, *drops, cost]), seen)

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
        ax.text(-left, 0.97 * half, "tang, seen\nfrom the bar", size=SMALL, color=GREY, ha="right", va="top")
        radius = max(ball.radius for ball in knife.balls)
        newton = radius / max(story.run.load.max() for story in samples)
        return [Section(self.figure.add_axes(_SECTION), radius, newton, "ball 1", high=1.05)]


def around_the_tang(knife: Knife) -> Panel:
    """Panel of notebook 06: blade angle over the whole swing, and where ball 1 runs off the tang, if the card says
    so.
    """
    first, span = SwingStory(knife), float(knife.blade.opening_deg)
    starts, controls = first.knife.balls[0].run_off_deg, [angle_control(span, 0.1)]
    if starts is not None:
        controls.append(Control(RUN_OFF, "Run-off of ball 1", round(starts - 30.0), span + 2.0, 0.5))
    knives, _ = samples_of(knife, controls[1:], {})
    scene = AroundTheTang([SwingStory(each) for each in knives])
    return Panel(knife, controls, scene, _tries(first, controls[0]), Dropdown(DIRECTION, "Blade", tuple(WAYS)))


def _tries(story, angle):
    """Places on the way that are worth a look."""
    places = {"free of the rim": story.feel.break_out_deg, "half way": story.knife.blade.opening_deg / 2}
    for each in leavings(story.knife, story.swing):
        ball = each.ball + 1
        places[f"ball {ball} half over the edge"] = (each.angle_deg + each.until_deg) / 2
        if each.to is not None and each.to >= 0:
            places[f"ball {each.to + 1} has taken over"] = each.until_deg + 0.5
    return {name: {angle.path: round(min(at, angle.hi), 2)} for name, at in places.items()}


def _left(each, measure):
    """Where a ball leaves the tang, in words."""
    to = (
        "the bar face lands"
        if each.to == -1
        else "the blade is open"
        if each.to is None
        else f"ball {each.to + 1} takes over"
    )
    return (
        f"Ball {each.ball + 1} runs off at {each.angle_deg:.1f}°; {to} {measure.say(each.past, 'mm')} further, "
        f"{measure.say(each.drop, 'mm')} lower, at {each.until_deg:.1f}°."
    )
