"""The questions of notebooks 04 and 05: two balls on one spring, and offset recesses; entered in table.py."""

import math

from ...mechanics.feel import feel
from ...units import both, convert
from ...workshop.moves import with_one_ball
from ...workshop.pair import PRESS, TWO_THOU, sharing_band, squashing, with_second_ball
from ...workshop.threshold import cliff
from ..working import Worked, by_formula, product, quotient, total
from .asking import Choice, Given, Mistake, Question, demo, nearest

_BALL = Given(1.5875, "mm", "1/16 in (1.5875 mm)")
_DEEPER = Given(TWO_THOU, "mm", "2 thou (0.0508 mm)")
_BRIEF, _GAP = 0.060, 0.60  # mm, rim lead and rim gap of the question about a brief touch


def _level():
    twins = squashing(with_second_ball(demo("pellowfen-a"), deeper=0.0))
    pair, one = feel(twins, elastic=True), feel(with_one_ball(twins), elastic=True)
    said = (
        f"Now both carry, {pair.rest_load / 2:.2f} N each where one had {one.rest_load:.2f} N. One ball breaks at {one.break_force:.2f} N, "
        f"the pair at {pair.break_force:.2f} N: {pair.break_force / one.break_force:.2f} times as much."
    )
    return nearest(pair.break_force / one.break_force, {"a": 2.0, "b": 1.0, "c": 0.5}), said


def _how_level():
    knife = demo("pellowfen-b")
    rest, flat = (sharing_band(knife, angle) for angle in (0.0, feel(knife).break_out_deg))
    stop, hand = PRESS.values()
    said = (
        f"At rest they share over {both(rest.width, 'mm')} in all, on the flat over {both(flat.width, 'mm')}. "
        f"A press repeats to ±{stop:g} mm on a stop, ±{hand:g} mm by hand (common practice, low confidence)."
    )
    return nearest(rest.width, {letter: convert(thou, "thou", "mm") for letter, thou in {"a": 2.0, "b": 1.0, "c": 0.33}.items()}), said


def _one_drill_smaller():
    one, two = (feel(demo(name)) for name in ("pellowfen-a", "pellowfen-c"))
    (over,) = two.handovers
    step, ratio = over.torque_after / over.torque_before - 1, two.break_force / one.break_force
    said = (
        f"One ball breaks at {one.break_force:.2f} N, these two at {two.break_force:.2f} N. From {over.start_deg:.2f}° to {over.end_deg:.2f}° "
        f"the bar goes over to ball {over.to_ball + 1}, and the push {'climbs' if step > 0 else 'falls'} by {100 * abs(step):.0f} %."
    )
    return "a" if ratio > 1.01 else "c" if ratio < 0.99 and step > 0 else "b", said


def _brief():
    (step,) = cliff([_BRIEF], rim_gap=_GAP, ball_radius=_BALL.value / 2, height_difference=_DEEPER.value)
    lost = [f"{100 * (1 - ratio):.1f} %" for ratio in (step.peak, step.barrier)]
    start, after = (f"{100 * (1 - ratio):.1f} %" for ratio in (step.start, step.after))
    said = (
        f"Ball 2 carries for {100 * step.carries:.1f} % of the travel. It starts the blade with {start} less than ball 1 would, and ball 1 takes over with "
        f"{after} less than it starts with alone. The larger of the two is the new peak: it falls by {lost[0]}, the barrier by {lost[1]}."
    )
    return nearest(1 - step.peak, {"a": 0.02, "b": 0.1, "c": 0.2}), said


def _seat(ball, gap):
    return by_formula("How deep the ball sits.", "L1", {"rim_gap": gap, "ball_radius": ball / 2}, "sink")


def _off(said, out, seat):
    return by_formula(said, "L6", {"protrusion": out, "sink": seat}, "demand")


def _who(ball, out_1, gap_1, out_2, gap_2):
    demands = []
    for number, out, gap in ((1, out_1, gap_1), (2, out_2, gap_2)):
        seat = _seat(ball, gap)
        demands += [seat, _off(f"Ball {number} would hold the bar off the tang by what it stands out, less its seat.", out, seat.value)]
    first, second = demands[1].value, demands[3].value
    carrier, high, low = (1, first, second) if first > second else (2, second, first)
    return [*demands, total(f"Ball {carrier} holds it further off, so it carries. The other hangs clear by", "x", high, -low, "mm")]


