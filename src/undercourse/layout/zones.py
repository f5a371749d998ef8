"""A part of an area laid at one offset in one direction: its strips, and the pieces that cover them."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass

from undercourse.layout.covers import Cell, Rules, cover
from undercourse.layout.sheets import Sheet
from undercourse.layout.strips import NEAR_M, Floor, Stretch, seam_length, seam_on_lines, stretches


@dataclass(frozen=True)
class Zone:
    """A part of an area laid in one direction, and the pieces that cover its stretches."""

    floor: Floor
    offset_m: float
    stretches: tuple[Stretch, ...]
    covers: tuple[tuple[Cell, ...], ...]
    seam_m: float
    cost: float  # square metres of sheet that sheet, seams, cuts and faults are worth
    faults: int
    too_long: int
    band: Sheet  # the sheet as wide as the strips: they may be ripped to half a roll's width


@dataclass(frozen=True)
class StripPlan:
    """All zones of one area; most areas have one."""

    zones: tuple[Zone, ...]
    cost: float

    @property
    def seam_m(self) -> float:
        """Length of all seams along strips and between zones. [m]"""
        return sum(zone.seam_m for zone in self.zones)

    @property
    def covered_m2(self) -> float:
        """Area to cover. [m2]"""
        return sum(float(zone.floor.shape.area) for zone in self.zones)

    @property
    def faults(self) -> int:
        """Pieces under the smallest."""
        return sum(zone.faults for zone in self.zones)

    @property
    def too_long(self) -> int:
        """Strips longer than any roll."""
        return sum(zone.too_long for zone in self.zones)


def lay_zone(floor: Floor, sheet: Sheet, rules: Rules, offset: float, most: float = math.inf) -> Zone | None:
    """Lay strips as wide as the sheet at an offset, and cover them; None once that costs ``most`` or more.

    The rules are those of the roll, which may be wider.
    """
    laid = stretches(floor, sheet, offset, rules.careful)
    left = sum(stretch.area for stretch in laid)  # what is to be covered costs at least its area
    seam = seam_length(floor, sheet, offset)
    covers, cost, faults, long = [], seam * rules.seam_cost, 0, 0
    cost += seam_on_lines(floor, sheet, offset) * rules.fault
    longest = sheet.longest_roll_m - 2 * sheet.trim_m + NEAR_M
    below: list[tuple[Stretch, Sequence[Cell]]] = []
    row: list[tuple[Stretch, Sequence[Cell]]] = []
    for stretch in laid:
        if row and row[0][0].band != stretch.band:
            below, row = row if row[0][0].band == stretch.band - 1 else [], []
        near = [*_barred_by(stretch, below, rules.stagger), *stretch.barred] if rules.joints else ()
        found = cover(stretch, rules, near)
        cost, faults, left = cost + found.cost, faults + found.faults, left - stretch.area
        if stretch.right - stretch.left > longest:
            long += 1
            cost += 0.0 if rules.joints else 10 * rules.fault
        if cost + left >= most:
            return None
        covers.append(tuple(found.cells))
        row.append((stretch, found.cells))
    return Zone(floor, offset, tuple(laid), tuple(covers), seam, cost, faults, long, sheet)


def _barred_by(
    stretch: Stretch, below: list[tuple[Stretch, Sequence[Cell]]], stagger: float
) -> list[tuple[float, float]]:
    """Where joints of the band below bar joints of this stretch."""
    return [
        ((a[1] + b[0]) / 2 - stagger, (a[1] + b[0]) / 2 + stagger)
        for other, cells in below
        if len(cells) > 1 and other.left < stretch.right and other.right > stretch.left
        for a, b in itertools.pairwise(cells)
    ]
