"""Cut map: every roll laid flat, with its pieces, the cuts across and along it, and what is left."""

from __future__ import annotations

from typing import Any

import shapely
from shapely.geometry import Polygon as Shape
from shapely.geometry import box
from shapely.geometry.base import BaseGeometry

from undercourse.drawings.frame import TitleBlock, draw_scale_bar, finish_sheet
from undercourse.drawings.lettering import LARGE, NORMAL, SMALL, shorten, text_width
from undercourse.drawings.measures import area_text, inches_text, length_text, millimetres_text
from undercourse.drawings.scene import Point, Polygon, Polyline, RunningDimension, Scene, Text
from undercourse.drawings.sheet import PENS, Sheet, Stroke, Words, choose_scale, place_scene, running_reach

LEFT_MM = 2.0
TOUCH_M = 0.0005


def _number(value: Any, default: float = 0.0) -> float:
    return float(value) if isinstance(value, int | float) else default


def _boxes(pieces: list[dict[str, Any]]) -> list[tuple[dict[str, Any], float, float, float, float]]:
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
    longest = max((b[2] for name in rolls for b in _boxes(_of_roll(pieces, name))), default=0.0)

    def drawn(names: list[str], title: str) -> Sheet:
        part = {**layout, "pieces": [piece for name in names for piece in _of_roll(pieces, name)]}
        return draw_cut_map(part, block, title=title, width_mm=width_mm, longest_m=longest)

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
    longest_m: float = 0.0,
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
    longest_m : float
        Length that must fit the sheet besides, so that several sheets share a scale. [m]

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
    longest = max(longest_m, *ends.values())
    sheet.scale = choose_scale(longest, 0.0, width_mm - 22.0, 1.0)
    y = 1.0
    for name in order:
        length = _number(plan.get(name, {}).get("length_m"), roll_length_m or 0.0)
        y = _draw_roll(sheet, name, rolls[name], (ends[name], widths[name], length), y)
    draw_scale_bar(sheet, (LEFT_MM, y + 5.0), sheet.scale)
    notes = [
        "Every distance runs from the free end of its roll. Full lines across are cross cuts, "
        "dashed lines along are rips, thin hatched parts are offcuts."
    ]
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
    scene = Scene()
    scene.add(*_roll_primitives(placed, used, width, scale))
    reach = max(running_reach(p, scale) for p in scene.primitives if isinstance(p, RunningDimension))
    upper = top + 6.5 + reach
    place_scene(sheet, scene, scale, LEFT_MM, upper)
    low = upper + width * 1000 / scale
    if length > used + TOUCH_M:
        _draw_rest(sheet, LEFT_MM + used * 1000 / scale, upper, low)
    return low + 5.0


def _roll_primitives(
    placed: list[tuple[dict[str, Any], float, float, float, float]], used: float, width: float, scale: float
) -> list[Polygon | Polyline | Text | RunningDimension]:
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
    stations = [(0.0, "0")]
    for stop in stops:
        if stop - stations[-1][0] > 0.002:
            stations.append((stop, f"{inches_text(stop)}\n{millimetres_text(stop)}"))
    drawn.append(RunningDimension((0, 0), (1, 0), tuple(stations), 2.6))
    return drawn


def _cuts(
    placed: list[tuple[dict[str, Any], float, float, float, float]], used: float, width: float
) -> list[Polyline]:
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


def _piece_names(piece: dict[str, Any], spot: tuple[float, float, float, float], scale: float) -> list[Text]:
    """The number in the piece, turned where it fits only so."""
    start, end, near, far = spot
    words = str(piece.get("id") or "?")
    long_mm, high_mm = (end - start) * 1000 / scale, (far - near) * 1000 / scale
    at = ((start + end) / 2, -(near + far) / 2)
    for size in (LARGE, NORMAL, SMALL):
        width = text_width(words, size, bold=True) + 0.8
        if width <= long_mm and size * 0.95 <= high_mm:
            return [Text(at, words, size, "middle", True, shift_mm=(0, -size * 0.33))]
        if width <= high_mm and size * 0.95 <= long_mm:
            return [Text(at, words, size, "middle", True, turn_deg=90.0, shift_mm=(size * 0.33, 0))]
    return [Text(at, words, SMALL, "middle", True, shift_mm=(0, -SMALL * 0.33))]


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
