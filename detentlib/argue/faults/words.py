"""From an owner's words to the complaints that are meant, or to questions that settle which; the words: words.toml."""

import difflib
import re
import tomllib
from functools import cache
from itertools import pairwise
from pathlib import Path
from typing import NamedTuple

_BREAK = "|"  # between two stretches of a sentence
_BREAKS = frozenset({"and", "but", "also", "plus", "though", "although", "while", "whereas", "except"})
_SHORT = {"won't": "will not", "can't": "can not", "wont": "will not", "cant": "can not", "no longer": "longer not"}
_NOT, _GAP, _DENIES = "not", 2, 2
_ENDINGS = ("ing", "ed", "es", "er", "s", "e")
_LEAST = 4  # letters of a word that may have an ending
_SLIP, _LONG = 0.85, 5  # a slip of the pen is forgiven in a word of so many letters


class Asking(NamedTuple):
    """A question to the owner: its text, and the words of each answer by the complaint that it leads to."""

    text: str
    answers: dict[str, str]


class Understood(NamedTuple):
    """What was understood.

    complaints: in the order in which they were said; empty where no words fit clearly. why: then, what is not clear.
    questions: then, what to ask back.
    """

    complaints: tuple[str, ...]
    why: str = ""
    questions: tuple[Asking, ...] = ()


class _Match(NamedTuple):
    """Words of a complaint found in a sentence: the complaint, the places of its words."""

    complaint: str
    places: tuple[int, ...]


def understood(said: str) -> Understood:
    """The complaints that somebody's words mean, or the questions to ask back.

    The longest words that fit count, so "hard to unlock" is not "hard to open". What is denied ("not gritty") is no
    complaint. Where words fit two complaints equally well, or two that are opposites, or none, it asks back.

    >>> understood("It won't flick, and it feels gritty.").complaints
    ('will not flick', 'gritty')
    >>> found = understood("it feels loose")
    >>> found.complaints, found.questions[0].text
    ((), 'Opening it, what does the hand feel?')
    """
    heard = _heard(said)
    chosen, torn = _chosen(_matches(heard), heard)
    in_order = sorted(chosen, key=lambda match: match.places)
    complaints = tuple(dict.fromkeys(match.complaint for match in in_order if match.complaint))
    clash = next(((one, other) for one in complaints for other in complaints if other in opposites(one)), None) or torn
    if clash:
        return Understood((), f"That can mean “{clash[0]}” or “{clash[1]}”", _questions(heard))
    if not complaints:
        why = "That fits no complaint clearly" if any(heard) else "No complaint was given"
        return Understood((), why, _questions(heard))
    return Understood(complaints)


def opposites(complaint: str) -> tuple[str, ...]:
    """The complaints that nobody can have of the same motion as this one.

    >>> opposites("weak"), opposites("gritty")
    (('too stiff',), ())
    """
    return tuple(table()["complaint"][complaint].get("opposite", ()))


@cache
def table() -> dict:
    """The words of the complaints, as they stand in the file."""
    return tomllib.loads(Path(__file__).with_suffix(".toml").read_text(encoding="utf-8"))


@cache
def _heads() -> dict[str, str]:
    """{word, and its stem: stem of the one that stands for all that say the same}; the first that is listed counts."""
    alike = [(word, _stem(head)) for head, others in table()["alike"].items() for word in (head, *others)]
    return {_stem(word): head for word, head in reversed(alike)} | dict(alike)


@cache
def _phrases() -> dict[tuple[str, ...], str]:
    """{words of a complaint: the complaint, "" for what is none}; ValueError where the same words would mean two."""
    every = dict.fromkeys((_plain(words) for words in table()["unclear"]["words"]), "")
    for complaint, about in table()["complaint"].items():
        for words in (complaint, *about["words"]):
            if every.setdefault(_plain(words), complaint) != complaint:
                raise ValueError(f"{words!r} would mean both {every[_plain(words)]!r} and {complaint!r}")
    return every


@cache
def _known() -> frozenset[str]:
    return frozenset(word for words in _phrases() for word in words)


