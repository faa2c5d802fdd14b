"""The claim card: a claim, its assumptions as switches, and live the verdict, what decides and what flips it."""

import threading
from concurrent.futures import Future, ThreadPoolExecutor

import ipywidgets as widgets
from ipywidgets import Layout

from ..argue.breaking import Stopped, break_it
from ..argue.claim import Claim
from ..argue.judging import claims, judge
from ..argue.scale import OPEN
from ..argue.switches import SWITCHES
from ..argue.verdict import Verdict
from ..draw.card import Card, beside, button, picture, spoken
from ..draw.drawing import pixels_of
from ..draw.panel import png, still_of
from ..knife.parts import Knife, KnifeError
from ..knife.plain import in_html
from ..pages.post import picture_words, post_page, said_by, verdict_picture
from .saving import SaveBox
from .settling import NOBODY

_DPI = 100
_WRITE = "A short text to post with a picture, one sheet to print, and the knife's card"
_FILES = "The .md is a text to post and the .png its picture; the .html prints on one sheet; the .toml recomputes it."
_NONE = "Put right what is red above, and it is judged at once."
_BREAK = "The nearest change of the knife, in shop tolerances, for which the verdict flips"


def claim_card(knife: Knife, id: str = "doubles") -> "ClaimCard":
    """A ClaimCard of one Knife, ready to show; id: the claim it starts with."""
    return ClaimCard(knife, id)


