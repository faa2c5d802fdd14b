"""How often the truth lies inside what the bench says of it: `python -m tests.coverage [count]`, a row for each case.

Truths are drawn from the ± of a card; the stick-and-slip referee and a Hand with a fault make the readings
(tests/readings_made.py). Of angles, forces and friction 95 % should lie inside; a second ball should be seen where
there is one, and only there. Where a zero, a rim or a pull has no fault, more than 95 % may lie inside: a reader
cannot know that, and the ± counts what may be; where they are as far off as it allows for, 95 % do. Behind each share
that misses its aim stands the aim.
"""

import sys
from dataclasses import replace
from functools import cache

import numpy as np

import detentlib as dl
from detentlib.doubt.budget import budgets
from detentlib.measure.arcs import SOFT, ZERO
from detentlib.measure.models import NOISE
from tests.knives import CARDS
from tests.readings_made import Hand, seen

CARD, TWO = CARDS["A"], CARDS["C"]
GIVING = replace(CARD.replace({"bar.side_compliance": 0.0025}), doubts=CARD.doubts | {"bar.side_compliance": 0.0011})
SHARP = {
    "balls[0].recess.chamfer_width": 0.005,
    "balls[0].recess.edge_radius": 0.005,
}  # ±, of a rim seen under a microscope
CHAMFER, EDGE = {"balls[0].recess.chamfer_width": 0.033}, {"balls[0].recess.edge_radius": 0.02}
TRACED = ("contact_deg", "rim_gap", "break_out_deg")
FITTED = ("bar.riding_force", "friction.rim", "balls[0].recess.rest_offset")


def drawn(card, count, changed=(), seed=1):
    """Knives whose numbers scatter about a card as its ± say, with some numbers put in place after that; none that
    cannot be.
    """
    rng, found = np.random.default_rng(seed), []
    while len(found) < count:
        numbers = {
            path: card.get(path) + doubt / 2 * rng.standard_normal() for path, doubt in card.doubts.items() if doubt
        }
        try:
            knife = card.replace(numbers | dict(changed))
            dl.feel(knife)
        except dl.KnifeError:
            continue
        found.append(knife)
    return found


@cache
def _known(which):
    """What is known of a case so far, see `runs`."""
    return seen([TWO]) if which == "two balls" else []


def runs(which, count):
    """What the first knives of a case do, each worked out once; those with two balls are all alike."""
    known = _known(which)
    if which == "two balls":
        return known * count
    if len(known) < count:
        known += seen(_knives(which, count)[len(known) :])
    return known[:count]


def _knives(which, count):
    if which == "give":
        knives = drawn(GIVING, count)
        give = np.random.default_rng(2).uniform(0.0015, 0.0036, count)
        return [knife.replace({"bar.side_compliance": float(each)}) for knife, each in zip(knives, give, strict=True)]
    if which == "as doubted":
        rims = np.random.default_rng(3).standard_normal(count)
        return [knife.replace(_rim(k, at)) for k, (knife, at) in enumerate(zip(drawn(CARD, count), rims, strict=True))]
    return drawn(CARD, count, {"plain": {}, "chamfer": CHAMFER, "edge": EDGE}[which])


def _rim(k, score):
    """A rim as the reader of a trace allows for where the card says nothing: every other one rounded, and chamfered."""
    soft = ("edge_radius", "chamfer_width")[k % 2]
    usual, doubt = SOFT[soft]
    size = usual + doubt / 2 * score
    return {f"balls[0].recess.{soft}": max(size, 0.0) if usual else abs(size)}


def traces(which, card, count, **faults):
    """Shares: contact angle inside, rim gap inside, break-out inside, second ball seen."""
    inside = []
    for seed, run in enumerate(runs(which, count)):
        found = dl.lift_trace(_hand(seed, faults).trace(run), card)
        inside.append([_in(getattr(found, name), getattr(run, name)) for name in TRACED] + [found.handover is not None])
    return dict(
        zip(("contact angle", "rim gap", "break-out", "second ball seen"), np.mean(inside, axis=0), strict=True)
    )


def _hand(seed, faults):
    """A Hand with the faults given, each a number or what a seed draws."""
    return Hand(seed, **{name: value(seed) if callable(value) else value for name, value in faults.items()})


def pulls(which, card, count, **faults):
    """Share: friction inside."""
    inside = []
    for seed, run in enumerate(runs(which, count)):
        found = dl.two_way_pull(Hand(seed, gauge=NOISE["gauge"], **faults).pulls(run), card)
        inside.append(_in(found.friction, run.knife.friction.rim))
    return {"friction": np.mean(inside)}


def headlines(count):
    """Shares inside of what the card by itself says of a knife."""
    told = budgets(CARD, ("break_force", "letback_force", "break_out_deg"))
    arm = np.array([run.knife.blade.tab_arm for run in runs("plain", count)])
    true = np.array([(run.break_torque, run.letback_torque, run.break_out_deg) for run in runs("plain", count)])
    true[:, :2] /= arm[:, None]
    ends = np.array([each.interval[1:3] for each in told.values()]).T
    return dict(
        zip(
            ("break force", "let-back force", "break-out"),
            ((ends[0] <= true) & (true <= ends[1])).mean(axis=0),
            strict=True,
        )
    )


