"""Four lines of arithmetic on one spring: the bar's moment, how it is split, the push of each ball, and their sum."""

from typing import NamedTuple

from markupsafe import Markup

from ..derivations.formulas import formulas
from ..knife.parts import Knife
from ..knife.plain import true_minus
from ..knife.units import both
from ..mechanics.feel import feel
from ..tune.moves import with_one_ball
from ..tune.pair import has_second_ball, held, mixes
from . import mathml
from .by_hand import shut_moments

SHARES = (0.0, 0.5, 1.0)
_SAME = 1e-6
_LETTERS = (
    "F: force at ball 1 on the flat; κ: moment that bends the bar by 1 rad; ψ: its turn, with r on the flat; L: hinge"
    " to ball; N: load; ρ: pivot to ball; A: pivot to tab."
)
_SHARE = "ξ: how much of the bar's moment ball 2 takes."


class Lines(NamedTuple):
    """The four lines: heads of their columns; rows, each (number, what, its formula as Markup, cells); what they do not
    show; and the letters of the formulas, for a page that has those.
    """

    heads: tuple[str, ...]
    rows: tuple[tuple, ...]
    notes: tuple[str, ...]
    letters: str = _LETTERS


def four_lines(compared: dict[str, Knife]) -> Lines:
    """The Lines of knives that are compared, {what it is called: Knife}; KnifeError for one that cannot work.

    Where one of them has two balls on a bar: that knife with ball 2 taking 0, 50 and 100 % of the bar's moment, beside
    what it is compared with, else ball 1 alone. Else each knife as it rests.

    >>> from detentlib.files.demo import demo
    >>> four_lines({"B": demo("pellowfen-b")}).rows[-1][-1]
    ('12.05 (1.000)', '13.42 (1.114)', '14.79 (1.228)', '12.05 (1)')
    """
    pair = next((knife for knife in compared.values() if has_second_ball(knife)), None)
    others = {name: knife for name, knife in compared.items() if not has_second_ball(knife)}
    if pair is None:
        columns, notes = {name: held(knife) for name, knife in others.items()}, ()
        pair = max(others.values(), key=lambda knife: len(knife.balls))
    else:
        beside = others or {"ball 1 alone": with_one_ball(pair)}
        columns = _splits(pair) | {name: held(knife) for name, knife in beside.items()}
        notes = (_SHARE, *_notes(pair))
    rows = (
        ("1", "the bar's moment, N·mm", _moments(pair), _cells(columns, "moments", ", ", 1)),
        ("2", "the load of each ball, N", _loads(pair), _cells(columns, "loads", ", ", 2)),
        ("3", "what each ball gives at the tab, N", _pushes(pair), _cells(columns, "pushes", " + ", 2)),
        ("4", "their sum, N, and how many times the last one it is", "", _sums(columns)),
    )
    return Lines(tuple(columns), rows, notes)


def _splits(pair):
    """{what is supposed: Held} of two balls on a bar."""
    at = held(pair)
    return {
        f"ξ = {100 * mix.share:.0f} %": at._replace(loads=(mix.load_1, mix.load_2), pushes=mix.pushes, force=mix.force)
        for mix in mixes(pair, SHARES, friction=True)
    }


def _cells(columns, name, between, digits):
    """A cell a column: the numbers of its balls, or bars."""
    return tuple(
        between.join(true_minus(f"{number + 0.0:.{digits}f}") for number in getattr(column, name))  # never −0
        for column in columns.values()
    )


def _sums(columns):
    """The forces at the tab, each also as so many times the last."""
    *others, last = (column.force for column in columns.values())
    said = (f"{force:.2f} ({force / last:.3f})" for force in others)
    return tuple(map(true_minus, (*said, f"{last:.2f} (1)")))


def _moments(knife):
    """B5 with the numbers of each bar."""
    return Markup("").join(Markup(line.math()) for line in shut_moments(knife))


def _loads(knife):
    """What a share of the moment comes to as a load (C1a); of one ball a bar all of it."""
    if not has_second_ball(knife):
        return Markup(mathml.lines(mathml.letter("N"), ["<mfrac><mi>M</mi><mi>L</mi></mfrac>"]))
    split = formulas["C1a"]
    parts = [
        Markup(mathml.lines(mathml.letter(split.letter(name)), [mathml.formula(split.expression[name])]))
        for name in ("load_1", "load_2")
    ]
    return Markup(" ").join(parts)


def _pushes(knife):
    """In words: load times push per newton of the rim, times track radius over tab arm; with the numbers in it."""
    at = held(knife)
    parts = zip(knife.balls, at.contact_deg, at.ratios, strict=True)
    rims = (
        f"m{_below(i)} = {ratio:.4f} (contact angle {angle:.1f}°), ρ{_below(i)} = {ball.track_radius:g} mm"
        for i, (ball, angle, ratio) in enumerate(parts, 1)
    )
    friction = f"friction {knife.friction.rim:g}"
    return (
        f"N·m·ρ/A, A = {knife.blade.tab_arm:g} mm; m, push per newton, with {friction}: {true_minus('; '.join(rims))}"
    )


def _below(number):
    """A number below the line.

    >>> _below(12)
    '₁₂'
    """
    return str(number).translate(str.maketrans("0123456789", "₀₁₂₃₄₅₆₇₈₉"))


def _notes(pair):
    """Which column is the knife itself, and where it is hardest to open if not at once."""
    at, felt = held(pair), feel(pair)
    stands = [i for i, load in enumerate(at.loads, 1) if load > 0]
    if len(stands) == 1:
        yield (
            f"A stiff bar stands on one ball: this knife, shut, on ball {stands[0]}. The other columns are what anybody"
            " may suppose of it. Whatever the split, the sum lies between its ends, as there is one moment to share."
        )
    if felt.break_force < at.force * (1 - _SAME) and len(stands) > 1:
        where, force = both(felt.peak_deg, "deg"), both(felt.break_force, "N")
        yield f"Here both stand on their rims, but they never push their hardest at once: at most {force}, at {where}."
    elif felt.break_force < at.force * (1 - _SAME):
        where, force = both(felt.take_up_deg, "deg"), both(felt.break_force, "N")
        yield f"Before that rim slips the other ball comes to carry, at {where}: {force} is the most that it takes."
    if felt.break_force > at.force * (1 + _SAME):
        where, force = both(felt.peak_deg, "deg"), both(felt.break_force, "N")
        yield f"It is hardest to open a little later, at {where}: {force}. There too one bar has one moment."
