"""The customer's letter: one printed page on one knife, or on before and after, in words for who is no engineer."""

from collections.abc import Iterator
from pathlib import Path

from matplotlib.figure import Figure

from ..argue.faults.usual import USUAL
from ..doubt.budget import gives
from ..doubt.cloud import Cloud, cloud
from ..doubt.draws import Interval
from ..draw.drawing import PLATE
from ..draw.plan import svg_figure
from ..draw.section import Section
from ..draw.story import Story
from ..knife.parts import Ball, Knife, name_of, spec
from ..knife.paths import BARS
from ..knife.units import with_unit
from ..mechanics.feel import feel
from ..say.cautions import CAUTIONS
from ..say.headline import carriers, carriers_said, usual_force
from ..say.measure import MM, exactly
from ..tune.compare import Comparison, Row, compare
from .paper import fill, picture, save

_CAUTIONS = ("edge", "shake", "lock", "pin", "dry", "estimate", "law")
_OPENS, _RETURNS = "gauge_break_force", "gauge_letback_force"
_FELT = {_OPENS: "Push at the tab that opens it", _RETURNS: "Push at the tab against which it still falls shut"}
_WIDE, _HIGH, _HIGHER = 7.1, 1.65, 2.4  # inches; the higher where one knife leaves room
_WIDEST = 0.4  # of the picture, for one ball
_MOST = 6  # changes on the page
_SPAN = 5.0  # deg; only the shut knife is drawn
_SURELY = 0.95
_ONE_SPRING = "Balls on one lock bar share one spring: what one of them takes, the other is spared."


def letter(knife: Knife, path: str | Path, after: Knife | None = None, replace: bool = False) -> None:
    """Write the customer's page on a Knife as a self-contained HTML file: one sheet of paper, A4 or Letter.

    It shows every ball in its recess to scale and says what a finger has to push at the tab, with its ± in N and lbf,
    and what that means for the hand; with room for name, date and signature, and the cautions. after: the same knife
    after the work, so that both are shown side by side, with what was done and whether the difference can be told from
    the ±. The forces are those that a pull gauge reads on the whole knife. replace: True writes it over a file that is
    there.

    Raises KnifeError for a knife that cannot work, and like `write_file`.
    """
    save(path, lambda: letter_page(knife, after), replace)


def letter_page(knife: Knife, after: Knife | None = None) -> str:
    """The letter as text; see `letter`."""
    knives = (knife,) if after is None else (knife, after)
    stages, last = _stages(knives), knives[-1]
    drawn = [cloud(each) for each in knives]
    told = None if after is None else compare(knife, after, list(_FELT))
    changes = [] if after is None else list(changed(knife, after))
    return fill(
        "letter.html",
        title=f"About your knife: {last.title}",
        knife=last,
        picture=picture(*balls_drawn(*knives)),
        carries=_carries(stages, knives, drawn),
        heads=("", *_heads(stages, knives), *(["change"] if told else [])),
        rows=list(_rows(drawn, told)),
        means=_means(drawn[-1], told),
        changes=changes[:_MOST],
        more=max(len(changes) - _MOST, 0),
        compared=told is not None,
        look=feel(last).flags,
        assumed=len(last.assumed),
        cautions=[CAUTIONS[name] for name in _CAUTIONS],
    )


def _stages(knives):
    return ("as it is",) if len(knives) == 1 else ("before", "after")


def _heads(stages, knives):
    """What stands over the numbers of each knife: with its name where the two cards do not bear the same."""
    if len({knife.title for knife in knives}) == 1:
        return stages
    return [f"{stage}: {knife.title}" for stage, knife in zip(stages, knives, strict=True)]


def balls_drawn(*knives: Knife, high: float | None = None) -> tuple[Figure, str]:
    """(Figure, what it shows): every ball of a knife, or of two side by side, in its recess, shut and to scale.

    high: of the picture [in]; as it suits the letter where it is not given.
    """
    staged = dict(zip(_stages(knives), knives, strict=True))
    parts = [(stage, knife, i) for stage, knife in staged.items() for i in range(len(knife.balls))]
    stories = {stage: Story(knife, _SPAN, feel(knife).rest_deg) for stage, knife in staged.items()}
    radius = max(ball.radius for knife in knives for ball in knife.balls)
    figure, told = svg_figure(_WIDE, high or (_HIGH if len(knives) > 1 else _HIGHER)), []
    wide = min(1 / len(parts), _WIDEST)
    for place, (stage, knife, i) in enumerate(parts):
        named = f"ball {i + 1}" if len(knife.balls) > 1 else "the ball"
        title = named if len(knives) == 1 else f"{stage}: {named}"
        ax = figure.add_axes((wide * place, 0.11, wide - 0.01, 0.88))
        section = Section(ax, radius, stories[stage].newton(radius), "", title)
        section.draw(stories[stage].seat(i), "opening", MM)
        section.bare()
        section.names[0].set_bbox(PLATE)  # a narrow picture has the rim of its recess there
        if place == 0:
            section.length_bar(MM)
        told.append(f"{title}, {_sizes(knife.balls[i])}")
    said = f"Cut through the shut knife, to scale: {'; '.join(told)}."
    return figure, f"{said} Above the root of the blade with its recess, below the lock bar with its ball."


def _sizes(ball: Ball) -> str:
    return f"{exactly(ball.diameter, 'mm')}, in a recess of {exactly(2 * ball.recess.rim_radius, 'mm')}"


