"""A plan on paper at a told scale: as many sheets as it takes, with overlap, key and check length."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import shapely
from shapely.geometry import LineString, Polygon, box
from shapely.geometry import Point as Spot

from undercourse.base.problems import Problem, Problems
from undercourse.drawings.floors import touches
from undercourse.drawings.frame import TitleBlock, draw_scale_bar, finish_sheet
from undercourse.drawings.hatches import hatch_outline
from undercourse.drawings.lettering import LARGE, NORMAL, SMALL, shorten, text_width
from undercourse.drawings.measures import length_text
from undercourse.drawings.sheet import DASHES, PENS, Fill, Sheet, Stroke, Tangle, Words, scale_text

INCH_MM = 25.4
PAPERS: dict[str, tuple[str, float, float]] = {
    "a4": ("A4", 210.0, 297.0),
    "a3": ("A3", 297.0, 420.0),
    "letter": ("Letter", 8.5 * INCH_MM, 11 * INCH_MM),
    "tabloid": ("Tabloid", 11 * INCH_MM, 17 * INCH_MM),
}
"""Name, short and long side. ISO 216 for the A sizes; the others are 8.5 by 11 and 11 by 17 in. [mm]"""

SCALES = (20.0, 50.0, 100.0)
EDGE_MM = 10.0
FOOT_MM = 44.0
OVERLAP_MM = 10.0
MOST_SHEETS = 60
CHECK_MM = 100.0
NEAR_TOP_M = 0.3
UPRIGHT_DEG = 60.0
ALONG = (0.0, 0.5, 1.0, 0.25, 0.75)  # where words are tried along a line


@dataclass(frozen=True)
class PlanShapes:
    """What is drawn of one area, in meters."""

    name: str
    outline: Sequence[Sequence[float]]
    obstacles: Sequence[Any] = ()
    doors: Sequence[Any] = ()
    pieces: Sequence[tuple[str, Any]] = ()
    chalk: Mapping[str, Any] | None = None
    joints: Sequence[Any] = ()
    doorways: Sequence[Any] = ()
    cable: Sequence[Any] = ()


@dataclass
class _Paper:
    name: str
    width: float
    height: float
    across: int
    up: int
    frame: tuple[float, float] = field(default=(0.0, 0.0))


def scaled_sheets(
    areas: Sequence[PlanShapes], scale: float, paper: str, block: TitleBlock, *, labels: bool = True
) -> list[tuple[Sheet, tuple[float, float]]]:
    """The plan on paper.

    Parameters
    ----------
    areas : sequence of PlanShapes
        Drawn where they lie.
    scale : float
        50 stands for 1 : 50.
    paper : {"a4", "a3", "letter", "tabloid"}
        Turned so that fewest sheets are needed.

    Returns
    -------
    list of (Sheet, (width, height))
        A sheet is what lies within margins of ``EDGE_MM``; the pair is the size of the whole paper. [mm]

    Raises
    ------
    Problems
        When more than ``MOST_SHEETS`` sheets would be needed.
    """
    points = [point for area in areas for point in area.outline]
    if not points:
        raise Problems([Problem("print", "no area is chosen", "tick at least one area")])
    low_x, high_x = min(p[0] for p in points), max(p[0] for p in points)
    low_y, high_y = min(p[1] for p in points), max(p[1] for p in points)
    # Room for the walls' lines.
    wide, high = (high_x - low_x) * 1000 / scale + 4.0, (high_y - low_y) * 1000 / scale + 4.0
    chosen = _choose(paper, wide, high)
    count = chosen.across * chosen.up
    if count > MOST_SHEETS:
        what = f"{scale_text(scale)} on {chosen.name} takes {count} sheets"
        fix = "print the area in hand only, or choose a smaller scale or larger paper"
        raise Problems([Problem("print", what, fix)])
    step_x, step_y = (side - OVERLAP_MM for side in chosen.frame)
    # What is left over of the last sheets lies evenly around the plan.
    spare_x = chosen.across * step_x + OVERLAP_MM - wide
    spare_y = chosen.up * step_y + OVERLAP_MM - high
    metre = 1000 / scale
    left = low_x - (spare_x / 2 + 2.0) / metre
    top = high_y + (spare_y / 2 + 2.0) / metre
    sheets: list[tuple[Sheet, tuple[float, float]]] = []
    for row in range(chosen.up):
        for column in range(chosen.across):
            corner = (left + column * step_x / metre, top - row * step_y / metre)
            sheet = _sheet(areas, scale, chosen, (column, row), corner, block, labels)
            sheets.append((sheet, (chosen.width, chosen.height)))
    return sheets


def _choose(paper: str, wide: float, high: float) -> _Paper:
    """The paper upright or lying, whichever takes fewer sheets."""
    name, short, long = PAPERS[paper]
    found = []
    for width, height in ((short, long), (long, short)):
        frame = (width - 2 * EDGE_MM, height - 2 * EDGE_MM - FOOT_MM)
        across, up = (
            max(1, math.ceil((size - OVERLAP_MM) / (side - OVERLAP_MM) - 1e-9))
            for size, side in zip((wide, high), frame, strict=True)
        )
        found.append(_Paper(name, width, height, across, up, frame))
    return min(found, key=lambda one: one.across * one.up)


def _sheet(
    areas: Sequence[PlanShapes],
    scale: float,
    paper: _Paper,
    place: tuple[int, int],
    corner: tuple[float, float],
    block: TitleBlock,
    labels: bool,
) -> Sheet:
    number, count = place[1] * paper.across + place[0] + 1, paper.across * paper.up
    of = f", sheet {number} of {count}" if count > 1 else ""
    names = ", ".join(area.name for area in areas[:6]) + (" and others" if len(areas) > 6 else "")
    sheet = Sheet(f"Plan of sheets{of}", f"Plan of {names} at {scale_text(scale)} on {paper.name}{of}", 0.0)
    sheet.width, sheet.scale = paper.width - 2 * EDGE_MM, scale
    wide, high = paper.frame
    metre = 1000 / scale
    window = _Window(corner, (wide, high), metre)
    for area in areas:
        _draw_area(sheet, window, area, labels)
    sheet.add(Stroke(((0, 0), (wide, 0), (wide, high), (0, high)), PENS["narrow"], closed=True, name="frame"))
    _mark_overlap(sheet, paper, place)
    draw_scale_bar(sheet, (3.0, high + 10.0), scale, 60.0)
    _draw_check(sheet, (78.0, high + 8.0), scale)
    if count > 1:
        _draw_key_map(sheet, paper, place, (0.0, high + 3.0))
    return finish_sheet(sheet, block, high + 15.0, [])


@dataclass(frozen=True)
class _Window:
    """The part of the floor that a sheet shows; ``corner`` is its upper left. [m, mm, mm/m]"""

    corner: tuple[float, float]
    size: tuple[float, float]
    metre: float

    @property
    def shape(self) -> Polygon:
        """The part as a rectangle on the floor. [m]"""
        x, y = self.corner
        return box(x, y - self.size[1] / self.metre, x + self.size[0] / self.metre, y)

    def at(self, point: Sequence[float]) -> tuple[float, float]:
        """Where a point of the floor lies on the sheet. [mm]"""
        return ((point[0] - self.corner[0]) * self.metre, (self.corner[1] - point[1]) * self.metre)

    def lines(self, points: Sequence[Any], closed: bool = False) -> Iterator[tuple[tuple[float, float], ...]]:
        """A line on the floor as what the sheet shows of it. [mm]"""
        ring = [(float(p[0]), float(p[1])) for p in points]
        if len(ring) < 2:
            return
        line = LineString([*ring, ring[0]] if closed else ring)
        for part in shapely.get_parts(line.intersection(self.shape)):
            if isinstance(part, LineString) and not part.is_empty:
                yield tuple(self.at(point) for point in part.coords)


def _draw_area(sheet: Sheet, window: _Window, area: PlanShapes, labels: bool) -> None:
    def draw(
        points: Sequence[Any], pen: str, dash: str = "solid", closed: bool = False, name: str = ""
    ) -> None:
        for line in window.lines(points, closed):
            sheet.add(Stroke(line, PENS[pen], DASHES[dash], name=name))

    for hole in area.obstacles:
        shown = Polygon(hole).buffer(0).intersection(window.shape)
        for part in shapely.get_parts(shown):
            if isinstance(part, Polygon):
                hatching = hatch_outline("obstacle", tuple(window.at(p) for p in part.exterior.coords))
                sheet.add(Tangle(hatching.lines, PENS["fine"], True))
        draw(hole, "medium", closed=True, name="obstacle")
    for _, outline in area.pieces:
        draw(outline, "narrow", closed=True, name="piece")
    draw(area.outline, "heavy", closed=True, name="room")
    for lines, pen, dash, name in (
        (area.doors, "medium", "dashed", "door"),
        (area.joints, "wide", "solid", "joint"),
        (area.doorways, "heavy", "solid", "doorway"),
        (area.cable, "fine", "solid", "cable"),
    ):
        for line in lines:
            draw(line, pen, dash, name=name)
    if area.chalk:
        draw([area.chalk["start"], area.chalk["end"]], "wide", "double chain", name="start-line")
    _write(sheet, window, area, labels)


def _write(sheet: Sheet, window: _Window, area: PlanShapes, labels: bool) -> None:
    """Name, piece numbers and the start line's distances, each where the sheet shows its place."""
    shown = window.shape.buffer(-3.0 / window.metre)
    for name, outline in area.pieces if labels else ():
        spot, turned, size = _label_spot(name, Polygon(outline), window.metre)
        if size and shown.contains(Spot(spot)):
            x, y = window.at(spot)
            low = size * 0.33
            at = (x + low, y) if turned else (x, y + low)
            _write_over(sheet, Words(at, name, size, "middle", True, turn_deg=90.0 if turned else 0.0))
    if area.chalk:
        _write_start(sheet, window, area.chalk, shown)
    left, right, top = top_run(area.outline)
    if shown.contains(Spot(left + 2.0 / window.metre, top - 4.0 / window.metre)):
        x, y = window.at((left, top))
        room = max((right - left) * window.metre - 3.0, 8.0)
        size = NORMAL if text_width(area.name, NORMAL, bold=True) <= room else SMALL
        words = shorten(area.name, room, size, bold=True)
        over = room + 3.0 - text_width(words, size, bold=True)
        spots = [
            (x + aside, y + 1.2 + size + down) for down in (0.0, 5.0, 10.0) for aside in (1.6, over - 1.6)
        ]
        choices = [Words(spot, words, size, bold=True) for spot in spots]
        _write_over(sheet, next((one for one in choices if _free(sheet, one)), choices[0]))


