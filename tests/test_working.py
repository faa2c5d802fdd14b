"""Worked lines, derivations and headlines: what people read is what the formulas and the budget say."""

import math
import re
from dataclasses import replace

import pytest

import detentlib as dl
from detentlib.derivations.formulas import Formula
from detentlib.knife.parts import name_of
from detentlib.say.headline import headline
from detentlib.say.working import Folded, by_formula, derivation, product, quotient, worked
from tests import knives

DOUBTS = {"balls[0].recess.rest_offset": 0.03, "friction.rim": 0.04}
A, B, C = (replace(knife, doubts=DOUBTS) for knife in (knives.A, knives.B, knives.C))


def _rows(text):
    return {row.split(" | ")[0]: row.split(" | ")[1:] for row in repr(text).splitlines() if " | " in row}


def test_a_worked_line_shows_formula_numbers_and_result():
    line = by_formula("Where it touches.", "L1", {"rim_gap": 0.6, "ball_radius": 1.0}, "phi")
    assert line.said == "Where it touches. (L1)"
    formula, numbers, result = line.latex.removesuffix(r"\end{aligned}").split(r" \\ &= ")
    assert formula.endswith(r"\arcsin{\left(\frac{b}{R} \right)}")
    assert numbers == r"\arcsin{\left(\frac{0.6}{1} \right)}"
    assert result == r"36.87^\circ"
    assert (line.value, line.unit) == (pytest.approx(math.degrees(math.asin(0.6))), "deg")


def test_angles_go_in_as_degrees_and_what_is_nothing_leaves_the_line():
    line = by_formula("Wedge.", "F2", {"phi": math.radians(30), "mu": 0, "cos_chi": 1})
    assert r"\tan{\left(30^\circ \right)}" in line.latex
    assert r"\mu" not in line.latex
    assert line.value == pytest.approx(1 / math.sqrt(3))


def test_every_formula_with_several_results_gives_each():
    values = {"rim_gap": 0.55, "ball_radius": 0.79375}
    found = dl.formulas["L1"](**values)
    for result in dl.formulas["L1"].results:
        wanted = math.degrees(found.phi) if result == "phi" else getattr(found, result)
        assert by_formula("", "L1", values, result).value == pytest.approx(wanted)


def test_lines_by_hand():
    assert (
        product("", "T", 12.0, 14.0, "N·mm").latex
        == r"\begin{aligned}T &= 12 \cdot 14 \\ &= 168\,\mathrm{N·mm}\end{aligned}"
    )
    assert (
        quotient("", "F", 168.0, 21.0, "N").latex
        == r"\begin{aligned}F &= \frac{168}{21} \\ &= 8\,\mathrm{N}\end{aligned}"
    )


def test_worked_shows_one_line(capsys):
    worked("F5", torque=168.0, arm=14.0)
    assert "= 12\\,\\mathrm{N}" in capsys.readouterr().out


@pytest.mark.parametrize("id", dl.formulas)
def test_a_derivation_shows_every_step_letter_and_limit(id, capsys):
    derivation(id)
    shown, formula = capsys.readouterr().out, dl.formulas[id]
    assert shown.startswith(f"**{id}: {formula.title}**")
    assert all(step.said in shown for step in formula.steps)
    assert all(f"${symbol.latex}$ {symbol.meaning}" in shown for symbol in formula.symbols.values())
    assert formula.assumptions in shown
    equations = sum(len(step.shown) if isinstance(step.shown, (list, tuple)) else 1 for step in formula.steps)
    results = formula.results if isinstance(formula, Formula) else {}
    assert all(f"${formula.letter(name)}$ {meaning}" in shown for name, (meaning, _) in results.items())
    assert shown.count("$$") == 2 * (equations + max(len(results), 1))


def test_steps_open_on_a_click_and_what_is_written_in_them_stays_text():
    folded = Folded("How it comes about", ["where a < b", r"$$a \\ b$$"])
    assert folded._repr_html_() == (
        '<details><summary style="cursor:pointer">How it comes about</summary>'
        r"<p>where a &lt; b</p><p>$$a \\ b$$</p></details>"
    )
    assert str(folded).startswith("How it comes about:\n\nwhere a < b")


def test_a_theorem_is_stated_proved_and_never_worked(capsys):
    derivation("E2", hinge_distance_2="hinge_distance_1")
    shown = capsys.readouterr().out
    assert dl.formulas["E2"].statement in shown
    assert r"$$p_{2} \leq p_{1}$$" in shown  # on equal arms
    with pytest.raises(TypeError, match=r"E2 .* is a theorem"):
        worked("E2")


def test_a_result_has_its_own_letter(capsys):
    """L8 makes an angle of an angle: they must not share a letter."""
    derivation("L8")
    shown = capsys.readouterr().out
    assert r"$$\theta' = \beta_{j} + \theta - \beta_{i}$$" in shown
    assert r"$$c' = \rho_{j} + c_{j} - \rho_{i}$$" in shown


