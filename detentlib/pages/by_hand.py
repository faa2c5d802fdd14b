"""The arithmetic of one knife in the order that a person would do it by hand: from the rim gap to the force at the tab.

Every line takes the numbers that the lines before it gave. A bar is taken as rigid (C1), as in dl.feel.
"""

import math
from typing import NamedTuple

import numpy as np

from ..derivations.formulas import formulas
from ..knife.parts import Knife
from ..knife.plain import true_minus
from ..mechanics import bar as bars
from ..mechanics import carry, limits
from ..mechanics.carry import JUST_AFTER, Detent
from ..mechanics.feel import feel
from ..mechanics.lift import FLAT, FLOOR, RIM, ROUND, Lift, lift
from .arithmetic import Line, Sheet, said

_SPRUNG = 1e-6  # of the break torque, by less a search ends beside it
_LATE = 1e-7  # rad; a peak or rest nearer to the stop than this is at the stop
_MIDDLE = 1e-6  # mm; a search for the middle of a recess ends nearer to it than that
_SIDES = {1.0: "holds the blade back", -1.0: "helps the blade open"}
_BRINK = 1e-8  # mm of depth; nearer than this to the floor a rim carries as well


class _Leaf(NamedTuple):
    """One bar as it was worked out: its balls, its Spring with the numbers of the sheet, its stiffness sideways,
    None for a stiff one.
    """

    members: list
    spring: bars.Spring
    side: float | None

    def bent(self, psi):
        """The letters of B5 at a bar angle."""
        spring = self.spring
        known = {
            "psi_ride": spring.psi_ride,
            "riding_force": spring.riding_force,
            "hinge_distance_1": spring.arm,
            "kappa": spring.kappa,
        }
        return {"psi": psi} | known

    def demand(self, gap, hinge_distance):
        """The letters of B4 for a gap."""
        return {"gap": gap, "parallel_gap": self.spring.parallel_gap, "hinge_distance": hinge_distance}


class _Seat(NamedTuple):
    """One ball at one moment: contact angle [rad], the bar angle that it demands, and what its torque needs; side: 1
    where its rim holds it back on opening, −1 where it helps; back: it slides back as the blade turns on.
    """

    ball: int
    phi: float
    cos_chi: float
    reach: float
    smooth: bool
    all_round: bool
    side: float
    on_brink: bool
    psi: float
    back: bool = False


class _Carried(NamedTuple):
    """What one bar carries at one moment: the Seat, None for the bar face, its load, the bar's moment and sideways
    turn; both: the two Seats, where two balls share the bar.
    """

    seat: _Seat | None
    load: float
    moment: float
    omega: float
    both: tuple[_Seat, ...] = ()


def worked_example(knife: Knife) -> tuple:
    """The whole arithmetic of one Knife: (Part, …), which ends in the numbers of dl.feel. Raises KnifeError for one
    that cannot work.
    """
    felt, sheet = feel(knife), Sheet()
    rest, peak = (_just_after(math.radians(angle)) for angle in (felt.rest_deg, felt.peak_deg))
    detent = Detent(knife)
    leaves = _stiffness(sheet, knife)
    sheet.head("Where the ball rests" if len(knife.balls) == 1 else "Where the balls rest")
    if rest:
        sheet.say(f"The blade rests at {said(felt.rest_deg)}°, not on the stop (found by a search).")
    at_rest = _moment_at(sheet, detent, leaves, rest, detent.state(np.array([rest]), -1))
    at_peak = at_rest
    to_the_end = rest == 0 and abs(peak - math.radians(felt.take_up_deg)) < _LATE < peak  # of the take-up
    sticks = to_the_end and _by_one_rim(detent, at_rest, peak)
    if peak != rest:
        sheet.head(f"The hardest moment of opening, at {said(felt.peak_deg)}°")
    if sticks:
        sheet.say(
            "Up to there the rim sticks: the ball that carries stands in its recess as at rest, and the bar goes along"
            " sideways. φ and N stay as they are."
        )
    elif peak != rest:
        sheet.say(
            "The torque is greatest there, not at rest (found by a search from the stop). So the same once more, at"
            " that angle."
        )
        at_peak = _moment_at(sheet, detent, leaves, peak, _at_peak(detent, peak, felt.break_torque))
    sheet.head("What the finger feels, opening")
    ratio = _torque(sheet, knife, leaves, at_peak, 1, "break")
    if sticks:
        _taken_up(sheet, knife, leaves[0].side, at_rest[0], ratio)
    if felt.letback_force is not None:
        sheet.head("What the blade closes against, letting back")
        _torque(sheet, knife, leaves, at_rest, -1, "let-back")
    _barrier(sheet, knife, leaves, at_rest)
    _break_out(sheet, detent)
    _handovers(sheet, detent, leaves, felt)
    return sheet.done()


