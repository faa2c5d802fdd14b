"""A claim of one's own from drop-downs: a number, two knives, a relation; and live the verdict."""

import math

import ipywidgets as widgets
from ipywidgets import Layout

from ..argue.claim import Claim
from ..argue.own import BALL, BARE_FORMS, BY_SIZE, MAKERS, QUANTITIES, SIZED_FORMS, maker_of
from ..draw.card import alert, menu, typed
from ..files.knife_file import read_knife
from ..knife.parts import Knife, KnifeError
from ..tune.stock import BALLS
from .choose import files
from .verdict_card import VerdictCard

_START = {"quantity": "break_force", "of": "second leaf", "against": "one ball", "relation": "at least … times"}
_NUMBER, _SIZE, _FIRST_BALL = "2", "0.3 mm", "5/64 in"
_LEAST, _MOST = 0.01, 1000.0
_OWN, _BESIDE = "", "0 6px 4px 0"


class ComposedCard(VerdictCard):
    """A VerdictCard of a claim made from drop-downs: one number of two knives, each this one or one of a file, as it is
    or changed at the bench, and a relation between them. What cannot be stands in red beside its box.
    """

    def __init__(self, knife: Knife):
        """Judge the first claim and build the widgets."""
        self._composed = {}
        self.quantity = _menu("Number", [(words, name) for name, (words, _) in QUANTITIES.items()], "240px")
        self.of, self.against = SideBoxes(knife, "of"), SideBoxes(knife, "that of")
        self.relation = _menu("is", [*BARE_FORMS, *SIZED_FORMS], "240px")
        self.number = _box("a number", "How many times, or how many per cent")
        self.message = _beside()
        self._to_start()
        related = _row([self.relation, self.number, self.message])
        super().__init__(knife, [self.quantity, self.of.row, related, self.against.row])
        for box in (self.quantity, self.relation, self.number, *self.of.boxes, *self.against.boxes):
            box.observe(lambda change: self._changed(), "value")

    def _to_start(self):
        self.quantity.value, self.relation.value = _START["quantity"], _START["relation"]
        self.number.value = _NUMBER
        for side, word in ((self.of, _START["of"]), (self.against, _START["against"])):
            side.to_start(word)

    def _reset(self):
        self._quiet = True
        self._to_start()
        super()._reset()

    def claim(self) -> Claim | None:
        """The claim that the boxes make; None where one of them holds what cannot be, which then stands beside it."""
        sides, relation = [side.given() for side in (self.of, self.against)], self._relation()
        if None in sides or relation is None:
            return None
        words = [word for _, word in sides]
        if all(path == _OWN for path, _ in sides):
            of, against = words
        else:
            of, against = ((self._knife if path == _OWN else read_knife(path), word) for path, word in sides)
        key = (self.quantity.value, *sides, relation)
        if key not in self._composed:
            self._composed[key] = Claim.compose(self.quantity.value, of=of, against=against, relation=relation)
        return self._composed[key]

    def _relation(self):
        """The relation as it is written; None where its number cannot be, which is then said."""
        shown, text = self.relation.value, self.number.value.strip()
        self.number.disabled = shown in BARE_FORMS
        number = _LEAST if shown in BARE_FORMS else _number(text)
        wrong = f"“{text}” is no number from {_LEAST:g} to {_MOST:g}, such as 1.5."
        self.message.value = "" if number else alert(wrong)
        if shown in BARE_FORMS:
            return BARE_FORMS[shown]
        return SIZED_FORMS[shown].format(f"{number:.6g}") if number else None


compose_claim = ComposedCard


class SideBoxes:
    """The boxes of one of the two knives: which, what is made of it, and by how much; `row` shows them."""

    def __init__(self, knife: Knife, label: str):
        """label: what stands before them."""
        choices = [(f"this knife: {knife.title}", _OWN), *((path.stem, path.as_posix()) for path in files())]
        self.knife = _menu(label, choices, "300px")
        words = {**MAKERS, **BY_SIZE}
        self.change = _menu("", [(change.said.format("…"), word) for word, change in words.items()], "270px")
        self.size = _box("such as 0.3 mm", "How much, in mm, thou or in")
        self.ball = _menu("", [size.name for size in BALLS], "100px")
        self.message = _beside()
        self.boxes = (self.knife, self.change, self.size, self.ball)
        self.row = _row([*self.boxes, self.message])
        self.change.observe(lambda change: self._show(), "value")

    def to_start(self, word: str) -> None:
        """Take this knife, with a word, and the sizes as at the start."""
        self.knife.value, self.change.value, self.size.value, self.ball.value = _OWN, word, _SIZE, _FIRST_BALL
        self._show()

    def _show(self):
        """Only the box that the change needs is there."""
        by_size = self.change.value in BY_SIZE
        for box, wanted in ((self.size, by_size and self.change.value != BALL), (self.ball, self.change.value == BALL)):
            box.layout.display = "" if wanted else "none"

    def given(self) -> tuple[str, str] | None:
        """(path of the knife file, "" for this knife; word of the change), None where it cannot be, and said so."""
        word = self.change.value
        if word in BY_SIZE:
            word = f"{word} {self.ball.value if word == BALL else self.size.value.strip()}"
        self.message.value = ""
        try:
            maker_of(word)
            if self.knife.value != _OWN:
                read_knife(self.knife.value)
        except (ValueError, KnifeError) as error:
            self.message.value = alert(str(error))
            return None
        return self.knife.value, word


def _number(text):
    try:
        number = float(text)
    except ValueError:
        return None
    return number if math.isfinite(number) and _LEAST <= number <= _MOST else None


def _menu(label, options, width):
    tip, wide = label or "What is made of the knife", "4.6em" if label else "0px"
    return menu(label, options, tip, label_width=wide, width=width, margin=_BESIDE)


def _box(empty, tip):
    return typed("", tip, empty, width="100px", margin=_BESIDE)


def _beside():
    return widgets.HTML(layout=Layout(flex="1 1 200px", min_width="0", margin="0"))


def _row(boxes):
    return widgets.HBox(boxes, layout=Layout(flex_flow="row wrap", width="100%"))
