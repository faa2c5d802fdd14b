"""The demo knives, read from the files that the notebooks use; and knives at random that can be made."""

from dataclasses import replace
from pathlib import Path

import numpy as np
from hypothesis import strategies as st

import detentlib as dl

FOLDER = Path(__file__).resolve().parents[1] / "notebooks" / "knives"
CARDS = {letter: dl.read_knife(FOLDER / f"pellowfen-{letter.lower()}.toml") for letter in "ABCDE"}


def textbook(card):
    """The knife of a card as a textbook has it: a bar stiff sideways, and each ball as far short of concentric as
    A's loaded one.
    """
    offsets = {f"balls[{i}].recess.rest_offset": 0.060 for i in range(len(card.balls))}
    doubts = {
        path: doubt
        for path, doubt in card.doubts.items()
        if path not in ("bar.root_up", "bar.root_side", "blade.pivot_play")
    }
    doubts = {path: doubt for path, doubt in doubts.items() if not path.endswith("off_track")}
    return replace(card.replace(offsets | {"bar.side_compliance": 0.0}), doubts=doubts)


A, B, C, D, E = (textbook(card) for card in CARDS.values())

# ball 1 is held in the middle of its recess; ball 2 comes to its rim while it still sticks, and is never alone
JOINED = dl.Knife(
    "joined",
    [
        dl.Ball(1.5875, 0.4318, 8.2, 37.0, dl.Recess(1.3462, rest_offset=0.0762)),
        dl.Ball(1.5875, 0.381, 9.8, 37.0, dl.Recess(1.2954, rest_offset=0.0762)),
    ],
    dl.LockBar(18.0, rate=10.0, side_compliance=1 / 205.9),
    dl.Blade(13.5),
    dl.Friction(0.12, pivot_torque=3.5),
)

# ball 2 alone could carry just before ball 1 slips
LETS_GO_LATE = dl.Knife(
    "lets go late",
    [
        dl.Ball(2.0, 0.75, 6.0, 37.0, dl.Recess(1.5, rest_offset=0.0348)),
        dl.Ball(2.0885, 0.734, 7.5, 35.26, dl.Recess(1.5, rest_offset=0.0432)),
    ],
    dl.LockBar(14.0, rate=4.0, side_compliance=0.001),
    dl.Blade(10.0),
    dl.Friction(0.3),
)

# two balls share at rest, ball 2 nearly all of it soon after
SHARE_AT_REST = dl.Knife(
    "share at rest",
    [
        dl.Ball(1.513, 0.522, 6.0, 41.3, dl.Recess(1.409, rest_offset=0.099)),
        dl.Ball(1.0, 0.3, 12.0, 38.3, dl.Recess(0.86, rest_offset=0.089)),
    ],
    dl.LockBar(22.0, rate=8.2, side_compliance=0.0028, parallel_gap=0.145),
    dl.Blade(14.0),
    dl.Friction(0.096),
)

# shut, ball 1 stands past the middle of its recess and ball 2 short of it: as the blade closes, one of them slides back
PUSHED_PAST = dl.Knife(
    "pushed past the middle",
    [
        dl.Ball(1.27, 0.431, 7.5, 42.0, dl.Recess(1.058, rest_offset=0.011)),
        dl.Ball(1.935, 0.647, 11.13, 39.7, dl.Recess(1.692, rest_offset=0.002)),
    ],
    dl.LockBar(19.5, rate=13.8, side_compliance=0.0049, parallel_gap=0.14),
    dl.Blade(14.0),
    dl.Friction(0.091),
)

HELD_BETWEEN = dl.Knife(
    "held between",
    [
        dl.Ball(1.8, 0.636, 9.81, 40.7, dl.Recess(1.637, rest_offset=0.007)),
        dl.Ball(1.21, 0.479, 6.31, 37.0, dl.Recess(1.112, rest_offset=0.025)),
    ],
    dl.LockBar(11.0, rate=11.2, side_compliance=0.0049, parallel_gap=0.1),
    dl.Blade(14.0),
    dl.Friction(0.09),
)

# closing, ball 2 holds the bar aside until no balance is left beside it, and the bar springs over (a simulator that
# knows spheres, springs and Coulomb's law loses its balance there, too: see tests/outside/test_stick_and_slip.py)
SPRINGS_BACK = dl.Knife(
    "springs back",
    [
        dl.Ball(1.78, 0.545, 9.37, 49.0, dl.Recess(1.397, rest_offset=0.096)),
        dl.Ball(1.53, 0.585, 7.87, 50.8, dl.Recess(0.8245, rest_offset=0.086, off_track=0.0106)),
    ],
    dl.LockBar(27.5, rate=14.77, side_compliance=0.0297),
    dl.Blade(14.0),
    dl.Friction(0.1, pivot_torque=1.874),
)

FELT = tuple(
    dl.feel_many(A.with_arrays({"friction.rim": np.array([[0.12]])})).values
)  # numbers of Feel that feel_many gives too
FRICTIONLESS = {"friction.rim": 0.0, "friction.pivot_torque": 0.0}


def measured(knife):
    """The knife with the rate of its bar as if it had been measured, and without what was only assumed or doubted."""
    bar = dl.LockBar(
        knife.bar.riding_force,
        rate=dl.feel(knife).rate,
        parallel_gap=knife.bar.parallel_gap,
        side_compliance=knife.bar.side_compliance,
    )
    return replace(knife, bar=bar, doubts={}, assumed=())


