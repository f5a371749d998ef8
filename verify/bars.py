"""Two bars joined by shear springs that may yield, by quadratic elements of scikit-fem."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import bmat
from scipy.sparse.linalg import spsolve
from skfem import Basis, BilinearForm, ElementLineP2, LinearForm, MeshLine
from skfem.helpers import grad

Floats = NDArray[np.float64]
FREE = (np.nan, np.nan)


class Bars(NamedTuple):
    """Nodes in order, how both bars move there, and the pull of each at x = 0."""

    x_m: Floats
    first_m: Floats
    second_m: Floats
    pull_n_m: Floats


def two_bars(
    length: float,
    stiffness: tuple[float, float],
    layer: float,
    pull: tuple[float, float] = (0.0, 0.0),
    shrink: float = 0.0,
    held: tuple[tuple[float, float], tuple[float, float]] = (FREE, FREE),
    plateau: float = np.inf,
    cells: int = 200,
) -> Bars:
    """Solve two bars; ``pull`` acts outwards on the first at 0 and on the second at the end.

    ``held`` gives for each bar the displacement at 0 and at the end, or nan where it is free. The layer
    resists slip with the lesser of ``layer`` times slip and ``plateau``; Newton steps find its state.
    """
    mesh = MeshLine(length * (1 - np.cos(np.linspace(0.0, np.pi, cells + 1))) / 2)
    basis = Basis(mesh, ElementLineP2(), intorder=5)
    stretch = BilinearForm(lambda u, v, w: grad(u)[0] * grad(v)[0]).assemble(basis)
    own = LinearForm(lambda v, w: grad(v)[0]).assemble(basis)
    count, order = basis.N, np.argsort(basis.doflocs[0])
    outside = np.concatenate([np.zeros(count), -stiffness[1] * shrink * own])
    outside[order[0]] -= pull[0]
    outside[count + order[-1]] += pull[1]
    move, fixed = np.zeros(2 * count), []
    for bar, ends in enumerate(held):
        for node, value in zip((order[0], order[-1]), ends, strict=True):
            if not np.isnan(value):
                fixed.append(bar * count + node)
                move[fixed[-1]] = value
    free = np.setdiff1d(np.arange(2 * count), fixed)

    def balance(at: Floats) -> tuple[Floats, object]:
        """What is out of balance, and how it changes."""
        slip = np.asarray(basis.interpolate(at[count:] - at[:count]))
        shear = np.clip(layer * slip, -plateau, plateau)
        soft = np.where(np.abs(layer * slip) < plateau, layer, 1e-9 * layer)
        grip = LinearForm(lambda v, w: shear * v).assemble(basis)
        firm = BilinearForm(lambda u, v, w: soft * u * v).assemble(basis)
        inner = np.concatenate(
            [stiffness[0] * stretch @ at[:count] - grip, stiffness[1] * stretch @ at[count:] + grip]
        )
        change = bmat([[stiffness[0] * stretch + firm, -firm], [-firm, stiffness[1] * stretch + firm]])
        return outside - inner, change.tocsr()

    missing, change = balance(move)
    scale = 0.0
    for _ in range(60):
        step = spsolve(change[free][:, free], missing[free])
        move[free] += step
        scale = max(scale, float(np.max(np.abs(move))))
        missing, change = balance(move)
        if np.max(np.abs(step)) < 1e-10 * scale:
            break
    else:
        raise AssertionError("the layer does not come to rest")
    return Bars(
        basis.doflocs[0, order], move[order], move[count + order], missing[[order[0], count + order[0]]]
    )
