"""Drawings: sections, plans, cut maps and charts as scenes of plain primitives, sheets and SVG."""

from undercourse.drawings.cable_plan import draw_cable_plan
from undercourse.drawings.cut_map import draw_cut_map, draw_cut_maps
from undercourse.drawings.dry_fit import draw_dry_fit, draw_shaped_pieces, dry_fit_rows
from undercourse.drawings.frame import TitleBlock
from undercourse.drawings.joint_plan import draw_joint_plan
from undercourse.drawings.plan import draw_plan
from undercourse.drawings.section import draw_section, total_thickness_text
from undercourse.drawings.shares import draw_shares, open_share, plain_name, read_share, share_text
from undercourse.drawings.sheet import Sheet
from undercourse.drawings.svg import stack_svg, to_svg

__all__ = [
    "Sheet",
    "TitleBlock",
    "draw_cable_plan",
    "draw_cut_map",
    "draw_cut_maps",
    "draw_dry_fit",
    "draw_joint_plan",
    "draw_plan",
    "draw_section",
    "draw_shaped_pieces",
    "draw_shares",
    "dry_fit_rows",
    "open_share",
    "plain_name",
    "read_share",
    "share_text",
    "stack_svg",
    "to_svg",
    "total_thickness_text",
]
