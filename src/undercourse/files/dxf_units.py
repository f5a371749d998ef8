"""The unit of a drawing, held against what the drawing itself says: dimensions, stated areas, sizes."""

from __future__ import annotations

import math
import re
import statistics
from collections.abc import Sequence
from typing import NamedTuple

from undercourse.base.problems import Problem, Problems
from undercourse.base.units import UNITS, read_quantity
from undercourse.files.dxf_loading import HEADER_UNITS_M
from undercourse.files.dxf_parts import Drawing
from undercourse.files.plan_parts import (
    ROOM_M,
    UNIT_NAMES,
    UNITS_M,
    ask_unit,
    how_to_tell,
    likely_units,
    size_in,
    unit_in_meters,
)

NEAR = 0.03
"""A written length agrees with a measured one within this share: people round. [1]"""

NEAR_AREA = 0.12
"""So does the unit that follows from a written area, which may be net or gross. [1]"""

_NAMES = {
    1: "inches", 2: "feet", 3: "miles", 4: "millimeters", 5: "centimeters", 6: "meters", 7: "kilometers",
    8: "microinches", 9: "mils", 10: "yards", 11: "angstroms", 12: "nanometers", 13: "microns",
    14: "decimeters", 15: "dekameters", 16: "hectometers", 17: "gigameters", 21: "survey feet",
    22: "survey inches", 23: "survey yards",
}  # fmt: skip
_AREA = re.compile(r"(\d[\d.,]*)\s*(m2|m²|qm|sq\.?\s*m|ft2|ft²|sq\.?\s*ft|sf)(?![a-z])", re.I)


class Outline(NamedTuple):
    """An outline in drawing units: its name, how far it reaches, its area (0 unknown), the texts in it."""

    name: str
    reach: float
    area: float
    texts: tuple[str, ...]


class _Sign(NamedTuple):
    """Units [m] that one piece of the drawing agrees with, how nearly, and how it is told."""

    units_m: tuple[float, ...]
    near: float
    told: str
    sure: bool  # it has a unit of its own


def drawing_unit(drawing: Drawing, outlines: Sequence[Outline], where: str, unit: str) -> float:
    """The unit of a drawing in meters.

    Parameters
    ----------
    unit : str
        What a person said of it; it is not questioned.

    Raises
    ------
    Problems
        With a question, when the header tells no unit, or one that dimensions, stated areas or sizes
        contradict.
    """
    if unit:
        return unit_in_meters(unit)
    signs = [*_dimension_signs(drawing.dimensions), *_area_signs(outlines)]
    middle = sorted(outlines, key=lambda one: one.reach)[len(outlines) // 2] if outlines else None
    header = HEADER_UNITS_M.get(drawing.unit_code)
    if header is None:
        said = (
            "the drawing does not say its unit"
            if drawing.unit_code == 0
            else f"the header says {_name(drawing.unit_code)}, no unit of rooms"
        )
        raise Problems([_question(where, said, signs, middle)])
    name = _name(drawing.unit_code)
    against = [sign for sign in signs if not _agrees(sign, header)]
    others = {unit: factor for unit, factor in UNITS_M.items() if abs(factor / header - 1) > NEAR_AREA}
    most = max((sum(_agrees(sign, factor) for sign in against) for factor in others.values()), default=0)
    if 2 * most > len(signs):
        told = next(s.told for s in against if any(_agrees(s, factor) for factor in others.values()))
        what = f"the header says {name}, but the drawing says otherwise: {told}"
        what += f", and {most - 1} more like it" if most > 1 else ""
        raise Problems([_question(where, what, signs, middle, header)])
    if against:
        drawing.notes.append(
            f"{len(against)} of {len(signs)} written sizes do not fit the outlines: {against[0].told}"
        )
    sizes = [one.reach for one in outlines]
    if (
        middle
        and not any(sign.sure for sign in signs)
        and not ROOM_M[0] <= statistics.median(sizes) * header <= ROOM_M[1]
    ):
        raise Problems([ask_unit(where, f"the header says {name}", middle.name, middle.reach, header)])
    return header


def _name(code: int) -> str:
    return _NAMES.get(code, f"unit {code}")


def _agrees(sign: _Sign, unit_m: float) -> bool:
    return any(abs(unit_m / one - 1) <= sign.near for one in sign.units_m)


def _question(
    where: str, what: str, signs: Sequence[_Sign], outline: Outline | None, header: float | None = None
) -> Problem:
    """Ask for the unit; the one that the drawing's own dimensions agree with is proposed first."""
    votes = {unit: sum(_agrees(sign, factor) for sign in signs) for unit, factor in UNITS_M.items()}
    most = max(votes.values(), default=0)
    units = [unit for unit, count in votes.items() if count == most and most > 0]
    likely = likely_units(outline.reach) if outline else []
    units = sorted(units, key=lambda unit: likely.index(unit) if unit in likely else 99) or likely
    units = [unit for unit in units if UNITS_M[unit] != header]
    fix = f"check the unit and say it: {how_to_tell(units[0] if units else 'mm')}"
    if outline and units:
        told = " or ".join(
            f"{size_in(outline.reach, UNITS_M[unit])} in {UNIT_NAMES[unit]}" for unit in units[:3]
        )
        fix += f' ("{outline.name}" would be {told} across)'
    return Problem(where, what, fix)


def _dimension_signs(dimensions: Sequence[tuple[float, str]]) -> list[_Sign]:
    signs = []
    for measured, written in dimensions:
        lengths, sure = _lengths(written)
        if lengths:
            told = f'a length of {measured:.6g} has the dimension "{written}"'
            signs.append(_Sign(tuple(length / measured for length in lengths), NEAR, told, sure))
    return signs


def _lengths(written: str) -> tuple[list[float], bool]:
    """What a dimension may mean, in meters, and whether it says its unit: a bare number may be in any."""
    text = " ".join(written.replace("″", '"').replace("′", "'").split())
    feet = re.fullmatch(r"(\d+)\s*'\s*-?\s*(\d[\d\s/.-]*)?\"?", text)
    if feet:
        text = f"{feet[1]} ft" + (f" {feet[2].strip()} in" if feet[2] else "")
    found: list[float] = []
    sure = False
    for plain in _readings(text):
        try:
            found.append(read_quantity(plain, "length"))
            sure = True
        except ValueError:
            if re.fullmatch(r"[\d.]+", plain) and plain.count(".") < 2 and plain != ".":
                found += [float(plain) * factor for factor in UNITS_M.values()]
    return [length for length in found if length > 0 and math.isfinite(length)], sure


def _readings(text: str) -> list[str]:
    """The text with its comma read as a decimal sign and as a separator of thousands."""
    if not re.search(r"\d,\d", text):
        return [text]
    return [re.sub(r"(?<=\d),(?=\d)", sign, text) for sign in (".", "")]


def _area_signs(outlines: Sequence[Outline]) -> list[_Sign]:
    signs = []
    for one in outlines:
        for text in one.texts:
            match = _AREA.search(text)
            if match is None or one.area <= 0:
                continue
            unit = UNITS["m2" if match[2].lower()[0] in "mq" or match[2].lower().endswith("m") else "ft2"]
            numbers = [n for n in _readings(match[1].rstrip(".,")) if n.count(".") < 2]
            stated = [float(number) * unit.factor for number in numbers]
            found = tuple(math.sqrt(area / one.area) for area in stated if area > 0)
            if found:
                told = f'"{one.name}" has the text "{match[0]}" and an outline of {one.area:.6g} square units'
                signs.append(_Sign(found, NEAR_AREA, told, True))
    return signs
