"""Fits of a knife to readings: right within their own ±, honest where readings do not tell or the model does not fit
(M4).
"""

from dataclasses import replace

import numpy as np
import pytest

import detentlib as dl
from detentlib.doubt.cloud import cloud
from detentlib.knife.parts import name_of
from detentlib.knife.units import Within
from detentlib.measure.fit import FREE, fit_knife
from detentlib.measure.least import Least, Seen
from detentlib.measure.models import NOISE
from detentlib.measure.readings import ReadingError, readings_from_text
from detentlib.say.measured import fit_words
from tests.bench_readings import SHORT_CLIMB, as_reckoned, forces_of, pulls_of, trace_of
from tests.invented import FAR
from tests.knives import CARDS, A, B, C
from tests.readings_made import Hand

LEADS = ("balls[0].recess.diameter", "balls[0].recess.rest_offset", "balls[1].recess.rest_offset")
PLAIN = A.replace({"balls[0].recess.depth": None})  # a card that knows of no floor


@pytest.mark.parametrize("wrong", [{"balls[0].recess.depth": 0.22}, {"balls[0].recess.off_track": 0.06}])
def test_a_wrong_model_is_mostly_called_so(wrong):
    true = PLAIN.replace(wrong)
    fits = [
        fit_knife(PLAIN, [trace_of(true, seed, climb=SHORT_CLIMB), forces_of(true, seed + 500)]) for seed in range(3)
    ]
    assert sum(fit.explained < 0.01 for fit in fits) >= 2
    assert all("cannot explain" in fit.verdict for fit in fits if fit.explained < 0.01)


def test_readings_of_another_knife_are_called_so_and_no_number_is_told():
    """As where the demo's readings meet a card of one's own: by their misfit every ± grew, tab arm and all."""
    pulls = readings_from_text("opening [N], letting back [N]\n25, 18\n25.1, 17.9\n24.8, 18.2\n25, 18.1")
    found = fit_knife(A, [pulls])
    assert found.foreign
    assert found.knife.doubts["blade.tab_arm"] > A.doubts["blade.tab_arm"]
    (said,) = fit_words(found)
    assert f"they lie {found.off:.0f} times as far off" in said
    assert not fit_knife(A, [pulls_of(A, 6)]).foreign


def test_the_noise_of_every_kind_of_reading_may_be_given():
    given = {name: 1.1 * usual for name, usual in NOISE.items()}
    found = fit_knife(A, [pulls_of(A, 6)], free=("friction.rim",), noise=given)
    assert found.values["friction.rim"].doubt > 0


def test_readings_that_put_a_number_beyond_its_limit_say_that_one_is_wrong():
    card = replace(A, doubts=A.doubts | {"bar.riding_force": Within(1.5)})
    near, far = (fit_knife(card, [forces_of(A.replace({"bar.riding_force": force}), 7)]) for force in (18.0, 22.0))
    assert "limit" not in near.verdict
    assert far.verdict.endswith("beyond what the card calls its limit: one is wrong")
    assert far.knife.bar.riding_force > 17.04 + 1.5


def test_a_fit_to_three_kinds_finds_what_was_put_in_and_says_what_it_cannot_tell():
    true = A.replace({"friction.rim": 0.16, "balls[0].recess.rest_offset": 0.075, "bar.riding_force": 16.5})
    found = fit_knife(A, [trace_of(true, 5, climb=SHORT_CLIMB), pulls_of(true, 6), forces_of(true, 7)])
    for path, value in found.values.items():
        assert abs(value.value - true.get(path)) <= 1.5 * value.doubt, path
    assert any(
        "rest offset" in said and "diameter of the recess" in said and "plug pin" in said for said in found.alike
    )
    assert found.explained > 0.01
    assert found.knife.doubts["friction.rim"] == found.values["friction.rim"].doubt
    assert found.values["friction.rim"].doubt < A.doubts["friction.rim"] / 4


def test_a_bar_that_gives_is_fitted_with_its_give():
    """The card of A, one body: rest offset of the parts and give from readings of a knife that differs in both; the
    pivot's play is in them.
    """
    card = CARDS["A"]
    true = card.replace({"balls[0].recess.rest_offset": 0.120, "bar.root_side": 1.08, "friction.rim": 0.14})
    found = fit_knife(card, [trace_of(true, 5, climb=SHORT_CLIMB), pulls_of(true, 6), forces_of(true, 7)])
    assert set(found.values) >= {*FREE, "bar.root_side"}
    for path, value in found.values.items():
        assert abs(value.value - true.get(path)) <= 1.5 * value.doubt, path
    assert found.values["balls[0].recess.rest_offset"].doubt < card.doubts["balls[0].recess.rest_offset"] / 2
    assert found.explained > 0.01
    assert dl.feel(found.knife).contact_deg[0] == pytest.approx(dl.feel(true).contact_deg[0], abs=0.5)


