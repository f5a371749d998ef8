"""A layer that yields under tile against bars on yielding springs (scikit-fem, Newton steps).

The state of the layer is looked for element by element; the closed forms know one border between
yielded and elastic length.
"""

from __future__ import annotations

import numpy as np
import pytest

from undercourse.physics import shear_bounds, shear_yield

from .agreement import agree
from .bars import Bars, two_bars

MODULUS, THICKNESS, LAYER = 60e9, 0.010, 1e9
STRETCH = MODULUS * THICKNESS
HELD = ((0.0, np.nan), (0.0, np.nan))


def over_crack(opening: float, reach: float, plateau: float, cells: int = 200) -> Bars:
    """Half the tile over a crack in a base a million times stiffer."""
    half = opening / 2
    held = ((0.0, np.nan), (half, half))
    return two_bars(reach, (STRETCH, 1e6 * STRETCH), LAYER, held=held, plateau=plateau, cells=cells)


@pytest.mark.parametrize("opening", [0.1e-3, 1e-3, 3e-3])
@pytest.mark.parametrize(("reach", "plateau"), [(0.15, 2e5), (2.0, 2e5), (2.0, 5e4)])
def test_crack_over_a_yielding_layer(opening: float, reach: float, plateau: float) -> None:
    """Pull in the tile, shear and slip beside the crack, yielded length; and the opening for that pull.

    Routes: halving on the closed form of two zones; bars on springs with a plateau. Tolerance: 0.02 % for
    pull, slip and opening; one element of the mesh for the yielded length.
    """
    case = (reach, MODULUS, THICKNESS, LAYER, plateau)
    ours = shear_yield.yielding_crack_bridge(opening, *case)
    bars = over_crack(opening, reach, plateau)
    slip = bars.second_m - bars.first_m
    stress = bars.pull_n_m[0] / THICKNESS
    agree([ours.stress_pa, ours.slip_m], [stress, slip[0]], 2e-4)
    agree(ours.layer_shear_pa, min(LAYER * slip[0], plateau), 2e-4)
    yielded = bars.x_m[LAYER * slip >= plateau * (1 - 1e-9)]
    found = float(yielded.max()) if len(yielded) else 0.0
    assert abs(float(ours.yielded_length_m) - found) <= 1.01 * np.max(np.diff(bars.x_m))
    assert bool(ours.all_yielded) == (len(yielded) == len(bars.x_m))
    if not ours.all_yielded:
        agree(shear_yield.crack_opening_for_stress(stress, *case), opening, 1e-3)
    bound = shear_bounds.crack_pull_bound(opening, *case).stress_pa
    assert stress * (1 - 1e-6) <= bound <= 1.125 * stress


@pytest.mark.parametrize(("base", "half"), [(3e9, 1.2), (3e9, 3.0), (1e15, 1.5)])
@pytest.mark.parametrize("plateau", [4e4, 1.5e5])
def test_shrinking_base_under_a_yielding_layer(base: float, half: float, plateau: float) -> None:
    """Stress in the middle, shear and slip at the ends.

    Routes: halving on the closed form of two zones; bars on springs with a plateau. Tolerance: 0.02 %.
    """
    strain = 400e-6
    ours = shear_yield.yielding_strain_mismatch(strain, half, MODULUS, THICKNESS, base, LAYER, plateau)
    bars = two_bars(half, (STRETCH, base), LAYER, shrink=strain, held=HELD, plateau=plateau)
    slip = bars.first_m - bars.second_m
    stress = -bars.pull_n_m[0] / THICKNESS
    agree([ours.middle_stress_pa, ours.end_slip_m], [stress, slip[-1]], 2e-4)
    agree(ours.end_shear_pa, min(LAYER * slip[-1], plateau), 2e-4)
    yielded = bars.x_m[LAYER * slip >= plateau * (1 - 1e-9)]
    found = half - float(yielded.min()) if len(yielded) else 0.0
    assert abs(float(ours.yielded_length_m) - found) <= 1.01 * np.max(np.diff(bars.x_m))
    if base > 1e12:
        case = (strain, half, MODULUS, THICKNESS, LAYER, plateau)
        bound = shear_bounds.shrinking_base_bound(*case)
        assert stress * (1 - 1e-6) <= bound.stress_pa <= 1.2 * stress
        end = shear_bounds.end_shear_bound(strain, half, bound.decay_per_m, LAYER, plateau)
        agree(end, min(LAYER * slip[-1], plateau), 2e-4)


def test_parts_of_the_bounds() -> None:
    """Each closed form that the least is taken of, in the case for which it is exact.

    Routes: closed forms; bars whose layer never yields, bars eight meters long, and bars whose layer has
    yielded all along. Tolerance: 0.02 %.
    """
    opening, reach, plateau = 1e-3, 0.5, 2e5
    case = (MODULUS, THICKNESS, LAYER, plateau)
    ours = shear_bounds.crack_pull_bound(opening, reach, *case)
    agree(ours.elastic_pa, over_crack(opening, reach, np.inf).pull_n_m[0] / THICKNESS, 2e-4)
    agree(ours.endless_pa, over_crack(opening, 8.0, plateau, 800).pull_n_m[0] / THICKNESS, 2e-4)
    torn = over_crack(6e-3, reach, plateau).pull_n_m[0] / THICKNESS
    agree(shear_bounds.crack_pull_bound(6e-3, reach, *case).yielded_pa, torn, 2e-4)
    long = over_crack(opening, 8.0, np.inf, 800)
    slip = long.second_m - long.first_m
    agree(ours.decay_per_m, 1 / np.interp(-slip[0] * np.exp(-1.0), -slip, long.x_m), 1e-3)
    shrunk = two_bars(1.5, (STRETCH, 1e15), LAYER, shrink=4e-4, held=HELD)
    bound = shear_bounds.shrinking_base_bound(4e-4, 1.5, *case)
    agree(bound.elastic_pa, -shrunk.pull_n_m[0] / THICKNESS, 2e-4)
    agree(bound.decay_per_m, ours.decay_per_m, 1e-12)


def test_model_against_a_crack_test() -> None:
    """Share of the tile's strength that the model uses at the opening of a crack test.

    Routes: closed form over strength; pull of the bars over strength. Tolerance: 0.02 %.
    """
    opening, reach, plateau, strength = 3.175e-3, 0.3, 3e5, 12e6
    ours = shear_yield.reproduces_crack_class(opening, strength, reach, MODULUS, THICKNESS, LAYER, plateau)
    outside = over_crack(opening, reach, plateau).pull_n_m[0] / THICKNESS / strength
    agree(ours.utilization, outside, 2e-4)
    assert bool(ours.reproduced) == (outside <= 1)
