"""The panel of every notebook: sliders, one picture, and over it a number and a sentence that say what happens now.

A panel is declared from a knife, a list of `Control` and a scene, a Picture (scene.py) that holds

    title, figure, moving (the artists that move, back to front)
    show(knife, extras, measure) -> Words, computed in full before any artist is touched
    keep() and forget(): freeze the curves of now as "before", and drop them
    relabel(measure): axes in the units of the measure
"""

import base64
import difflib
import functools
import io
import threading
from collections.abc import Iterable, Mapping, Sequence
from contextlib import contextmanager
from typing import TYPE_CHECKING

import ipywidgets as widgets
import numpy as np
import PIL.Image
from ipywidgets import Layout
from matplotlib.artist import Artist
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from ..knife.parts import Knife, KnifeError, name_of
from ..knife.plain import in_html, in_picture
from ..say.measure import MM, THOU
from .card import ANSWER, Card, button, menu, picture, spoken
from .controls import BLADE_ANGLE, Control, Dropdown, Make, Num, Setting
from .drawing import pixels_of, still_palette
from .play import Play
from .story import WAYS
from .words import first_up, large

if TYPE_CHECKING:
    from .scene import Picture

STILL_BYTES = 20_000  # a notebook is stored with its stills
SHADES = 16  # more than an eye tells apart

# The picture keeps the width at which its words are 10 px high: the sliders beside it give way first, and the prompt to
# the left. Where that is not enough it comes first, and stays in view while they move under it. It can only where none
# of the boxes around it scrolls by itself.
_STYLE = """<style>
.detent-panel:has(.detent-columns) { container-type: inline-size; }
.detent-panel .detent-columns {
    display: grid;
    grid-template: 'set seen' auto 'set rest' 1fr / clamp(17.5em, 100cqw - 658px, 24.8em) minmax(0, 1fr);
}
.detent-set .widget-inline-hbox .widget-label { flex: 1 1 auto; height: auto; line-height: 1.2; white-space: normal; }
.detent-set .widget-text { align-items: center; height: auto; }
.detent-set .widget-text input { flex: 0 1 8em; min-width: 5em; }
.detent-set .widget-hbox > .widget-label { flex-shrink: 1; min-width: min-content; }
.detent-set .widget-toggle-buttons { flex: 0 1 auto; min-width: 0; }
.detent-set .widget-toggle-buttons > div { display: flex; }
.detent-set .widget-toggle-buttons button { flex: 0 1 7.5em; min-width: min-content; padding: 0 3px; }
.detent-set .widget-button { padding: 0 4px; }
.detent-set { grid-area: set; padding: 4px 8px 0 0; max-width: 24.8em; }
.detent-seen { grid-area: seen; align-self: start; background: var(--jp-layout-color0, white); }
.detent-rest { grid-area: rest; min-height: 63px; }
.detent-said { height: 122px; }
@container (max-width: 880px) {
    .detent-said { height: 142px; }
    .detent-rest { min-height: 104px; }
    .detent-panel .detent-columns { grid-template: 'seen' auto 'set' auto 'rest' auto / minmax(0, 1fr); }
    @media (min-height: 600px) {
        .detent-seen { position: sticky; top: 0; z-index: 2; }
        .detent-seen img { width: auto; max-height: 52vh; }
        .detent-set :is(input, select, button, .noUi-handle) { scroll-margin-top: calc(52vh + 200px); }
    }
}
.jp-OutputArea:has(.detent-columns), .jp-OutputArea-child:has(.detent-columns),
.jp-OutputArea-output:has(.detent-columns), .detent-panel:has(.detent-columns),
.detent-panel .detent-columns, .detent-columns .widget-box { overflow: visible; }
@container (max-width: 520px) { .detent-said { height: 188px; } }
@media (max-width: 1080px) { .jp-OutputArea-child:has(.detent-columns) > .jp-OutputPrompt { display: none; } }
</style>"""


