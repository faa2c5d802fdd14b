"""Inverse design: every grid small enough is enumerated with plain `feel`, and no better option may be left out."""

from dataclasses import replace
from itertools import combinations, product

import numpy as np
import pytest

import detentlib as dl
from detentlib.doubt.many import felt
from detentlib.knife import units
from detentlib.tune import options as room
from detentlib.tune.choices import Spot, choices, default_places
from detentlib.tune.moves import as_made
from detentlib.tune.options import THIN
from detentlib.tune.shop import SHOP, Operation, nominal, scatter, shop_doubts
from detentlib.tune.stock import BALLS, DRILLS, REAMERS
from tests.knives import CARDS, A, B, C, measured

PLAIN = replace(A, doubts={})
WINDOW = {"break_force": (8, 10), "letback_force": (4, None), "barrier": (3, None), "relief_stress_ride": (None, 600)}
ONE = {
    "ball": (1.984375, 2.0),
    "drill": (1.35, 1.45),
    "rest_offset": (0.09,),
    "preset": (-0.3, -0.2, 0.1),
    "relief": (1.0,),
}
TWO = {"drill 1": (1.35,), "drill 2": (1.20, 1.30), "press 2": (0.35,), "rest_offset": (0.09,), "preset": (0.2, 0.4)}


def least_gap(knife, one):
    """Gap at ball 1 at the stop: what the carrying ball leaves under the bar, along the bar as it turns."""
    k = one.rest_carrier
    parallel, first, ball = knife.bar.parallel_gap, knife.balls[0], knife.balls[k]
    return parallel + (ball.protrusion - one.seat_depth[k] - parallel) * first.hinge_distance / ball.hinge_distance


def works(knife, one, window):
    """The needs and the window, from the plain Feel of one knife."""
    if one.rest_deg > 0 or any(ball.protrusion > ball.radius for ball in knife.balls):
        return False
    if (
        one.relief_stress_ride > knife.bar.yield_stress
        or one.relief_stress_rest + one.relief_stress_side > knife.bar.yield_stress
    ):
        return False
    k = one.rest_carrier
    if (
        90 - one.contact_deg[k] - np.degrees(np.arctan(knife.friction.rim)) < THIN["jam_margin_deg"]
        or least_gap(knife, one) < THIN["face_clearance"]
    ):
        return False
    deep = zip(knife.balls, one.seat_depth, one.idle_clearance, strict=True)
    if min(ball.recess.depth - seat + clear for ball, seat, clear in deep) < THIN["floor_clearance"]:
        return False
    return all(
        (low is None or getattr(one, name) >= low) and (high is None or getattr(one, name) <= high)
        for name, (low, high) in window.items()
    )


def enumerated(knife, grid, window):
    """{numbers as a sorted tuple: Feel} of every combination inside the window, one `feel` each."""
    found = {}
    for taken in product(*((None, *values) for values in grid.values())):
        numbers = {}
        for (place, _), value in zip(grid.items(), taken, strict=True):
            if value is None:
                continue
            name, _, number = place.partition(" ")
            ball = f"balls[{int(number or 1) - 1}]"
            path = {
                "ball": f"{ball}.diameter",
                "drill": f"{ball}.recess.diameter",
                "press": f"{ball}.protrusion",
                "relief": "bar.relief_thickness",
            }.get(name)
            if name == "rest_offset":
                # B9, the other way round: half of the pin at 12 mm of stop radius
                numbers["pin"] = (value - knife.balls[0].recess.rest_offset) * 2 * 12 / knife.balls[0].track_radius
            else:
                numbers["bar.preset" if name == "preset" else path] = value
        changed = knife.replace(as_made(knife, numbers))
        try:
            one = dl.feel(changed)
        except dl.KnifeError:
            continue
        if works(changed, one, window):
            found[_key(numbers)] = one
    return found


def _key(numbers):
    return tuple(sorted((path, round(value, 9)) for path, value in numbers.items()))


@pytest.fixture(scope="module")
def one_ball():
    return dl.options(A, WINDOW, ONE)


