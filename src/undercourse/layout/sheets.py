"""What is laid: a sheet on rolls, and the areas that it is laid in."""

from __future__ import annotations

import math
from dataclasses import dataclass, fields

from shapely import Polygon

from undercourse.base.problems import Problem

LARGEST_M = 1000.0
"""Sizes above this are taken for a wrong unit. [m]"""


Line = tuple[tuple[float, float], ...]
"""Points of a line on the floor. [m]"""


@dataclass(frozen=True)
class AreaPlan:
    """One area to cover: its outline in metres, obstacles as holes.

    Parameters
    ----------
    name : str
        Names of the areas of one layout differ.
    outline : Polygon
        Walls and obstacles. [m]
    direction_deg : float, optional
        Holds the strips to one direction, counter-clockwise from the x axis; None leaves it open. [deg]
    start_m : float, optional
        Holds the start line: the long edge that a full strip has on its right, looking along the direction,
        lies so far to the left of the plan's origin, square to the strips. Values a whole number of pitches
        (roll width and seam gap) apart lay the same. Needs a held direction; None leaves it open. [m]
    keep_off : tuple of lines
        Panel joints, cracks, existing joints: lines of at least two points along which no seam and no head
        joint is to run; those that cannot be avoided are told in the area's notes. [m]
    """

    name: str
    outline: Polygon
    direction_deg: float | None = None
    start_m: float | None = None
    keep_off: tuple[Line, ...] = ()


@dataclass(frozen=True)
class PartRoll:
    """A roll, or what is left of one, that lies on site: full width, used where that costs less.

    ``price`` is what using it costs, whatever is left of it; a part roll that is paid costs nothing.
    """

    length_m: float
    price: float = 0.0


@dataclass(frozen=True)
class Sheet:
    """A sheet as the layout sees it, with the rules for laying it.

    Parameters
    ----------
    width_m : float
        Roll width. [m]
    roll_lengths_m : tuple of float
        Lengths that can be bought. [m]
    seam_gap_m : float
        Gap between neighboring pieces; negative where pieces lap. [m]
    edge_gap_m : float
        Gap to walls, columns and obstacles. [m]
    smallest_piece_m : float
        Least width and length of a piece, where the area lets it be kept. [m]
    least_width_m : float, optional
        Least width of a piece, where it differs from its least length. [m]
    head_joints_allowed : bool
        Whether one strip may be made of several pieces end to end, or of pieces that run across it.
    one_direction : bool
        Whether all pieces must lie the same way up and the same way round, as for a sheet with a nap: none is
        turned end for end or laid across. A held direction is then kept to the full turn.
    stagger_m : float
        Least distance along the strips between head joints of neighboring strips. [m]
    trim_m : float
        Extra left on every side that meets a wall, for walls out of square. [m]
    roll_prices : tuple of float
        One price a roll length; empty means 1 for each square metre of sheet.
    seam_cost_m : float
        Cost of one metre of seam, in the unit of the prices.
    cut_cost : float
        Cost of one piece cut and laid, in the unit of the prices.
    part_rolls : tuple of PartRoll
        What lies on site.
    line_clear_m : float
        Least distance of a seam from a line that it is to be kept off. [m]
    keep_offcut_m : float, optional
        Offcuts with both sides at least so long are listed; the smallest piece if not given, 0.1 m at least.
        [m]

    Notes
    -----
    Sheet is charged by the roll. Where rolls of one length are bought, the last counts as far as it is used;
    where lengths can be chosen, every roll counts whole.

    The defaults of ``seam_cost_m`` and ``cut_cost`` only break ties: they are worth 0.02 m2 of sheet a
    metre and 0.01 m2 a piece when no prices are given. ``line_clear_m`` is half the width of a narrow band
    over a joint. Common practice, no source.
    """

    width_m: float
    roll_lengths_m: tuple[float, ...]
    seam_gap_m: float = 0.0
    edge_gap_m: float = 0.006
    smallest_piece_m: float = 0.1
    head_joints_allowed: bool = True
    stagger_m: float = 0.3
    trim_m: float = 0.0
    roll_prices: tuple[float, ...] = ()
    one_direction: bool = False
    least_width_m: float | None = None
    seam_cost_m: float = 0.02
    cut_cost: float = 0.01
    part_rolls: tuple[PartRoll, ...] = ()
    line_clear_m: float = 0.05
    keep_offcut_m: float | None = None

    @property
    def pitch_m(self) -> float:
        """Distance from one full strip to the next. [m]"""
        return self.width_m + self.seam_gap_m

    @property
    def lap_m(self) -> float:
        """Lap of neighboring pieces, 0 where they do not lap. [m]"""
        return max(0.0, -self.seam_gap_m)

    @property
    def smallest_width_m(self) -> float:
        """Least width of a piece. [m]"""
        return self.smallest_piece_m if self.least_width_m is None else self.least_width_m

    @property
    def shortest_cut_m(self) -> float:
        """No head joint leaves a shorter piece: the smallest piece, or 20 mm beside the laps. [m]"""
        return max(self.smallest_piece_m, 2 * self.lap_m + 0.02)

    @property
    def choice_of_rolls(self) -> bool:
        """Whether rolls differ, so that which of them are used is to be chosen."""
        return self.paid_whole or bool(self.part_rolls)

    @property
    def paid_whole(self) -> bool:
        """Whether every roll is paid whole: where several lengths can be bought."""
        return len(self.roll_lengths_m) > 1

    @property
    def line_reach_m(self) -> float:
        """Least distance of the middle of a seam from a line that it is kept off. [m]"""
        return self.line_clear_m + abs(self.seam_gap_m) / 2

    @property
    def longest_roll_m(self) -> float:
        """The longest roll that can be bought. [m]"""
        return max(self.roll_lengths_m)

    @property
    def least_offcut_m(self) -> float:
        """Least sides of an offcut that is listed. [m]"""
        wanted = self.smallest_piece_m if self.keep_offcut_m is None else self.keep_offcut_m
        return max(wanted, 0.1)

    def price(self, length_m: float) -> float:
        """Price of the roll of this length."""
        if not self.roll_prices:
            return length_m * self.width_m
        return self.roll_prices[self.roll_lengths_m.index(length_m)]

    @property
    def least_price_m2(self) -> float:
        """Lowest price of a square metre over the roll lengths."""
        return min(self.price(length) / (length * self.width_m) for length in self.roll_lengths_m)


