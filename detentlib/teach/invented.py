"""Invented readings of the demo knives: `python -m detentlib.teach.invented` writes every file of notebooks/readings.

Made from the model with fixed seeds and the noise of the demo (one standard deviation: 0.15 N, 0.3°, 0.003 mm), so that
what a reader finds in them can be held against what was put in. The first line of each file says that it is invented.
"""

from pathlib import Path

import numpy as np

from ..files import read_knife
from ..mechanics.feel import feel
from ..mechanics.sweep import sweep
from ..readings import readings_from_text
from ..writing import write_file
from .invented_photo import PIXELS_PER_MM, SEAT, photo

FORCE, ANGLE, LIFT, PIXEL = 0.15, 0.3, 0.003, 1.5
ON_STOP = 5
CLIMB = np.linspace(0.025, 6.0, 240)
GAUGED = np.linspace(0.0, 5.5, 23)


def lift_trace_rows(knife, seed, climb=CLIMB, far=()):
    """Angles [deg] and lifts [mm] as an indicator over ball 1 and a protractor would read them.

    Five readings on the stop, where the angle is sure, then the climb, then the angles `far` round the swing. The
    indicator's zero is where it happened to stand.
    """
    rng = np.random.default_rng(seed)
    true = np.concatenate([np.zeros(ON_STOP), climb, far])
    read = true + np.where(true > 0, ANGLE * rng.standard_normal(true.size), 0.0)
    return read, sweep(knife, true).gap - 0.2 + LIFT * rng.standard_normal(true.size)


def pull_rows(knife, seed, count=5):
    """Opening and let-back pulls [N] of a gauge on the whole knife."""
    rng, felt = np.random.default_rng(seed), feel(knife)
    return felt.gauge_break_force + FORCE * rng.standard_normal(count), felt.gauge_letback_force + FORCE * rng.standard_normal(count)


def force_rows(knife, seed, angles=GAUGED):
    """Angles [deg] and opening forces [N] of a gauge that follows the blade."""
    rng = np.random.default_rng(seed)
    read = angles + np.where(angles > 0, ANGLE * rng.standard_normal(angles.size), 0.0)
    force = sweep(knife, angles).tab_force + knife.friction.pivot_torque / knife.blade.tab_arm
    return read, force + FORCE * rng.standard_normal(angles.size)


def edge_rows(radius, centre, seed, arc_deg=(0.0, 330.0), count=16):
    """Points [px] picked along a round edge of a given radius and centre [mm] on a photo."""
    rng = np.random.default_rng(seed)
    turn = np.radians(np.linspace(*arc_deg, count))
    points = np.column_stack([centre[0] + radius * np.cos(turn), centre[1] + radius * np.sin(turn)]) * PIXELS_PER_MM
    return (points + PIXEL * rng.standard_normal(points.shape)).T


def files(knives):
    """Every file of notebooks/readings as {name: text}; knives: {"a": Knife, ...} of the demo."""
    a = knives["a"]
    dry = a.replace({"friction.rim": 0.28, "friction.flat": 0.28})
    ball, recess = a.balls[0], a.balls[0].recess
    far = np.arange(150.0, 178.5, 0.5)
    made = {
        f"lift-trace-{letter}.csv": _text(
            f"Pellowfen {letter.upper()}, dial indicator over ball 1", "angle [deg],lift [mm]", lift_trace_rows(knives[letter], 11 + k, far=far), (2, 4)
        )
        for k, letter in enumerate("abc")
    }
    made["two-way-pull-a-dry.csv"] = _text("Pellowfen A as found, degreased", "opening [N],letting back [N]", pull_rows(dry, 21), (2, 2))
    made["two-way-pull-a-oiled.csv"] = _text("Pellowfen A after one drop of oil", "opening [N],letting back [N]", pull_rows(a, 22), (2, 2))
    made["two-way-pull-c.csv"] = _text("Pellowfen C as found, oiled", "opening [N],letting back [N]", pull_rows(knives["c"], 27), (2, 2))
    made["force-angle-a.csv"] = _text("Pellowfen A, gauge at the tab, opening", "angle [deg],force [N]", force_rows(a, 23), (2, 2))
    made["photo-rim-a.csv"] = _text("Pellowfen A, rim of the recess, 400 px in a millimetre", "x [px],y [px]", edge_rows(recess.diameter / 2, SEAT, 24), (1, 1))
    made["photo-ball-a.csv"] = _text(
        "Pellowfen A, edge of the ball, second photo laid over the first by pivot and stop",
        "x [px],y [px]",
        edge_rows(ball.radius, (SEAT[0] + recess.rest_offset, SEAT[1]), 25),
        (1, 1),
    )
    made["photo-rim-worn.csv"] = _text(
        "a worn rim of which only a short arc is left", "x [px],y [px]", edge_rows(recess.diameter / 2, SEAT, 26, (-35.0, 35.0), 12), (1, 1)
    )
    return made


def _text(what, header, columns, places):
    rows = "\n".join(",".join(f"{value:.{digits}f}" for value, digits in zip(row, places, strict=True)) for row in zip(*columns, strict=True))
    text = f"# invented readings, made from the model with a fixed seed: {what}\n{header}\n{rows}\n"
    readings_from_text(text)
    return text


def main(folder=Path("notebooks")):
    """Write the files; run in the folder that holds notebooks/."""
    knives = {letter: read_knife(folder / "knives" / f"pellowfen-{letter}.toml") for letter in "abc"}
    (folder / "readings").mkdir(exist_ok=True)
    for name, text in files(knives).items():
        write_file(folder / "readings" / name, text, ".csv", replace=True)
    write_file(folder / "readings" / "photo-a.png", photo(knives["a"]), ".png", replace=True)


if __name__ == "__main__":
    main()