@pytest.mark.checked_by("brute force", "every combination felt by itself", "options")
@pytest.mark.parametrize(
    ("knife", "grid", "window"),
    [(A, ONE, WINDOW), (C, TWO, {"break_force": (12.5, 14), "letback_force": (6, 8.5)})],
    ids=["one ball", "two balls"],
)
def test_by_enumeration(knife, grid, window):
    found = dl.options(knife, window, grid)
    truth = enumerated(knife, grid, window)
    assert found.tried == found.total == np.prod([len(values) + 1 for values in grid.values()])
    assert {_key(option.numbers) for option in found.ranked} == set(truth)
    assert 10 < len(truth) < found.total
    for option in found.ranked:
        one = truth[_key(option.numbers)]
        for name in window:
            assert option.values[name] == pytest.approx(getattr(one, name), rel=1e-9)
        assert option.values["face_clearance"] == pytest.approx(least_gap(option.knife, one), abs=1e-9)


def test_the_room_by_hand(one_ball):
    """Room to the nearest edge over the ± of the shop, that ± from 4,000 knives by numpy's own normal numbers."""
    rng = np.random.default_rng(8)
    for option in (one_ball.ranked[0], one_ball.ranked[-1]):
        centre = {path: option.numbers.get(path, nominal(A, path)) for path in {*shop_doubts(A), *option.numbers}}
        drawn = {
            path: value + shop_doubts(A).get(path, 0.0) / 1.96 * rng.standard_normal(4000)
            for path, value in centre.items()
        }
        found, rooms = felt(A, drawn, as_made), []
        for name, (low, high) in WINDOW.items():
            whole = 1.96 * found.values[name].std()
            rooms += [] if low is None else [(option.values[name] - low) / whole]
            rooms += [] if high is None else [(high - option.values[name]) / whole]
        assert option.margin == pytest.approx(min(rooms), rel=0.12)


def test_the_order_is_as_stated(one_ball):
    keys = [
        (
            option.margin < 0.5 - 1e-9,
            option.one_way,
            sum(choice.spot == Spot("preset") for choice in option.choices),
            len(option.choices),
            -np.floor(10 * min(option.margin, 1.0) + 1e-9),
            -option.margin,
        )
        for option in one_ball.ranked
    ]
    assert keys == sorted(keys)
    assert len({key[1:3] for key in keys}) > 2
    # nothing shown is beaten on all counts, and whatever is not shown is beaten or of a kind that is shown
    shown = [option.counts for option in one_ball.shown]
    assert not any(
        one != other and all(a <= b for a, b in zip(one, other, strict=True)) for one in shown for other in shown
    )
    kinds = {frozenset(choice.spot for choice in option.choices) for option in one_ball.shown}
    for option in one_ball.ranked:
        kind = frozenset(choice.spot for choice in option.choices)
        assert kind in kinds or any(all(a <= b for a, b in zip(one, option.counts, strict=True)) for one in shown)
    assert one_ball.shown[0] is not None
    assert one_ball.shown[0].choices == one_ball.ranked[0].choices


def test_reversible_ones_count_only_what_can_be_undone(one_ball):
    plain = next(option for option in one_ball.ranked if {choice.spot for choice in option.choices} == {Spot("preset")})
    assert plain.one_way == 0
    assert plain.words == "bar bent out by 0.3000 mm (11.8 thou)"
    assert plain.knife.bar.riding_force == pytest.approx(17.04 - 0.3 * dl.feel(A).rate)
    drilled = next(
        option for option in one_ball.ranked if any(choice.spot == Spot("drill", 0) for choice in option.choices)
    )
    assert drilled.one_way >= 1


def test_the_shares_are_sampled_for_those_shown(one_ball):
    for option in one_ball.shown:
        again = dl.tolerance(option.knife, 2000, window=WINDOW, made=True)
        assert (option.share, option.interval) == (again.inside, again.interval)
    # more room, more knives inside: in step with the first-order room, by and large
    least, *_, most = sorted(one_ball.shown, key=lambda option: option.margin)
    assert most.share > least.share


def test_the_knife_as_it_is_can_be_an_option():
    found = dl.options(A, {"break_force": (11, 13)}, {"preset": (0.1,)})
    assert found.ranked[0].words == "as it is"
    assert found.ranked[0].numbers == {}
    assert found.ranked[0].knife == A
    assert "nothing to undo" in str(found)


