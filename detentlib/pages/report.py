"""The report of one job: complaint, readings, numbers before and beside, and the sentences of whoever did it."""

from collections.abc import Sequence
from pathlib import Path

from ..knife.parts import Knife
from ..knife.units import both
from ..measure.readings import Readings
from ..mechanics.feel import feel
from ..say.cautions import CAUTIONS
from ..say.headline import WHAT_IS_USUAL, headline
from . import paper

_CAUTIONS = ("lock", "estimate", "law")


class Report:
    """A report that shows as Markdown; `save(path)` writes it as a page to print."""

    def __init__(self, knife, **told):
        """Use report to make one; told: the other texts of report.md."""
        self.knife, self._told = knife, told

    def __repr__(self):
        return self._filled(str)

    def _repr_markdown_(self):
        return self._filled()

    def _filled(self, escape=None, page=False):
        return paper.fill("report.md", escape, knife=self.knife, page=page, **self._told).strip()

    def html(self) -> str:
        """The report as one page of HTML that asks for nothing outside."""
        return paper.from_markdown(f"Report: {self.knife.title}", self._filled(page=True))

    @property
    def complaint(self) -> str:
        """What the owner says."""
        return self._told["complaint"]

    def saying(self, complaint: str, found: str, cause: str, advice: str) -> "Report":
        """The same with another complaint and other sentences."""
        told = {"complaint": complaint, "sentences": _sentences(found, cause, advice)}
        return Report(self.knife, **self._told | told)

    def save(self, path: str | Path, replace: bool = False) -> None:
        """Write the page; KnifeError like `write_file`, also for a file that is there, unless replace is True."""
        paper.save(path, self.html, replace)


def report(knife: Knife, complaint: str = "", readings: Sequence[Readings] = (), beside: Knife | None = None) -> Report:
    """A Report on a Knife, as the readings gave it: a page with the numbers and your own sentences.

    readings: the Readings behind it. beside: a Knife to compare with, as drawn or as it was. Your sentences go in with
    `Report.saying`; what is empty is shown as blank. Raises KnifeError for a knife that cannot work.
    """
    titles = (knife.title, *([f"beside: {beside.title}"] if beside else []))
    told = headline(knife, *([beside] if beside else []), titles=titles)
    heads, *rows = told.table
    return Report(
        knife,
        complaint=complaint,
        read="; ".join(f"{each.source}: {each.kind}, {len(each)} rows" for each in readings),
        heads=heads,
        rows=rows,
        handovers="; ".join(_handover(hand) for hand in feel(knife).handovers),
        sentences=_sentences("", "", ""),
        notes=[
            *((heading, each) for heading, each in told.notes if heading != WHAT_IS_USUAL),
            ("Mind", [CAUTIONS[name] for name in _CAUTIONS]),
        ],
    )


def _sentences(found, cause, advice):
    return {"Found": found, "Because": cause, "Advice": advice}


def _handover(hand):
    """A handover in words."""
    return (
        f"ball {hand.from_ball + 1} hands over to ball {hand.to_ball + 1} at {both(hand.angle_deg, 'deg')}, "
        f"from {hand.torque_before:.0f} to {hand.torque_after:.0f} N·mm"
    )
