"""Cut map: every roll laid flat, with its pieces, the cuts across and along it, and what is left."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import shapely
from shapely.geometry import Polygon as Shape
from shapely.geometry import box
from shapely.geometry.base import BaseGeometry

from undercourse.drawings.frame import TitleBlock, draw_scale_bar, finish_sheet
from undercourse.drawings.lettering import LARGE, NORMAL, SMALL, shorten, text_width
from undercourse.drawings.measures import area_text, inches_text, length_text, millimetres_text
from undercourse.drawings.scene import Point, Polygon, Polyline, RunningDimension, Scene, Text
from undercourse.drawings.sheet import (
    PENS,
    SCALES,
    Sheet,
    Stroke,
    Words,
    choose_scale,
    place_scene,
    running_reach,
)

LEFT_MM, RIGHT_MM = 2.0, 20.0
NEXT_LEFT_MM = 11.0  # room for the value at the start of a row
TOUCH_M = 0.0005
# A roll whose pieces would be too small to name is drawn larger, in so many rows at most.
MOST_ROWS, LARGEST_SCALE, MOST_SIZES = 3, 20.0, 24
Placed = tuple[dict[str, Any], float, float, float, float]


def _number(value: Any, default: float = 0.0) -> float:
    return float(value) if isinstance(value, int | float) else default


def _boxes(pieces: list[dict[str, Any]]) -> list[Placed]:
    """Each piece with its place on the roll: from, to along the roll; from, to across it. [m]

    Pieces without a place follow one another in the order given.
    """
    placed, end = [], 0.0
    for piece in pieces:
        length, width = _number(piece.get("length_m")), _number(piece.get("width_m"))
        at = piece.get("at") or (end, 0.0)
        along, across = float(at[0]), float(at[1])
        end = max(end, along + length)
        placed.append((piece, along, along + length, across, across + width))
    return placed


def draw_cut_maps(
    layout: dict[str, Any],
    block: TitleBlock | None = None,
    *,
    width_mm: float = 170.0,
    tallest_mm: float = 220.0,
) -> list[Sheet]:
    """The cut map on as many sheets as a page of ``tallest_mm`` needs, all at one scale."""
    pieces = list(layout.get("pieces") or ())
    rolls = sorted({str(piece.get("roll", "1")) for piece in pieces}, key=lambda name: (len(name), name))
    scale = _scale([_boxes(_of_roll(pieces, name)) for name in rolls], width_mm)

    def drawn(names: list[str], title: str) -> Sheet:
        part = {**layout, "pieces": [piece for name in names for piece in _of_roll(pieces, name)]}
        return draw_cut_map(part, block, title=title, width_mm=width_mm, scale=scale)

    groups: list[list[str]] = []
    for name in rolls:
        if groups and drawn([*groups[-1], name], "Cut map").height <= tallest_mm:
            groups[-1].append(name)
        else:
            groups.append([name])
    if len(groups) < 2:
        return [drawn(rolls, "Cut map")]
    return [drawn(names, f"Cut map {n} of {len(groups)}") for n, names in enumerate(groups, 1)]


def _of_roll(pieces: list[dict[str, Any]], name: str) -> list[dict[str, Any]]:
    return [piece for piece in pieces if str(piece.get("roll", "1")) == name]


def draw_cut_map(
    layout: dict[str, Any],
    block: TitleBlock | None = None,
    *,
    roll_width_m: float | None = None,
    roll_length_m: float | None = None,
    scale: float | None = None,
    title: str = "Cut map",
    width_mm: float = 170.0,
) -> Sheet:
    """Cut map of all rolls of a layout, at one scale.

    Parameters
    ----------
    layout : dict
        ``pieces`` of ``id``, ``width_m``, ``length_m``, ``roll`` and ``at`` (along, across the roll, in
        metres), and if known ``roll_plan`` of ``roll``, ``length_m``, ``used_m``.
    roll_width_m, roll_length_m : float, optional
        Size of a roll where the layout does not say; else the width is that of the widest piece. [m]
    scale : float, optional
        Scale that several sheets share; else the smallest at which every piece can be named, as far as a roll
        then takes no more than three rows.

    Returns
    -------
    Sheet
        Rolls are paths of class ``roll``, pieces of class ``piece``, cross cuts of class ``cut``, rips of
        class ``rip``, leftovers of class ``offcut``, all at ``scale``.
    """
    rolls: dict[str, list[dict[str, Any]]] = {}
    for piece in layout.get("pieces") or ():
        rolls.setdefault(str(piece.get("roll", "1")), []).append(piece)
    sheet = Sheet(title, _describe(rolls), width_mm)
    if not rolls:
        sheet.add(Words((0, 6), "No pieces are cut.", soft=True))
        return finish_sheet(sheet, block or TitleBlock(), 8)
    plan = {str(roll.get("roll")): roll for roll in layout.get("roll_plan") or ()}
    order = sorted(rolls, key=lambda name: (len(name), name))
    ends = {name: max(b[2] for b in _boxes(rolls[name])) for name in order}
    widths = {name: roll_width_m or max(b[4] for b in _boxes(rolls[name])) for name in order}
    sheet.scale = scale or _scale([_boxes(rolls[name]) for name in order], width_mm)
    y = 1.0
    for name in order:
        length = _number(plan.get(name, {}).get("length_m"), roll_length_m or 0.0)
        y = _draw_roll(sheet, name, rolls[name], (ends[name], widths[name], length), y)
    draw_scale_bar(sheet, (LEFT_MM, y + 5.0), sheet.scale)
    notes = [
        "Every distance runs from the free end of its roll. Full lines across are cross cuts, "
        "dashed lines along are rips, thin hatched parts are offcuts."
    ]
    if sizes := _sizes_note([one for name in order for one in _boxes(rolls[name])], sheet.scale):
        notes.append(sizes)
    if any(len(_rows(_boxes(rolls[name]), _reach(width_mm, sheet.scale)) or ()) > 1 for name in order):
        notes.append("A roll drawn in several rows goes on in the next row.")
    return finish_sheet(sheet, block or TitleBlock(), y + 10.5, notes)


def _draw_roll(
    sheet: Sheet, name: str, pieces: list[dict[str, Any]], size: tuple[float, float, float], top: float
) -> float:
    """One roll with its heading and its distances; returns the lowest line used. [mm]"""
    used, width, length = size
    scale = sheet.scale or 1.0
    placed = _boxes(pieces)
    heading = f"Roll {name}"
    sheet.add(Words((0, top + 4.0), heading, NORMAL, bold=True))
    words = f"{length_text(width)} wide, {length_text(used)} cut off"
    if length > used + TOUCH_M:
        words += f" of {length_text(length)}; {length_text(length - used)} stays on the roll"
    elif length:
        words += f" of {length_text(length)}"
    after = text_width(heading, NORMAL, bold=True) + 3
    sheet.add(Words((after, top + 4.0), shorten(words, sheet.width - after, SMALL), SMALL, soft=True))
    upper, low = top + 6.5, top
    for start, end in _rows(placed, _reach(sheet.width, scale)) or [(0.0, used)]:
        scene = Scene()
        scene.add(*_row_primitives(placed, (start, end), width, scale))
        reach = max(running_reach(p, scale) for p in scene.primitives if isinstance(p, RunningDimension))
        upper += reach
        left = NEXT_LEFT_MM if start else LEFT_MM
        place_scene(sheet, scene, scale, left, upper)
        low = upper + width * 1000 / scale
        if length > used + TOUCH_M and end > used - TOUCH_M:
            _draw_rest(sheet, left + (end - start) * 1000 / scale, upper, low)
        upper = low + 3.0
    return low + 5.0


def _reach(width_mm: float, scale: float) -> float:
    """How much of a roll one row holds. [m]"""
    return (width_mm - LEFT_MM - RIGHT_MM) * scale / 1000


def _rows(placed: list[Placed], reach: float) -> list[tuple[float, float]] | None:
    """Where a roll is parted into rows, at cuts over its whole width; None where a part is too long. [m]"""
    stops = sorted({round(end, 4) for _, _, end, _, _ in placed})
    through = [x for x in stops if not any(a + TOUCH_M < x < b - TOUCH_M for _, a, b, _, _ in placed)]
    rows = [(0.0, 0.0)]
    for stop in through:
        start, end = rows[-1]
        if stop - start <= reach * (1 + 1e-9):
            rows[-1] = (start, stop)
        elif end > start and stop - end <= reach * (1 + 1e-9):
            rows.append((end, stop))
        else:
            return None
    return rows


def _scale(rolls: list[list[Placed]], width_mm: float) -> float:
    """The smallest scale at which all pieces can be named, else the one at which each roll is one row."""
    longest = max((b[2] for placed in rolls for b in placed), default=0.0)
    whole = choose_scale(longest, 0.0, width_mm - LEFT_MM - RIGHT_MM, 1.0)
    best, most = whole, -1
    for scale in (one for one in reversed(SCALES) if LARGEST_SCALE <= one <= whole or one == whole):
        rows = [_rows(placed, _reach(width_mm, scale)) for placed in rolls]
        if scale < whole and not all(row and len(row) <= MOST_ROWS for row in rows):
            break
        named = sum(
            _name_in(str(p.get("id") or "?"), *_room(box, scale)) is not None
            for placed in rolls
            for p, *box in placed
        )
        if named > most:
            best, most = scale, named
    return best


def _row_primitives(
    whole: list[Placed], row: tuple[float, float], width: float, scale: float
) -> list[Polygon | Polyline | Text | RunningDimension]:
    """One row of a roll, drawn from its own start; the distances run from the roll's free end."""
    from_m, used = row[0], row[1] - row[0]
    placed: list[Placed] = [
        (piece, start - from_m, end - from_m, near, far)
        for piece, start, end, near, far in whole
        if row[0] - TOUCH_M < start and end < row[1] + TOUCH_M
    ]
    drawn: list[Polygon | Polyline | Text | RunningDimension] = []
    corners: tuple[Point, ...] = ((0, 0), (used, 0), (used, -width), (0, -width))
    rest: BaseGeometry = box(0, -width, used, 0)
    for _, start, end, near, far in placed:
        rest = rest.difference(box(start - TOUCH_M, -far - TOUCH_M, end + TOUCH_M, -near + TOUCH_M))
    for part in sorted(shapely.get_parts(rest), key=lambda p: p.bounds):
        if (
            isinstance(part, Shape)
            and min(part.bounds[2] - part.bounds[0], part.bounds[3] - part.bounds[1]) > 0.005
        ):
            outline = tuple((float(x), float(y)) for x, y in part.exterior.coords[:-1])
            drawn.append(Polygon(outline, "offcut", "fine", soft=True, name="offcut"))
    drawn.append(Polygon(corners, "none", "wide", name="roll"))
    for piece, start, end, near, far in placed:
        outline = ((start, -near), (end, -near), (end, -far), (start, -far))
        drawn.append(Polygon(outline, "none", "narrow", name="piece"))
        drawn += _piece_names(piece, (start, end, near, far), scale)
    drawn += _cuts(placed, used, width)
    stops = sorted(
        {round(end, 4) for _, _, end, _, _ in placed} | {round(start, 4) for _, start, *_ in placed}
    )
    stations = [(0.0, _distance(from_m) if from_m else "0")]
    for stop in stops:
        if stop - stations[-1][0] > 0.002:
            stations.append((stop, _distance(stop + from_m)))
    drawn.append(RunningDimension((0, 0), (1, 0), tuple(stations), 2.6))
    return drawn


