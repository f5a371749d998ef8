"""Names above the frame: layers over their bands, limits over their upright lines."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from undercourse.drawings.chart_labels import LINE_MM, Block, make_block, spread_within
from undercourse.drawings.lettering import SMALL, text_width
from undercourse.drawings.scene import Point
from undercourse.drawings.sheet import PENS, Disc, Mark, Stroke

GAP_MM, POLE_MM, RISE_MM, FOOT_MM = 1.6, 1.8, 2.6, 0.8
MOST_ROWS = 3


@dataclass(frozen=True)
class Flag:
    """A name to stand over ``low`` to ``high`` on paper (a line where they are equal)."""

    name: str
    low: float
    high: float

    @property
    def middle(self) -> float:
        """Where a leader from the name ends."""
        return (self.low + self.high) / 2


@dataclass(frozen=True)
class Strip:
    """Names in rows, the lowest first, with the place of each leader in every row that it passes."""

    flags: tuple[Flag, ...]
    blocks: tuple[Block, ...]
    rows: tuple[int, ...]
    centers: tuple[tuple[float, ...], ...]  # by flag: its center in row 0, 1 ... up to its own
    depths: tuple[float, ...]  # height of each row

    @property
    def height(self) -> float:
        """Height of all rows with the leaders under them. [mm]"""
        return sum(self.depths) + len(self.depths) * RISE_MM + FOOT_MM if self.flags else 0.0

    def marks(self, foot: float) -> list[Mark]:
        """Names and leaders above ``foot``, the upper edge of the frame."""
        marks: list[Mark] = []
        for flag, block, row, centers in zip(self.flags, self.blocks, self.rows, self.centers, strict=True):
            low = foot - FOOT_MM - row * RISE_MM - sum(self.depths[:row]) - RISE_MM
            top = low - block.height
            box = (centers[row] - block.width / 2, top, centers[row] + block.width / 2, low)
            within = row == 0 and flag.low - 0.3 <= box[0] and box[2] <= flag.high + 0.3
            if not within:
                marks += self._leader(flag, row, centers, foot)
            marks += block.words(box, "middle")
        return marks

    def _leader(self, flag: Flag, row: int, centers: Sequence[float], foot: float) -> list[Mark]:
        """From the band or line up between the names of the lower rows to the flag's own name."""
        start = foot if flag.low == flag.high else foot + 1.4
        points: list[Point] = [(flag.middle, start), (flag.middle, foot - FOOT_MM)]
        low = foot - FOOT_MM
        for number in range(row + 1):
            low -= RISE_MM
            points.append((centers[number], low + 0.5))
            if number < row:
                low -= self.depths[number]
                points.append((centers[number], low))
        marks: list[Mark] = [Stroke(tuple(points), PENS["fine"], name="leader")]
        return marks if flag.low == flag.high else [*marks, Disc(points[0], 0.45)]


def lay_strip(flags: Sequence[Flag], left: float, right: float) -> Strip:
    """Names side by side between ``left`` and ``right`` in as few rows as hold them, in the flags' order."""
    flags = sorted((flag for flag in flags if flag.name.strip()), key=lambda flag: (flag.middle, flag.name))
    for rows in range(1, MOST_ROWS + 1):
        for room in (60.0, 30.0, 22.0, 16.0):
            blocks = [make_block(flag.name, max(room, _longest_word(flag.name))) for flag in flags]
            laid = _lay_rows(flags, blocks, rows, left, right)
            if laid is not None:
                return laid
    room = (right - left) / max(1, math.ceil(len(flags) / MOST_ROWS)) - GAP_MM - POLE_MM * MOST_ROWS
    blocks = [make_block(flag.name, max(room, 4.0), most=1) for flag in flags]
    laid = _lay_rows(flags, blocks, MOST_ROWS, left, right)
    return laid or Strip((), (), (), (), ())


def _longest_word(name: str) -> float:
    return max(text_width(word, SMALL) for word in name.split())


def _lay_rows(
    flags: Sequence[Flag], blocks: Sequence[Block], count: int, left: float, right: float
) -> Strip | None:
    """Every ``count``-th name in one row; in lower rows its leader takes room. None where it overflows."""
    rows = [number % count for number in range(len(flags))]
    spots = [flag.middle for flag in flags]
    centers: list[list[float]] = [[] for _ in flags]
    depths = []
    for row in range(count):
        here = [k for k in range(len(flags)) if rows[k] >= row]
        widths = [blocks[k].width + GAP_MM if rows[k] == row else POLE_MM for k in here]
        if sum(widths) > right - left:
            return None
        wanted = [spots[k] - width / 2 for k, width in zip(here, widths, strict=True)]
        tops = spread_within(wanted, widths, left, right)
        for k, top, width in zip(here, tops, widths, strict=True):
            spots[k] = top + width / 2
            centers[k].append(spots[k])
        own = [blocks[k].height for k in here if rows[k] == row]
        depths.append(max(own, default=LINE_MM))
    return Strip(tuple(flags), tuple(blocks), tuple(rows), tuple(tuple(c) for c in centers), tuple(depths))
