"""The boxes of the form: which fields have one, what they are called, and the row of value, ± and message."""

import re
from typing import NamedTuple

import ipywidgets as widgets
from ipywidgets import Layout

from ..parts import spec
from ..plain import in_html
from ..units import quantity


class Box(NamedTuple):
    """One box of the form: the field it fills, its label, how to come by the number, and what an empty box shows."""

    path: str
    label: str
    about: str
    empty: str = ""


def ball_boxes(i):
    """The boxes of one ball and its recess; those of a second ball say so in their labels."""
    return [
        Box(f"balls[{i}].{name}", f"Ball {i + 1}: {label.lower()}" if i else label, *words)
        for name, label, *words in (
            ("diameter", "Ball diameter", "with a micrometer", "needed: 1/16 in"),
            ("protrusion", "Protrusion", "bar face to the top of the ball, depth micrometer", "needed: 0.42"),
            ("track_radius", "Track radius", "middle of the pivot to the ball"),
            ("hinge_distance", "Hinge distance", "middle of the relief to the ball"),
            ("recess.diameter", "Recess diameter", "plug pins, or a microscope with a scale", "needed: 0.052 in"),
            ("recess.rest_offset", "Rest offset", "how far the stop holds the ball short of the recess's middle"),
            ("recess.depth", "Recess depth", "tang face to a flat floor", "through"),
            ("recess.chamfer_width", "Chamfer width", "one side, seen from above", "none"),
            ("recess.edge_radius", "Edge radius", "of a worn or rounded rim", "sharp"),
        )
    ]


BAR = [
    Box("bar.riding_force", "Riding force", "gauge hooked at the ball, while it rides the flat"),
    Box("bar.rate", "Rate, if measured", "how much that force grows with lift"),
    Box("bar.relief_thickness", "Relief thickness", "the thinned part, ball-end micrometer"),
    Box("bar.relief_length", "Relief length", "along the bar"),
    Box("bar.width", "Bar width", "at the relief"),
    Box("bar.thickness", "Bar thickness", "between relief and ball"),
]
MATERIAL = "bar.material"
BLADE = [
    Box("blade.tab_arm", "Tab arm", "middle of the pivot to where the finger pushes"),
    Box("blade.stud_arm", "Stud arm", "middle of the pivot to the thumb stud", "no stud"),
    Box("friction.rim", "Friction at the rim", "friction coefficient, oiled; dry it is far more"),
    Box("friction.pivot_torque", "Pivot drag", "with the bar lifted off the blade"),
]
MORE = [
    Box("balls[0].recess.off_track", "Off-track error", "recess beside the ball's track, + outwards", "0"),
    Box("balls[0].recess.chamfer_deg", "Chamfer angle", "from the tang face", "45"),
    Box("balls[0].run_off_deg", "Run-off angle", "where the ball leaves the tang", "not known"),
    Box("bar.parallel_gap", "Parallel gap", "between the faces, where they are parallel", "riding the flat"),
    Box("bar.yield_stress", "Yield stress", "of the bar", "by material"),
    Box("bar.side_compliance", "Sideways give", "of the bar, at the ball", "0"),
    Box("friction.flat", "Friction on the flat", "friction coefficient on the land", "as at the rim"),
    Box("blade.opening_deg", "Opening angle", "shut to open", "180"),
    Box("blade.mass", "Blade mass", "for what gravity does", "not known"),
    Box("blade.balance_radius", "Balance radius", "middle of the pivot to the balance point", "not known"),
    Box("blade.inertia", "Blade inertia", "about the pivot", "not known"),
]
MORE_SECOND = [
    Box("balls[1].bearing_deg", "Ball 2: bearing from 1", "round the pivot, + in the opening direction", "not known"),
    Box("balls[1].run_off_deg", "Ball 2: run-off angle", "where the second ball leaves the tang", "not known"),
]


class Row(widgets.HBox):
    """One field: a box for the value, one for its ±, and a line for what is the matter."""

    def __init__(self, box, changed):
        """changed: called without arguments when a person changed a box."""
        data = spec(box.path)
        self.path, self.unit, self.label, self._about = box.path, data["unit"], box.label, box.about
        unit = {"deg": "°"}.get(self.unit, self.unit)
        usual = data["typical"]
        hint, doubt = (f"usual: {usual.value:g}", f"{usual.doubt:g}") if usual and not box.empty else (box.empty, "")
        self.value = widgets.Text(
            description=f"{box.label}, {unit}" if unit else box.label,
            placeholder=hint,
            tooltip=data["meaning"],
            continuous_update=False,
            style={"description_width": "190px"},
            layout=Layout(width="340px"),
        )
        self.doubt = widgets.Text(
            description="±",
            placeholder=doubt,
            tooltip=f"± of the {data['meaning']}",
            continuous_update=False,
            style={"description_width": "16px"},
            layout=Layout(width="110px"),
        )
        self.message = widgets.HTML(layout=Layout(flex="1 1 240px", min_width="0", margin="2px 0 0 8px"))
        self.say()
        for each in (self.value, self.doubt):
            each.observe(lambda change: changed(), "value")
        super().__init__([self.value, self.doubt, self.message], layout=Layout(flex_flow="row wrap", overflow="visible"))

    def text(self):
        """What the two boxes say together, as a knife file would write it; "" where both are empty."""
        value, doubt = self.value.value.strip(), self.doubt.value.strip()
        if not doubt:
            return value
        if _has_unit(doubt) and not _has_unit(value):
            value = f"{value} {self.unit}"
        return f"{value} ± {doubt}"

    def put(self, value, doubt):
        """Fill the boxes without units; None empties one."""
        self.value.value = "" if value is None else repr(value)
        self.doubt.value = "" if doubt is None else repr(float(doubt))

    def say(self, problem=None):
        """Show a problem beside the box; without one, how a text with a unit of its own was understood, or how to come by it."""
        if problem:
            self.message.value = alert(f"{problem.value} {problem.wrong}. {problem.why} {problem.cure}".strip())
            return
        said = self._about
        if _has_unit(self.text()):
            value, doubt = quantity(self.text(), self.unit)
            said = f"= {value:.5g}{f' ± {doubt:.2g}' if doubt else ''} {self.unit}"
        self.message.value = f'<div style="color:#5f5f5f;line-height:1.35;padding-top:4px">{in_html(said)}</div>'


def _has_unit(text):
    return bool(re.search(r"[^\d\s.,/+\-−±eE]", text))


def alert(text):
    """HTML for what is wrong, read out by a screen reader."""
    return f'<div role="status" aria-live="polite" style="color:#b3001b;line-height:1.35;padding-top:4px">{in_html(text)}</div>'


def told(text):
    """HTML for what was done, read out by a screen reader; nothing for no text."""
    return f'<div role="status" aria-live="polite">{in_html(text)}</div>' if text else ""
