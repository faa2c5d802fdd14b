"""The form of notebook 00: a knife from boxes, without writing a file. Each says its unit, and what is wrong."""

import re
from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

import ipywidgets as widgets
import numpy as np
from ipywidgets import Layout

from ..draw.card import Card, alert, button, picture, spoken
from ..draw.drawing import pixels_of
from ..draw.panel import png, still_of
from ..draw.sizes import NUMBERED, ball_sizes, knife_sizes
from ..files.demo import demo
from ..files.fields import DISTANCES, SIZES, as_of_ball_1, build_knife, counted, data_of, read_number, texts_of
from ..files.instead import FURTHER, LOWER, PLAY, PRESET, RIM_GAP, SMALLER, other_way, read_instead
from ..files.instruments import EXACTLY, GUESS, Said, read_said, words_for
from ..files.knife_file import read_knife, write_knife
from ..knife.materials import MATERIALS
from ..knife.parts import Knife, KnifeError, Problem, spec
from ..knife.paths import field_of, place_of
from ..knife.plain import in_html
from ..knife.units import UnitError, Within, joined, parted, scale_words, sign
from ..say.headline import headline
from .choose import files, remember
from .papers import HandOn
from .saving import SaveBox
from .settling import Settle

_LABELS = {"description_width": "188px"}
_BY_HAND = "± by hand"
_FAR = 2.0  # so many times its ± from what is usual, a number is asked about: judgement
_FROM = {RIM_GAP: "from the rim gap", PRESET: "from the preset"}
_FROM |= dict.fromkeys((LOWER, FURTHER, SMALLER), "from ball 1")
AS_BALL_1, LOWER_THAN, OWN = "as ball 1", "lower than ball 1", "with numbers of its own"
LOWER_BY, _HEIGHT = "balls[1].lower_by", "balls[1].protrusion"
_NEVER_ALIKE = (_HEIGHT, "balls[1].recess.rim_gap", "balls[1].bearing_deg", "balls[1].run_off_deg")
_LEVEL = "0 mm"  # where nobody says how much lower ball 2 stands


class Box(NamedTuple):
    """One box of the form: the field it fills, its label, how to come by the number, and what an empty box shows."""

    path: str
    label: str
    about: str
    empty: str = ""


def ball_boxes(i: int) -> list[Box]:
    """The boxes of one ball and its recess; those of a second ball say so in their labels."""
    return [
        Box(f"balls[{i}].{name}", f"Ball {i + 1}: {label[0].lower()}{label[1:]}" if i else label, *words)
        for name, label, *words in (
            ("diameter", "Ball diameter", "with a micrometer", "needed: 1/16 in"),
            ("protrusion", "Protrusion", "bar face to the top of the ball, depth micrometer", "needed: 0.42"),
            ("track_radius", "Track radius", "middle of the pivot to the ball"),
            (
                "hinge_distance",
                "Hinge distance",
                "middle of the relief to the ball; of a plain liner, two thirds of slot to ball",
            ),
            ("recess.diameter", "Recess diameter", "plug pins, or a microscope with a scale", "needed: 0.052 in"),
            (
                "recess.rest_offset",
                "Rest offset",
                "stripped parts: how far the stop holds the ball short of the recess's middle",
            ),
            (
                "recess.rim_gap",
                "Loaded rim gap",
                "instead: knife shut, bar pressing, ball's middle to rim; microscope or lift trace",
                "or the rest offset",
            ),
            ("recess.depth", "Recess depth", "tang face to a flat floor", "through"),
            ("recess.chamfer_width", "Chamfer width", "one side, seen from above", "none"),
            ("recess.edge_radius", "Edge radius", "of a worn or rounded rim", "sharp"),
        )
    ]


