"""Quantities, packs, weight, cost and working time of one area's assembly."""

from undercourse.takeoff.joining import join_layouts
from undercourse.takeoff.laying import laying_plan, sheet_for
from undercourse.takeoff.quantities import Geometry, take_off

__all__ = ["Geometry", "join_layouts", "laying_plan", "sheet_for", "take_off"]
