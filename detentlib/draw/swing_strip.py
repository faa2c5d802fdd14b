"""The strip of notebook 06: the whole swing as a band, with what touches where in words."""

from matplotlib.patches import Rectangle

from ..mechanics.lift import CHAMFER, EDGE, FLAT, FLOOR, RIM, ROUND
from ..say.measure import MM
from .drawing import BALLS, GREY, INK, SMALL, STEEL, unit_axis

MOST = 14  # stretches that can be shown
_WIDE = 0.3  # share of the strip that holds its words inside
_HAIR = 0.05  # °, of a stretch that is over at once and gets no words
_ROWS = 4
_HATCH = {RIM: "////", CHAMFER: "////", ROUND: "////", FLAT: "", FLOOR: "..", EDGE: "xxx", None: "---"}
_TOGETHER = "++"


class SwingStrip:
    """One box for each stretch, coloured by the ball and hatched by what it touches; `artists` move, back to front."""

    def __init__(self, ax, open_deg):
        """open_deg: opening angle of the blade [deg]."""
        self.ax, self._open = ax, open_deg
        ax.set(xlim=(0, open_deg), ylim=(0, 1))
        ax.set_yticks([])
        ax.tick_params(labelsize=SMALL)
        ax.spines[["top", "right", "left"]].set_visible(False)
        self.boxes = [ax.add_patch(Rectangle((0, 0), 0, 1, fc="white", ec=INK, lw=0.9)) for _ in range(MOST)]
        self.names = [ax.text(0, 0.5, "", size=SMALL, color=INK, clip_on=False) for _ in range(MOST)]
        self.leads = [ax.plot([], [], color=GREY, lw=0.8, clip_on=False)[0] for _ in range(MOST)]
        (self.upright,) = ax.plot([0, 0], [-0.25, 1.25], color=INK, lw=2.2, clip_on=False)
        self.artists = [*self.boxes, *self.leads, *self.names, self.upright]

    def relabel(self, measure=MM):
        """Angles are the same in every measure; the axis is set once and for all."""
        unit_axis(self.ax.xaxis, (0, self._open), "", "deg", measure, 4)
        self.ax.xaxis.label.set_visible(False)

    def draw(self, swung, angle_deg):
        """Show the stretches of a Swing and the angle of now [deg]."""
        shown = swung.stretches[:MOST]
        for artist in (*self.boxes, *self.names, *self.leads):
            artist.set_visible(False)
        rows = self._rows(shown)
        for stretch, row, box, name, lead in zip(shown, rows, self.boxes, self.names, self.leads, strict=False):
            middle = (stretch.to_deg + stretch.from_deg) / 2
            colour = BALLS[stretch.carrier % 3] if stretch.carrier >= 0 else GREY
            box.set(x=stretch.from_deg, width=stretch.to_deg - stretch.from_deg, ec=colour, fc=STEEL if stretch.carrier < 0 else "white", visible=True)
            box.set_hatch(_TOGETHER if stretch.shared else _HATCH[stretch.touch])
            if row is None:
                continue
            name.set(text=stretch.touching, color=colour, visible=True)
            if row < 0:
                name.set(position=(middle, 0.5), ha="center", va="center")
                continue
            height, side = 1.45 + 0.75 * row, 1 if self._left(stretch) else -1
            name.set(position=(middle + side * 0.006 * self._open, height), ha="left" if side > 0 else "right", va="center")
            lead.set_data([middle, middle], [1.0, height])
            lead.set_visible(True)
        self.upright.set_xdata([angle_deg, angle_deg])

    def _left(self, stretch):
        return stretch.from_deg + stretch.to_deg < self._open

    def _rows(self, stretches):
        """Row of the words of each stretch above the strip, −1 inside it, None without words; so that no lead crosses words."""
        rows = {}
        narrow = [i for i, each in enumerate(stretches) if _HAIR <= each.to_deg - each.from_deg <= _WIDE * self._open]
        for order in ([i for i in narrow if self._left(stretches[i])][::-1], [i for i in narrow if not self._left(stretches[i])]):
            rows |= {i: row % _ROWS for row, i in enumerate(order)}
        wide = {i: -1 for i, each in enumerate(stretches) if each.to_deg - each.from_deg > _WIDE * self._open}
        return [(rows | wide).get(i) for i in range(len(stretches))]
