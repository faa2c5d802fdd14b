"""The invented readings of the demo: `python -m tests.invented` writes every file of notebooks/readings.

The stick-and-slip simulator, which knows none of the library's formulas, works the knives of the cards, with a light
edge on every rim. A Hand reads them as an ordinary bench does, with fixed seeds: a protractor whose zero is off and
that is read to half a degree, an arm that drifts, pulls that stick and slip, photos taken a little askew.
"""

from functools import cache

import numpy as np

import detentlib as dl
from detentlib.files.writing import write_file
from detentlib.measure.readings import KINDS, PIXEL, readings_from_text
from tests.invented_photo import OVAL, PIXELS_PER_MM, SEAT, photo
from tests.knives import CARDS, FOLDER
from tests.readings_made import FORCE, Hand, seen

READINGS = FOLDER.parent / "readings"
EDGE = 0.008  # mm, by which every rim is rounded
FAULTS = {"zero": 0.2, "shake": 0.25, "drift": 0.5, "steps": (0.5, 0.0), "stick_slip": 0.02, "gauge": 0.2}
PATTERN, PULLS = 12, 3  # knives, pulls of each
FAR = np.arange(150.0, 178.5, 0.5)


@cache
def runs():
    """What the knives behind the readings do: a Seen of each."""
    light = {letter: CARDS[letter.upper()] for letter in "abc"}
    light = {
        name: card.replace({f"balls[{i}].recess.edge_radius": EDGE for i in range(len(card.balls))})
        for name, card in light.items()
    }
    light["dry"] = light["a"].replace({"friction.rim": 0.28, "friction.flat": 0.28})
    return dict(zip(light, seen(light.values()), strict=True))


def files():
    """Every table of notebooks/readings as {name: text}."""
    a, c, dry = (runs()[name] for name in ("a", "c", "dry"))
    ball, recess = a.knife.balls[0], a.knife.balls[0].recess
    rim, beside = (recess.diameter / 2, OVAL, SEAT), (SEAT[0] + recess.rest_offset, SEAT[1])
    traces = {
        f"lift-trace-{letter}.csv": _text(
            f"Pellowfen {letter.upper()}, dial indicator over ball 1",
            _hand(seed).trace(runs()[letter], far=FAR),
            (1, 3),
        )
        for letter, seed in {"a": 35, "b": 37, "c": 13}.items()
    }
    return traces | {
        "two-way-pull-a-dry.csv": _text(
            "Pellowfen A as found, degreased", _hand(21, stick_slip=0.06).pulls(dry), (2, 2)
        ),
        "two-way-pull-a-oiled.csv": _text("Pellowfen A after one drop of oil", _hand(28).pulls(a), (2, 2)),
        "two-way-pull-c.csv": _text("Pellowfen C as found, oiled", _hand(27).pulls(c), (2, 2)),
        "force-angle-a.csv": _text("Pellowfen A, gauge at the tab, opening", _hand(23).forces(a), (1, 2)),
        "photo-rim-a.csv": _points("Pellowfen A, rim of the recess, 400 px in a millimetre", _hand(24).edge(*rim)),
        "photo-ball-a.csv": _points(
            "Pellowfen A, edge of the ball, second photo laid over the first by pivot and stop",
            _hand(25).edge(ball.radius, OVAL, beside),
        ),
        "batch-pellowfen-a.csv": _batch(),
        "photo-rim-worn.csv": _points(
            "a worn rim of which only a short arc is left", _hand(26).edge(*rim, (-35.0, 35.0), 12)
        ),
    }


def _batch():
    """Twelve knives of one pattern as a shop makes them, three pulls each; the eighth came back from the wash
    without oil.
    """
    made = dl.tolerance(CARDS["A"], n=PATTERN, seed=41, made=True).values("gauge_break_force")
    dry = dl.feel(CARDS["A"].replace({"friction.rim": 0.28})).gauge_break_force
    true = np.where(np.arange(PATTERN) == 7, dry, made[:PATTERN])
    pulls = np.random.default_rng(41).normal(np.repeat(true, PULLS), FORCE)
    rows = [f"A{i // PULLS + 1:02},{pull:.2f}" for i, pull in enumerate(pulls)]
    return _lines("twelve knives made to the card of Pellowfen A", KINDS["batch"].columns, rows)


def _hand(seed, **more):
    return Hand(seed, **FAULTS | more)


def _text(what, readings, places):
    return _table(what, KINDS[readings.kind].must, zip(*readings.columns.values(), strict=True), places)


def _points(what, points):
    return _table(what, {"x": PIXEL, "y": PIXEL}, points * PIXELS_PER_MM, (1, 1))


def _table(what, units, rows, places):
    lines = [",".join(f"{value:.{digits}f}" for value, digits in zip(row, places, strict=True)) for row in rows]
    return _lines(what, [f"{name} [{unit}]" for name, unit in units.items()], lines)


def _lines(what, columns, lines):
    head = f"# invented readings, made by a simulator with the faults of a bench and a fixed seed: {what}"
    text = "\n".join([head, ",".join(columns), *lines, ""])
    readings_from_text(text)
    return text


def main(folder=READINGS):
    """Write the files."""
    for name, text in files().items():
        write_file(folder / name, text, ".csv", replace=True)
    write_file(folder / "photo-a.png", photo(runs()["a"].knife), ".png", replace=True)


if __name__ == "__main__":
    main()
