"""What a panel is declared from, and the number with its box and slider that a control becomes."""

import math
from collections.abc import Callable, Mapping
from typing import NamedTuple

import ipywidgets as widgets
from ipywidgets import Layout

from ..knife.parts import Knife, spec
from ..say.measure import MM, Measure

BLADE_ANGLE = "blade angle"  # the control that moves along the curves and changes none of them
Setting = Mapping[str, float | str]  # {name: where its slider stands, or the word chosen}
Make = Callable[[Knife, Setting], Knife]  # the knife with what no number of it says
_CLEAN = 9  # decimals at which the dust of binary fractions is wiped off


class Control(NamedTuple):
    """One slider: what it sets, its label and its range, which is widened to hold where it starts.

    path: a number of the knife as in Knife.get; or, with a start and its unit, a name that the scene knows, such as
    "blade angle". lo, hi, step: in mm, N or °, as the field has it.
    """

    path: str
    label: str
    lo: float
    hi: float
    step: float
    start: float | None = None
    unit: str = ""

    def of(self, knife: Knife) -> "Control":
        """The control with the knife's own number as its start; KnifeError for a path that the knife does not have."""
        if self.start is not None:
            start, unit = self.start, self.unit
        else:
            start, unit = knife.get(self.path), spec(self.path)["unit"]
        return self._replace(lo=min(self.lo, start), hi=max(self.hi, start), start=start, unit=unit)


class Dropdown(NamedTuple):
    """One of a few words to choose: the name that the scene knows, its label, the options, the first at the start."""

    name: str
    label: str
    options: tuple


class Num(widgets.VBox):
    """A number: a labelled box for exact values over a long slider.

    The two are linked here and not in the browser: there the box would be rounded to the slider's grid, and a
    drill size such as 1.1811 mm could not be typed. `value` stays in mm, N or ° whatever is shown.
    """

    def __init__(self, control: Control, moved: Callable[[], object], refuse: Callable[[str], object]):
        """control: with its start. moved: called without arguments when a person moved it. refuse: called with the
        sentence that says why a typed number is not taken.
        """
        self.control, self.value, self._moved, self._refuse = control, control.start, moved, refuse
        super().__init__(layout=Layout(overflow="hidden", margin="0 0 4px 0"))
        self.show_in(MM)

    def show_in(self, measure: Measure) -> None:
        """Label, range and value in the units of the measure; the number itself stays.

        Box and slider are made anew: a slider whose value and range change at once answers with a value of neither.
        """
        unit, factor = measure.unit(self.control.unit)
        step = _round_step(self.control.step * factor) if factor != 1 else self.control.step
        self._factor, self._step, self._digits = factor, step, max(0, -math.floor(math.log10(step))) + 2
        lo, hi = self._lo, self._hi = [self._shown(end) for end in (self.control.lo, self.control.hi)]
        self._unit = unit
        # a browser counts steps from the least number, here so that the grid passes through the start, which
        # the slider can then come back to exactly; the greatest number it reaches on the grid or off it
        below = math.ceil((self.control.start - self.control.lo) * factor / step - 1e-6)
        self._least = round(self.control.start * factor - below * step, _CLEAN)
        tip = f"{self.control.label}: {lo:.4g} to {hi:.4g} {unit}".strip()
        self.box = widgets.FloatText(
            self._in_box(),
            step=step,
            tooltip=tip,
            description=f"{self.control.label},\u00a0{unit}" if unit else self.control.label,
            style={"description_width": "auto"},
            layout=Layout(width="auto", margin="0 4px 0 0"),
        )
        self.slider = widgets.FloatSlider(
            self._on_slider(),
            min=self._least,
            max=hi,
            step=step,
            tooltip=tip,
            readout=False,
            layout=Layout(width="auto", height="22px", margin="0 16px 0 8px"),
        )
        self.box.observe(self._typed, "value")
        self.slider.observe(self._slid, "value")
        old, self.children = self.children, [self.box, self.slider]
        for widget in old:
            widget.close()

    def put(self, value: float) -> None:
        """Set the number without telling anybody."""
        self.value = value
        self.box.value = self._in_box()
        if not self._stands(self.slider.value):  # never push a slider back to where the hand already has it
            self.slider.value = self._on_slider()

    def _in_box(self):
        return round(self.value * self._factor, self._digits)

    def _shown(self, value):
        return round(value * self._factor, _CLEAN)

    def _on_slider(self):
        """Where the slider stands: at an end exactly, else at the nearest place of its grid."""
        if self.value in (self.control.lo, self.control.hi):
            return self._shown(self.value)
        steps = round((self.value * self._factor - self._least) / self._step)
        return min(round(self._least + steps * self._step, _CLEAN), self._shown(self.control.hi))

    def _stands(self, shown):
        """True where a slider at this place already says the value.

        The browser reckons its grid with other last digits, and answers a low end off its grid with the nearest place.
        """
        return abs(shown - self._on_slider()) <= self._step * 0.5001

    def _typed(self, change):
        typed, last = change["new"], 10.0**-self._digits  # an end with more decimals is typed as the box shows it
        if typed == self._in_box():
            return
        if self._lo - last <= typed <= self._hi + last:
            self._move(typed)
            return
        self.box.value = self._in_box()
        unit = self._unit and f" {self._unit}"
        ends, stays = f"{self._lo:.6g} to {self._hi:.6g}{unit}", f"It stays at {self._in_box():.6g}{unit}"
        wrong = f"{typed:.6g}{unit} lies beyond the ends of its slider"
        self._refuse(f"{self.control.label}: {wrong}, {ends}. {stays}.")

    def _slid(self, change):
        if not self._stands(change["new"]):
            self._move(change["new"])

    def _move(self, shown):
        # the slider's grid may begin beyond its low end, and a typed end is rounded
        self.put(min(max(round(shown / self._factor, _CLEAN), self.control.lo), self.control.hi))
        self._moved()


def _round_step(step):
    """The nearest of 1, 2, 5 × a power of ten, so that inches step in round numbers."""
    power = 10.0 ** math.floor(math.log10(step))
    return min((n * power for n in (1, 2, 5, 10)), key=lambda nice: abs(math.log(nice / step)))
