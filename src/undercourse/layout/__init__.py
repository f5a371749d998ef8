"""Plane geometry of a floor: outlines, strips, pieces, rolls. It is given sizes and gaps, never products."""

from undercourse.layout.cables import CableKit, CableRules, CableRun, cable_run
from undercourse.layout.choices import Effort
from undercourse.layout.circuits import CablePlan, cable_plan
from undercourse.layout.comparing import Alternative, compare_layouts
from undercourse.layout.document import layout_document
from undercourse.layout.fields import MovementJoints, movement_joints
from undercourse.layout.marks import ChalkLine
from undercourse.layout.outlines import check_outline, count_corners, edge_directions, make_outline
from undercourse.layout.plan import lay_out
from undercourse.layout.results import AreaLayout, LaidStrip, Layout, Offcut, Piece, RollUse
from undercourse.layout.sheets import AreaPlan, PartRoll, Sheet, check_sheet
from undercourse.layout.watching import Progress

__all__ = [
    "Alternative",
    "AreaLayout",
    "AreaPlan",
    "CableKit",
    "CablePlan",
    "CableRules",
    "CableRun",
    "ChalkLine",
    "Effort",
    "LaidStrip",
    "Layout",
    "MovementJoints",
    "Offcut",
    "PartRoll",
    "Piece",
    "Progress",
    "RollUse",
    "Sheet",
    "cable_plan",
    "cable_run",
    "check_outline",
    "check_sheet",
    "compare_layouts",
    "count_corners",
    "edge_directions",
    "lay_out",
    "layout_document",
    "make_outline",
    "movement_joints",
]
