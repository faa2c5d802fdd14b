"""The button that swings the blade of a panel."""

import time
from collections.abc import Callable
from typing import NamedTuple

import ipywidgets as widgets
import numpy as np

from .card import button
from .controls import Num

SWING = 6.0  # s, from one end of the blade angle to the other
_AT_END = 1e-6  # of the way, from which the swing begins anew
_PLAY, _STOP = "Play the swing", "Stop"


class Pace(NamedTuple):
    """How the way of the blade is shared out: share (0 to 1) of an angle [°], and angle of a share."""

    share: Callable[[float], float]
    angle: Callable[[float], float]


class Play:
    """A button that moves the blade angle to its end, and stops there; `button` is to be shown.

    The next step waits until the browser has the one before: with each picture goes a number, which a link in the
    browser writes into a second one, and so hands it back. A slow machine takes fewer steps, and none pile up.
    """

    def __init__(self, num: Num, back: Callable[[], bool], step: Callable[[float], object], pace: Pace | None = None):
        """num: of the blade angle. back: whether the blade is on its way shut. step: called with each angle [°]. pace:
        of a picture whose scale is not even.
        """
        self._num, self._back, self._step, self.playing = num, back, step, False
        ends = num.control.lo, num.control.hi
        self._pace = pace or Pace(
            lambda angle: np.interp(angle, ends, (0, 1)), lambda share: np.interp(share, (0, 1), ends)
        )
        self.button = button(_PLAY, "Swing the blade from end to end, or stop it", self._press, width="auto")
        self.button.layout.margin = "4px 8px 2px 8px"
        self._sent, self._shown = widgets.IntText(), widgets.IntText()
        self._link = widgets.jslink((self._sent, "value"), (self._shown, "value"))
        self._shown.observe(self._next, "value")

    def stop(self) -> None:
        """Stand still where the blade is."""
        self.playing, self.button.description = False, _PLAY

    def _press(self):
        if self.playing:
            self.stop()
            self._step(self._num.value)  # said once more, for who only hears it
            return
        start, self._end = (1.0, 0.0) if self._back() else (0.0, 1.0)
        now = float(self._pace.share(self._num.value))
        self._from = start if abs(now - self._end) < _AT_END else now
        self._began, self.playing, self.button.description = time.monotonic(), True, _STOP
        self._go(self._from)

    def _next(self, change):
        """The browser has shown the last step."""
        if not self.playing or change["new"] != self._sent.value:
            return
        way = 1 if self._end else -1
        share = self._from + way * (time.monotonic() - self._began) / SWING
        if not 0 < share < 1:
            self.stop()
        self._go(min(max(share, 0.0), 1.0))

    def _go(self, share):
        """To the place on the slider's grid that is nearest to a share of the way; at the ends exactly."""
        control = self._num.control
        steps = round((float(self._pace.angle(share)) - control.lo) / control.step)
        self._step(control.hi if share == 1 else min(control.lo + steps * control.step, control.hi))
        self._sent.value += 1