def _carries(stages, knives, drawn):
    """Which ball holds the shut knife, a sentence for each knife with two on a bar, why they do not add up, and what
    became of a ball that only one of them has.
    """
    said = []
    for stage, each in zip(stages, drawn, strict=True):
        shares = carriers(each)
        lead = "Shut" if len(drawn) == 1 else f"{stage.capitalize()}, shut"
        sure = [i for i, share in enumerate(shares, 1) if share >= _SURELY]
        if len(sure) == 1:
            said.append(f"{lead}: ball {sure[0]} takes the load.")
        elif shares:
            said.append(f"{lead}: which ball takes the load cannot be told ({carriers_said(each)}).")
    said += [_ONE_SPRING] if said else []
    return [*said, *(_came_or_went(*knives) if len(knives) > 1 else [])]


def _came_or_went(before: Knife, after: Knife) -> Iterator[str]:
    """What became of a ball that only one of the two has, a sentence each."""
    for i in range(len(after.balls), len(before.balls)):
        yield f"Ball {i + 1} was taken out: after, there is none."
    for i in range(len(before.balls), len(after.balls)):
        yield f"Ball {i + 1} was put in: before, there was none."


def _rows(drawn: list[Cloud], told: Comparison | None) -> Iterator[tuple]:
    """(what, its number of each knife, the change) of what a finger feels."""
    for result, words in _FELT.items():
        forces = [_force(each, result) for each in drawn]
        if any(forces):
            change = _change_said(told[result]) if told and all(forces) else ""
            said = (each.said("N") if each else "does not draw itself shut" for each in forces)
            yield (words, *said, *([change] if told else []))


def _force(drawn: Cloud, result: str) -> Interval | None:
    """A force of the drawn knife; None where there is none, as for a blade that no push is needed to hold open."""
    found = drawn.interval(drawn.column(result)) if gives(drawn, result) else None
    return found if found and found.value > 0 else None


def _means(drawn: Cloud, told: Comparison | None) -> list[str]:
    """What the numbers mean for the hand, a sentence each."""
    opens = drawn.interval(drawn.column(_OPENS))
    return [*([_change(told[_OPENS])] if told else []), _usual(opens), _falls_shut(drawn)]


def _change(row: Row) -> str:
    """Whether it opens harder or easier than before, by how much, and whether that can be told."""
    change = _change_said(row)
    if not row.apart:
        said = "These numbers cannot tell whether it opens harder or easier than before"
        return f"{said}: the change, {change}, may be none."
    more = row.difference.value > 0
    hand = "harder to open, and held shut more firmly" if more else "easier to open, and held shut less firmly"
    much = row.difference if more else _turned(row.difference)
    share = f"{100 * much.value / row.one.value:.0f} % {'more' if more else 'less'}"
    return (
        f"It is {hand}, by {much.said(row.unit)}, {share} than before. The change is larger than its ±, so it is there."
    )


def _turned(change: Interval) -> Interval:
    """By how much less, where a change is below zero."""
    return Interval(-change.value, -change.high, -change.low, change.lost)


def _change_said(row: Row) -> str:
    return f"{'+' if row.difference.value > 0 else ''}{row.difference.said(row.unit)}"


def _usual(opens: Interval) -> str:
    """Whether so much is usual."""
    low, high = USUAL["break_force"]
    usual = f"{usual_force()}; common practice, low confidence"
    if opens.high < low:
        return f"That is less than usual ({usual}): a shake may open it."
    if opens.low > high:
        return f"That is more than usual ({usual}): it may be hard on the finger."
    if low <= opens.low and opens.high <= high:
        return f"What it takes to open it is of the usual size ({usual})."
    return f"What it takes to open it may be usual or not, as its ± reaches past an end of what is usual ({usual})."


def _falls_shut(drawn: Cloud) -> str:
    """Whether it draws itself shut."""
    back = drawn.interval(drawn.column(_RETURNS)) if gives(drawn, _RETURNS) else None
    if back is None or back.high <= 0:
        return "Let go just off shut, it does not draw itself shut: push it home."
    if back.low > 0:
        return "Let go just off shut, it draws itself shut."
    return "Let go just off shut, it may stay there: these numbers cannot tell whether it draws itself shut."


def changed(before: Knife, after: Knife) -> Iterator[tuple]:
    """(what, from, to) of every difference of two knives, in words and in the units that their reader wrote."""
    counts = [len(knife.balls) for knife in (before, after)]
    for i in range(min(counts), max(counts)):
        one, other = (_sizes(knife.balls[i]) if i < len(knife.balls) else "" for knife in (before, after))
        yield f"ball {i + 1}", one or "none", other or "taken out"
    for name, words in zip(BARS, ("lock bar", "second leaf"), strict=True):
        leaves = [getattr(knife, name) for knife in (before, after)]
        if (leaves[0] is None) != (leaves[1] is None):
            yield words, *("none" if leaf is None else "fitted" for leaf in leaves)
        elif leaves[0] is not None and leaves[0].material != leaves[1].material:
            yield f"material of the {words}", *(leaf.material or "not given" for leaf in leaves)
    known = set(before.paths())
    for path in after.paths():
        if path in known and before.get(path) != after.get(path):
            yield name_of(path, before, after), _written(before, path), _written(after, path)


def _written(knife: Knife, path: str) -> str:
    """A number as its reader wrote it, with its unit; else in mm and inches."""
    if path in knife.said:
        return with_unit(knife.said[path].text, spec(path)["unit"])
    value = knife.get(path)
    return "not given" if value is None else exactly(value, spec(path)["unit"])
