"""Reading drawings back: paths by class, points in millimetres, boxes of lettering."""

from __future__ import annotations

import itertools
import re
import xml.etree.ElementTree as ET

from undercourse.drawings import Sheet, to_svg

NS = "{http://www.w3.org/2000/svg}"
Box = tuple[float, float, float, float]


def parse(sheet: Sheet) -> ET.Element:
    """The sheet's SVG, parsed."""
    return ET.fromstring(to_svg(sheet))


def paths(sheet: Sheet, name: str) -> list[list[tuple[float, float]]]:
    """Corners of every path of a class. [mm]"""
    found = []
    for path in parse(sheet).iter(f"{NS}path"):
        if path.get("class") == name:
            pairs = re.findall(r"[ML](-?[\d.]+) (-?[\d.]+)", path.get("d", ""))
            found.append([(float(x), float(y)) for x, y in pairs])
    return found


def extent(points: list[tuple[float, float]]) -> Box:
    """Left, top, right, bottom. [mm]"""
    xs, ys = zip(*points, strict=True)
    return (min(xs), min(ys), max(xs), max(ys))


def words(sheet: Sheet) -> list[str]:
    """All lettering, as it stands in the SVG."""
    return [text.text or "" for text in parse(sheet).iter(f"{NS}text")]


def overlaps(sheet: Sheet, slack: float = 0.15) -> list[tuple[str, str]]:
    """Pairs of texts whose boxes (by the advance widths of the face) overlap by more than ``slack``. [mm]"""
    boxes = [(mark.text, mark.box()) for mark in sheet.texts()]
    return [
        (one, other)
        for (one, a), (other, b) in itertools.combinations(boxes, 2)
        if min(a[2], b[2]) - max(a[0], b[0]) > slack and min(a[3], b[3]) - max(a[1], b[1]) > slack
    ]


def outside(sheet: Sheet, slack: float = 0.3) -> list[str]:
    """Texts that leave the sheet."""
    return [
        mark.text
        for mark in sheet.texts()
        if (box := mark.box())[0] < -slack
        or box[1] < -slack
        or box[2] > sheet.width + slack
        or box[3] > sheet.height + slack
    ]
