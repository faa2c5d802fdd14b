"""The strip of notebook 04: the load of each ball against the press-depth difference, with the sharing band and what a press repeats."""

import numpy as np
from matplotlib.patches import Rectangle

from ..tune.pair import PRESS, shared_loads
from .drawing import BALLS, CONE, GREY, GRID, INK, SMALL, STYLES, unit_axis

_POINTS = 41


class Strip:
    """Loads of both balls at one blade angle over the press-depth difference; `artists` move, back to front."""

    def __init__(self, ax, ends, most):
        """ends: of the press-depth difference [mm]; most: the greatest load [N]."""
        self.ax, self.ends = ax, ends
        ax.set(xlim=ends, ylim=(0, 2.05 * most))
        ax.grid(color=GRID, lw=0.8)
        ax.tick_params(labelsize=SMALL)
        ax.spines[["top", "right"]].set_visible(False)
        across = ax.get_xaxis_transform()
        self.band = ax.add_patch(Rectangle((0, 0), 0, 1, transform=across, fc=CONE, ec="none"))
        self.hair = ax.add_patch(Rectangle((0, 0), 0, 1, transform=across, fc="none", ec=INK, lw=0.9))
        self.lines = [ax.plot([], [], color=BALLS[i], ls=STYLES[i], lw=2)[0] for i in (0, 1)]
        words = {"size": SMALL, "va": "center"}
        self.names = [ax.text(0, 0, f"ball {i + 1}", color=BALLS[i], va="bottom", ha=("right", "left")[i], size=SMALL) for i in (0, 1)]
        (self.upright,) = ax.plot([], [], color=INK, lw=1, ls=":", transform=across)
        self.presses = [ax.plot([], [], color=GREY, marker="|", ms=8, lw=1.6, transform=across)[0] for _ in PRESS]
        self.press_names = [ax.text(0, 0, "", transform=across, color=GREY, **words) for _ in PRESS]
        (self.dots,) = ax.plot([], [], "o", ms=6, mfc="white", mec=INK, mew=1.5, clip_on=False)
        self.said = ax.text(0, 1.05, "", transform=ax.transAxes, size=SMALL, va="bottom", color=INK)
        self._of_ball_2 = [self.upright, *self.presses, *self.press_names]
        self.artists = [self.band, self.hair, self.upright, *self.lines, *self.names, *self.presses, *self.press_names, self.dots, self.said]

    def relabel(self, measure):
        """Axes in the measure's units."""
        unit_axis(self.ax.xaxis, self.ends, "press-depth difference: ball 2 deeper by", "mm", measure, 9)
        unit_axis(self.ax.yaxis, (0, 0.55 * self.ax.get_ylim()[1]), "load", "N", measure, 2)

    def share(self, knife, band, deeper, angle, measure):
        """Two balls on one bar: what each carries at every press-depth difference, and the Band where both do."""
        at = np.union1d(np.linspace(*self.ends, _POINTS), [*np.linspace(band.ends, band.begins, 9), deeper])
        loads = shared_loads(knife, at, angle)
        self._draw(at, loads.T, deeper, loads[np.searchsorted(at, deeper)], measure)
        self.band.set(x=band.ends, width=band.width, visible=True)
        self.hair.set(x=(band.begins + band.ends - band.bar) / 2, width=band.bar, visible=True)
        self.said.set_text(f"both carry in the yellow only, {measure.short(band.width, 'mm')} wide; if only the bar gave, between the black lines")

    def apart(self, loads, deeper, measure, said):
        """One ball, or each on a bar of its own: loads [N] that the press-depth difference does not change."""
        self._draw(np.array(self.ends), [[load, load] for load in loads], deeper, loads, measure)
        for artist in (self.band, self.hair, *(artist for artist in self._of_ball_2 if len(loads) == 1)):
            artist.set_visible(False)
        self.said.set_text(said)

    def _draw(self, at, loads, deeper, now, measure):
        """Lines, dots and, about the setting of now, what a press repeats to the same scale."""
        shown = len(loads)
        for i, (line, name) in enumerate(zip(self.lines, self.names, strict=True)):
            line.set_visible(i < shown)
            name.set_visible(i < shown)
            if i < shown:
                line.set_data(at, loads[i])
                name.set_position((self.ends[1 - i] + i * 0.01 * np.ptp(self.ends), loads[i][-1 if i == 0 else 0]))
        self.dots.set_data([deeper] * shown, now)
        self.upright.set_data([deeper, deeper], [0, 1])
        for artist in self._of_ball_2:
            artist.set_visible(True)
        for k, (how, doubt) in enumerate(PRESS.items()):
            height = 0.93 - 0.17 * k
            self.presses[k].set_data([deeper - doubt, deeper, deeper + doubt], [height] * 3)
            left = deeper - self.ends[0] > 0.6 * np.ptp(self.ends)
            beside = doubt + 0.01 * np.ptp(self.ends)
            self.press_names[k].set(position=(deeper - beside if left else deeper + beside, height), ha="right" if left else "left")
            self.press_names[k].set_text(f"{how} ±{measure.short(doubt, 'mm')}")
