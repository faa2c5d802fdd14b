"""Cautions: what can hurt people, knives and locks; the one source for notebooks, README and hand-outs."""

from .working import say

CAUTIONS = {
    "edge": "Tape the edge before anything else.",
    "eyes": "Wear eye protection when you press, drill, grind or bend.",
    "gauge": "Keep fingers out of the blade's path when you pull with a gauge: the detent lets go all at once.",
    "press": "Press with the bar supported right under the ball: a bar that hangs free bends.",
    "ceramic": "Ceramic balls shatter. Press them slowly, behind a shield.",
    "drill": "Small carbide drills snap, and the pieces fly. Clamp the work, and feed straight and slowly.",
    "solvent": "Air the room when you use a solvent, with no flame or spark near it, and keep it off your skin.",
    "dust": "Chips and titanium dust burn, and water makes it worse. Keep sparks away and sweep up as you go.",
    "heat": "Heat spoils the temper of tang, bar and ball. What is too hot to hold is too hot.",
    "lock": (
        "Bending or thinning the bar changes the lock, not only the detent. "
        "Check the lock-up again before anyone uses the knife."
    ),
    "centring": "After any bend look that the blade stands centred and that its edge touches nothing as it shuts.",
    "pin": (
        "A stop pin may set the open stop and the lock-up as well. "
        "After another pin, check both before anyone uses the knife."
    ),
    "dry": "A degreased contact can multiply the force. Oil it, then open it slowly.",
    "shake": "After every change, with the edge taped, shake the shut knife, tip down as well, before it is carried.",
    "estimate": "All figures are estimates for comparison. They certify nothing.",
    "law": (
        "Knife law differs from place to place, and some of it turns on whether the blade is biased towards closed. "
        "Local law, the maker and a qualified knifemaker come first."
    ),
}


def caution_list(*names: str) -> str:
    """The cautions of these names, or all, as a Markdown list; ValueError for a name that there is not.

    >>> print(caution_list("edge", "eyes"))
    - Tape the edge before anything else.
    - Wear eye protection when you press, drill, grind or bend.
    """
    unknown = [name for name in names if name not in CAUTIONS]
    if unknown:
        raise ValueError(f"no caution named {', '.join(unknown)}; there are {', '.join(CAUTIONS)}")
    return "\n".join(f"- {CAUTIONS[name]}" for name in names or CAUTIONS)


def cautions(*names: str) -> None:
    """Show the cautions of these names, or all, in a notebook."""
    say(caution_list(*names))
