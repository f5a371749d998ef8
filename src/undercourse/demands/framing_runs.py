"""Joists over one, two or more equal spans: what the number of spans does to deflection, moment and shear."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from undercourse.base.columns import Floats, NumberColumn
from undercourse.base.frame import Frame
from undercourse.demands.columns import number, union
from undercourse.demands.framing_members import kinds
from undercourse.physics.panels import concentrated_divisor
from undercourse.physics.spans import span_coefficients

# Coefficients of one to five spans, and their least and greatest over any run of span counts.
_COUNTS = np.arange(1, 6)
_COEFFICIENTS = {
    **span_coefficients(_COUNTS)._asdict(),
    "concentrated": concentrated_divisor(_COUNTS, np.ones(5, dtype=bool)),
}


def _over_runs(values: Floats) -> tuple[Floats, Floats]:
    runs = [[values[min(a, b) : max(a, b) + 1] for b in range(5)] for a in range(5)]
    return np.array([[r.min() for r in row] for row in runs]), np.array(
        [[r.max() for r in row] for row in runs]
    )


_RUNS = {name: _over_runs(np.asarray(values)) for name, values in _COEFFICIENTS.items()}
_SIMPLE = np.array([5 / 384])
_ALONE = {"all_loaded": _SIMPLE, "worst_loaded": _SIMPLE, "concentrated": np.array([48.0])}


def coefficient(frame: Frame, which: str) -> NumberColumn:
    """A coefficient of `span_coefficients` over the numbers of spans still possible, sawn joists."""
    found: NumberColumn = frame.keep("base", f"joist {which}", lambda: _coefficient(frame, which))
    return found


def _coefficient(frame: Frame, which: str) -> NumberColumn:
    first, last = frame.keep("base", "joist runs", lambda: _first_and_last(frame))
    low, high = _RUNS[which]
    return NumberColumn(low[first, last], high[first, last])


def _first_and_last(frame: Frame) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    spans = number(frame, "joist_spans")
    least, most = np.floor(spans.low), np.ceil(spans.high)
    return (least - 1.0).astype(np.intp), (np.minimum(most, 5.0) - 1.0).astype(np.intp)


def deflection_coefficient(frame: Frame, which: str) -> NumberColumn:
    """The same for any framing: what is stated as an L/n holds for its own spans, as one simple span."""
    key = f"joist {which} of any framing"
    found: NumberColumn = frame.keep("base", key, lambda: _deflection_coefficient(frame, which))
    return found


def _deflection_coefficient(frame: Frame, which: str) -> NumberColumn:
    whole, kind, alone = coefficient(frame, which), kinds(frame), _ALONE[which]
    return union(
        [
            (kind.sawn | kind.by_ei, whole.low, whole.high),
            (kind.by_rated | kind.by_ratio, alone, alone),
        ],
        float(alone[0]),
    )
