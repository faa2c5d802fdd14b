"""The whole swing in tables: where a ball leaves the tang, false detents, marks by material, what the swing costs."""

from collections.abc import Sequence

from ..knife.parts import Knife
from ..knife.units import both
from ..mechanics.feel import Feel
from ..mechanics.motion import finger_words, rough_motion
from ..mechanics.strength import contact_marks, contact_modulus, relief_words
from ..mechanics.swing import Swing, leavings, swing
from ..tune.pair import with_equal_arms, with_press_difference, with_second_ball
from ..tune.table import Table
from .working import by_formula, say

_NEXT = {-1: "the face of the bar", None: "nothing: the blade is open"}


def run_offs(knife: Knife) -> Table:
    """Where the first ball that leaves the tang gives the bar on, and how far the bar has come down by then, with equal
    arms and with its own; a Table. A knife with one ball gets a twin, 2 thou lower.

    >>> from detentlib.files.demo import demo
    >>> run_offs(demo("pellowfen-b")).rows[1][1:]
    ('ball 2', '1.87°', '0.2620 mm (10.3 thou)', '0.0445 mm (1.75 thou)')
    """
    two = with_second_ball(knife)
    rows = []
    for words, made in (("equal arms", with_equal_arms(two)), ("its arms", two)):
        for gone in leavings(made, swing(made))[:1]:
            rows.append(
                (
                    words,
                    _NEXT.get(gone.to, f"ball {(gone.to or 0) + 1}"),
                    f"{gone.until_deg - gone.angle_deg:.2f}°",
                    both(gone.past, "mm"),
                    both(gone.drop, "mm"),
                )
            )
    heads = ("", "what has the bar next", "so much later", "past the edge", "the bar comes down by")
    notes = () if rows else ("No ball leaves the tang: no run-off is on the card, or the blade is open before.",)
    return Table(f"{two.title}: the first ball at the edge of the tang", heads, tuple(rows), notes)


def false_detents(knife: Knife, heights: Sequence[float] = (0.0508, 0.3)) -> Table:
    """What drops in where ball 2 follows ball 1 on nearly the same track, 30° behind it, pressed deeper by these
    heights [mm]; a Table. A knife with one ball gets a twin.

    >>> from detentlib.files.demo import demo
    >>> len(false_detents(demo("pellowfen-b")).rows)
    3
    """
    beside = {"balls[1].track_radius": knife.balls[0].track_radius + _BESIDE, "balls[1].bearing_deg": _BEHIND}
    rows = [
        (both(deeper, "mm"), f"{hole.from_deg:.1f}° to {hole.to_deg:.1f}°", hole.touching)
        for deeper in heights
        for hole in swing(with_press_difference(with_second_ball(knife), deeper).replace(beside)).crossings
    ]
    return Table(
        f"{knife.title}: ball 2 on a track {_BESIDE:g} mm beside that of ball 1, {-_BEHIND:g}° behind it",
        ("ball 2 lower by", "the bar drops from, to", "held by"),
        tuple(rows),
        () if rows else ("Nothing drops in on the way.",),
    )


_BESIDE, _BEHIND = 0.1, -30.0  # mm, °


def marks(knife: Knife, felt: Feel, tangs: Sequence[str] = ("hard blade steel", "Ti-6Al-4V")) -> Table:
    """Force on the ball against the two limits of each tang material, and what shows; a Table (S1, S2).

    felt: Feel of the knife. tangs: names of materials.TANGS.

    >>> from detentlib.files.demo import demo
    >>> from detentlib.mechanics.feel import feel
    >>> marks(demo("pellowfen-b"), feel(demo("pellowfen-b")), ["hard blade steel"]).rows[0][:3]
    ('hard blade steel', '8.754 N (1.97 lbf)', '18.82 N (4.23 lbf)')
    """
    rows = []
    for tang in tangs:
        found = contact_marks(knife, felt, tang=tang)
        limit = both(found.static, "N") if found.static else "none for a soft tang"
        pressure = f"{found.flat.pressure:.0f} MPa"
        rows.append((tang, both(found.first_yield, "N"), limit, pressure, found.track))
    heads = ("tang", "first yields from", "bearing maker's limit", "greatest pressure", "what shows")
    return Table(f"{knife.title}: a ball of 52100 steel rides with {both(felt.ride_load, 'N')}", heads, tuple(rows))


