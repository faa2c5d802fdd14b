"""A referee for the bar with two turns: balls that stick and slide on sharp rims, pushed step by step shut and open.

It knows spheres, circles, springs and Coulomb's law, and nothing of contact angles, wedges, take-up or handovers. Each
ball is a sphere on a rigid bar that turns up (psi) and sideways (omega) on two springs; each rim is a circle cut into
a flat tang that turns about the pivot. Where the nearest point of the tang lies inside the sphere, or of the rim that
opposite, a very stiff spring pushes square to the ball, and another as stiff holds along it, up to friction. At each
small step of the blade the two turns are found in which the moments on the bar balance. While balls stick, how two of
them share the load hangs on how stiff their contacts are along and across; the torque hardly does.

Frame of a ball: x along its track, the way the tang moves when the blade opens, y away from the pivot, z into the tang,
whose face is z = 0; mm, N, radians.
"""

import copy
from dataclasses import dataclass
from functools import cache

import numpy as np

STIFF = 1e6  # of a contact, normal and along it [N/mm]: 15 N press it by 0.015 µm
BALANCED = 1e-8  # what may be left of a moment, over the bar's moment
TRIALS = 30  # of Newton's method
ABREAST, REACH = 33, 1e-3  # omegas tried side by side, and how far from the last [rad]
# Steps of a first run, of the graded one, and how much closer these lie where something changes. Twice as many move the
# greatest torque of the demo knives by 0.03 % at most; contacts three times as stiff by 0.01 %, in a handover by 0.1 %.
COARSE, FINE, CLOSE = 240, 700, 60


@dataclass(frozen=True)
class BallNumbers:
    """One ball and its recess [mm]; the angle between track and bar [deg]."""

    diameter: float
    protrusion: float
    track_radius: float
    hinge_distance: float
    recess_diameter: float
    rest_offset: float = 0.0
    off_track: float = 0.0
    track_to_bar_deg: float = 90.0


@dataclass(frozen=True)
class KnifeNumbers:
    """What decides a detent: force at ball 1 on the flat [N], rate there [N/mm] and give sideways [mm/N]; gap in mm."""

    balls: tuple
    riding_force: float
    rate: float
    parallel_gap: float
    side_compliance: float
    friction: float


@dataclass(frozen=True)
class Results:
    """What a knife did; torque [N·mm] resists opening, energy in mJ; arrays of rest have one entry per ball."""

    break_torque: float
    break_deg: float
    letback_torque: float
    takeup_deg: float  # where the ball that carries most at rest no longer sticks, or no longer alone
    rest_offsets: np.ndarray  # along the track, loaded
    rest_loads: np.ndarray
    handovers: list  # where two carry, opening, and then another one does: (from deg, to deg, torque at both)
    flat_deg: float  # where all balls are on the flat, opening
    flat_closing_deg: float
    barrier: float  # stored riding less stored at rest, bending and sideways
    stored: np.ndarray  # over the opening, as the next two
    theta: np.ndarray
    torque: np.ndarray
    loads: np.ndarray  # (steps, balls)


@dataclass
class State:
    """Where the bars stand, and what their contacts remember: the stretch of their tangential springs."""

    theta: np.ndarray  # (knives,), as the next two
    psi: np.ndarray
    omega: np.ndarray
    centre: tuple  # along x, y and z, (knives, contacts) each, as the next
    stretch: tuple
    ahead: tuple  # along x and y, see Bench.ahead

    def only(self, row, times):
        """The state of one knife, many times."""

        def of_row(value):
            return tuple(map(of_row, value)) if isinstance(value, tuple) else value[[row] * times]

        return State(*map(of_row, vars(self).values()))


def dot(one, other):
    """Scalar product of two vectors, each a tuple of arrays: one for x, one for y, and so on."""
    return sum(a * b for a, b in zip(one, other, strict=True))


