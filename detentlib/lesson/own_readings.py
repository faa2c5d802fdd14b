"""Readings of one's own for notebook 07: typed, pasted or from a CSV file, and remembered for all its cells.

As soon as one set is a person's own, no number of theirs is made from the demo's.
"""

import json
import os
from collections.abc import Callable
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import NamedTuple

import ipywidgets as widgets
from ipywidgets import Layout

from ..draw.card import Card, alert, button, spoken
from ..files.demo import NOTEBOOKS
from ..files.writing import write_file
from ..knife.parts import Knife, KnifeError
from ..knife.units import both
from ..measure.fit import KnifeFit, fit_knife
from ..measure.given import given_readings
from ..measure.readings import KINDS, ReadingError, Readings, read_readings, readings_from_rows, readings_from_text
from ..measure.trace import LiftTrace
from ..measure.value import Value
from ..say.measured import fit_words
from ..say.working import tell
from .choose import DEMO_ONLY
from .picker import DEMO_MARKS, DEMO_PHOTO, Photo, PhotoPicker, pairs
from .rows import PasteBox, TypedRows, in_words
from .saving import SaveBox

FOLDER, REMEMBERED = Path("readings"), Path("own-readings.json")
DEMO, DEMO_KNIFE = "demo", "Pellowfen A"
TYPED, PASTED, FILE = "typed", "pasted", "file"
_WAYS = {"type it into boxes": TYPED, "paste it from a spreadsheet": PASTED, "a CSV file": FILE}
_STARTS = {"way": TYPED, TYPED: [], PASTED: "", FILE: "", "used": None}
_RATIO, _LEAST, _MOST = "hinge_ratio", 0.1, 10.0
_LINES = "white-space:pre-line;line-height:1.45"
_LABELS = {"description_width": "110px"}


class Slot(NamedTuple):
    """One set of readings: its kind, its name in the drop-down, the demo's file if any, and rows of boxes at first."""

    kind: str
    label: str
    demo: str
    rows: int = 5

    @property
    def words(self) -> str:
        """Its name within a sentence."""
        return self.label[0].lower() + self.label[1:]


SLOTS = {
    "pulls": Slot("two-way pull", "Two-way pull", "two-way-pull-a-oiled"),
    "as_found": Slot("two-way pull", "Two-way pull as found, before any oil", "two-way-pull-a-dry"),
    "opening": Slot("opening pull", "Opening pull alone, with no pull back", ""),
    "trace": Slot("lift trace", "Lift trace", "lift-trace-a", 12),
    "force": Slot("force trace", "Force along the climb", "force-angle-a", 12),
    "rim": Slot("photo points", "Photo points on the rim", "photo-rim-a", 8),
    "ball": Slot("photo points", "Photo points on the ball", "photo-ball-a", 8),
}
_PHOTO = ("rim", "ball")


class Entry(widgets.VBox):
    """The ways in for one set of readings: boxes, a paste, a CSV file; only the chosen one shows."""

    def __init__(self, slot: Slot, kept: dict, changed: Callable[[dict], None]):
        """kept: what stood in the boxes before, as of `state`; changed: called with it after a change by hand."""
        self.slot, self._changed = slot, lambda: None
        self.typed = TypedRows(slot.kind, slot.rows, lambda: self._changed())
        self.pasted = PasteBox(slot.kind, lambda: self._changed())
        self.file = widgets.Combobox(
            value=kept[FILE],
            options=csv_files(slot.kind),
            ensure_option=False,
            continuous_update=False,
            description="CSV file",
            placeholder="choose, or type a path",
            tooltip=f"A file with the columns {KINDS[slot.kind].example}",
            style=_LABELS,
            layout=Layout(width="480px"),
        )
        self.way = widgets.Dropdown(
            options=list(_WAYS.items()),
            value=kept["way"],
            description="How",
            tooltip="How these readings go in",
            style=_LABELS,
            layout=Layout(width="480px"),
        )
        self._shown = {TYPED: self.typed, PASTED: self.pasted, FILE: self.file}
        super().__init__([self.way, *self._shown.values()])
        self.typed.put(kept[TYPED])
        self.pasted.text.value = kept[PASTED]
        self._show()
        self._changed = lambda: changed(self.state())
        self.file.observe(lambda change: self._changed(), "value")
        self.way.observe(lambda change: self._show(), "value")

    def state(self) -> dict:
        """All that stands in the boxes, and which way is chosen."""
        given = {TYPED: self.typed.cells(), PASTED: self.pasted.text.value, FILE: self.file.value.strip()}
        return {"way": self.way.value} | given

    def text(self) -> str:
        """What the chosen way holds, as a CSV file has it; ReadingError where it cannot be read."""
        state = self.state()
        if read(self.slot, state["way"], state[state["way"]]) and state["way"] == PASTED:
            return self.pasted.text.value.strip() + "\n"
        if state["way"] == FILE:
            return Path(self.file.value.strip()).read_text(encoding="utf-8-sig")
        rows = [self.typed.header, *(cells for cells in self.typed.cells() if any(cells))]
        mark = "; " if any("," in cell for cells in rows for cell in cells) else ", "
        return "\n".join(mark.join(cells) for cells in rows) + "\n"

    def _show(self):
        for way, part in self._shown.items():
            part.layout.display = "" if way == self.way.value else "none"
        self._changed()


