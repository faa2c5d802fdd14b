"""The form of notebook 00: a knife from boxes, without writing a file. Every box says its unit, and beside it what is wrong."""

import re
from pathlib import Path

import ipywidgets as widgets
from ipywidgets import Layout

from ..draw.card import Card
from ..files.fields import build_knife, texts_of
from ..files.instead import other_way
from ..files.knife_file import read_knife, write_knife
from ..files.writing import ThereAlready
from ..knife.materials import MATERIALS
from ..knife.parts import KnifeError, spec
from ..knife.plain import in_html
from ..say.working import headline
from .boxes import BAR, BLADE, MATERIAL, MORE, MORE_SECOND, Row, alert, ball_boxes, quoted, stand_ins, told


class KnifeForm(Card):
    """Boxes for a knife, its numbers on request, and a file to save it in or load it from.

    `knife` is the Knife that the boxes describe now, None while they describe none.
    """

    def __init__(self):
        """Empty boxes."""
        self._aside, self._asked, self._quiet, self._loaded = {}, False, False, None
        self.title = widgets.Text(description="Name of the knife", placeholder="my knife", style={"description_width": "190px"}, layout=Layout(width="456px"))
        groups = {"first": ball_boxes(0), "second": ball_boxes(1), "bar": BAR, "blade": BLADE, "more": MORE, "more second": MORE_SECOND}
        rows = {name: [Row(box, self._changed) for box in boxes] for name, boxes in groups.items()}
        self.rows = {row.path: row for group in rows.values() for row in group}
        self._of_second = [*rows["second"], *rows["more second"]]
        self.material = widgets.Dropdown(
            options=[("not given", ""), *((name, name) for name in MATERIALS)],
            description="Material of the bar",
            tooltip="Material of the bar, for its stiffness from the drawn sizes",
            style={"description_width": "190px"},
            layout=Layout(width="340px"),
        )
        self.material_message = widgets.HTML(layout=Layout(flex="1 1 240px", margin="2px 0 0 8px"))
        self.material.observe(lambda change: self._changed(), "value")
        self.second = widgets.Checkbox(description="It has a second ball on the same bar", indent=False, layout=Layout(width="400px"))
        self.second.observe(lambda change: self._second_ball(), "value")
        self._second_rows = widgets.VBox(self._of_second)
        more = widgets.Accordion([widgets.VBox(rows["more"])], titles=["More, if you know it"], layout=Layout(max_width="1000px"))
        self._file_widgets()
        self.status, self.result = widgets.HTML(), widgets.HTML(layout=Layout(max_width="1000px", overflow="auto"))
        drawn = widgets.HBox([self.material, self.material_message], layout=Layout(flex_flow="row wrap"))
        super().__init__(
            [
                widgets.HBox([self.load_name, self._load]),
                self.title,
                _heading("Ball and recess"),
                *rows["first"],
                self.second,
                self._second_rows,
                _heading("Lock bar: a measured rate, or the sizes and the material"),
                *rows["bar"],
                drawn,
                _heading("Blade and friction"),
                *rows["blade"],
                more,
                self._show,
                self.status,
                self.result,
                widgets.HBox([self.save_name, self._save], layout=Layout(flex_flow="row wrap")),
                self.overwrite,
                self.saved,
            ],
            layout=Layout(max_width="1000px"),
        )
        self._second_ball()

    def __repr__(self):
        return "<The form: run this cell to see it>"

    @property
    def knife(self):
        """The Knife that the boxes describe, None while they describe none that can work."""
        return self._read()[0]

    def load(self, path):
        """Fill the boxes from a knife file; what is wrong with it is said below the boxes."""
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
        self.status.value += told(f"Filled from {path}. {self._kept_aside()}")

    def save(self, name):
        """Write the knife file of this name; what is there already stays, unless the box to replace it is ticked."""
        name = name.strip()
        if not name:
            self.saved.value = alert("Not saved: write a file name first, such as knives/my-knife.toml.")
            return
        path = Path(name if name.endswith(".toml") else f"{name}.toml")
        self._asked = True
        knife = self._shown(self._read())
        if knife is None:
            self.saved.value = alert(f"Not saved. Look at {self._to_look_at()}.")
            return
        try:
            write_knife(knife, path, replace=self.overwrite.value)
        except ThereAlready:
            self.overwrite.layout.display = ""
            self.saved.value = alert(f"Not saved: {path} is there already. Choose another name, or tick the box above and save again.")
            return
        except KnifeError as error:
            self.saved.value = alert(f"Not saved: {error}")
            return
        self._hide_overwrite()
        self.load_name.options = _knife_files()
        self.saved.value = told(f'Saved. In any notebook write: my_knife = "{path.as_posix()}"')

    def show_numbers(self):
        """Work out the knife of the boxes and show its headline, or say beside the boxes what is missing."""
        self._asked = True
        knife = self._shown(self._read())
        if knife is None:
            self.result.value = ""
            self.status.value = alert(f"No numbers yet. Look at {self._to_look_at()}.") + self.status.value
            return
        self.status.value = told(self._kept_aside())
        self.result.value = headline(knife)._repr_html_()

    def _file_widgets(self):
        wide = {"style": {"description_width": "190px"}, "layout": Layout(width="456px")}
        self.load_name = widgets.Combobox(description="Start from a file", placeholder="empty boxes", options=_knife_files(), ensure_option=False, **wide)
        self.save_name = widgets.Text(description="Save as", placeholder="knives/my-knife.toml", **wide)
        self._load, self._save = (
            widgets.Button(description="Load", tooltip="Fill the boxes from this file"),
            widgets.Button(description="Save", tooltip="Write the knife file"),
        )
        self._show = widgets.Button(
            description="Show the numbers", tooltip="Work out this knife", button_style="primary", layout=Layout(width="200px", margin="8px 0 4px 0")
        )
        self.overwrite = widgets.Checkbox(description="Replace the file that is there", indent=False, layout=Layout(display="none"))
        self.saved = widgets.HTML()
        self._load.on_click(lambda _: self.load(self.load_name.value))
        self._save.on_click(lambda _: self.save(self.save_name.value))
        self._show.on_click(lambda _: self.show_numbers())
        self.save_name.observe(lambda change: self._hide_overwrite(), "value")

    def _hide_overwrite(self):
        self.overwrite.value, self.overwrite.layout.display, self.saved.value = False, "none", ""

    def _second_ball(self):
        self._second_rows.layout.display = "" if self.second.value else "none"
        self._changed()

    def _changed(self):
        """A person changed a box: say what is wrong with what is filled in; numbers shown before are out of date."""
        if self._quiet:
            return
        self.result.value = ""
        self.status.value = ""
        self._shown(self._read())

    def _given(self):
        """{path: text} of all that is filled in, and of what the loaded file had beyond the boxes."""
        given = dict(self._aside)
        for row in self._rows_in_use():
            given[row.path] = row.text()
        given[MATERIAL] = self.material.value
        if not self.second.value:
            given = {path: text for path, text in given.items() if not re.match(r"balls\[[1-9]|second_bar", path)}
        return {path: text for path, text in given.items() if text}

    def _rows_in_use(self):
        return [row for row in self.rows.values() if self.second.value or row not in self._of_second]

    def _read(self):
        """(knife or None, problems)."""
        given = self._given()
        balls = {int(match[1]) for match in (re.match(r"balls\[(\d+)\]", path) for path in given) if match} | {int(self.second.value)}
        second_bar = any(path.startswith("second_bar.") for path in given)
        asked = given, self.title.value.strip() or "my knife", max(balls) + 1, second_bar
        knife, problems = build_knife(*asked)
        together = self._still_together(knife) if knife and self._loaded else {}
        return build_knife(*asked, known_together=together) if together else (knife, problems)

    def _still_together(self, knife):
        """Correlations of the loaded knife between numbers that were not given anew."""
        same = {path for path in knife.doubts if knife.doubts[path] == self._loaded.doubts.get(path) and knife.get(path) == self._loaded.get(path)}
        return {pair: r for pair, r in self._loaded.known_together.items() if same.issuperset(pair)}

    def _shown(self, read):
        """Put each problem beside its box, the rest below; nobody is told off for a box not yet filled. Returns the knife."""
        knife, problems = read
        here = {problem.where: problem for problem in reversed(problems)}
        promised = stand_ins({row.path for row in self._rows_in_use() if row.text()})
        for row in self._rows_in_use():
            problem = here.pop(row.path, None)
            row.promise(promised.get(row.path, ""))
            row.say(problem if problem and (self._asked or row.text()) else None, _makes(row, knife))
        material = here.pop(MATERIAL, None)
        self.material_message.value = alert(f"{material.wrong}. {material.cure}") if material else ""
        if self._asked or knife:
            self.status.value = "".join(alert(str(problem)) for problem in here.values())
        return knife

    def _to_look_at(self):
        """The boxes that have a problem, by their labels."""
        wrong = {problem.where for problem in self._read()[1]}
        labels = [row.label for row in self._rows_in_use() if row.path in wrong]
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


def knife_form(path=None):
    """The form, empty or filled from a knife file. `form.knife` is the Knife for the next cells, None while there is none."""
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
    usual = spec(path)["typical"]
    return knife.get(path) == usual.value if usual else path.startswith("bar.") and knife.bar.material is not None


def _knife_files():
    return sorted(path.as_posix() for path in Path("knives").glob("*.toml"))


def _heading(text):
    return widgets.HTML(f"<b>{in_html(text)}</b>", layout=Layout(margin="8px 0 0 0"))
