"""Rolling wheel floor test (ASTM C627): amounts of running and the rating reached."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray


def total_through_cycle(last_cycle: ArrayLike, amount_by_cycle: ArrayLike) -> NDArray[np.float64]:
    """Total of an amount (revolutions, hours) over cycles 1 to the last one run.

    Parameters
    ----------
    last_cycle : array_like of int
        Last cycle completed, 0 for none, at most the number of cycles.
    amount_by_cycle : array_like, shape (cycles,)
        Amount in each cycle, in the unit of the answer.

    Returns
    -------
    ndarray
        Running total, in the unit of ``amount_by_cycle``.

    References
    ----------
    ASTM C627, schedule of cycles. Check: tests/published/wheel_test.toml.
    """
    totals = np.concatenate([[0.0], np.cumsum(np.asarray(amount_by_cycle, dtype=np.float64))])
    return np.asarray(totals[np.asarray(last_cycle, dtype=np.intp)])


def rating_reached(last_cycle: ArrayLike, cycles_needed: ArrayLike) -> NDArray[np.intp]:
    """Highest rating whose cycles were all completed.

    Parameters
    ----------
    last_cycle : array_like of int
        Last cycle survived, 0 for none.
    cycles_needed : array_like of int, shape (ratings,)
        Last cycle that each rating asks for, rising.

    Returns
    -------
    ndarray of int
        Position of the rating in ``cycles_needed``; -1 where none is reached.

    References
    ----------
    ASTM C627 and the floor performance guide that quotes it.
    """
    position = np.searchsorted(np.asarray(cycles_needed), np.asarray(last_cycle), side="right")
    return np.asarray(position - 1)


def tester_force(force_per_wheel_n: ArrayLike, wheels: ArrayLike) -> NDArray[np.float64]:
    """Whole load that the rotating tester puts on the floor.

    Parameters
    ----------
    force_per_wheel_n : array_like
        Load on each wheel. [N]
    wheels : array_like of int
        Number of wheels; three in the standard.

    Returns
    -------
    ndarray
        Their product. [N]
    """
    return np.asarray(force_per_wheel_n, dtype=np.float64) * np.asarray(wheels, dtype=np.float64)