def dimpled(knife, width=0.6):
    """The knife with a drilled dimple, of this radius at the tang face, in place of every recess."""
    dimple = {"diameter": 0.0, "chamfer_width": width, "edge_radius": 0.0, "depth": None}
    return knife.replace(
        {f"balls[{i}].recess.{name}": size for i in range(len(knife.balls)) for name, size in dimple.items()}
    )


def with_third_ball(knife):
    """The knife with two balls and a third one further out."""
    third = replace(
        knife.balls[1],
        protrusion=0.33,
        track_radius=knife.balls[1].track_radius + 1.0,
        bearing_deg=None,
        run_off_deg=None,
    )
    return replace(knife, balls=(*knife.balls, third))


_SPREAD = {
    "balls[0].diameter": (1.2, 2.4),
    "balls[0].recess.diameter": (0.5, 1.05),  # of the ball's diameter
    "balls[0].protrusion": (0.24, 0.34),  # of the ball's diameter
    "balls[0].track_radius": (6.0, 11.0),
    "balls[0].hinge_distance": (30.0, 54.0),
    "balls[0].recess.rest_offset": (0.0, 0.12),
    "balls[0].recess.off_track": (-0.08, 0.08),
    "bar.riding_force": (8.0, 25.0),
    "bar.rate": (4.0, 16.0),
    "friction.rim": (0.0, 0.16),
}
_SECOND = {
    "balls[1].diameter": (0.7, 1.3),  # of ball 1, as the next three
    "balls[1].recess.diameter": (0.85, 1.1),
    "balls[1].track_radius": (0.8, 1.4),
    "balls[1].hinge_distance": (0.85, 1.15),
    "balls[1].recess.rest_offset": (0.0, 0.12),
    "balls[1].recess.off_track": (-0.05, 0.05),
    "balls[1].protrusion": (-0.08, 0.05),  # mm from that of ball 1
}


def numbers_at_random(count, seed, balls):
    """{path: array (count, 1)} of knives with one or two balls; some of them cannot work."""
    rng = np.random.default_rng(seed)
    drawn = {path: rng.uniform(*ends, (count, 1)) for path, ends in (_SPREAD | (_SECOND if balls == 2 else {})).items()}
    for path in ("balls[0].recess.diameter", "balls[0].protrusion"):
        drawn[path] *= drawn["balls[0].diameter"]
    if balls == 2:
        for field in ("diameter", "recess.diameter", "track_radius", "hinge_distance"):
            drawn[f"balls[1].{field}"] *= drawn[f"balls[0].{field}"]
        drawn["balls[1].protrusion"] += drawn["balls[0].protrusion"]
    return drawn


def base(balls):
    """A measured knife without stated bearings or floors, to put numbers into; its tracks are taken as separate."""
    plain = {
        f"balls[{i}].{field}": None for i in range(balls) for field in ("recess.depth", "bearing_deg", "run_off_deg")
    }
    return measured(A if balls == 1 else C).replace(plain)


def one_of(knife, numbers, row):
    """The Knife with the numbers of one row."""
    return knife.replace({path: values[row].item() for path, values in numbers.items()})


@st.composite
def sound_knives(draw):
    """Knives that can work: one or two balls, one bar or two, every kind of rim, friction, sideways give."""

    def between(low, high):
        return round(draw(st.floats(low, high, allow_subnormal=False)), 6)  # to a nanometre: less is no size of a knife

    def ball(diameter, track_radius, hinge_distance, protrusion, bar):
        kind = draw(st.sampled_from(["sharp", "rounded", "chamfered", "dimple", "floored"]))
        more = {}
        if kind == "rounded":
            more = {"edge_radius": between(0.01, 0.1)}
        if kind == "chamfered":
            more = {"chamfer_width": between(0.02, 0.1), "chamfer_deg": between(20, 50)}
        bore = diameter * between(0.55, 0.85)
        if kind == "dimple":
            bore, more = 0.0, {"chamfer_width": diameter * between(0.3, 0.42), "chamfer_deg": between(25, 60)}
        if kind == "floored":
            more = {"depth": diameter * between(0.05, 0.3)}
        recess = dl.Recess(bore, rest_offset=between(0, 0.1), off_track=between(-0.06, 0.06), **more)
        return dl.Ball(diameter, protrusion, track_radius, hinge_distance, recess, bar=bar)

    diameter, track, arm = between(1.2, 2.4), between(6, 11), between(30, 54)
    protrusion = diameter * between(0.36, 0.42)
    balls = [ball(diameter, track, arm, protrusion, 0)]
    second = None
    if draw(st.booleans()):
        leaf = draw(st.sampled_from([0, 1]))
        balls.append(
            ball(
                diameter * between(0.8, 1.2),
                track * between(1.15, 1.4),
                arm * between(0.9, 1.1),
                protrusion + between(-0.06, 0.03),
                leaf,
            )
        )
        second = dl.LockBar(between(12, 20), rate=between(4, 9), side_compliance=0.0) if leaf else None
    give = draw(st.sampled_from([0.0, 0.003]))
    bar = dl.LockBar(
        between(14, 25), rate=between(4, 9), parallel_gap=draw(st.sampled_from([None, 0.15])), side_compliance=give
    )
    blade = dl.Blade(between(10, 16), stud_arm=draw(st.sampled_from([None, 21.0])))
    return dl.Knife(
        "at random", balls, bar, blade, dl.Friction(between(0, 0.15), pivot_torque=between(0, 5)), second_bar=second
    )
