"""Which class a mortar's test results reach. Limits come from the tables of the standards."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from undercourse.physics._floats import floats

# Results are given to hundredths; a binary rounding must not take 1.00 under the limit of 1.0.
_SLACK = 1e-9


def classes_met(results: ArrayLike, limits: ArrayLike) -> NDArray[np.int64]:
    """How many of a row of rising limits a set of results meets throughout.

    Parameters
    ----------
    results : array_like, shape (..., results)
        Results that all must pass: adhesion after each storage, or one deformation. For a limit that may not
        be exceeded (slip) give both negative. [unit of the limits]
    limits : array_like, shape (limits,)
        Least values, rising: 0.5 and 1.0 N/mm2 for C1 and C2; 2.5 and 5 mm for S1 and S2.

    Returns
    -------
    ndarray of int, shape (...)
        0 where even the first is missed.

    Notes
    -----
    The weakest result decides. A class says nothing of other tests than its own: classes of different
    standards are not turned into each other.
    Published check: tests/published/mortar.toml, "classes by test results".

    References
    ----------
    EN 12004-1 and ISO 13007-1, tables of requirements.
    """
    least = np.min(floats(results), axis=-1)
    edges = floats(limits) - _SLACK * np.abs(floats(limits))
    return np.asarray(np.searchsorted(edges, least, side="right"), dtype=np.int64)
