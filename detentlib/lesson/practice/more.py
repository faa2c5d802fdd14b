"""How the questions are answered that are only practised, beside those of the notebooks."""

import math

from ...knife.units import convert
from ...say.working import Worked, angle_of, by_formula, product, quotient, total
from ..questions.apprentice import ratio_of_two
from ..questions.asking import Way, read_questions
from ..questions.one_ball import ANSWERS as ONE_BALL
from ..questions.one_ball import touching, wedge, whole_job
from ..questions.tune import from_lift
from ..questions.two_balls import difference_of_two, handover, match, touch


def _gap_from_lift(ball, lift):
    lines = from_lift(ball, lift)
    sine = math.sin(math.radians(lines[-1].value))
    said = "The rim point stands beside the ball's axis by radius times sine."
    return [*lines, product(said, "b", ball / 2, sine, "mm")]


def _torque_from_pounds(pounds, arm):
    force = product("One lbf is 4.4482 N.", "F", pounds, convert(1.0, "lbf", "N"), "N")
    return [force, product("Force times arm is the torque.", "T", force.value, arm, "N·mm")]


def _most(seated, riding, rise):
    lines = ONE_BALL["03-barrier"].solve(seated, riding, rise)
    energy = lines[-1].value
    higher = "A ball that hangs clear on the flat can only make the bar stand higher at rest, never lower."
    said = f"{higher} So (E2) the barrier is at most that of ball 1 alone."
    return [*lines, Worked(said, lambda: rf"E \le {energy:.4g}\,\mathrm{{mJ}}", energy, "mJ")]


def _who_carries(ball, out_1, gap_1, out_2, gap_2):
    held = [out - touching("", "sink", ball, gap).value for out, gap in ((out_1, gap_1), (out_2, gap_2))]
    return "a" if held[0] > held[1] else "b", {"first": held[0], "second": held[1]}


def _smaller(ball, gap, deeper):
    lines = touch(ball, gap, deeper)
    said = "A smaller recess brings its rim nearer by half of what it is smaller."
    return [*lines, product(said, r"\Delta D", 2, lines[-1].value, "mm")]


def _angle_at_handover(ball, gap, deeper, lead):
    return handover(ball, gap, deeper, lead)[:1]


def _turned(travel, track):
    turn = quotient("Travel over track radius is the turn in radians.", r"\theta", travel, track, "")
    angle = math.degrees(turn.value)
    shown = rf"\theta = {turn.value:.4g} \cdot \frac{{180^\circ}}{{\pi}} = {angle:.4g}^\circ"
    return [turn, Worked("In degrees.", lambda: shown, angle, "deg")]


def _left_of_peak(ball, gap, deeper, lead):
    alone = touching("Ball 1 alone starts on this slope.", "slope", ball, gap)
    start = touching("Ball 2 starts on this one.", "slope", ball, gap - lead)
    (angle,) = _angle_at_handover(ball, gap, deeper, lead)
    later = wedge("and from there on the slope is", angle.value)
    steepest = max(start.value, later.value)
    said = "The steeper of the two is the peak now, against that of ball 1 alone."
    return [alone, start, angle, later, quotient(said, "x", steepest, alone.value, "")]


def _left_of_barrier(ball, gap, deeper, lead):
    alone = touching("Ball 1 alone sits so deep.", "sink", ball, gap)
    second = touching("Ball 2 sits so deep,", "sink", ball, gap - lead)
    rise = total("and the bar has to rise by the press-depth difference as well.", "h", second.value, deeper, "mm")
    said = "With one bar force the barriers are as the rises."
    return [alone, second, rise, quotient(said, "x", rise.value, alone.value, "")]


def _match_with_hinge(angle, times, hinge_1, hinge_2):
    first, needed, _ = match(angle, times)
    said = "Nearer to its hinge the bar presses harder. So there less slope does, by"
    bar = quotient(said, r"L_2/L_1", hinge_2, hinge_1, "")
    gentler = product("Both together.", r"\tan\varphi_2", needed.value, bar.value, "")
    return [first, needed, bar, gentler, angle_of("The angle of that slope.", r"\varphi_2", "tan", gentler.value)]


def _settles(depth, difference):
    known = difference_of_two(depth)[-1].value
    right, than = ("a", "more") if known < difference else ("b", "less")
    return right, {"known": known, "than": than}


