"""The drawing of notebook 06, drawn from the demo knives; entered in the table of every.py."""

from matplotlib.figure import Figure

from ...draw.drawing import BALLS, GREY, SMALL, TEXT, scale_bar
from ...draw.plan import bare, svg_figure
from ...draw.tang_face import TangFace, draw_balls, recess_middle, tang_radius
from ...files.demo import demo
from ...knife.plain import in_picture
from ...mechanics.swing import swing


def track_map() -> Figure:
    """The tangs of B and C after a day: one track on both, and another rim that works; the recesses larger beside
    them.
    """
    figure = svg_figure(7.6, 4.6)
    for column, (name, verdict) in enumerate(
        (("pellowfen-b", "only rim 1 works"), ("pellowfen-c", "rim 2 works first, then rim 1"))
    ):
        knife = demo(name)
        swung, left = swing(knife), 0.5 * column
        whole = figure.add_axes((left + 0.01, 0.36, 0.48, 0.63))
        _drawn(whole, knife, swung)
        top = tang_radius(knife)
        bare(whole, (-1.36 * top, 1.1 * top), (-0.6 * top, 1.28 * top))
        whole.text(-1.33 * top, 1.24 * top, f"{in_picture(knife.title)}: {verdict}", size=TEXT, weight="bold", va="top")
        for i in range(2):
            ends = knife.balls[i].run_off_deg
            place = (0.78 * top, -0.39 * top - 0.15 * i * top)
            whole.text(*place, f"run-off {i + 1}: {ends:.0f}°", size=SMALL, color=BALLS[i], ha="right", va="center")
        scale_bar(whole, -1.33 * top, -0.52 * top, 5.0, "5 mm", 0.5)
        for i in range(2):
            near = figure.add_axes((left + 0.03 + 0.24 * i, 0.06, 0.2, 0.29))
            _drawn(near, knife, swung)
            x, y = recess_middle(knife, i)
            bare(near, (x - 1.0, x + 1.0), (y - 0.95, y + 0.95))
            figure.text(left + 0.13 + 0.24 * i, 0.03, f"recess {i + 1}", size=SMALL, color=BALLS[i], ha="center")
    figure.text(0.005, 0.2, "larger", size=SMALL, color=GREY, rotation=90, va="center")
    return figure


def _drawn(ax, knife, swung):
    TangFace(ax, len(knife.balls)).draw(knife, swung)
    draw_balls(ax, knife, filled=False)


SWING = {"track-map": track_map}