def csv_files(kind: str) -> list[str]:
    """Files of the folder readings that hold this kind; also those that cannot be read, so that it is said why."""
    found = []
    for path in sorted(FOLDER.glob("*.csv")):
        try:
            fits = read_readings(path).kind == kind
        except ReadingError:
            fits = True
        found += [path.as_posix()] if fits else []
    return found


def read(slot: Slot, way: str, given: object) -> Readings:
    """Readings of a slot from what one way in holds; ReadingError for none, bad rows, and another kind."""
    source = f"your {slot.words}"
    if not given or (way == TYPED and not any(map(any, given))):
        raise ReadingError("there are no readings yet. Fill the boxes, paste, or choose a file first", source)
    if way == FILE:
        readings = read_readings(given)
    elif way == PASTED:
        readings = readings_from_text(given, source)
    else:
        readings = readings_from_rows(KINDS[slot.kind].columns, given, source)
    given_readings(readings, (slot.kind,), f"a {slot.kind} is wanted. Choose what it is under Readings")
    if slot.kind == "photo points":
        pairs(readings)
    return readings


class MyReadings(Card):
    """Boxes for readings of one's own, and what the cells of a page take: `pulls`, `as_found`, `trace` and `force`.

    Each is a Readings; the demo's where a person has none of any kind; else None where there are none of that kind.
    """

    def __init__(self):
        """With what was used last."""
        self._kept, said = remembered()
        self._entries = {
            name: Entry(slot, _STARTS | self._kept.get(name, {}), partial(self._keep_entry, name))
            for name, slot in SLOTS.items()
        }
        self.kind = widgets.Dropdown(
            options=[(slot.label, name) for name, slot in SLOTS.items()],
            value=self._kept.get("shown", "pulls"),
            description="Readings",
            tooltip="Which readings the boxes below hold",
            style=_LABELS,
            layout=Layout(width="480px"),
        )
        self._place, self.line, self.list = widgets.VBox([]), widgets.HTML(), widgets.HTML()
        self.ratio = widgets.Text(
            value=self._kept.get(_RATIO, ""),
            description="Indicator's place",
            placeholder="1: over the ball",
            tooltip="How many times as far from the hinge as ball 1 the indicator stands",
            continuous_update=False,
            style=_LABELS,
            layout=Layout(width="280px"),
        )
        self._ratio_line = widgets.HTML()
        self._ratio_row = widgets.HBox([self.ratio, self._ratio_line], layout=Layout(flex_flow="row wrap"))
        self.buttons = {
            "use": button("Use these", "The cells of this page take what stands here", self.use),
            "out": button("Take these out", "The page no longer takes these readings of yours", self.take_out),
            "demo": button("Back to the demo", "The page takes the demo's readings, and none of yours", self.to_demo),
        }
        self.buttons["use"].button_style = "primary"
        buttons = widgets.HBox(list(self.buttons.values()), layout=Layout(flex_flow="row wrap", margin="6px 0"))
        self.saving = SaveBox("as CSV", "readings/my-two-way-pull.csv", self._save)
        head = widgets.HTML("<b>My readings</b>")
        super().__init__([head, self.list, self.kind, self._place, self._ratio_row, buttons, self.line, self.saving])
        self.layout.max_width = "1000px"
        self.add_class("detent-readings")
        self._writes = not said
        self._choose()
        self.line.value = alert(said)
        self.kind.observe(lambda change: self._chosen(), "value")
        self._say_ratio()
        self.ratio.observe(lambda change: self._change_ratio(), "value")

    def __repr__(self):
        return f"My readings: {self._summary()}"

    @property
    def own(self) -> bool:
        """Whether a person has readings of any kind here."""
        return any(self._has(name) for name in SLOTS)

    @property
    def pulls(self) -> Readings | None:
        """The two-way pull of the knife as it is used."""
        return self.taken("pulls")

    @property
    def as_found(self) -> Readings | None:
        """The two-way pull before any oil."""
        return self.taken("as_found")

    @property
    def trace(self) -> Readings | None:
        """The lift trace."""
        return self.taken("trace")

    @property
    def force(self) -> Readings | None:
        """The force along the climb."""
        return self.taken("force")

    @property
    def hinge_ratio(self) -> float:
        """How many times as far from the hinge as ball 1 the indicator of one's own lift trace stood."""
        return (_number(self.ratio.value) or 1.0) if self._has("trace") else 1.0

    def taken(self, name: str) -> Readings | None:
        """The readings of this name of SLOTS that the page takes: one's own, the demo's, or None."""
        if not self.own:
            return _demo(name)
        return self._mine(name)[0]

    def whose(self, name: str) -> str:
        """In one line whose readings of this name the page takes."""
        label = SLOTS[name].label
        if not self.own:
            return f"{label}: the demo's, invented, of {DEMO_KNIFE}."
        readings, problem = self._mine(name)
        if problem:
            return f"{label}: yours cannot be used, so it is left out. {problem}"
        if readings is None:
            return f"{label}: none of yours, so it is left out."
        aside = name == "trace" and self.hinge_ratio != 1
        stood = f"; the indicator {self.hinge_ratio:g} times as far from the hinge as ball 1" if aside else ""
        return f"{label}: yours, {_rows(readings)}{self._from(name)}{stood}."

    def shown(self, name: str) -> Readings | None:
        """One's own readings of this name, None where the demo's stand in for a look; tells which in one line."""
        readings = self._mine(name)[0] if self.own else None
        if readings and name == "trace":
            over_the_ball = readings["lift"] / self.hinge_ratio
            readings = replace(readings, columns=readings.columns | {"lift": over_the_ball})
        instead = " What is shown here is the demo's." if self.own and readings is None else ""
        tell(self.whose(name) + instead)
        return readings

    def worked(self, work: Callable, name: str, knife: Knife, *more: object) -> object | None:
        """What a measuring function gives for the readings of this name: work(readings, knife, *more).

        Tells in one line whose readings they are. None where there are none, or where they cannot be used, which is
        then said.
        """
        tell(self.whose(name) + self._strange(knife))
        readings = self.taken(name)
        return readings and _or_told(work, readings, knife, *more, **(self._stood() if name == "trace" else {}))

    def _stood(self):
        """Where the indicator stood, as the measuring functions take it."""
        return {"hinge_ratio": self.hinge_ratio}

    def contact(self, seen: LiftTrace | None) -> Value | None:
        """The contact angle that a lift trace saw, None for that of the card; tells which in one line."""
        if seen is None:
            tell("Contact angle: as on the card, as no lift trace gives one.")
            return None
        whose = "yours" if self.own else "the demo's"
        tell(f"Contact angle: {both(seen.contact_deg.value, 'deg', seen.contact_deg.doubt)}, from the trace, {whose}.")
        return seen.contact_deg

    def fit(self, knife: Knife) -> KnifeFit | None:
        """`fit_knife` of one's own readings alone, or of the demo's alone; tells whose; None where none can be."""
        state = "as_found" if self.own and not self._has("pulls") else "pulls"
        names = ("trace", state, "force") + ("opening",) * self._has("opening")
        tell(*map(self.whose, names))
        used = [readings for readings in map(self.taken, names) if readings]
        if not used:
            tell("No fit: none of your readings say anything of the whole knife.")
            return None
        taken = "yours alone" if self.own else "the demo's alone"
        tell(f"The fit takes {taken}.{self._strange(knife)}")
        found = _or_told(fit_knife, knife, used, **self._stood())
        if found and found.foreign:
            tell(*fit_words(found))
            return None
        return found

    def photo_picker(self) -> PhotoPicker:
        """The PhotoPicker on the photo that was chosen last, with what was picked on it; else on the demo's."""
        photo = self.photo(self.chosen)
        try:
            return PhotoPicker(*photo, shelf=self)
        except ReadingError as error:
            tell(f"{error}. The points picked on it stand on plain ground.")
            return PhotoPicker(*photo._replace(path=None), shelf=self)

    @property
    def chosen(self) -> str:
        """The photo that was chosen last, as of `photos`."""
        return self._kept.get("photo", DEMO)

    def photos(self) -> dict[str, str]:
        """{path: label} of the photos to choose from; "": plain ground, for points from elsewhere; and the demo's."""
        own = {*(path.as_posix() for path in pictures()), *self._kept.get("photos", {})} - {"", DEMO_PHOTO.as_posix()}
        plain = {"": "plain ground, with your points"}
        return {DEMO: "the demo's photo, invented"} | {path: path for path in sorted(own)} | plain

    def photo(self, path: str) -> Photo:
        """A photo with what was picked on it before; path: as of `photos`."""
        if path == DEMO:
            return Photo(NOTEBOOKS / DEMO_PHOTO, _demo("rim"), _demo("ball"), DEMO_MARKS, 2.0)
        kept = self._kept.get("photos", {}).get(path, {})
        points = kept.get("points", {})
        return Photo(path or None, points.get("rim"), points.get("ball"), points.get("scale", ()), kept.get("distance"))

    def keep_photo(self, path: str, points: dict, distance: float) -> None:
        """Remember what is picked on a photo of one's own, and that it is the one in use."""
        self._kept["photo"] = path
        if path != DEMO:
            self._kept.setdefault("photos", {})[path] = {"points": points, "distance": distance}
        self._remember()
        self._say_list()

    def use(self) -> None:
        """Let the page take what stands in the boxes; what is wrong with it is said, and then nothing changes."""
        name, entry = self.kind.value, self._entries[self.kind.value]
        way = entry.way.value
        given = entry.state()[way]
        try:
            readings = read(entry.slot, way, given)
        except ReadingError as error:
            beside = way == TYPED and any(map(any, given))
            told = ["Look at what is red beside the rows."] if beside else error.lines
            self.line.value = alert("Not used yet.") + "".join(map(alert, told))
            return
        if name in _PHOTO:
            self._put_points(name, pairs(readings))
        else:
            self._kept[name] = entry.state() | {"used": [way, given]}
        others = "" if self._was_own else " From now on the page takes no reading of the demo's for a number of yours."
        self._told(f"{in_words(readings)} The page takes them: Run, then Run All Cells.{others}")

    def take_out(self) -> None:
        """Let the page take no readings of this kind of one's own; what stands in the boxes stays."""
        name = self.kind.value
        if not self._has(name):
            self.line.value = alert(f"There is no {SLOTS[name].words} of yours in use.")
            return
        if name in _PHOTO:
            self._put_points(name, [])
        else:
            self._kept[name]["used"] = None
        self._told(f"{SLOTS[name].label}: taken out. What stands in the boxes stays. Run, then Run All Cells.")

    def to_demo(self) -> None:
        """Let the page take the demo's readings; what stands in the boxes and was picked on photos stays."""
        for name in SLOTS.keys() & self._kept.keys():
            self._kept[name]["used"] = None
        self._kept["photo"] = DEMO
        self._told("The page takes the demo's readings again. Yours stay in the boxes. Run, then Run All Cells.")

    def _put_points(self, name, points):
        path = "" if self.chosen == DEMO else self.chosen
        photo = self._kept.setdefault("photos", {}).setdefault(path, {"points": {}, "distance": 0.0})
        photo["points"][name], self._kept["photo"] = points, path

    def _has(self, name):
        if name in _PHOTO:
            return self.chosen != DEMO and bool(self._kept["photos"][self.chosen]["points"].get(name))
        return bool(self._kept.get(name, {}).get("used"))

    def _mine(self, name):
        """(one's own readings or None, what is wrong with them)."""
        if not self._has(name):
            return None, ""
        try:
            if name in _PHOTO:
                points = self._kept["photos"][self.chosen]["points"][name]
                return readings_from_rows(("x [px]", "y [px]"), points, f"your {SLOTS[name].words}"), ""
            return read(SLOTS[name], *self._kept[name]["used"]), ""
        except ReadingError as error:
            return None, str(error)

    def _from(self, name):
        if name in _PHOTO:
            return f" on {self.chosen}" if self.chosen else ""
        way, given = self._kept[name]["used"]
        return f" from {given}" if way == FILE else f", {way}"

    def _strange(self, knife):
        """A warning where the demo's readings meet another knife than the demo's."""
        if self.own or knife.title == DEMO_KNIFE:
            return ""
        return f" Held against the card of {knife.title}, which they do not measure: give your own at the top."

    def _summary(self):
        if not self.own:
            return f"none; the page takes the demo's, of {DEMO_KNIFE}"
        return "; ".join(slot.words for name, slot in SLOTS.items() if self._has(name))

    def _chosen(self):
        self._choose()
        self._remember()

    def _change_ratio(self):
        self._kept[_RATIO] = self.ratio.value
        self._say_ratio()
        self._remember()

    def _say_ratio(self):
        """What the place of the indicator comes to, or what is wrong with it."""
        text = self.ratio.value.strip()
        if text and not _number(text):
            said = alert(f"“{text}” is no number from 0.1 to 10, such as 1.2. Until then it counts as over the ball.")
        else:
            said = spoken("times as far from the hinge as ball 1; 1 where it stands over the ball")
        self._ratio_line.value = said

    def _choose(self):
        """Show the boxes of another kind; those of the others stay as they are."""
        name = self.kind.value
        self._place.children = [self._entries[name]]
        self._ratio_row.layout.display = "" if name == "trace" else "none"
        self.saving.name.value = f"readings/my-{name}.csv"
        self._kept["shown"] = name
        self.line.value = ""
        self._was_own = self.own
        self._say_list()

    def _say_list(self):
        if self.own:
            lines = [self.whose(name) for name in SLOTS]
        else:
            lines = [f"None yet: the page takes the demo's, of {DEMO_KNIFE}."]
        self.list.value = spoken("\n".join(lines), _LINES)

    def _told(self, said):
        self._was_own = self.own
        self.line.value = spoken(said, _LINES)
        self._remember()
        self._say_list()

    def _keep_entry(self, name, state):
        self._kept[name] = self._kept.get(name, {"used": None}) | state
        self._remember()

    def _remember(self):
        if not self._writes:
            return
        try:
            remember(self._kept)
        except KnifeError as error:
            self.line.value += alert(f"This holds until the page is closed only. {error}")

    def _save(self, path, replace):
        write_file(path, self._entries[self.kind.value].text(), ".csv", replace=replace)
        for entry in self._entries.values():
            entry.file.options = csv_files(entry.slot.kind)