def shut_moments(knife: Knife) -> tuple[Line, ...]:
    """The line that finds the moment of each bar in the shut knife (B5). KnifeError for a knife that cannot work."""
    limits.check(knife)
    sheet = Sheet()
    leaves = _stiffness(sheet, knife)
    detent = Detent(knife)
    _moment_at(sheet, detent, leaves, 0.0, detent.state(np.zeros(1), -1))
    lines = [line for part in sheet.done() for line in part.lines if isinstance(line, Line)]
    return tuple(line for line in lines if line.id == "B5")


def _by_one_rim(detent, carried, peak):
    """Whether one ball alone, on one side of its recess, carries the only bar at rest and up to a blade angle."""
    (seat, *_), *more = carried
    at_rest, there = (np.ravel(loads) > 0 for loads in (detent.resting[0].loads, detent.state(np.array([peak])).loads))
    return not more and seat is not None and not seat.all_round and at_rest.sum() == 1 and (at_rest == there).all()


def _taken_up(sheet, knife, kappa_side, carried, ratio):
    """The blade angle that the bar's sideways turn takes up before the rim slips: the proof of where it slips."""
    ball, omega = knife.balls[carried.seat.ball], carried.omega
    turned = _turned(ball, carried.load, ratio, kappa_side)
    slipping = sheet.by(
        "B6", "The proof of the angle: such a push turns the bar sideways by", turned, "omega", r"\omega_2"
    )
    numbers = {r"\omega_2": (math.degrees(slipping), "deg"), r"\omega_1": (math.degrees(omega), "deg")} | _along(ball)

    def written(two, one, arm, track, *across):
        return (two - one) * arm * math.prod(across) / track

    words = "From ω at rest to there the ball goes along with the blade through"
    sheet.sum(words, r"\Delta\theta", written, numbers, "deg")


def _turned(ball, load, push, kappa_side):
    """The letters of B6: how far a push turns the bar sideways."""
    beta = math.radians(ball.track_to_bar_deg)
    return {"load": load, "hinge_distance": ball.hinge_distance, "push": push, "beta": beta, "kappa_side": kappa_side}


def _just_after(theta):
    """The angle where a state counts: at the stop itself, else just past a step."""
    return 0.0 if theta < _LATE else theta + JUST_AFTER


def _at_peak(detent, peak, torque):
    """State at the peak [rad], as far as `_moment_at` asks for it. Where the bar springs sideways there, that is the
    state before: one ball has this torque [N·mm] alone, and the bar is turned by what its push asks for.
    """
    after = detent.state(np.array([peak]), 1)
    if abs(after.torque.item() - torque) < _SPRUNG * torque or len(detent.leaves) > 1:
        return after
    (leaf,), (shut,) = detent.leaves, detent.shut
    turns = (leaf.tilt * torque * leaf.across / leaf.balls.track_radius).ravel()
    before = [leaf.pressed(np.array([[peak]]), np.array([[turn]]), 1, shut) for turn in turns]
    one = min(before, key=lambda at: abs(at.off.item()))
    lifts = [Lift(*(np.broadcast_to(value, one.loads.shape)[row] for value in one.lifts)) for row in range(len(turns))]
    return after._replace(side_turns=[one.omega], loads=list(one.loads), lifts=lifts)


