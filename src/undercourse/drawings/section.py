"""Section through an assembly: every layer top down, named, with its thickness and the heights."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

from undercourse.drawings.frame import TitleBlock, draw_scale_bar, finish_sheet
from undercourse.drawings.lettering import SMALL, text_width
from undercourse.drawings.materials import (
    choose_hatches,
    is_coat,
    is_existing,
    is_structure,
    layer_name,
    split_layers,
)
from undercourse.drawings.measures import join_range, length_text
from undercourse.drawings.scene import Leader, Point, Polygon, Polyline, Scene
from undercourse.drawings.sheet import (
    PENS,
    SCALES,
    Fill,
    Placing,
    Sheet,
    Stroke,
    Words,
    dimension_marks,
    leader_marks,
    place_scene,
    scale_text,
)

THIN_M, THIN_TIMES = 0.003, 3.0  # below this a layer is drawn so many times as thick, up to this thickness
COAT_M = 0.0002  # a primer or paint: drawn as one wide line
DEEP_M, DEEP_MM = 0.05, 18.0  # deeper layers are broken off at this height on paper
TALLEST_MM, FULL_SIZE_MM, STACK_MM, MISSING_MM = 66.0, 95.0, 62.0, 5.0


@dataclass(frozen=True)
class _Slice:
    """One layer as it is drawn."""

    layer: dict[str, Any]
    hatch: str
    thickness_m: float | None  # None: not stated
    drawn_mm: float
    note: str  # "", "thin", "coat", "deep" or "missing"


def _thickness(layer: dict[str, Any]) -> tuple[float | None, str]:
    """Thickness for drawing (the middle of a range) and as it is written."""
    value = layer.get("thickness_m")
    if is_coat(layer):
        return 0.0, "a coat"
    if isinstance(value, int | float) and not isinstance(value, bool):
        return float(value), length_text(float(value))
    ends: list[Any] = []
    if isinstance(value, dict):
        ends = [value.get("from"), value.get("to")]
    elif isinstance(value, list | tuple):
        ends = list(value)
    known = [float(end) for end in ends if isinstance(end, int | float)]
    if not known:
        return None, "" if is_structure(layer) else "thickness not stated"
    words = _between(min(known), max(known))
    return sum(known) / len(known), words


def _drawn(thickness_m: float | None, scale: float) -> tuple[float, str]:
    """Height on paper and why it is not the true one."""
    if thickness_m is None:
        return MISSING_MM, "missing"
    true_mm = thickness_m * 1000 / scale
    if thickness_m <= COAT_M:
        return PENS["heavy"], "coat"
    if thickness_m > DEEP_M and true_mm > DEEP_MM * 1.1:
        return DEEP_MM, "deep"
    if thickness_m < THIN_M - 1e-9:
        return min(true_mm * THIN_TIMES, THIN_M * 1000 / scale), "thin"
    return true_mm, ""


def _bottomless(layer: dict[str, Any], thickness_m: float | None) -> bool:
    """Structure of unstated depth is drawn broken off and counts for no height."""
    return thickness_m is None and is_structure(layer)


def _choose_scale(thicknesses: list[float | None]) -> float:
    """The largest ISO 5455 scale at which the layers fit with the deep ones broken off."""
    for scale in SCALES:
        # The names need 9 mm each beside it; full size is worth some height.
        tallest = max(TALLEST_MM if scale < 1 else FULL_SIZE_MM, 9.0 * len(thicknesses))
        if scale >= 0.2 and sum(_drawn(t, scale)[0] for t in thicknesses) <= tallest:
            return scale
    return SCALES[-1]


def draw_section(
    layers: list[dict[str, Any]],
    block: TitleBlock | None = None,
    *,
    title: str = "Section",
    width_mm: float = 170.0,
) -> Sheet:
    """Section of an assembly.

    Parameters
    ----------
    layers : list of dict
        Top first: ``role``, ``product``, ``thickness_m`` (a number, a range or None), and if known
        ``kind`` (a word for the material), ``existing`` (on site already) and ``note``.
    block : TitleBlock
        Job, area, line revision, date, hash.
    title : str
        Name of the drawing.
    width_mm : float
        Width of the sheet. [mm]

    Returns
    -------
    Sheet
        Layers are paths of class ``layer``; ``scale`` is the scale of all that is not marked otherwise.
    """
    layers, goods = split_layers(layers)
    sheet = Sheet(title, _describe(layers), width_mm)
    if not layers:
        sheet.add(Words((0, 6), "No layers are given.", soft=True))
        return finish_sheet(sheet, block or TitleBlock(), 8)
    read = [_thickness(layer)[0] for layer in layers]
    scale = _choose_scale(read)
    sheet.scale = scale
    slices = [
        _Slice(layer, hatch, thickness, *_drawn(thickness, scale))
        for layer, hatch, thickness in zip(layers, choose_hatches(layers), read, strict=True)
    ]
    slices = [
        replace(s, drawn_mm=14.0, note="deep") if _bottomless(s.layer, s.thickness_m) else s for s in slices
    ]
    left, top = 36.0, 4.5
    scene, edges = _stack(slices, scale)
    placing = place_scene(sheet, scene, scale, left, top)
    bottom = top + edges[-1]
    right = left + STACK_MM
    _draw_edges(sheet, slices, edges, left, right, top)
    leaders = [_leader(part, placing, edges[number], scale) for number, part in enumerate(slices)]
    column = right + 14.0
    marks, lowest = leader_marks(
        leaders, placing, column, 0.5, max(bottom, top + 9.0 * len(slices)), width_mm - column
    )
    sheet.add(*marks)
    foot = _draw_heights(sheet, slices, edges, left, top)
    below = max(bottom, lowest, foot) + 9.0
    draw_scale_bar(sheet, (left, below), scale)
    return finish_sheet(sheet, block or TitleBlock(), below + 5.5, _notes(slices, scale, goods))


def _stack(slices: list[_Slice], scale: float) -> tuple[Scene, list[float]]:
    """The layers as polygons, and the heights on paper of their edges from the top. [mm]"""
    scene, edges = Scene(), [0.0]
    width = STACK_MM * scale / 1000
    for part in slices:
        high, low = -edges[-1] * scale / 1000, -(edges[-1] + part.drawn_mm) * scale / 1000
        corners: tuple[Point, ...] = ((0, high), (width, high), (width, low), (0, low))
        if part.note == "coat":
            middle = (high + low) / 2
            scene.add(Polyline(((0, middle), (width, middle)), "heavy", "dashed", "layer"))
        else:
            scene.add(Polygon(corners, part.hatch, "narrow", soft=is_existing(part.layer), name="layer"))
        edges.append(edges[-1] + part.drawn_mm)
    return scene, edges


def _leader(part: _Slice, placing: Placing, edge: float, scale: float) -> Leader:
    share = 0.25 if part.note == "deep" else 0.5
    y = -(edge + part.drawn_mm * share) * scale / 1000
    x = (STACK_MM - 2.6) * scale / 1000
    words = layer_name(part.layer)
    under = [text for text in (_thickness(part.layer)[1],) if text]
    role = str(part.layer.get("role") or "").replace("_", " ")
    if role and role.lower() not in words.lower():
        under.insert(0, role)
    if part.note in ("thin", "coat", "deep"):
        under.append({"thin": "drawn thicker", "coat": "drawn as a line", "deep": "broken off"}[part.note])
    if part.layer.get("certain") is False:
        under.append("if it is needed")
    if part.layer.get("note"):
        under.append(str(part.layer["note"]))
    return Leader((x, y), words, ", ".join(under), is_existing(part.layer))


def _draw_edges(
    sheet: Sheet, slices: list[_Slice], edges: list[float], left: float, right: float, top: float
) -> None:
    """Wide lines where people walk and where new work begins; zigzags where a layer is broken off."""
    sheet.add(Stroke(((left - 3, top), (right + 3, top)), PENS["heavy"]))
    start = next((i for i, part in enumerate(slices) if is_existing(part.layer)), None)
    if start:
        y = top + edges[start]
        sheet.add(Stroke(((left - 3, y), (right + 3, y)), PENS["wide"]))
    for number, part in enumerate(slices):
        if part.note == "deep":
            y = top + (edges[number] + edges[number + 1]) / 2
            steps = ((-2, 1.2), (27, 1.2), (29.5, -1.4), (32.5, 3.2), (35, 1.2), (STACK_MM + 2, 1.2))
            points = tuple((left + dx, y + dy) for dx, dy in steps)
            gap = tuple((x, y2 - 1.6) for x, y2 in points)
            sheet.add(Fill((*points, *reversed(gap)), "paper"))
            sheet.add(Stroke(points, PENS["narrow"]), Stroke(gap, PENS["narrow"]))


def _draw_heights(sheet: Sheet, slices: list[_Slice], edges: list[float], left: float, top: float) -> float:
    """Height of the new work, and of all layers, left of the drawing; returns the lowest line used."""
    new = [i for i, part in enumerate(slices) if not is_existing(part.layer)]
    outer = 9.0
    if new and len(new) < len(slices) and new == list(range(len(new))):
        low, outer = top + edges[len(new)], 30.0
        sheet.add(*dimension_marks((left, low), (left, top), "", 7.0))
        heights = _sum_text([slices[i] for i in new])
        words = ["new work", *heights.replace(" to ", " to\n").replace(" (", "\n(").split("\n")]
        y = max((top + low) / 2 - len(words) * SMALL * 0.62 + SMALL, top + SMALL * 1.1)
        for number, line in enumerate(words):
            text = Words((left - 9.0, y), line, SMALL, "end", soft=number == 0)
            sheet.add(text)
            if number and any(slices[i].note for i in new):
                sheet.add(Stroke(((text.box()[0], y + 0.5), (left - 9.0, y + 0.5)), PENS["fine"]))
            y += SMALL * 1.24
    counted = [part for part in slices if not _bottomless(part.layer, part.thickness_m)]
    true = all(part.note == "" for part in counted)
    words_all = f"{'all layers' if counted == slices else 'above structure'} {_sum_text(counted)}"
    bottom = top + edges[slices.index(counted[-1]) + 1] if counted else top + edges[-1]
    if text_width(words_all, SMALL) <= bottom - top - 1:
        sheet.add(*dimension_marks((left, bottom), (left, top), words_all, outer, true))
        return bottom
    # Too long to stand along its dimension line: below the drawing, at its foot.
    sheet.add(*dimension_marks((left, bottom), (left, top), "", outer))
    foot = top + edges[-1]
    text = Words((0, foot + 4.2), words_all, SMALL)
    sheet.add(text)
    if not true:
        sheet.add(Stroke(((0, foot + 4.7), (text.width(), foot + 4.7)), PENS["fine"]))
    return foot + 5.0


def _sum_text(slices: list[_Slice]) -> str:
    low = high = 0.0
    for part in slices:
        value = part.layer.get("thickness_m")
        if isinstance(value, dict):
            value = [value.get("from"), value.get("to")]
        ends = value if isinstance(value, list | tuple) else [value]
        known = [float(end) for end in ends if isinstance(end, int | float)]
        low += min(known, default=0.0)
        high += max(known, default=0.0)
    more = any(
        part.thickness_m is None
        for part in slices
        if not is_coat(part.layer) and not _bottomless(part.layer, part.thickness_m)
    )
    if more and not high:
        return "not stated"
    words = _between(low, high)
    return f"over {words}" if more else words


def _between(low: float, high: float) -> str:
    return length_text(low) if low == high else join_range(length_text(low), length_text(high))


def total_thickness_text(layers: list[dict[str, Any]]) -> str:
    """Height of layers in both systems: a range where one is a range, ``over`` where one is not stated."""
    return _sum_text([_Slice(layer, "none", _thickness(layer)[0], 0.0, "") for layer in layers])


def _notes(slices: list[_Slice], scale: float, goods: list[dict[str, Any]]) -> list[str]:
    found = {part.note for part in slices}
    thin = f"Layers below {length_text(THIN_M)} are not to scale: drawn {THIN_TIMES:g}x"
    words = {
        "thin": f"{thin}, at most as thick as {length_text(THIN_M)}.",
        "coat": "Coats are drawn as one line.",
        "deep": "Layers cut by a pair of zigzag lines are broken off.",
        "missing": "A layer without a stated thickness has no true height here and is left out of the sums.",
    }
    listed = [text for note, text in words.items() if note in found]
    start = f"Scale {scale_text(scale)} across the layers." if listed else ""
    lines = [" ".join([start, *listed])] if listed else []
    if found & {"thin", "coat", "deep", "missing"}:
        lines.append("Underlined heights are sums of true thicknesses, not lengths on this drawing.")
    if goods:
        lines.append(f"Not drawn, but part of it: {', '.join(layer_name(layer) for layer in goods)}.")
    return lines


def _describe(layers: list[dict[str, Any]]) -> str:
    names = [", ".join(filter(None, (layer_name(layer), _thickness(layer)[1]))) for layer in layers]
    if not names:
        return "Section without layers."
    return (
        f"Section, from the top down: {'; '.join(names)}. All layers together {total_thickness_text(layers)}."
    )
