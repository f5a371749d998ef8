"""Long columns worked a piece at a time, so that what a series makes of each stays in a core's cache."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from undercourse.physics._floats import FloatArray

# Rows at a time: with a dozen terms their arrays are small enough to be handed out again and again.
_ROWS = 256


def in_pieces(work: Callable[..., FloatArray], *columns: FloatArray) -> FloatArray:
    """What ``work`` makes of columns, the rows on its last axis.

    ``work`` sees plain numbers, or arrays of one axis; those of one value are not cut. What it returns may
    have axes before that of the rows.
    """
    most = max(column.ndim for column in columns)
    if most == 0:
        return work(*columns)
    if most > 1:
        broad = np.broadcast_arrays(*columns)
        flat = in_pieces(work, *(column.ravel() for column in broad))
        return flat.reshape(*flat.shape[:-1], *broad[0].shape)
    rows = [column if column.ndim else column.reshape(1) for column in columns]
    size = max(column.size for column in rows)
    if size <= _ROWS:
        return work(*rows)
    pieces = [
        work(*(column if column.size == 1 else column[start : start + _ROWS] for column in rows))
        for start in range(0, size, _ROWS)
    ]
    return np.concatenate(pieces, axis=-1)
