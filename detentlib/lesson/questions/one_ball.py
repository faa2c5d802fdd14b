"""How the questions of notebooks 00 to 03 are answered: one ball, its spring, and the snap."""

import math

from ...derivations.formulas import formulas
from ...files.demo import demo
from ...knife.units import convert
from ...mechanics.feel import feel
from ...say.working import Worked, angle_of, by_formula, cubed, product, quotient, tangent, total
from ...tune.moves import with_relief
from .asking import Numbers, Way, nearest


def touching(said: str, result: str, ball: float, gap: float) -> Worked:
    """The contact angle ("phi"), seat depth ("sink") or slope of a ball [mm] at a rim gap [mm] (L1)."""
    return by_formula(said, "L1", {"rim_gap": gap, "ball_radius": ball / 2}, result)


def wedge(said: str, angle: float, mu: float = 0) -> Worked:
    """Push for each newton of bar force at a contact angle [deg]; mu below zero for letting back."""
    if not mu:
        return tangent(said, r"\tan\varphi", angle)
    lean = math.degrees(math.atan(mu))
    way = "added to" if mu > 0 else "taken off"
    said = f"{said} The friction angle, tan⁻¹ {abs(mu):g} = {abs(lean):.2f}°, is {way} the contact angle."
    return tangent(said, rf"\tan(\varphi {'+' if mu > 0 else '-'} \lambda)", angle, lean)


def slope(angle: float) -> Worked:
    """The same without friction, where a sentence need not say more."""
    return wedge("Push for each newton of bar force, without friction.", angle)


def at_arm(said: str, torque: Worked, arm: float) -> Worked:
    """The force [N] that a torque is worth on an arm [mm] (F5)."""
    return by_formula(said, "F5", {"torque": torque.value, "arm": arm})


def whole_job(ball: float, gap: float, riding: float, rate: float, mu: float, track: float, tab: float) -> list[Worked]:
    """From ball [mm, diameter] and rim gap [mm] over bar [N, N/mm], friction and arms [mm] to the push at the tab [N].

    Eight lines: contact angle, seat depth, loss and force of the seated bar, push per newton, push at the ball, torque,
    tab.

    >>> lines = whole_job(ball=2.0, gap=0.6, riding=13.0, rate=5.0, mu=0.0, track=8.0, tab=12.0)  # a 3-4-5 triangle
    >>> [round(line.value, 3) for line in lines]
    [36.87, 0.2, 1.0, 12.0, 0.75, 9.0, 72.0, 6.0]
    """
    angle = touching("Where the rim touches.", "phi", ball, gap)
    depth = touching("How deep the ball sits.", "sink", ball, gap)
    loss = "In its seat the bar has come down so far, and presses less by"
    fallen = product(loss, r"\Delta F", rate, depth.value, "N")
    load = total("So seated it presses with", "N", riding, -fallen.value, "N")
    ratio = wedge("Push for each newton of bar force, with friction.", angle.value, mu)
    push = product("Push at the ball.", "F", load.value, ratio.value, "N")
    torque = product("On the track of the ball that is a torque.", "T", push.value, track, "N·mm")
    return [angle, depth, fallen, load, ratio, push, torque, at_arm("And at the tab.", torque, tab)]


def drag_added(n: Numbers) -> float:
    """The push at the ball [N] of those who add μN to one without friction, as if the rim were a flat: too little."""
    return n.line(6, mu=0) + n.mu * n.line(4)


def _component(force, n, leg):
    """Side of the triangle that splits a force at an angle; leg: math.sin or math.cos."""
    return force * leg(math.radians(n.angle))


def _second_ball():
    one, two = (feel(demo(name)).break_force for name in ("pellowfen-a", "pellowfen-b"))
    return nearest(two / one, a=2.0, b=1.0, c=0.5), {"one": one, "two": two, "times": two / one}


def _bigger_recess(now, bigger):
    knife = demo("pellowfen-a")
    sizes = (convert(size, "in", "mm") for size in (now, bigger))
    one, two = (feel(knife.replace({"balls[0].recess.diameter": size})).break_force for size in sizes)
    return nearest(two / one, a=0.85, b=1.0, c=1.15), {"one": one, "two": two, "times": two / one}


def _at_the_stud(force, tab, stud):
    torque = product("The force on its arm is a torque about the pivot.", "T", force, tab, "N·mm")
    return [torque, at_arm("The same torque on the longer arm.", torque, stud)]


def _push(load, angle):
    ratio = slope(angle)
    return [ratio, product("For the whole bar force.", "F", load, ratio.value, "N")]


