"""Every public function refuses arguments of a wrong kind in the library's own words, before it computes anything."""

import inspect
import math
from dataclasses import replace

import numpy as np
import pytest

import detentlib as dl
from detentlib import lesson
from detentlib.knife.checks import number_problem
from detentlib.knife.parts import spec
from detentlib.lesson.questions.table import question_of
from tests.knives import FOLDER, A, C

MANY = A.with_arrays({"friction.rim": np.array([[0.1], [0.2]])})
FELT = dl.feel(A)
F2, RIM, ROW = dl.formulas["F2"], "friction.rim", np.ones(2)
VERDICT = dl.judge("doubles", C)
WINDOW = {"break_force": (11.0, 13.0)}

KNIFE = {
    "sweep": dl.sweep,
    "feel": dl.feel,
    "swing": dl.swing,
    "contact_marks": lambda knife: dl.contact_marks(knife, FELT),
    "rough_motion": dl.rough_motion,
    "budget": lambda knife: dl.budget(knife, "barrier"),
    "cloud": dl.cloud,
    "per_thou": dl.per_thou,
    "bar_slope": dl.bar_slope,
    "options": lambda knife: dl.options(knife, WINDOW),
    "tolerance": dl.tolerance,
    "compare": lambda knife: dl.compare(A, knife),
    "find_fault": lambda knife: dl.find_fault("weak", knife),
    "write_knife": lambda knife: dl.write_knife(knife, "never.toml"),
    "track_map": dl.track_map,
    "template": lambda knife: dl.template(knife, "never.svg"),
    "handout": lambda knife: dl.handout(knife, "never.html"),
    "letter": lambda knife: dl.letter(knife, "never.html"),
    "live_sheet": lambda knife: dl.live_sheet(knife, "never.html"),
    "bench_sheet": lambda knife: dl.bench_sheet(knife, "never.html"),
    "next_measurement": lambda knife: dl.next_measurement(knife, "barrier"),
    "break_it": lambda knife: dl.break_it("doubles", knife),
}