def _slope_off_track(ball, drill, offset, off, track, travel):
    where = {"theta": travel / track, "track_radius": track, "off_track": off, "rest_offset": offset}
    away = by_formula("How far the ball's axis is from the middle of the recess.", "L2", where, "distance")
    gap = total("What is left to the rim.", "b", drill / 2, -away.value, "mm")
    steep = touching("The rim's own slope there.", "slope", ball, gap.value)
    along = by_formula("Only a share of the travel leads straight away from the middle.", "L2", where, "cos_chi")
    rises = product("So along the track the bar rises per millimetre by", "x", steep.value, along.value, "")
    return [away, gap, steep, along, rises]


def _thin_enough(now, wanted, thick):
    share = quotient("So much of its force may the bar keep.", "k", wanted, now, "")
    thin = thick * math.cbrt(share.value)
    shown = rf"t = {thick:.4g} \sqrt[3]{{{share.value:.4g}}} = {thin:.4g}\,\mathrm{{mm}}"
    said = "Force goes with the cube of the thickness (B1, relief alone), so the thickness with the cube root."
    return [share, Worked(said, lambda: shown, thin, "mm")]


def _verdict(with_both, with_one, doubt, bound):
    lines = ratio_of_two(with_both, with_one, doubt)
    times, size = lines[0].value, lines[-1].value
    found = {"times": times, "size": size, "low": times - size, "high": times + size}
    return "a" if found["low"] >= bound else "b" if found["high"] < bound else "c", found


_OFF_TRACK = Way(_slope_off_track, own_slope=lambda n: n.line(3), on_track=lambda n: n.again(off=0.0))
ANSWERS = {
    "practice-lift-gap": Way(
        _gap_from_lift,
        downwards=lambda n: n.ball / 2 - n.lift,
        diameter=lambda n: n.again(ball=2 * n.ball),
        rise_itself=lambda n: n.lift,
    ),
    "practice-torque": Way(
        _torque_from_pounds,
        newtons=lambda n: n.pounds * n.arm,
        divided=lambda n: n.line(1) / n.arm,
        kilograms=lambda n: convert(n.pounds, "kgf", "N") * n.arm,
    ),
    "practice-barrier-two": Way(_most, two_hills=lambda n: 2 * n.again()),
    "practice-job": Way(
        whole_job,
        no_friction=lambda n: n.again(mu=0),
        drag_added=lambda n: (n.line(6, mu=0) + n.mu * n.line(4)) * n.track / n.tab,
        force_on_the_flat=lambda n: n.again(rate=0),
        wrong_sign=lambda n: n.again(rate=-n.rate),
        at_the_ball=lambda n: n.line(6),
        letting_back=lambda n: n.again(mu=-n.mu),
    ),
    "practice-job-ratio": Way(
        lambda **numbers: whole_job(**numbers)[:5],
        no_friction=lambda n: n.again(mu=0),
        drag_added=lambda n: n.again(mu=0) + n.mu,
        letting_back=lambda n: n.again(mu=-n.mu),
    ),
    "practice-who": _who_carries,
    "practice-drill": Way(_smaller, rim_lead=lambda n: n.line(1), as_deep=lambda n: 2 * n.deeper),
    "practice-handover-angle": Way(
        _angle_at_handover,
        at_the_stop=lambda n: math.degrees(math.asin(n.gap / (n.ball / 2))),
        mean_angle=lambda n: math.degrees(math.atan(n.deeper / n.lead)),
    ),
    "practice-handover-turn": Way(_turned),
    "practice-run-off-turn": Way(_turned),
    "practice-peak": Way(
        _left_of_peak,
        negligible=lambda n: 1.0,
        how_long=lambda n: 1 - handover(n.ball, n.gap, n.deeper, n.lead)[-1].value / n.gap,
    ),
    "practice-peak-barrier": Way(
        _left_of_barrier,
        negligible=lambda n: 1.0,
        ball_2_alone=lambda n: n.line(2) / n.line(1),
        as_the_peak=lambda n: _left_of_peak(n.ball, n.gap, n.deeper, n.lead)[-1].value,
    ),
    "practice-hinge": Way(
        _match_with_hinge,
        equal_hinges=lambda n: match(n.angle, n.times)[-1].value,
        swapped=lambda n: n.again(hinge_1=n.hinge_2, hinge_2=n.hinge_1),
        equal_arms=lambda n: n.angle,
    ),
    "practice-settle": _settles,
    "practice-relief": Way(
        _thin_enough,
        thickness_itself=lambda n: n.thick * n.wanted / n.now,
        square=lambda n: n.thick * math.sqrt(n.wanted / n.now),
        comes_off=lambda n: n.thick - n.again(),
    ),
    "practice-verdict": _verdict,
    "practice-off-stop": _OFF_TRACK,
    "practice-off-later": _OFF_TRACK,
}
PRACTISED = read_questions(__file__, ANSWERS)
