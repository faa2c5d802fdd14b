"""The derivations, room by room: lift of one ball, the bar, forces and energy, contact and stress."""