def check_sheet(sheet: Sheet, where: str = "sheet") -> list[Problem]:
    """List what makes a sheet impossible to lay; empty when nothing does."""
    found = _not_finite(sheet) or _bad_rolls(sheet) or [*_bad_gaps(sheet), *_bad_costs(sheet)]
    return [Problem(f"{where}.{name}", what, fix) for name, what, fix in found]


Fault = tuple[str, str, str]
"""Name of a field, what is wrong with it, how to fix it."""


def _listed(rules: list[tuple[bool, str, str, str]]) -> list[Fault]:
    return [(name, what, fix) for kept, name, what, fix in rules if not kept]


def _not_finite(sheet: Sheet) -> list[Fault]:
    found = []
    for field in fields(sheet):
        value = getattr(sheet, field.name)
        if field.name == "part_rolls":
            value = [number for roll in value for number in (roll.length_m, roll.price)]
        numbers = value if isinstance(value, (tuple, list)) else () if value is None else (value,)
        found += [
            (field.name, f"{number} is no number", "give a finite number")
            for number in numbers
            if not math.isfinite(number)
        ]
    return found


def _bad_rolls(sheet: Sheet) -> list[Fault]:
    width, lengths = sheet.width_m, sheet.roll_lengths_m
    shown = ", ".join(f"{length:g}" for length in lengths)
    return _listed(
        [
            (0.02 <= width <= 20, "width_m", f"{width:g} m is no width of a roll", "give 0.02 to 20 m"),
            (len(lengths) > 0, "roll_lengths_m", "no roll length", "give at least one"),
            (
                all(0.1 <= length <= LARGEST_M for length in lengths),
                "roll_lengths_m",
                f"{shown} m holds a length that no roll has",
                f"give 0.1 to {LARGEST_M:g} m",
            ),
            (
                len(set(lengths)) == len(lengths),
                "roll_lengths_m",
                "the same length twice",
                "list each length once",
            ),
            (
                -0.5 * width <= sheet.seam_gap_m <= min(0.1, width),
                "seam_gap_m",
                f"{sheet.seam_gap_m:g} m is no gap or lap for a sheet {width:g} m wide",
                "give 0 to 0.1 m for a gap, a negative number down to half the width for a lap",
            ),
        ]
    )


def _bad_gaps(sheet: Sheet) -> list[Fault]:
    """Faults of sizes that are compared with the roll's."""
    width, half = sheet.width_m, 0.5 * min([sheet.width_m, *sheet.roll_lengths_m])
    least = sheet.least_width_m
    return _listed(
        [
            (0 <= sheet.edge_gap_m <= 0.2, "edge_gap_m", f"{sheet.edge_gap_m:g} m", "give 0 to 0.2 m"),
            (
                0 <= sheet.trim_m <= 0.25 * width,
                "trim_m",
                f"{sheet.trim_m:g} m",
                "give 0 to a quarter of the width",
            ),
            (
                0 <= sheet.smallest_piece_m <= half,
                "smallest_piece_m",
                f"{sheet.smallest_piece_m:g} m is more than half a roll's width or length, or below 0",
                "give a smaller one",
            ),
            (
                least is None or 0 <= least <= 0.5 * width,
                "least_width_m",
                f"{sheet.smallest_width_m:g} m is more than half a roll's width, or below 0",
                "give a smaller one",
            ),
            (0 <= sheet.stagger_m <= LARGEST_M, "stagger_m", f"{sheet.stagger_m:g} m", "give 0 or more"),
            (
                0 <= sheet.line_clear_m <= 0.4 * width,
                "line_clear_m",
                f"{sheet.line_clear_m:g} m",
                "give 0 to two fifths of the width",
            ),
            (
                sheet.keep_offcut_m is None or sheet.keep_offcut_m >= 0,
                "keep_offcut_m",
                f"{sheet.keep_offcut_m or 0:g} m",
                "give 0 or more",
            ),
        ]
    )


def _bad_costs(sheet: Sheet) -> list[Fault]:
    lengths, prices = sheet.roll_lengths_m, sheet.roll_prices
    return _listed(
        [
            (
                len(prices) in (0, len(lengths)) and all(price > 0 for price in prices),
                "roll_prices",
                f"{len(prices)} prices for {len(lengths)} roll lengths, or a price not above 0",
                "give one price above 0 for each length, or none",
            ),
            (sheet.seam_cost_m >= 0, "seam_cost_m", f"{sheet.seam_cost_m:g}", "give 0 or more"),
            (sheet.cut_cost >= 0, "cut_cost", f"{sheet.cut_cost:g}", "give 0 or more"),
            (
                all(0.05 <= roll.length_m <= LARGEST_M and roll.price >= 0 for roll in sheet.part_rolls),
                "part_rolls",
                "a length or a price that no part roll has",
                f"give lengths of 0.05 to {LARGEST_M:g} m and prices of 0 or more",
            ),
        ]
    )
