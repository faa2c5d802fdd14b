"""The front door of a package: names out of its rooms, each room loaded when one of its names is first asked for."""

import sys
from collections.abc import Callable, Mapping, Sequence
from importlib import import_module


def door(
    package: str, names: Mapping[str, Sequence[str]], made: Callable = lambda value: value
) -> tuple[list[str], Callable[[str], object], Callable[[], list[str]]]:
    """(__all__, __getattr__, __dir__) of a package that gives names out of rooms of this library: {module: names}.

    made: what becomes of each on its way out.
    """
    rooms = {name: room for room, each in names.items() for name in each}

    def opened(name):
        if name not in rooms:
            raise AttributeError(f"module {package!r} has no attribute {name!r}")
        value = made(getattr(import_module(f".{rooms[name]}", __package__), name))
        setattr(sys.modules[package], name, value)
        return value

    return list(rooms), opened, lambda: sorted({*vars(sys.modules[package]), *rooms})
