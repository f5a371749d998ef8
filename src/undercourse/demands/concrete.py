"""What demands on concrete slabs share: usual mixes, humidity in use, drying depth, what holds a slab back.

Mix and curing are carried as ranges, not asked for: they move the shrinkage less than the models scatter.
"""

from __future__ import annotations

import numpy as np

from undercourse.base.columns import ChoiceColumn, NumberColumn, Truth
from undercourse.base.frame import Frame
from undercourse.demands.record import CHOICE, Notation, Tables, Valid
from undercourse.physics.shrinkage import aci_humidity_factor

ONE_FACE = ("slab on ground", "concrete on steel deck")
CONCRETE = (*ONE_FACE, "suspended slab")
# The facts from which the drying depth and the humidity follow.
SLAB_READS = {
    "base": CHOICE,
    "slab_thickness": CHOICE,
    "slab_drying_faces": CHOICE,
    "service_humidity": CHOICE,
}
STEP_AT = 0.80
DRY_AIR = Valid("relative_humidity", 0.40, 1.0, "ACI 209.2R-08, A.1.1: humidity from 40 %")


def usual(tables: Tables, name: str) -> NumberColumn:
    """The usual range of what is not asked for."""
    low, high = tables.ranges["usual_concrete"][name]
    return NumberColumn(np.array([low]), np.array([high]))


def only_concrete(frame: Frame, computed: NumberColumn) -> NumberColumn:
    """Nothing of the kind comes from a base that is no concrete slab."""
    truth: Truth = frame.keep("base", "concrete slab", lambda: _is_concrete(frame))
    low, high = computed.low, computed.high
    return NumberColumn(np.where(truth.must, low, 0.0), np.where(truth.may, high, 0.0))


def _is_concrete(frame: Frame) -> Truth:
    column = frame["base"]
    assert isinstance(column, ChoiceColumn)
    bits = _bits(frame, CONCRETE)
    return Truth((column.bits & bits) != 0, (column.bits & ~bits) == 0)


def _bits(frame: Frame, names: tuple[str, ...]) -> np.uint64:
    choices = frame.domain("base").choices
    return np.uint64(sum(1 << choices.index(name) for name in names))


def volume_surface(frame: Frame) -> NumberColumn:
    """Volume over drying surface: the thickness, or half of it where both faces dry. [m]"""
    found: NumberColumn = frame.keep("slab_thickness", "volume over surface", lambda: _depth(frame))
    return found


def _depth(frame: Frame) -> NumberColumn:
    base, thickness, faces = frame["base"], frame["slab_thickness"], frame["slab_drying_faces"]
    assert isinstance(base, ChoiceColumn)
    assert isinstance(thickness, NumberColumn)
    assert isinstance(faces, NumberColumn)
    one = _bits(frame, ONE_FACE)
    may, only = (base.bits & one) != 0, (base.bits & ~one) == 0
    most = np.where(only, 1.0, faces.high)
    least = np.where(may, 1.0, faces.low)
    return NumberColumn(thickness.low / most, thickness.high / least)


def humidity(frame: Frame) -> NumberColumn:
    """Humidity in use; where the range spans the step at 80 %, the ends at which the factor is extreme.

    The column's low end makes the ACI factor greatest, its high end least.
    """
    column = frame["service_humidity"]
    assert isinstance(column, NumberColumn)
    spans = (column.low <= STEP_AT) & (column.high > STEP_AT)
    if not spans.any():
        return column
    above = STEP_AT * (1 + 1e-9)
    upper = spans & (aci_humidity_factor(column.low) < aci_humidity_factor(above))
    lower = spans & (aci_humidity_factor(column.high) > aci_humidity_factor(STEP_AT))
    return NumberColumn(np.where(upper, above, column.low), np.where(lower, STEP_AT, column.high))


_USUAL = "usual range, not asked for; common practice, no source"
CONCRETE_NOTATION = {
    "slab_age": Notation("t", "day"),
    "slab_strength": Notation("f", "mpa"),
    "relative_humidity": Notation("h", "1", "humidity of the air in use"),
    "volume_surface": Notation(
        "v", "mm", "volume over drying surface", "thickness, or half of it where both faces dry"
    ),
    "curing": Notation("c", "day", "moist curing", f"1 to 14 days, whichever weighs more; {_USUAL}"),
    "slump": Notation("s", "mm", "slump", _USUAL),
    "fines": Notation("ψ", "1", "fine over total aggregate", _USUAL),
    "cement": Notation("k", "kg_m3", "cement content", _USUAL),
    "air": Notation("a", "1", "air content", _USUAL),
    "scatter": Notation(
        "q", "1", "scatter of the model", "half to one and a half; common practice, no source"
    ),
    "drying_s": Notation("d", "day", "time of drying"),
    "ultimate": Notation("ε_u", "micro", "shrinkage in the end"),
    "left": Notation("r", "1", "share still to come"),
}
OPEN_DRYING = (
    "Counted as if the slab dried freely: under tile or a sheet the rest comes later, not less; rain and wet"
    " work start part of it anew."
)
