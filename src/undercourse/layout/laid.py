"""One area as laid: names and shapes of its strips and pieces, lengths, notes."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from shapely import Polygon

from undercourse.base.units import UNITS, show_quantity
from undercourse.layout.buying import head_joint_length
from undercourse.layout.covers import is_barred
from undercourse.layout.marks import chalk_line
from undercourse.layout.outlines import count_corners
from undercourse.layout.pieces import Points, open_holes, part_shape, place_shapes, strip_shape
from undercourse.layout.results import AreaLayout, LaidStrip, Piece
from undercourse.layout.rolls import UNIT_M, Cut
from undercourse.layout.sheets import AreaPlan
from undercourse.layout.stock import Part, Stock, is_small, joint_length
from undercourse.layout.strips import seam_on_lines
from undercourse.layout.zones import StripPlan, Zone

LEAST_SLIT_M = 0.001
"""A slit is drawn no thinner than this, so that it stays a shape. [m]"""

Place = tuple[int, Cut]
"""Number of a roll, and where on it a piece lies."""


def bare_area(area: AreaPlan) -> AreaLayout:
    """What an area is by itself, without sheet."""
    inside, outside = count_corners(area.outline)
    size, edge = float(area.outline.area), float(area.outline.length)
    return AreaLayout(area.name, size, 0.0, 0.0, 0.0, 0.0, (), 0.0, 0.0, edge, inside, outside, None)


def letters(number: int) -> str:
    """a, b, … z, aa, ab … for 0, 1, …"""
    text = ""
    number += 1
    while number:
        number, digit = divmod(number - 1, 26)
        text = chr(ord("a") + digit) + text
    return text


@dataclass
class AreaReport:
    """Names the strips of one area and places their shapes; ``number`` counts areas from 1."""

    number: int
    area: AreaPlan
    stock: Stock
    keys: Mapping[int, Sequence[int]]  # of the parts of each stretch
    places: Mapping[int, Place]
    strips: list[LaidStrip] = field(default_factory=list)
    pieces: list[Piece] = field(default_factory=list)
    names: dict[int, list[str]] = field(default_factory=dict)  # strips of each stretch
    small: list[str] = field(default_factory=list)  # strips that hold a piece under the smallest

    def make(self, plan: StripPlan, first: int) -> AreaLayout:
        """Report on an area whose stretches are numbered from ``first`` on."""
        slit, head, start = 0.0, 0.0, first
        for zone in plan.zones:
            span = range(start, start + len(zone.stretches))
            start = span.stop
            slit += self._place(zone, span)
            head += head_joint_length(self.stock, span)
        on_lines = self._on_lines(plan, first)
        main = max(plan.zones, key=lambda zone: float(zone.floor.shape.area))
        bare = bare_area(self.area)
        return AreaLayout(
            self.area.name,
            bare.net_area_m2,
            plan.covered_m2,
            main.floor.turned_deg,
            main.offset_m,
            main.band.width_m,
            tuple(self.strips),
            plan.seam_m + head + slit,
            head,
            bare.edge_length_m,
            bare.inside_corners,
            bare.outside_corners,
            chalk_line(self.area.outline, main.floor, main.stretches, self.stock.sheet),
            tuple(self._notes(range(first, start), on_lines)),
            on_lines,
        )

    def _place(self, zone: Zone, span: range) -> float:
        """Name and place the strips of one zone; return the length of slits around obstacles. [m]"""
        slit_m, total = max(LEAST_SLIT_M, self.stock.sheet.seam_gap_m), 0.0
        shapes: list[Points | Polygon] = []
        runs: list[list[int]] = []
        for index in span:
            stretch = self.stock.stretches[index]
            for run in self._runs(index):
                runs.append(run)
                parts = [self.stock.parts[key] for key in run]
                wanted = [part_shape(part, stretch) for part in parts]
                if len(run) > 1:
                    wanted.append(strip_shape(parts, stretch))
                for place, shape in enumerate(wanted):
                    if isinstance(shape, Polygon) and shape.interiors:
                        shape, cut_open = open_holes(shape, slit_m)
                        total += cut_open if place < len(run) else 0.0
                    shapes.append(shape)
        placed = iter(place_shapes(shapes, zone.floor.turned_deg))
        for run in runs:
            name = f"{self.number}.{len(self.strips) + 1}"
            first = self.stock.parts[run[0]]
            self.names.setdefault(first.stretch, []).append(name)
            if any(is_small(self.stock.parts[key], self.stock.sheet) for key in run):
                self.small.append(name)
            labels = [name] if len(run) == 1 else [name + letters(k) for k in range(len(run))]
            direction = zone.floor.turned_deg + 90.0 * first.turned
            direction %= 360.0 if self.stock.sheet.one_direction else 180.0
            outlines = [next(placed) for _ in run]
            whole = next(placed) if len(run) > 1 else outlines[0]
            self.strips.append(LaidStrip(name, whole, tuple(labels), direction, first.turned))
            for label, key, outline in zip(labels, run, outlines, strict=True):
                self.pieces.append(self._piece(label, name, key, outline))
        return total

    def _runs(self, index: int) -> list[list[int]]:
        """Keys of the parts that make one strip: those along it end to end, each across it by itself."""
        parts = self.stock.parts
        found: list[list[int]] = []
        along = False
        for key in sorted(self.keys.get(index, ()), key=lambda key: (parts[key].left, parts[key].right)):
            turned = parts[key].turned
            if along and not turned:
                found[-1].append(key)
            else:
                found.append([key])
            along = not turned
        return found

    def _piece(self, label: str, strip: str, key: int, outline: Polygon) -> Piece:
        part: Part = self.stock.parts[key]
        roll, cut = self.places[key]
        at = (round(cut.along * UNIT_M, 4), round(cut.across * UNIT_M, 4))
        return Piece(label, self.area.name, strip, part.width_m, part.length_m, roll, at, outline)

    def _on_lines(self, plan: StripPlan, first: int) -> float:
        """Length of seams and head joints on lines that they are to be kept off. [m]"""
        total, start = 0.0, first
        for zone in plan.zones:
            total += seam_on_lines(zone.floor, zone.band, zone.offset_m)
            for index in range(start, start + len(zone.stretches)):
                stretch = self.stock.stretches[index]
                barred = [joint for joint in self.stock.joints[index] if is_barred(joint, stretch.barred)]
                total += sum(joint_length(self.stock, index, barred)) if barred else 0.0
            start += len(zone.stretches)
        return total

    def _notes(self, span: range, on_lines_m: float) -> list[str]:
        stock, sheet, notes = self.stock, self.stock.sheet, []
        if self.small:
            least, one = show_quantity(sheet.smallest_piece_m, UNITS["in"]), len(self.small) == 1
            hold = "strip {} holds" if one else "strips {} hold"
            notes.append(f"{hold.format(', '.join(self.small))} a piece under the smallest, {least}")
        close = sorted({index for index in stock.crowded if index in span})
        crowded = [name for index in close for name in self.names[index]]
        if crowded:
            stagger = show_quantity(sheet.stagger_m, UNITS["in"])
            notes.append(f"head joints of strips {', '.join(crowded)} lie closer than {stagger}")
        if sheet.one_direction and self.strips:
            way = self.strips[0].direction_deg
            notes.append(f"every piece points the same way: the roll unrolls toward {way:g} degrees")
        if on_lines_m > 0.005:
            long = show_quantity(on_lines_m, UNITS["ft"])
            notes.append(f"{long} of seams run along lines that they were to be kept off")
        return notes