def top_run(outline: Sequence[Sequence[float]]) -> tuple[float, float, float]:
    """The longest edge near the top of an area, as left, right and top: names stand below it. [m]"""
    top = max(float(point[1]) for point in outline)
    ends = zip(outline, [*outline[1:], outline[0]], strict=True)
    runs = [sorted((float(a[0]), float(b[0]))) for a, b in ends if max(a[1], b[1]) > top - NEAR_TOP_M]
    left, right = max(runs, key=lambda run: run[1] - run[0])
    return left, right, top


def _free(sheet: Sheet, words: Words) -> bool:
    """Whether words cover none that stand already."""
    return not any(touches(words.box(), other.box()) for other in sheet.texts())


def _write_over(sheet: Sheet, words: Words) -> None:
    """Words on a ground of paper, so that no line runs through them."""
    left, upper, right, lower = words.box()
    if min(abs(words.turn_deg), abs(abs(words.turn_deg) - 90.0)) > 0.5:
        sheet.add(words)  # a box around slanted words would hide too much
        return
    ground = (
        (left - 0.6, upper - 0.3),
        (right + 0.6, upper - 0.3),
        (right + 0.6, lower),
        (left - 0.6, lower),
    )
    sheet.add(Fill(ground, "paper"), words)


def _label_spot(name: str, shape: Polygon, metre: float) -> tuple[tuple[float, float], bool, float]:
    """Where a piece's number stands, whether it is turned, and its size; 0 where there is no room."""
    spot = shape.centroid if shape.contains(shape.centroid) else shape.representative_point()
    low_x, low_y, high_x, high_y = shape.bounds
    wide, high = (high_x - low_x) * metre, (high_y - low_y) * metre
    turned = wide < high and text_width(name, NORMAL, bold=True) > wide - 2
    along, across = (high, wide) if turned else (wide, high)
    fits = (s for s in (LARGE, NORMAL, SMALL) if text_width(name, s, bold=True) <= along - 1 and s <= across)
    return (float(spot.x), float(spot.y)), turned, next(fits, 0.0)


