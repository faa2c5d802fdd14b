"""The tang seen on its face, to scale: pivot, recesses, the arc that each ball rides, the rims that work, the edge
where tracks end.

Seen from the lock bar, with the knife shut and its blade to the left, as in figures/signs.svg. The blade opens
anticlockwise, so the balls run over the tang clockwise. Only what the card of the knife holds is true to size; the
rest of the tang's outline is made up.
"""

import math

import numpy as np
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.patches import Circle, Polygon
from matplotlib.transforms import Transform

from ..knife.parts import Knife
from ..knife.values import Values
from ..mechanics.carry import bearing
from ..mechanics.lift import CHAMFER, FLAT, RIM, ROUND
from ..mechanics.swing import Swing
from .drawing import BALLS, GREY, INK, PLATE, STEEL, STYLES, TANG
from .plan import BEARING, around

PIVOT = 2.0  # mm, of the made-up pivot
_APART_DEG = 25.0  # bearing from ball to ball where it is not known
_RIM_AT_LEAST = math.radians(16)  # a rim that touches at one point would not be seen
_STUB = 1.28  # length of the made-up stub of the blade, in tang radii


def bearing_of(knife: Knife, i: int) -> float:
    """Where ball i stands round the pivot [rad], made up where the bearing is not known."""
    known = bearing(knife, i)
    return BEARING + math.radians(-_APART_DEG * i if known is None else known)


def on_tang(knife: Knife, i: int, theta_deg: Values) -> tuple[Values, Values]:
    """Where the axis of ball i stands over the shut tang, the blade opened by theta_deg: (x, y) [mm] or arrays."""
    turn = bearing_of(knife, i) - np.radians(theta_deg)
    radius = knife.balls[i].track_radius
    return radius * np.cos(turn), radius * np.sin(turn)


def recess_middle(knife: Knife, i: int) -> tuple[float, float]:
    """Where the axis of the recess of ball i stands on the shut tang: (x, y) [mm]."""
    ball = knife.balls[i]
    out = ball.track_radius + ball.recess.off_track
    return around(out, bearing_of(knife, i) + math.asin(ball.recess.rest_offset / out))


def tang_radius(knife: Knife) -> float:
    """Radius of the made-up outline [mm]: room for every ball."""
    return 1.02 * max(ball.track_radius + ball.radius for ball in knife.balls)


def edge_line(knife: Knife, i: int) -> np.ndarray:
    """The tang edge where the track of ball i ends, as long as the ball is wide: two (x, y) [mm], outer first."""
    ball = knife.balls[i]
    middle = np.array(on_tang(knife, i, ball.run_off_deg))
    along = bearing_of(knife, i) - math.radians(ball.run_off_deg) - math.pi / 2  # the way the ball runs there
    turn = along + math.radians(ball.edge_deg)
    step = ball.radius * np.array([math.cos(turn), math.sin(turn)])
    return np.array([middle + step, middle - step])


def outline(knife: Knife) -> np.ndarray:
    """Outline of the tang with a stub of the blade [n, 2] mm; it passes the run-off of every ball along its edge."""
    top, hub = tang_radius(knife), 1.6 * PIVOT
    edges = sorted(
        (i for i, ball in enumerate(knife.balls) if ball.run_off_deg is not None),
        key=lambda i: -knife.balls[i].track_radius,
    )
    lines = [edge_line(knife, i) for i in edges]
    start = math.radians(215)  # where the made-up outline leaves the stub of the blade
    if lines:
        first, last = (math.atan2(y, x) for x, y in (lines[0][0], lines[-1][1]))
        end = first + 2 * math.pi * math.ceil((math.radians(-60) - first) / (2 * math.pi))
        inner = last + 2 * math.pi * math.ceil((math.radians(-60) - last) / (2 * math.pi))
    else:
        end = inner = bearing_of(knife, 0) - math.radians(knife.blade.opening_deg) - 0.3
    upper = [around(top, turn) for turn in np.linspace(math.radians(150), end, 40)]
    lower = [around(hub, turn) for turn in np.linspace(inner, start - 2 * math.pi, 20)]
    stub = [
        (-_STUB * top, -0.35 * top),
        (-_STUB * top + 0.8, -0.05 * top),
        (-_STUB * top - 0.3, 0.2 * top),
        (-_STUB * top, 0.5 * top),
    ]
    return np.array([*upper, *(point for line in lines for point in line), *lower, *stub])


def worked_rims(knife: Knife, swung: Swing) -> dict[int, list[np.ndarray]]:
    """{index of a recess: [arc of its rim that a ball touched, (n, 2) mm]} over the Swing."""
    found = {}
    for stretch in swung.stretches:
        if stretch.touch not in (RIM, CHAMFER, ROUND):
            continue
        shares = 0.001, 0.25, 0.5, 0.75, 0.999
        inside = [stretch.from_deg * (1 - share) + stretch.to_deg * share for share in shares]
        middle = on_tang(knife, stretch.carrier, inside[2])
        which = min(range(len(knife.balls)), key=lambda j: math.dist(recess_middle(knife, j), middle))
        x0, y0 = recess_middle(knife, which)
        places = [on_tang(knife, stretch.carrier, angle) for angle in inside]
        turns = np.unwrap([math.atan2(y - y0, x - x0) for x, y in places])
        middle, half = (turns.max() + turns.min()) / 2, max(np.ptp(turns) / 2, _RIM_AT_LEAST)
        arc, radius = np.linspace(middle - half, middle + half, 13), knife.balls[which].recess.rim_radius
        found.setdefault(which, []).append(np.array([x0 + radius * np.cos(arc), y0 + radius * np.sin(arc)]).T)
    return found


