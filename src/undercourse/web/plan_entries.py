"""What the form of the plan page says: chosen areas, the sheet with its gaps, and what is held."""

from __future__ import annotations

import json
import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from starlette.datastructures import FormData

from undercourse.base.problems import Problem
from undercourse.base.units import UNITS, read_quantity
from undercourse.files.plan_laying import Held
from undercourse.layout import PartRoll, Sheet, check_sheet
from undercourse.line.records import Line
from undercourse.takeoff.laying import sheet_for
from undercourse.web.entries import text_of

SIZES = {
    "roll_width": ("Roll width", "1 m", "width_m"),
    "roll_lengths": ("Roll lengths", "30 m", "roll_lengths_m"),
    "roll_prices": ("Price of each", "", "roll_prices"),
    "seam_gap": ("Gap between strips", "4 mm", "seam_gap_m"),
    "edge_gap": ("Gap at walls", "6 mm", "edge_gap_m"),
    "smallest_piece": ("Smallest piece", "300 mm", "smallest_piece_m"),
    "stagger": ("Least stagger of head joints", "300 mm", "stagger_m"),
    "trim": ("Extra for walls out of square", "0 mm", "trim_m"),
}
"""Fields of a sheet of one's own: label, first value, and what of the sheet they are."""

MOST_HELD = 200_000
LEAST_FIELD_M = 0.5


@dataclass
class PlanEntry:
    """The form as it was read; ``told`` holds what is wrong, by field."""

    picked: list[int] = field(default_factory=list)
    product: str = ""
    texts: dict[str, str] = field(default_factory=dict)
    head_joints: bool = True
    sheet: Sheet | None = None
    joints_m: float | None = None
    held: dict[str, Held] = field(default_factory=dict)
    frozen: dict[str, Held] = field(default_factory=dict)
    at: str = ""
    compares: bool = False
    told: dict[str, str] = field(default_factory=dict)


def sheet_products(line: Line) -> dict[str, str]:
    """Membranes of a line that come on rolls: id and name."""
    return {product.id: product.name for product in line.products.values() if sheet_for(product) is not None}


def first_entry(line: Line, areas: int, product: str = "") -> PlanEntry:
    """The form before anything was said: all areas, and the named sheet of the line, else a likely one."""
    entry = PlanEntry(list(range(areas)), texts={key: first for key, (_, first, _) in SIZES.items()})
    entry.texts |= {"joints": "", "part_rolls": "", "turn": "", "line": ""}
    products = sheet_products(line)
    entry.product = product if product in products else _longest_rolls(line, products)
    _read_sheet(entry, line)
    return entry


def _longest_rolls(line: Line, products: Mapping[str, str]) -> str:
    """The sheet that a floor is likeliest to be laid of: the one with the longest rolls."""

    def longest(product: str) -> float:
        sheet = sheet_for(line.products[product])
        return sheet.longest_roll_m if sheet is not None else 0.0

    return max(products, key=longest, default="")


def read_entry(form: FormData, plan: Mapping[str, Any], line: Line) -> PlanEntry:
    """Read the form of the plan page; what cannot be read is told at its field."""
    count = len(plan["areas"])
    entry = PlanEntry(product=text_of(form, "product"), head_joints="head_joints" in form)
    numbers = {int(text) for text in form.getlist("pick") if isinstance(text, str) and _is_number(text)}
    entry.picked = sorted(number for number in numbers if number < count)
    storey = _storey(text_of(form, "go"))
    if storey is not None:
        entry.picked = [n for n, area in enumerate(plan["areas"]) if area["storey"] == storey]
    if text_of(form, "go") == "all":
        entry.picked = list(range(count))
    entry.texts = {key: text_of(form, key) for key in (*SIZES, "joints", "part_rolls", "turn", "line")}
    entry.at = text_of(form, "at")
    entry.compares = text_of(form, "go") == "compare"
    _read_sheet(entry, line)
    _read_part_rolls(entry)
    _read_joints(entry)
    entry.held = _read_held(form, "held")
    entry.frozen = _read_held(form, "frozen")
    _take_typed(entry, form)
    _drop(entry, text_of(form, "go"))
    return entry


def _is_number(text: str) -> bool:
    return text.isascii() and text.isdecimal() and len(text) < 6


def _storey(go: str) -> str | None:
    word, found, rest = go.partition(":")
    return rest if found and word == "storey" else None


def _read_sheet(entry: PlanEntry, line: Line) -> None:
    if entry.product:
        product = line.products.get(entry.product)
        entry.sheet = sheet_for(product) if product is not None else None
        if entry.sheet is None:
            entry.told["product"] = "This line has no such sheet on rolls. Choose another."
        return
    texts = entry.texts
    numbers: dict[str, Any] = {}
    for key in ("roll_width", "seam_gap", "edge_gap", "smallest_piece", "stagger", "trim"):
        numbers[SIZES[key][2]] = _length(entry, key, texts[key])
    lengths = [_length(entry, "roll_lengths", text) for text in _listed(texts["roll_lengths"])]
    prices = [_price(entry, text) for text in _listed(texts["roll_prices"])]
    if prices and len(prices) != len(lengths):
        entry.told["roll_prices"] = (
            f"{len(prices)} prices for {len(lengths)} lengths. Give one each, or none."
        )
    if entry.told:
        return
    pairs = sorted(zip(lengths, prices or [0.0] * len(lengths), strict=True))
    sheet = Sheet(
        roll_lengths_m=tuple(length for length, _ in pairs),
        roll_prices=tuple(price for _, price in pairs) if prices else (),
        head_joints_allowed=entry.head_joints,
        **numbers,
    )
    names = {own: key for key, (_, _, own) in SIZES.items()}
    for problem in check_sheet(sheet):
        key = names.get(problem.where.removeprefix("sheet."), "roll_width")
        entry.told.setdefault(key, sentence(problem))
    if not entry.told:
        entry.sheet = sheet