def test_nothing_inside_says_what_bars_it_and_by_how_much():
    window = {"break_force": (23, 25)}
    change = ("drill", "rest_offset", "preset")
    found = dl.options(A, window, change)
    assert found.ranked == found.shown == ()
    near = found.miss
    # the nearest by enumeration of all that can work, one bend and one pin after another
    knife = A.replace(as_made(A, next(numbers for words, numbers in _all_of(A, change) if words == near.nearest)))
    ((edge, amount),) = near.short.items()
    assert edge == ("break_force", 23, 1)
    assert 23 - dl.feel(knife).break_force == pytest.approx(amount, rel=1e-6)
    assert f"it misses by break force {units.both(amount, 'N')} below 23.00 N (5.17 lbf)." in str(found)
    some, alone = near.bars["clearance of the bar face at least 0.0500 mm (1.97 thou)"]
    assert some > alone > 0
    text = str(found)
    assert "Nothing lies inside the window." in text
    assert "of them nothing else" in text
    # told which need stands in the way: without it there are as many options as failed nothing else
    loose = dl.options(A, window | {"face_clearance": (0, None)}, change)
    assert len(loose.ranked) == alone


def _all_of(knife, change):
    places = choices(knife, change)
    for taken in product(*((None, *each.choices) for each in places)):
        chosen = [choice for choice in taken if choice]
        yield (
            "; ".join(choice.words for choice in chosen) or "as it is",
            {path: value for choice in chosen for path, value in choice.numbers.items()},
        )


def test_the_nearest_miss_is_the_nearest():
    window, grid = (
        {"break_force": (20, 21), "letback_force": (12, None)},
        {
            "preset": (0.1, 0.2),
            "rest_offset": (0.04, 0.02),
        },
    )
    found = dl.options(A, window, grid)
    scale = {name: scatter(A, shop_doubts(A), {"stop": np.zeros(1)}, [name])[name].item() for name in window}
    least = {}
    for bend, rest in product((0.0, 0.1, 0.2), (0.06, 0.04, 0.02)):
        one = dl.feel(A.replace(as_made(A, {"bar.preset": bend, "stop": rest - 0.06})))
        least[bend, rest] = max(
            (20 - one.break_force) / scale["break_force"], (12 - one.letback_force) / scale["letback_force"]
        )
    assert min(least, key=least.get) == (0.2, 0.02)
    assert (
        found.miss.nearest
        == "bar bent in by 0.2000 mm (7.87 thou); stop pin of 3.880 mm (0.153 in), 0.1200 mm (4.72 thou) thinner "
        "in diameter (stop radius 12 mm), rest offset 0.0200 mm (0.787 thou)"
    )
    assert {edge.result for edge in found.miss.short} == {"break_force", "letback_force"}


def test_metal_cannot_be_put_back():
    """Without new parts nothing gets smaller but the relief; with them everything may."""
    old, new = choices(A), choices(A, new_parts=True)
    for each in old:
        for choice in each.choices:
            for path, value in choice.numbers.items():
                if path.endswith("diameter"):
                    assert value > A.get(path)
                if path.endswith("relief_thickness"):
                    assert value < A.get(path)
    for path in ("balls[0].diameter", "balls[0].recess.diameter"):
        assert any(choice.numbers.get(path, 9) < A.get(path) for each in new for choice in each.choices)
    assert any(choice.numbers.get("bar.relief_thickness", 0) > 1.1 for each in new for choice in each.choices)
    asked = choices(A, {"drill": (1.2, 1.3, 1.4), "relief": (1.0, 1.2), "press": (0.40, 0.44)})
    assert [(each.spot, len(each.choices), each.barred) for each in asked] == [
        (Spot("drill", 0), 1, 2),
        (Spot("relief"), 1, 1),
        (Spot("press", 0), 1, 1),
    ]
    assert "4 sizes left out because metal cannot be put back" in str(
        dl.options(A, WINDOW, {"drill": (1.2, 1.3), "relief": (1.2, 1.0), "press": (0.44,)})
    )


def test_what_is_tried_can_be_bought():
    sizes = {size.diameter for size in BALLS} | {size.diameter for size in DRILLS}
    for each in choices(C, ("ball", "drill")):
        assert each.choices
        assert {value for choice in each.choices for value in choice.numbers.values()} <= sizes
    reamed = choices(A, "drill", holes=REAMERS)[0].choices
    assert all("reamer" in choice.words for choice in reamed)
    # no recess wider than the ball, but where the ball may change as well
    assert max(choice.numbers["balls[0].recess.diameter"] for choice in choices(A, "drill")[0].choices) < 1.5875
    assert (
        max(choice.numbers["balls[0].recess.diameter"] for choice in choices(A, ("ball", "drill"))[1].choices) > 1.5875
    )


