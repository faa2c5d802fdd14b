"""The hand-out: one knife on paper, with the arithmetic left in; a version with blanks and one with the answers."""

import re
from dataclasses import fields

from ..doubt.budget import budgets, gives
from ..doubt.cloud import cloud
from ..files.knife_file import knife_text
from ..knife.parts import Ball, Blade, Friction, LockBar, Recess, assumed_words, name_of, spec
from ..knife.units import both
from ..mechanics.feel import feel
from ..say.cautions import CAUTIONS
from ..say.measure import exactly
from ..say.working import headline
from .arithmetic import Line
from .by_hand import worked_example
from .handout_pictures import curves, sections
from .paper import Marked, bullets, page, picture, save, table, text

_BLANK = Marked('<span class="blank">&nbsp;</span>')
_BUDGETED = (
    ("break_force", "Break force at the tab"),
    ("letback_force", "Let-back force at the tab"),
    ("barrier", "Barrier"),
    ("break_out_deg", "Break-out angle"),
)
_SHARES = 4
_GROUPS = (("bar.", "Lock bar"), ("second_bar.", "Second leaf"), ("blade.", "Blade"), ("friction.", "Friction"))
_STYLE = """
.work { display: grid; grid-template-columns: 56mm 1fr; column-gap: 4mm; padding: 0.8mm 0; border-bottom: 0.2mm solid #bbb; break-inside: avoid; }
.card table, .first table { table-layout: fixed; }
.card th:nth-child(1) { width: 43%; }
.card th:nth-child(2) { width: 44%; }
.first th:nth-child(2), .first th:nth-child(3) { width: 34%; }
.lead { font-weight: bold; font-size: 9.5pt; margin-top: 2mm; }
.lead, .next { break-after: avoid; }
.work + .next { break-before: avoid; }
.write mtr + mtr mtd { padding-top: 4.5mm; }
@media screen and (max-width: 600px) { .work { display: block; overflow-x: auto; } }
.knife { columns: 2; column-rule: 0.2mm solid #777; break-inside: avoid; }
"""


def handout(knife, path, answers=True, replace=False):
    """Write the hand-out of one Knife as a self-contained HTML file that prints on A4 and Letter.

    It holds the numbers to read first with their ±, the job card, a section drawing with a scale bar, the curves, the
    worked example (each formula, the same with the numbers in, the result), where the ± comes from, what was assumed
    and left out, the knife file with the lines that reproduce the numbers, and the cautions. answers: False leaves
    room to write in place of every result, from the same source. The bar is taken as rigid, as in dl.feel. replace:
    True writes it over a file that is there.

    Raises KnifeError for a knife that cannot work, and like `write_file`.
    """
    save(path, handout_page(knife, answers), replace)


def handout_page(knife, answers=True):
    """The hand-out as text; see `handout`."""
    felt, drawn = feel(knife), cloud(knife)
    found = budgets(knife, [name for name, _ in _BUDGETED if gives(drawn, name)], drawn) if answers else {}
    told = headline(knife, drawn=[drawn])
    notes = dict(told.notes)
    parts = [
        f"<h1>{text(knife.title)}: the detent, worked by hand</h1>",
        f"<p>{'With the answers.' if answers else 'To fill in. Name: '}{'' if answers else _BLANK + ' Date: ' + _BLANK}</p>",
        _numbers(told, answers),
        _look(notes, answers),
        f"<h2>Before you touch the knife</h2>{bullets(CAUTIONS.values())}",
        _job_card(knife),
        _drawn(knife, answers),
        _worked(knife, answers),
        _doubt(knife, found) if answers else "",
        _aside(knife, felt, notes, answers),
        _again(knife),
    ]
    return page(f"{knife.title}: hand-out", "\n".join(parts), _STYLE)


def _numbers(told, answers):
    head, *rows = told.table
    if not answers:
        rows = [(name, _BLANK, _BLANK) for name, *_ in rows]
    meant = "<p class='small'>± means 95 %: the true value lies within it 19 times in 20.</p>"
    return f"<h2>The numbers to read first</h2><div class='first'>{table(head, rows)}</div>{meant}"


def _look(notes, answers):
    shown = ["Look at this", *(["Which ball carries"] if answers else [])]
    return "".join(f"<h2>{heading}</h2>{bullets(notes[heading])}" for heading in shown if heading in notes)


def _job_card(knife):
    """Every number of the knife by its part, with its ± and whether anybody measured it."""
    said, plain = [], _defaults(knife)
    groups = [(f"balls[{i}].", f"Ball {i + 1} and its recess" if len(knife.balls) > 1 else "Ball and recess") for i in range(len(knife.balls))]
    for start, heading in (*groups, *_GROUPS):
        rows = [_card_row(knife, path) for path in knife.paths() if path.startswith(start) and path not in plain]
        leaf = {"bar.": knife.bar, "second_bar.": knife.second_bar}.get(start)
        if leaf is not None and leaf.material:
            rows.append(("material", leaf.material, ""))
        if rows:
            rest = [f"{spec(path)['meaning']} {exactly(knife.get(path), spec(path)['unit'])}" for path in plain if path.startswith(start)]
            also = f"<p class='small'>Not on the card, so: {text('; '.join(rest))}.</p>" if rest else ""
            said.append(f"<h3>{heading}</h3>{table(('what', 'value', ''), rows)}{also}")
    return f"<h2>Job card</h2><div class='card'>{''.join(said)}</div>"