def _listed(text: str) -> list[str]:
    return [part for part in text.replace(";", ",").split(",") if part.strip()]


def _length(entry: PlanEntry, key: str, text: str) -> float:
    text = text.strip()
    sign = -1.0 if text[:1] in ("-", "−") else 1.0
    try:
        return sign * read_quantity(text.lstrip("-− ") or "?", "length", UNITS["m"])
    except ValueError as error:
        entry.told[key] = f'{str(error).rstrip(".")}. Write it as "1 m", "39 3/8 in" or "4 mm".'
        return 0.0


def _price(entry: PlanEntry, text: str) -> float:
    try:
        value = float(text)
        if math.isfinite(value) and value > 0:
            return value
    except ValueError:
        pass
    entry.told["roll_prices"] = f'"{text.strip()}" is no price. Write a number above 0, as 262.'
    return 0.0


def _read_part_rolls(entry: PlanEntry) -> None:
    """Part rolls on site as ``3.2 m, 4 m``: paid already, so that using them costs nothing."""
    text = entry.texts["part_rolls"]
    lengths = [_length(entry, "part_rolls", part) for part in _listed(text)]
    if not lengths or "part_rolls" in entry.told or entry.sheet is None:
        return
    sheet = replace(entry.sheet, part_rolls=tuple(PartRoll(length) for length in lengths))
    problems = check_sheet(sheet)
    if problems:
        entry.told["part_rolls"] = sentence(problems[0])
    else:
        entry.sheet = sheet


def _read_joints(entry: PlanEntry) -> None:
    if not entry.texts["joints"]:
        return
    length = _length(entry, "joints", entry.texts["joints"])
    if "joints" not in entry.told and length < LEAST_FIELD_M:
        entry.told["joints"] = f"No field is so short. Give at least {LEAST_FIELD_M:g} m, or leave it empty."
    entry.joints_m = None if "joints" in entry.told else length


def _read_held(form: FormData, name: str) -> dict[str, Held]:
    """Directions and start lines by area, as the page wrote them; none if they cannot be read."""
    text = form.get(name)
    try:
        rows = json.loads(text) if isinstance(text, str) and len(text) <= MOST_HELD else {}
    except (ValueError, RecursionError):
        return {}
    if not isinstance(rows, dict):
        return {}
    found: dict[str, Held] = {}
    for area, pair in rows.items():
        if isinstance(pair, list) and len(pair) == 2 and all(map(_is_held, pair)) and pair[0] is not None:
            found[area] = Held(float(pair[0]) % 180.0, None if pair[1] is None else float(pair[1]))
    return found


def _is_held(value: Any) -> bool:
    if value is None:
        return True
    number = isinstance(value, int | float) and not isinstance(value, bool)
    return number and math.isfinite(value) and abs(value) < 1e5


def _take_typed(entry: PlanEntry, form: FormData) -> None:
    """The number fields of the area in hand: what was typed over what the page showed is held."""
    turn, line = entry.texts["turn"], entry.texts["line"]
    turned, moved = turn != text_of(form, "shown_turn"), line != text_of(form, "shown_line")
    if not entry.at or entry.at != text_of(form, "shown_at") or not (turned or moved):
        return
    try:
        angle = float(turn.removesuffix("°").strip())
    except ValueError:
        entry.told["turn"] = f'"{turn}" is no direction. Write degrees from the right, as 90.'
        return
    if not math.isfinite(angle):
        entry.told["turn"] = "This is no direction. Write degrees, as 90."
        return
    # A start line that was not typed anew belongs to the direction before.
    line_m = _length(entry, "line", line) if moved and line else None
    kept = entry.held.get(entry.at)
    if not moved and kept is not None and not turned:
        line_m = kept.line_m
    if "line" not in entry.told:
        entry.held[entry.at] = Held(angle % 180.0, line_m)


def _drop(entry: PlanEntry, go: str) -> None:
    if go == "free":
        entry.held.pop(entry.at, None)
    if go == "free-all":
        entry.held.clear()


def write_held(held: Mapping[str, Held]) -> str:
    """What is held, as the page carries it."""
    return json.dumps({name: [one.direction_deg, one.line_m] for name, one in held.items()})


def sentence(problem: Problem) -> str:
    """A problem as two sentences, without its place."""
    what, fix = problem.what.rstrip("."), problem.fix.rstrip(".")
    return f"{what[:1].upper()}{what[1:]}. {fix[:1].upper()}{fix[1:]}."
