"""Demands: facts and candidate properties into one number, with unit, source and direction."""

from undercourse.demands import (
    climate,
    drying,
    floating_layers,
    framing,
    heat,
    loads,
    membrane,
    membrane_base,
    membrane_bend,
    moisture,
    mortar,
    movement_joints,
    panels,
    slab,
    slab_models,
    slab_movement,
    slab_sizes,
    sound,
    surface_loads,
)
from undercourse.demands.record import Demand, Tables

DEMANDS: dict[str, Demand] = {
    demand.name: demand
    for module in (
        framing,
        panels,
        loads,
        membrane,
        membrane_base,
        membrane_bend,
        surface_loads,
        moisture,
        drying,
        climate,
        mortar,
        heat,
        slab,
        slab_models,
        slab_movement,
        slab_sizes,
        movement_joints,
        sound,
        floating_layers,
    )
    for demand in module.DEMANDS
}

__all__ = ["DEMANDS", "Demand", "Tables"]
