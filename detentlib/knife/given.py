"""What a public function is given: a Knife, numbers, rows of numbers, words; each refused in words before anything is
computed with it.
"""

import contextlib
import difflib
import functools
import inspect
import os
from collections.abc import Callable, Iterable, Mapping, Sequence
from pathlib import Path
from types import ModuleType, SimpleNamespace, UnionType
from typing import TYPE_CHECKING, Any, get_args, get_origin

from .checks import no_size, number_problem, refuse
from .parts import Knife

if TYPE_CHECKING:
    import numpy as np

_LEAST, MOST = 1e-9, 1e9  # of any size at the bench, in any of its units
ROUND = 360.0  # deg
_MANY = 10_000_000  # rows or draws that a computer of the bench still holds


def given_knife(knife: object, name: str = "knife", many: bool = False) -> None:
    """Raise ValueError for anything but a Knife; many: many knives in one will do as well."""
    cure = "Give one, read from its knife file."
    if not isinstance(knife, Knife):
        raise refuse(name, knife, "is not a Knife", "A Knife holds every number of one knife.", cure)
    if knife.many and not many:
        raise refuse(name, knife.title, "holds many knives at once", "This is asked of one.", cure)


def given_kind(name: str, given: object, kind: type, wrong: str, why: str = "", cure: str = "") -> None:
    """Raise ValueError for anything but a record of this kind; wrong: what else it is.

    >>> given_kind("feel", 3, Knife, "is no Knife", cure="Give one.")
    Traceback (most recent call last):
    ValueError: feel = 3: is no Knife. Give one.
    """
    if not isinstance(given, kind):
        raise refuse(name, given, wrong, why, cure)


def given_list(name: str, given: object, kind: type, wrong: str, why: str = "", cure: str = "") -> None:
    """The same for anything but a list or tuple of them.

    >>> given_list("remarks", "text", str, "are no lines of text")
    Traceback (most recent call last):
    ValueError: remarks = 'text': are no lines of text.
    """
    if not isinstance(given, (list, tuple)) or not all(isinstance(each, kind) for each in given):
        raise refuse(name, given, wrong, why, cure)


def given_number(
    name: str,
    given: object,
    meaning: str,
    unit: str = "",
    rule: str = "positive",
    ends: tuple[float, float] | None = None,
) -> float:
    """One number of an argument, as a float. rule: positive, not negative, any; ends: the least and the most that it
    can be. Raises ValueError for anything else.

    >>> given_number("lift_doubt", -1, "± of one reading of the lift", "mm")
    Traceback (most recent call last):
    ValueError: lift_doubt = -1 mm: must be greater than zero. ...
    """
    data = {"meaning": meaning, "unit": unit, "rule": rule, "sane": None}
    problem = number_problem(name, data, given)
    if not problem and given and not _LEAST <= abs(given) <= MOST:
        problem = no_size(name, data, given)
    if problem:
        raise ValueError(str(problem))
    if ends and not ends[0] <= given <= ends[1]:
        said = f"lies outside {ends[0]:g} to {ends[1]:g}"
        raise refuse(name, given, said, f"It is the {meaning}.", "Check its unit, and the power of ten.")
    return float(given)


def given_angle(name: str, given: object, meaning: str) -> float:
    """One angle [deg] of an argument, up to once round either way. Raises ValueError for anything else.

    >>> given_angle("attitude_deg", 1e6, "tilt of the pivot axis")
    Traceback (most recent call last):
    ValueError: attitude_deg = 1e+06°: is more than once round. It is the tilt of the pivot axis. ...
    """
    return given_number(name, given, meaning, "deg", "any")


def given_count(name: str, given: object, meaning: str, least: int = 1, most: int = _MANY) -> int:
    """One whole number of an argument. Raises ValueError for anything else.

    >>> given_count("n", 2.5, "how many draws")
    Traceback (most recent call last):
    ValueError: n = 2.5: is not a whole number. It is how many draws. Give one from 1 to 10000000.
    """
    import numpy as np

    if isinstance(given, bool) or not isinstance(given, (int, np.integer)) or not least <= given <= most:
        whole = isinstance(given, (int, np.integer)) and not isinstance(given, bool)
        wrong = f"is {'less' if given < least else 'more'} than can be" if whole else "is not a whole number"
        raise refuse(name, given, wrong, f"It is {meaning}.", f"Give one from {least} to {most}.")
    return int(given)


def given_switch(name: str, given: object, meaning: str) -> bool:
    """True or False of an argument. Raises ValueError for anything else.

    >>> given_switch("elastic", "no", "whether balls can share")
    Traceback (most recent call last):
    ValueError: elastic = 'no': is neither True nor False. It says whether balls can share.
    """
    import numpy as np

    if not isinstance(given, (bool, np.bool_)):
        raise refuse(name, given, "is neither True nor False", f"It says {meaning}.")
    return bool(given)


def given_word(name: str, given: object, known: Iterable[str], meaning: str) -> str:
    """One of the known words of an argument. Raises ValueError for anything else, with the words near it.

    >>> given_word("direction", "open", ("opening", "closing"), "the way the blade turns")
    Traceback (most recent call last):
    ValueError: direction = 'open': is not known. It is the way the blade turns. Take opening or closing.
    """
    known = list(known)
    if not isinstance(given, str) or given not in known:
        near = difflib.get_close_matches(given, known, 2, 0.6) if isinstance(given, str) and len(known) > 4 else []
        cure = f"Did you mean {' or '.join(near)}?" if near else f"Take {', '.join(known[:-1])} or {known[-1]}."
        raise refuse(name, given, "is not known", f"It is {meaning}.", cure)
    return given


