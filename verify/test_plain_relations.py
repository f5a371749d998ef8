"""Relations so short that they look right whatever they say, each against a solver that has none of them."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import minimize_scalar

from undercourse.physics import cable_floor as cables_in_layers
from undercourse.physics import heat, joints, joist_floors, shrinkage, shrinkage_ends

from .agreement import agree
from .bars import two_bars
from .beams import LOAD_N_M, SPAN_M, STIFFNESS_NM2, loaded
from .test_heat import ground_floor

DAY_S = 86400.0


def test_stiffness_behind_a_stated_ratio() -> None:
    """The L/n that a beam shows gives back its stiffness.

    Routes: 5 n p s L^3 / 384; stiffness method, largest of 601 points. Tolerance: 1e-6, both are exact.
    """
    ratio = SPAN_M / loaded(1).largest_deflection()
    spacing = 0.4
    agree(joist_floors.stiffness_from_ratio(ratio, LOAD_N_M / spacing, spacing, SPAN_M), STIFFNESS_NM2, 1e-6)


@pytest.mark.parametrize("heat_share", [0.0, 0.4, 1.0])
def test_movement_that_closes_a_joint(heat_share: float) -> None:
    """Tile that grows on a base that shortens, with next to nothing between them.

    Routes: length times the sum of the strains; slip at both ends of two bars on springs so soft that they
    hold nothing back. Tolerance: 1e-3, the springs hold a little.
    """
    length, strain = 7.6, 9e-4
    grow, rest = heat_share * strain, (1 - heat_share) * strain
    ours = joints.closing_movement(length, 8e-6, grow / 8e-6, rest / 3, rest * 2 / 3)
    held = ((0.0, np.nan), (np.nan, np.nan))
    bars = two_bars(length, (5e8, 3e9), 1e4, shrink=strain, held=held, cells=20)
    slip = bars.second_m - bars.first_m
    agree(ours, abs(slip[0]) + abs(slip[-1]), 1e-3)


@pytest.mark.parametrize(("age", "half_time"), [(28.0, 35.0), (90.0, 35.0), (60.0, 110.0), (365.0, 55.0)])
def test_curing_at_which_least_is_to_come(age: float, half_time: float) -> None:
    """Longer curing lowers the end value and puts off the drying; in between least is left.

    Routes: closed condition, read backwards from a table; bounded minimization by SciPy. Tolerance: 0.5 %.
    """

    def left(curing: float) -> float:
        share = shrinkage.hyperbolic_share((age - curing) * DAY_S, half_time * DAY_S)
        return float(shrinkage.aci_curing_factor(curing * DAY_S) * (1 - share))

    found = minimize_scalar(left, bounds=(0.5, age), method="bounded", options={"xatol": 1e-8})
    ours = shrinkage_ends.curing_of_least_remainder(age * DAY_S, half_time * DAY_S)
    agree(ours / DAY_S, found.x, 0.005)


@pytest.mark.parametrize(("resistance", "within"), [(1e-3, 0.14), (0.3, 0.07), (1.0, 0.05), (2.0, 0.05)])
def test_ground_below_a_heated_plane(resistance: float, within: float) -> None:
    """A heated plane over a slab eight meters wide on clay, bare and with insulation below the plane.

    Routes: ISO 13370 less the indoor film; elements of ground below a plane of one temperature. Tolerance:
    5 % over 1 m2 K/W, 7 % over 0.3, 14 % bare: the film is taken off as if heat went down evenly, while on
    a bare slab most of it goes near the wall; the standard comes out higher, so losses are told low there.
    """
    width, wall, ground = 8.0, 0.3, 1.5
    through = heat.slab_on_ground_transmittance(width, 2.0, wall, resistance, ground, 0.17)
    ours = cables_in_layers.ground_resistance(through, 0.17)
    agree(ours, 1 / ground_floor(width, wall, resistance, ground, 20), within, sees=2 * within)