def _defaults(knife):
    """Paths of numbers that stand at what they are when nobody gives them, with no ± and not assumed."""
    owners = {"balls": Ball, "bar": LockBar, "second_bar": LockBar, "blade": Blade, "friction": Friction}
    found = []
    for path in knife.paths():
        owner = Recess if ".recess." in path else owners[re.match(r"\w+", path)[0]]
        usual = {each.name: each.default for each in fields(owner)}[path.rpartition(".")[2]]
        if knife.get(path) == usual and path not in knife.assumed and not knife.doubts.get(path):
            found.append(path)
    return found


def _card_row(knife, path):
    value, unit, doubt = knife.get(path), spec(path)["unit"], knife.doubts.get(path)
    unsaid = "assumed" if path in knife.assumed else "" if doubt else "no ± given"
    measured = knife.said[path].word if path in knife.said else unsaid
    return spec(path)["meaning"], (both(value, unit, doubt) if doubt else exactly(value, unit)), measured


def _drawn(knife, answers):
    """Section and curves; in the version to fill in without what would give the answers away."""
    section, told = sections(knife, answers)
    drawn, shown = curves(knife, answers)
    return (
        f"<h2>The section at rest, to scale</h2><figure>{picture(section, told)}<figcaption>{text(told)}</figcaption></figure>"
        f"<h2>As the blade opens</h2><figure>{picture(drawn, shown)}<figcaption>{text(shown)}</figcaption></figure>"
    )


def _worked(knife, answers):
    """The arithmetic, line by line."""
    said = []
    for part in worked_example(knife):
        lines = "".join(_line(each, answers) if isinstance(each, Line) else _sentence(each.text(answers)) for each in part.lines)
        said.append(f"<h3>{text(part.heading.text(answers))}</h3>{lines}")
    how = "Each line: the formula with its ID, the same with the numbers in, the result. Contact and blade angles are in degrees, bar angles in radians."
    room = "" if answers else " Write the numbers into the middle line, the result into the last, and carry it on."
    return f"<h2>The worked example</h2><p class='next'>{how}{room} Frames, signs and letters: figures/signs.svg of the workbook.</p>{''.join(said)}"


def _sentence(said):
    return f"<p class='{'lead' if said.endswith(':') else 'next'}'>{text(said)}</p>"


def _line(line, answers):
    id = f" <b>{line.id}</b>" if line.id else ""
    return f"<div class='work{'' if answers else ' write'}'><div>{text(line.said)}{id}</div><div>{line.math(answers)}</div></div>"


def _doubt(knife, found):
    """Where the ± of each result comes from."""
    said = []
    for result, name in _BUDGETED:
        each = found.get(result)
        if each is None or each.largest is None:
            continue
        shares = [(path, share) for path, share in each.shares.items() if share][:_SHARES]
        rows = [(name_of(path, knife), _alone(share, each.unit), _part(each.part(path))) for path, share in shares]
        said.append(
            f"<div class='keep'><h3>{name}: {text(each.interval.said(each.unit))}</h3>{table(('from the ± of', 'by itself', 'part of the whole'), rows)}</div>"
        )
    if not said:
        return ""
    return f"<h2>Where the ± comes from</h2><p>The first of each list is worth measuring better first.</p>{''.join(said)}"


def _alone(share, unit):
    """± that one input brings by itself, in two digits."""
    said = f"{abs(share):#.2g}".removesuffix(".")
    return f"±{said}{'°' if unit == 'deg' else ' ' + unit}"


def _part(share):
    return "less than 1 %" if share < 0.01 else f"{100 * share:.0f} %"


def _aside(knife, felt, notes, answers):
    """What was assumed, what the numbers leave out."""
    said = ""
    if felt.assumed:
        said += f"<h2>Assumed, as nobody measured it</h2>{bullets(assumed_words(knife))}"
    left_out = [*felt.left_out, *_rigid_or_not(knife, answers)]
    usual = next((sentences for heading, sentences in notes.items() if heading.startswith("Usual")), ())
    return said + f"<h2>Left out of these numbers</h2>{bullets(left_out)}<h2>Usual (common practice, low confidence)</h2>{bullets(usual)}"


def _rigid_or_not(knife, answers):
    """How much a bar that bends between two balls, and balls that squash, would change."""
    if len(knife.balls) == 1 and knife.balls[0].contact_modulus is None:
        return []
    said = "bend between the balls, and squash: the bar is taken as rigid here"
    if answers:
        soft = feel(knife, elastic=True)
        said += f"; with an elastic bar the break force is {both(soft.break_force, 'N')}, the barrier {soft.barrier:.2f} mJ"
    return [said]


def _again(knife):
    """The knife file and the command that give the same numbers."""
    file = f"{re.sub(r'[^a-z0-9]+', '-', str(knife.title).lower()).strip('-') or 'knife'}.toml"
    return (
        f"<h2>To do it again</h2><p>Save this as {text(file)}. In the terminal, <code>python -m detentlib report {text(file)}</code> "
        f"then prints the headline numbers, each with its ±.</p><pre class='knife'>{text(knife_text(knife))}</pre>"
    )