@pytest.mark.parametrize("id", [id for id, entry in dl.formulas.items() if isinstance(entry, Formula)])
def test_no_result_is_called_as_an_input_is(id):
    formula = dl.formulas[id]
    assert not set(formula.found) & {symbol.latex for symbol in formula.symbols.values()}


@pytest.mark.parametrize(("id", "signs"), [("F5", 1), ("B6d", 6), ("F6", 10), ("C3", 14), ("L7", 22)])
def test_what_is_not_seen_at_a_glance_is_folded(id, signs, capsys):
    """signs: of reckoning, counted by hand in the formula as it is printed."""
    derivation(id)
    fold = f"How {id} comes about" if signs <= 8 else f"{id} in letters"
    before, inside = capsys.readouterr().out.split(fold)
    assert ("$$" in before) == (signs <= 8)
    assert "$$" in inside


def test_a_difference_begins_with_what_is_more(capsys):
    for id in ("B3", "F6", "F9", "B6c", "B6d", "C1a", "E2"):
        derivation(id)
        assert not re.search(r"(\$\$|= |\{|\(|\\leq )- ", capsys.readouterr().out)


def test_a_derivation_says_what_was_put_in(capsys):
    derivation("F1", cos_chi=1)
    shown = capsys.readouterr().out
    assert r"Here $\cos\chi = 1$." in shown
    assert r"$$T = N \rho \tan{\left(\varphi \right)}$$" in shown
    assert "share of the travel" in shown  # what was put in has its meaning, too


@pytest.mark.parametrize(
    ("row", "result", "unit"), [("Break force at the tab", "break_force", "N"), ("Barrier", "barrier", "mJ")]
)
def test_the_headline_is_the_budget(row, result, unit):
    found = dl.budget(A, result)
    said, source = _rows(headline(A))[row]
    value, doubt = (float(number) for number in re.match(rf"([\d.]+) ± ([\d.]+) {unit}", said).groups())
    assert value == pytest.approx(found.value, abs=0.05)
    assert doubt == pytest.approx(found.doubt, abs=0.05)
    assert source.startswith(name_of(found.largest, A))
    assert f"±{abs(found.shares[found.largest]):.2g} {unit} by itself" in source


def test_forces_stand_in_pounds_as_well():
    newton, pounds = re.match(
        r"([\d.]+) ± .*? N \(([\d.]+) ±", _rows(headline(A))["Break force at the tab"][0]
    ).groups()
    assert float(pounds) == pytest.approx(float(newton) / 4.448, abs=0.02)


def test_without_a_doubt_it_says_so():
    said, source = _rows(headline(replace(A, doubts={})))["Break force at the tab"]
    assert (said, source) == ("12.04 N (2.71 lbf)", "no ± given")


def test_where_both_balls_carry_no_idle_one_is_spoken_of():
    said = dict(headline(knives.HELD_BETWEEN).notes)["Which ball carries"]
    assert "both in all" in said[0]
    assert "idle" not in said[0]


def test_a_headline_carries_what_feel_has_to_say():
    feel, shown = dl.feel(A), repr(headline(A))
    assert all(sentence in shown for sentence in (*feel.flags, *feel.left_out))
    assert all(name_of(path, A) in shown for path in feel.assumed)


def test_flags_come_before_the_rest():
    weak = A.replace({"bar.yield_stress": 200.0})
    headings = [heading for heading, _ in headline(weak).notes]
    assert headings[0] == "Look at this"
    assert dl.feel(weak).flags[0] in repr(headline(weak))


def test_side_by_side_says_common_things_once():
    shown = headline(A, B, C, titles=["one", "two", "three"])
    assert shown.table[0] == ("", "one", "two", "three")
    assert repr(shown).count("a slow push") == 1
    give = [line for line in repr(shown).splitlines() if "sideways give" in line]
    assert [line.split(":")[0] for line in give] == ["- one", "- two", "- three"]


def test_a_let_back_that_is_not_given_is_no_number():
    rough = A.replace({"friction.rim": 0.25, "balls[0].recess.off_track": 0.05})
    assert _rows(headline(rough))["Let-back force at the tab"][0] == "not given"


def test_titles_and_names_are_text_in_html():
    shown = headline(replace(A, title="<b>&"))._repr_html_()
    assert "&lt;b&gt;&amp;" in shown
    assert "<b>&" not in shown
    assert shown.count("<tr>") == len(headline(A).table)


def test_names_say_whose():
    assert name_of("balls[1].recess.diameter", B) == "ball 2: diameter of the recess"
    assert name_of("bar.rate", B) == "rate of the bar at ball 1"


def test_text_is_the_same_twice():
    assert repr(headline(A)) == repr(headline(A))
