"""Handing a job on: every paper and page of one knife, written together under one name."""

from functools import partial
from pathlib import Path

from ..knife.parts import Knife, KnifeError
from .handout import handout
from .letter import letter
from .livesheet import live_sheet
from .template import template

_WRITTEN = (
    ("-to-fill-in.html", "the hand-out with room for the answers", partial(handout, answers=False)),
    ("-answers.html", "the hand-out with the answers", handout),
    ("-paper-model.pdf", "the paper model, to cut out and slide", template),
    ("-letter.html", "the customer's letter, one page", letter),
    ("-live-sheet.html", "the live sheet, with sliders, for any browser", live_sheet),
)


def hand_on(knife: Knife, save_as: str | Path | None = None, sheet=None) -> None:
    """Say which files a Knife would be handed on in, and with a name write them; files that are there are never
    replaced.

    save_as: how the names begin, with a folder if wanted; None only says what would be written. sheet: an AnswerSheet
    that goes along.

    >>> hand_on(None)
    Nothing written yet. With save_as = "name" these would be:
    - name-to-fill-in.html: the hand-out with room for the answers
    - name-answers.html: the hand-out with the answers
    - name-paper-model.pdf: the paper model, to cut out and slide
    - name-letter.html: the customer's letter, one page
    - name-live-sheet.html: the live sheet, with sliders, for any browser
    """
    written = (
        _WRITTEN
        if sheet is None
        else (*_WRITTEN, ("-sheet.html", "the teacher's sheet, with the answers", lambda _, path: sheet.save(path)))
    )
    if not save_as:
        print('Nothing written yet. With save_as = "name" these would be:')
        print(*(f"- name{ending}: {what}" for ending, what, _ in written), sep="\n")
        return
    paths = {Path(f"{save_as}{ending}"): (what, write) for ending, what, write in written}
    there = [path.name for path in paths if path.exists()]
    if there:
        print(
            f"Nothing written: {', '.join(there)} {'is' if len(there) == 1 else 'are'} there already. Take another"
            " name."
        )
        return
    for path, (what, write) in paths.items():
        try:
            write(knife, path)
            print(f"{path.name}: {what}")
        except KnifeError as error:
            print(f"{path.name} could not be written. {error}")