def test_the_second_ball_of_c_is_found():
    """Trace round the swing, pulls and forces: how deep ball 2 is pressed, and its rest offset, from a card that has
    both wrong.
    """
    card = C.replace({"balls[1].protrusion": 0.3752, "balls[1].recess.rest_offset": 0.045})
    found = fit_knife(card, [trace_of(C, 5, far=FAR), pulls_of(C, 6), forces_of(C, 7)])
    for path in ("balls[1].protrusion", "balls[1].recess.rest_offset"):
        assert abs(found.values[path].value - C.get(path)) <= 1.5 * found.values[path].doubt, path
        # it is how much lower ball 2 rides that the readings tell: its own protrusion is no surer than that of ball 1
        # lets it be
        assert found.values[path].doubt < card.doubts[path] * 0.75
    drawn = dl.cloud(found.knife)
    diameter, first, second = (drawn.numbers()[path] for path in LEADS)
    lead = drawn.interval(diameter / 2 - first - (C.balls[1].recess.rim_radius - second))
    assert abs(lead.value - 0.0699) <= 1.5 * lead.doubt
    assert lead.doubt < 0.02
    assert found.explained > 0.01
    assert dl.feel(found.knife).rest_carrier == 1


def known_together(r, other, doubts, knife=A):
    """The knife with nothing doubtful but its riding force and one other number, whose errors go together."""
    pair = ("bar.riding_force", other)
    return replace(knife, doubts=dict(zip(pair, doubts, strict=True)), known_together={pair: r})


@pytest.mark.parametrize("r", [-0.9, 0.0, 0.9])
def test_what_the_card_knows_together_is_weighed_together(r):
    """Riding force and tab arm before two-way pulls of A, against the joint normal theory of them (Kalman's update).

    At the stop 14.21 of 17.04 N press ball 1, 8.001 mm from the pivot, on a rim at 49.15°; friction 0.12, drag 3 N·mm,
    arm 14 mm.
    """
    card, pulls = known_together(r, "blade.tab_arm", (1.7, 0.6)), pulls_of(A, 3)
    found = fit_knife(card, [pulls], free=("bar.riding_force", "blade.tab_arm"), noise={"gauge": 1e-6})
    phi, lam, load, arm = np.radians(49.15), np.arctan(0.12), 14.21 * 8.001, 14.0
    turn = load * np.array([np.tan(phi + lam), np.tan(phi - lam)])
    force = (turn + np.array([3.0, -3.0])) / arm
    moves = np.column_stack([turn / 14.21 / arm, -force / arm])
    before = np.array([[1.7**2, r * 1.7 * 0.6], [r * 1.7 * 0.6, 0.6**2]]) / 1.96**2
    gain = before @ moves.T @ np.linalg.inv(moves @ before @ moves.T + np.eye(2) * 0.15**2 / 5)
    after = before - gain @ moves @ before
    value = np.array([17.04, 14.0]) + gain @ ([pulls[name].mean() for name in ("opening", "letting back")] - force)
    for i, path in enumerate(found.values):
        assert found.values[path].doubt == pytest.approx(1.96 * np.sqrt(after[i, i]), rel=0.03), path
        assert found.values[path].value == pytest.approx(value[i], abs=0.1 * found.values[path].doubt), path
    assert found.knife.known_together[tuple(found.values)] == pytest.approx(
        after[0, 1] / np.sqrt(after[0, 0] * after[1, 1]), abs=0.02
    )


