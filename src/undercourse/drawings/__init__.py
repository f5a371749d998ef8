"""Drawings: sections, plans, cut maps and charts as scenes of plain primitives, sheets and SVG."""

from undercourse.drawings.cut_map import draw_cut_map, draw_cut_maps
from undercourse.drawings.frame import TitleBlock
from undercourse.drawings.plan import draw_plan
from undercourse.drawings.section import draw_section, total_thickness_text
from undercourse.drawings.shares import draw_shares, open_share, plain_name, read_share, share_text
from undercourse.drawings.sheet import Sheet
from undercourse.drawings.svg import to_svg

__all__ = [
    "Sheet",
    "TitleBlock",
    "draw_cut_map",
    "draw_cut_maps",
    "draw_plan",
    "draw_section",
    "draw_shares",
    "open_share",
    "plain_name",
    "read_share",
    "share_text",
    "to_svg",
    "total_thickness_text",
]