def _stiffness(sheet, knife):
    """Stiffness of each bar: a list of _Leaf."""
    found = []
    for which, (bar, members) in enumerate(carry.bars_of(knife)):
        first, whose = knife.balls[members[0]], "the second leaf" if which else "the bar"
        sheet.head("How stiff the bar is" if not which else "How stiff the second leaf is")
        if bar.rate is not None:
            known = "assumed" if f"{'second_bar' if which else 'bar'}.rate" in knife.assumed else "measured"
            sheet.say(f"The rate of {whose} was {known}: k = {said(bar.rate)} N/mm.")
            rate = bar.rate
        else:
            rate = _drawn_rate(sheet, bar, first)
        kappa = sheet.by(
            "B4a",
            "As a bar that turns about the middle of its relief:",
            {"rate": rate, "hinge_distance_1": first.hinge_distance},
        )
        spring = bars.spring(bar, first)
        ride = {"gap": first.protrusion, "parallel_gap": spring.parallel_gap, "hinge_distance": first.hinge_distance}
        psi = sheet.by(
            "B4", f"Bar angle when ball {members[0] + 1} rides the flat, from parallel:", ride, letter=r"\psi_r"
        )
        found.append(_Leaf(members, spring._replace(kappa=kappa, psi_ride=psi), _side_stiffness(sheet, bar, first)))
    return found


def _side_stiffness(sheet, bar, first):
    give = bars.side_compliance(bar, first)
    if not give:
        return None
    if bar.side_compliance is None:
        sizes = {"hinge_distance": first.hinge_distance} | _sizes(bar)
        letter, drawn = _letters("C_s", "C_{sd}", bar.root_side)
        give = sheet.by("B6a", "Sideways the bar gives too, by", sizes, letter=drawn, plain=True)
        give = _with_root(sheet, letter, drawn, give, bar.root_side)
    values = {"side_compliance": give, "hinge_distance_1": first.hinge_distance}
    return sheet.by("B6b", "As a bar that turns sideways about the middle of its relief:", values)


def _sizes(bar):
    return {
        name: getattr(bar, name)
        for name in ("relief_length", "relief_thickness", "thickness", "width", "youngs_modulus")
    }


def _letters(letter, drawn, root):
    """Letters of a give and of what the drawn sizes alone make of it, which are one where the root gives nothing."""
    return letter, letter if root == 1 else drawn


def _with_root(sheet, letter, drawn, give, root):
    """A drawn give [mm/N] times the factor of its root, with the letters of both."""
    if root == 1:
        return give
    numbers = {drawn: (give, "mm/N"), "f": (root, "")}
    return sheet.sum(
        "The body that the relief is cut into gives as well, which counts as a factor f:",
        letter,
        lambda give, f: give * f,
        numbers,
        "mm/N",
    )


def _drawn_rate(sheet, bar, ball):
    arms = {"near_arm": ball.hinge_distance, "far_arm": ball.hinge_distance}
    words = "Give per newton, from the drawn sizes: relief first, then the thick part."
    twists = bar.shear_modulus is not None and ball.side_offset
    letter, drawn = _letters("C_b" if twists else "C", "C_d", bar.root_up)
    bent = sheet.by("B1", words, arms | _sizes(bar), letter=drawn, renamed=dict.fromkeys(arms, "L"))
    bent = _with_root(sheet, letter, drawn, bent, bar.root_up)
    if twists:
        section = formulas["B2"](long_side=bar.width, short_side=bar.relief_thickness)
        sheet.say(
            "The ball stands off the centre line, so the relief twists too. Its section resists with J = {} mm⁴, by the"
            " long series of B2.",
            said(section),
        )
        twist = {
            "side_offset_1": ball.side_offset,
            "side_offset_2": ball.side_offset,
            "relief_length": bar.relief_length,
        }
        turned = sheet.by(
            "B2a",
            "Give by twist:",
            twist | {"shear_modulus": bar.shear_modulus, "twist_constant": section},
            letter="C_t",
        )
        bent = sheet.sum(
            "Both together:",
            "C",
            lambda bend, twist: bend + twist,
            {letter: (bent, "mm/N"), "C_t": (turned, "mm/N")},
            "mm/N",
        )
    return sheet.sum("So the rate at the ball:", "k", lambda C: 1 / C, {"C": (bent, "mm/N")}, "N/mm")