def _lifted(push, angle):
    ratio = slope(angle)
    return [ratio, quotient("The push holds up what it is worth at that ratio.", "N", push, ratio.value, "N")]


def _one_thou():
    knife = demo("pellowfen-a")
    thinner = with_relief(knife, knife.bar.relief_thickness - convert(1.0, "thou", "mm"))
    before, after = (feel(each).rest_load for each in (knife, thinner))
    letter = nearest(after / before, a=1.0, b=0.977, c=0.937)
    return letter, {"before": before, "after": after, "less": 100 * (1 - after / before)}


def _thicker_stress(thicker):
    knife = demo("pellowfen-a")
    thin, thick = (feel(each) for each in (knife, with_relief(knife, thicker)))
    thickness = thicker / knife.bar.relief_thickness
    stress = thick.relief_stress_ride / thin.relief_stress_ride
    force = thick.ride_load / thin.ride_load
    found = {"thin": thin, "thick": thick, "force": force, "stress": stress, "thickness": thickness}
    return nearest(stress, a=0.8, b=1.0, c=1.2), found


def _loaded():
    knife = demo("pellowfen-a")
    felt, ball, bar = feel(knife), knife.balls[0], knife.bar
    stripped, loaded = ball.recess.rest_offset, felt.loaded_offset[0]
    push = felt.rest_load * formulas["F2"](phi=math.radians(felt.contact_deg[0]), mu=-knife.friction.rim, cos_chi=1)
    strip = {name: getattr(bar, name) for name in ("relief_length", "width", "relief_thickness")}
    edge = formulas["S3a"](side_push=push, hinge_distance=ball.hinge_distance, **strip)
    found = {"push": push, "gives": stripped - loaded, "stripped": stripped, "loaded": loaded}
    return nearest(loaded / stripped, a=1.0, b=0.97, c=0.57), found | {"edge": edge, "felt": felt}


def _wiped_dry(dry):
    knife = demo("pellowfen-a")
    oiled, wiped = (feel(each) for each in (knife, knife.replace({"friction.rim": dry})))
    letter = nearest(wiped.letback_force / oiled.letback_force, a=1.0, b=1.4, c=0.7)
    return letter, {"oiled": oiled, "wiped": wiped}


def _slick():
    knife = demo("pellowfen-a")
    oiled, slick = (feel(each) for each in (knife, knife.replace({"friction.rim": 0.0})))
    free, out, back = slick.break_force, oiled.break_force, oiled.letback_force
    found = {"free": free, "slick": slick, "adds": out - free, "takes": free - back}
    return nearest(free, a=out, b=(out + back) / 2, c=back), found


def _rate(riding, rise, further):
    forces = {"force_high": further, "force_low": riding, "lift": rise}
    return [by_formula("What the force gained, over how far the bar rose.", "B3", forces)]


def _thicker_rate(rate, thin, thick):
    said = "The rate of a relief grows with the cube of its thickness (B1, relief alone)."
    return [cubed(said, "k", rate, thick, thin, "N/mm")]


def _open(load, angle, mu):
    way = ", friction the other way round, as the blade goes back." if mu < 0 else ", with friction."
    ratio = wedge(f"Push for each newton of bar force{way}", angle, mu)
    return [ratio, product("For the whole bar force, at the ball.", "F", load, ratio.value, "N")]


def _hold(load, angle, mu, track, tab):
    ratio, push = _open(load, angle, -mu)
    torque = product("On the track of the ball that is a torque.", "T", push.value, track, "N·mm")
    return [ratio, push, torque, at_arm("And at the tab.", torque, tab)]


def _sticks(load, angle, mu, give, track):
    values = {"phi": math.radians(angle), "mu": mu, "load": load, "side_compliance": give, "track_radius": track}
    said = "From the push that let back to the push that opens, over how far the bar goes along sideways."
    return [by_formula(said, "B6c", values)]


def _friction(opens, back, angle):
    apart = quotient("How far the pulls lie apart, over their sum.", "q", opens - back, opens + back, "")
    said = f"Times the sine of twice the contact angle, of {2 * angle:.5g}°: the sine of twice the friction angle (F6)."
    sine = product(said, r"\sin 2\lambda", apart.value, math.sin(math.radians(2 * angle)), "")
    twice = angle_of("The angle of that sine (sin⁻¹).", r"2\lambda", "sin", sine.value)
    return [apart, sine, twice, tangent("The friction is the tangent of half of it.", r"\mu", twice.value / 2)]