class Bench:
    """Many knives side by side, as arrays (knives, contacts): each ball with the rim that is nearest to it, then each
    with the rim opposite, which it touches in the middle of its recess.
    """

    def __init__(self, knives, slip_at):
        """slip_at: see simulate."""
        self.slip_at = slip_at
        count = max(len(knife.balls) for knife in knives)
        # a ball that stands nowhere near the tang, for the knives with one ball less
        absent = BallNumbers(1.0, -9.0, 10.0, 40.0, 1.0)
        rows = [[*knife.balls, *[absent] * (count - len(knife.balls))] * 2 for knife in knives]
        self.balls = count

        def of_balls(name):
            return np.array([[getattr(ball, name) for ball in row] for row in rows])

        self.radius, self.rim = of_balls("diameter") / 2, of_balls("recess_diameter") / 2
        self.upper = self.rim  # where the face begins
        self.side_of_recess = np.where(np.arange(2 * count) < count, 1.0, -np.ones(self.rim.shape))
        self.track, self.arm = of_balls("track_radius"), of_balls("hinge_distance")
        self.side_arm = self.arm * np.sin(np.radians(of_balls("track_to_bar_deg")))
        self.recess_track = self.track + of_balls("off_track")
        self.behind = np.arcsin(of_balls("rest_offset") / self.recess_track)

        def of_knives(name):
            return np.array([getattr(knife, name) for knife in knives])

        parallel, first_arm = of_knives("parallel_gap"), self.arm[:, 0]
        self.friction = of_knives("friction")[:, None]
        self.up = of_knives("rate") * first_arm**2
        self.side = first_arm**2 / of_knives("side_compliance")
        self.psi_flat = (of_balls("protrusion")[:, 0] - parallel) / first_arm
        self.moment_flat = of_knives("riding_force") * first_arm
        # height of a ball's centre while the bar lies parallel
        self.height = of_balls("protrusion") - self.radius - parallel[:, None]
        self.here = np.array([[ball is not absent for ball in row[:count]] for row in rows])

    def moment(self, psi):
        return self.moment_flat + self.up * (psi - self.psi_flat)

    def stored(self, psi, omega):
        """Energy in the bar above that of the bar riding the flat, bending and sideways [mJ]."""
        bent = psi - self.psi_flat
        return self.moment_flat * bent + (self.up * bent**2 + self.side * omega**2) / 2

    def centres(self, psi, omega):
        along, high = omega[..., None] * self.side_arm, self.height - psi[..., None] * self.arm
        if self.slip_at == "axis":
            turned = along / self.track
            return self.track * np.sin(turned), self.track * np.cos(turned), high
        return along, self.track, high

    def start(self, theta):
        """All balls on the flat, their friction not yet drawn."""
        psi, omega = self.psi_flat.copy(), np.zeros_like(theta)
        centre = self.centres(psi, omega)
        off = self.off_centre(theta, centre)
        return State(theta, psi, omega, centre, (np.zeros_like(centre[2]),) * 3, self.ahead(off, off))

    def off_centre(self, theta, centre):
        """From the recess axis to the ball's axis along the face of the tang, x and y."""
        turned = theta[:, None] + self.behind
        return centre[0] - self.recess_track * np.sin(turned), centre[1] - self.recess_track * np.cos(turned)

    def ahead(self, off, before):
        """From the recess axis to the ball's axis, of length 1, to the same side of the recess as before, x and y."""
        away = np.sqrt(dot(off, off))
        there, same = away > 1e-12, np.copysign(1.0, dot(off, before)) / np.maximum(away, 1e-12)
        return tuple(np.where(there, same * new, old) for new, old in zip(off, before, strict=True))

    def lever(self, off, ahead, height):
        """From the ball's centre to the nearest point of the tang on its side of the recess."""
        out, down = self.nearest(self.side_of_recess * dot(off, ahead), height)
        aside = self.side_of_recess * out
        return ahead[0] * aside, ahead[1] * aside, down

    def nearest(self, away, height):
        """The same in the plane of ball and recess axis, out and down: on the rim, or straight above."""
        return np.maximum(self.upper - away, 0.0), -height

    def contact(self, theta, psi, omega, before):
        """Centres, forces on the balls, stretch of the springs along them, which way each is off the middle, moments
        on bar (up, sideways) and blade.
        """
        centre = self.centres(psi, omega)
        off = self.off_centre(theta, centre)
        ahead = self.ahead(off, before.ahead)
        lever = self.lever(off, ahead, centre[2])
        distance = np.sqrt(dot(lever, lever))
        normal = tuple(-each / distance for each in lever)
        press = STIFF * np.maximum(self.radius - distance, 0.0)
        slip = self.slip(theta, omega, centre, lever, before)
        past = tuple(old + new for old, new in zip(before.stretch, slip, strict=True))
        out = dot(past, normal)
        past = tuple(each - out * square for each, square in zip(past, normal, strict=True))
        length = np.sqrt(dot(past, past))
        limit = self.friction * press / STIFF
        kept = np.where(length > limit, limit / np.maximum(length, 1e-300), 1.0)
        stretch = tuple(each * kept for each in past)
        force = tuple(press * square - STIFF * each for square, each in zip(normal, stretch, strict=True))
        return centre, force, stretch, ahead, self.moments(omega, centre, lever, force)

    def slip(self, theta, omega, centre, lever, before):
        """How far each ball has moved past the tang at its contact since the state before."""
        turn = theta[:, None] - before.theta[:, None]
        swing = (omega - before.omega)[..., None]
        along, across, deeper = (new - old for new, old in zip(centre, before.centre, strict=True))
        if self.slip_at == "axis":
            return swing * self.side_arm - self.track * turn, 0.0, deeper
        x, y = centre[0] + lever[0], centre[1] + lever[1]
        cos, sin = np.cos(turn), np.sin(turn)
        tang_x, tang_y = x - (cos * x - sin * y), y - (sin * x + cos * y)
        return along - swing * lever[1] - tang_x, across + swing * lever[0] - tang_y, deeper

    def moments(self, omega, centre, lever, force):
        """Of the forces on the balls: up, sideways, and what resists opening [N·mm], each (..., knives)."""
        fx, fy, fz = force
        if self.slip_at == "axis":
            turned = omega[..., None] * self.side_arm / self.track
            along = fx * np.cos(turned) - fy * np.sin(turned)
            side, blade = along * self.side_arm, along * self.track
        else:
            side = fx * self.side_arm + lever[0] * fy - lever[1] * fx
            blade = fx * (centre[1] + lever[1]) - fy * (centre[0] + lever[0])
        return [(-fz * self.arm).sum(axis=-1), side.sum(axis=-1), blade.sum(axis=-1)]

    def unbalance(self, theta, psi, omega, before):
        """What is left of the two moments on the bar, over its moment on the flat (2, ..., knives)."""
        up, side, _ = self.contact(theta, psi, omega, before)[-1]
        return np.stack([self.moment(psi) - up, side - self.side * omega]) / self.moment_flat

    def balanced(self, theta, guess, before):
        """The two turns [2, knives]: from a guess, else from where a ball that sticks takes them, else enclosed."""
        found, left = self.newton(theta, guess, before)
        if np.any(left >= BALANCED):
            found, left = self.newton(theta, np.where(left < BALANCED, found, self.stuck(theta, before)), before)
        for row in np.flatnonzero(left >= BALANCED):
            found[:, row] = self.enclosed(row, theta, before)
        return found

    def stuck(self, theta, before):
        held = np.argmax(dot(before.stretch, before.stretch), axis=-1)[:, None]
        gear = np.take_along_axis(self.track / self.side_arm, held, axis=1)[:, 0]
        return np.stack([before.psi, before.omega + gear * (theta - before.theta)])

    def newton(self, theta, guess, before):
        """Newton's method, each step that does not help cut to where a straight line would have come to nothing, such
        as one from above the tang deep into it: the two turns, and what is left of the moments.
        """
        nudge = np.array([[0, 1e-9, 0], [0, 0, 1e-9]])[..., None]
        base, step = guess, np.zeros_like(guess)
        left = np.full(theta.shape, np.inf)
        slope, rest = np.empty((2, 2, theta.size)), np.empty_like(guess)
        for _ in range(TRIALS):
            trial = base + step
            found = self.unbalance(theta, *(trial[:, None] + nudge), before)
            size = np.abs(found[:, 0]).max(axis=0)
            better = size < left
            slope[..., better] = (found[:, 1:] - found[:, :1])[..., better] / 1e-9
            rest[:, better] = found[:, 0][:, better]
            left, base = np.where(better, size, left), np.where(better, trial, base)
            if np.all(left < BALANCED):
                break
            (a, b), (c, d) = slope
            newton = np.stack([b * rest[1] - d * rest[0], c * rest[0] - a * rest[1]]) / (a * d - b * c)
            longest = np.abs(newton * self.arm[:, 0]).max(axis=0)
            newton *= np.minimum(1.0, 0.02 / np.maximum(longest, 1e-300))
            step = np.where(better, newton, step * np.fmin(left / (left + size), 0.5)) * (left >= BALANCED)
        return base, left

    def only(self, row, times):
        """The bench with the same knife many times."""
        one = copy.copy(self)
        for name, value in vars(self).items():
            if isinstance(value, np.ndarray):
                setattr(one, name, value[[row] * times])
        return one

    def enclosed(self, row, theta, before):
        """The same for one knife, for certain.

        Many omegas side by side, and again between the two where what is left sideways changes its sign.
        """
        many = self.only(row, ABREAST)
        here, theta = before.only(row, ABREAST), np.full(ABREAST, theta[row])
        low, high = before.omega[row] - REACH, before.omega[row] + REACH
        while True:
            omega = np.linspace(low, high, ABREAST)
            psi = many.lifted(theta, omega, here)
            side = many.unbalance(theta, psi, omega, here)[1]
            best = np.argmin(np.abs(side))
            if np.abs(side[best]) < BALANCED or high - low < 1e-15:
                return psi[best], omega[best]
            crossing = np.flatnonzero((side[1:] <= 0) & (side[:-1] > 0))
            assert crossing.size, f"the bar finds no balance within {REACH} rad at {np.degrees(theta[0]):.4f}°"
            nearest = crossing[np.argmin(np.abs(omega[crossing] - before.omega[row]))]
            low, high = omega[nearest], omega[nearest + 1]

    def lifted(self, theta, omega, before):
        """Psi [knives] for given omega: Newton's method from deep in the tang, kept between bounds that close in."""
        low, high = before.psi - 4 * REACH, before.psi + 4 * REACH
        psi, nudge = low, np.array([0, -1e-11])[:, None]
        for i in range(100):
            left, deeper = self.unbalance(theta, psi + nudge, omega + 0 * nudge, before)[0]
            if np.all(np.abs(left) < BALANCED / 10):
                return psi
            low, high = np.where(left < 0, psi, low), np.where(left < 0, high, psi)
            psi = psi - left * 1e-11 / (left - deeper)
            psi = np.where((psi > low) & (psi < high) & (i % 4 < 3), psi, (low + high) / 2)
        raise AssertionError(f"the bar finds no height at {np.degrees(theta[0]):.4f}°")

    def march(self, state, thetas):
        """Turn the blades through thetas (knives, steps): the state at the end, and a record of every step."""
        rows, speed = [], np.zeros((2, state.theta.size))
        for theta in np.asarray(thetas).T:
            here, turn = np.stack([state.psi, state.omega]), theta - state.theta
            found = self.balanced(theta, here + speed * turn, state)
            speed = (found - here) / np.where(turn == 0, np.inf, turn)
            centre, force, stretch, ahead, moments = self.contact(theta, *found, state)
            state = State(theta, *found, centre, stretch, ahead)
            off = self.off_centre(theta, state.centre)
            flat = (dot(off, off) >= self.upper**2)[:, : self.balls]
            loads = -force[2].reshape(-1, 2, self.balls).sum(axis=1)
            stored = self.stored(state.psi, state.omega)
            rows.append((theta, moments[2], stored, loads, -off[0][:, : self.balls], flat, state.psi))
        record = [np.stack(column, axis=1) for column in zip(*rows, strict=True)]
        return state, Record(*record)


