"""Settle it: one ball against two on the knife of a form, what would make the claim true, and the page to post."""

from collections.abc import Callable

import ipywidgets as widgets
from ipywidgets import Layout

from ..argue.judging import judge
from ..argue.scale import OPEN
from ..argue.verdict import Verdict
from ..draw.card import Card, alert, button, spoken, status
from ..knife.parts import Knife, KnifeError
from ..knife.plain import in_html
from ..pages.post import post_page
from .saving import SaveBox

CLAIM = "doubles"
NOBODY = "nobody named"
_WIDE = (188, 436)  # px, of a label, and with its box


class Settle(Card):
    """A button that judges one ball against two, a box for who claimed it, and one for the page to write.

    `verdict` holds what is shown now, None while there is none.
    """

    def __init__(self, knife: Callable[[], Knife | None]):
        """knife: gives the Knife to judge, or None where there is none yet."""
        self._knife, self.verdict = knife, None
        look = {"style": {"description_width": f"{_WIDE[0]}px"}, "layout": Layout(width=f"{_WIDE[1]}px")}
        self.claimed_by = widgets.Text(description="Who claimed it", placeholder=NOBODY, **look)
        self.saving = SaveBox("the page", "settled", self._write, "Write the page", "Name of the page", _WIDE)
        look = {"width": "200px", "margin": "8px 0 4px 0"}
        self.button = button("Settle it: one ball or two", "Judge this knife", self.show, **look)
        self.result, self.more = widgets.HTML(), widgets.HTML()
        self._page = widgets.VBox([self.claimed_by, self.saving], layout=Layout(display="none"))
        super().__init__([self.button, self.result, self.more, self._page], layout=Layout(max_width="1000px"))

    def __repr__(self):
        return "<Settle it: run this cell to see it>"

    def show(self) -> None:
        """Judge the knife of now, and say at once what comes of it, then what would change it."""
        self.clear()
        knife = self._knife()
        if knife is None:
            self.result.value = alert("Nothing to settle yet: the boxes describe no knife. What is wrong stands there.")
            return
        self.result.value = spoken("Judging …")
        try:
            verdict = judge(CLAIM, knife)
            self._say(verdict)
        except KnifeError as error:
            self.result.value = alert(f"This knife cannot be judged. {error}")
            return
        self.verdict, self._page.layout.display = verdict, ""
        self.more.value = spoken("Trying every other assumption …")
        flips = f"What would change it: {'; '.join(verdict.flip_words)}"
        self.more.value = _lines([flips, verdict.next_words])

    def _write(self, path, replace):
        places = post_page(self.verdict, path, replace, self.claimed_by.value)
        return f"Written: {', '.join(place.as_posix() for place in places)}."

    def clear(self) -> None:
        """Show nothing: the knife is another one by now."""
        self.verdict, self.result.value, self.more.value = None, "", ""
        self._page.layout.display = "none"
        self.saving.as_before()

    def _say(self, verdict: Verdict) -> None:
        """The verdict with its share; what was put in for a second ball stands before any number."""
        word = f"{verdict.word.upper()}{' with these instruments' if verdict.word == OPEN else ''}"
        lines = [f"{verdict.claim.number.said}: {verdict.decides}"]
        lines += [f"{part.said}: {number.said(part.unit)}" for part, number in verdict.parts]
        lines.append(f"Why: {verdict.claim.why}")
        head = in_html(f"“{verdict.claim.sentence}” on {verdict.title}: {word}")
        told = status(f"<b>{head}</b>", "font-size:19px;line-height:1.45")
        self.result.value = _lines([verdict.stand_in] if verdict.stand_in else []) + told + _lines(lines)


def settle(knife: Knife) -> Settle:
    """The button, its verdict and its page for one Knife."""
    return Settle(lambda: knife)


def _lines(lines: list[str]) -> str:
    return "".join(spoken(line, "line-height:1.45;max-width:820px") for line in lines)