APART = [
    Box(
        LOWER_BY,
        "Ball 2: lower by",
        "how much lower than ball 1 it stands, such as 2 thou; below zero where it stands higher",
        "0: as high",
    ),
    Box("balls[1].further_out", "Ball 2: further out by", "how much further from the pivot than ball 1", "0: as far"),
    Box(
        "balls[1].recess.smaller_by",
        "Ball 2: hole smaller by",
        "how much less its recess measures across than that of ball 1",
        "0: as large",
    ),
]
BAR = [
    Box("bar.riding_force", "Riding force", "gauge hooked at the ball, while it rides the flat"),
    Box(
        "bar.preset",
        "Preset",
        "instead: blade out, how far the bar springs past where the ball rode the flat; calipers",
        "or the force",
    ),
    Box("bar.rate", "Rate, if measured", "how much that force grows with lift"),
    Box(
        "bar.relief_thickness",
        "Relief thickness",
        "the thinned part, ball-end micrometer; of a plain liner, its thickness",
    ),
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
    Box(
        "bar.side_compliance",
        "Sideways give",
        "pull across the bar at the ball, indicator beside it; 0 is a bar that gives none",
    ),
    Box(
        "bar.root_up",
        "Root factor upwards",
        "how many times as much as relief and bar alone the bar gives, root and all",
    ),
    Box("bar.root_side", "Root factor sideways", "the same across the bar; 1 is a root that holds like a vice"),
    Box("friction.flat", "Friction on the flat", "friction coefficient on the land", "as at the rim"),
    Box(
        "blade.pivot_play",
        "Play of the pivot",
        "0, and as its ± half of what an indicator reads when the shut blade is rocked",
    ),
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


class FieldRow(widgets.HBox):
    """One field: a box for the value, one for its ±, a choice of how it was measured, and a line for what is wrong."""

    def __init__(self, box: Box, changed: Callable[[], None], numbered: bool = False):
        """changed: called when a person changed a box. numbered: with the number of the size on the drawing, if any."""
        data = data_of(box.path)
        self.path, self.unit, self.label, self._about, self._data = box.path, data["unit"], box.label, box.about, data
        self._usual, self._empty = None if box.empty else data["typical"], box.empty
        self._changed, self._quiet = changed, False
        unit = "°" if self.unit == "deg" else self.unit
        meaning = data["meaning"]
        limits = f"± of the {meaning}; within 0.1, say, where it cannot lie further off"
        self.value = _text(f"{box.label}, {unit}" if unit else box.label, meaning, "328px", _LABELS)
        self.value.add_class("detent-numbered")
        self.doubt = _text("±", limits, "124px", {"description_width": "1.3em"})
        words = [GUESS, *(word for word in words_for(box.path, data) if word != GUESS), EXACTLY]
        self.word = widgets.Dropdown(
            # what a ± by hand stands for comes last: without one it falls back to the guess, and an arrow key must get
            # past it
            options=[*((word, word) for word in words), (_BY_HAND, "")],
            tooltip=f"{box.label}: how it was measured",  # without a description, a screen reader reads this
            layout=Layout(width="156px"),
        )
        self.message = widgets.HTML(layout=Layout(flex="1 1 300px", min_width="0", margin="0 0 8px 8px"))
        self._settle()
        self.promise()
        self.say()
        boxes = [self.value, self.doubt, self.word]
        for typed in boxes:
            typed.observe(self._typed, "value")
        number = [_number(self.path)] if numbered else []
        look = Layout(flex_flow="row wrap", overflow="visible")
        super().__init__([*number, *boxes, self.message], layout=look)

    def _typed(self, change):
        if self._quiet:
            return
        new_doubt = change["owner"] is self.doubt or parted(self.value.value)[1]
        if new_doubt and self._by_hand and self.word.value == GUESS:
            self.word.value = ""
        self._settle()
        self._changed()

    def _settle(self):
        """A word written behind the value goes into the choice; without a ± by hand there is none."""
        self._quiet = True
        written = read_said(self.value.value)
        if written.word in [word for _, word in self.word.options if word]:
            self.value.value, self.word.value = written
        if self.word.value == "" and not self._by_hand:
            self.word.value = GUESS
        self._quiet = False

    @property
    def _by_hand(self):
        return bool(self.doubt.value.strip() or parted(self.value.value)[1])

    @property
    def filled(self) -> bool:
        """True where somebody wrote something."""
        chosen = self._zero and self.word.value not in (GUESS, "")
        return bool(self.value.value.strip() or self.doubt.value.strip() or chosen)

    @property
    def _zero(self):
        """True where an empty value is a 0, so that its ± alone is enough."""
        return bool(self._usual and self._usual.value == 0)

    def promise(self, other: str = "") -> None:
        """Show in the empty boxes what stands in for them: this, or else what is usual; as ± that of the choice."""
        usual = None if other else self._usual
        self.value.placeholder = f"usual: {usual.value:g}" if usual else other or self._empty
        number = self._read() if self.filled else None
        if number:
            _, doubt, _ = number
            limit = "within " if isinstance(doubt, Within) else ""
            self.doubt.placeholder = "0" if doubt is None else f"{limit}{doubt:.2g}"
        else:
            self.doubt.placeholder = f"{usual.doubt:g}" if usual and not self.filled else ""

    def text(self) -> str:
        """What the boxes say together, as a knife file would write it; "" where they are empty."""
        if not self.filled:
            return ""
        value, doubt = self.value.value.strip(), self.doubt.value.strip()
        if read_said(value).word:
            return value
        if not value and self._zero:
            value = "0"
        if _has_unit(doubt) and not _has_unit(value):
            value = f"{value} {self.unit}"
        guess = self.word.value == GUESS and not self._by_hand  # as it is without a word, which nobody wrote
        return str(Said(joined(value, doubt), "" if guess else self.word.value))

    def _read(self):
        """(value, ±, Said), None where the boxes say no number."""
        try:
            return read_number(self.path, self.text(), self._data)
        except UnitError:
            return None

    def put(self, text: str) -> None:
        """Fill the boxes from what a knife file holds; "" empties them."""
        self._quiet = True
        number, word = read_said(text)
        self.value.value, self.doubt.value = parted(number)
        self.word.value = word
        self._settle()

    def say(self, problem: Problem | None = None, more: str = "") -> None:
        """Show a problem beside the box; without one, how the boxes were understood, or how to come by the number.

        more: what else there is to say.
        """
        if problem:
            self.message.value = alert(f"{problem.value} {problem.wrong}. {problem.why} {problem.cure}".strip())
            return
        about, number, usual = self._about, self._read() if self.filled else None, self._data["typical"]
        if number:
            value, doubt, written = number
            guess = written.word == GUESS
            if _has_unit(written.text):
                taken = scale_words(written.text, self.unit)
                about = f"= {quoted(value, doubt)} {self.unit}{', a guess' if guess else ''}"
                about += f" ({taken})" if taken else ""
            elif guess:
                about += f"; a guess, so ± {doubt:.2g} {self.unit}".rstrip()
        if number and usual and abs(number[0] - usual.value) > _FAR * usual.doubt:
            about += f"; usual is {quoted(usual.value, usual.doubt)} {self.unit}: is it so?"
        about += f"; {more}" if more else ""
        style = "color:var(--jp-ui-font-color1);line-height:1.35;padding-top:4px"  # readable in a dark theme too
        self.message.value = f'<div style="{style}">{in_html(about)}</div>'


def stand_ins(filled: set[str]) -> dict[str, str]:
    """{path: what its empty box stands for}, where that hangs on which other boxes are filled.

    >>> stand_ins({"bar.width"})
    {'bar.rate': 'from the sizes', 'bar.side_compliance': 'from the sizes'}
    """
    if any(f"bar.{name}" in filled for name in SIZES):
        promised = dict.fromkeys(("bar.rate", "bar.side_compliance"), "from the sizes")
    else:
        promised = dict.fromkeys(("bar.root_up", "bar.root_side"), "for drawn sizes only")
    read = {other_way(path): field_of(path) for path in filled if read_instead(path)}
    if RIM_GAP in read.values():
        promised[PLAY] = "in the rim gap"
    return promised | {path: _FROM[field] for path, field in read.items()}


def quoted(value: float, doubt: float | None) -> str:
    """A number with its ±, short."""
    return f"{value:.5g}{f' {sign(doubt)} {doubt:.2g}' if doubt else ''}"


def _has_unit(text):
    return bool(re.search(r"[^\d\s.,/+\-−±eE]", re.sub(r"(?i)\bwithin\b", "", text)))


def _material(name):
    """A material as its drop-down has it: with what else people call it."""
    return ", ".join((name, *MATERIALS[name].called[:1]))


class KnifeForm(Card):
    """Boxes for a knife, its numbers on request, and a file to save it in or load it from.

    `knife` is the Knife that the boxes describe now, None while they describe none.
    """

    def __init__(self):
        """Empty boxes."""
        self._aside, self._asked, self._quiet, self._loaded = {}, False, False, None
        wide = {"style": _LABELS, "layout": Layout(width="436px")}
        self.title = widgets.Text(description="Name of the knife", placeholder="my knife", **wide)
        groups = {"first": ball_boxes(0), "apart": APART, "second": ball_boxes(1), "bar": BAR, "blade": BLADE}
        groups |= {"more": MORE, "more second": MORE_SECOND}
        rows = {name: [FieldRow(box, self._changed, numbered=True) for box in boxes] for name, boxes in groups.items()}
        self.rows = {row.path: row for group in rows.values() for row in group}
        self._of_second, self._apart = [*rows["second"], *rows["more second"]], rows["apart"]
        self.alike = widgets.Dropdown(
            options=[AS_BALL_1, LOWER_THAN, OWN],
            description="Ball 2 is",
            tooltip="What ball 2 is like",
            style=_LABELS,
            layout=Layout(width="436px", margin="2px 2px 2px 28px"),
        )
        self.alike.observe(lambda change: self._second_ball(), "value")
        self.material = widgets.Dropdown(
            options=[("not given", ""), *((_material(name), name) for name in MATERIALS)],
            description="Material of the bar",
            tooltip="Material of the bar, for its stiffness from the drawn sizes",
            style=_LABELS,
            layout=Layout(width="436px", margin="2px 2px 2px 28px"),
        ).add_class("detent-numbered")
        self.material_message = widgets.HTML(layout=Layout(flex="1 1 240px", margin="2px 0 0 8px"))
        self.material.observe(lambda change: self._changed(), "value")
        self.second = _tick("It has a second ball on the same bar", width="400px")
        self.second.observe(lambda change: self._second_ball(), "value")
        self._second_rows = widgets.VBox(self._of_second)
        within = {"layout": Layout(max_width="1000px")}
        self._more = widgets.Accordion([widgets.VBox(rows["more"])], titles=["More, if you know it"], **within)
        self._in_more = {row.path for row in rows["more"]}
        known = {"options": [path.as_posix() for path in files()], "ensure_option": False}
        self.load_name = widgets.Combobox(description="Start from a file", placeholder="empty boxes", **known, **wide)
        self.load_button = button("Load", "Fill the boxes from this file", lambda: self.load(self.load_name.value))
        self.saving = SaveBox("the knife file", "knives/my-knife.toml", self._write, "Save", "Save as", (188, 436))
        look = {"width": "200px", "margin": "8px 0 4px 0"}
        self.show_button = button("Show the numbers", "Work out this knife", self.show_numbers, **look)
        self.show_button.button_style = "primary"
        self.status, self.result = widgets.HTML(), widgets.HTML(layout=Layout(max_width="1000px", overflow="auto"))
        self.settle, self.papers = Settle(self._wanted), HandOn(self._wanted)
        drawn = widgets.HBox([self.material, self.material_message], layout=Layout(flex_flow="row wrap"))
        sizes = [
            _heading("Ball and recess"),
            *rows["first"],
            self.second,
            self.alike,
            *rows["apart"],
            self._second_rows,
            _heading("Lock bar: a measured rate, or the sizes and the material"),
            *rows["bar"],
            drawn,
            _heading("Blade and friction"),
            *rows["blade"],
        ]
        super().__init__(
            [
                widgets.HBox([self.load_name, self.load_button], layout=Layout(flex_flow="row wrap")),
                self.title,
                _beside_drawings(widgets.VBox(sizes, layout=Layout(flex="1000 1 725px", min_width="0"))),
                self._more,
                self.show_button,
                self.status,
                self.result,
                self.saving,
                self.settle,
                _heading("Papers to hand on"),
                self.papers,
            ],
            layout=Layout(max_width="1180px"),
        )
        self._second_ball()

    def __repr__(self):
        return "<The form: run this cell to see it>"

    def _repr_mimebundle_(self, **kwargs):
        """The live form, and beside it its drawings for a viewer without a kernel."""
        figures, words = zip(*_drawings(), strict=True)
        still = still_of(np.vstack([pixels_of(figure) for figure in figures]))
        return {**super()._repr_mimebundle_(**kwargs), **still}, {"image/png": {"alt": ". ".join(words)}}

    @property
    def knife(self) -> Knife | None:
        """The Knife that the boxes describe, None while they describe none that can work."""
        return self._read()[0]

    def load(self, path: str | Path) -> None:
        """Fill the boxes from a knife file; what is wrong with it is said below the boxes."""
        if not str(path).strip():
            self.status.value = alert("Choose a file first, such as knives/pellowfen-a.toml.")
            return
        try:
            knife = read_knife(path)
        except KnifeError as error:
            self.status.value = alert(str(error))
            return
        self._quiet = True
        self._empty()
        self._fill(knife)
        self._quiet = False
        self._changed()
        self.status.value += spoken(f"Filled from {path}. {self._kept_aside()}")

    def take(self, texts: dict[str, str]) -> str:
        """Put texts into their boxes, {path: text}; in words what stood there before, empty for nothing."""
        before = {path: self.rows[path].text() for path in texts}
        self._quiet = True
        for path, text in texts.items():
            self.rows[path].put(text)
        self._quiet = False
        self._changed()
        lost = [(path, text) for path, text in before.items() if text and text != self.rows[path].text()]
        told = ", ".join(f"{self.rows[path].label} ({text})" for path, text in lost)
        return f"These stood there before: {told}." if told else ""

    def save(self, name: str) -> None:
        """Write the knife file of this name; what is there already stays, unless the box to replace it is ticked."""
        self.saving.name.value = name
        self.saving.save()

    def _write(self, path: Path, replace: bool) -> str:
        """Write the file; in words what comes of it. KnifeError where the boxes describe no knife, as `write_knife`."""
        knife = self._wanted()
        if knife is None:
            raise KnifeError(Problem("no knife yet", "", f"look at {self._to_look_at()}", "", ""))
        write_knife(knife, path, replace=replace)
        remember(path.as_posix())
        self.load_name.options = [path.as_posix() for path in files()]
        takes = "Every page takes it when its cells run; on this one: Run, then Run All Cells."
        return f"Saved as {path.as_posix()}. {takes}"

    def show_numbers(self) -> None:
        """Work out the knife of the boxes and show its headline, or say beside the boxes what is missing."""
        knife = self._wanted()
        if knife is None:
            self.result.value = ""
            self.status.value = alert(f"No numbers yet. Look at {self._to_look_at()}.") + self.status.value
            return
        self.status.value = spoken(self._kept_aside())
        told = headline(knife)._repr_html_()
        if self.knife != knife:  # a box that was changed just before the click may come in meanwhile
            self.show_numbers()
            return
        self.result.value = told

    def _wanted(self):
        """The knife of the boxes; what is missing is said beside them."""
        self._asked = True
        return self._shown(self._read())

    def _second_ball(self):
        two, alike = self.second.value, self.alike.value
        shown = (
            (self.alike, two),
            (self.rows[LOWER_BY], two and alike == LOWER_THAN),
            *((row, two and alike != AS_BALL_1) for row in self._apart if row.path != LOWER_BY),
            (self._second_rows, two and alike != AS_BALL_1),
            (self.rows[_HEIGHT], alike == OWN),
        )
        for part, here in shown:
            part.layout.display = "" if here else "none"
        self._changed()

    def _changed(self):
        """A person changed a box: say what is wrong with what is filled in; numbers shown before are out of date."""
        if self._quiet:
            return
        self.result.value = ""
        self.status.value = ""
        self.settle.clear()
        self.papers.clear()
        self._shown(self._read())

    def _given(self):
        """{path: text} of all that is filled in, and of what the loaded file had beyond the boxes."""
        given = dict(self._aside)
        for row in self._rows_in_use():
            given[row.path] = row.text()
        given[MATERIAL] = self.material.value
        if self.alike.value != OWN:  # so that what is left out of ball 2 is as of ball 1
            given[LOWER_BY] = given.get(LOWER_BY) or str(Said(_LEVEL, GUESS))
        if not self.second.value:
            given = {path: text for path, text in given.items() if place_of(path).index == 0}
        return {path: text for path, text in given.items() if text}

    def _rows_in_use(self):
        alike = self.alike.value if self.second.value else AS_BALL_1
        left_out = [*self._of_second, *self._apart] if alike == AS_BALL_1 else []
        left_out += [self.rows[LOWER_BY]] if alike != LOWER_THAN else []
        left_out += [self.rows[_HEIGHT]] if alike != OWN else []
        return [row for row in self.rows.values() if row not in left_out]

    def _as_ball_1(self):
        """{path: words} of the boxes of ball 2 that may stay empty, as it is like ball 1 there."""
        if self.alike.value == OWN:
            return {f"balls[1].{name}": AS_BALL_1 for name in DISTANCES}
        return {row.path: AS_BALL_1 for row in self._of_second if row.path not in _NEVER_ALIKE}

    def _read(self):
        """(knife or None, problems)."""
        given = self._given()
        balls, second_bar = counted(given)
        asked = given, self.title.value.strip() or "my knife", max(balls, 2 if self.second.value else 1), second_bar
        knife, problems = build_knife(*asked)
        together = self._still_together(knife) if knife and self._loaded else {}
        return build_knife(*asked, known_together=together) if together else (knife, problems)

    def _still_together(self, knife):
        """Correlations of the loaded knife between numbers that were not given anew."""
        same = {
            path
            for path in knife.doubts
            if knife.doubts[path] == self._loaded.doubts.get(path) and knife.get(path) == self._loaded.get(path)
        }
        return {pair: r for pair, r in self._loaded.known_together.items() if same.issuperset(pair)}

    def _shown(self, read):
        """Put each problem beside its box, the rest below; nobody is told off for a box not yet filled. The knife."""
        knife, problems = read
        here = {problem.where: problem for problem in reversed(problems)}
        if self._asked and self._in_more & here.keys():
            self._more.selected_index = 0
        promised = self._as_ball_1() | stand_ins({row.path for row in self._rows_in_use() if row.text()})
        for row in self._rows_in_use():
            problem = here.pop(row.path, None)
            row.promise(promised.get(row.path, ""))
            row.say(problem if problem and (self._asked or row.text()) else None, _makes(row, knife))
        material = here.pop(MATERIAL, None)
        wrong = f"The material of the bar {material.wrong}. {material.why} Choose it here." if material else ""
        self.material_message.value = alert(wrong)
        if self._asked or knife:
            self.status.value = "".join(alert(str(problem)) for problem in here.values())
        return knife

    def _to_look_at(self):
        """The boxes that have a problem, by their labels."""
        wrong = {problem.where for problem in self._read()[1]}
        labels = [row.label for row in self._rows_in_use() if row.path in wrong]
        labels += [self.material.description] if MATERIAL in wrong else []
        return f"what is red beside {', '.join(labels)}" if labels else "what is red here"

    def _kept_aside(self):
        if not self._aside:
            return ""
        return f"Kept from the file, without a box here: {', '.join(spec(path)['meaning'] for path in self._aside)}."

    def _empty(self):
        self._aside, self._asked, self._loaded = {}, False, None
        for row in self.rows.values():
            row.put("")
        self.material.value, self.second.value, self.title.value = "", False, ""
        self.alike.value = AS_BALL_1

    def _fill(self, knife):
        """Boxes from a knife; what was assumed stays empty, and so is assumed again."""
        self.title.value, self.material.value = knife.title, knife.bar.material or ""
        self.second.value, self._loaded = len(knife.balls) > 1, knife
        for path, text in texts_of(knife).items():
            if path == MATERIAL or (path not in knife.said and _assumed_again(knife, path)):
                continue
            if path in self.rows:
                self.rows[path].put(text)
            else:
                self._aside[path] = str(text)
        likeness = (AS_BALL_1, LOWER_THAN, OWN) if self.second.value else ()
        for self.alike.value in likeness:  # the shortest way to say the same
            if self._read()[0] == knife:
                break
        for row in self._of_second if self.second.value else ():
            self._leave_out(row, knife)

    def _leave_out(self, row, knife):
        """Empty a box of ball 2 that says what ball 1 says, where the knife stays the same without it."""
        text, first = row.text(), self.rows.get(as_of_ball_1(row.path))
        if text and first and text == first.text():
            row.put("")
            if self._read()[0] != knife:
                row.put(text)


def knife_form(path: str | Path | None = None) -> KnifeForm:
    """The form, empty or filled from a knife file. `form.knife` is the Knife for the next cells, or None."""
    form = KnifeForm()
    if path is not None:
        form.load(path)
    return form


def _makes(row, knife):
    """What a number read another way comes to in the knife, in words; empty for any other box."""
    stands = other_way(row.path)
    if knife is None or not row.text() or stands not in knife.paths() or row.path in knife.paths():
        return ""
    data = spec(stands)
    return f"{data['meaning']} {quoted(knife.get(stands), knife.doubts.get(stands))} {data['unit']}"


def _assumed_again(knife, path):
    """True for an assumed number that an empty box would bring back."""
    if path not in knife.assumed:
        return False
    usual, first = spec(path)["typical"], as_of_ball_1(path)
    if first and place_of(path).name in DISTANCES:
        return knife.get(path) == knife.get(first)
    return knife.get(path) == usual.value if usual else place_of(path).owner == "bar" and knife.bar.material is not None


def _drawings():
    """The two drawings beside the boxes, each with what it shows in words."""
    knife = demo("pellowfen-a")
    section, whole = "Ball 1 in its recess, in section", "The knife from its face and from its edge"
    said = "the sizes carry the numbers of their boxes"
    return [(ball_sizes(knife), f"{section}; {said}"), (knife_sizes(knife), f"{whole}; {said}")]


def _beside_drawings(boxes):
    """The boxes, and to their right, or above them where there is no room, the drawings that number them."""
    images = []
    for figure, words in _drawings():
        pixels = pixels_of(figure)
        images.append(widgets.HTML(picture(png(pixels), words, pixels.shape[1::-1]), layout=Layout(margin="0 0 0 8px")))
    drawings = widgets.HBox(images, layout=Layout(flex="1 1 348px", flex_flow="row wrap", align_content="flex-start"))
    return widgets.HBox([boxes, drawings], layout=Layout(flex_flow="row wrap-reverse"))


def _number(path):
    """The number that a size has on the drawings, in a ring; nothing for one that is not on them."""
    number = NUMBERED.get(as_of_ball_1(path) or path)
    ring = "border:1px solid currentColor;border-radius:50%;width:19px;height:19px;line-height:19px;text-align:center"
    shown = (
        f'<div title="number {number} on the drawing" style="{ring};font-size:11px">{number}</div>' if number else ""
    )
    return widgets.HTML(shown, layout=Layout(flex="0 0 26px", margin="6px 0 0 0"))


def _heading(text):
    return widgets.HTML(f"<b>{in_html(text)}</b>", layout=Layout(margin="8px 0 0 0"))


def _text(label, tip, width, style):
    shown = {"style": style, "layout": Layout(width=width)}
    return widgets.Text(description=label, tooltip=tip, continuous_update=False, **shown)


def _tick(label, **look):
    return widgets.Checkbox(description=label, indent=False, layout=Layout(**look))
