"""Demands: facts and candidate properties into one number, with unit, source and direction."""

from undercourse.demands import framing, loads, panels
from undercourse.demands.record import Demand, Tables

DEMANDS: dict[str, Demand] = {
    demand.name: demand for module in (framing, panels, loads) for demand in module.DEMANDS
}

__all__ = ["DEMANDS", "Demand", "Tables"]