@pytest.mark.parametrize(("reach", "kept"), [(0.1, True), (1.2, False)])
def test_a_limit_stays_one_unless_the_readings_make_it_surer(reach, kept):
    """Riding force and a tab arm within a limit before two-way pulls of A, against draws weighed by their likelihood
    (importance sampling), with the balance of the test above.
    """
    doubts = {"bar.riding_force": 1.7, "blade.tab_arm": Within(reach)}
    card, pulls = replace(A, doubts=doubts), pulls_of(A, 3)
    found = fit_knife(card, [pulls], free=tuple(doubts), noise={"gauge": 1e-6}).knife
    rng = np.random.default_rng(4)
    force, arm = rng.normal(17.04, 1.7 / 1.96, 400_000), rng.uniform(14 - reach, 14 + reach, 400_000)
    turn = (14.21 + force - 17.04) * 8.001 * np.tan(np.radians(49.15) + np.arctan([[0.12], [-0.12]]))
    read = (turn + np.array([[3.0], [-3.0]])) / arm
    means = np.array([[pulls[name].mean()] for name in ("opening", "letting back")])
    weights = np.exp(-np.sum((read - means) ** 2, axis=0) / 2 / (0.15**2 / 5))

    def ends(column, weights=None):
        order = np.argsort(column)
        sure = np.cumsum(np.ones(column.size) if weights is None else weights[order])
        return column[order][np.searchsorted(sure / sure[-1], [0.025, 0.975])]

    drawn = cloud(found, n=4096)
    told = drawn.numbers() | {"opening": drawn.column("gauge_break_force")}
    assert isinstance(found.doubts["blade.tab_arm"], Within) == kept
    assert found.doubts["blade.tab_arm"] == Within(reach) or not kept
    for name, column in (("bar.riding_force", force), ("blade.tab_arm", arm), ("opening", read[0])):
        low, high = ends(column, weights)
        assert ends(told[name][1:]) == pytest.approx([low, high], abs=0.06 * (high - low)), name


def test_a_number_that_no_reading_feels_follows_the_one_that_it_was_known_together_with():
    """Regression of one normal number on another: blade weight never moves a pull at the stop, but goes with the
    riding force here.
    """
    card = known_together(0.8, "blade.mass", (1.7, 2.0), A.replace({"blade.mass": 30.0}))
    found = fit_knife(card, [pulls_of(A, 3)], free=("bar.riding_force",))
    force, left = found.values["bar.riding_force"], found.values["bar.riding_force"].doubt / 1.7
    assert found.knife.blade.mass == pytest.approx(30.0 + 0.8 * 2.0 / 1.7 * (force.value - 17.04), abs=0.02)
    assert found.knife.doubts["blade.mass"] == pytest.approx(2.0 * np.sqrt(1 - 0.64 * (1 - left**2)), rel=0.01)


def test_a_search_asks_for_no_curve_twice_in_a_row():
    """Each costs a run of the model for every number that moves."""
    asked = []

    def line(table):
        asked.append(table.copy())
        return Seen(table[:, :1] + table[:, 1:] * np.arange(5.0), np.ones(5), np.zeros(5))

    Least(np.array([0.1, 1.0, 2.2, 2.9, 4.1]), line, (0.1, 0.1)).fit((0.5, 0.5))
    assert len({(len(table), table.tobytes()) for table in asked}) == len(asked)


def test_what_readings_do_not_tell_stays_as_the_card_has_it():
    """Ball 2 of B rides idle: pulls say nothing of its recess."""
    path = "balls[1].recess.diameter"
    found = fit_knife(B, [pulls_of(B, 3)], free=("friction.rim", path), use_card=False)
    assert path not in found.values
    assert found.untold == (f"These readings tell nothing of {name_of(path, B)}: it stays as the card has it.",)
    assert found.knife.get(path) == B.get(path)
    assert found.knife.doubts[path] == B.doubts[path]
    assert "friction.rim" in found.values


def test_numbers_that_one_reading_cannot_part_are_said_to_be_alike():
    """Two-way pulls: more bar force at a longer arm does as well."""
    pair = ("bar.riding_force", "blade.tab_arm")
    found = fit_knife(A, [pulls_of(A, 3)], free=pair, use_card=False)
    assert found.knife.known_together[pair] > 0.99
    assert "more of one with more of the other" in found.alike[0]
    assert found.values["blade.tab_arm"].doubt > 2


def test_sets_of_one_name_keep_their_residuals_apart():
    one, other = pulls_of(A, 1), replace(pulls_of(A, 2, 3), source="two-way pull")
    found = fit_knife(A, [one, other], free=("friction.rim",))
    assert {name: part.size for name, part in found.residuals.items()} == {"two-way pull": 10, "two-way pull (2)": 6}
    assert "2 sets of readings" in repr(found)