def _moment_at(sheet, detent, leaves, theta, state):
    """Every bar at one blade angle, in a State: a list of _Carried."""
    found, knife = [], detent.knife
    for leaf, of_leaf, turn in zip(leaves, detent.leaves, state.side_turns, strict=True):
        omega = turn.item()
        if omega:
            words = (
                "The rim pushes the bar sideways until the bar pushes back as hard: turned by ω = {}° (found by a"
                " search; the proof comes with the push)."
            )
            sheet.say(words, said(math.degrees(omega)))
        seats = [_seat(sheet, knife, leaf, i, theta, omega, state) for i in leaf.members]
        loads = [np.ravel(state.loads[i])[0] > 0 for i in leaf.members]
        side = [seat.side * (load and not seat.smooth) for seat, load in zip(seats, loads, strict=True)]
        back = of_leaf.slides_back(np.reshape(side, (-1, 1, 1))).ravel().tolist()
        seats = [seat._replace(back=goes) for seat, goes in zip(seats, back, strict=True)]
        loaded = tuple(seat for seat, load in zip(seats, loads, strict=True) if load)
        both = loaded if leaf.side is not None and len(loaded) > 1 else ()
        found.append(_Carried(*_carried(sheet, knife, leaf, seats, both), omega, both))
    return found


def _carried(sheet, knife, leaf, seats, both):
    """Who carries on one bar, and with what; gives (Seat, load, moment), the Seat None where the bar face lands."""
    face = formulas["B4"](**leaf.demand(0.0, leaf.spring.arm))
    most = max(seats, key=lambda seat: seat.psi)
    psi = max(most.psi, face)
    if both:
        sheet.say("Both ask for the same bar angle here, so both carry; who takes how much comes with the push.")
        return most, 0.0, sheet.by("B5", "Moment of the bar at this angle:", leaf.bent(psi))
    if len(seats) > 1:
        _who_carries(sheet, knife, seats, most, psi)
    if seats[0].psi < face and most.psi <= face:
        sheet.say("No ball reaches its rim: the bar face lies on the tang.")
        moment = sheet.by("B5", "Moment of the bar:", leaf.bent(psi))
        return (
            None,
            sheet.sum(
                "It presses with", "N", lambda M, L: M / L, {"M": (moment, "N·mm"), "L": (leaf.spring.arm, "mm")}, "N"
            ),
            moment,
        )
    moment = sheet.by("B5", "Moment of the bar at this angle:", leaf.bent(psi))
    numbers = {"M": (moment, "N·mm"), "L": (knife.balls[most.ball].hinge_distance, "mm")}
    return most, sheet.sum("So it presses on the ball with", "N", lambda M, L: M / L, numbers, "N"), moment


def _who_carries(sheet, knife, seats, most, psi):
    """The larger bar angle wins, the other ball hangs clear."""
    sheet.say("One bar has one angle, the largest that is demanded: ball {} carries all.", str(most.ball + 1))
    for seat in seats:
        if seat is not most:
            arm = knife.balls[seat.ball].hinge_distance
            sheet.by(
                "C1", "The other hangs clear by", {"psi": psi, "psi_ball": seat.psi, "hinge_distance": arm}, letter="c"
            )


def _torque(sheet, knife, leaves, carried, sense, name):
    """Torque of all that carries, and the force at the tab; gives the push per newton of the last that carries."""
    torques, ratio = [], None
    for leaf, one in zip(leaves, carried, strict=True):
        (seat, load, _, omega, both), kappa_side = one, leaf.side
        if both:
            torques.append(_shared(sheet, knife, kappa_side, one, sense))
            continue
        if seat and sense < 0 and (seat.all_round or (seat.on_brink and kappa_side is not None)):
            torques.append(_held_both_ways(sheet, knife.balls[seat.ball], kappa_side, omega, seat))
            continue
        ball, ratio = knife.balls[seat.ball if seat else leaf.members[0]], _ratio(sheet, knife, seat, sense)
        numbers = {"N": (load, "N"), r"\rho": (ball.track_radius, "mm"), "m": (ratio, "")}
        torques.append(
            sheet.sum("Times bar force and track radius:", "T", lambda *all: math.prod(all), numbers, "N·mm")
        )
        if omega and seat and sense < 0:
            words = "The proof: this push turns the bar sideways by what was put in."
            sheet.by("B6", words, _turned(ball, load, ratio, kappa_side), "omega")
    torque = _both_leaves(sheet, "T", torques, "N·mm")
    sheet.by("F5", f"At the tab, the {name} force:", {"torque": torque, "arm": knife.blade.tab_arm})
    return ratio


