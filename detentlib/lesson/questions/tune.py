"""How the questions of notebooks 07 and 08 are answered: getting the numbers off a real knife, and what to change."""

import math

from ...derivations.formulas import formulas
from ...files.demo import demo
from ...files.instruments import instrument_for
from ...knife.parts import Knife
from ...knife.plain import true_minus
from ...knife.units import both, convert
from ...measure.models import NOISE
from ...measure.pull import off_stop
from ...measure.trace import lift_trace
from ...mechanics.feel import feel
from ...say.working import angle_of, by_formula, cubed, product, quotient, total
from ...tune.moves import THOU, as_made, with_relief
from .asking import Way, bench_readings, nearest
from .one_ball import slope, touching

_CUBE = "The force goes with the cube of the thickness (B1, relief alone)."


def _hole():
    """± of the contact angle by photo, by lift and by gauge, each with what careful bench work can do."""
    knife = demo("pellowfen-a")
    felt, ball, mu = feel(knife), knife.balls[0], knife.friction.rim
    gap, phi = felt.rim_gap[0], math.radians(felt.contact_deg[0])
    bore = instrument_for("balls[0].recess.diameter", "microscope").doubt
    seen = math.hypot(bore / 2, instrument_for("balls[0].recess.rest_offset", "photo").doubt)
    low, high = (formulas["L1"](rim_gap=gap + sign * seen, ball_radius=ball.radius).phi for sign in (-1, 1))
    by_lift = math.sqrt(2) * NOISE["lift"] / (ball.radius * math.sin(phi))
    push = formulas["F2"](phi=phi, mu=mu, cos_chi=1.0)
    force = instrument_for("bar.riding_force", "pull gauge").doubt / knife.bar.riding_force
    arm = instrument_for("blade.tab_arm", "calipers").doubt / knife.blade.tab_arm
    by_gauge = math.hypot(math.hypot(force, arm) * push / (1 + push**2), knife.doubts["friction.rim"] / (1 + mu**2))
    found = {"photo": math.degrees(high - low) / 2, "lift": math.degrees(by_lift), "gauge": math.degrees(by_gauge)}
    found["unseen"] = lift_trace(bench_readings("lift-trace-a"), knife).contact_deg.doubt
    return nearest(0.0, a=found["photo"], b=found["lift"], c=found["gauge"]), found


def _stop(hurry):
    """What half a degree off the stop does to the friction."""
    knife = demo("pellowfen-a")
    friction = knife.friction.rim
    (off,) = (pull for pull in off_stop(knife, friction) if pull.off_deg == hurry)
    times = off.friction / friction
    letter = "a" if abs(times - 1) < 0.05 else "b" if times > 1 else "c"
    return letter, {"low": 100 * off.low, "off": off, "friction": friction, "times": times}


def _thou(difference):
    """± of a difference of two heights by calipers, and by a depth micrometer."""
    height = "balls[0].protrusion"
    rod, micrometer = (instrument_for(height, name).doubt for name in ("caliper depth rod", "depth micrometer"))
    two_rods, two_micrometers = math.sqrt(2) * rod, math.sqrt(2) * micrometer
    found = {"rod": both(rod, "mm"), "two_rods": both(two_rods, "mm"), "two_micrometers": both(two_micrometers, "mm")}
    return "b" if two_rods > difference else "a", found


def from_lift(ball: float, lift: float) -> list:
    """The contact angle [deg] of a ball [mm] that lifts the bar so far [mm] on its way from stop to flat."""
    above = total("The ball's centre stands above the rim by the radius less the lift.", "h", ball / 2, -lift, "mm")
    said = "As a share of the radius that is the cosine of the contact angle."
    share = quotient(said, r"\cos\varphi", above.value, ball / 2, "")
    return [above, share, angle_of("So the angle, from the pole of the ball.", r"\varphi", "cos", share.value)]


def _pressed_deeper(lift, drop, first, second):
    left = total("Past the run-off the bar stands so much above its seat, at ball 1.", r"\Delta g_1", lift, -drop, "mm")
    ratio = quotient("At ball 2 it is less, as that is nearer to the hinge.", "r", second, first, "")
    at_second = product("There it stands above its seat by", r"\Delta g_2", left.value, ratio.value, "mm")
    said = "Ball 1 held it up by the whole lift. Ball 2 stands lower by"
    return [left, ratio, at_second, total(said, r"\Delta", lift, -at_second.value, "mm")]


