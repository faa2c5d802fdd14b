"""Inverse design: which balls, drills, stop pins, bends and reliefs in stock bring a knife into a window."""

import math
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np

from ..doubt.many import RESULTS, felt
from ..knife.given import given_function, given_knife
from ..knife.parts import Knife
from ..knife.units import both
from ..mechanics.feel import LETBACK
from .choices import Choices, Places, choices
from .moves import BENT, LOCK_TOO, PIN_TOO, REVERSIBLE, as_made
from .shop import SHOP, Operation, nominal, scatter, shop_doubts
from .stock import BALLS, DRILLS, Size
from .table import Table, Tabled
from .tolerance import tolerance
from .window import Edge, Window, read_window, room_words

CHUNK = 1024
_MOST = 10_000  # combinations of one ball that are tried, which takes some seconds; of n balls an nth
_SHOWN, _KNIVES = 6, 2000
MARGINS = ("floor_clearance", "face_clearance", "idle_clearance", "jam_margin_deg", "relief_stress")
# as the flags of Feel have it: common practice
THIN = {"face_clearance": 0.05, "floor_clearance": 0.05, "jam_margin_deg": 10.0}
_ENOUGH = 0.5  # room in ± of the shop, from which on a change is worth making: judgement
RULE = (
    f"Ranked: first those with room of {_ENOUGH:g} ± of the shop or more to the nearest edge of the window; of these, "
    "fewer steps that cannot be undone, then fewer bends, then fewer changes, then more room."
)
_LARGER = (
    "A hole comes out 0.01 to 0.03 mm larger than its drill (common practice): try it in scrap and measure, or drill"
    " under and ream."
)
_SHARES = f"Share inside: {_KNIVES} knives drawn as a shop makes them, 95 % interval (Wilson); only for those shown."


@dataclass(frozen=True, repr=False)
class Option:
    """One way into the window: the Choices that it makes, what comes of it, and how sure it is.

    values: {result: number} for the window and the margins; margin: room to the nearest edge in ± of the shop, see
    `scatter`; base: the knife before; share: of shop-made knives inside the window, with its 95 % interval, by
    sampling; None where it was not sampled.
    """

    choices: tuple
    values: dict
    margin: float
    base: Knife
    share: float | None = None
    interval: tuple | None = None

    @property
    def numbers(self) -> dict[str, float]:
        """What it sets: {path: value} with the words of `moves.as_made`."""
        return {path: value for choice in self.choices for path, value in choice.numbers.items()}

    @property
    def knife(self) -> Knife:
        """The changed Knife."""
        return self.base.replace(as_made(self.base, self.numbers))

    @property
    def one_way(self) -> int:
        """How many of its changes cannot be undone."""
        return sum(choice.one_way for choice in self.choices)

    @property
    def bends(self) -> int:
        """How many bars it bends: a bend is plastic; it can be bent back, but that is another bend."""
        return sum(choice.spot.place == "preset" for choice in self.choices)

    @property
    def words(self) -> str:
        """Its changes in words."""
        return _words(self.choices)

    @property
    def counts(self) -> tuple:
        """What it is judged by, less is better: too little room, one-way steps, bends, changes, −room in tenths."""
        tenths = math.floor(10 * min(self.margin, 1.0) + 1e-9)
        return (tenths < 10 * _ENOUGH, self.one_way, self.bends, len(self.choices), -tenths)

    def __repr__(self):
        """Short and stable, for a notebook."""
        return f"<Option: {self.words}>"


@dataclass(frozen=True)
class Miss:
    """Why nothing lies inside the window.

    bars: {need: (how many fail it, how many fail nothing else)} of those that can work; nearest: the changes of the
    nearest one that meets all but the window, in words; short: {Edge: by how much it misses it}.
    """

    bars: dict
    nearest: str
    short: dict

    def told(self) -> list[str]:
        """In words, sentence by sentence."""
        said = ["Nothing lies inside the window."]
        if self.nearest:
            short = ", ".join(room_words(edge, -amount) for edge, amount in self.short.items())
            said.append(f"Nearest: {self.nearest}; it misses by {short}.")
        for need, (some, alone) in sorted(self.bars.items(), key=lambda item: -item[1][1]):
            said.append(f"{some} fail “{need}”, {alone} of them nothing else.")
        return said


