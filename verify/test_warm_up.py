"""Warm-up of layered floors against finite elements through the depth (scikit-fem), exact in time.

The elements leave a linear system M u' + K u = f; its modes are summed, so that only the mesh errs.
"""

from __future__ import annotations

from itertools import pairwise
from typing import NamedTuple

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.linalg import eigh
from skfem import Basis, BilinearForm, ElementLineP2, MeshLine
from skfem.helpers import grad

from undercourse.physics import warm_floor, warm_up

from .agreement import agree, converged

Floats = NDArray[np.float64]


class Stack(NamedTuple):
    """Layers from the source outwards: thickness, conductivity, heat capacity by volume."""

    thickness: list[float]
    conductivity: list[float]
    capacity: list[float]


TILE_ON_MORTAR = Stack([0.006, 0.010], [1.0, 1.3], [1.8e6, 1.932e6])
TILE_ON_SCREED = Stack([0.045, 0.003, 0.010], [1.2, 0.17, 1.3], [2.0e6, 1.4e6, 1.932e6])
FRAMED = Stack([0.018, 0.100], [0.13, 0.04], [8.0e5, 4.0e4])
SLAB = Stack([0.003, 0.100], [0.05, 2.0], [1.0e5, 2.4e6])
TIMES = np.array([300.0, 1800.0, 7200.0, 36000.0])


def rises(
    above: Stack, below: Stack, films: tuple[float, float], power: float, times: Floats, cells: int
) -> Floats:
    """Rise at the source and at each interface above it (columns) at times (rows)."""
    levels = np.concatenate([-np.cumsum(below.thickness)[::-1], [0.0], np.cumsum(above.thickness)])
    conductivity = np.array(below.conductivity[::-1] + above.conductivity)
    capacity = np.array(below.capacity[::-1] + above.capacity)
    even = np.linspace(0.0, 1.0, cells + 1)
    parts = [low + (high - low) * even for low, high in pairwise(levels)]
    basis = Basis(MeshLine(np.unique(np.round(np.concatenate(parts), 12))), ElementLineP2(), intorder=5)

    def layer(x: Floats) -> NDArray[np.intp]:
        return np.searchsorted(levels, x) - 1

    conduction = BilinearForm(lambda u, v, w: conductivity[layer(w.x[0])] * grad(u)[0] * grad(v)[0])
    storage = BilinearForm(lambda u, v, w: capacity[layer(w.x[0])] * u * v)
    places = basis.doflocs[0]
    stiff, right = conduction.assemble(basis).toarray(), np.zeros(basis.N)
    for place, film in zip((levels[-1], levels[0]), films, strict=True):
        end = int(np.argmin(np.abs(places - place)))
        stiff[end, end] += film
    right[int(np.argmin(np.abs(places)))] = power
    rates, modes = eigh(stiff, storage.assemble(basis).toarray())
    share = modes.T @ right
    grown = -np.expm1(-np.outer(times, rates)) / rates * share
    outwards = np.concatenate([[0.0], np.cumsum(above.thickness)])
    wanted = [int(np.argmin(np.abs(places - place))) for place in outwards]
    return np.asarray(grown @ modes[wanted].T)


@pytest.mark.parametrize(
    ("above", "below"), [(TILE_ON_MORTAR, FRAMED), (TILE_ON_SCREED, SLAB), (TILE_ON_MORTAR, SLAB)]
)
def test_warm_up_of_layers(above: Stack, below: Stack) -> None:
    """Source, interfaces and surface from five minutes to ten hours.

    Routes: transfer functions turned back from the Laplace domain; quadratic elements and their modes.
    Tolerance: 0.05 % of the rise at the source.
    """
    films, power = (10.8, 5.9), 129.167
    fine = rises(above, below, films, power, TIMES, 24)
    converged(rises(above, below, films, power, TIMES, 12), fine, 2e-3)
    ours = warm_up.warm_up_rise(TIMES, power, above, films[0], below, films[1])
    for row, at_time in enumerate(fine):
        agree(ours.interfaces_k[row], at_time, 5e-4, scale=float(at_time[0]))
        agree([ours.source_k[row], ours.surface_k[row]], at_time[[0, -1]], 2e-3)


def test_time_to_a_rise() -> None:
    """How long the surface takes to rise by five kelvin.

    Routes: halving on the Laplace solution; the elements, read between times a minute apart. Tolerance:
    0.1 %.
    """
    films, power = (10.8, 5.9), 129.167
    times = np.arange(60.0, 7200.0, 60.0)
    surface = rises(TILE_ON_MORTAR, FRAMED, films, power, times, 24)[:, -1]
    outside = np.interp(5.0, surface, times)
    agree(warm_up.warm_up_time(5.0, power, TILE_ON_MORTAR, films[0], FRAMED, films[1]), outside, 1e-3)


@pytest.mark.parametrize("effusivity", [300.0, 2200.0])
def test_rise_over_a_deep_base(effusivity: float) -> None:
    """One even layer over the heat, a contact resistance and a base without end below it.

    Routes: twelve real terms of an inverse Laplace transform; quadratic elements of layer, contact and two
    and a half meters of base, and their modes. Tolerance: 0.1 %, as its docstring says of such times.
    """
    resistance, capacity, contact, film, power = 0.02, 4.5e4, 0.018, 10.8, 129.167
    times = np.array([900.0, 3600.0, 14400.0])
    above = Stack([0.020], [0.020 / resistance], [capacity / 0.020])
    depths, conductivity = [0.01, 0.03, 0.1, 0.4, 2.0], 1.0
    base = [effusivity**2 / conductivity] * len(depths)
    below = Stack([0.003, *depths], [0.003 / contact, *[conductivity] * len(depths)], [1.0, *base])
    outside = rises(above, below, (film, 0.0), power, times, 12)[:, -1]
    ours = warm_floor.surface_rise(times, power, resistance, capacity, film, contact, effusivity)
    agree(ours, outside, 1e-3)