def _distance(metres: float) -> str:
    return f"{inches_text(metres)}\n{millimetres_text(metres)}"


def _cuts(placed: list[Placed], used: float, width: float) -> list[Polyline]:
    """Cross cuts where a cut runs over the whole width, rips where a piece ends before it."""
    across = sorted({round(value, 4) for _, start, end, *_ in placed for value in (start, end)})
    cuts = []
    for x in across:
        through = any(start + TOUCH_M < x < end - TOUCH_M for _, start, end, _, _ in placed)
        if not through and x > TOUCH_M:
            cuts.append(Polyline(((x, 0), (x, -width)), "medium", "solid", "cut"))
    for _, start, end, near, far in placed:
        for y in (near, far):
            if TOUCH_M < y < width - TOUCH_M:
                cuts.append(Polyline(((start, -y), (end, -y)), "medium", "dashed", "rip"))
    return list(dict.fromkeys(cuts))


def _room(box: Sequence[float], scale: float) -> tuple[float, float]:
    """Length and width of a piece on paper. [mm]"""
    start, end, near, far = box
    return (end - start) * 1000 / scale, (far - near) * 1000 / scale


def _name_in(
    words: str, long_mm: float, high_mm: float, below: Sequence[str] = ()
) -> tuple[float, bool] | None:
    """Size of the name, and whether it is turned, where it and the lines below it have room."""
    for size in (LARGE, NORMAL, SMALL):
        widths = [text_width(words, size, bold=True), *(text_width(one, SMALL) for one in below)]
        wide, tall = max(widths) + 0.8, size * 0.95 + len(below) * SMALL * 1.12
        if wide <= long_mm and tall <= high_mm:
            return size, False
        if wide <= high_mm and tall <= long_mm:
            return size, True
    return None


