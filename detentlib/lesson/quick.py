"""Two minutes: a few boxes for calipers and one pull with a luggage scale, and at once what they say of a knife."""

from collections.abc import Mapping

import ipywidgets as widgets
from ipywidgets import Layout

from ..doubt.many import RESULTS
from ..draw.card import Card, alert, button, spoken
from ..files.fields import build_knife, data_of, read_number, with_doubt
from ..files.instruments import read_said
from ..files.pulled import LETBACK, OPENING, PULLED
from ..knife.parts import UNMEASURED, Knife, KnifeError, Problem, assumed_words, field_problem, name_of
from ..knife.units import UnitError, two_digits
from ..measure.one_pull import OnePull, one_pull
from ..measure.readings import ReadingError
from ..say.headline import Headline
from .form import Box, FieldRow, KnifeForm

SIZES = (
    Box(
        "balls[0].diameter", "Ball diameter", "calipers over the ball, or the size it was bought as", "needed: 1/16 in"
    ),
    Box("balls[0].protrusion", "How far it stands out", "depth rod, bar face to the top of the ball", "needed: 0.42"),
    Box("balls[0].recess.diameter", "Recess diameter", "its drill, or pins that go in", "needed: #55"),
    Box("blade.tab_arm", "Tab arm", "middle of the pivot to where you pull; ruler or calipers"),
)
PULLS = (
    Box(
        OPENING,
        "Pull that opens",
        "scale hooked at the tab, square to the line from the pivot, slowly, pivot axis upright",
        "such as 2.7 lb",
    ),
    Box(LETBACK, "Let-back pull", "against which it just still goes shut; counts as the pull above", "if you have it"),
)
_ONE_SCALE = "here it counts with the ± of the pull above"
_RIDING = "bar.riding_force"
_WIDER = (
    "The form has these sizes now, and as riding force what the pull comes to with a usual bar. Its ± of the forces is"
    " wider than here: the pull says how riding force, friction and sizes err together, and a box holds each number by"
    " itself."
)


