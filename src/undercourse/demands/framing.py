"""Framing: every demand on what carries a framed floor, each with one load basis of its own.

Which way of knowing the framing holds is decided by ``base`` and ``framing_stated_as`` alone, so that a
stated figure can never contradict a computed one.
"""

from __future__ import annotations

from undercourse.demands import (
    framing_deflection,
    framing_items,
    framing_notches,
    framing_spans,
    framing_strength,
)
from undercourse.demands.record import Demand

DEMANDS: tuple[Demand, ...] = (
    *framing_deflection.DEMANDS,
    *framing_items.DEMANDS,
    *framing_strength.DEMANDS,
    *framing_notches.DEMANDS,
    *framing_spans.DEMANDS,
)
