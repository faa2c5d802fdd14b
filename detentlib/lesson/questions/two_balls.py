"""How the questions of notebooks 04 to 06 are answered: two balls on one spring, offset recesses, the whole swing."""

import math

from ...files.demo import demo
from ...knife.units import both, convert
from ...mechanics.feel import feel
from ...mechanics.lift import FLAT, RIM, ROUND
from ...mechanics.strength import DENT, contact_marks
from ...mechanics.swing import leavings, loads_in, swing
from ...say.working import Worked, angle_of, by_formula, product, quotient, total
from ...tune.moves import with_one_ball
from ...tune.pair import PRESS, sharing_band, with_second_ball
from ...tune.threshold import cliff
from .asking import Way, nearest
from .one_ball import slope, touching


def _level():
    twins = with_second_ball(demo("pellowfen-a"), deeper=0.0)
    pair, one = feel(twins, elastic=True), feel(with_one_ball(twins), elastic=True)
    times = pair.break_force / one.break_force
    found = {"one": one, "pair": pair, "each": pair.rest_load / 2, "times": times}
    return nearest(times, a=2.0, b=1.0, c=0.5), found


def _how_level():
    knife = demo("pellowfen-b")
    rest, flat = (sharing_band(knife, angle).width for angle in (0.0, feel(knife).break_out_deg))
    on_a_stop, by_hand = PRESS.values()
    letters = {letter: convert(thou, "thou", "mm") for letter, thou in {"a": 2.0, "b": 1.0, "c": 1 / 6}.items()}
    found = {"rest": both(rest, "mm"), "flat": both(flat, "mm"), "on_a_stop": on_a_stop, "by_hand": by_hand}
    return nearest(rest / 2, **letters), found


def _one_drill_smaller():
    one, two = (feel(demo(name)) for name in ("pellowfen-a", "pellowfen-c"))
    (over,) = two.handovers
    step, ratio = over.torque_after / over.torque_before - 1, two.break_force / one.break_force
    found = {"one": one, "two": two, "over": over, "ball": over.to_ball + 1, "step": 100 * abs(step)}
    letter = "a" if ratio > 1.01 else "c" if ratio < 0.99 and step > 0 else "b"
    return letter, found | {"goes": "climbs" if step > 0 else "falls"}


def _brief(lead, gap, ball, deeper):
    (step,) = cliff([lead], rim_gap=gap, ball_radius=ball / 2, height_difference=deeper)
    lost = {name: 100 * (1 - getattr(step, name)) for name in ("peak", "barrier", "start", "after")}
    return nearest(1 - step.peak, a=0.02, b=0.1, c=0.2), lost | {"carries": 100 * step.carries}


def _who(ball, out_1, gap_1, out_2, gap_2):
    lines = []
    for number, out, gap in ((1, out_1, gap_1), (2, out_2, gap_2)):
        seat = touching("How deep the ball sits.", "sink", ball, gap)
        said = f"Ball {number} would hold the bar off the tang by what it stands out, less its seat."
        lines += [seat, by_formula(said, "L6", {"protrusion": out, "sink": seat.value}, "demand")]
    first, second = lines[1].value, lines[3].value
    carrier, high, low = (1, first, second) if first > second else (2, second, first)
    said = f"Ball {carrier} holds it further off, so it carries. The other hangs clear by"
    return [*lines, total(said, "x", high, -low, "mm")]


def _split(load, angle, share):
    ratio = slope(angle)
    first = product("Ball 1 has its share of the bar.", "N_1", load, share / 100, "N")
    second = total("Ball 2 has the rest.", "N_2", load, -first.value, "N")
    pushes = [
        product(f"Push at ball {number}.", f"F_{number}", part.value, ratio.value, "N")
        for number, part in enumerate((first, second), 1)
    ]
    return [ratio, first, second, *pushes, total("Together.", "F", pushes[0].value, pushes[1].value, "N")]


def _leaf(force, near, far):
    said = "The same push at the ball turns the blade harder on a longer track radius."
    arm = quotient(said, r"\rho_2/\rho_1", far, near, "")
    second = product("What the second ball alone would read.", "F_2", force, arm.value, "N")
    together = "Two leaves press, each with its own force: here the two do add up."
    return [arm, second, total(together, "F", force, second.value, "N")]


def difference_of_two(doubt: float) -> list[Worked]:
    """± of the difference of two readings [mm] of one ±."""
    said = "Square each ±, add, take the root: of two that are equal it is root two, 1.414, times one of them."
    return [product(said, r"\pm", math.sqrt(2), doubt, "mm")]


def touch(ball: float, gap: float, deeper: float) -> list[Worked]:
    """The rim lead [mm] from which on a deeper ball touches at rest (C3)."""
    values = {"rim_gap_1": gap, "height_difference": deeper, "ball_radius": ball / 2}
    said = "The rim of ball 2 must come nearer by just what brings the lower ball up to it."
    return [by_formula(said, "C3", values)]


def handover(ball: float, gap: float, deeper: float, lead: float) -> list[Worked]:
    """The contact angle of ball 1 [deg] and the travel [mm] where both balls touch (C2)."""
    values = {"height_difference": deeper, "rim_lead": lead, "ball_radius": ball / 2, "rim_gap_1": gap}
    return [
        by_formula("Where both touch, ball 1 touches at", "C2", values, "phi_1"),
        by_formula("and the ball has travelled", "C2", values, "travel"),
    ]


def _step(before, after):
    slopes = [slope(angle) for angle in (before, after)]
    said = "One bar force, two slopes: the resistance steps by their ratio."
    return [*slopes, quotient(said, "x", slopes[1].value, slopes[0].value, "")]


