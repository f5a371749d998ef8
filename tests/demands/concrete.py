"""A floor of known concrete: what is carried as a usual range, put at one value."""

from __future__ import annotations

from dataclasses import replace

from scipy import constants as si
from tests.demands.site import BOOK, frame

from undercourse.base.columns import NumberColumn
from undercourse.demands import DEMANDS, Tables
from undercourse.demands.record import Values

DAY = si.day
# ACI 209.2R-08, C.1: slump, fines, cement, air and curing worked back from the printed factors.
C1 = {"curing": 7 * DAY, "slump": 0.075, "fines": 0.40, "cement": 409.0, "air": 0.02, "scatter": 1.0}
C1_FLOOR = {"base": "slab on ground", "slab_thickness": "100 mm", "service_humidity": "70 %"}


def tables(**points: float) -> Tables:
    """The shipped tables with points in place of usual ranges."""
    usual = {**BOOK.tables.ranges["usual_concrete"], **{name: (at, at) for name, at in points.items()}}
    return replace(BOOK.tables, ranges={**BOOK.tables.ranges, "usual_concrete": usual})


def both(name: str, points: dict[str, float], **written: object) -> NumberColumn:
    """Both ends of a demand in SI."""
    return DEMANDS[name].value(frame(**written), tables(**points))


def single(name: str, points: dict[str, float], **written: object) -> float:
    """A demand in SI where everything is known."""
    found = both(name, points, **written)
    assert found.low.item() == found.high.item()
    return found.low.item()


def working(name: str, points: dict[str, float], **written: object) -> Values:
    """The working of a known floor."""
    demand = DEMANDS[name]
    _, most = demand.corners(frame(**written), tables(**points))
    return demand.kernel(most)[1]