class TwoMinutes(Card):
    """Boxes for a few sizes and one or two pulls, their numbers on request, and a button that puts them into the form.

    `found` holds the OnePull last shown, None while there is none that goes with what stands in the boxes.
    """

    def __init__(self, form: KnifeForm | None = None):
        """form: where the numbers go on request."""
        self._form, self._asked, self.found = form, False, None
        self.rows = {box.path: FieldRow(box, self._changed) for box in (*SIZES, *PULLS)}
        look = {"width": "200px", "margin": "8px 8px 4px 0"}
        self.show_button = button("Show what they say", "Work out these few numbers", self.show, **look)
        self.show_button.button_style = "primary"
        self.put_button = button("Put these into the form", "Fill the form below with these", self.put, **look)
        self.put_button.layout.display = "" if form else "none"
        self.line, self.result = widgets.HTML(), widgets.HTML(layout=Layout(max_width="1000px", overflow="auto"))
        buttons = widgets.HBox([self.show_button, self.put_button], layout=Layout(flex_flow="row wrap"))
        super().__init__([*self.rows.values(), buttons, self.line, self.result], layout=Layout(max_width="1000px"))

    def __repr__(self):
        return "<Two minutes: run this cell to see its boxes>"

    def show(self) -> None:
        """Work out what the boxes say, or say beside them what is missing."""
        self._asked, self.found, self.result.value = True, None, ""
        knife, pulls = self._told()
        if pulls is None:
            self.line.value = alert(f"No numbers yet. Look at what is red beside {', '.join(self._wrong)}.")
            return
        self.line.value = spoken("Working it out …")
        try:
            self.found = one_pull(knife, *pulls)
        except (KnifeError, ReadingError) as error:
            self.line.value = alert(str(error))
            return
        self.line.value = spoken(self._next())
        self.result.value = _table(self.found, knife)

    def put(self) -> None:
        """Put what stands in the boxes into the form; the pull as the riding force that it comes to."""
        _, pulls = self._told()
        if pulls is None:
            self.line.value = alert(f"Nothing put in yet. Look at what is red beside {', '.join(self._wrong)}.")
            return
        if self.found is None:
            self.show()
        if self.found is None:  # the pull goes with hardly any knife, and it is said why
            return
        texts = {box.path: self.rows[box.path].text() for box in SIZES}
        said = "The form has these sizes now."
        if pulls:
            fitted = self.found.knife
            force, doubt = fitted.get(_RIDING), two_digits(fitted.doubts[_RIDING])
            texts[_RIDING] = with_doubt(f"{force:.4g}", doubt, self.rows[OPENING].unit)
            said = _WIDER
        replaced = self._form.take({path: text for path, text in texts.items() if text})
        self.line.value = spoken(f"{said} {replaced}".strip())

    def _changed(self):
        """A person changed a box: numbers shown before are out of date."""
        self.found, self.result.value, self.line.value = None, "", ""
        self._told()

    def _told(self) -> tuple[Knife | None, tuple | None]:
        """The Knife of the sizes and what `one_pull` takes beside it, each None where a box is wrong."""
        given = {box.path: self.rows[box.path].text() for box in SIZES}
        given = {path: text for path, text in given.items() if text}
        knife, problems = build_knife(given, "your knife", 1, False)
        wrong = {problem.where: problem for problem in reversed(problems)}
        pulls, more = self._pulls()
        wrong |= more
        beside = {path: wrong.pop(path, None) for path in self.rows}
        for path, row in self.rows.items():
            row.promise()
            more = _ONE_SCALE if path == LETBACK and row.filled else ""
            row.say(beside[path] if self._asked or row.text() else None, more)
        self._wrong = [self.rows[path].label for path, problem in beside.items() if problem]
        self.line.value = "".join(alert(str(problem)) for problem in wrong.values()) if self._asked else ""
        return (None, None) if self._wrong or wrong else (knife, pulls)

    def _pulls(self) -> tuple[tuple, Mapping[str, Problem]]:
        """(opening, letting back, ±), empty without a pull; and the problems by their boxes."""
        read, wrong = {}, {}
        for path in (OPENING, LETBACK):
            row = self.rows[path]
            if row.text():
                read[path], wrong[path] = _pull(path, row.text())
        wrong = {path: problem for path, problem in wrong.items() if problem}
        if LETBACK in read and OPENING not in read:
            why = "The pull that opens says how strong it is, this one how much of that is friction."
            wrong[OPENING] = Problem(OPENING, "", "is missing", why, "Pull it open too.")
        if wrong or not read:
            return (), wrong
        opening, doubt = read[OPENING]
        letback = read.get(LETBACK, (None, None))[0]
        return (opening, letback, doubt), wrong

    def _next(self) -> str:
        """The one next thing to measure, in words: a pull that is missing, else what the table of instruments has."""
        name, advice = RESULTS[self.found.loosest].words, self.found.advice
        if not self.rows[OPENING].filled:
            return f"Least sure is the {name}. Measure next: the pull that opens, with any scale."
        if self.found.loosest == "letback_force" and not self.rows[LETBACK].filled:
            return f"Least sure is the {name}. Measure next: the let-back pull, with the same scale."
        if advice is None:
            return f"Least sure is the {name}; no single measurement of the table makes it surer. Fill the form."
        what = f"{name_of(advice.path, self.found.knife)}, by {advice.instrument}, {advice.minutes:g} min"
        return f"Least sure is the {name}. Measure next: {what}."


def _pull(path: str, text: str) -> tuple[tuple, Problem | None]:
    """(pull, ±) of a text, or what is wrong with it."""
    data = data_of(path)
    try:
        value, doubt, _ = read_number(path, text, data)
    except UnitError as error:
        return (), Problem(path, f'"{read_said(text).text}"', error.wrong, f"It is the {data['meaning']}.", error.cure)
    if not doubt:
        return (), Problem(
            path, f'"{read_said(text).text}"', "has no ±", "No scale is exact.", "Say what it was measured with."
        )
    return (value, doubt), field_problem(PULLED[path], value)


def _table(found: OnePull, card: Knife) -> str:
    """What was found, and what of it nobody measured, in HTML."""
    said = [(RESULTS[name], number) for name, number in found.numbers.items()]
    rows = [(f"{words[0].upper()}{words[1:]}", number.said(unit)) for (words, unit), number in said]
    notes = ((UNMEASURED, ("; ".join(assumed_words(card)),)),)
    return Headline((("", "from these boxes"), *rows), notes)._repr_html_()


two_minutes = TwoMinutes
