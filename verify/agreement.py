"""What every outside check does: compare, and prove that it could have failed."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike


def agree(
    ours: ArrayLike, outside: ArrayLike, within: float, *, scale: float | None = None, sees: float = 0.01
) -> None:
    """Assert that two routes to the same numbers agree, in a check that sees an error of one percent.

    Parameters
    ----------
    ours, outside : array_like
        The project's numbers and those of the other route.
    within : float
        Largest difference as a share of the outside number, or of ``scale`` where that is given
        (for numbers that pass through zero).
    sees : float
        The check also fails unless ours times one plus this and ours times one less this would both
        have failed: a tolerance too wide to see such an error proves nothing.
    """
    mine, other = np.asarray(ours, dtype=float), np.asarray(outside, dtype=float)
    assert mine.shape == other.shape
    size = np.abs(other) if scale is None else np.full(other.shape, scale)
    np.testing.assert_array_less(np.abs(mine - other) / size, within, f"ours {mine}, outside {other}")
    for wrong in (mine * (1 + sees), mine * (1 - sees)):
        assert np.any(np.abs(wrong - other) > within * size), f"blind to an error of {sees:.1%}"


def converged(coarse: ArrayLike, fine: ArrayLike, within: float) -> None:
    """Assert that halving a mesh changes its answer by less than a share."""
    first, second = np.asarray(coarse, dtype=float), np.asarray(fine, dtype=float)
    np.testing.assert_array_less(np.abs(first - second) / np.abs(second), within, "the mesh is too coarse")