def test_residuals_are_in_standard_deviations():
    opening, back = np.tile([12.45, 12.35], 4), np.tile([7.15, 7.25], 4)  # so steady that nothing sticks and slips
    pulls = readings_from_text(
        "opening [N], letting back [N]\n"
        + "\n".join(f"{one}, {other}" for one, other in zip(opening, back, strict=True))
    )
    found = fit_knife(A, [pulls], free=("friction.rim",), noise={"force": 0.4, "gauge": 1e-6})
    felt = dl.feel(found.knife)
    expected = (
        np.concatenate([opening, back]) - np.repeat([felt.gauge_break_force, felt.gauge_letback_force], 8)
    ) / 0.2
    assert found.residuals["pasted text"] == pytest.approx(
        expected, abs=0.01
    )  # friction is kept to a hundredth of its ±


def test_the_doubt_is_that_of_the_noise_unless_the_readings_scatter_more():
    """Ten pulls, riding force alone: opening and letting back both go as the force, 1.96 σ over the root of the sum of
    squares.

    By a gauge that reads no better than these pulls scatter nothing sticks and slips. A force trace that scatters by 1
    N is worth less.
    """
    felt, pulls = dl.feel(A), pulls_of(A, 4, 10)
    gains = np.array([felt.break_force, felt.letback_force]) / felt.rest_load * 1.0
    alone = {"free": ("bar.riding_force",), "use_card": False}
    found = fit_knife(A, [pulls], noise={"gauge": 1e-6, "force": 0.5}, **alone)
    assert found.values["bar.riding_force"].doubt == pytest.approx(
        1.96 * 0.25 / np.sqrt(10 * np.sum(gains**2)), rel=0.02
    )
    forces = forces_of(A, 4)
    rough = replace(forces, columns=forces.columns | {"force": forces["force"] + np.resize([1.0, -1.0], len(forces))})
    calm, wide = (fit_knife(A, [each], noise={"gauge": 1e-6}, **alone) for each in (forces, rough))
    assert wide.explained < 0.01 < calm.explained
    assert wide.values["bar.riding_force"].doubt > 1.5 * calm.values["bar.riding_force"].doubt


def test_a_fit_that_is_hardly_explained_says_that_its_doubts_are_widened():
    """A force trace that scatters by 1.3 times its ±: noise might do that, and yet what is found gets wider."""
    forces, alone = forces_of(A, 4), {"free": ("bar.riding_force",), "use_card": False}
    plain, hardly, not_at_all = (
        fit_knife(A, [forces], noise={"gauge": 1e-6, "force": force}, **alone) for force in (0.2, 0.12, 0.07)
    )
    assert 0.01 < hardly.explained < 0.05 < plain.explained
    assert "but hardly: they lie 1.3 times as far off as their ±" in hardly.verdict
    assert "each ± found is so much wider" in hardly.verdict
    assert "each ± found is so much wider; look for a burr" in fit_words(not_at_all)[0]
    assert plain.verdict == f"the model explains these readings (chance {plain.explained:.2f})"


def test_pulls_that_stick_and_slip_overshoot_in_a_fit_as_they_do_alone():
    """Pulls of A, each beyond the steady one by a share of up to 10 %: means alone make 0.15 of its 0.12; a trace
    and its forces hold the rest.
    """
    reckoned = as_reckoned(A)
    jerky, steady = (Hand(2, stick_slip=slip).pulls(reckoned, 8) for slip in (0.1, 0.0))
    others, loose = (
        [trace_of(A, 2, climb=SHORT_CLIMB), forces_of(A, 3)],
        replace(A, doubts=A.doubts | {"friction.rim": 0.2}),
    )
    rough, calm = (fit_knife(loose, [*others, pulls]) for pulls in (jerky, steady))
    assert abs(rough.values["friction.rim"].value - 0.12) <= rough.values["friction.rim"].doubt
    assert rough.slip == pytest.approx(dl.two_way_pull(jerky, A).slip, abs=0.02)
    assert rough.slip > 0.03
    assert rough.values["friction.rim"].doubt > calm.values["friction.rim"].doubt
    assert rough.explained > 0.01
    assert any("stick and slip" in said for said in fit_words(rough))


def test_no_more_is_overshoot_than_what_parts_two_wild_pulls():
    """11 N open and 6 N let back on the mean: 5 in 17 would leave no friction at all."""
    found = fit_knife(A, [readings_from_text("opening [N], letting back [N]\n9, 3\n13, 9")])
    assert 0 < found.slip <= 0.3
    assert 0 < found.values["friction.rim"].value < found.values["friction.rim"].doubt