def ridden(knife: Knife, swung: Swing, i: int) -> np.ndarray:
    """The arc of the flat that ball i rides with load, [n, 2] mm, with a row of nan between pieces."""
    on_flat = (each for each in swung.stretches if each.carrier == i and each.touch == FLAT)
    return _joined([_arc(knife, i, each.from_deg, each.to_deg) for each in on_flat])


def passed(knife: Knife, i: int) -> np.ndarray:
    """The arc that ball i passes over from the stop to its run-off or the open blade, loaded or not, [n, 2] mm."""
    ends = knife.blade.opening_deg
    return _arc(knife, i, 0.0, min(knife.balls[i].run_off_deg or ends, ends))


def _arc(knife, i, low, high):
    angles = np.linspace(low, high, max(2, math.ceil((high - low) / 3) + 1))
    return np.column_stack(on_tang(knife, i, angles))


def _joined(arcs):
    pieces = [piece for arc in arcs for piece in (arc, [[np.nan, np.nan]])]
    return np.vstack(pieces[:-1]) if pieces else np.empty((0, 2))


class TangFace:
    """The tang in axes of equal scale, for knives with so many balls; `artists` move, back to front, and turn with
    `transform`.

    Every artist carries a gid, so that it is named in an SVG: tang, recess-1, passed-1, ridden-1, rim-1, edge-1,
    run-off-1, …
    """

    def __init__(self, ax: Axes, count: int, transform: Transform | None = None):
        """transform: from the shut tang to the screen, that of the data by default."""
        place = {"transform": transform or ax.transData}
        self.tang = ax.add_patch(Polygon([(0, 0)], closed=True, fc=TANG, ec=GREY, lw=0.8, gid="tang", **place))
        look = {"fc": "white", "ec": INK, "lw": 1} | place
        self.recesses = [ax.add_patch(Circle((0, 0), 1, gid=f"recess-{i + 1}", **look)) for i in range(count)]
        self.passed = [self._line(ax, f"passed-{i + 1}", BALLS[i % 3], STYLES[2], 1.1, place) for i in range(count)]
        self.ridden = [self._line(ax, f"ridden-{i + 1}", BALLS[i % 3], STYLES[0], 4.0, place) for i in range(count)]
        self.rims = [self._line(ax, f"rim-{i + 1}", INK, STYLES[0], 4.0, place) for i in range(count)]
        self.edges = [self._line(ax, f"edge-{i + 1}", INK, STYLES[0], 2.0, place) for i in range(count)]
        cross = {"color": INK, "ms": 7, "mew": 1.8} | place
        self.marks = [ax.plot([], [], "x", gid=f"run-off-{i + 1}", **cross)[0] for i in range(count)]
        self.artists = [self.tang, *self.recesses, *self.passed, *self.ridden, *self.rims, *self.edges, *self.marks]

    @staticmethod
    def _line(ax, name, colour, style, width, place):
        return ax.plot([], [], color=colour, ls=style, lw=width, solid_capstyle="butt", gid=name, **place)[0]

    def draw(self, knife: Knife, swung: Swing) -> None:
        """Show a Knife with its Swing."""
        self.tang.set_xy(outline(knife))
        rims = worked_rims(knife, swung)
        for i, ball in enumerate(knife.balls):
            self.recesses[i].set_center(recess_middle(knife, i))
            self.recesses[i].set_radius(ball.recess.rim_radius)
            self.passed[i].set_data(*passed(knife, i).T)
            self.ridden[i].set_data(*ridden(knife, swung, i).T)
            self.rims[i].set_data(*_joined(rims.get(i, [])).T)
            ends = ball.run_off_deg is not None
            self.edges[i].set_data(*(edge_line(knife, i).T if ends else ([], [])))
            self.marks[i].set_data(*([[each] for each in on_tang(knife, i, ball.run_off_deg)] if ends else ([], [])))


def draw_balls(ax: Axes, knife: Knife, filled: bool = True) -> list[Artist]:
    """The balls where they stand at the stop, and the pivot; filled with their numbers, or as outlines only."""
    made = [ax.add_patch(Circle((0, 0), PIVOT, fc="white", ec=INK, lw=1, gid="pivot"))]
    made += ax.plot([-2.8, 2.8, np.nan, 0, 0], [0, 0, np.nan, -2.8, 2.8], color=INK, lw=0.6)
    for i, ball in enumerate(knife.balls):
        x, y = on_tang(knife, i, 0.0)
        look = {"fc": STEEL, "alpha": 0.75} if filled else {"fc": "none", "ls": STYLES[2]}
        made.append(ax.add_patch(Circle((x, y), ball.radius, ec=BALLS[i % 3], lw=1.4, gid=f"ball-{i + 1}", **look)))
        if filled:
            made.append(ax.text(x, y, str(i + 1), size=8.5, weight="bold", ha="center", va="center", bbox=PLATE))
    return made