def my_readings() -> MyReadings:
    """The card at the top of notebook 07: readings of one's own, which all cells of the page then take."""
    return MyReadings()


def pictures() -> list[Path]:
    """The pictures of the folder readings, by name."""
    return sorted(path for path in FOLDER.glob("*") if path.suffix.lower() in (".png", ".jpg", ".jpeg"))


def remembered() -> tuple[dict, str]:
    """(what was kept, {} for nothing; what is wrong with the file of it, in words)."""
    if os.environ.get(DEMO_ONLY) or not REMEMBERED.is_file():
        return {}, ""
    try:
        return json.loads(REMEMBERED.read_text(encoding="utf-8")), ""
    except (OSError, ValueError):
        return {}, f"{REMEMBERED} cannot be read. Until it is taken away, readings hold for this page only."


def remember(kept: dict) -> None:
    """Keep the readings for all cells and the next time. KnifeError like `write_file`."""
    if not os.environ.get(DEMO_ONLY):
        write_file(REMEMBERED, json.dumps(kept, indent=1, ensure_ascii=False) + "\n", ".json", replace=True)


def _demo(name):
    """The demo's readings of this name; None where it has none."""
    demo = SLOTS[name].demo
    return read_readings(NOTEBOOKS / FOLDER / f"{demo}.csv") if demo else None


def _rows(readings):
    return f"{len(readings)} row{'s' * (len(readings) != 1)}"


def _number(text: str) -> float | None:
    """The number of a box for a ratio, None for none that can be one."""
    try:
        found = float(text)
    except ValueError:
        return None
    return found if _LEAST <= found <= _MOST else None


def _or_told(work, *given, **more):
    """What work gives; None where it refuses, and why is then told."""
    try:
        return work(*given, **more)
    except (ReadingError, KnifeError) as error:
        tell(f"No number from it: {error}")
        return None
