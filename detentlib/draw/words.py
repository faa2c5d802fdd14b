"""What a panel says: one number as it is now, as it was before and what changed, a sentence, and the rest."""

from typing import NamedTuple

from ..knife.plain import in_html, true_minus
from ..say.measure import Measure
from .card import ANSWER, status

_HEADS = ("now", "before", "change")
_LEAST = 1e-9  # of a number, below which a share of it says nothing


class Number(NamedTuple):
    """The number that a panel is about.

    name: with where it holds. value: in the library's `unit`. heads: names of this value, of the one it is held
    against and of the difference. against: that other value where the picture has one, else the value before.
    """

    name: str
    value: float
    unit: str
    heads: tuple[str, str, str] = _HEADS
    against: float | None = None


class Words(NamedTuple):
    """What a picture says: its number, one sentence about now, the rest, and what there is to see, for who cannot."""

    number: Number
    sentence: str
    rest: str
    seen: str

    def answer(self, measure: Measure) -> str:
        """All that is said, in one paragraph."""
        name, value, unit, *_ = self.number
        return " ".join(filter(None, (f"{name} {measure.say(value, unit)}.", self.sentence, self.rest)))


def first_up(text: str) -> str:
    """The text as a sentence begins.

    >>> first_up("ball 1 of Pellowfen A")
    'Ball 1 of Pellowfen A'
    """
    return text[:1].upper() + text[1:]


def large(number: Number, before: float, sentence: str, measure: Measure, loud: bool = True) -> str:
    """HTML of a Number in large figures over the sentence; before: what it is held against. loud: read out."""
    value, unit = number.value, number.unit
    now, then = (_cell(*each, unit, measure) for each in zip(number.heads, (value, before), strict=False))
    cells = now + then + _changed(number.heads[2], value - before, before, unit, measure)
    return status(
        f'<div style="font-weight:600;font-size:13px">{in_html(number.name)}</div>'
        f'<div style="display:flex;gap:12px">{cells}</div><div>{in_html(sentence)}</div>',
        ANSWER,
        loud,
    )


def _cell(head, value, unit, measure):
    return _figure(head, measure.short(value, unit), measure.other(value, unit))


def _changed(head, change, before, unit, measure):
    size = measure.short(abs(change), unit)
    sign = "" if size == measure.short(0.0, unit) else "+" if change > 0 else "−"
    # a share of a push that has become a pull says nothing
    share = true_minus(f"{100 * change / before:+.1f} %") if sign and before > _LEAST and change >= -before else ""
    return _figure(head, sign + size, share)


def _figure(head, said, beside):
    return (
        f'<div style="flex:1 1 0"><span style="display:block;font-size:12px;line-height:1.2">{in_html(head)}</span> '
        f'<b style="font-size:clamp(15px,5cqw,21px);line-height:1.25;white-space:nowrap">{in_html(said)}</b> '
        f'<span style="font-size:12px;white-space:nowrap">{in_html(beside)}</span></div>'
    )