def _slope(angle):
    return by_formula("Push for each newton of bar force, without friction.", "F2", {"phi": math.radians(angle), "mu": 0, "cos_chi": 1}, "ratio")


def _split(load, angle, share):
    ratio = _slope(angle)
    first = product("Ball 1 has its share of the bar.", "N_1", load, share / 100, "N")
    second = total("Ball 2 has the rest.", "N_2", load, -first.value, "N")
    pushes = [product(f"Push at ball {number}.", f"F_{number}", each.value, ratio.value, "N") for number, each in enumerate((first, second), start=1)]
    return [ratio, first, second, *pushes, total("Together.", "F", pushes[0].value, pushes[1].value, "N")]


def _leaf(force, near, far):
    arm = quotient("The same push at the ball turns the blade harder on a longer track radius.", r"\rho_2/\rho_1", far, near, "")
    second = product("What the second ball alone would read.", "F_2", force, arm.value, "N")
    return [arm, second, total("Two leaves press, each with its own force: here the two do add up.", "F", force, second.value, "N")]


def _difference(doubt):
    return [product("Two independent doubts of one size make root two of it.", r"\pm", math.sqrt(2), doubt, "mm")]


def _touch(ball, gap, deeper):
    values = {"rim_gap_1": gap, "height_difference": deeper, "ball_radius": ball / 2}
    return [by_formula("The rim of ball 2 must come nearer by just what brings the lower ball up to it.", "C3", values)]


def _handover(ball, gap, deeper, lead):
    values = {"height_difference": deeper, "rim_lead": lead, "ball_radius": ball / 2, "rim_gap_1": gap}
    return [
        by_formula("Where both touch, ball 1 touches at", "C2", values, "phi_1"),
        by_formula("and the ball has travelled", "C2", values, "travel"),
    ]


def _step(before, after):
    slopes = [_slope(angle) for angle in (before, after)]
    return [*slopes, quotient("One bar force, two slopes: the resistance steps by their ratio.", "x", slopes[1].value, slopes[0].value, "")]


def _match(angle, times):
    slope = _slope(angle)
    needed = quotient("On the longer radius a gentler slope does.", r"\tan\varphi_2", slope.value, times, "")
    found = math.degrees(math.atan(needed.value))
    return [slope, needed, Worked("The angle of that slope.", lambda: rf"\varphi_2 = \arctan {needed.value:.4g} = {found:.4g}^\circ", found, "deg")]


