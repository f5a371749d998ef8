"""Checks a layout document against the areas and the sheet, with general geometry only.

Nothing here uses the layout package: outlines are compared by shapely, rolls by plain arithmetic.
"""

from __future__ import annotations

import itertools
import math
from typing import Any

import numpy as np
import shapely
from shapely import Polygon, STRtree
from shapely.affinity import rotate

EPS = 2e-5  # coordinates are written to the micrometre, roll places to the tenth of a millimetre


def faults(document: dict[str, Any], areas: dict[str, Polygon], sheet: dict[str, Any]) -> list[str]:
    """Everything that is wrong with a layout; an empty list when nothing is."""
    found = _labels(document)
    uncovered = {entry["area"] for entry in document["uncovered"]}
    for area in document["areas"]:
        outline = areas[area["name"]]
        if f'area "{area["name"]}"' in uncovered:
            found += [f"{area['name']}: uncovered, but has strips"] if area["strips"] else []
        else:
            found += _floor(document, area, outline, sheet)
        if not math.isclose(area["net_area_m2"], outline.area, abs_tol=1e-5):
            found.append(f"{area['name']}: net area {area['net_area_m2']}, not {outline.area}")
        if not math.isclose(area["edge_length_m"], outline.length, abs_tol=1e-3):
            found.append(f"{area['name']}: edge length {area['edge_length_m']}, not {outline.length}")
    return found + _rolls(document, sheet) + _totals(document, areas, sheet)


def _labels(document: dict[str, Any]) -> list[str]:
    pieces = [piece["id"] for piece in document["pieces"]]
    strips = [strip["id"] for area in document["areas"] for strip in area["strips"]]
    listed = [piece for area in document["areas"] for strip in area["strips"] for piece in strip["pieces"]]
    found = []
    if len(set(pieces)) != len(pieces) or len(set(strips)) != len(strips):
        found.append("a label is used twice")
    if sorted(pieces) != sorted(listed):
        found.append("strips do not list exactly the pieces")
    return found


def _floor(
    document: dict[str, Any], area: dict[str, Any], outline: Polygon, sheet: dict[str, Any]
) -> list[str]:
    name, gap, edge = area["name"], sheet["seam_gap_m"], sheet["edge_gap_m"]
    entries = [piece for piece in document["pieces"] if piece["area"] == name]
    shapes = [Polygon(piece["outline"]) for piece in entries]
    ways = {strip["id"]: strip["direction_deg"] for strip in area["strips"]}
    found = []
    for piece, shape in zip(entries, shapes, strict=True):
        if not shape.is_valid:
            found.append(f"{piece['id']}: outline is not valid")
            return found
        left, low, right, high = rotate(shape, -ways[piece["strip"]], origin=(0, 0)).bounds
        if right - left > piece["length_m"] + EPS or high - low > piece["width_m"] + EPS:
            found.append(f"{piece['id']}: larger on the floor than cut")
        if not outline.buffer(EPS).contains(shape):
            found.append(f"{piece['id']}: reaches out of the area")
        elif shape.distance(outline.boundary) < edge - EPS:
            found.append(f"{piece['id']}: nearer than {edge} m to an edge")
        least_width = sheet["smallest_piece_m"] if sheet["least_width_m"] is None else sheet["least_width_m"]
        short = right - left < sheet["smallest_piece_m"] - EPS or high - low < least_width - EPS
        noted = any("under the smallest" in note and piece["strip"] in note for note in area["notes"])
        if short and not noted:
            found.append(f"{piece['id']}: under the smallest piece")
    found += _neighbors(entries, shapes, gap)
    found += _coverage(area, outline, shapes, sheet)
    return found + _stagger(area, entries, shapes, sheet)