@dataclass
class Record:
    """What happened, step by step: arrays (knives, steps) or (knives, steps, balls)."""

    theta: np.ndarray
    torque: np.ndarray
    stored: np.ndarray
    loads: np.ndarray
    offsets: np.ndarray
    on_flat: np.ndarray
    turn: np.ndarray


def graded(record, steps):
    """Angles over a record, closer together where a contact begins or ends, leaves its recess, or the torque bends."""
    what = np.concatenate([record.loads > 0, record.on_flat], axis=-1)
    close = np.any(what[:, 1:] != what[:, :-1], axis=-1).astype(float)
    bend = np.abs(np.diff(record.torque, n=2, axis=1)) / record.torque.max(axis=1, keepdims=True)
    close[:, 1:] += 50 * bend
    close[:, :-1] += 50 * bend
    counted = np.cumsum(1.0 + CLOSE * np.minimum(close, 1.0), axis=1)
    rows = [(np.concatenate([[0.0], count]), theta) for count, theta in zip(counted, record.theta, strict=True)]
    return np.stack([np.interp(np.linspace(0, count[-1], steps), count, theta) for count, theta in rows])


@cache
def shut(knives, slip_at):
    """Knives shut from the flat, a tuple of KnifeNumbers: their Bench, how far they were open [rad], the State in which
    they rest at the stop, and the Record of the way there.
    """
    bench = Bench(knives, slip_at)
    wide = np.max((bench.rim + np.abs(bench.recess_track * np.sin(bench.behind)) + 0.1) / bench.track, axis=1)
    start, shutting = bench.start(wide), wide[:, None] * np.linspace(1.0, 0.0, COARSE + 1)
    return bench, wide, *bench.march(start, graded(bench.march(start, shutting)[1], FINE))