def thou_of_each(knife: Knife) -> dict:
    """{letter: change of the break force [N]} for a thou off the relief, and on the recess and the stop pin."""
    before = feel(knife).break_force
    tried = {
        "a": with_relief(knife, knife.bar.relief_thickness - THOU),
        "b": knife.replace({"balls[0].recess.diameter": knife.balls[0].recess.diameter + THOU}),
        "c": knife.replace(as_made(knife, {"pin": THOU})),
    }
    return {letter: feel(changed).break_force - before for letter, changed in tried.items()}


def _which_thou():
    knife = demo("pellowfen-a")
    changes = thou_of_each(knife)
    relief, recess, pin = (true_minus(f"{change:+.2f}") for change in changes.values())
    found = {"before": feel(knife).break_force, "relief": relief, "recess": recess, "pin": pin}
    return max(changes, key=lambda letter: abs(changes[letter])), found


def relief_for(knife: Knife, force: float) -> float:
    """Relief thickness [mm] at which the knife, bent as far as now, breaks at a force [N] at the tab."""
    from scipy.optimize import brentq

    thick = knife.bar.relief_thickness
    return brentq(lambda thin: feel(with_relief(knife, thin)).break_force - force, 0.7 * thick, 1.2 * thick, xtol=1e-6)


def _thinner_lock(softer):
    knife = demo("pellowfen-a")
    thin = relief_for(knife, softer)
    left = feel(with_relief(knife, thin)).ride_load / feel(knife).ride_load
    off = convert(knife.bar.relief_thickness - thin, "mm", "thou")
    return nearest(left, a=1.0, b=0.83, c=1.2), {"off": off, "left": 100 * left}


def _share_inside(scatter, window):
    share = math.erf(window / scatter / math.sqrt(2))
    found = {"half_window": window / 2, "deviation": scatter / 2, "share": 100 * share}
    return nearest(share, a=0.98, b=0.75, c=0.5), found


def _lost_by_a_thou(force, thick, off):
    left = cubed(_CUBE, "F", force, thick - off, thick, "N")
    return [left, total("So much is gone.", r"\Delta F", force, -left.value, "N")]


def _pin(ball, track, gap, load, change, stop):
    sizes = {"pin_change": change, "stop_radius": stop, "track_radius": track}
    moved = by_formula("So far the pin moves the ball: half of it, on the shorter radius.", "B9", sizes, "travel")
    lines, pushes = [moved], []
    for said, rim_gap in (("As it is", gap), ("With the new pin", gap - moved.value)):
        angle = touching(f"{said}, the rim touches at this angle.", "phi", ball, rim_gap)
        ratio = slope(angle.value)
        push = product("For the whole bar force, at the ball.", "F", load, ratio.value, "N")
        lines += [angle, ratio, push]
        pushes.append(push.value)
    return [*lines, total("So much less.", r"\Delta F", pushes[0], -pushes[1], "N")]


ANSWERS = {
    "07-hole": _hole,
    "07-stop": _stop,
    "07-thou": _thou,
    "07-lift": Way(
        from_lift,
        diameter=lambda n: n.again(ball=2 * n.ball),
        from_the_side=lambda n: 90 - n.again(),
        lift_for_gap=lambda n: math.degrees(math.asin(n.lift / (n.ball / 2))),
    ),
    "07-drop": Way(
        _pressed_deeper,
        over_ball_1=lambda n: n.drop,
        only_the_drop=lambda n: n.drop * n.second / n.first,
        swapped=lambda n: n.again(first=n.second, second=n.first),
    ),
    "08-which": _which_thou,
    "08-lock": _thinner_lock,
    "08-inside": _share_inside,
    "08-thou": Way(
        _lost_by_a_thou,
        thickness_itself=lambda n: n.force * n.off / n.thick,
        square=lambda n: n.force * (1 - (1 - n.off / n.thick) ** 2),
        what_is_left=lambda n: n.line(1),
    ),
    "08-pin": Way(
        _pin,
        whole_thickness=lambda n: n.again(track=n.stop, change=2 * n.change),
        at_the_pin=lambda n: n.again(track=n.stop),
        both_sides=lambda n: n.again(change=2 * n.change),
        sine=lambda n: n.load * n.line(1) / (n.ball / 2),
    ),
}
