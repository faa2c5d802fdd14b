"""The report of one job: complaint, readings, numbers before and beside, and the sentences of whoever did it."""

from pathlib import Path

from ...mechanics.feel import feel
from ...plain import in_markdown
from ...units import both
from ..cautions import CAUTIONS
from ..working import headline
from . import paper

_BLANK = "(blank so far)"


class Report:
    """A report that shows as Markdown; `save(path)` writes it as a page to print."""

    def __init__(self, knife, complaint, readings, beside, sentences):
        """Use report to make one."""
        self.knife, self.complaint, self.sentences = knife, complaint, sentences
        titles = (knife.title, *([f"beside: {beside.title}"] if beside else []))
        self.headline = headline(knife, *([beside] if beside else []), titles=titles)
        self.sources = [f"{each.source}: {each.kind}, {len(each)} rows" for each in readings]
        self.handovers = [
            f"ball {over.from_ball + 1} hands over to ball {over.to_ball + 1} at {both(over.angle_deg, 'deg')}, "
            f"from {over.torque_before:.0f} to {over.torque_after:.0f} N·mm"
            for over in feel(knife).handovers
        ]

    def __repr__(self):
        return self._markdown(str)

    def _repr_markdown_(self):
        return self._markdown(in_markdown)

    def _markdown(self, safe):
        """The report as Markdown; safe: what to do to a text that stands in it."""
        heads, *rows = self.headline.table
        table = [_row(map(safe, heads)), _row(["---"] * len(heads)), *(_row(map(safe, row)) for row in rows)]
        said = [f"**{heading}.** {safe(words)}" for heading, words in self._words()]
        notes = ["\n".join([f"**{heading}**\n", *(f"- {safe(words)}" for words in each)]) for heading, each in self._notes()]
        return "\n\n".join([f"### Report: {safe(self.knife.title)}", *said[:2], "\n".join(table), *said[2:], *notes])

    def html(self):
        """The report as one page of HTML that asks for nothing outside."""
        heads, *rows = self.headline.table
        said = [f"<p><b>{paper.text(heading)}.</b> {paper.text(words)}</p>" for heading, words in self._words()]
        notes = [f"<p><b>{paper.text(heading)}</b></p>{paper.bullets(each)}" for heading, each in self._notes()]
        body = [f"<h1>Report: {paper.text(self.knife.title)}</h1>", *said[:2], paper.table(heads, rows), *said[2:], *notes]
        return paper.page(f"Report: {self.knife.title}", "\n".join(body))

    def save(self, path, replace=False):
        """Write the page; None says what would be written. KnifeError like `write_file`, also for a file that is there, unless replace is True."""
        if path is None:
            print('No page written yet. Give a name, such as "report.html".')
            return
        paper.save(path, self.html(), replace)
        print(f"{Path(path).name} written.")

    def _words(self):
        read = "; ".join(self.sources) or "nothing"
        handed = "; ".join(self.handovers) or "none"
        return [
            ("Complaint", self.complaint or _BLANK),
            ("Read", read),
            ("Handover", handed),
            *((name, said or _BLANK) for name, said in self.sentences.items()),
        ]

    def _notes(self):
        told = [(heading, each) for heading, each in self.headline.notes if not heading.startswith("Usual")]
        return [*told, ("Mind", tuple(CAUTIONS[name] for name in ("lock", "estimate", "law")))]


def report(knife, complaint="", readings=(), beside=None, found="", cause="", advice=""):
    """A Report on a Knife, as the readings gave it: a page with the numbers and your own sentences.

    readings: the Readings behind it. beside: a Knife to compare with, as drawn or as it was. found, cause, advice: your
    sentences; what is empty is shown as blank. Raises KnifeError for a knife that cannot work.
    """
    return Report(knife, complaint, readings, beside, {"Found": found, "Because": cause, "Advice": advice})


def _row(cells):
    return f"| {' | '.join(cells)} |"