def _ratio(sheet, knife, seat, sense, letter="m"):
    """Push per newton of load on a Seat, or on the bar face for None."""
    smooth = seat is None or seat.smooth
    mu = 0.0 + sense * (knife.friction.on_flat if smooth else knife.friction.rim)  # never −0
    place = {"phi": seat.phi, "mu": mu, "cos_chi": seat.cos_chi} if seat else {"phi": 0.0, "mu": mu, "cos_chi": 1.0}
    which_law, place = ("F2", place) if seat is None or seat.reach == 1 else ("F2b", place | {"reach": seat.reach})
    return sheet.by(which_law, f"Push per newton, with friction {true_minus(f'{mu:g}')}:", place, letter=letter)


def _shared(sheet, knife, kappa_side, carried, sense):
    """Torque of two balls that carry one bar: their pushes have to turn it sideways by ω, which parts its moment."""
    moment = {"M": (carried.moment, "N·mm")}
    known = {r"\kappa_s": (kappa_side, "N·mm"), r"\omega": (carried.omega, "rad")} | moment
    ratios, sideways = [], {}
    for seat in carried.both:
        number, ball = seat.ball + 1, knife.balls[seat.ball]
        sheet.say(f"Ball {number}:")
        if seat.all_round:
            sheet.say(f"It stands in the middle of its recess and leans on the side that {_SIDES[seat.side]}.")
            seat = seat._replace(cos_chi=seat.side)
        if seat.back:
            sheet.say(
                "One ball stands short of the middle of its recess, the other past it. The bar takes this one further"
                " round, so it slides back as the blade turns on, and friction pushes the other way."
            )
        ratios.append(_ratio(sheet, knife, seat, -sense if seat.back else sense, f"m_{number}"))
        letter, of = f"m_{number}", {f"m_{number}": (ratios[-1], "")}
        across = math.sin(math.radians(ball.track_to_bar_deg))
        if across != 1:
            of, letter = of | {f"s_{number}": (across, "")}, f"q_{number}"
            words = "The track crosses the bar askew, so of that counts"
            of = {letter: (sheet.sum(words, letter, lambda m, s: m * s, of, ""), "")}
        sideways |= of

    def written(stiffness, omega, moment, one, two):
        return (stiffness * omega / moment - one) / (two - one)

    words = f"So that their pushes turn the bar by ω, ball {carried.both[1].ball + 1} takes of the moment the share"
    share = {r"\xi": (sheet.sum(words, r"\xi", written, known | sideways, ""), "")}
    loads, torques = (lambda M, xi, L: M * (1 - xi) / L, lambda M, xi, L: M * xi / L), {}
    for seat, load, ratio in zip(carried.both, loads, ratios, strict=True):
        number, ball = seat.ball + 1, knife.balls[seat.ball]
        arm, name = {"L": (ball.hinge_distance, "mm")}, f"N_{number}"
        pressed = sheet.sum(f"So it presses on ball {number} with", name, load, moment | share | arm, "N")
        numbers = {name: (pressed, "N"), r"\rho": (ball.track_radius, "mm"), f"m_{number}": (ratio, "")}
        words = "Times track radius and push per newton:"
        torque = sheet.sum(words, f"T_{number}", lambda *all: math.prod(all), numbers, "N·mm")
        torques[f"T_{number}"] = (torque, "N·mm")
    return sheet.sum("Both together:", "T", lambda one, two: one + two, torques, "N·mm")


def _both_leaves(sheet, letter, parts, unit):
    """What one leaf gives, or both together."""
    if len(parts) == 1:
        return parts[0]
    numbers = {f"{letter}_{i}": (part, unit) for i, part in enumerate(parts, 1)}
    return sheet.sum("Both leaves together:", letter, lambda one, two: one + two, numbers, unit)


def _held_both_ways(sheet, ball, kappa_side, omega, seat):
    """Torque of a ball that is held from both sides: the bar bent sideways is all that pushes."""
    if seat.all_round:
        sheet.say(
            "The ball stands in the middle of its recess and the rim holds it all round: only the bar, bent sideways,"
            " pushes."
        )
    else:
        sheet.say(
            "The ball stands where the floor ends and its rim begins, and both hold it: only the bar, bent sideways,"
            " pushes."
        )
    numbers = {r"\kappa_s": (kappa_side, "N·mm"), r"\omega": (omega, "rad")} | _along(ball)

    def written(stiffness, omega, arm, track, *across):
        return stiffness * omega * track / (arm * math.prod(across))

    return sheet.sum("Its torque about the pivot:", "T", written, numbers, "N·mm")


