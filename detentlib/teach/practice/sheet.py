"""The teacher's sheet: questions with fresh numbers and their answers, seed by seed, to print."""

from ...units import both
from ..questions.asking import Choice
from ..sheets import paper
from .draw import drawn
from .exercise import in_words, whole
from .topics import TOPICS, topic_named


class AnswerSheet:
    """Questions and answers of one seed; shows as Markdown, `save(path)` writes a page to print."""

    def __init__(self, seed, topics, answers):
        """Use answer_sheet to make one."""
        self.seed, self.answers = seed, answers
        self.parts = [(topic, drawn(topic, seed)) for topic in topics]

    def __repr__(self):
        lines = [f"## {self._title()}"]
        for topic, parts in self.parts:
            lines += [f"### {topic.name}: {topic.can}", "\n".join(f"{i}. {in_words(asked)}{self._answered(asked)}" for i, asked in enumerate(parts, 1))]
        return "\n\n".join(lines)

    def _repr_markdown_(self):
        return repr(self)

    def html(self):
        """The sheet as one page of HTML that asks for nothing outside."""
        body = [f"<h1>{paper.text(self._title())}</h1>"]
        for topic, parts in self.parts:
            rows = "".join(f"<li>{paper.text(in_words(asked).replace('*', ''))}{self._steps(asked)}</li>" for asked in parts)
            body.append(f'<div class="keep"><h2>{paper.text(topic.name)}</h2><p>{paper.text(topic.can)}</p><ol>{rows}</ol></div>')
        return paper.page(self._title(), "\n".join(body))

    def save(self, path, replace=False):
        """Write the page to a file; KnifeError like `write_file`, also for a file that is there, unless replace is True."""
        paper.save(path, self.html(), replace)

    def _title(self):
        return f"Practice, seed {self.seed}{': answers' if self.answers else ''}"

    def _answered(self, asked):
        return f" **{_result(asked)}**" if self.answers else ""

    def _steps(self, asked):
        """The way in words and numbers, for a page without typeset formulas; or room to write."""
        if not self.answers:
            return '<p style="height:14mm"></p>'
        if isinstance(asked, Choice):
            return f"<p><b>{paper.text(_result(asked))}</b> {paper.text(asked.judge()[1])}</p>"
        steps = [f"{line.said} {both(line.value, line.unit)}" for line in asked.worked()]
        return f"<p><b>{paper.text(_result(asked))}</b></p>{paper.bullets(steps)}"


def answer_sheet(seed=1, topics=None, answers=True):
    """Every question that `practice` asks with this seed, and its answer: an AnswerSheet for the teacher.

    topics: names, all by default. answers: False for the sheet that the apprentice gets. Raises ValueError as `practice` does.

    >>> answer_sheet(3, ["sharing"], answers=False).html().count("<li>")
    2
    """
    named = TOPICS.values() if topics is None else [topic_named(name) for name in ([topics] if isinstance(topics, str) else topics)]
    return AnswerSheet(whole(seed), list(named), answers)


def _result(asked):
    return f"({asked.judge()[0]})" if isinstance(asked, Choice) else both(asked.answer, asked.unit)
