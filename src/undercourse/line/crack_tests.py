"""The crack-resistance test behind a membrane's class: how far the base opened, and below which tile."""

from __future__ import annotations

from typing import NamedTuple

from undercourse.base.domains import Span
from undercourse.base.units import read_quantity
from undercourse.line.records import Evidence, Product

_INCH = 0.0254
# ANSI A118.12, 5.4, two levels; the openings from memory (confidence 75 to 80).
CLASS_OPENING_M = {"none": 0.0, "standard": _INCH / 16, "high": _INCH / 8}


class CrackTest(NamedTuple):
    """A membrane's own crack test; what the record does not say is None."""

    evidence: str
    opening_m: float
    tile_edge_m: float | None
    tile_thickness_m: float | None


def crack_test(product: Product) -> CrackTest | None:
    """The test by ANSI A118.12 whose respects name a crack width; None without one.

    Parameters
    ----------
    product : Product
        A membrane. The tile of the test stands in the record's tested stack as the row with
        role = "tile class", its longest edge as ``long_edge``.
    """
    for record in product.evidence.values():
        if "A118.12" not in record.standard:
            continue
        for respect in record.respects:
            if respect.fact == "crack_width" and isinstance(respect.spec, Span):
                edge, thickness = (_tile_length(record, key) for key in ("long_edge", "thickness"))
                return CrackTest(record.id, respect.spec.high, edge, thickness)
    return None


def class_opening(product: Product) -> float | None:
    """The opening that a membrane's class stands for; None where no class is stated. [m]"""
    stated = product.properties.get("crack_class")
    return None if stated is None else CLASS_OPENING_M.get(stated.text)


def tested_opening(product: Product) -> float | None:
    """The opening up to which a membrane was shown to spare tile: of class and test the lesser. [m]

    Returns
    -------
    float or None
        None where neither is stated.
    """
    test = crack_test(product)
    found = [one for one in (class_opening(product), test.opening_m if test else None) if one is not None]
    return min(found) if found else None


def _tile_length(record: Evidence, key: str) -> float | None:
    for layer in record.tested:
        if layer.get("role") == "tile class" and key in layer:
            try:
                return read_quantity(layer[key], "length")
            except ValueError:
                return None
    return None