def simulate(knives, slip_at="contact"):
    """Shut each knife from the flat, let it rest at the stop, open it again: the Results, one for each KnifeNumbers.

    slip_at "contact": the bar swings the balls about a hinge that lies further from the pivot than they do, the tang
    turns about the pivot, and friction works against the slip that there is where they touch. "axis": what is usually
    reckoned with; the balls keep to their tracks, and slip is what their axes do along these.
    """
    bench, wide, at_rest, closed = shut(tuple(knives), slip_at)
    opening = wide[:, None] * np.linspace(0.0, 1.0, COARSE + 1)
    _, opened = bench.march(at_rest, graded(bench.march(at_rest, opening)[1], FINE))
    return [_results(bench, row, closed, opened) for row in range(len(knives))]


def turn_back(knives, turned_deg, slip_at="contact"):
    """Shut the knives, open each up to its angle in turned_deg, let it shut again from there: the Record of the way
    back.
    """
    bench, _, at_rest, _ = shut(tuple(knives), slip_at)
    turned, shares = np.radians(turned_deg)[:, None], np.linspace(0.0, 1.0, FINE + 1)
    held, _ = bench.march(at_rest, turned * shares)
    return bench.march(held, turned * shares[::-1])[1]


def _results(bench, row, closed, opened):
    here = bench.here[row]
    theta, torque, loads = np.degrees(opened.theta[row]), opened.torque[row], opened.loads[row][:, here]
    rest_loads, carrier = closed.loads[row, -1][here], np.argmax(closed.loads[row, -1])
    peak = np.argmax(torque)
    both = np.concatenate([[False], (loads > 0).sum(axis=-1) > 1, [False]])
    edges = np.flatnonzero(both[1:] != both[:-1]).reshape(-1, 2) - [0, 1]
    most = np.argmax(loads, axis=-1)
    off_flat = np.any(~opened.on_flat[row] & here, axis=-1), np.any(~closed.on_flat[row] & here, axis=-1)
    return Results(
        break_torque=torque[peak],
        break_deg=theta[peak],
        letback_torque=closed.torque[row, -1],
        takeup_deg=_takeup(
            opened.theta[row],
            opened.offsets[row, :, carrier],
            bench.track[row, carrier],
            np.delete(opened.loads[row], carrier, axis=-1),
        ),
        rest_offsets=closed.offsets[row, -1][here],
        rest_loads=rest_loads,
        handovers=[(theta[i], theta[j], torque[i], torque[j]) for i, j in edges if most[i - 1] != most[j + 1]],
        flat_deg=theta[np.flatnonzero(off_flat[0])[-1]],
        flat_closing_deg=np.degrees(closed.theta[row][np.flatnonzero(off_flat[1])[0]]),
        barrier=-closed.stored[row, -1],
        stored=opened.stored[row],
        theta=opened.theta[row],
        torque=torque,
        loads=loads,
    )