@dataclass(frozen=True, repr=False)
class Options(Tabled):
    """What a search found: ranked, every Option inside the window; shown, those of them that no other beats on all
    counts.

    tried of total combinations were felt; at_once: those that change more places than this at once were left out as too
    many, None where all were tried; interrupted: True where the search was stopped before its end, so that better ones
    may be missing; miss: a Miss where nothing was found, else None; impossible: {reason: how many}; places:
    the Choices at each place.
    """

    title: str
    edges: tuple
    ranked: tuple
    shown: tuple
    tried: int
    total: int
    at_once: int | None
    interrupted: bool
    miss: Miss | None
    impossible: dict
    places: tuple

    def __repr__(self):
        """Short and stable, for a notebook."""
        inside = f"{len(self.ranked)} of {self.tried} combinations inside the window"
        return f"<Options: {inside}{', interrupted' * self.interrupted}>"

    def _table(self):
        given = {name for option in self.shown for name in option.values}
        names = dict.fromkeys([*(edge.result for edge in self.edges), *(name for name in MARGINS if name in given)])
        words = (RESULTS[name].words for name in names)
        heads = ("change", "undo", *words, "room in ± of the shop", "share inside")
        rows = []
        for option in self.shown:
            numbers = (both(option.values[name], RESULTS[name].unit) for name in names)
            rows.append((option.words, _undo(option), *numbers, *_sure(option)))
        return Table(f"{self.title}: ways into {', '.join(map(str, self.edges))}", heads, tuple(rows), self.notes())

    def notes(self) -> tuple[str, ...]:
        """What to say below the table."""
        said, of = [], f"{self.tried} of {self.total} combinations"
        if self.interrupted:
            said.append(f"Interrupted after {of}: incomplete, better ones may be missing.")
        tried = ", ".join(place.words for place in self.places)
        said.append(f"{len(self.ranked)} of {self.tried} combinations lie inside. Tried: {tried}.")
        if self.at_once is not None:
            said.append(
                f"Left out as too many for a few seconds: combinations that change more than {self.at_once} of these "
                "places at once. To try them, name fewer places as change, or give fewer values for some."
            )
        if self.miss:
            said += self.miss.told()
        else:
            best = "Shown: of each kind of change the best, where no other has as much room with less to undo."
            said += [f"{RULE} {best}", f"Room: in ± of 64 knives drawn as a shop makes them. {_SHARES}"]
        touched = {choice.spot.place for option in self.shown for choice in option.choices}
        said += [LOCK_TOO] if touched & {"preset", "relief"} else []
        said += [PIN_TOO] if "rest_offset" in touched else []
        said += [_LARGER] if "drill" in touched else []
        if barred := sum(place.barred for place in self.places):
            said.append(f"{barred} sizes left out because metal cannot be put back; with new parts they count.")
        if self.impossible:
            barred = "; ".join(f"{reason}: {many}" for reason, many in self.impossible.items())
            said.append(f"Cannot be made or cannot work: {barred}.")
        return tuple(said)