def _write_start(sheet: Sheet, window: _Window, chalk: Mapping[str, Any], shown: Polygon) -> None:
    """The start line's distances from the walls on both sides, where it is long enough for the words."""
    ends = sorted((tuple(chalk["start"]), tuple(chalk["end"])), key=lambda p: (round(p[0], 3), p[1]))
    # Read from its left end, the wall called left lies above, unless the line is turned round for it.
    swapped = ends[0] != tuple(chalk["start"])
    (ax, ay), (bx, by) = (window.at(point) for point in ends)
    turn = math.degrees(math.atan2(ay - by, bx - ax))
    length = math.hypot(bx - ax, by - ay) or 1.0
    above, below = ("right_m", "left_m") if swapped else ("left_m", "right_m")
    sides = ("on the left", "on the right") if abs(turn) > UPRIGHT_DEG else ("above", "below")
    lines = [
        f"Start line, {_pair(chalk[above])} to the wall {sides[0]}",
        f"{_pair(chalk[below])} to the wall {sides[1]}",
    ]
    up = (-math.sin(math.radians(turn)), -math.cos(math.radians(turn)))

    def along(words: Sequence[str], share: float) -> list[Words]:
        """The words above and below the line, so far along it as there is room."""
        found = []
        for line, off in zip(words, (1.0, -SMALL), strict=False):
            far = 3.0 + share * max(0.0, length - 6.0 - text_width(line, SMALL, bold=True))
            dx, dy = (bx - ax) / length, (by - ay) / length
            at = (ax + dx * far + up[0] * off, ay + dy * far + up[1] * off)
            found.append(Words(at, line, SMALL, bold=True, turn_deg=turn))
        return found

    one_side = min(
        (
            f"Start line, {_pair(chalk[key])} to the wall {side}"
            for key, side in zip((above, below), sides, strict=True)
        ),
        key=len,
    )
    told = [
        some
        for some in (lines, [one_side])
        if max(text_width(line, SMALL, bold=True) for line in some) <= length - 6
    ]
    tries = [along(some, share) for some in [*told, ["Start line"]] for share in ALONG]
    best = next((words for words in tries if all(_free(sheet, one) for one in words)), tries[-len(ALONG)])
    for words in best:
        at = words.at
        place = (at[0] / window.metre + window.corner[0], window.corner[1] - at[1] / window.metre)
        if shown.contains(Spot(place)):
            _write_over(sheet, words)


