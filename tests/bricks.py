"""The lock bar with its root as a solid body of quadratic bricks: what it gives at the balls, without any beam formula.

mm, N, MPa, rad. x along the bar, 0 where the relief begins; y across it, 0 at the free edge of the slab; z up to the
tang, 0 at the outer face. The slab (handle or liner) is as thick as the bar and clamped some way behind the end of the
slot. Beside the slot it goes on to the pivot, where it is clamped as well; or it holds nothing there and is left away.
"""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from scipy.integrate import cumulative_trapezoid
from scipy.sparse import coo_array
from scipy.sparse.linalg import splu
from skfem import Basis, ElementHexS2, FacetBasis, LinearForm, MeshHex, asm

CORNER, GROWTH = 0.15, 0.8  # bricks at a corner, in relief thicknesses; how they grow with the distance from it
LONGEST = 4.0  # mm
SLOT = 0.5  # mm, between bar and slab


@dataclass(frozen=True)
class Bar:
    """A bar as drawn, and the root that its drawing leaves open.

    hinge_distance: from the middle of the relief. cut: the face that the relief is cut into, "outside" or "tang".
    slab: width of the slab behind. back: clamp behind the end of the slot. overrun: slot beyond the relief. pivot: how
    far from the middle of the relief the slab is clamped beside the slot; None where it holds nothing there.
    """

    relief_thickness: float
    relief_length: float
    width: float
    thickness: float
    hinge_distance: float
    cut: str = "outside"
    slab: float = 25.0
    back: float = 15.0
    overrun: float = 0.0
    pivot: float | None = None
    poisson: float = 0.342
    youngs_modulus: float = 113_800.0

    @property
    def relief_faces(self):
        """Lower and upper face of the relief, as z."""
        step = self.thickness - self.relief_thickness
        return (0.0, self.relief_thickness) if self.cut == "tang" else (step, self.thickness)


def compliance(bar, arms, fine=1.0):
    """Give at each hinge distance in arms, (3n, 3n): up and sideways [mm], roll [rad], per newton up, sideways, N·mm.

    A force is spread over the whole section and the give is the mean over it, so that no dent counts; roll is the turn
    of, and the torque about, the middle of the thick bar, from y to z. fine: how many times as many bricks each way.
    """
    stations = [bar.relief_length / 2 + arm for arm in arms]
    mesh = _mesh(bar, stations, fine)
    basis = Basis(mesh, ElementHexS2(), intorder=4)
    loads = np.column_stack([load for station in stations for load in _loads(bar, mesh, station)])
    clamps = [-bar.overrun - bar.back] + ([] if bar.pivot is None else [bar.relief_length / 2 + bar.pivot])
    held = mesh.facets_satisfying(lambda x: np.isclose(x[0][..., None], clamps).any(axis=-1), boundaries_only=True)
    free = basis.complement_dofs(basis.get_dofs(held))
    free = (3 * free[:, None] + np.arange(3)).ravel()
    stiffness = _stiffness(bar, basis)[free][:, free]
    symmetric = {"permc_spec": "MMD_AT_PLUS_A", "diag_pivot_thresh": 0.0, "options": {"SymmetricMode": True}}
    factors = splu(stiffness.tocsc(), **symmetric)
    return loads[free].T @ factors.solve(loads[free])


def _mesh(bar, stations, fine):
    """A block of bricks, smaller towards every inner corner, without what is cut away."""
    low, high = bar.relief_faces
    root, length = -bar.overrun, bar.relief_length
    front = root if bar.pivot is None else length / 2 + bar.pivot
    end = max(stations) + bar.width / 2
    bricks = np.array([CORNER * bar.relief_thickness, GROWTH, LONGEST]) / fine
    x = _lines({root - bar.back, root, 0.0, length, *stations, end, front}, {root, 0.0, length}, *bricks)
    y = _lines({0.0, bar.width, bar.width + SLOT, bar.slab}, {0.0, bar.width}, *bricks)
    z = _lines({0.0, low, high, bar.thickness}, {low, high} - {0.0, bar.thickness} or {0.0, bar.thickness}, *bricks)
    block = MeshHex.init_tensor(x, y, z)
    along, across, up = block.p[:, block.t].mean(axis=1)
    of_bar = (across < bar.width) & (along < end) & ((along < 0) | (along > length) | ((up > low) & (up < high)))
    of_slab = ((along < root) & (across < bar.slab)) | ((across > bar.width + SLOT) & (along < front))
    return block.restrict(np.flatnonzero(of_bar | of_slab))


def _lines(marks, corners, size, growth, longest):
    """Grid lines through every mark, size + growth * distance to the nearest corner apart, longest at most."""
    lines = [min(marks)]
    for start, stop in pairwise(sorted(marks)):
        between = np.linspace(start, stop, 2001)
        away = np.min([np.abs(between - corner) for corner in corners], axis=0)
        count = cumulative_trapezoid(1 / np.minimum(size + growth * away, longest), between, initial=0.0)
        lines.extend(np.interp(np.linspace(0, count[-1], int(np.ceil(count[-1])) + 1)[1:], count, between))
    return np.array(lines)


def _stiffness(bar, basis):
    """Stiffness of an isotropic body; degree of freedom 3 n + i is the move of node n along axis i."""
    slope = np.stack([function[0].grad for function in basis.basis])  # node, axis, brick, point
    nodes, _, bricks, points = slope.shape
    strain = np.zeros((bricks, points, 6, nodes, 3))
    for row, (one, other) in enumerate([(0, 0), (1, 1), (2, 2), (1, 2), (0, 2), (0, 1)]):
        strain[:, :, row, :, one] = slope[:, other].transpose(1, 2, 0)
        strain[:, :, row, :, other] = slope[:, one].transpose(1, 2, 0)
    shear = bar.youngs_modulus / (2 * (1 + bar.poisson))
    law = shear * np.diag([2.0, 2, 2, 1, 1, 1])
    law[:3, :3] += 2 * shear * bar.poisson / (1 - 2 * bar.poisson)
    strain = strain.reshape(bricks, points * 6, nodes * 3)
    stress = (basis.dx[:, :, None, None] * (law @ strain.reshape(bricks, points, 6, -1))).reshape(strain.shape)
    own = strain.transpose(0, 2, 1) @ stress
    place = (3 * basis.element_dofs.T[:, :, None] + np.arange(3)).reshape(bricks, -1)
    rows, columns = np.broadcast_arrays(place[:, :, None], place[:, None, :])
    return coo_array((own.ravel(), (rows.ravel(), columns.ravel())), shape=2 * (3 * basis.N,)).tocsr()


def _loads(bar, mesh, station):
    """Unit force up, unit force sideways and unit torque, spread over the section at x = station."""
    facets = mesh.facets_satisfying(lambda x: np.isclose(x[0], station) & (x[1] < bar.width))
    section = FacetBasis(mesh, ElementHexS2(), facets=facets)
    area = bar.width * bar.thickness
    polar = area * (bar.width**2 + bar.thickness**2) / 12
    force = asm(LinearForm(lambda v, at: v / area), section)
    across = asm(LinearForm(lambda v, at: v * (at.x[1] - bar.width / 2) / polar), section)
    up = asm(LinearForm(lambda v, at: v * (at.x[2] - bar.thickness / 2) / polar), section)
    zero = np.zeros_like(force)
    for axes in ((zero, zero, force), (zero, force, zero), (zero, -up, across)):
        yield np.column_stack(axes).ravel()