def _barrier(sheet, knife, leaves, at_rest):
    """Energy in the bars riding, less at rest."""
    sheet.head("The barrier: how much more energy the bar holds on the flat")
    shares = []
    for which, (leaf, (_, _, moment, omega, _)) in enumerate(zip(leaves, at_rest, strict=True)):
        high = _riding_moment(sheet, knife, leaf, "of the second leaf " if which else "")
        bent = {"moment": high, "kappa": leaf.spring.kappa}
        up = sheet.by("E1", "Energy riding:", bent, letter="U_r", renamed={"moment": "M_r"})
        down = sheet.by("E1", "Energy at rest:", {"moment": moment, "kappa": leaf.spring.kappa}, letter="U_0")
        if omega:
            aside = sheet.by(
                "E1a", "and in the sideways turn, at rest:", {"kappa_side": leaf.side, "omega": omega}, letter="U_s"
            )
            down = sheet.sum(
                "At rest in all:",
                "U_0",
                lambda bent, aside: bent + aside,
                {"U_b": (down, "mJ"), "U_s": (aside, "mJ")},
                "mJ",
            )
        shares.append(
            sheet.sum("Difference:", "W", lambda up, down: up - down, {"U_r": (up, "mJ"), "U_0": (down, "mJ")}, "mJ")
        )
    _both_leaves(sheet, "W", shares, "mJ")


def _riding_moment(sheet, knife, leaf, whose):
    """Moment of a bar with all its balls on the flat."""
    demands = {
        i: formulas["B4"](**leaf.demand(knife.balls[i].protrusion, knife.balls[i].hinge_distance)) for i in leaf.members
    }
    most = max(demands, key=demands.get)
    if most == leaf.members[0]:
        numbers = {"F_r": (leaf.spring.riding_force, "N"), "L_1": (leaf.spring.arm, "mm")}
        return sheet.sum(
            f"Moment {whose}when ball {most + 1} rides the flat:",
            "M_r",
            lambda force, arm: force * arm,
            numbers,
            "N·mm",
        )
    sheet.say(f"On the flat ball {most + 1} stands higher for the bar and rides.")
    words = f"Moment {whose}when ball {most + 1} rides the flat, its bar angle found as before:"
    return sheet.by("B5", words, leaf.bent(demands[most]), letter="M_r")


def _break_out(sheet, detent):
    """The blade angle at which the last ball is on the flat."""
    sheet.head("Where the last ball comes out on to the flat")
    knife = detent.knife
    ball = knife.balls[int(np.argmax([angle.item() for angle in detent.leaving]))]
    recess = ball.recess
    outline = recess.rim_radius + recess.edge_radius
    values = {
        "distance": outline,
        "track_radius": ball.track_radius,
        "off_track": recess.off_track,
        "rest_offset": recess.rest_offset,
    }
    number = f" {knife.balls.index(ball) + 1}" if len(knife.balls) > 1 else ""
    stiff = sheet.by("L2a", f"Ball{number} is out where it stands the radius of the rim from the middle:", values)
    dragged = detent.break_out.item() - stiff
    if dragged:
        numbers = {r"\theta": (math.degrees(stiff), "deg"), r"\Delta\theta": (math.degrees(dragged), "deg")}
        words = (
            "Friction on the flat takes the bar along sideways by Δθ of blade angle, so the blade has to go further:"
        )
        sheet.sum(words, r"\theta_f", lambda a, b: a + b, numbers, "deg")


def _handovers(sheet, detent, leaves, felt):
    """Each handover: at its angle both balls ask for the same bar angle."""
    knife = detent.knife
    for hand in felt.handovers:
        one, two = hand.from_ball, hand.to_ball
        sheet.head(
            f"The handover at {said(hand.angle_deg)}°: ball {{}} gives the bar to ball {{}}", str(one + 1), str(two + 1)
        )
        theta = math.radians(hand.angle_deg)
        state, which = detent.state(np.array([theta])), knife.balls[one].bar
        omega = state.side_turns[which].item()
        if hand.start_deg < hand.end_deg:
            sheet.say(
                f"From {said(hand.start_deg)}° to {said(hand.end_deg)}° both carry, while the bar swings over sideways"
                " (found by a search)."
            )
        if omega:
            sheet.say("In the middle of that the bar stands turned sideways by ω = {}°.", said(math.degrees(omega)))
        sheet.say("The proof: here both balls ask for the same bar angle.")
        for i in (one, two):
            _seat(sheet, knife, leaves[which], i, theta, omega, state, turning=False)
        sheet.say(
            "Torque with friction before {} N·mm, after {} N·mm.", said(hand.torque_before), said(hand.torque_after)
        )


