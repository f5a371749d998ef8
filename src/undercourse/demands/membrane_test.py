"""The gate of every number on shear: the model must let a membrane's tested tile live through its own test.

A test passed in fact and failed by the model says that the stated stiffness does not describe the sheet;
then nothing of the model is shown for it. Nor is anything said beyond the opening of the test.
"""

from __future__ import annotations

import numpy as np

from undercourse.base.columns import Floats, NumberColumn
from undercourse.base.frame import Frame
from undercourse.demands.columns import number
from undercourse.demands.record import CHOICE, Notation, Tables, Valid
from undercourse.physics.shear_bounds import crack_pull_bound

# The stiffest tile that a crack test is likely to have had on it; the weakest stands in the tables.
TEST_MODULUS_PA = 80e9
TEST_FINISH = "ceramic"
TESTED = {
    "membrane_tested_opening": CHOICE,
    "membrane_tested_tile_edge": CHOICE,
    "membrane_tested_tile_thickness": CHOICE,
}
_STANDARD = "ANSI A118.12, system crack resistance (its two openings from memory, confidence 75)"
OWN_TEST = Valid(
    "own_test",
    0.0,
    1.0,
    f"{_STANDARD}: the model must first let the tile of the membrane's own test live through it",
)
# An eighth of an inch, the opening of the higher class.
HIGHEST = Valid("crack_growth", 0.0, 0.0254 / 8, f"{_STANDARD}: no class goes beyond 1/8 in")
WITHIN_CLASS = Valid("class_used", 0.0, 1.0, f"{_STANDARD}: nothing is said beyond the tested opening")
TEST_NOTES = {
    "own_test": Notation(
        "c_t",
        "1",
        "share of the tile's strength that the model uses in the membrane's own crack test",
        "tile of that test at its stiffest and weakest, crack below its middle; at most 1",
    ),
    "class_used": Notation(
        "c_w", "1", "opening over that of the membrane's own crack test", "at most 1; endless without a test"
    ),
}


def own_test_share(
    opening: Floats,
    tile_edge: Floats,
    tile_thickness: Floats,
    stiffness: Floats,
    plateau: Floats,
    bears: float,
) -> Floats:
    """Pull that the model gives the tile of a membrane's own crack test, over what such tile bears.

    At most 1 where the model reproduces the test, in which the tile stayed whole.
    """
    pull = crack_pull_bound(opening, tile_edge / 2, TEST_MODULUS_PA, tile_thickness, stiffness, plateau)
    found: Floats = pull.stress_pa / bears
    return found


def tested_tile_bears(tables: Tables) -> float:
    """Tension that the weakest tile of a crack test is taken to bear. [Pa]"""
    return tables.ranges["tile_strength"][TEST_FINISH][0] * tables.ranges["tension_share"]["tile"][0]


def own_test(frame: Frame, tables: Tables) -> NumberColumn:
    """How far the membrane's own test uses up the tested tile in the model, once a candidate."""
    found: NumberColumn = frame.keep(
        "membrane_shear_stiffness", "own crack test", lambda: _own_test(frame, tables)
    )
    return found


def _own_test(frame: Frame, tables: Tables) -> NumberColumn:
    bears = tested_tile_bears(tables)
    opening, edge, thickness = (number(frame, name) for name in TESTED)
    stiffness, plateau = number(frame, "membrane_shear_stiffness"), number(frame, "membrane_shear_yield")
    return NumberColumn(
        own_test_share(opening.low, edge.low, thickness.high, stiffness.low, plateau.low, bears),
        own_test_share(opening.high, edge.high, thickness.low, stiffness.high, plateau.high, bears),
    )


def class_used(opening: NumberColumn, frame: Frame) -> NumberColumn:
    """An opening over the tested one; without a test any opening is beyond it."""
    tested = number(frame, "membrane_tested_opening")
    low, high = (
        np.where(one > 0, one / np.maximum(limit, 1e-12), 0.0)
        for one, limit in ((opening.low, tested.high), (opening.high, tested.low))
    )
    return NumberColumn(low, high)
