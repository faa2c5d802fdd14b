"""Derivations D: rough motion, always an estimate: flick, shake and drop."""

import sympy as sp

from .formulas import Symbol, formula

INERTIA = Symbol("inertia", "inertia of the blade about the pivot", "g·mm²", "I")
MASS = Symbol("mass", "mass of the blade", "g", "m_b")
BALANCE = Symbol("balance_radius", "pivot to balance point", "mm", "r_b")
G_EARTH = sp.Float("9806.65")  # mm/s²
NEWTON = 10**6  # g·mm/s² in a newton


@formula(
    "D1",
    "angular acceleration of the blade in a flick",
    (
        INERTIA,
        Symbol("arm", "pivot to the place of the push", "mm", "A"),
        Symbol("finger_stiffness", "how stiff the finger is", "N/mm", "k_f", "not negative"),
        Symbol("finger_speed", "speed at which the hand moves the finger", "mm/s", "v", "not negative"),
        Symbol("time", "time since the finger touched the blade", "s", r"\tau", "not negative"),
        Symbol("gone", "blade angle since then", "rad", r"\theta_f", "any"),
        Symbol("resistance", "torque of detent and pivot", "N·mm", "T", "any"),
    ),
    {"acceleration": ("angular acceleration", "rad/s²")},
    "finger as a spring between hand and blade that pushes and never pulls; an estimate",
    "Newton's law about the pivot",
)
def _flick(x, step):
    squeezed = x.finger_speed * x.time - x.arm * x.gone
    step("What the hand has come on by since then, less what the blade has gone ahead, squeezes the finger.", squeezed)
    push = sp.Max(0, x.finger_stiffness * squeezed)
    step("So it pushes like a spring, and cannot pull.", push)
    balance = push * x.arm - x.resistance
    step(
        "What is left of its torque turns the blade. A newton is a million g·mm/s², and the inertia is in g·mm².",
        balance,
    )
    return balance * NEWTON / x.inertia


@formula(
    "D2",
    "acceleration across the blade that shakes it open",
    (Symbol("torque", "greatest torque on opening, with pivot drag", "N·mm", "T"), MASS, BALANCE),
    {"acceleration": ("acceleration", "m/s²", "a_b")},
    "steady acceleration square to the blade, handle held still; an estimate",
    "inertia force at the balance point",
)
def _shake(x, step):
    a = sp.Symbol("a_b", positive=True)
    moment = x.mass * a * 1000 * x.balance_radius / NEWTON
    step(
        "The blade's own mass turns it, at the balance point; grams and m/s² make the thousand.",
        sp.Eq(x.torque, moment),
    )
    return sp.solve(sp.Eq(x.torque, moment), a)[0]


@formula(
    "D3",
    "drop height that knocks the blade open, a lower bound",
    (Symbol("work", "work that the detent takes, from barrier to E3", "mJ", "W"), INERTIA, MASS, BALANCE),
    {"height": ("lower bound of the drop height: below it the blade stays shut", "mm")},
    "edge-on, dead stop of the handle, pivot drag not counted: a stop that gives way, and any other side, takes more;"
    " but no bounce: a handle that springs back with the share e of its speed needs only 1/(1 + e)² of it. An estimate,"
    " no certification",
    "impulse about the pivot, then energy",
)
def _drop(x, step):
    h, v = sp.symbols("h v", positive=True)
    spin = x.mass * v * x.balance_radius / x.inertia
    step(
        "The handle falls with speed v and stops dead; the blade keeps its momentum and turns about the pivot at", spin
    )
    energy = x.inertia * spin**2 / 2 / 1000 / 1000
    step("Energy of that turning, in mJ (g·mm²/s² is a millionth of it), a part of that of the fall.", energy)
    fallen = energy.subs(v, sp.sqrt(2 * G_EARTH * h))
    step("With the speed of the fall from the height h, at 9.80665 m/s².", sp.Eq(x.work, fallen))
    return sp.solve(sp.Eq(x.work, fallen), h)[0]
