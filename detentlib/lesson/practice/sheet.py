"""The teacher's sheet: questions with fresh numbers and their answers, seed by seed, to print."""

from collections.abc import Iterable
from pathlib import Path

from ...knife.given import given_list, given_switch
from ...knife.units import both
from ...pages import paper
from ..coach import in_words
from ..questions.asking import LetterQuestion, Question
from .exercise import whole
from .topics import TOPICS, Topic, drawn, topic_named


class AnswerSheet:
    """Questions and answers of one seed; shows as Markdown, `save(path)` writes a page to print."""

    def __init__(self, seed: int, topics: Iterable[Topic], answers: bool):
        """Use answer_sheet to make one."""
        self.answers, self.title = answers, f"Practice, seed {seed}{': answers' if answers else ''}"
        self.seed = seed
        self.parts = [(topic, drawn(topic, seed)) for topic in topics]

    def __repr__(self):
        paragraphs = [f"## {self.title}"]
        for topic, parts in self.parts:
            found = [f" **{_result(asked)}**" if self.answers else "" for asked in parts]
            rows = (
                f"{i}. {in_words(asked)}{said}" for i, (asked, said) in enumerate(zip(parts, found, strict=True), 1)
            )
            paragraphs += [f"### {topic.name}: {topic.can}", "\n".join(rows)]
        return "\n\n".join(paragraphs)

    def _repr_markdown_(self):
        return repr(self)

    def html(self) -> str:
        """The sheet as one page of HTML that asks for nothing outside."""
        body = [f"<h1>{paper.text(self.title)}</h1>"]
        for topic, parts in self.parts:
            rows = "".join(f"<li>{paper.text(in_words(asked, mark=''))}{self._steps(asked)}</li>" for asked in parts)
            about = f"To {topic.can}. {topic.sketch_first}"
            head = f"<h2>{paper.text(topic.name)}</h2><p>{paper.text(about)}</p>"
            body.append(f'<div class="keep">{head}<ol>{rows}</ol></div>')
        return paper.page(self.title, "\n".join(body))

    def save(self, path: str | Path, replace: bool = False) -> None:
        """Write the page to a file; KnifeError like `write_file`, also for one that is there, unless replace=True."""
        paper.save(path, self.html, replace)

    def _steps(self, asked: Question | LetterQuestion) -> str:
        """The way in words and numbers, for a page without typeset formulas; or room to write."""
        if not self.answers:
            return '<p style="height:14mm"></p>'
        result = f"<b>{paper.text(_result(asked))}</b>"
        if isinstance(asked, LetterQuestion):
            return f"<p>{result} {paper.text(asked.judge()[1])}</p>"
        lines = [f"{line.said} {both(line.value, line.unit)}" for line in asked.worked()]
        return f"<p>{result}</p>{paper.bullets(lines)}"


def answer_sheet(seed: int = 1, topics: str | Iterable[str] | None = None, answers: bool = True) -> AnswerSheet:
    """Every question that `practice` asks with this seed, and its answer: an AnswerSheet for the teacher.

    topics: names, all by default. answers: False for the sheet that the apprentice gets. Raises ValueError as
    `practice` does.

    >>> answer_sheet(3, ["sharing"], answers=False).html().count("<li>")
    2
    """
    names = list(TOPICS) if topics is None else [topics] if isinstance(topics, str) else topics
    given_switch("answers", answers, "whether the answers stand in it")
    given_list("topics", names, str, "are no names of topics", "", f"Take some of {', '.join(TOPICS)}.")
    return AnswerSheet(whole(seed), [topic_named(name) for name in names], answers)


def _result(asked: Question | LetterQuestion) -> str:
    return f"({asked.judge()[0]})" if isinstance(asked, LetterQuestion) else both(asked.answer, asked.unit)