def _plain(text: str) -> tuple[str, ...]:
    """The words that matter, short forms written out, each as the one that stands for all that say the same."""
    text = text.casefold().replace("’", "'")
    for short, long in _SHORT.items():
        text = re.sub(rf"\b{short}\b", long, text)
    text = re.sub(r"n't\b|(?<=does|isnt|didn)nt\b", " not", text)
    words = []
    for word in re.findall(r"[a-z]+|[^\w\s'-]", text):
        new = _BREAK if word in _BREAKS or not word.isalpha() else _head(word)
        if word not in table()["passed_over"] and not (words and new == words[-1] and new in (_BREAK, _NOT)):
            words.append(new)
    return tuple(words[words[:1] == [_BREAK] : len(words) - (words[-1:] == [_BREAK])])


def _head(word: str) -> str:
    heads, stem = _heads(), _stem(word)
    return heads.get(word) or heads.get(stem, stem)


def _stem(word: str) -> str:
    """A word without its ending and without a doubled last letter, so that "flips", "flipped" and "flip" are one."""
    ending = next((each for each in _ENDINGS if word.endswith(each) and len(word) - len(each) >= _LEAST - 1), "")
    word = word.removesuffix(ending)
    return word[:-1] if word[-2:-1] == word[-1:] and len(word) >= _LEAST else word


def _heard(said: str) -> tuple[str, ...]:
    """The words of a sentence, those with a slip of the pen as they were meant."""
    return tuple(_meant(word) for word in _plain(str(said)))


def _meant(word: str) -> str:
    if word in _known() or len(word) < _LONG:
        return word
    near = difflib.get_close_matches(word, [each for each in _known() if each[0] == word[0]], 1, _SLIP)
    return near[0] if near else word


def _matches(heard: tuple[str, ...]) -> list[_Match]:
    starts = [
        (complaint, words, i)
        for words, complaint in _phrases().items()
        for i, word in enumerate(heard)
        if word == words[0]
    ]
    found = [_Match(complaint, _places(heard, words, i)) for complaint, words, i in starts]
    return [match for match in found if match.places]


def _places(heard: tuple[str, ...], words: tuple[str, ...], start: int) -> tuple[int, ...]:
    """Where the words of a complaint stand, in order and near each other, from a place on; empty where they do not."""
    places = [start]
    for before, word in pairwise(words):
        between = heard[places[-1] + 1 : places[-1] + 2 + _GAP]
        if word not in between:
            return ()
        skipped = between[: between.index(word)]
        if _BREAK in skipped or _NOT in skipped or (before == _NOT and _known().intersection(skipped)):
            return ()
        places.append(places[-1] + 1 + len(skipped))
    return tuple(places)


def _chosen(matches: list[_Match], heard: tuple[str, ...]) -> tuple[list[_Match], tuple[str, str] | None]:
    """The matches that count, longest first, none denied; and two complaints that the same words fit equally well."""
    taken, chosen, torn = [], [], None
    for match in sorted(matches, key=lambda each: (-len(each.places), each.places[-1] - each.places[0])):
        over = [other for other in taken if set(other.places) & set(match.places)]
        denied = _denied(match, chosen, heard)
        if not over:
            taken.append(match)
            chosen += [] if denied else [match]
        elif (
            len(over[0].places) == len(match.places)
            and match.complaint != over[0].complaint
            and over[0] in chosen
            and not denied
        ):
            torn = torn or (over[0].complaint, match.complaint)
    return chosen, torn


def _denied(match: _Match, chosen: list[_Match], heard: tuple[str, ...]) -> bool:
    """Whether a "not" stands before the words of a match, in the same stretch, that belongs to nothing else."""
    taken = {place for each in (*chosen, match) for place in each.places}
    before = range(max(match.places[0] - _DENIES, 0), match.places[0])
    stretch = [i for i in before if _BREAK not in heard[i : match.places[0]]]
    return any(heard[i] == _NOT and i not in taken for i in stretch)


def _questions(heard: tuple[str, ...]) -> tuple[Asking, ...]:
    """What to ask back: the questions that the words touch, all of them where they touch none."""
    every = table()["question"]
    touched = [each for each in every if set(heard) & {head for word in each["about"] for head in _plain(word)}]
    return tuple(Asking(each["text"], each["answers"]) for each in touched or every)
