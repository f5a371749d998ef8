"""What quantities are counted from: sizes of an area, and for every role which of them, in which unit."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from shapely import Polygon

from undercourse.assembly.costs import coverage_for
from undercourse.base.units import UNITS, show_quantity
from undercourse.layout import count_corners
from undercourse.line.records import Product

# Waste of mortar, primer and liquids: common practice, no source. Sheets carry the waste of their own layout.
ALLOWANCE = 0.10
# Band laps at crossings: 2 in each, as the trade counts them (from memory).
BAND_LAP_M = 2 * 0.0254
# Cable keeps clear of walls, fixtures and joints: common practice, no source. The cable plan decides.
HEATED_SHARE = 0.85


# A hole up to 14 in across is a pipe, which gets a collar: common practice, no source.
COLLAR_M = 14 * 0.0254


@dataclass(frozen=True)
class Geometry:
    """What quantities are counted from. [m2, m, count]"""

    net_area_m2: float
    edge_length_m: float
    seam_length_m: float = 0.0
    head_joint_length_m: float = 0.0
    inside_corners: int = 0
    outside_corners: int = 0
    collars: int = 0
    roll_lengths_m: tuple[float, ...] = ()
    wall_upturn_m: float = 0.0
    heated_area_m2: float | None = None
    grout_kg_m2: float | None = None
    joints: Mapping[str, Any] | None = None  # as ``joint_plan`` gives them
    cable: Mapping[str, Any] | None = None  # as ``lay_cable`` gives it
    notes: tuple[str, ...] = field(default_factory=tuple)

    def sizes(self) -> dict[str, float]:
        """Every size by the name that counts give it."""
        joints = self.joints or {}
        return {
            "net_area_m2": self.net_area_m2,
            "edge_length_m": self.edge_length_m,
            "seam_length_m": self.seam_length_m,
            "head_joint_length_m": self.head_joint_length_m,
            "inside_corners": float(self.inside_corners),
            "outside_corners": float(self.outside_corners),
            "collars": float(self.collars),
            "soft_joint_length_m": float(joints.get("rod_m", 0.0)),
        }


@dataclass(frozen=True)
class Count:
    """A quantity as a sum of sizes, each times a factor, with an allowance on top."""

    counted: Mapping[str, float]
    unit: str
    what: str
    allowance: float = 0.0
    fixed: float = 0.0

    def measured(self, geometry: Geometry) -> float:
        """The quantity without its allowance."""
        sizes = geometry.sizes()
        return self.fixed + sum(factor * sizes[name] for name, factor in self.counted.items())


def count_for(role: str, product: Product, geometry: Geometry) -> Count:
    """How much of a product is needed, in which unit, and what it is counted from."""
    coverage = coverage_for(product, role)
    unit = coverage.unit if coverage is not None else "m2"
    if role == "patch":
        return Count({}, "m2", "by the crack or dip: measure on site")
    if role == "grout" and geometry.grout_kg_m2 is not None:
        factors = {"net_area_m2": geometry.grout_kg_m2}
        return Count(factors, "kg", "joints of the stated tile", ALLOWANCE)
    if role == "heating control" and geometry.cable is not None:
        fixed = float(geometry.cable["controls"])
        return Count({}, "piece", "by the current of the cable plan", fixed=fixed)
    if role == "corners and collars":
        return Count({"inside_corners": 1, "outside_corners": 1, "collars": 1}, "piece", _corners(geometry))
    if role in ("drain", "heating control") or unit == "piece":
        return Count({}, "piece", "one a floor", fixed=1.0)
    if role == "seam tape" and unit == "m":
        seams = feet_text(geometry.seam_length_m + geometry.head_joint_length_m)
        edges = feet_text(geometry.edge_length_m)
        what = f"seams {seams}, band folded onto wall and floor {edges}, 2 in laps at corners"
        factors = {"seam_length_m": 1.0, "head_joint_length_m": 1.0, "edge_length_m": 1.0}
        factors |= {"inside_corners": BAND_LAP_M, "outside_corners": BAND_LAP_M}
        return Count(factors, "m", what, ALLOWANCE)
    if unit == "m":
        return Count({"edge_length_m": 1.0}, "m", "edge length", ALLOWANCE)
    return Count({"net_area_m2": 1.0}, "m2", "net area", ALLOWANCE)


def _corners(geometry: Geometry) -> str:
    what = f"{geometry.inside_corners} inside and {geometry.outside_corners} outside corners"
    if geometry.collars:
        what += f", {geometry.collars} collar{'' if geometry.collars == 1 else 's'}"
    return what


def feet_text(length_m: float) -> str:
    """A length in feet and metres."""
    return show_quantity(length_m, UNITS["ft"])


def inches_text(length_m: float) -> str:
    """A length in inches and millimetres."""
    return show_quantity(length_m, UNITS["in"])


def grout_kg_m2(long_m: float, short_m: float, joint_m: float, depth_m: float) -> float:
    """Cement grout by area: joint length by area times width, depth and density. [kg/m2]

    Density of set grout 1,800 kg/m3: common practice, no source.
    """
    return (long_m + short_m) / (long_m * short_m) * joint_m * depth_m * 1800.0


def geometry_of(
    area: Mapping[str, Any], roll_lengths_m: tuple[float, ...] = (), floor: Polygon | None = None
) -> Geometry:
    """Geometry from one area of a layout document; pipes of its floor get collars in place of corners."""
    inside, outside, collars = int(area["inside_corners"]), int(area["outside_corners"]), 0
    if floor is not None:
        inside, outside, collars = corners_and_collars(floor)
    head = float(area.get("head_joint_length_m", 0.0))
    return Geometry(
        float(area["net_area_m2"]),
        float(area["edge_length_m"]),
        float(area["seam_length_m"]) - head,  # the document counts head joints among the seams
        head,
        inside,
        outside,
        collars,
        roll_lengths_m,
    )


def corners_and_collars(floor: Polygon) -> tuple[int, int, int]:
    """Inside and outside corners of walls and large fixed parts, and the pipes that take a collar each."""
    small = [ring for ring in floor.interiors if max(_across(ring)) <= COLLAR_M]
    large = [ring for ring in floor.interiors if max(_across(ring)) > COLLAR_M]
    inside, outside = count_corners(Polygon(floor.exterior, large))
    return inside, outside, len(small)


def _across(ring: Any) -> tuple[float, float]:
    left, low, right, high = ring.bounds
    return right - left, high - low