class VerdictCard(Card):
    """A row of buttons for each assumption of a claim, to the right the verdict and its picture, below them the page.

    `verdict` holds what is shown now, None where this knife cannot be judged and as long as it is being judged;
    `answer` its words, `alt` those of the picture. A click is worked out in the background and dropped when another one
    comes; so is a search for the knife that breaks it, which a button stops as well.
    """

    def __init__(self, knife: Knife, top: list):
        """Judge the claim and build the widgets; top: what the claim is chosen with."""
        self._knife, self._lock, self._quiet, self._known = knife, threading.RLock(), False, {}
        self._workers, self._job, self.working = ThreadPoolExecutor(2), 0, Future()
        self._called_off, self._told_last = threading.Event(), ("", [], "")
        look = {"width": "100px", "margin": "8px 8px 4px 0"}
        self.buttons = {
            "reset": button("Reset", "Everything as at the start", self._reset, **look),
            "break": button("Break it", _BREAK, self._break, **look),
            "stop": button("Stop", "Stop looking for a knife that breaks it", self._stop_looking, **look),
        }
        self.saving = SaveBox("the page", "my-argument", self._write, "Write the page", "Name of the page", (120, 360))
        self.saving.button.tooltip = _WRITE
        self._rows = widgets.VBox()
        self.line = widgets.HTML(layout=Layout(min_height="150px", margin="0"))
        self.image, self.broken = widgets.HTML(layout=Layout(margin="0")), widgets.HTML()
        self.who = widgets.Text(
            description="Who says so",
            placeholder=NOBODY,
            tooltip="Who the card and the page shall name",
            continuous_update=False,
            style={"description_width": "120px"},
            layout=Layout(width="360px"),
        )
        self.who.observe(lambda change: self._say(*self._told_last), "value")
        left = [self._rows, widgets.HBox(list(self.buttons.values())), self.broken]
        body = beside(left, [self.line, self.image], "350px")
        super().__init__([*top, body, self.who, self.saving], layout=Layout(max_width="1000px"))
        self.add_class("detent-panel")
        self._choose()
        self.wait()

    def claim(self) -> Claim | None:
        """The claim that is asked for now; None where what stands in the boxes is none."""
        raise NotImplementedError

    def __repr__(self):
        """Short, and the same on every run."""
        claim = self._asked[0]
        return f"<{type(self).__name__}: {self._knife.title}{f', “{claim.sentence}”' if claim else ''}>"

    def _repr_mimebundle_(self, **kwargs):
        """The live card, and beside it its words and a still picture for a viewer without a kernel."""
        still = {} if self._pixels is None else still_of(self._pixels)
        words = {"text/plain": f"{self!r}\n{self.answer}"}
        return {**super()._repr_mimebundle_(**kwargs), **words, **still}, {"image/png": {"alt": self.alt}}

    def switch(self, **options: str) -> None:
        """Set assumptions by name, with one redraw: `card.switch(blade="plane")`. KeyError for one not there."""
        self._quiet = True
        try:
            for name, option in options.items():
                self.switches[name].value = option
        finally:
            self._quiet = False
        self._changed()
        self.wait()

    def _choose(self):
        """Another claim: its switches, at their start."""
        claim = self.claim()
        self.switches = {name: self._switch(name, claim.start.get(name)) for name in claim.switches}
        self._rows.children = [
            widgets.HBox([_label(SWITCHES[name].label), buttons], layout=Layout(align_items="center"))
            for name, buttons in self.switches.items()
        ]
        self._changed()

    def _switch(self, name, start):
        options = SWITCHES[name].options
        wide = 16.1 / len(options) - 0.3  # the buttons of a row fill as much as those of any other
        buttons = widgets.ToggleButtons(
            options=list(options),
            value=start or next(iter(options)),
            tooltip=SWITCHES[name].label,
            tooltips=[f"{SWITCHES[name].label}: {option.said}" for option in options.values()],
            style={"button_width": f"{wide:.1f}em"},
            layout=Layout(margin="0 0 2px 0"),
        )
        buttons.observe(lambda change: self._changed(), "value")
        return buttons

    def wait(self) -> None:
        """Wait until what was clicked last is worked out; raises what went wrong there."""
        self.working.result()

    def _told(self, job, tell, *given):
        """Tell what a job has found, unless another click has come since."""
        with self._lock:
            if job == self._job:
                tell(*given)

    def _changed(self):
        """An assumption or the claim was changed by a click."""
        if not self._quiet:
            self._start()
            self.working = self._workers.submit(self._show, self._job)

    @property
    def _options(self):
        return {name: buttons.value for name, buttons in self.switches.items()}

    def _start(self):
        """Nothing of what was shown before: no old verdict stands under another claim while that is judged."""
        with self._lock:
            self._job += 1
            claim = self.claim()
            self._asked = (claim, self._options)
            self.verdict, self.alt, self._pixels = None, "", None
            self._call_off()
            self.broken.value = self.image.value = ""
            self.saving.as_before()
            self.buttons["break"].disabled = claim is None or bool(claim.knives)
            self.saving.button.disabled = True
            self._say("Judging …" if claim else _NONE, [])

    def _show(self, job):
        """Judge, then the words at once, and the picture when every other assumption is judged as well."""
        claim, chosen = self._asked
        if job != self._job or claim is None:
            return
        try:
            verdict = self._judge(claim, chosen)
        except KnifeError as error:
            self._told(job, self._say, f"This claim cannot be judged here. {error.problems[0]}", [])
            return
        head = f"{verdict.word.upper()}{' with these instruments' if verdict.word == OPEN else ''}"
        lines = [f"{verdict.claim.number.said}: {verdict.figure}.", f"Scale: {verdict.scale.said(verdict.unit)}."]
        lines += [each for each in (verdict.share_words, "" if claim.composed else f"Why: {claim.why}") if each]
        self._told(job, self._say, head, [*lines, "Trying every other assumption …"], verdict.stand_in)
        for other in verdict.other_options:
            if job != self._job:
                return
            verdict.other(*other)
        lines += [f"What would flip it: {'; '.join(verdict.flip_words)}", f"Next: {verdict.next_words}"]
        self._told(job, self._finish, verdict, head, lines)

    def _finish(self, verdict, head, lines):
        self.verdict = verdict
        self.saving.button.disabled = False
        self._say(head, lines, verdict.stand_in)
        self._draw()

    def _judge(self, claim: Claim, chosen: dict) -> Verdict:
        """The Verdict, kept so that switching back is at once."""
        key = (id(claim), *chosen.items())  # every claim is kept, by the library or by its card
        if key not in self._known:
            self._known[key] = judge(claim, self._knife, **chosen)
        return self._known[key]

    def _say(self, head, lines, put_in=""):
        """Tell: what was put into the knife, who says what, the verdict, and more lines."""
        self._told_last = (head, lines, put_in)
        claim = self._asked[0]
        said = f"“{claim.sentence}” ({said_by(claim, self.who.value)})" if claim else ""
        self.answer = "\n".join([*filter(None, (put_in, f"{said}: {head}" if said else head)), *lines])
        body = "".join(f"<div>{in_html(line)}</div>" for line in lines)
        first = "".join(f"<div>{in_html(line)}</div>" for line in (put_in, said) if line)
        self.line.value = (
            '<div role="status" aria-live="polite" style="font-size:14px;line-height:1.45;max-width:640px">'
            f'{first}<div style="font-size:19px"><b>{in_html(head)}</b></div>{body}</div>'
        )

    def _draw(self):
        figure = verdict_picture(self.verdict)
        figure.set_dpi(_DPI)
        self._pixels, self.alt = pixels_of(figure), picture_words(self.verdict)
        height, width = self._pixels.shape[:2]
        self.image.value = picture(png(self._pixels), self.alt, (width, height))

    def _reset(self):
        start = self._asked[0].start if self._asked[0] else {}
        self.switch(**{name: start.get(name, buttons.options[0]) for name, buttons in self.switches.items()})

    def _break(self):
        """Look for the nearest knife for which it flips; says so first, as it takes some seconds."""
        self._call_off()
        self._called_off, self.buttons["stop"].disabled = threading.Event(), False
        self._tell("Looking for the nearest knife that flips it …")
        self.working = self._workers.submit(self._look, *self._asked, self._called_off)

    def _look(self, claim, chosen, called_off):
        try:
            answer = str(break_it(claim, self._knife, stop=called_off.is_set, **chosen))
        except KnifeError as error:
            answer = str(error)
        except Stopped:
            return
        with self._lock:
            if not called_off.is_set():
                self._call_off()
                self._tell(answer)

    def _stop_looking(self):
        self._call_off()
        self._tell("Stopped.")

    def _call_off(self):
        """No search goes on, and there is none to stop."""
        with self._lock:
            self._called_off.set()
            self.buttons["stop"].disabled = True

    def _tell(self, said):
        self.broken.value = spoken(said, "line-height:1.4;max-width:320px;white-space:pre-line")

    def _write(self, path, replace):
        """Write the page of the verdict that is shown."""
        places = post_page(self.verdict, path, replace, self.who.value)
        return f"Written: {', '.join(place.as_posix() for place in places)}. {_FILES}"


class ClaimCard(VerdictCard):
    """A VerdictCard of a claim out of all that people make of knives, with a drop-down to choose it."""

    def __init__(self, knife: Knife, id: str = "doubles"):
        """Judge the claim and build the widgets; KeyError for an unknown claim."""
        self.choose = widgets.Dropdown(
            options=[(claim.sentence, name) for name, claim in claims.items()],
            value=claims[id].id,
            description="Claim",
            tooltip="The claim to judge",
            layout=Layout(width="100%", margin="0 0 6px 0"),
            style={"description_width": "3.6em"},
        )
        super().__init__(knife, [self.choose])
        self.choose.observe(lambda change: self._choose(), "value")

    def claim(self) -> Claim:
        """The claim that is chosen."""
        return claims[self.choose.value]


def _label(words):
    return widgets.Label(words, tooltip=words, layout=Layout(width="8.4em"))
