"""The claim card: a claim, its assumptions as switches, and live the verdict, the number that decides, what flips it, and break it."""

import base64
import threading
from concurrent.futures import Future, ThreadPoolExecutor

import ipywidgets as widgets
import numpy as np
from ipywidgets import Layout
from matplotlib.backends.backend_agg import FigureCanvasAgg

from ..argue.breaking import Stopped, break_it
from ..argue.claim import claims, judge
from ..argue.switches import SWITCHES
from ..argue.verdict import OPEN
from ..draw.card import Card, picture, spoken
from ..draw.panel import png, small_png
from ..knife.parts import KnifeError
from ..knife.plain import in_html
from ..pages.post import picture_words, verdict_picture

_DPI = 100


def claim_card(knife, id="doubles"):
    """A ClaimCard of one Knife, ready to show; id: the claim it starts with."""
    return ClaimCard(knife, id)


class ClaimCard(Card):
    """A claim to choose, a row of buttons for each of its assumptions, and to the right the verdict and its picture.

    `verdict` holds what is shown now, None where this knife cannot be judged and as long as it is being judged; `answer`
    its words, `alt` those of the picture. A click is worked out in the background and dropped when another one comes; so is
    a search for the knife that breaks it, which a button stops as well.
    """

    def __init__(self, knife, id="doubles"):
        """Judge the claim and build the widgets; KeyError for an unknown claim."""
        self._knife, self._lock, self._quiet, self._known = knife, threading.RLock(), False, {}
        self._workers, self._job, self._working, self._called_off = (
            ThreadPoolExecutor(2),
            0,
            Future(),
            threading.Event(),
        )
        first = claims[id]
        self.choose = widgets.Dropdown(
            options=[(claim.sentence, name) for name, claim in claims.items()],
            value=first.id,
            description="Claim",
            tooltip="The claim to judge",
            layout=Layout(width="100%", margin="0 0 6px 0"),
            style={"description_width": "46px"},
        )
        self.choose.observe(lambda change: self._choose(), "value")
        self._rows = widgets.VBox()
        reset, look = (
            self._button("Reset", "Every assumption as at the start", self._reset),
            self._button("Break it", _BREAK, self._break),
        )
        self._stop = self._button("Stop", "Stop looking for a knife that breaks it", self._stop_looking)
        self._buttons = widgets.HBox([reset, look, self._stop])
        self._answer = widgets.HTML(layout=Layout(min_height="150px", margin="0"))
        self._image, self._broken = widgets.HTML(layout=Layout(margin="0")), widgets.HTML()
        left = widgets.VBox(
            [self._rows, self._buttons, self._broken], layout=Layout(flex="0 0 350px", padding="4px 10px 0 0")
        )
        right = widgets.VBox([self._answer, self._image], layout=Layout(flex="1 1 480px", min_width="0"))
        body = widgets.HBox([left, right], layout=Layout(width="100%", flex_flow="row wrap"))
        super().__init__([self.choose, body], layout=Layout(max_width="1000px"))
        self.add_class("detent-panel")
        self._choose()
        self.wait()

    def __repr__(self):
        """Short, and the same on every run."""
        return f"<ClaimCard: {self._knife.title}, “{claims[self.choose.value].sentence}”>"

    def _repr_mimebundle_(self, **kwargs):
        """The live card, and beside it its words and a still picture for a viewer without a kernel."""
        still = {} if self._pixels is None else {"image/png": base64.b64encode(small_png(self._pixels)).decode()}
        return {**super()._repr_mimebundle_(**kwargs), "text/plain": f"{self!r}\n{self.answer}", **still}

    def switch(self, **options):
        """Set assumptions by name, with one redraw: `card.switch(blade="plane", arms="equal")`. KeyError for one the claim has not."""
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
        claim = claims[self.choose.value]
        self.switches = {name: self._switch(name, claim.start.get(name)) for name in claim.switches}
        self._rows.children = [
            widgets.HBox([_label(SWITCHES[name].label), buttons]) for name, buttons in self.switches.items()
        ]
        self._changed()

    def _switch(self, name, start):
        options = SWITCHES[name].options
        wide = 210 // len(options) - 4
        buttons = widgets.ToggleButtons(
            options=list(options),
            value=start or next(iter(options)),
            tooltip=SWITCHES[name].label,
            tooltips=[f"{SWITCHES[name].label}: {option.said}" for option in options.values()],
            style={"button_width": f"{wide}px"},
            layout=Layout(margin="0 0 2px 0"),
        )
        buttons.observe(lambda change: self._changed(), "value")
        return buttons

    def _button(self, label, tip, act):
        button = widgets.Button(description=label, tooltip=tip, layout=Layout(width="100px", margin="8px 8px 4px 0"))
        button.on_click(lambda _: act())
        return button

    def wait(self):
        """Wait until what was clicked last is worked out; raises what went wrong there."""
        self._working.result()

    def _told(self, job, tell, *given):
        """Tell what a job has found, unless another click has come since."""
        with self._lock:
            if job == self._job:
                tell(*given)

    def _changed(self):
        """An assumption or the claim was changed by a click."""
        if not self._quiet:
            self._start()
            self._working = self._workers.submit(self._show, self._job)

    def _start(self):
        """Nothing of what was shown before: no old verdict stands under another claim, not even while that is judged."""
        with self._lock:
            self._job += 1
            self._asked = (self.choose.value, {name: buttons.value for name, buttons in self.switches.items()})
            self.verdict, self.alt, self._pixels = None, "", None
            self._call_off()
            self._broken.value = self._image.value = ""
            self._say("Judging …", [])

    def _show(self, job):
        """Judge, then the words at once, and the picture when every other assumption is judged as well; dropped when another click comes."""
        id, chosen = self._asked
        if job != self._job:
            return
        try:
            found = self._judge(id, chosen)
        except KnifeError as error:
            self._told(job, self._say, f"This claim cannot be judged here. {error.problems[0]}", [])
            return
        head = f"{found.word.upper()}{' with these instruments' if found.word == OPEN else ''}"
        lines = [
            f"{found.claim.number.said}: {found.figure}.",
            f"Scale: {found.scale.said(found.unit)}.",
            *filter(None, [found.share_words]),
        ]
        self._told(job, self._say, head, [*lines, "Trying every other assumption …"])
        for other in found.other_options:
            if job != self._job:
                return
            found.other(*other)
        self._told(
            job,
            self._finish,
            found,
            head,
            [*lines, f"Flips it: {'; '.join(found.flip_words)}", f"Next: {found.next_words}"],
        )

    def _finish(self, found, head, lines):
        self.verdict = found
        self._say(head, lines)
        self._draw()

    def _judge(self, id, chosen):
        """The Verdict, kept so that switching back is at once."""
        key = (id, *chosen.items())
        if key not in self._known:
            self._known[key] = judge(id, self._knife, **chosen)
        return self._known[key]

    def _say(self, head, lines):
        claim = claims[self._asked[0]]
        self.answer = "\n".join([f"“{claim.sentence}” ({claim.says}): {head}", *lines])
        body = "".join(f"<div>{in_html(line)}</div>" for line in lines)
        self._answer.value = (
            '<div role="status" aria-live="polite" style="font-size:14px;line-height:1.45;max-width:640px">'
            f'<div>“{in_html(claim.sentence)}” ({in_html(claim.says)})</div><div style="font-size:19px"><b>{in_html(head)}</b></div>{body}</div>'
        )

    def _draw(self):
        figure = verdict_picture(self.verdict)
        figure.set_dpi(_DPI)
        canvas = FigureCanvasAgg(figure)
        canvas.draw()
        self._pixels, self.alt = np.array(canvas.buffer_rgba())[..., :3], picture_words(self.verdict)
        height, width = self._pixels.shape[:2]
        self._image.value = picture(png(self._pixels), self.alt, (width, height))

    def _reset(self):
        start = claims[self.choose.value].start
        self.switch(**{name: start.get(name, buttons.options[0]) for name, buttons in self.switches.items()})

    def _break(self):
        """Look for the nearest knife for which it flips; says so first, as it takes some seconds."""
        self._call_off()
        self._called_off, self._stop.disabled = threading.Event(), False
        self._tell("Looking for the nearest knife that flips it …")
        self._working = self._workers.submit(self._look, *self._asked, self._called_off)

    def _look(self, id, chosen, called_off):
        try:
            found = str(break_it(id, self._knife, stop=called_off.is_set, **chosen))
        except KnifeError as error:
            found = str(error)
        except Stopped:
            return
        with self._lock:
            if not called_off.is_set():
                self._call_off()
                self._tell(found)

    def _stop_looking(self):
        self._call_off()
        self._tell("Stopped.")

    def _call_off(self):
        """No search goes on, and there is none to stop."""
        with self._lock:
            self._called_off.set()
            self._stop.disabled = True

    def _tell(self, said):
        self._broken.value = spoken(said, "line-height:1.4;max-width:320px;white-space:pre-line")


_BREAK = "The nearest change of the knife, in shop tolerances, for which the verdict flips"


def _label(words):
    return widgets.Label(words, tooltip=words, layout=Layout(width="108px"))