def _seat(sheet, knife, leaf, i, theta, omega, state, turning=True):
    """Where one ball stands in its recess, how deep it sinks, how steep it sits, and what it asks of the bar;
    turning: for a torque.
    """
    ball, lifted = knife.balls[i], state.lifts[i]
    if len(knife.balls) > 1:
        sheet.say(f"Ball {i + 1}:")
    theta = _taken_along(sheet, ball, theta, omega)
    owner, angle, off_track = _recess_below(sheet, knife, i, theta)
    recess = knife.balls[owner].recess
    place = {
        "theta": angle,
        "track_radius": ball.track_radius,
        "off_track": off_track,
        "rest_offset": recess.rest_offset,
    }
    with np.errstate(invalid="ignore", divide="ignore"):  # as in Sheet.by
        held = formulas["L2"](**place).distance < _MIDDLE
    if held:
        place["theta"] = -math.asin(recess.rest_offset / ball.track_radius)
    distance = sheet.by("L2", "How far the ball stands from the middle of the recess:", place, "distance")
    cos_chi = 1.0
    if turning and distance > _MIDDLE and (off_track or angle):
        cos_chi = sheet.by("L2", "Share of its travel that goes straight at the rim:", place, "cos_chi", r"\cos\chi")
    sink, phi, touch, on_brink = _sink(sheet, ball, recess, distance)
    demand = sheet.by(
        "L6",
        "Gap between bar face and tang that it demands:",
        {"protrusion": ball.protrusion, "sink": sink},
        "demand",
        "g",
    )
    psi = sheet.by("B4", "As a bar angle:", leaf.demand(demand, ball.hinge_distance))
    reach = float(np.ravel(lifted.reach)[0])
    side = math.copysign(1.0, np.ravel(lifted.cos_chi)[0])
    all_round = int(np.ravel(lifted.touch)[0]) == ROUND or (bool(held) and leaf.side is not None)
    return _Seat(i, phi, cos_chi, reach, touch in (FLAT, FLOOR), all_round, side, on_brink, psi)


def _taken_along(sheet, ball, theta, omega):
    """Angle of the blade against the ball [rad]: the blade angle less what the bar's sideways turn takes the ball
    along.
    """
    if not omega:
        return theta
    numbers = {r"\theta": (math.degrees(theta), "deg"), r"\omega": (math.degrees(omega), "deg")} | _along(ball)
    words = "The bar's turn takes the ball along; against the ball the blade stands at"

    def written(theta, omega, arm, track, *across):
        return theta - omega * arm * math.prod(across) / track

    return math.radians(sheet.sum(words, r"\theta'", written, numbers, "deg"))


def _along(ball):
    """What takes a sideways turn of the bar into a way along the track; s: where the track crosses the bar askew."""
    across = math.sin(math.radians(ball.track_to_bar_deg))
    numbers = {"L": (ball.hinge_distance, "mm"), r"\rho": (ball.track_radius, "mm")}
    return numbers if across == 1 else numbers | {"s": (across, "")}


def _recess_below(sheet, knife, i, theta):
    """(owner of the recess that lets ball i sink deepest, angle and off-track error for L2 there); L8 where it is
    another ball's.
    """
    own = lift(knife.balls[i], theta).sink
    for j, other in enumerate(knife.balls):
        if j == i or not carry.crosses(knife, i, j):
            continue
        values = {
            "theta": theta,
            "bearing_ball": math.radians(carry.bearing(knife, i)),
            "bearing_other": math.radians(carry.bearing(knife, j)),
            "track_radius": knife.balls[i].track_radius,
            "track_radius_other": other.track_radius,
            "off_track": other.recess.off_track,
        }
        place = formulas["L8"](**values)
        if lift(knife.balls[i], place.theta, recess=other.recess, off_track=place.off_track).sink > own:
            sheet.say(f"It stands over the recess of ball {j + 1}, where it sinks deeper.")
            return (
                j,
                sheet.by("L8", "Angle to put in there:", values, "theta"),
                sheet.by("L8", "Off-track error there:", values, "off_track"),
            )
    return i, theta, knife.balls[i].recess.off_track