TWO = (
    Choice(
        "04-level",
        "The only ball gets a twin: same size, same recess, same distances, on the same bar, and pressed exactly level with it. "
        "How hard must you push the tab now?",
        {"a": "About twice as hard: now both balls work", "b": "As hard as with one", "c": "About half as hard: each has half the bar"},
        _level,
        ("Let each ball take any share of the bar you like, and add up the two pushes.",),
        {
            "a": "“Two balls at work, two detents.” But the bar has one moment to give. What one ball takes of it, the other is spared.",
            "c": "“Half the force on each, half the snap.” Each rim needs half the push, but there are two rims to push.",
        },
    ),
    Choice(
        "04-how-level",
        "How near to level must two balls on one bar stand, so that both carry?",
        {"a": "Within 2 thou", "b": "Within 1 thou", "c": "Within about a third of a thou"},
        _how_level,
        ("How far does a bar give beside the one ball that holds it up? Next to nothing.",),
        {
            "a": "“2 thou, nobody sees that.” The bar does: it is stiff from ball to ball, so the one that stands out more lifts it clear off the other.",
            "b": "“A thou is level.” It takes still less. Only the squash of balls and rims lets both touch.",
        },
    ),
    Question(
        "04-who",
        "Two {ball} balls at equal distances. Ball 1 stands out {out_1} and has a rim gap of {gap_1}; ball 2 stands out {out_2} and has {gap_2}. "
        "One carries. How far does the other hang clear?",
        {"ball": _BALL, "out_1": Given(0.4, "mm"), "gap_1": Given(0.6, "mm"), "out_2": Given(0.35, "mm"), "gap_2": Given(0.52, "mm")},
        "mm",
        _who,
        (
            "Reckon for each ball how far it would hold the bar off the tang by itself.",
            "That is what it stands out, less its seat depth. The larger one carries.",
        ),
        (
            Mistake(
                lambda ball, out_1, gap_1, out_2, gap_2: out_1 - out_2,
                "that is the press-depth difference alone. A ball that sits less deep needs to stand out less.",
            ),
            Mistake(
                lambda ball, out_1, gap_1, out_2, gap_2: _seat(ball, gap_1).value - _seat(ball, gap_2).value,
                "that is the difference of the seat depths alone. What the balls stand out counts as well.",
            ),
            Mistake(
                lambda ball, out_1, gap_1, out_2, gap_2: _who(ball, out_1, gap_1, out_2, gap_2)[3].value,
                "that is how far the carrying ball holds the bar off. Take off what the other would.",
            ),
        ),
    ),
    Question(
        "04-split",
        "Both balls touch at {angle}, on equal track radii. The bar presses with {load} in all, and ball 1 has {share} of it. "
        "Without friction, how hard must you push at the balls, all in all?",
        {"load": Given(15.0, "N"), "angle": Given(40.0, "deg"), "share": Given(70.0, "%")},
        "N",
        _split,
        ("Share out the bar first, push second. Then try another share, and compare.",),
        (
            Mistake(lambda load, angle, share: 2 * _split(load, angle, share)[-1].value, "that counts the bar twice. Its force is shared out, not copied."),
            Mistake(lambda load, angle, share: _split(load, angle, share)[3].value, "that is the push at ball 1 alone. Ball 2 wants its own."),
            Mistake(
                lambda load, angle, share: load * math.sin(math.radians(angle)),
                "that is a component, as if the force split along the slope. It does not split: it drives a wedge.",
            ),
        ),
    ),
    Question(
        "04-leaf",
        "A knife with one ball on one leaf breaks at {force}; the ball runs {near} from the pivot. It gets a second leaf, as stiff and as bent, "
        "with an equal ball and recess, {far} from the pivot. What does the tab read now?",
        {"force": Given(12.0, "N"), "near": Given(8.0, "mm"), "far": Given(9.6, "mm")},
        "N",
        _leaf,
        ("Two leaves are two springs.", "What the second ball adds works on a longer radius."),
        (
            Mistake(
                lambda force, near, far: 2 * force,
                "twice only at equal track radius. The second ball runs further out, where the same push turns the blade harder.",
            ),
            Mistake(lambda force, near, far: force, "that would be the same leaf. A leaf of its own is a second spring."),
            Mistake(lambda force, near, far: force * far / near, "that is what the second ball adds. The first one is still there."),
        ),
    ),
    Question(
        "04-prove",
        "You measure what each ball stands out with the depth rod of calipers, ± {doubt} each time. How well do you know the difference of the two, ±?",
        {"doubt": Given(0.06, "mm")},
        "mm",
        _difference,
        ("Both readings can be off, but seldom both at their worst and in opposite ways.", "Squares add up."),
        (
            Mistake(lambda doubt: 2 * doubt, "that is both at their worst at once, which is rare. Squares add up, not the doubts themselves."),
            Mistake(lambda doubt: doubt, "calipers that read a thou do not prove a thou of difference. Two readings, two doubts."),
        ),
    ),
    Choice(
        "05-smaller",
        "Ball 2 still stands 2 thou deeper, but its recess is now drilled one size smaller, No. 56 instead of No. 55. "
        "What does the finger feel, against one ball?",
        {"a": "Harder: now both balls touch", "b": "The same: the lower ball stays idle", "c": "A softer start, then a step up"},
        _one_drill_smaller,
        ("A nearer rim lifts its ball sooner, and touches it higher up, where it is flatter.",),
        {
            "a": "“Now both touch, so both hold.” The one that holds the bar higher lifts it off the other. It changes hands; it does not add up.",
            "b": "“It is lower, so it never touches.” Its rim is nearer, so it sits less deep. That can outweigh 2 thou.",
        },
    ),
    Choice(
        "05-brief",
        f"In the plane, on a bar that is stiff sideways and presses the same everywhere: ball 2 is 2 thou lower and its rim {_BRIEF:.3f} mm nearer. "
        "It carries for a tenth of the travel out, then ball 1 takes over. What does the peak lose?",
        {"a": "Next to nothing: it is over at once", "b": "A tenth, as long as it lasts", "c": "A fifth"},
        _brief,
        ("Where on the climb is the push at its hardest?",),
        {
            "a": "“Brief, so negligible.” But it is brief at the very start, where ball 1 alone has its peak. When ball 1 takes over, its own peak is past.",
            "b": "“As much as it lasts.” That is nearer to what the barrier loses. What ball 1 holds falls fast at first, and it misses just that first piece.",
        },
    ),
    Question(
        "05-touch",
        "A {ball} ball with a rim gap of {gap}; the second, equal one is pressed {deeper} deeper, at equal distances. "
        "From which rim lead on does it touch at rest?",
        {"ball": _BALL, "gap": Given(0.6, "mm"), "deeper": _DEEPER},
        "mm",
        _touch,
        ("Draw the ball's circle with its rim point, then the same circle that much lower. Where must the point go to lie on it?",),
        (
            Mistake(lambda ball, gap, deeper: 0.0, "not any smaller recess touches. A hair's breadth of lead does not lift a ball by 2 thou."),
            Mistake(lambda ball, gap, deeper: deeper, "as much nearer as it is deeper: so it would be at 45°. This ball is steeper where the rim meets it."),
            Mistake(
                lambda ball, gap, deeper: deeper * math.sqrt((ball / 2) ** 2 - gap**2) / gap,
                "nearly: that takes the ball as straight from one rim to the other. It is round, and flatter higher up.",
            ),
            Mistake(
                lambda ball, gap, deeper: 2 * _touch(ball, gap, deeper)[-1].value,
                "that is how much smaller the recess must be in diameter. Its rim comes nearer by half of that.",
            ),
        ),
    ),
    Question(
        "05-handover",
        "The same {ball} balls, rim gap {gap}, ball 2 pressed {deeper} deeper, a bar that is stiff sideways, and now a rim lead of {lead}. "
        "How far has the ball travelled when ball 1 takes over?",
        {"ball": _BALL, "gap": Given(0.6, "mm"), "deeper": _DEEPER, "lead": Given(0.1, "mm")},
        "mm",
        _handover,
        ("Where both touch, their heights differ by the press-depth difference, and their rim gaps by the rim lead.", "What is left of rim gap 1 then?"),
        (
            Mistake(
                lambda ball, gap, deeper, lead: gap - lead,
                "that is where ball 2 comes out onto the flat. Ball 1 takes over before, while both are still in their recesses.",
            ),
            Mistake(lambda ball, gap, deeper, lead: lead, "that is the rim lead itself. It says how much nearer the rim is, not when the bar changes hands."),
            Mistake(
                lambda ball, gap, deeper, lead: gap - _handover(ball, gap, deeper, lead)[-1].value,
                "that is what is left of the climb. Count the travel from the stop.",
            ),
        ),
    ),
    Question(
        "05-step",
        "On a bar that is stiff sideways, at the handover, ball 2 still touches at {before}, ball 1 already at {after}. "
        "Without friction, the resistance becomes how many times what it was?",
        {"before": Given(22.9, "deg"), "after": Given(31.0, "deg")},
        "",
        _step,
        ("The bar presses as before. Only the slope is another.",),
        (
            Mistake(
                lambda before, after: 1 / _step(before, after)[-1].value,
                "a handover is not a release. The ball that takes over climbs steeper than the one that gives up, or it would not take over.",
            ),
            Mistake(lambda before, after: after / before, "that is the ratio of the angles. The slope is the tangent."),
            Mistake(
                lambda before, after: math.sin(math.radians(after)) / math.sin(math.radians(before)),
                "that is the ratio of the sines. The slope is the tangent.",
            ),
        ),
    ),
    Question(
        "05-match",
        "Ball 1 touches at {angle}. Ball 2, on the same bar and at the same hinge distance, runs {times} times as far from the pivot. "
        "From which contact angle on does it hold the blade as hard as ball 1, without friction?",
        {"angle": Given(49.18, "deg"), "times": Given(1.4, "")},
        "deg",
        _match,
        ("Torque is push times radius.", "A longer radius does with a gentler slope: divide the slope, not the angle."),
        (
            Mistake(lambda angle, times: angle, "higher on the ball is weaker only at the same radius. Further out, less slope does."),
            Mistake(lambda angle, times: angle / times, "that divides the angle. Divide the slope, which is its tangent."),
            Mistake(
                lambda angle, times: math.degrees(math.atan(times * math.tan(math.radians(angle)))),
                "that is upside down: a longer radius needs less slope, not more.",
            ),
        ),
    ),
)