def _takeup(theta, offset, track, others):
    """Where the ball slips, or another one comes to carry as well.

    A ball that sticks goes along with the tang, one that slips is left behind at almost the whole of its speed. Where
    another joins, both cannot stick, as each would take the bar along at a speed of its own: the balance leaves either
    both slipping, or the first one idle (rims of any stiffness; where that is none, all at once).
    """
    slips = np.diff(offset) > track * np.diff(theta) / 2
    joined = np.any((others[1:] > 0) & (others[0] == 0), axis=-1)
    return np.degrees(theta[np.argmax(slips | joined)])


def numbers_of(knife):
    """The KnifeNumbers of what has the attributes of a knife; stiffness from the drawn sizes where none is given.

    A bar stiff sideways gives so little there as a contact does.
    """
    bar, first = knife.bar, knife.balls[0]
    drawn = give_at_ball(bar, first.hinge_distance, upwards=True) if bar.rate is None else None
    aside = (
        give_at_ball(bar, first.hinge_distance, upwards=False)
        if bar.side_compliance is None
        else max(bar.side_compliance, 1 / STIFF)
    )
    return KnifeNumbers(
        balls=tuple(_ball_numbers(ball) for ball in knife.balls),
        riding_force=bar.riding_force,
        rate=bar.rate if drawn is None else 1 / drawn,
        parallel_gap=first.protrusion if bar.parallel_gap is None else bar.parallel_gap,
        side_compliance=aside,
        friction=knife.friction.rim,
    )