def test_where_nothing_is_said_the_usual_places_change():
    assert default_places(A) == ("ball", "drill", "rest_offset", "preset", "relief")
    assert default_places(measured(A)) == ("ball", "drill", "rest_offset", "preset")
    assert default_places(C) == ("drill", "rest_offset", "preset")
    assert [each.spot for each in choices(C)] == [
        Spot("drill", 0),
        Spot("drill", 1),
        Spot("rest_offset"),
        Spot("preset"),
    ]
    assert [each.words for each in choices(C, ("drill 2", "press", "preset"))] == [
        "recess 2",
        "press depth 1",
        "press depth 2",
        "bend of the bar",
    ]


def test_the_pin_is_tried_in_thous_of_diameter_within_what_is_usual():
    """Pins are sold by the thou; three of those, at a stop radius of 12 mm, bring a ball at 8 mm on by a thou."""
    place = choices(A, "rest_offset")[0]
    pins = np.array([choice.numbers["pin"] for choice in place.choices])
    tried = A.balls[0].recess.rest_offset + pins / 2 / 12 * 8.001
    assert min(tried) >= 0
    assert max(tried) <= 0.15
    assert pins / 0.0254 == pytest.approx(3 * np.round(pins / 0.0762))
    assert set(np.round(pins / 0.0762)) == set(range(-2, 4)) - {0}
    known = choices(A.replace({"blade.pin_diameter": 4.0, "blade.stop_radius": 12.0}), "rest_offset")[0].choices[-1]
    assert known.words.startswith("stop pin of 4.229 mm (0.166 in), 0.2286 mm (9.00 thou) thicker in diameter")
    assert "(stop radius 12 mm), rest offset" in known.words


@pytest.mark.parametrize(
    ("change", "match"),
    [
        ("dril", "Did you mean drill"),
        (("drill 3",), "the knife has 1 ball"),
        (("preset 1",), "not a place that can be changed"),
    ],
)
def test_places_that_are_not_there(change, match):
    with pytest.raises(dl.KnifeError, match=match):
        dl.options(A, WINDOW, change)


def test_a_relief_that_is_not_drawn_is_refused():
    with pytest.raises(dl.KnifeError, match="the drawn sizes of the bar are not known"):
        dl.options(measured(A), {"break_force": (8, 10)}, ("relief",))


def test_a_plain_bend_stands_above_a_new_ball_with_pin_and_bend():
    """A bend with room enough beats what takes metal, however much room that has; and it is not called reversible."""
    change = {"ball": (1.984375, 2.0), "drill": (1.35,), "preset": (-0.2, 0.3)}
    found = dl.options(replace(CARDS["A"], doubts={}), {"break_force": (9, 11)}, change)
    first, *others = found.ranked
    assert (first.words, first.one_way, first.bends) == ("bar bent out by 0.2000 mm (7.87 thou)", 0, 1)
    assert any(option.margin > first.margin and option.one_way for option in others)
    row = next(line for line in str(found).splitlines() if line.startswith("bar bent out by 0.2000 mm (7.87 thou) "))
    assert "bent: plastic, can be bent back" in row
    assert "reversible" not in str(found)
    pin = dl.options(PLAIN, {"break_force": (10, 12)}, {"rest_offset": (0.07, 0.08)})
    assert all(option.one_way == option.bends == 0 for option in pin.ranked)
    assert "reversible" in str(pin)
    assert "may set the open stop and the lock-up" in str(pin)


def test_too_many_combinations_are_narrowed_and_that_is_said(monkeypatch):
    monkeypatch.setattr(room, "_MOST", 50)
    found, singles = dl.options(PLAIN, WINDOW, ONE), 1 + sum(map(len, ONE.values()))
    assert found.total == np.prod([len(values) + 1 for values in ONE.values()])
    pairs = sum(len(one) * len(two) for one, two in combinations(ONE.values(), 2))
    assert (found.tried, found.at_once) == (singles + pairs, 2)
    assert all(len(option.choices) <= 2 for option in found.ranked)
    assert "combinations that change more than 2 of these places at once. To try them, name fewer places" in str(found)
    whole = dl.options(PLAIN, WINDOW, {name: ONE[name] for name in ("rest_offset", "preset")})
    assert (whole.tried, whole.at_once) == (whole.total, None)
    assert "Left out" not in str(whole)


