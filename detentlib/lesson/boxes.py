"""The boxes of the form: which fields have one, what they are called, and the row of value, ±, how it was measured, and message."""

import re
from typing import NamedTuple

import ipywidgets as widgets
from ipywidgets import Layout

from ..draw.card import alert
from ..draw.card import spoken as told  # noqa: F401 (the form asks for it here)
from ..files.fields import SIZES, data_of, read_number
from ..files.instead import PLAY, STANDS_FOR, other_way
from ..files.instruments import EXACTLY, GUESS, Said, said, words_for
from ..knife.plain import in_html
from ..knife.units import UnitError, joined, parted, sign

_BY_HAND = "± by hand"


class Box(NamedTuple):
    """One box of the form: the field it fills, its label, how to come by the number, and what an empty box shows."""

    path: str
    label: str
    about: str
    empty: str = ""


def ball_boxes(i):
    """The boxes of one ball and its recess; those of a second ball say so in their labels."""
    return [
        Box(f"balls[{i}].{name}", f"Ball {i + 1}: {label[0].lower()}{label[1:]}" if i else label, *words)
        for name, label, *words in (
            ("diameter", "Ball diameter", "with a micrometer", "needed: 1/16 in"),
            ("protrusion", "Protrusion", "bar face to the top of the ball, depth micrometer", "needed: 0.42"),
            ("track_radius", "Track radius", "middle of the pivot to the ball"),
            ("hinge_distance", "Hinge distance", "middle of the relief to the ball; of a plain liner, two thirds of slot to ball"),
            ("recess.diameter", "Recess diameter", "plug pins, or a microscope with a scale", "needed: 0.052 in"),
            ("recess.rest_offset", "Rest offset", "stripped parts: how far the stop holds the ball short of the recess's middle"),
            ("recess.rim_gap", "Loaded rim gap", "instead: knife shut, bar pressing, ball's middle to rim; microscope or lift trace", "or the rest offset"),
            ("recess.depth", "Recess depth", "tang face to a flat floor", "through"),
            ("recess.chamfer_width", "Chamfer width", "one side, seen from above", "none"),
            ("recess.edge_radius", "Edge radius", "of a worn or rounded rim", "sharp"),
        )
    ]


BAR = [
    Box("bar.riding_force", "Riding force", "gauge hooked at the ball, while it rides the flat"),
    Box("bar.preset", "Preset", "instead: blade out, how far the bar springs past where the ball rode the flat; calipers", "or the riding force"),
    Box("bar.rate", "Rate, if measured", "how much that force grows with lift"),
    Box("bar.relief_thickness", "Relief thickness", "the thinned part, ball-end micrometer; of a plain liner, its thickness"),
    Box("bar.relief_length", "Relief length", "along the bar; of a plain liner, two thirds of slot to ball"),
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
    Box("balls[0].recess.off_track", "Off-track error", "recess beside the ball's track, + outwards; by microscope"),
    Box("balls[0].recess.chamfer_deg", "Chamfer angle", "from the tang face", "45"),
    Box("balls[0].run_off_deg", "Run-off angle", "where the ball leaves the tang", "not known"),
    Box("bar.parallel_gap", "Parallel gap", "between the faces, where they are parallel", "riding the flat"),
    Box("bar.yield_stress", "Yield stress", "of the bar", "by material"),
    Box("bar.side_compliance", "Sideways give", "pull across the bar at the ball, indicator beside it; 0 is a bar that gives none"),
    Box("bar.root_up", "Root factor upwards", "how many times as much as relief and bar alone the bar gives, root and all"),
    Box("bar.root_side", "Root factor sideways", "the same across the bar; 1 is a root that holds like a vice"),
    Box("friction.flat", "Friction on the flat", "friction coefficient on the land", "as at the rim"),
    Box("blade.pivot_play", "Play of the pivot", "0, and as its ± half of what an indicator reads when the shut blade is rocked"),
    Box("blade.stop_radius", "Stop radius", "middle of the pivot to where the tang meets its stop pin", "not known"),
    Box("blade.pin_diameter", "Stop pin diameter", "with a micrometer", "not known"),
    Box("blade.opening_deg", "Opening angle", "shut to open", "180"),
    Box("blade.mass", "Blade mass", "for what gravity does", "not known"),
    Box("blade.balance_radius", "Balance radius", "middle of the pivot to the balance point", "not known"),
    Box("blade.inertia", "Blade inertia", "about the pivot", "not known"),
]
MORE_SECOND = [
    Box("balls[1].recess.off_track", "Ball 2: off-track error", "recess beside the ball's track, + outwards"),
    Box("balls[1].bearing_deg", "Ball 2: bearing from 1", "round the pivot, + in the opening direction", "not known"),
    Box("balls[1].run_off_deg", "Ball 2: run-off angle", "where the second ball leaves the tang", "not known"),
]