def first_yield(knife: Knife, felt: Feel) -> None:
    """Show the worked line of the force at which a ball of 52100 first yields on a hard tang (S2), for a Knife with its
    Feel.
    """
    found = contact_marks(knife, felt)
    say(
        str(
            by_formula(
                "Force at which the ball first yields on a hard tang.",
                "S2",
                {
                    "pressure": found.flat.pressure / found.flat.of_yield,
                    "ball_radius": knife.balls[found.ball].radius,
                    "modulus": contact_modulus("52100", "hard blade steel"),
                },
            )
        )
    )


def wear(knife: Knife, felt: Feel) -> Table:
    """How fast the ball wears flat, a range (S4), and how hard the rim is pressed at rest, on a hard tang, for a Knife
    with its Feel; a Table of sentences.

    >>> from detentlib.files.demo import demo
    >>> from detentlib.mechanics.feel import feel
    >>> wear(demo("pellowfen-b"), feel(demo("pellowfen-b"))).notes[0]
    'Flat on the ball in 1000 cycles: 0.0004 mm (0.015 thou) to 0.0397 mm (1.56 thou).'
    """
    found = contact_marks(knife, felt)
    thin, thick = (both(flat, "mm") for flat in found.flat_per_1000)
    flat = f"Flat on the ball in 1000 cycles: {thin} to {thick}."
    rim = (
        f"At rest the rim is pressed with {found.rim.of_yield:.1f} times the pressure of first yield, its edge taken as"
        f" {both(found.edge_radius, 'mm')} round."
    )
    return Table(f"{knife.title}: wear, and the rim", (), (), (flat, rim))


def rough(knife: Knife, felt: Feel) -> Table:
    """Flick, shake and drop of a Knife with its Feel as spans (D1 to D3), where the blade's inertia is known, and how
    heavy its push is for a finger; a Table of sentences.

    >>> from detentlib.files.demo import demo
    >>> from detentlib.mechanics.feel import feel
    >>> knife = demo("pellowfen-b")
    >>> [said.split(":")[0] for said in rough(knife, feel(knife)).notes[:3]]
    ['flick', 'shake', 'drop on to the edge']
    """
    spans = rough_motion(knife).words if knife.blade.inertia else ("The blade's inertia is not on the card: no spans.",)
    return Table(f"{knife.title}: spans, and what a finger can", (), (), (*spans, finger_words(felt.gauge_break_force)))


def swing_cost(knife: Knife, felt: Feel, swung: Swing) -> Table:
    """What the hand puts in over the swing, beside the barrier, and how hard the relief is bent meanwhile; a Table.

    >>> from detentlib.files.demo import demo
    >>> from detentlib.mechanics.feel import feel
    >>> knife = demo("pellowfen-b")
    >>> swing_cost(knife, feel(knife), swing(knife)).rows[0]
    ('to open it, with all drag', '59.21 mJ')
    """
    rows = (
        ("to open it, with all drag", both(swung.work_opening, "mJ")),
        ("to shut it again", both(swung.work_closing, "mJ")),
        ("lost in one cycle", both(swung.lost, "mJ")),
        ("the barrier alone", both(felt.barrier, "mJ")),
    )
    climb = 100 * felt.work / swung.work_opening
    words = relief_words(knife, swung.opening)
    return Table(
        f"{knife.title}: what the hand puts in",
        ("", "work"),
        rows,
        (f"Of the work to open, {climb:.0f} % is the climb out of the recess.", f"{words[0].upper()}{words[1:]}."),
    )
