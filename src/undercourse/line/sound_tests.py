"""The third octaves of a covering's own impact sound test: how much it took off the bare test slab."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from undercourse.line.records import Product

BANDS = "impact_reduction_bands"
COUNT = 16
# No covering of a floor amplifies or reduces a band by more; a slip of the pen does.
LEAST_DB, MOST_DB = -20.0, 80.0


def impact_reduction(product: Product) -> tuple[float, ...] | None:
    """Reductions at 100 to 3150 Hz in order, as the report prints them; None where not stated. [dB]"""
    found = product.properties.get(BANDS)
    return None if found is None else tuple(float(part) for part in found.text.split(","))


def bands_fault(properties: Mapping[str, Any]) -> str:
    """What is wrong with the bands as written; empty where nothing is."""
    raw = properties.get(BANDS)
    if raw is None:
        return ""
    if not isinstance(raw, list) or any(
        isinstance(one, bool) or not isinstance(one, (int, float)) for one in raw
    ):
        return f"{raw!r} is no list of numbers"
    if len(raw) != COUNT:
        return f"{len(raw)} numbers; the third octaves from 100 to 3150 Hz are {COUNT}"
    wild = [one for one in raw if not LEAST_DB <= one <= MOST_DB]
    return f"{wild[0]} dB is out of reach for a covering" if wild else ""
