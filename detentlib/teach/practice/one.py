"""What can be practised with one ball: its seat, its spring, its forces and its energy; entered in the table of practice.py."""

import math

from ...mechanics.formulas import formulas
from ...units import convert
from ..questions.asking import Given, Mistake, Question
from ..questions.table import question
from ..working import Worked, product
from .draw import Topic, fresh, seat
from .job import drag_added, whole_job


def _seat(draw):
    ball = draw.ball()
    gap = draw.gap(ball)
    return fresh("01-angle", ball=ball, gap=gap), fresh("01-seat", ball=ball, gap=gap)


def _gap_from_lift(ball, lift):
    lines = question("07-lift").solve(ball, lift)
    return [*lines, product("The rim point stands beside the ball's axis by radius times sine.", "b", ball / 2, math.sin(math.radians(lines[-1].value)), "mm")]


def _lift(draw):
    ball = draw.ball()
    numbers = {"ball": ball, "lift": Given(round(0.005 * round(draw.number(0.195, 0.44, 0.005) * ball.value / 2 / 0.005), 6), "mm")}
    gap = Question(
        "practice-lift-gap",
        "The same {ball} ball and the same rise of {lift}. What was the rim gap at the stop?",
        numbers,
        "mm",
        _gap_from_lift,
        ("The third side of the same triangle.",),
        (
            Mistake(lambda ball, lift: ball / 2 - lift, "that is how far the centre stands from the face. The rim gap goes to the side."),
            Mistake(lambda ball, lift: _gap_from_lift(2 * ball, lift)[-1].value, "the ball's diameter went in where its radius belongs."),
            Mistake(lambda ball, lift: lift, "that is the rise itself. The rim gap goes to the side, not down."),
        ),
    )
    return fresh("07-lift", **numbers), gap


def _torque_from_pounds(pounds, arm):
    force = product("One lbf is 4.4482 N.", "F", pounds, convert(1.0, "lbf", "N"), "N")
    return [force, product("Force times arm is the torque.", "T", force.value, arm, "N·mm")]


def _arms(draw):
    pounds, tab = draw.number(1.3, 4.0, 0.05), draw.number(10.0, 16.0, 0.5)
    stud = draw.number(tab + 3.0, 26.0, 0.5)
    force, held = draw.number(6.0, 18.0, 0.1), draw.number(6.0, 18.0, 0.1)
    torque = Question(
        "practice-torque",
        "A pull gauge reads {pounds} at the tab, {arm} from the pivot. What torque is that?",
        {"pounds": Given(pounds, "lbf"), "arm": Given(tab, "mm")},
        "N·mm",
        _torque_from_pounds,
        ("Pounds of a gauge are pounds of force. Turn them into newtons first.",),
        (
            Mistake(lambda pounds, arm: pounds * arm, "the pounds went in as if they were newtons. One lbf is about four and a half."),
            Mistake(lambda pounds, arm: convert(pounds, "lbf", "N") / arm, "that divides by the arm. A longer arm makes more torque of the same force."),
            Mistake(lambda pounds, arm: convert(pounds, "kgf", "N") * arm, "the pounds went in as if they were kilograms."),
        ),
    )
    drag = draw.number(1.0, 6.0, 0.5)
    at_stud = round((held * tab + drag) / stud, 1)
    return torque, fresh("00-stud", force=force, tab=tab, stud=stud), fresh("03-tab", force=at_stud, stud=stud, drag=drag, tab=tab)


def _ratio(angle, mu):
    return formulas["F2"](phi=math.radians(angle), mu=mu, cos_chi=1.0)


def _friction(draw):
    load, angle, mu = draw.number(8.0, 18.0, 0.1), draw.number(38.0, 56.0, 0.5), draw.number(0.08, 0.24, 0.01)
    track, tab = draw.number(6.0, 11.0, 0.1), draw.number(10.0, 16.0, 0.5)
    opens, back = (round(round(load * _ratio(angle, way) * track / tab / 0.05) * 0.05, 2) for way in (mu, -mu))
    if not (6.0 <= opens <= 18.0 and back >= 1.5):
        return None
    # other numbers for what comes after: its friction would answer the first question
    again = {"load": draw.number(8.0, 18.0, 0.1), "angle": draw.number(38.0, 56.0, 0.5), "mu": draw.number(0.08, 0.24, 0.01)}
    return fresh("03-mu", opens=opens, back=back, angle=angle), fresh("03-open", **again), fresh("03-hold", **again, track=track, tab=tab)


def _most(seated, riding, rise):
    return _with_second(fresh("03-barrier", seated=seated, riding=riding, rise=rise).worked())


def _with_second(lines):
    energy = lines[-1].value
    said = "A ball that hangs clear on the flat can only make the bar stand higher at rest, never lower. So (E2) the barrier is at most that of ball 1 alone."
    return [*lines, Worked(said, lambda: rf"E \le {energy:.4g}\,\mathrm{{mJ}}", energy, "mJ")]