class Blit:
    """A figure whose fixed part is drawn once and kept as pixels; a redraw paints the moving artists over it.

    figure: a Figure without pyplot, so that nothing global is touched from the thread of a slider.
    """

    def __init__(self, figure: Figure, moving: Iterable[Artist]):
        """Take the moving artists out of the ordinary drawing, back to front."""
        self.canvas, self.moving = FigureCanvasAgg(figure), list(moving)
        for artist in self.moving:
            artist.set_animated(True)
        self.rebuild()

    def rebuild(self) -> None:
        """Draw the fixed part again: after new ticks, limits or titles."""
        self.canvas.draw()
        self._fixed = self.canvas.copy_from_bbox(self.canvas.figure.bbox)

    def pixels(self) -> np.ndarray:
        """The picture as it is now, RGB [height, width, 3]."""
        self.canvas.restore_region(self._fixed)
        for artist in self.moving:
            artist.axes.draw_artist(artist)
        return np.array(self.canvas.buffer_rgba())[..., :3]


@functools.cache
def _palette(shades):
    palette = PIL.Image.new("P", (1, 1))
    palette.putpalette(still_palette(shades))
    return palette


def png(pixels: np.ndarray, shades: int = SHADES, **options: int) -> bytes:
    """The pixels as PNG bytes in the colours of drawing.py with so many shades of each; options: of the encoder."""
    file = io.BytesIO()
    picture = PIL.Image.fromarray(pixels).quantize(palette=_palette(shades), dither=PIL.Image.Dither.NONE)
    picture.save(file, "png", **options or {"compress_level": 1})
    return file.getvalue()


def small_png(pixels: np.ndarray) -> bytes:
    """The pixels as PNG bytes with as many shades as let it be small enough."""
    found = (png(pixels, shades, optimize=True) for shades in (4, 3, 2, 1))
    return next((each for each in found if len(each) <= STILL_BYTES), png(pixels, 1, optimize=True))


def still_of(pixels: np.ndarray) -> dict[str, str]:
    """The pixels as a small picture beside a widget, for a viewer without a kernel."""
    return {"image/png": base64.b64encode(small_png(pixels)).decode()}


