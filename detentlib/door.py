"""The front door of a package: names out of its rooms, each room loaded when one of its names is first asked for."""

import sys
from collections.abc import Callable, Mapping
from importlib import import_module


def door(
    package: str, rooms: Mapping[str, str], made: Callable = lambda value: value
) -> tuple[Callable[[str], object], Callable[[], list[str]]]:
    """(__getattr__, __dir__) of a package that gives names out of rooms of this library: {name: module}.

    made: what becomes of each on its way out.
    """

    def opened(name):
        if name not in rooms:
            raise AttributeError(f"module {package!r} has no attribute {name!r}")
        value = getattr(import_module(f".{rooms[name]}", __package__), name)
        value = made(value)
        setattr(sys.modules[package], name, value)
        return value

    return opened, lambda: sorted({*vars(sys.modules[package]), *rooms})
