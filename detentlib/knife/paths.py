"""Paths such as "balls[0].recess.diameter": finding, replacing and swapping numbers in a tree of frozen parts."""

import copy
import difflib
import re
from dataclasses import fields, is_dataclass

from .checks import KnifeError, Problem


def no_such_field(path, known):
    """The Problem of a path that is not among the known ones, with those near it."""
    near = difflib.get_close_matches(path, sorted(known), 2, 0.5)
    return Problem(path, "", "there is no such field", f"Did you mean {' or '.join(near)}?" if near else "", "")


def walk(part, owner=""):
    """Paths of every number below a part that has a value."""
    for each in fields(part):
        value, path = getattr(part, each.name), f"{owner}{each.name}"
        if is_dataclass(value):
            yield from walk(value, path + ".")
        elif each.name == "balls":
            for i, ball in enumerate(value):
                yield from walk(ball, f"balls[{i}].")
        elif "rule" in each.metadata and value is not None:
            yield path


def steps_of(knife, path):
    """Path as a list of names and indexes, checked against the knife (fields that are None count)."""
    steps = [int(step) if step.isdigit() else step for step in re.findall(r"\w+", path)]
    part, known = knife, True
    for step in steps:
        if isinstance(step, int):
            known = isinstance(part, tuple) and step < len(part)
            part = part[step] if known else None
        else:
            known = is_dataclass(part) and step in {each.name for each in fields(part)}
            part = getattr(part, step) if known else None
        if not known:
            break
    if not known or is_dataclass(part) or isinstance(part, (tuple, dict)):
        every = set(walk(knife)) | {f"{owner}.{each.name}" for owner, part in _owners(knife) for each in fields(part)}
        raise KnifeError(no_such_field(path, every))
    return steps


def _owners(knife):
    for i, ball in enumerate(knife.balls):
        yield f"balls[{i}]", ball
        yield f"balls[{i}].recess", ball.recess
    yield from (("bar", knife.bar), ("blade", knife.blade), ("friction", knife.friction))


def by_owner(values, steps):
    """Changes grouped by the part that owns the field; the recess before its ball."""
    groups = {}
    for path in sorted(values, key=lambda p: -len(steps[p])):
        owner, _, name = path.rpartition(".")
        groups.setdefault(owner, {})[name] = values[path]
    return groups


def rebuild(rebuilt, knife, owner, changes):
    """Put a new, checked part in `rebuilt` in place of the one at `owner`."""
    if not owner:
        rebuilt.update(changes)
        return
    at = re.fullmatch(r"balls\[(\d+)\](\.recess)?", owner)
    if not at:
        rebuilt[owner] = _renew(getattr(knife, owner), changes)
        return
    ball = rebuilt["balls"][int(at[1])]
    if at[2]:
        changes = {"recess": _renew(ball.recess, changes)}
    rebuilt["balls"][int(at[1])] = _renew(ball, changes)


def _renew(part, changes):
    if "material" in changes:
        # another material brings its own moduli, unless they are given with it
        changes = dict.fromkeys(("youngs_modulus", "shear_modulus", "yield_stress")) | changes
    return type(part)(**{each.name: changes.get(each.name, getattr(part, each.name)) for each in fields(part)})


def swap(part, changes):
    """Unchecked copy with the values at the given step tuples put in."""
    if isinstance(part, tuple):
        return tuple(swap(each, {s[1:]: v for s, v in changes.items() if s[0] == i}) for i, each in enumerate(part))
    new = copy.copy(part)
    for name in {steps[0] for steps in changes}:
        below = {steps[1:]: value for steps, value in changes.items() if steps[0] == name}
        object.__setattr__(new, name, below[()] if () in below else swap(getattr(part, name), below))
    return new