class Panel(Card):
    """Sliders to the left; to the right one number now, before and changed, a sentence, one picture, and the rest in
    words. Where it is narrow the picture comes first.

    knife: the Knife to start from. controls: of Control. presets: {name: {path: value}}, each set under one redraw.
    choice: an optional Dropdown. make(knife, extras): the knife as the controls and the choice have it that are no
    numbers of the knife. `knife`, `answer` and `alt` hold what is shown now. A setting that cannot be keeps the last
    picture, greyed, and the sentence says why and what to do. Before is what was kept last, else the start.

    Raises ValueError (KnifeError for a path) naming near names where a control or preset names nothing.
    """

    def __init__(
        self,
        knife: Knife,
        controls: Sequence[Control],
        scene: "Picture",
        presets: Mapping[str, Setting] | None = None,
        choice: Dropdown | None = None,
        make: Make | None = None,
    ):
        """Build the widgets and draw the start; a knife that cannot be drawn raises its KnifeError here."""
        self._base, self._scene, self._choice = knife, scene, choice
        self._make = make or (lambda knife, extras: knife)
        self._lock, self._quiet, self._measure = threading.RLock(), False, MM
        self._nums = {control.path: Num(control.of(knife), self._moved, self._refuse) for control in controls}
        angle = self._nums.get(BLADE_ANGLE)
        self._play = Play(angle, self._on_the_way_back, self._swing, scene.pace) if angle else None
        self._extras = [control.path for control in controls if control.start is not None]
        self._presets = presets or {}
        for name, values in self._presets.items():
            self._check_names(values, f"preset {name!r}")
        scene.relabel(MM)
        self._blit = Blit(scene.figure, scene.moving)
        self._answer = widgets.HTML(layout=Layout(margin="0", overflow="hidden auto")).add_class("detent-said")
        self._image, self._rest = widgets.HTML(layout=Layout(margin="0")), widgets.HTML(layout=Layout(margin="0"))
        super().__init__([self._laid_out()], layout=Layout(max_width="1110px"))
        self.add_class("detent-panel")
        self.alt, self._before = "", None  # nothing is shown yet
        self._show()
        self._start = self._before = self._words.number.value

    def __repr__(self):
        """Short, and the same on every run."""
        return f"<Panel: {self._scene.title}, {self._base.title}>"

    def _repr_mimebundle_(self, **kwargs):
        """The live widget, and beside it a still: number and sentence over the picture, and in words what it shows."""
        pixels = self._blit.pixels()
        width = pixels.shape[1]
        said = self._words._replace(rest="").answer(self._measure)  # number and sentence
        caption = Figure(figsize=(width / 100, 0.5), dpi=100)
        words = caption.text(0.01, 0.5, in_picture(said), fontsize=9, va="center", wrap=True)
        words._get_wrap_line_width = lambda: 0.97 * width
        still = still_of(np.vstack([pixels_of(caption), pixels]))
        return {**super()._repr_mimebundle_(**kwargs), **still}, {"image/png": {"alt": self.alt}}

    def move(self, values: Setting) -> None:
        """Set controls and the choice by name, {"blade angle": 2.0, ...} in mm, N, °, with one redraw.

        Raises ValueError for a name that the panel does not have, and for a number beyond the slider's ends.
        """
        self._check_names(values, "move")
        with self._together():
            for name, value in values.items():
                if name in self._nums:
                    self._nums[name].put(value)
                else:
                    self._choose.value = value

    def _check_names(self, values, where):
        known = [*self._nums, *([self._choice.name] if self._choice else [])]
        for name in values:
            if name not in known:
                near = difflib.get_close_matches(name, known, 2, 0.4) or known
                raise ValueError(f"{where}: the panel has no control {name}. Did you mean {' or '.join(near)}?")
            control = self._nums[name].control if name in self._nums else None
            if control and not control.lo <= values[name] <= control.hi:
                ends = f"from {control.lo:g} to {control.hi:g}, not to {values[name]:g}"
                raise ValueError(f"{where}: {control.label} runs {ends}")

    def _laid_out(self):
        self._units = self._buttons("Show in", (("mm, N", MM), ("thou, lbf", THOU)))
        self._units.observe(lambda change: self._change_measure(change["new"]), "value")
        rows = [self._named("Units", self._units)]
        if self._choice:
            self._choose = self._buttons(self._choice.label, self._choice.options)
            self._choose.observe(lambda change: self._moved(), "value")
            rows.append(self._named(self._choice.label, self._choose))
        tries, look = [("as set below", ""), *((name, name) for name in self._presets)], {"margin": "0 0 4px 0"}
        self._preset = menu("Try", tries, "Set several sliders at once", label_width="4.6em", width="auto", **look)
        self._preset.observe(lambda change: self._use_preset(change["new"]), "value")
        rows += [self._preset] if self._presets else []
        rows += [*self._nums.values(), *([self._play.button] if self._play else [])]
        buttons = [button("Reset", "Everything as it was at the start", self._reset, flex="1 1 0")]
        if self._nums.keys() - {BLADE_ANGLE}:  # else no control changes the curves
            tip = "Freeze the curves of now in grey, to compare with"
            buttons.insert(0, button("Keep as before", tip, self._keep, flex="1 1 0"))
        rows.append(widgets.HBox(buttons, layout=Layout(margin="6px 0 0 0")))
        columns = [
            widgets.VBox(rows).add_class("detent-set"),
            widgets.VBox([self._answer, self._image]).add_class("detent-seen"),
            self._rest.add_class("detent-rest"),
            widgets.HTML(_STYLE, layout=Layout(display="none")),
        ]
        return widgets.Box(columns).add_class("detent-columns")

    def _buttons(self, label, options):
        return widgets.ToggleButtons(
            options=options,
            tooltip=label,
            tooltips=[f"{label}: {option if isinstance(option, str) else option[0]}" for option in options],
            style={"button_width": "7.5em"},
            layout=Layout(margin="0 0 2px 0"),
        )

    def _named(self, label, buttons):
        """Two buttons with their name in front; three fill the width, so that theirs stands above."""
        few = len(buttons.options) < 3
        width, side = ("4.6em", "flex-end") if few else ("23.8em", "flex-start")
        layout = Layout(width=width, display="flex", justify_content=side)
        return (widgets.HBox if few else widgets.VBox)([widgets.Label(label, tooltip=label, layout=layout), buttons])

    @contextmanager
    def _together(self):
        """Many changes, one redraw."""
        with self._lock:
            self._quiet = True
            try:
                yield
            finally:
                self._quiet = False
            self._show()

    def _moved(self):
        """A person moved one control: the preset no longer says what is set."""
        if not self._quiet:
            self._stand_still()
            with self._together():
                self._preset.value = ""

    def _refuse(self, said):
        """Say why a typed number is not taken; what is shown stays."""
        self._stand_still()
        self._say(said)

    def _stand_still(self):
        if self._play:
            self._play.stop()

    def _on_the_way_back(self):
        return bool(self._choice) and WAYS.get(self._choose.value) == -1

    def _swing(self, angle):
        self.move({BLADE_ANGLE: angle})

    def _use_preset(self, name):
        if name and not self._quiet:
            self._stand_still()
            with self._together():
                self._put_back(self._presets[name])

    def _put_back(self, but):
        """Every number as at the start, but those given; each is set once, as the browser answers every change."""
        for path, num in self._nums.items():
            num.put(but.get(path, num.control.start))

    def _reset(self):
        self._stand_still()
        with self._together():
            self._scene.forget()
            self._before = self._start
            self._put_back({})
            self._preset.value = ""
            if self._choice:
                self._choose.value = self._choice.options[0]

    def _keep(self):
        with self._together():
            self._scene.keep()
            self._before = self._words.number.value

    def _change_measure(self, measure):
        with self._together():
            self._measure = measure
            for num in self._nums.values():
                num.show_in(measure)
            self._scene.relabel(measure)
            self._blit.rebuild()

    def _show(self):
        """Compute, draw, say: the one way from the sliders to what is seen."""
        values = {path: num.value for path, num in self._nums.items()}
        extras = {name: values.pop(name) for name in self._extras}
        if self._choice:
            extras[self._choice.name] = self._choose.value
        try:
            knife = self._make(self._base.replace(values), extras)
            words = self._scene.show(knife, extras, self._measure)
        except KnifeError as error:
            if not self.alt:
                raise
            self._tell(self._refusal(error))
            self._picture(f"The last knife that works: {self.alt}", "filter:grayscale(1);opacity:.4;")
            return
        self.knife, self._words, self._png = knife, words, png(self._blit.pixels())
        self.answer = words.answer(self._measure)
        self.alt = f"{words.seen} {self.answer}"
        self._say(words.sentence)
        self._picture(self.alt)

    def _refusal(self, error):
        """Why it cannot be and what to do, by the labels that stand on the panel, other numbers in words."""
        labels = {path: name_of(path, self._base) for path in self._base.paths()}
        labels |= {path: num.control.label for path, num in self._nums.items()}
        problem = error.problems[0]
        said = problem._replace(where=labels.get(problem.where, problem.where))
        return f"This cannot be. {first_up(str(said))} The grey picture is the last one that works."

    def _tell(self, text):
        self.answer, self._rest.value = text, ""
        self._answer.value = spoken(text, ANSWER)

    def _say(self, sentence):
        """The number with the sentence under it, and the rest; a swing is not read out at every step."""
        number, loud = self._words.number, not (self._play and self._play.playing)
        before = next(value for value in (number.against, self._before, number.value) if value is not None)
        self._answer.value = large(number, before, sentence, self._measure, loud)
        self._rest.value = f'<div style="{ANSWER}">{in_html(self._words.rest)}</div>'

    def _picture(self, alt, look=""):
        width, height = (round(side * 100) for side in self._scene.figure.get_size_inches())
        self._image.value = picture(self._png, alt, (width, height), look)