def test_pulls_that_break_away_and_that_slide_have_each_their_friction():
    """0.16 where it breaks away, 0.12 sliding; on the whole knife each pull is tan(φ ± λ) of the load and drag."""
    load, pulls = 14.21 * 8.001, []
    for mu in (0.16, 0.12):
        lam, phi = np.arctan(mu), np.radians(49.15)
        pulls += [(load * np.tan(phi + lam) + 3) / 14, (load * np.tan(phi - lam) - 3) / 14]
    head, line = (
        "opening [N], letting back [N], opening sliding [N], letting back sliding [N]",
        ", ".join(f"{each:.4f}" for each in pulls),
    )
    found = fit_knife(
        A, [readings_from_text("\n".join([head, *[line] * 5]))], free=("friction.rim", "bar.riding_force")
    )
    assert found.values["friction.rim"].value == pytest.approx(0.16, abs=0.003)
    assert found.sliding.value == pytest.approx(0.12, abs=0.003)
    assert 0 < found.sliding.doubt < 0.03
    assert found.values["bar.riding_force"].value == pytest.approx(17.04, abs=0.1)
    assert any("sliding on, friction 0.1" in said for said in fit_words(found))


def test_attitude_and_lever_are_taken_off():
    weight = dl.sweep(A, [0.0], attitude_deg=30.0).tab_force[0] - dl.sweep(A, [0.0]).tab_force[0]
    pulls, trace = pulls_of(A, 5), trace_of(A, 5, climb=SHORT_CLIMB)
    tilted = replace(pulls, columns={name: column + weight for name, column in pulls.columns.items()})
    beside = replace(trace, columns={"angle": trace["angle"], "lift": 0.8 * trace["lift"]})
    plain = fit_knife(A, [pulls, trace])
    found = fit_knife(A, [tilted, beside], attitude_deg=30.0, hinge_ratio=0.8, noise={"lift": 0.8 * 0.006})
    for path, value in plain.values.items():
        assert found.values[path].value == pytest.approx(value.value, rel=1e-3), path


def test_a_fit_becomes_a_knife_file_in_one_call(tmp_path):
    found = fit_knife(A, [pulls_of(A, 7)])
    found.save(tmp_path / "fitted.toml")
    again = dl.read_knife(tmp_path / "fitted.toml")
    assert again == found.knife
    assert again.doubts == found.knife.doubts
    text = (tmp_path / "fitted.toml").read_text(encoding="utf-8")
    assert found.knife.known_together
    assert again.known_together == found.knife.known_together
    assert text.startswith("# Fitted to readings: the model explains")
    with pytest.raises(dl.KnifeError, match="there already"):
        found.save(tmp_path / "fitted.toml")
    with pytest.raises(dl.KnifeError, match="cannot be written"):
        found.save(tmp_path / "no folder" / "fitted.toml")


def test_a_budget_of_a_fit_counts_what_goes_together():
    """Riding force and friction of a force trace go against each other, so that the opening force is surer than
    either makes it.
    """
    found = fit_knife(A, [forces_of(A, 3)], free=("bar.riding_force", "friction.rim"), use_card=False)
    together = replace(found.knife, doubts={path: value.doubt for path, value in found.values.items()})
    alone = replace(together, known_together={})
    assert dl.budget(together, "break_force").doubt < 0.5 * dl.budget(alone, "break_force").doubt


def test_readings_that_cannot_be_fitted():
    with pytest.raises(ReadingError, match="there are no readings to fit"):
        fit_knife(A, [])
    with pytest.raises(ReadingError, match="a fit takes lift trace, two-way pull, opening pull, force trace"):
        fit_knife(A, [readings_from_text("reading [mm]\n1\n2")])
    with pytest.raises(ReadingError, match=r"there are 2 readings for 4 numbers\. Add readings, or fit fewer"):
        fit_knife(A, [pulls_of(A, 9, 1)], use_card=False)
    far_off = A.replace({"balls[0].recess.off_track": 0.09, "friction.rim": 0.25})
    with pytest.raises(ReadingError, match="two-way pull: holds let-back pulls, but so far off track"):
        fit_knife(far_off, [pulls_of(A, 9)])
    with pytest.raises(dl.KnifeError, match="rim gap"):
        fit_knife(A.replace({"balls[0].recess.diameter": 1.8}), [pulls_of(A, 9)])
    with pytest.raises(dl.KnifeError, match="frictoin"):
        fit_knife(A, [pulls_of(A, 9)], free=("frictoin.rim",))
    with pytest.raises(ReadingError, match=r"the card has no bar\.rate to start from"):
        fit_knife(A, [pulls_of(A, 9)], free=("bar.rate",))