@pytest.mark.parametrize("sizes", [[2, 3, 1], [4], [0, 2], []])
def test_fewest_first_is_every_combination_once(sizes):
    found = room._fewest_first(sizes, 1000)
    assert {tuple(row) for row in found.tolist()} == set(product(*(range(size + 1) for size in sizes)))
    changed = np.count_nonzero(found, axis=1)
    assert len(found) == len({tuple(row) for row in found.tolist()})
    assert (np.diff(changed) >= 0).all()


def test_progress_is_told(monkeypatch):
    monkeypatch.setattr(room, "CHUNK", 50)
    told = []
    found = dl.options(A, WINDOW, ONE, progress=lambda done, total: told.append((done, total)))
    assert told[0] == (50, found.total)
    assert told[-1] == (found.total, found.total)
    assert [done for done, _ in told] == sorted(done for done, _ in told)
    assert [option.words for option in found.ranked] == [option.words for option in dl.options(A, WINDOW, ONE).ranked]


def test_an_interrupt_gives_what_was_found(monkeypatch):
    monkeypatch.setattr(room, "CHUNK", 50)

    def stop(done, total):
        if done >= 100:
            raise KeyboardInterrupt

    part, whole = dl.options(A, WINDOW, ONE, progress=stop), dl.options(A, WINDOW, ONE)
    assert (part.interrupted, part.tried, part.total) == (True, 100, whole.total)
    assert {option.words for option in part.ranked} < {option.words for option in whole.ranked}
    assert all(option.share is None for option in part.shown)
    text = str(part)
    assert f"Interrupted after 100 of {whole.total} combinations: incomplete, better ones may be missing." in text
    assert "not sampled" in text
    assert repr(part).endswith(", interrupted>")


def test_a_shop_of_ones_own():
    sure = [operation._replace(doubt=operation.doubt / 4) for operation in SHOP]
    usual, better = (dl.options(A, WINDOW, {"preset": (-0.3,)}, shop=shop) for shop in (SHOP, sure))
    assert better.ranked[0].margin == pytest.approx(4 * usual.ranked[0].margin, rel=0.05)
    assert better.shown[0].share > usual.shown[0].share
    one = dl.options(A, {"barrier": (3, None)}, {"preset": (-0.1,)}, shop=[Operation("oil", "friction.rim", 0.04)])
    assert one.ranked[0].margin == np.inf  # oil does not touch the barrier


def test_the_table_for_people(one_ball):
    text = str(one_ball)
    assert text.startswith(
        "Pellowfen A: ways into break force at least 8.000 N (1.80 lbf), break force at most 10.00 N (2.25 lbf), "
    )
    assert f"{len(one_ball.ranked)} of {one_ball.tried} combinations lie inside." in text
    assert room.RULE in text
    assert "64 knives drawn as a shop makes them" in text
    assert "95 % interval (Wilson)" in text
    assert "changes the lock as well" in text
    assert "larger than its drill" in text
    assert "larger than its drill" not in str(dl.options(A, WINDOW, {"preset": (-0.3,)}))
    assert one_ball._repr_markdown_().count("\n| ") == len(one_ball.shown) + 1
    assert str(dl.options(A, WINDOW, ONE)) == text


def test_a_knife_that_rests_on_its_floor_is_no_option():
    floored = replace(A.replace({"balls[0].recess.depth": 0.27}), doubts={})
    found = dl.options(floored, {"break_force": (1, 30)}, {"rest_offset": (0.065, 0.10)})
    assert found.ranked == ()
    assert found.miss.bars["rests on the stop, on a rim"] == (
        1,
        0,
    )  # as it is; with 0.065 and 0.10 mm the floor is only near
    assert found.miss.bars["clearance to the floor at least 0.0500 mm (1.97 thou)"] == (3, 2)
    assert dl.options(B, {"idle_clearance": (0.04, None)}, {"preset": (0.1,)}).ranked