def _alone_at_the_tab(force, stud, drag, tab):
    torque = product("The gauge at the stud reads this torque.", "T", force, stud, "N·mm")
    alone = total("Less the drag of the pivot: the detent alone.", "T", torque.value, -drag, "N·mm")
    return [torque, alone, at_arm("At the tab.", alone, tab)]


def _barrier(seated, riding, rise):
    mean = quotient("The force grows evenly, so its mean counts.", "F", seated + riding, 2, "N")
    return [mean, product("Mean force times rise; 1 N·mm is 1 mJ.", "E", mean.value, rise, "mJ")]


ANSWERS = {
    "00-second-ball": _second_ball,
    "00-stud": Way(_at_the_stud, same_force=lambda n: n.force, swapped=lambda n: n.force * n.stud / n.tab),
    "01-bigger-recess": _bigger_recess,
    "01-angle": Way(
        lambda ball, gap: [touching("The rim touches where the ball is as wide as the rim gap.", "phi", ball, gap)],
        diameter=lambda n: n.again(ball=2 * n.ball),
        from_the_side=lambda n: 90 - n.again(),
        tangent=lambda n: math.degrees(math.atan(n.gap / (n.ball / 2))),
    ),
    "01-seat": Way(
        lambda ball, gap: [touching("The ball sinks until the rim touches it.", "sink", ball, gap)],
        from_the_centre=lambda n: n.ball / 2 - n.again(),
        straight_across=lambda n: n.ball / 2 - n.gap,
        diameter=lambda n: n.again(ball=2 * n.ball),
    ),
    "01-push": Way(
        _push,
        sine=lambda n: _component(n.load, n, math.sin),
        cosine=lambda n: _component(n.load, n, math.cos),
        upside_down=lambda n: n.load / n.line(1),
    ),
    "01-wedge": Way(
        _lifted,
        sine=lambda n: _component(n.push, n, math.sin),
        cosine=lambda n: _component(n.push, n, math.cos),
        upside_down=lambda n: n.push * n.line(1),
    ),
    "02-thou": _one_thou,
    "02-stress": _thicker_stress,
    "02-sideways": _loaded,
    "02-rate": Way(
        _rate,
        whole_riding=lambda n: n.riding / n.rise,
        whole_further=lambda n: n.further / n.rise,
        upside_down=lambda n: 1 / n.again(),
    ),
    "02-thicker": Way(
        _thicker_rate,
        thickness_itself=lambda n: n.rate * n.thick / n.thin,
        square=lambda n: n.rate * (n.thick / n.thin) ** 2,
        other_way_round=lambda n: n.again(thin=n.thick, thick=n.thin),
    ),
    "02-back": Way(
        lambda lost, rate: [quotient("Each newton takes one over the rate.", "x", lost, rate, "mm")],
        multiplied=lambda n: n.lost * n.rate,
        upside_down=lambda n: n.rate / n.lost,
    ),
    "03-oil": _wiped_dry,
    "03-slick": _slick,
    "03-hold": Way(
        _hold, opening=lambda n: n.again(mu=-n.mu), no_friction=lambda n: n.again(mu=0), at_the_ball=lambda n: n.line(2)
    ),
    "03-open": Way(
        _open,
        drag_added=lambda n: n.again(mu=0) + n.mu * n.load,
        no_friction=lambda n: n.again(mu=0),
        letting_back=lambda n: n.again(mu=-n.mu),
        component=lambda n: _component(n.load, n, math.sin),
    ),
    "03-take-up": Way(
        _sticks,
        from_nothing=lambda n: math.degrees(n.give * _open(n.load, n.angle, n.mu)[-1].value / n.track),
        as_on_a_flat=lambda n: math.degrees(2 * n.give * n.mu * n.load / n.track),
        millimetres=lambda n: math.radians(n.again()) * n.track,
    ),
    "03-mu": Way(
        _friction,
        difference_over_sum=lambda n: (n.opens - n.back) / (n.opens + n.back),
        angle=lambda n: math.degrees(math.atan(n.again())),
    ),
    "03-tab": Way(
        _alone_at_the_tab,
        same_force=lambda n: n.force,
        drag_left_in=lambda n: n.again(drag=0.0),
        swapped=lambda n: n.force * n.tab / n.stud,
        drag_added=lambda n: n.again(drag=-n.drag),
    ),
    "03-barrier": Way(
        _barrier,
        last_force=lambda n: n.riding * n.rise,
        first_force=lambda n: n.seated * n.rise,
        gain_alone=lambda n: (n.riding - n.seated) * n.rise / 2,
    ),
}