def _fitting(
    piece: dict[str, Any], spot: Sequence[float], scale: float
) -> tuple[tuple[str, ...], tuple[float, bool] | None]:
    """The lines of size that have room below a piece's name, and how the name then stands."""
    words, room = str(piece.get("id") or "?"), _room(spot, scale)
    inches, metric = _size(spot)
    for below in ((inches, metric), (metric,)):
        if (fits := _name_in(words, *room, below)) is not None:
            return below, fits
    return (), _name_in(words, *room)


def _size(spot: Sequence[float]) -> tuple[str, str]:
    start, end, near, far = spot
    inches = f"{inches_text(end - start)} × {inches_text(far - near)}"
    return inches, f"{millimetres_text(end - start)} × {millimetres_text(far - near)}"


def _sizes_note(placed: list[Placed], scale: float) -> str:
    """Length by width of the pieces that are too small on the drawing to hold it."""
    alike: dict[str, list[str]] = {}
    for piece, *spot in placed:
        if not _fitting(piece, spot, scale)[0]:
            inches, metric = _size(spot)
            alike.setdefault(f"{inches} ({metric})", []).append(str(piece.get("id") or "?"))
    shown = [f"{', '.join(names)}: {size}" for size, names in alike.items()]
    if len(shown) > MOST_SIZES:
        shown[MOST_SIZES:] = ["the rest in the cut list"]
    return f"Length by width: {'; '.join(shown)}." if shown else ""