def _neighbors(entries: list[dict[str, Any]], shapes: list[Polygon], gap: float) -> list[str]:
    found = []
    tree = STRtree(shapes)
    for one, other in tree.query(shapes, predicate="dwithin", distance=max(gap, 0.0) + 0.01).T:
        if one >= other:
            continue
        names = f"{entries[one]['id']} and {entries[other]['id']}"
        shared = shapes[one].intersection(shapes[other])
        if gap >= 0 and shared.area > 1e-7 and _is_thicker(shared, EPS):
            found.append(f"{names} overlap")
        if gap > 0 and shapes[one].intersection(shapes[other].buffer(gap - EPS)).area > 4 * gap**2:
            found.append(f"{names} are nearer than {gap} m")
        if gap < 0 and shared.area > 1e-6 and _is_thicker(shared, -gap + 1e-4):
            found.append(f"{names} lap by more than {-gap} m")
    return found


def _is_thicker(shape: shapely.Geometry, size: float) -> bool:
    """Whether a circle of this diameter, but for a hundredth, fits in a shape."""
    # The general buffer is not exact to the last hundredth.
    return any(not part.buffer(-size / 2 * 1.01 - 1e-6).is_empty for part in shapely.get_parts(shape))


def _coverage(
    area: dict[str, Any], outline: Polygon, shapes: list[Polygon], sheet: dict[str, Any]
) -> list[str]:
    gap, edge = max(sheet["seam_gap_m"], 0.001), sheet["edge_gap_m"]
    with np.errstate(all="ignore"):  # sharp corners divide by nearly nothing inside the library
        wanted = outline.buffer(-edge, join_style="mitre", mitre_limit=2.0)
    left = wanted.difference(shapely.union_all(shapes))
    found = []
    # Four gaps that meet leave room for a circle of 0.71 gap; half a millimetre is the plan's rounding.
    if not left.buffer(-0.75 * gap - 0.0006).is_empty:
        found.append(f"{area['name']}: a spot wider than the seam gap is not covered")
    allowed = gap * (area["seam_length_m"] + 0.1) + 0.0006 * outline.length
    if left.area > allowed:
        found.append(f"{area['name']}: {left.area} m2 left open, the seams allow {allowed}")
    if sheet["seam_gap_m"] > 0 and left.area < sheet["seam_gap_m"] * area["seam_length_m"] * 0.9 - 1e-4:
        found.append(f"{area['name']}: seams are longer than the gaps found")
    return found


def _stagger(
    area: dict[str, Any], entries: list[dict[str, Any]], shapes: list[Polygon], sheet: dict[str, Any]
) -> list[str]:
    """Joints square to the strips keep the stagger where they meet end to end, unless a note says so."""
    gap, found = sheet["seam_gap_m"], []
    if not sheet["head_joints_allowed"] and any(
        strip["across"] or len(strip["pieces"]) > 1 for strip in area["strips"]
    ):
        found.append(f"{area['name']}: head joints are not allowed")
    if sheet["one_direction"] and len({strip["direction_deg"] for strip in area["strips"]}) > 1:
        found.append(f"{area['name']}: pieces run in several directions")
    turns = {s["id"]: (s["direction_deg"] - 90.0 * s["across"]) % 180.0 for s in area["strips"]}
    for turned in set(turns.values()):
        sides = [
            (piece["strip"], *_upright_sides(rotate(shape, -turned, origin=(0, 0))))
            for piece, shape in zip(entries, shapes, strict=True)
            if turns[piece["strip"]] == turned
        ]
        joints = [
            ({one, other}, (a[0] + b[0]) / 2, max(a[1], b[1]), min(a[2], b[2]))
            for one, _, a in sides
            for other, b, _ in sides
            if abs(b[0] - a[0] - gap) < 1e-4 and min(a[2], b[2]) - max(a[1], b[1]) > max(-gap, 0.0) + 0.01
        ]
        for one, other in itertools.combinations(joints, 2):
            meet = min(abs(one[3] - other[2] + gap), abs(other[3] - one[2] + gap)) < 1e-4
            # One joint is in parts around an obstacle.
            apart = not one[0] & other[0]
            noted = any("lie closer" in note for note in area["notes"])
            if meet and apart and not noted and abs(one[1] - other[1]) < sheet["stagger_m"] - 1e-4:
                found.append(f"{area['name']}: joints of {sorted(one[0])}, {sorted(other[0])} are close")
    return found