def _barrier(draw):
    riding, rate, rise = draw.number(11.0, 25.0, 0.1), draw.number(5.0, 18.0, 0.5), draw.number(0.15, 0.4, 0.005)
    numbers = {"seated": Given(round(riding - rate * rise, 2), "N"), "riding": Given(riding, "N"), "rise": Given(rise, "mm")}
    second = Question(
        "practice-barrier-two",
        "Seated {seated}, riding {riding}, rise {rise}, as before, on a bar that is stiff sideways. "
        "Now a second ball goes into the same bar, pressed so deep that it hangs clear "
        "when ball 1 rides the flat. Whatever its recess: what is the most that the barrier can become?",
        numbers,
        "mJ",
        _most,
        ("On the flat nothing has changed. What can a second ball do at rest, except hold the bar up?",),
        (
            Mistake(
                lambda seated, riding, rise: 2 * _most(seated, riding, rise)[-1].value,
                "two balls are not two hills. One bar stores the energy, whoever holds it up.",
            ),
        ),
    )
    return fresh("03-barrier", **numbers), second


def _spring(draw):
    rate, rise = draw.number(4.0, 20.0, 0.1), draw.number(0.18, 0.4, 0.01)
    shut = draw.number(8.0, 20.0, 0.1)
    thin = draw.number(0.9, 1.5, 0.05)
    thick = round(thin + draw.pick((0.05, 0.1, 0.15, 0.2)), 2)
    return (
        fresh("02-rate", shut=shut, riding=round(shut + rate * rise, 1), rise=rise),
        fresh("02-thicker", rate=draw.number(4.0, 14.0, 0.1), thin=thin, thick=thick),
        fresh("02-back", lost=draw.number(0.4, 2.5, 0.1), rate=draw.number(4.0, 20.0, 0.1)),
    )


def _job(draw):
    ball = draw.ball()
    gap, riding, rate = draw.gap(ball), draw.number(12.0, 22.0, 0.1), draw.number(5.0, 16.0, 0.1)
    numbers = {
        "ball": ball,
        "gap": Given(gap, "mm"),
        "riding": Given(riding, "N"),
        "rate": Given(rate, "N/mm"),
        "mu": Given(draw.number(0.08, 0.16, 0.01), ""),
        "track": Given(draw.number(7.0, 10.0, 0.1), "mm"),
        "tab": Given(draw.number(11.0, 16.0, 0.5), "mm"),
    }
    values = {name: given.value for name, given in numbers.items()}
    usual = 6.0 <= whole_job(**values)[-1].value <= 18.0
    asked = Question(
        "practice-job",
        "One ball of {ball}. In the shut knife, its bar pressing, the rim gap is {gap}. It runs {track} from the pivot. "
        "Riding the flat the bar presses with {riding}; "
        "its rate at the ball is {rate}. Friction at the rim is {mu}. How hard must you push at the tab, {tab} from the pivot, to start the blade open?",
        numbers,
        "N",
        whole_job,
        (
            "First the ball: contact angle and seat depth.",
            "Then the bar: in the seat it presses less than on the flat, by rate times depth.",
            "Then the wedge with friction, and last the arms.",
        ),
        (
            Mistake(
                lambda **with_mu: whole_job(**with_mu | {"mu": 0})[-1].value, "that leaves friction out. It tilts the force at the rim, by the friction angle."
            ),
            Mistake(drag_added, "that adds the drag on a flat, friction times bar force. The rim presses harder than the bar: go by the wedge."),
            Mistake(lambda **of: whole_job(**of | {"rate": 0})[-1].value, "that takes the force on the flat. In the seat the bar presses less."),
            Mistake(lambda **of: whole_job(**of | {"rate": -of["rate"]})[-1].value, "the bar's loss went in with the wrong sign: seated it presses less."),
            Mistake(lambda **of: whole_job(**of)[5].value, "that is the push at the ball. At the tab the arm is another."),
            Mistake(lambda **of: whole_job(**of | {"mu": -of["mu"]})[-1].value, "that is letting back. Opening, friction stands in the way."),
        ),
    )
    return (asked,) if usual and seat(ball, gap).sink < 0.5 else None


def _plain_ratio(**numbers):
    return whole_job(**numbers | {"mu": 0})[4].value


_SLIPS = (
    (5, Mistake(_plain_ratio, "that leaves friction out. It steepens the rim by the friction angle.")),
    (
        5,
        Mistake(
            lambda **numbers: _plain_ratio(**numbers) + numbers["mu"],
            "that adds the drag on a flat. Friction belongs to the force of the rim, which is more than that of the bar: add the angles.",
        ),
    ),
    (
        5,
        Mistake(
            lambda **numbers: whole_job(**numbers | {"mu": -numbers["mu"]})[4].value,
            "that is letting back. Opening, friction stands in the way.",
        ),
    ),
)

ONE = (
    Topic("seat", "turn ball and rim into contact angle and seat depth", "01_one_ball", _seat),
    Topic("spring", "get the rate of a bar, and what thinning or bending it does", "02_one_spring", _spring),
    Topic("arms", "convert torque, arms and units", "03_the_snap", _arms),
    Topic("friction", "tell friction from geometry by two pulls", "03_the_snap", _friction),
    Topic("barrier", "work out the barrier, and say what a second ball cannot do to it", "03_the_snap", _barrier),
    Topic("lift", "read the contact angle from the lift, without seeing the recess", "07_measure_a_knife", _lift),
    Topic("job", "go all the way from the card to the push at the tab", "03_the_snap", _job, _SLIPS),
)