class Row(widgets.HBox):
    """One field: a box for the value, one for its ±, a choice of how it was measured, and a line for what is the matter."""

    def __init__(self, box, changed):
        """changed: called without arguments when a person changed a box."""
        data = data_of(box.path)
        self.path, self.unit, self.label, self._about, self._data = box.path, data["unit"], box.label, box.about, data
        unit = {"deg": "°"}.get(self.unit, self.unit)
        usual = None if box.empty else data["typical"]
        self._usual, self._empty, self._changed, self._quiet = usual, box.empty, changed, False
        self.value = widgets.Text(
            description=f"{box.label}, {unit}" if unit else box.label,
            tooltip=data["meaning"],
            continuous_update=False,
            style={"description_width": "190px"},
            layout=Layout(width="340px"),
        )
        self.doubt = widgets.Text(
            description="±",
            tooltip=f"± of the {data['meaning']}; within 0.1, say, where it cannot lie further off",
            continuous_update=False,
            style={"description_width": "16px"},
            layout=Layout(width="110px"),
        )
        self.word = widgets.Dropdown(
            # what a ± by hand stands for comes last: without one it falls back to the guess, and an arrow key must get past it
            options=[(GUESS, GUESS), *((word, word) for word in words_for(box.path, data) if word != GUESS), (EXACTLY, EXACTLY), (_BY_HAND, "")],
            tooltip=f"{box.label}: how it was measured",  # without a description, a screen reader reads this
            layout=Layout(width="150px"),
        )
        self.message = widgets.HTML(layout=Layout(flex="1 1 200px", min_width="0", margin="2px 0 0 8px"))
        self._settle()
        self.promise()
        self.say()
        for each in (self.value, self.doubt, self.word):
            each.observe(self._typed, "value")
        super().__init__([self.value, self.doubt, self.word, self.message], layout=Layout(flex_flow="row wrap", overflow="visible"))

    def _typed(self, change):
        if self._quiet:
            return
        new_doubt = change["owner"] is self.doubt or parted(self.value.value)[1]
        if new_doubt and self._by_hand and self.word.value == GUESS:
            self.word.value = ""
        self._settle()
        self._changed()

    def _settle(self):
        """A word written behind the value goes into the choice; where there is no ± by hand it says so, and where nothing is filled in there is no choice."""
        self._quiet = True
        written = said(self.value.value)
        if written.word in [word for _, word in self.word.options if word]:
            self.value.value, self.word.value = written
        if not self.filled or (self.word.value == "" and not self._by_hand):
            self.word.value = GUESS
        self.word.disabled = not (self.filled or self._zero)
        self._quiet = False

    @property
    def _by_hand(self):
        return bool(self.doubt.value.strip() or parted(self.value.value)[1])

    @property
    def filled(self):
        """True where somebody wrote something."""
        return bool(self.value.value.strip() or self.doubt.value.strip() or (self._zero and self.word.value not in (GUESS, "")))

    @property
    def _zero(self):
        """True where an empty value is a 0, so that its ± alone is enough."""
        return bool(self._usual and self._usual.value == 0)

    def promise(self, other=""):
        """Show in the empty boxes what stands in for them: this, or else what is usual; in that of the ±, what the choice makes it."""
        usual = None if other else self._usual
        self.value.placeholder = f"usual: {usual.value:g}" if usual else other or self._empty
        if self.filled:
            found = self._read()
            self.doubt.placeholder = "" if found is None else "0" if found[1] is None else f"{sign(found[1])} {found[1]:.2g}".removeprefix("± ")
        else:
            self.doubt.placeholder = f"{usual.doubt:g}" if usual else ""

    def text(self):
        """What the boxes say together, as a knife file would write it; "" where they are empty."""
        if not self.filled:
            return ""
        value, doubt = self.value.value.strip(), self.doubt.value.strip()
        if said(value).word:
            return value
        if not value and self._zero:
            value = "0"
        if _has_unit(doubt) and not _has_unit(value):
            value = f"{value} {self.unit}"
        return str(Said(joined(value, doubt), self.word.value))

    def _read(self):
        """(value, ±, Said), None where the boxes say no number."""
        try:
            return read_number(self.path, self.text(), self._data)
        except UnitError:
            return None

    def put(self, text):
        """Fill the boxes from what a knife file holds; "" empties them."""
        self._quiet = True
        number, word = said(text)
        self.value.value, self.doubt.value = parted(number)
        self.word.value = word
        self._settle()

    def say(self, problem=None, more=""):
        """Show a problem beside the box; without one, how the boxes were understood, or how to come by the number; and what more there is."""
        if problem:
            self.message.value = alert(f"{problem.value} {problem.wrong}. {problem.why} {problem.cure}".strip())
            return
        about, found = self._about, self._read() if self.filled else None
        if found:
            value, doubt, written = found
            has_unit, guess = _has_unit(written.text), written.word == GUESS
            about = f"= {quoted(value, doubt)} {self.unit}{', a guess' if guess else ''}" if has_unit else about
            about += f"; a guess, so ± {doubt:.2g} {self.unit}".rstrip() if guess and not has_unit else ""
        about += f"; {more}" if more else ""
        self.message.value = f'<div style="color:#5f5f5f;line-height:1.35;padding-top:4px">{in_html(about)}</div>'


def stand_ins(filled):
    """{path: what its empty box stands for}, where that hangs on which other boxes are filled.

    >>> stand_ins({"bar.width"})
    {'bar.rate': 'from the sizes', 'bar.side_compliance': 'from the sizes'}
    """
    if any(f"bar.{name}" in filled for name in SIZES):
        found = dict.fromkeys(("bar.rate", "bar.side_compliance"), "from the sizes")
    else:
        found = dict.fromkeys(("bar.root_up", "bar.root_side"), "for drawn sizes only")
    read = {path: other_way(path) for path in filled if path.rpartition(".")[2] in STANDS_FOR}
    if any(path.endswith("rim_gap") for path in read):
        found[PLAY] = "in the rim gap"
    return found | {stands: f"from the {path.rpartition('.')[2].replace('_', ' ')}" for path, stands in read.items()}


def quoted(value, doubt):
    """A number with its ±, short."""
    return f"{value:.5g}{f' {sign(doubt)} {doubt:.2g}' if doubt else ''}"


def _has_unit(text):
    return bool(re.search(r"[^\d\s.,/+\-−±eE]", re.sub(r"(?i)\bwithin\b", "", text)))