def options(
    knife: Knife,
    window: Window,
    change: Places = None,
    new_parts: bool = False,
    shop: Sequence[Operation] = SHOP,
    balls: Sequence[Size] = BALLS,
    holes: Sequence[Size] = DRILLS,
    progress: Callable[[int, int], object] | None = None,
) -> Options:
    """Every buyable way to bring a knife into a window, ranked: Options.

    window: {result: (least, most)}, see `read_window`, with any of many.RESULTS: forces, barrier, angles, stresses,
    clearances. change: places that may change, or {place: values}, see `choices`; all others stay as they are.
    new_parts: metal can be "put back". Besides the window an option must work, rest on the stop on a rim, keep each
    ball no further out than its radius and the relief below its yield. shop: Operations whose ± count. balls, holes:
    the stock. progress(done, total) is called as the search goes on; an interrupt gives what was found so far. Raises
    KnifeError for a window or change that cannot be read. Thin margins (THIN) are no options unless the window names
    that margin itself. Combinations are tried by how many places they change, the fewest first; where all would take
    more than some seconds, those that change the most places at once are left out, and the notes say so.

    >>> from detentlib.files.demo import demo
    >>> change = {"preset": (-0.1, 0.1), "rest_offset": (0.075,)}
    >>> found = options(demo("pellowfen-a"), {"break_force": (12.5, 13.1)}, change=change)
    >>> found.ranked                                                              # 12.05 N and 8.7 % more
    (<Option: bar bent in by 0.1000 mm (3.94 thou)>,)
    """
    given_knife(knife)
    if progress is not None:
        given_function("progress", progress, "how far the search is", 2)
    edges = read_window(window, knife)
    places = choices(knife, change, new_parts, balls, holes)
    total = math.prod(len(place.choices) + 1 for place in places)
    taken = _fewest_first([len(place.choices) for place in places], _MOST // len(knife.balls))
    tried, found, doubts, interrupted = [], [], shop_doubts(knife, shop), False
    try:
        for start in range(0, len(taken), CHUNK):
            some = _Combinations(knife, places, edges, taken[start : start + CHUNK])
            found += some.inside(doubts)
            tried.append(some)
            if progress:
                progress(start + len(some.taken), len(taken))
    except KeyboardInterrupt:
        interrupted = True
    ranked = sorted(found, key=lambda option: (*option.counts, -option.margin))
    shown = _best_of_each(ranked)
    try:
        shown = [_sampled(option, window, shop) for option in shown] if not interrupted else shown
    except KeyboardInterrupt:
        interrupted = True
    return Options(
        title=knife.title,
        edges=edges,
        ranked=tuple(ranked),
        shown=tuple(shown),
        tried=sum(len(some.taken) for some in tried),
        total=total,
        at_once=None if len(taken) == total else int(np.count_nonzero(taken, axis=1).max()),
        interrupted=interrupted,
        miss=None if ranked else _miss(tried, knife, edges, doubts),
        impossible=dict(sum((Counter(some.impossible) for some in tried), Counter())),
        places=tuple(places),
    )


def _fewest_first(sizes: list[int], most: int) -> np.ndarray:
    """Combinations of choices, those that change the fewest places first: int [m, places], 0 where a place stays.

    sizes: how many choices each place has. All that change one place, and of more places as many at once as come to no
    more than `most` in all.

    >>> _fewest_first([1, 2], 10).tolist(), len(_fewest_first([1, 2], 4))
    ([[0, 0], [1, 0], [0, 1], [0, 2], [1, 1], [1, 2]], 4)
    """
    blocks, count = [], 0
    for many in range(len(sizes) + 1):
        some = list(combinations(range(len(sizes)), many))
        count += sum(math.prod(sizes[k] for k in places) for places in some)
        if many > 1 and count > most:
            break
        for places in some:
            block = np.zeros((math.prod(sizes[k] for k in places), len(sizes)), int)
            for k, column in zip(places, np.indices([sizes[k] for k in places]), strict=True):
                block[:, k] = column.ravel() + 1
            blocks.append(block)
    return np.concatenate(blocks)


class _Combinations:
    """Some combinations of the choices, felt.

    taken: int [m, places], which choice of each place (0: none); values: {result: array} that a table may show; sound:
    bool [m], those that can work and meet the needs besides the window; rooms: {Edge: array}; fails: {need: bool [m]}
    of those that can work.
    """

    def __init__(self, knife: Knife, places: list[Choices], edges: tuple[Edge, ...], taken: np.ndarray) -> None:
        self.knife, self.places, self.edges, self.taken = knife, places, edges, taken
        self.numbers = self._numbers()
        found = felt(knife, self.numbers, as_made)
        names = dict.fromkeys([*(edge.result for edge in edges), *MARGINS])
        needs = _needs(knife, edges, found)
        self.impossible = found.impossible
        self.values = {name: found.values[name] for name in names if name in found.values}
        self.rooms = {edge: edge.room(found.values) for edge in edges}
        self.sound = np.logical_and.reduce([found.possible, *needs.values()])
        needs |= {str(edge): room >= 0 for edge, room in self.rooms.items()}
        self.fails = {need: ~met & found.possible for need, met in needs.items()}

    def _numbers(self):
        numbers = {"pin": np.zeros(len(self.taken))}
        for place, which in zip(self.places, self.taken.T, strict=True):
            for path in dict.fromkeys(path for choice in place.choices for path in choice.numbers):
                start = nominal(self.knife, path)
                numbers[path] = np.array([start, *(choice.numbers.get(path, start) for choice in place.choices)])[which]
        return numbers

    def chosen(self, k):
        return tuple(place.choices[taken - 1] for place, taken in zip(self.places, self.taken[k], strict=True) if taken)

    def inside(self, doubts):
        """An Option for each that is sound and inside the window; doubts: {path: ±} of the shop."""
        good = np.flatnonzero(np.logical_and.reduce([self.sound, *(room >= 0 for room in self.rooms.values())]))
        if not good.size:
            return []
        numbers = {path: value[good] for path, value in self.numbers.items()}
        of_shop = scatter(self.knife, doubts, numbers, [edge.result for edge in self.edges])
        with np.errstate(divide="ignore", invalid="ignore"):
            rooms = ((of_shop[edge.result], room[good]) for edge, room in self.rooms.items())
            counted = [np.where(scatters > 0, room / scatters, np.inf) for scatters, room in rooms]
        margins = np.minimum.reduce(counted).tolist()
        values = [{name: float(value[k]) for name, value in self.values.items()} for k in good]
        return [Option(self.chosen(k), *each, self.knife) for k, *each in zip(good, values, margins, strict=True)]


def _needs(knife, edges, found):
    """{need: bool [m]} besides the window."""
    needs = {"rests on the stop, on a rim": found.values["on_rim"]}
    shape = found.possible.shape
    held = [np.broadcast_to(np.ravel(ball.protrusion <= ball.radius), shape) for ball in found.many.balls]
    needs["no ball stands out more than its radius"] = np.logical_and.reduce(held)
    if knife.bar.yield_stress is not None and "relief_stress" in found.values:
        needs["relief below its yield"] = found.values["relief_stress"] <= knife.bar.yield_stress
    for name, least in THIN.items():
        if name in found.values and all(edge.result != name for edge in edges):
            needs[str(Edge(name, least, 1))] = found.values[name] >= least
    if any(edge.result in LETBACK for edge in edges):
        needs["let-back force can be given"] = found.letback_given
    return needs


def _miss(tried, knife, edges, doubts):
    """The Miss of combinations of which none lies inside the window."""
    bars = {}
    for need in tried[0].fails if tried else ():
        fails = np.concatenate([some.fails[need] for some in tried])
        alone = np.concatenate([some.fails[need] & (sum(some.fails.values()) == 1) for some in tried])
        if fails.any():
            bars[need] = (int(fails.sum()), int(alone.sum()))
    # the sound one that misses the window by least, in ± of the shop at the knife as it is
    start = {path: np.array([nominal(knife, path)]) for path in doubts} or {"stop": np.zeros(1)}
    of_shop = scatter(knife, doubts, start, [edge.result for edge in edges])
    scale = {edge: of_shop[edge.result].item() for edge in edges}
    scale = {edge: size if 0 < size < math.inf else 0.1 * max(abs(edge.at), 1e-9) for edge, size in scale.items()}
    best = None
    for some in tried:
        short = np.max([np.maximum(-room, 0.0) / scale[edge] for edge, room in some.rooms.items()], axis=0)
        short = np.where(some.sound, short, np.inf)
        k = int(np.argmin(short))
        if np.isfinite(short[k]) and (best is None or short[k] < best[0]):
            best = short[k], some, k
    if best is None:
        return Miss(bars, "", {})
    _, some, k = best
    short = {edge: -float(room[k]) for edge, room in some.rooms.items() if room[k] < 0}
    return Miss(bars, _words(some.chosen(k)), short)


def _words(chosen):
    return "; ".join(choice.words for choice in chosen) or "as it is"


def _best_of_each(ranked):
    """The first option of each set of changed places, but those that another beats on all counts; by rank."""
    best = {}
    for option in ranked:
        best.setdefault(frozenset(choice.spot for choice in option.choices), option)
    unbeaten = [option for option in best.values() if not any(_beats(other, option) for other in best.values())]
    return unbeaten[:_SHOWN]


def _beats(one, other):
    return one.counts != other.counts and all(a <= b for a, b in zip(one.counts, other.counts, strict=True))


def _sampled(option, window, shop):
    found = tolerance(option.knife, _KNIVES, window=window, made=shop)
    return replace(option, share=found.inside, interval=found.interval)


def _undo(option):
    if not option.choices:
        return "nothing to undo"
    said = [f"{option.one_way} one-way"] if option.one_way else []
    return ", ".join([*said, *([BENT] if option.bends else [])]) or REVERSIBLE


def _sure(option):
    if option.share is None:
        return f"{option.margin:.2f}", "not sampled"
    share, low, high = (100 * each for each in (option.share, *option.interval))
    return f"{option.margin:.2f}", f"{share:.0f} % ({low:.0f} to {high:.0f} %)"