@pytest.mark.parametrize("use", KNIFE.values(), ids=KNIFE)
def test_what_is_no_knife_or_many_is_refused(use, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    for given in ("text", None, 3.0, A.balls[0], [A], np.array([]), FELT):
        with pytest.raises(ValueError, match=r"knife = .*: is not a Knife\. .* Give one, read from its knife file"):
            use(given)
    with pytest.raises(ValueError, match=r"knife = 'Pellowfen A': holds many knives at once"):
        use(MANY)
    assert list(tmp_path.iterdir()) == []


def test_feel_of_many_takes_many_and_no_other_thing():
    assert dl.feel_many(MANY).possible.all()
    with pytest.raises(ValueError, match="is not a Knife"):
        dl.feel_many("text")


NO_NUMBER, NO_COUNT, NO_SWITCH = r"is (not a|not a finite) number|no size", r"is not a whole number|than can be", "True"
NO_ROW, NO_ANGLE, NO_WORD = r"no row of numbers|no size", rf"{NO_NUMBER}|more than once round", "is not known"
NO_TABLE, NO_LIST, NO_FILE = "by path|of which number", "is (not|no) (a )?list|not two texts", "is no name of a file"
ARGUMENTS = {
    "angles": (lambda given: dl.sweep(A, given), NO_ROW, (["a"], [], [math.nan], np.zeros((2, 2)), {}, 1e300, 1j)),
    "direction": (lambda given: dl.sweep(A, direction=given), NO_WORD, ("shut", None, [], 1)),
    "attitude": (lambda given: dl.sweep(A, attitude_deg=given), NO_ANGLE, ("text", None, math.inf, 1e9, [1.0])),
    "turned": (lambda given: dl.sweep(A, turned_at_deg=given), NO_ANGLE, ("text", math.nan, 1e9, 10**60, [])),
    "elastic": (lambda given: dl.feel(A, given), NO_SWITCH, ("no", None, 1, math.nan, np.zeros(2))),
    "chunk": (lambda given: dl.feel_many(MANY, chunk=given), NO_COUNT, ("text", None, 0, -1, 2.5, True, 10**60)),
    "felt": (lambda given: dl.contact_marks(A, given), "feels like", ("text", None, 1.0, A)),
    "material": (lambda given: dl.contact_marks(A, FELT, given), NO_WORD, ("glass", None, [], 3)),
    "draws": (lambda given: dl.cloud(A, n=given), NO_COUNT, ("text", None, 0, math.nan, 10**9)),
    "seed": (lambda given: dl.cloud(A, seed=given), NO_COUNT, ("text", None, -1, 1.5, [1])),
    "step": (lambda given: dl.per_thou(A, given), rf"{NO_NUMBER}|outside", ("text", None, math.inf, 1e9, np.ma.masked)),
    "window": (lambda given: dl.options(A, given), NO_TABLE, ("text", None, 3, [])),
    "edges": (lambda given: dl.options(A, {"barrier": given}), "is no window", (3, None, [1], object(), "text")),
    "change": (lambda given: dl.options(A, WINDOW, given), "no(t a)? place", (3, [], math.nan, ["text"], "x" * 5000)),
    "sizes": (lambda given: dl.options(A, WINDOW, {"drill": given}), f"no list of sizes|{NO_NUMBER}", (3, ["a"], "b")),
    "shop": (lambda given: dl.tolerance(A, made=given), "no list of Operations", ("text", [1], 3.0, {"a": 1})),
    "titles": (lambda given: dl.compare(A, C, titles=given), NO_LIST, ("text", [1], [1, 2], math.nan)),
    "results": (lambda given: dl.compare(A, C, given), NO_LIST, ("barrier", None, 3)),
    "drawn": (lambda given: dl.budgets(A, ["barrier"], given), "is no cloud", ("text", 3, [1])),
    "symptom": (lambda given: dl.find_fault(given, A), "is no text", (None, 3, [], np.zeros(2))),
    "path to read": (dl.read_knife, NO_FILE, (None, 3.0, [], A)),
    "readings to read": (dl.read_readings, rf"{NO_FILE}|null", (None, 3.0, [], "a\0b")),
    "text": (dl.readings_from_text, "is no text", (None, 3.0, [], b"x")),
    "path to write": (lambda given: dl.template(A, given), NO_FILE, (None, 3.0, [])),
    "replace": (lambda given: dl.write_knife(A, "never.toml", replace=given), NO_SWITCH, ("no", 1, math.nan, [])),
    "remarks": (lambda given: dl.write_knife(A, "never.toml", given), "no lines of text", ("text", None, [1])),
    "scale": (lambda given: dl.track_map(A, scale=given), rf"{NO_NUMBER}|outside|greater", ("a", None, -1, 0, 1e9)),
    "ends": (lambda given: dl.options(A, {"barrier": given}), "is no window", (np.ones((2, 2)), np.array(1.0))),
    "of the shop": (lambda given: dl.tolerance(A, made=given), "no list of Operations", (None, np.ones(2))),
    "window of a batch": (lambda given: dl.tolerance(A, window=given), "of which number", ("text", np.ones(2), [])),
    "answers": (lambda given: dl.handout(A, "never.html", given), NO_SWITCH, ("no", np.ones(2), 1)),
    "instruments": (lambda given: dl.next_measurement(A, "barrier", given), "no list of Inst", ("text", [1], None)),
    "verdict": (lambda given: dl.post_page(given, "never"), "is no Verdict", ("doubles", None, A)),
    "path of a page": (lambda given: dl.post_page(VERDICT, given), "no name of a file|cannot be", (3, [], "x" * 300)),
    "who claimed it": (lambda given: dl.post_page(VERDICT, claimed_by=given), "is no text", (None, 3, [])),
    "while idle": (lambda given: dl.break_it("doubles", C, given), NO_SWITCH, ("no", None, np.ones(2))),
    "marks": (lambda given: dl.practice("job", marks=given), "are no Marks", ("text", 3, FELT)),
    "marks on the bench": (lambda given: dl.practice_bench(given), "are no Marks", ("text", 3, FELT)),
    "topic on the bench": (lambda given: dl.practice_bench(topic=given), "no topic", (None, 3, [], "x" * 5000)),
    "topics": (
        lambda given: dl.answer_sheet(topics=given),
        "no topic|no names of topics",
        (3, A, [3], "text", np.array(1)),
    ),
    "doubts": (lambda given: replace(A, doubts=given), "no such field|not below zero", ({1: 2}, {RIM: np.ones(2)})),
    "letters of a formula": (lambda given: F2(phi=given, mu=0.1, cos_chi=np.ones(3)), "do not go together", (ROW,)),
    "down": (lambda given: dl.wedge_push(10, 25, 0.2, down=given), NO_SWITCH, ("no", None, 1)),
    "use_card": (lambda given: dl.fit_knife(A, [], use_card=given), "True|no readings", ("no", 1)),
    "a number's path": (A.get, "is no path of a number", (None, 3, [], ["balls"])),
    "numbers to replace": (A.replace, NO_TABLE, (None, "text", [], 3)),
    "readings taken anew": (A.measured, rf"{NO_TABLE}|with its ±", (None, "text", {"friction.rim": 0.1})),
    "arrays": (A.with_arrays, NO_TABLE, (None, "text", [])),
}


@pytest.mark.parametrize(("use", "said", "wrong"), ARGUMENTS.values(), ids=ARGUMENTS)
@pytest.mark.filterwarnings("error")
def test_an_argument_of_a_wrong_kind_is_refused(use, said, wrong, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    for given in wrong:
        with pytest.raises(ValueError, match=said) as caught:
            use(given)
        assert max(map(len, str(caught.value).splitlines())) < 500
    assert list(tmp_path.iterdir()) == []


LESSON = {
    name: made
    for name in lesson.__all__
    for made in [getattr(lesson, name)]
    if inspect.isfunction(made) and inspect.signature(made).parameters
}
INSIDE = {
    f"{name}.{each}": made
    for name in ("moves", "pair", "stock", "threshold", "trial")
    for each, made in vars(getattr(lesson, name)).items()
    if inspect.isfunction(made) and made.__module__ == f"detentlib.tune.{name}" and not each.startswith("_")
}


@pytest.mark.parametrize("use", (LESSON | INSIDE).values(), ids=LESSON | INSIDE)
def test_every_name_of_the_lesson_refuses_what_is_of_a_wrong_kind(use):
    takes = inspect.signature(use).parameters.values()
    if all(each.annotation is object for each in takes):
        return
    for given in (object(), 1j, b"x", {1: {2}}):
        some = {each.name: given for each in takes if each.kind not in (each.VAR_POSITIONAL, each.VAR_KEYWORD)}
        with pytest.raises(ValueError, match=r"is not what is wanted here|is not a Knife"):
            use(*([] if some else [given]), **some)


@pytest.mark.parametrize("given", [[], {}, np.ones(2), object(), 3, None])
def test_what_is_no_id_of_a_formula_or_question(given):
    for ask in (dl.formulas.__getitem__, question_of):
        with pytest.raises(KeyError, match=r"no (formula|question) "):
            ask(given)


@pytest.mark.filterwarnings("error")
def test_arrays_beyond_what_a_formula_holds_for_warn_of_nothing():
    extremes = np.array([0.0, -1.0, 1e9, 1e300, -1e300, np.inf, np.nan])
    for entry in dl.formulas.values():
        for name in getattr(entry, "results", ()) and entry.symbols:
            plain = {each: -1e300 if each != name else extremes for each in entry.symbols}
            found = entry(**plain)
            assert all(np.shape(each) in ((), (7,)) for each in (found if isinstance(found, tuple) else [found]))


@pytest.mark.parametrize("given", ["text", None, 3, [], {"a": 1}, A, "x" * 5000])
def test_what_is_no_claim_and_no_assumption(given):
    for ask in (dl.judge, dl.break_it):
        with pytest.raises(KeyError, match=r"claim = .*: is not known\.") as caught:
            ask(given, A)
        assert len(str(caught.value)) < 900
    with pytest.raises(ValueError, match="friction can be given or none, not"):
        dl.judge("doubles", A, friction=given)


@pytest.mark.parametrize(
    ("name", "given"),
    [
        ("title", None),
        ("balls", "text"),
        ("balls", [1]),
        ("balls", A.balls[0]),
        ("bar", A.blade),
        ("blade", None),
        ("friction", 0.12),
        ("second_bar", 3),
        ("doubts", 3),
        ("assumed", "friction.rim"),
        ("known_together", []),
        ("said", 1),
    ],
)
def test_a_knife_is_made_of_its_parts(name, given):
    with pytest.raises(dl.KnifeError, match=rf"{name} = .*: is not a"):
        replace(A, **{name: given})


@pytest.mark.parametrize(
    ("path", "value", "said"),
    [
        ("balls[0].track_radius", 1e16, "no size that anything has"),
        ("balls[0].bearing_deg", 400.0, "more than once round"),
        ("blade.opening_deg", 400.0, "more than once round"),
        ("balls[0].diameter", np.ma.masked, "not a finite number"),
    ],
)
@pytest.mark.filterwarnings("error")
def test_no_number_beyond_all_sizes_is_one_of_a_knife(path, value, said):
    assert said in number_problem("x", spec(path), value).wrong


def test_a_force_that_no_knife_has_is_refused():
    far = {"balls[0].track_radius": np.array([[8.0], [1e9]])}
    with pytest.raises(dl.KnifeError, match="does not come out as a number that a knife has"):
        dl.feel(A.replace({"balls[0].track_radius": 1e9}))
    assert dl.feel_many(A.with_arrays(far)).possible.tolist() == [True, False]


def test_a_long_value_is_cut_and_deep_brackets_are_told(tmp_path):
    text = (FOLDER / "pellowfen-a.toml").read_text(encoding="utf-8")
    for old, new in (
        ('"1.3208 ± 0.02 mm"', f'"{"[" * 50_000}"'),
        ('"1.3208 ± 0.02 mm"', "[" * 900),
        ('"1.3208 ± 0.02 mm"', "a=" * 3000),
    ):
        (tmp_path / "a.toml").write_text(text.replace(old, new, 1), encoding="utf-8")
        with pytest.raises(dl.KnifeError) as caught:
            dl.read_knife(tmp_path / "a.toml")
        assert len(str(caught.value)) < 400
        assert "recursion" not in str(caught.value)