def _upright_sides(shape: Polygon) -> list[tuple[float, float, float]]:
    """x, lowest and highest y of a shape's left and right side."""
    points = shapely.get_coordinates(shape)
    found = []
    for x in (points[:, 0].min(), points[:, 0].max()):
        ys = points[np.abs(points[:, 0] - x) < 1e-4, 1]
        found.append((float(x), float(ys.min()), float(ys.max())))
    return found


def is_guillotine(boxes: list[tuple[float, float, float, float]]) -> bool:
    """Whether straight cuts from edge to edge can part all boxes (x0, y0, x1, y1) from each other."""
    if len(boxes) <= 1:
        return True
    for low, high in ((0, 2), (1, 3)):
        order = sorted(boxes, key=lambda box: box[low])
        end = order[0][high]
        for number in range(1, len(order)):
            if order[number][low] >= end - 1e-9:
                return is_guillotine(order[:number]) and is_guillotine(order[number:])
            end = max(end, order[number][high])
    return False


def is_two_stage(boxes: list[tuple[float, float, float, float]]) -> bool:
    """Whether cuts across the whole roll leave segments in which the pieces lie side by side."""
    segments: list[list[tuple[float, float, float, float]]] = []
    end = -math.inf
    for box in sorted(boxes):
        if box[0] >= end - 1e-9:
            segments.append([])
        segments[-1].append(box)
        end = max(end, box[2])
    return all(
        all(b[1] >= a[3] - 1e-9 for a, b in itertools.pairwise(sorted(one, key=lambda box: box[1])))
        for one in segments
    )


def _roll_lengths(document: dict[str, Any], sheet: dict[str, Any]) -> list[str]:
    """Every roll is one that can be bought, or one of those on site, each of which is used once."""
    found, site = [], [(part["length_m"], part["price"]) for part in sheet["part_rolls"]]
    prices = sheet["roll_prices"] or [length * sheet["width_m"] for length in sheet["roll_lengths_m"]]
    for roll in document["roll_plan"]:
        have = (roll["length_m"], roll["price"])
        if roll["on_site"]:
            if have in site:
                site.remove(have)
            else:
                found.append(f"roll {roll['roll']}: no such roll lies on site")
        elif have not in list(zip(sheet["roll_lengths_m"], prices, strict=True)):
            found.append(f"roll {roll['roll']}: {roll['length_m']} m cannot be bought at {roll['price']}")
    return found


def _rolls(document: dict[str, Any], sheet: dict[str, Any]) -> list[str]:
    found = _roll_lengths(document, sheet)
    for roll in document["roll_plan"]:
        pieces = [piece for piece in document["pieces"] if piece["roll"] == roll["roll"]]
        boxes = []
        for piece in pieces:
            along, across = piece["at"]
            boxes.append((along, across, along + piece["length_m"], across + piece["width_m"]))
            if along < 0 or across < 0 or boxes[-1][3] > sheet["width_m"] + EPS:
                found.append(f"{piece['id']}: off the roll")
            if boxes[-1][2] > roll["used_m"] + EPS or roll["used_m"] > roll["length_m"] + EPS:
                found.append(f"{piece['id']}: past the end of the roll")
        if not is_two_stage([(a + EPS, b + EPS, c - EPS, d - EPS) for a, b, c, d in boxes]):
            found.append(f"roll {roll['roll']}: more than cuts across and rips")
        for offcut in document["offcuts"]:
            if offcut["roll"] == roll["roll"]:
                along, across = offcut["at"]
                boxes.append((along, across, along + offcut["length_m"], across + offcut["width_m"]))
                if boxes[-1][2] > roll["length_m"] + EPS or boxes[-1][3] > sheet["width_m"] + EPS:
                    found.append(f"roll {roll['roll']}: an offcut reaches off the roll")
        for one, other in itertools.combinations(boxes, 2):
            if min(one[2], other[2]) - max(one[0], other[0]) > EPS and (
                min(one[3], other[3]) - max(one[1], other[1]) > EPS
            ):
                found.append(f"roll {roll['roll']}: two pieces overlap")
        shrunk = [(a + EPS, b + EPS, c - EPS, d - EPS) for a, b, c, d in boxes]
        if not is_guillotine(shrunk):
            found.append(f"roll {roll['roll']}: cannot be cut from edge to edge")
    if {piece["roll"] for piece in document["pieces"]} != set(range(1, document["rolls"] + 1)):
        found.append("rolls and the rolls of the pieces differ")
    return found