def given_row(name: str, given: object, meaning: str, unit: str = "") -> "np.ndarray":
    """One or more finite numbers of an argument, as an array (n,). Raises ValueError for anything else.

    >>> given_row("angle_deg", [0.0, 5], "blade angles", "deg").tolist()
    [0.0, 5.0]
    """
    import numpy as np

    why, cure = f"They are {meaning}.", f"Give one or more numbers{f' in {unit}' if unit else ''}."
    try:
        row = np.atleast_1d(np.ma.filled(np.ma.asarray(given), np.nan) if np.ma.isMA(given) else np.asarray(given))
    except (TypeError, ValueError):
        raise refuse(name, given, "is no row of numbers", why, cure) from None
    if row.dtype.kind not in "iuf" or row.ndim != 1 or row.size == 0:
        raise refuse(name, given, "is no row of numbers", why, cure)
    wrong = row[~(np.abs(row) <= MOST)]
    if wrong.size:
        raise refuse(name, given, f"holds {wrong[0]:g}, which is no size that anything has", why, cure)
    return row.astype(float)


def given_function(name: str, given: object, meaning: str, count: int = 0) -> Callable:
    """A function of an argument that can be called with so many things. Raises ValueError for anything else.

    >>> given_function("stop", 3, "whether to stop")
    Traceback (most recent call last):
    ValueError: stop = 3: is no function. It says whether to stop. Give one that takes 0 arguments.
    """
    wrong = "is no function"
    if callable(given):
        wrong = "takes other arguments"
        with contextlib.suppress(TypeError):
            with contextlib.suppress(ValueError):  # one of Python's own that does not say what it takes
                inspect.signature(given).bind(*[None] * count)
            return given
    raise refuse(name, given, wrong, f"It says {meaning}.", f"Give one that takes {count} arguments.")


_FOR_MANY = ("detentlib.tune.moves", "detentlib.tune.pair")
_SAID = {bool: "True or False", int: "a whole number", float: "a number", str: "a text", Path: "the name of a file"}
_SAID |= {Callable: "a function", type(None): "None"}


def checked(function: Any) -> Any:
    """The function, a class as it is made, or the functions of a module, each argument held to what it is declared to
    take: a ValueError for what is anything else.

    >>> checked(given_angle)("attitude_deg", 5.0, meaning=3)
    Traceback (most recent call last):
    ValueError: meaning = 3: is not what is wanted here. Give a text.
    """
    if isinstance(function, ModuleType):
        own = {name: each for name, each in vars(function).items() if inspect.getmodule(each) is function}
        return SimpleNamespace(**vars(function) | {name: checked(each) for name, each in own.items()})
    if inspect.isclass(function):
        for name in {"__init__", "__new__"} & vars(function).keys():
            setattr(function, name, checked(getattr(function, name)))
        return function
    if not inspect.isfunction(function):
        return function
    takes = inspect.signature(function)
    several = {inspect.Parameter.VAR_POSITIONAL: tuple, inspect.Parameter.VAR_KEYWORD: dict.values}

    @functools.wraps(function)
    def call(*args, **named):
        for name, given in takes.bind(*args, **named).arguments.items():
            one = takes.parameters[name]
            for each in several.get(one.kind, lambda given: (given,))(given):
                if one.annotation is Knife:
                    # a move at the bench serves many knives in one alike
                    given_knife(each, name, many=function.__module__ in _FOR_MANY)
                elif each is not one.default and not _fits(each, one.annotation):
                    raise refuse(name, each, "is not what is wanted here", "", f"Give {_wanted(one.annotation)}.")
        return function(*args, **named)

    return call


def _fits(given, hint):
    """Whether a value is one of a type hint; what a hint says that is no type holds for all."""
    import numpy as np

    kind, inner = get_origin(hint) or hint, get_args(hint)
    if kind is inspect.Parameter.empty:
        return True
    if kind is UnionType:
        return any(_fits(given, each) for each in inner)
    if kind in (float, int):
        whole = kind is float or isinstance(given, (int, np.integer))
        return whole and not number_problem("", _ANY, given) and abs(given) <= MOST
    if kind in (list, Sequence, Iterable):
        row = isinstance(given, (list, tuple)) or (isinstance(given, np.ndarray) and given.ndim == 1)
        return row and all(_fits(each, inner[0]) for each in given)
    if kind is tuple and inner[1:] == (...,):
        return isinstance(given, tuple) and all(_fits(each, inner[0]) for each in given)
    if kind is tuple and inner:
        return isinstance(given, tuple | list) and len(given) == len(inner) and all(map(_fits, given, inner))
    if kind in (dict, Mapping) and inner:
        return isinstance(given, Mapping) and all(all(map(_fits, pair, inner)) for pair in given.items())
    if kind is Path:
        return isinstance(given, os.PathLike)
    return not isinstance(kind, type) or isinstance(given, kind)


_ANY = {"meaning": "", "unit": "", "rule": "any", "sane": None}


def _wanted(hint):
    """What a type hint asks for, in words."""
    kind, inner = get_origin(hint) or hint, get_args(hint)
    if kind is UnionType:
        return " or ".join(_wanted(each) for each in inner if each is not type(None))
    if inner and kind is not Callable:
        return f"a list, each {' or '.join(dict.fromkeys(_wanted(each) for each in inner if each is not ...))}"
    return _SAID.get(kind) or f"a {getattr(kind, '__name__', 'function')}"