def _piece_names(piece: dict[str, Any], spot: tuple[float, float, float, float], scale: float) -> list[Text]:
    """The number in the piece and, where there is room, its length and width."""
    start, end, near, far = spot
    words = str(piece.get("id") or "?")
    at = ((start + end) / 2, -(near + far) / 2)
    below, fits = _fitting(piece, spot, scale)
    size, turned = fits or (SMALL, False)
    down = -size * 0.33 + len(below) * SMALL * 0.56
    found = []
    for line, letter in ((words, size), *((one, SMALL) for one in below)):
        shift = (-down, 0.0) if turned else (0.0, down)
        found.append(
            Text(
                at,
                line,
                letter,
                "middle",
                letter is size and line is words,
                line is not words,
                90.0 if turned else 0.0,
                shift,
            )
        )
        down -= SMALL * 1.12
    return found


def _draw_rest(sheet: Sheet, x: float, upper: float, low: float) -> None:
    """The rest of the roll goes on: two short lines and a zigzag."""
    middle = (upper + low) / 2
    pen = PENS["narrow"]
    sheet.add(Stroke(((x, upper), (x + 9, upper)), pen), Stroke(((x, low), (x + 9, low)), pen))
    points = ((x + 9, upper - 1), (x + 9, middle - 1), (x + 7.6, middle - 0.4), (x + 10.4, middle + 0.4))
    sheet.add(Stroke((*points, (x + 9, middle + 1), (x + 9, low + 1)), pen))


def _describe(rolls: dict[str, list[dict[str, Any]]]) -> str:
    count = sum(len(pieces) for pieces in rolls.values())
    total = sum(_number(p.get("length_m")) * _number(p.get("width_m")) for ps in rolls.values() for p in ps)
    named = f"{len(rolls)} roll{'' if len(rolls) == 1 else 's'}, {count} piece{'' if count == 1 else 's'}"
    return f"Cut map of {named}, {area_text(total)} of pieces."