def _pair(values: Sequence[float]) -> str:
    first, last = float(values[0]), float(values[-1])
    if abs(first - last) < 0.0005:
        return length_text(first)
    return f"{length_text(first)} at its start and {length_text(last)} at its end"


def _mark_overlap(sheet: Sheet, paper: _Paper, place: tuple[int, int]) -> None:
    """Where this sheet meets its neighbors: the line to lay them on each other."""
    wide, high = paper.frame
    column, row = place
    lines: list[tuple[tuple[tuple[float, float], tuple[float, float]], int]] = []
    half = OVERLAP_MM / 2
    number = row * paper.across + column + 1
    if column > 0:
        lines.append((((half, 0), (half, high)), number - 1))
    if column < paper.across - 1:
        lines.append((((wide - half, 0), (wide - half, high)), number + 1))
    if row > 0:
        lines.append((((0, half), (wide, half)), number - paper.across))
    if row < paper.up - 1:
        lines.append((((0, high - half), (wide, high - half)), number + paper.across))
    for line, other in lines:
        sheet.add(Stroke(line, PENS["fine"], DASHES["chain"], soft=True, name="match"))
        (ax, ay), (bx, _) = line
        turned = ax == bx
        at = (ax - 0.8, high / 2) if turned else (wide / 2, ay - 0.8)
        words = f"Match sheet {other}"
        _write_over(sheet, Words(at, words, SMALL, "middle", soft=True, turn_deg=90.0 if turned else 0.0))


def _draw_check(sheet: Sheet, at: tuple[float, float], scale: float) -> None:
    """A line of 100 mm with what it must measure on paper."""
    x, y = at
    sheet.add(Stroke(((x, y), (x + CHECK_MM, y)), PENS["medium"], name="check"))
    for end in (x, x + CHECK_MM):
        sheet.add(Stroke(((end, y - 1.6), (end, y + 1.6)), PENS["medium"], name="check-end"))
    real = length_text(CHECK_MM / 1000 * scale)
    sheet.add(Words((x, y - 2.6), "This line is 100 mm (3 15/16 in) long on paper.", SMALL))
    sheet.add(
        Words(
            (x, y + 4.6), f"It stands for {real}. Print at 100 %, not fitted to the page.", SMALL, soft=True
        )
    )


def _draw_key_map(sheet: Sheet, paper: _Paper, place: tuple[int, int], at: tuple[float, float]) -> None:
    """All sheets small, this one filled, right of the scale bar where the paper is wide, else above it."""
    side = min(4.0, 9.0 / paper.up)
    width = side * paper.across
    left, top = paper.frame[0] - width, at[1]
    if left < 78.0 + CHECK_MM + 2.0:
        # On narrow paper the key lies inside the frame's lower right corner.
        left, top = paper.frame[0] - width - 1.5, paper.frame[1] - side * paper.up - 1.5
    for row in range(paper.up):
        for column in range(paper.across):
            x, y = left + column * side, top + row * side
            cell = ((x, y), (x + side, y), (x + side, y + side), (x, y + side))
            sheet.add(Fill(cell, "ink" if (column, row) == place else "paper"))
            sheet.add(Stroke(cell, PENS["narrow"], closed=True))