def circles(count, oval):
    """Share: radius inside; the true one is the longer of the two that a tilt makes."""
    return {"radius": np.mean([_in(dl.fit_circle(Hand(seed).edge(0.66, oval)).radius, 0.66) for seed in range(count)])}


def fits(which, card, count, **faults):
    """Shares inside of what a fit to a short trace, pulls and a force trace says, and of what its knife should do."""
    inside = []
    for seed, run in enumerate(runs(which, count)):
        hand = _hand(seed, faults)
        fit = dl.fit_knife(
            card, [hand.trace(run, np.linspace(0.1, 6, 60)), hand.pulls(run), hand.forces(run, off=hand.off)]
        )
        row = [_in(fit.values[path], run.knife.get(path)) for path in FITTED]
        told = budgets(fit.knife, ("break_force", "letback_force"))
        true = run.break_torque / run.knife.blade.tab_arm, run.letback_torque / run.knife.blade.tab_arm
        inside.append(row + [abs(each.value - at) <= each.doubt for each, at in zip(told.values(), true, strict=True)])
    return dict(zip((*FITTED, "break force", "let-back force"), np.mean(inside, axis=0), strict=True))


def zero_off(seed, usual=0.2):
    """Zero of a protractor, off by so many degrees as a rule."""
    return usual * np.random.default_rng(seed + 9000).standard_normal()


CASES = {
    "headline of the card alone": headlines,
    "trace, scatter alone": lambda n: traces("plain", CARD, n),
    "trace, scatter alone, rim known to be sharp": lambda n: traces(
        "plain", replace(CARD, doubts=CARD.doubts | SHARP), n
    ),
    "trace, zero and rim as far off as the reader allows": lambda n: traces(
        "as doubted", CARD, n, zero=lambda seed: zero_off(seed, ZERO / 2)
    ),
    "trace, zero off by 0.2°": lambda n: traces("plain", CARD, n, zero=zero_off),
    "trace, drifting over 10 readings": lambda n: traces("plain", CARD, n, drift=10.0),
    "trace, coarse steps of 0.5° and 0.01 mm": lambda n: traces("plain", CARD, n, steps=(0.5, 0.01)),
    "trace, chamfer of 5 %": lambda n: traces("chamfer", CARD, n),
    "trace, edge rounded by 0.02 mm": lambda n: traces("edge", CARD, n),
    "trace, two balls": lambda n: traces("two balls", TWO, n),
    "trace, two balls, drifting over 10 readings": lambda n: traces("two balls", TWO, n, drift=10.0),
    "pulls, scatter alone": lambda n: pulls("plain", CARD, n),
    "pulls, stick-slip of 5 %": lambda n: pulls("plain", CARD, n, stick_slip=0.05),
    "pulls, stick-slip of 10 %": lambda n: pulls("plain", CARD, n, stick_slip=0.1),
    "pulls, give of 0.0015 to 0.0036 mm/N": lambda n: pulls("give", GIVING, n),
    "circle, round": lambda n: circles(n, 0.0),
    "circle, oval by 1 %": lambda n: circles(n, 0.01),
    "fit, card drawn": lambda n: fits("plain", CARD, n),
    "fit, zero and gauge as far off as the reader allows": lambda n: fits(
        "plain", CARD, n, zero=lambda seed: zero_off(seed, ZERO / 2), gauge=NOISE["gauge"]
    ),
    "fit, stick-slip of 5 %": lambda n: fits("plain", CARD, n, stick_slip=0.05),
    "fit, stick-slip of 10 %": lambda n: fits("plain", CARD, n, stick_slip=0.1),
    "fit, give of 0.0015 to 0.0036 mm/N": lambda n: fits("give", GIVING, n),
}


PLAIN, FAULTY, SEEN, NOT_SEEN = (0.93, 0.97), (0.9, 1.0), (0.9, 1.0), (0.0, 0.05)
FAULTS = ("off by", "drifting", "steps", "chamfer", "rounded", "stick-slip", "give", "oval")


def aim(case, what):
    """The least and the most share that is aimed at; of two balls a drift may hide one, and the trace says so."""
    faulty = any(fault in case for fault in FAULTS)
    if what == "second ball seen":
        return NOT_SEEN if "two balls" not in case else (0.0, 1.0) if faulty else SEEN
    return FAULTY if faulty else PLAIN


def _said(case, what, share):
    least, most = aim(case, what)
    missed = "" if least <= share <= most else f" (aim: {100 * least:.0f} to {100 * most:.0f} %)"
    return f"{what} {100 * share:.3g} %{missed}"


def _in(value, true):
    return abs(value.value - true) <= value.doubt


def main(count=200, only=""):
    """Print the table."""
    print("| case | inside, of " + str(count) + " |\n|---|---|")
    for name, case in CASES.items():
        if only in name:
            print(f"| {name} | {', '.join(_said(name, *each) for each in case(count).items())} |", flush=True)


if __name__ == "__main__":
    main(*(kind(given) for kind, given in zip((int, str), sys.argv[1:], strict=False)))