def _sink(sheet, ball, recess, distance):
    """(seat depth, contact angle [rad], what it touches, whether rim and floor meet there) of a ball at a distance
    from the middle.
    """
    radius = sheet.once(ball, "Radius of the ball:", "R", _halved, {"D": (ball.diameter, "mm")}, "mm")
    bore = (
        sheet.once((ball, recess), "Radius of the bore:", "a", _halved, {"D_r": (recess.diameter, "mm")}, "mm")
        if recess.diameter
        else 0.0
    )
    if recess.chamfer_width:
        sink, phi = _on_chamfer(sheet, radius, bore, recess, distance)
    else:
        words = "Rim gap, from the ball's axis to the rim:"
        sink, phi = _on_edge(sheet, radius, _rim_gap(sheet, words, distance, a=bore), recess.edge_radius)
    on_brink = recess.depth is not None and abs(sink - recess.depth) < _BRINK
    if recess.depth is not None and sink > recess.depth:
        sheet.say("The floor is in the way: there the ball sits on level ground, with a contact angle of nothing.")
        floor = {"sink": sink, "floor_depth": recess.depth}
        return sheet.by("L5", "So it sinks to the floor:", floor, letter="s"), 0.0, FLOOR, on_brink
    return sink, phi, RIM if phi else FLAT, on_brink


def _halved(diameter):
    return diameter / 2


def _rim_gap(sheet, words, distance, **radii):
    """From the ball's axis to the edge whose radius is the sum of these."""
    numbers = {letter: (radius, "mm") for letter, radius in radii.items()} | {"d": (distance, "mm")}
    return sheet.sum(words, "b", lambda *parts: sum(parts[:-1]) - parts[-1], numbers, "mm")


def _on_edge(sheet, radius, rim_gap, rounding=0.0):
    """(seat depth, contact angle) at a sharp (L1) or rounded (L3) rim; nothing where the ball is past it."""
    if rim_gap <= -rounding:
        sheet.say("The ball's axis is past the rim: it rides the flat and sinks by nothing.")
        return 0.0, 0.0
    values, id = {"rim_gap": rim_gap, "ball_radius": radius}, "L1"
    if rounding:
        values, id = values | {"edge_radius": rounding}, "L3"
    phi = sheet.by(id, "Contact angle, from the pole of the ball:", values, "phi")
    return sheet.by(id, "Seat depth, how far the ball is in the recess:", values, "sink"), phi


def _on_chamfer(sheet, radius, bore, recess, distance):
    """(seat depth, contact angle) on the cone of a chamfer, or on the edge above or below it."""
    gamma, width = math.radians(recess.chamfer_deg), recess.chamfer_width
    values = {
        "distance": distance,
        "ball_radius": radius,
        "bore_radius": bore,
        "chamfer_width": width,
        "chamfer": gamma,
    }
    reach = sheet.by("L4", "Where the ball would touch the cone, from the middle:", values, "reach")
    if bore <= reach <= recess.rim_radius:
        sheet.say(f"That lies on the chamfer, so the contact angle is that of the cone: φ = {recess.chamfer_deg:g}°.")
        return sheet.by("L4", "Seat depth:", values, "sink"), gamma
    if reach > bore:
        words = "That is outside the cone: the upper edge carries. Rim gap:"
        return _on_edge(sheet, radius, _rim_gap(sheet, words, distance, a=bore, w=width))
    words = "That is inside the cone: the lower edge carries. Rim gap:"
    sink, phi = _on_edge(sheet, radius, _rim_gap(sheet, words, distance, a=bore))
    lower = sheet.by("L4", "That edge lies deeper than the tang face by", values, "lower")
    numbers = {"s_1": (sink, "mm"), "s_c": (lower, "mm")}
    return sheet.sum("So in all:", "s", lambda sink, lower: sink + lower, numbers, "mm"), phi