def _totals(document: dict[str, Any], areas: dict[str, Polygon], sheet: dict[str, Any]) -> list[str]:
    found = []
    plan = document["roll_plan"]
    if not plan:
        return found
    whole = sum(roll["length_m"] for roll in plan[:-1]) + plan[-1]["used_m"]
    consumed, net = document["consumed_area_m2"], document["net_area_m2"]
    if not math.isclose(consumed, whole * sheet["width_m"], abs_tol=1e-4):
        found.append(f"consumed {consumed}, the rolls say {whole * sheet['width_m']}")
    if not math.isclose(net, sum(area.area for area in areas.values()), abs_tol=1e-4):
        found.append("net area is not the sum of the areas")
    if not math.isclose(document["waste"], 1 - net / consumed, abs_tol=1e-5):
        found.append("waste is not 1 - net / consumed")
    cut = sum(piece["width_m"] * piece["length_m"] for piece in document["pieces"])
    laid = sum(Polygon(piece["outline"]).area for piece in document["pieces"])
    if not consumed >= cut - 1e-4 or not cut >= laid - 1e-4:
        found.append(f"consumed {consumed}, cut {cut}, laid {laid}: must not rise")
    bounds = document["bounds"]
    if not bounds["any_layout"] <= bounds["these_strips"] <= document["rolls"]:
        found.append(f"roll bounds {bounds} above {document['rolls']} rolls")
    if document["roll_bound"] != bounds["any_layout"]:
        found.append("roll_bound is not the bound of any layout")
    if not bounds["any_layout_m2"] <= bounds["these_strips_m2"] + 1e-6 <= consumed + 1e-4:
        found.append(f"sheet bounds {bounds} above {consumed} m2")
    return found + _money(document, sheet)


def _money(document: dict[str, Any], sheet: dict[str, Any]) -> list[str]:
    """Sheet is paid by the roll, the last as far as it is used if bought alike; seams and cuts by number."""
    plan, found = document["roll_plan"], []
    paid = sum(roll["price"] for roll in plan)
    if len(sheet["roll_lengths_m"]) == 1 and not plan[-1]["on_site"]:
        paid -= plan[-1]["price"] * (1 - plan[-1]["used_m"] / plan[-1]["length_m"])
    # Slits around obstacles are sealed too, but not charged as seams.
    seams = sum(area["seam_length_m"] for area in document["areas"]) * sheet["seam_cost_m"]
    terms = document["objective_terms"]
    if not math.isclose(terms["sheet"], paid, abs_tol=1e-3):
        found.append(f"sheet costs {paid}, not {terms['sheet']}")
    if not math.isclose(terms["cuts"], len(document["pieces"]) * sheet["cut_cost"], abs_tol=1e-6):
        found.append("cuts are not counted by piece")
    if terms["seams"] > seams + 1e-4:
        found.append(f"seams cost {terms['seams']}, all of them {seams}")
    total = document["objective"]
    if not math.isclose(total, sum(terms.values()), abs_tol=1e-5) or document["bounds"]["objective"] > total:
        found.append("the objective is not the sum of its terms, or below its bound")
    return found
