"""Lines of a chart on paper: broken at gaps, cut at the frame, thinned, and where they run."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Sequence

from undercourse.drawings.scene import Point

Box = tuple[float, float, float, float]  # left, top, right, bottom
Piece = tuple[Point, ...]
THINNEST_MM = 0.02  # corners nearer to the line without them are left out


def split_gaps(points: Iterable[Point]) -> list[Piece]:
    """Runs of points without a missing coordinate (NaN)."""
    runs: list[list[Point]] = [[]]
    for point in points:
        if math.isnan(point[0]) or math.isnan(point[1]):
            runs.append([])
        else:
            runs[-1].append(point)
    return [tuple(run) for run in runs if run]


def clip_segment(start: Point, end: Point, box: Box) -> tuple[Point, Point] | None:
    """The part of a segment inside a box (Liang and Barsky), None where it misses."""
    dx, dy = end[0] - start[0], end[1] - start[1]
    first, last = 0.0, 1.0
    for way, room in (
        (-dx, start[0] - box[0]),
        (dx, box[2] - start[0]),
        (-dy, start[1] - box[1]),
        (dy, box[3] - start[1]),
    ):
        if way == 0:
            if room < 0:
                return None
            continue
        share = room / way
        if way < 0:
            first = max(first, share)
        else:
            last = min(last, share)
        if first > last:
            return None
    inner = [start if first == 0 else (start[0] + first * dx, start[1] + first * dy)]
    inner.append(end if last == 1 else (start[0] + last * dx, start[1] + last * dy))
    return inner[0], inner[1]


def clip_run(run: Piece, box: Box) -> list[Piece]:
    """The pieces of a run that lie inside a box; a run of one point stays a point."""
    if len(run) == 1:
        return [run] if clip_segment(run[0], run[0], box) else []
    pieces: list[list[Point]] = []
    for start, end in itertools.pairwise(run):
        cut = clip_segment(start, end, box)
        if cut is None:
            continue
        if pieces and pieces[-1][-1] == cut[0]:
            pieces[-1].append(cut[1])
        else:
            pieces.append(list(cut))
    return [thin_run(tuple(piece)) if len(set(piece)) > 1 else (piece[0],) for piece in pieces]


def clip_outline(outline: Sequence[Point], box: Box) -> Piece:
    """A filled outline cut at a box (Sutherland and Hodgman); empty where nothing is left."""
    points = list(outline)
    for axis, bound, sign in ((0, box[0], 1), (0, box[2], -1), (1, box[1], 1), (1, box[3], -1)):
        kept: list[Point] = []
        for before, here in zip(points[-1:] + points[:-1], points, strict=True):
            out_before = (before[axis] - bound) * sign < 0
            out_here = (here[axis] - bound) * sign < 0
            if out_before != out_here:
                share = (bound - before[axis]) / (here[axis] - before[axis])
                cross = [before[k] + share * (here[k] - before[k]) for k in (0, 1)]
                cross[axis] = bound
                kept.append((cross[0], cross[1]))
            if not out_here:
                kept.append(here)
        points = kept
    return tuple(points)


def _offset(point: Point, start: Point, end: Point) -> float:
    """Distance of a point from a segment."""
    dx, dy = end[0] - start[0], end[1] - start[1]
    square = dx * dx + dy * dy
    share = 0.0 if square == 0 else ((point[0] - start[0]) * dx + (point[1] - start[1]) * dy) / square
    share = min(max(share, 0.0), 1.0)
    return math.hypot(point[0] - start[0] - share * dx, point[1] - start[1] - share * dy)


def thin_run(run: Piece) -> Piece:
    """The run without corners that nobody would miss (Ramer, Douglas and Peucker)."""
    keep = {0, len(run) - 1}
    spans = [(0, len(run) - 1)]
    while spans:
        first, last = spans.pop()
        if last - first < 2:
            continue
        far = max(range(first + 1, last), key=lambda k: _offset(run[k], run[first], run[last]))
        if _offset(run[far], run[first], run[last]) > THINNEST_MM:
            keep.add(far)
            spans += [(first, far), (far, last)]
    return tuple(run[k] for k in sorted(keep))


def slab_extent(piece: Piece, low: float, high: float, along: int) -> tuple[float, float] | None:
    """How far a line reaches across where its coordinate ``along`` (0 is x) is from ``low`` to ``high``."""
    across = 1 - along
    found: list[float] = []
    for start, end in zip(piece, piece[1:] or piece, strict=False):
        a, b = start[along], end[along]
        if max(a, b) < low or min(a, b) > high:
            continue
        if a == b:
            found += [start[across], end[across]]
            continue
        for bound in (min(max(a, low), high), min(max(b, low), high)):
            found.append(start[across] + (bound - a) / (b - a) * (end[across] - start[across]))
    return (min(found), max(found)) if found else None


def walk_back(piece: Piece, step: float) -> list[tuple[Point, float]]:
    """Points every ``step`` along a line from its end to its start, with the way from the end."""
    spots = [(piece[-1], 0.0)]
    done = way = 0.0
    for end, start in zip(piece[::-1], piece[-2::-1], strict=False):
        length = math.dist(start, end)
        while length and way + step <= done + length:
            way += step
            share = (way - done) / length
            spots.append(((end[0] + share * (start[0] - end[0]), end[1] + share * (start[1] - end[1])), way))
        done += length
    return spots