def _ball_numbers(ball):
    recess = ball.recess
    places = ball.diameter, ball.protrusion, ball.track_radius, ball.hinge_distance
    return BallNumbers(*places, recess.diameter, recess.rest_offset, recess.off_track, ball.track_to_bar_deg)


def give_at_ball(bar, distance, upwards):
    """Deflection [mm/N] of a stepped cantilever at a ball so far from the relief's middle: Mohr's integral of m²/EI."""
    places, weights = np.polynomial.legendre.leggauss(3)
    middle, end = bar.relief_length, bar.relief_length / 2 + distance
    give = 0.0
    for start, stop, thick in ((0.0, middle, bar.relief_thickness), (middle, end, bar.thickness)):
        second_moment = bar.width * thick**3 / 12 if upwards else thick * bar.width**3 / 12
        along = (start + stop) / 2 + places * (stop - start) / 2
        give += weights @ (end - along) ** 2 * (stop - start) / 2 / (bar.youngs_modulus * second_moment)
    return float(give)


def random_knife(rng):
    """KnifeNumbers with one or two balls, of a knife that rests on its stop and does not jam."""
    while True:
        first = _random_ball(rng, rng.uniform(1.2, 2.4), rng.uniform(6, 11), rng.uniform(30, 54))
        balls = [first]
        if rng.random() < 0.7:
            of_first = rng.uniform([0.75, 0.95, 0.9], [1.2, 1.4, 1.08])
            balls.append(_random_ball(rng, *of_first * [first.diameter, first.track_radius, first.hinge_distance]))
        riding, rate = rng.uniform([10, 5], [22, 14])
        parallel = first.protrusion - rng.uniform(0.0, 0.35)
        knife = KnifeNumbers(tuple(balls), riding, rate, parallel, rng.uniform(0.001, 0.005), rng.uniform(0.04, 0.15))
        if all(_works(ball, knife) for ball in balls):
            return knife


def _random_ball(rng, diameter, track, arm):
    bore, protrusion = diameter * rng.uniform(0.7, 0.88), diameter * rng.uniform(0.3, 0.36)
    off_track = rng.uniform(-0.03, 0.03) * rng.integers(2)
    return BallNumbers(diameter, protrusion, track, arm, bore, rng.uniform(0.06, 0.14), off_track)


def _works(ball, knife):
    """On the safe side: as if the ball carried the riding force, on a rim as steep as in the middle of its recess."""
    radius, rim, give = ball.diameter / 2, ball.recess_diameter / 2, knife.side_compliance
    steep = np.arcsin(rim / radius)
    seated = np.arcsin(max(rim - ball.rest_offset, 0.0) / radius)
    pushed_in = give * knife.riding_force * np.tan(steep)
    return (
        steep + np.arctan(knife.friction) < np.radians(82)
        and ball.rest_offset > pushed_in + 0.02
        and give * knife.riding_force / (radius * np.cos(seated) ** 3) < 0.6
    )
