"""Quantities, packs, weight, cost and working time of one area's assembly; its joints and its cable."""

from undercourse.takeoff.cable_plan import lay_cable
from undercourse.takeoff.counting import Geometry
from undercourse.takeoff.joining import join_layouts
from undercourse.takeoff.joint_plan import joint_plan, plan_joints
from undercourse.takeoff.laying import laying_plan, sheet_for, tape_price_m
from undercourse.takeoff.quantities import take_off

__all__ = [
    "Geometry",
    "join_layouts",
    "joint_plan",
    "lay_cable",
    "laying_plan",
    "plan_joints",
    "sheet_for",
    "take_off",
    "tape_price_m",
]