def match(angle: float, times: float) -> list[Worked]:
    """The contact angle [deg] that holds as hard on a track radius so many times as long."""
    first = slope(angle)
    needed = quotient("On the longer radius a gentler slope does.", r"\tan\varphi_2", first.value, times, "")
    return [first, needed, angle_of("The angle of that slope.", r"\varphi_2", "tan", needed.value)]


def _edge():
    knife = demo("pellowfen-b")
    gone = leavings(knife, swing(knife))[0]
    later = gone.until_deg - gone.angle_deg
    found = {"gone": gone, "ball": gone.to + 1, "later": later}
    found |= {"past": both(gone.past, "mm"), "drop": both(gone.drop, "mm")}
    return nearest(later, a=0.0, b=2.0, c=-gone.angle_deg), found


def _outer():
    """Ball 2 of B and of C on the flat and on its rim, while ball 1 is on the tang: the same flat, another rim."""
    told = {}
    for name in ("pellowfen-b", "pellowfen-c"):
        knife = demo(name)
        swung = swing(knife)
        ends = knife.balls[0].run_off_deg
        before = [each for each in swung.stretches if each.carrier == 1 and each.to_deg <= ends]
        told[name] = [(stretch, loads_in(swung, stretch)) for stretch in before]
    (held, loads), *_ = told["pellowfen-c"]
    touched = {stretch.touch for stretches in told.values() for stretch, _ in stretches}
    letter = "c" if FLAT in touched else "b" if touched & {RIM, ROUND} else "a"
    return letter, {"held": held, "low": loads[0], "high": loads[1]}


def _bright():
    knife = demo("pellowfen-a")
    felt = feel(knife)
    found = contact_marks(knife, felt)
    letter = "c" if felt.ride_load >= found.static else "b" if felt.ride_load > found.first_yield else "a"
    dent = 1e3 * DENT * knife.balls[found.ball].diameter
    return letter, {"felt": felt, "limits": found, "dent": dent}


def _roll_off(ball, deeper):
    radius = ball / 2
    said = "The edge lies on the ball's circle, which has sunk by the press-depth difference: the cosine there."
    cosine = quotient(said, "c", radius - deeper, radius, "")
    angle = angle_of("The angle of that cosine.", r"\varphi", "cos", cosine.value)
    sine = math.sin(math.radians(angle.value))
    past = product("So the ball's axis is past the edge by radius times sine.", "x", radius, sine, "mm")
    return [cosine, angle, past]


def _swing_drag(load, friction, track, pivot, opening):
    push = product("The ball drags on the flat with", "F", load, friction, "N")
    torque = product("On its track that is a torque.", "T_f", push.value, track, "N·mm")
    drags = total("The pivot drags as well.", "T", torque.value, pivot, "N·mm")
    turn = quotient("The angle in radians: 57.3° are 1.", r"\theta", opening, math.degrees(1.0), "")
    work = product("Work is torque times that.", "W", drags.value, turn.value, "mJ")
    return [torque, drags, turn, work]


ANSWERS = {
    "04-level": _level,
    "04-how-level": _how_level,
    "04-who": Way(
        _who,
        press_depth=lambda n: n.out_1 - n.out_2,
        seat_depth=lambda n: n.line(1) - n.line(3),
        not_taken_off=lambda n: n.line(4),
    ),
    "04-split": Way(
        _split,
        twice=lambda n: 2 * n.again(),
        ball_1_alone=lambda n: n.line(4),
        component=lambda n: n.load * math.sin(math.radians(n.angle)),
    ),
    "04-leaf": Way(_leaf, twice=lambda n: 2 * n.force, same_leaf=lambda n: n.force, second_alone=lambda n: n.line(2)),
    "04-prove": Way(difference_of_two, worst_case=lambda n: 2 * n.doubt, one_reading=lambda n: n.doubt),
    "05-smaller": _one_drill_smaller,
    "05-brief": _brief,
    "05-touch": Way(
        touch,
        any_lead=lambda n: 0.0,
        as_deep=lambda n: n.deeper,
        straight=lambda n: n.deeper * math.sqrt((n.ball / 2) ** 2 - n.gap**2) / n.gap,
        diameter=lambda n: 2 * n.again(),
    ),
    "05-handover": Way(
        handover,
        onto_the_flat=lambda n: n.gap - n.lead,
        lead_itself=lambda n: n.lead,
        what_is_left=lambda n: n.gap - n.again(),
    ),
    "05-step": Way(
        _step,
        release=lambda n: 1 / n.again(),
        angles=lambda n: n.after / n.before,
        sines=lambda n: math.sin(math.radians(n.after)) / math.sin(math.radians(n.before)),
    ),
    "05-match": Way(
        match,
        same_radius=lambda n: n.angle,
        angle_divided=lambda n: n.angle / n.times,
        upside_down=lambda n: n.again(times=1 / n.times),
    ),
    "06-edge": _edge,
    "06-outer": _outer,
    "06-bright": _bright,
    "06-roll": Way(
        _roll_off,
        drops=lambda n: 0.0,
        sinks=lambda n: n.deeper,
        leaves_tang=lambda n: n.ball / 2,
        diameter=lambda n: math.sqrt(n.ball * 2 * n.deeper),
    ),
    "06-drag": Way(
        _swing_drag,
        no_pivot=lambda n: n.again(pivot=0.0),
        bar_twice=lambda n: n.again(load=2 * n.load),
        degrees=lambda n: n.line(2) * n.opening,
    ),
}
