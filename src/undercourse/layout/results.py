"""What a layout holds: areas, strips, pieces, rolls."""

from __future__ import annotations

from dataclasses import dataclass, field

from shapely import Polygon

from undercourse.base.problems import Problem
from undercourse.layout.marks import ChalkLine
from undercourse.layout.sheets import Sheet


@dataclass(frozen=True)
class Piece:
    """One piece: the rectangle cut from a roll, and its shape on the floor."""

    id: str
    area: str
    strip: str
    width_m: float
    length_m: float
    roll: int  # from 1
    at_m: tuple[float, float]  # on the roll: along, across
    outline: Polygon


@dataclass(frozen=True)
class LaidStrip:
    """One strip on the floor, in laying order.

    ``direction_deg`` is the way its pieces run; ``across`` tells that it fills part of a band that runs
    square to it.
    """

    id: str
    outline: Polygon
    piece_ids: tuple[str, ...]
    direction_deg: float
    across: bool = False


@dataclass(frozen=True)
class AreaLayout:
    """One area as laid."""

    name: str
    net_area_m2: float
    covered_area_m2: float
    direction_deg: float
    start_m: float  # where full strips have their right edge, as `AreaPlan` holds it
    strip_width_m: float  # of a full strip: a roll's width, or half of it where that saves much
    strips: tuple[LaidStrip, ...]
    seam_length_m: float
    head_joint_length_m: float
    edge_length_m: float
    inside_corners: int
    outside_corners: int
    chalk_line: ChalkLine | None
    notes: tuple[str, ...] = ()
    seam_on_lines_m: float = 0.0  # along lines that seams were to be kept off


@dataclass(frozen=True)
class RollUse:
    """One roll: its length, how much of it is used, its price, and whether it lay on site."""

    length_m: float
    used_m: float
    price: float
    on_site: bool = False


@dataclass(frozen=True)
class Offcut:
    """A rectangle left on a roll, large enough to be a piece elsewhere."""

    roll: int
    width_m: float
    length_m: float
    at_m: tuple[float, float]


@dataclass(frozen=True)
class Layout:
    """Everything that follows from laying the areas with one sheet."""

    sheet: Sheet
    areas: tuple[AreaLayout, ...]
    pieces: tuple[Piece, ...]
    rolls: tuple[RollUse, ...]
    uncovered: tuple[Problem, ...]
    rolls_any_layout: int
    rolls_these_strips: int
    sheet_any_layout_m2: float
    sheet_these_strips_m2: float
    offcuts: tuple[Offcut, ...]
    objective: float
    objective_terms: dict[str, float] = field(compare=False)
    least_objective: float = 0.0  # proven for these strips, however their pieces are cut

    @property
    def net_area_m2(self) -> float:
        """Area within the outlines, less obstacles. [m2]"""
        return sum(area.net_area_m2 for area in self.areas)

    @property
    def consumed_area_m2(self) -> float:
        """Whole rolls but the last, plus the used length of the last. [m2]"""
        if not self.rolls:
            return 0.0
        lengths = [roll.length_m for roll in self.rolls[:-1]] + [self.rolls[-1].used_m]
        return sum(lengths) * self.sheet.width_m

    @property
    def gap(self) -> float:
        """Share by which cutting these strips costs more than is proven to be needed, from 0."""
        return 1 - self.least_objective / self.objective if self.objective > 0 else 0.0

    @property
    def waste(self) -> float:
        """Share of the consumed sheet that does not lie on net area, from 0."""
        return 1 - self.net_area_m2 / self.consumed_area_m2 if self.rolls else 0.0
