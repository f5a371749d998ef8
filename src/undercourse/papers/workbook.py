"""Cut list and quantities as a workbook whose formulas stay live: change an area, a price, and all follows.

Every formula is written with its value, so that a reader that does not calculate shows the same numbers.
"""

from __future__ import annotations

import datetime as dt
import io
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import xlsxwriter
from xlsxwriter.utility import xl_rowcol_to_cell

INCH_M, SQUARE_FOOT_M2 = 0.0254, 0.3048**2

# What the sizes of an area are called at the head of their columns.
SIZES = {
    "net_area_m2": "Net area, m²",
    "edge_length_m": "Edges, m",
    "seam_length_m": "Seams, m",
    "head_joint_length_m": "Head joints, m",
    "inside_corners": "Inside corners",
    "outside_corners": "Outside corners",
    "collars": "Collars",
    "soft_joint_length_m": "Soft joints, m",
}
_UNITS = {"m2": "m²", "piece": "pieces"}
# Where people read the other system: factor to it and its name.
_OTHER = {"m2": (1 / SQUARE_FOOT_M2, "sq ft"), "m": (1 / 0.3048, "ft"), "kg": (1 / 0.45359237, "lb"),
          "l": (1 / 3.785411784, "gal")}  # fmt: skip

Value = float | str
Spots = dict[tuple[str, str], tuple[str, float]]  # area and size: cell and value


@dataclass
class BookPage:
    """One sheet of a workbook with the values of its cells, so that formulas can be given theirs."""

    name: str
    sheet: Any
    formats: Mapping[str, Any]
    values: dict[tuple[int, int], Value] = field(default_factory=dict)
    widths: dict[int, float] = field(default_factory=dict)
    lines: dict[int, int] = field(default_factory=dict)

    def text(self, row: int, column: int, words: object, style: str = "text") -> None:
        self.sheet.write_string(row, column, str(words), self.formats[style])
        self.values[row, column] = str(words)
        if style == "text":
            self._make_room(row, column, str(words))

    def _make_room(self, row: int, column: int, words: str) -> None:
        """Rows as high as their longest text wraps to; not every reader does so by itself."""
        lines = math.ceil(len(words) * 0.95 / max(self.widths.get(column, 10.0) - 1.0, 1.0))
        if lines > self.lines.get(row, 1):
            self.lines[row] = lines
            self.sheet.set_row(row, 13.5 * lines)

    def number(self, row: int, column: int, value: float, style: str = "number") -> None:
        self.sheet.write_number(row, column, value, self.formats[style])
        self.values[row, column] = value

    def formula(self, row: int, column: int, formula: str, value: float, style: str = "number") -> None:
        self.sheet.write_formula(row, column, formula, self.formats[style], value)
        self.values[row, column] = value

    def heads(self, row: int, names: Sequence[str], widths: Sequence[float]) -> None:
        for column, (name, width) in enumerate(zip(names, widths, strict=True)):
            self.widths[column] = width
            self.sheet.write_string(row, column, name, self.formats["head"])
            self.sheet.set_column(column, column, width)
            self._make_room(row, column, name + "  ")
        self.sheet.freeze_panes(row + 1, 0)
        self.sheet.repeat_rows(row)
        self.sheet.set_landscape()
        self.sheet.fit_to_pages(1, 0)

    def column_sum(self, row: int, column: int, first: int, last: int, style: str = "total") -> None:
        """SUM over rows of one column."""
        total = sum(float(self.values.get((r, column), 0.0) or 0.0) for r in range(first, last + 1))
        self.formula(row, column, f"=SUM({cell_at(first, column)}:{cell_at(last, column)})", total, style)


def cell_at(row: int, column: int, *, fixed: bool = False) -> str:
    """The name of a cell; a fixed one carries dollar signs."""
    return str(xl_rowcol_to_cell(row, column, row_abs=fixed, col_abs=fixed))


def takeoff_workbook(
    job: str,
    basis: Mapping[str, Any],
    takeoffs: Sequence[Mapping[str, Any]],
    layouts: Sequence[Mapping[str, Any]],
) -> bytes:
    """Quantities, sizes, cut list, rolls and basis of a job as one workbook.

    Parameters
    ----------
    job : str
        Name of the job.
    basis : mapping
        What the answer rests on: line with revision and hash, hashes, date.
    takeoffs : sequence of mapping
        Areas as ``takeoff --json`` gives them.
    layouts : sequence of mapping
        Layouts as ``layout --json`` gives them, one a sheet.

    Returns
    -------
    bytes
        The same for the same input: its date is that of the basis, never the clock.
    """
    target = io.BytesIO()
    book = xlsxwriter.Workbook(target, {"in_memory": True, "strings_to_formulas": False})
    day = basis.get("date")
    made = dt.datetime.fromisoformat(str(day)) if day else dt.datetime(2000, 1, 1)
    book.set_properties({"title": f"Quantities and cut list: {job}"[:255], "created": made})
    formats = make_formats(book)

    def page(name: str) -> BookPage:
        return BookPage(name, book.add_worksheet(name), formats)

    names = ("Quantities", "Sizes", "Cut list", "Rolls", "Basis")
    quantities, sizes, cuts, rolls, last = (page(name) for name in names)
    spots = _write_sizes(sizes, takeoffs)
    _write_quantities(quantities, takeoffs, spots)
    write_cuts(cuts, layouts)
    write_rolls(rolls, layouts)
    _write_basis(last, job, basis, takeoffs)
    book.close()
    return target.getvalue()


def make_formats(book: Any) -> dict[str, Any]:
    """The styles of cells by name; what is given is in italics."""
    base = {"valign": "top", "font_name": "Arial", "font_size": 10}
    kinds: dict[str, dict[str, Any]] = {
        "text": {"text_wrap": True, "indent": 1},
        "number": {"num_format": "#,##0.00"},
        "long": {"num_format": "#,##0.000"},
        "whole": {"num_format": "0"},
        "share": {"num_format": "0 %"},
        "given share": {"num_format": "0 %", "italic": True},
        "money": {"num_format": "#,##0.00"},
        "price": {"num_format": "#,##0.00", "italic": True},
        "input": {"num_format": "#,##0.000", "italic": True},
        "head": {"bold": True, "bottom": 1, "text_wrap": True, "indent": 1},
        "name": {"bold": True, "indent": 1},
        "total": {"bold": True, "top": 1, "num_format": "#,##0.00"},
    }
    return {name: book.add_format({**base, **kind}) for name, kind in kinds.items()}


def _write_sizes(page: BookPage, takeoffs: Sequence[Mapping[str, Any]]) -> Spots:
    """Sizes of every area; returns where each stands, for the formulas of the quantities."""
    names = ["Area", *SIZES.values(), "Net area, sq ft", "Edges, ft"]
    page.heads(0, names, [26, *([13] * (len(names) - 1))])
    spots: Spots = {}
    for row, taken in enumerate(takeoffs, 1):
        page.text(row, 0, taken["area"], "name")
        for column, name in enumerate(SIZES, 1):
            size = float(taken["sizes"].get(name, 0.0))
            page.number(row, column, size, "input")
            spots[str(taken["area"]), name] = f"Sizes!{cell_at(row, column, fixed=True)}", size
        end = len(SIZES) + 1
        for offset, (column, factor) in enumerate(((1, SQUARE_FOOT_M2), (2, 0.3048))):
            value = float(page.values[row, column]) / factor
            page.formula(row, end + offset, f"={cell_at(row, column)}/{factor!r}", value)
    last = len(takeoffs)
    if last:
        page.text(last + 1, 0, "Together", "total")
        for column in range(1, len(names)):
            page.column_sum(last + 1, column, 1, last)
    return spots


_COLUMNS = (
    ("Area", 14), ("Item", 17), ("Product", 26), ("As", 13), ("Counted from", 24), ("Measured", 10),
    ("Allowance", 10), ("Need", 10), ("Unit", 7), ("In one pack", 9), ("Packs", 7), ("Pack", 11),
    ("Price each", 9), ("Cost", 11), ("Currency", 9), ("Need, other unit", 10), ("Unit", 7),
    ("Weight, kg", 9), ("Note", 28),
)  # fmt: skip
_MEASURED, _ALLOWANCE, _NEED, _UNIT, _HELD, _PACKS, _PACK, _PRICE, _COST = range(5, 14)


def _write_quantities(
    page: BookPage,
    takeoffs: Sequence[Mapping[str, Any]],
    spots: Spots,
) -> None:
    page.heads(0, [name for name, _ in _COLUMNS], [width for _, width in _COLUMNS])
    row = 1
    totals: list[int] = []
    for taken in takeoffs:
        first = row
        for line in taken["lines"]:
            _write_line(page, row, str(taken["area"]), line, spots)
            row += 1
        page.text(row, 0, f"{taken['area']} together", "total")
        for column in (_COST, 17):
            page.column_sum(row, column, first, row - 1)
        totals.append(row)
        row += 2
    if len(totals) > 1:
        page.text(row, 0, "Job together", "total")
        for column in (_COST, 17):
            cells = [cell_at(total, column) for total in totals]
            value = sum(float(page.values[total, column]) for total in totals)
            page.formula(row, column, "=" + "+".join(cells), value, "total")
        row += 2
    for taken in takeoffs:
        for one in taken.get("also", ()):
            page.text(row, 0, taken["area"])
            page.text(row, 2, f"not of this line: {one['what']}")
            page.number(row, _NEED, float(one["need"]))
            page.text(row, _UNIT, _UNITS.get(one["unit"], one["unit"]))
            page.text(row, 18, one["note"])
            row += 1


def _write_line(page: BookPage, row: int, area: str, line: Mapping[str, Any], spots: Spots) -> None:
    for column, key in enumerate(("item_number", "name", "role", "what"), 1):
        page.text(row, column, line[key])
    page.text(row, 0, area)
    measured, share = float(line["measured"]), float(line["allowance"])
    if line["counted"]:
        used = [(*spots[area, name], float(factor)) for name, factor in line["counted"].items()]
        parts = [f"{cell}*{factor!r}" for cell, _, factor in used]
        measured = sum(size * factor for _, size, factor in used)
        page.formula(row, _MEASURED, "=" + "+".join(parts), measured, "long")
    else:
        page.number(row, _MEASURED, measured, "input")
    page.number(row, _ALLOWANCE, share, "given share")
    need = measured * (1 + share)
    page.formula(row, _NEED, f"={cell_at(row, _MEASURED)}*(1+{cell_at(row, _ALLOWANCE)})", need, "long")
    page.text(row, _UNIT, _UNITS.get(line["unit"], line["unit"]))
    packs = line["packs"]
    if line["per_pack"] is not None and packs is not None:
        held = float(line["per_pack"])
        page.number(row, _HELD, held, "input")
        count = float(math.ceil(round(need / held, 6)))
        page.formula(
            row, _PACKS, f"=ROUNDUP(ROUND({cell_at(row, _NEED)}/{cell_at(row, _HELD)},6),0)", count, "whole"
        )
    elif packs is not None:
        page.number(row, _PACKS, float(packs), "whole")
    page.text(row, _PACK, line["pack"])
    if line["price"] is not None:
        page.number(row, _PRICE, float(line["price"]), "price")
        if packs is not None:
            cost = float(page.values[row, _PACKS]) * float(line["price"])
            page.formula(row, _COST, f"={cell_at(row, _PACKS)}*{cell_at(row, _PRICE)}", cost, "money")
    page.text(row, 14, line["currency"])
    if line["unit"] in _OTHER:
        factor, unit = _OTHER[line["unit"]]
        page.formula(row, 15, f"={cell_at(row, _NEED)}*{factor!r}", need * factor)
        page.text(row, 16, unit)
    if line["weight_kg"] is not None and packs:
        one = float(line["weight_kg"]) / float(packs)
        value = one * float(page.values[row, _PACKS])
        page.formula(row, 17, f"={cell_at(row, _PACKS)}*{one!r}", value)
    page.text(row, 18, line["note"])


def write_cuts(page: BookPage, layouts: Sequence[Mapping[str, Any]]) -> None:
    """The cut list: every piece with its place on its roll, in both units."""
    names = ["Sheet", "Area", "Piece", "Strip", "Roll", "Length, m", "Width, m", "From the free end, m"]
    names += ["Across the roll, m", "Length, in", "Width, in", "From the free end, in", "Size, m²"]
    page.heads(0, names, [28, 22, 9, 9, 7, 11, 11, 12, 12, 11, 11, 12, 11])
    row = 1
    for layout in layouts:
        for piece in layout.get("pieces") or ():
            page.text(row, 0, (layout.get("product") or {}).get("name", ""))
            for column, key in enumerate(("area", "id", "strip"), 1):
                page.text(row, column, piece[key])
            page.number(row, 4, float(piece["roll"]), "whole")
            numbers = (piece["length_m"], piece["width_m"], *piece["at"])
            for column, value in enumerate(numbers, 5):
                page.number(row, column, float(value), "long")
            for column, source in ((9, 5), (10, 6), (11, 7)):
                value = float(page.values[row, source]) / INCH_M
                page.formula(row, column, f"={cell_at(row, source)}/{INCH_M}", value)
            size = float(piece["length_m"]) * float(piece["width_m"])
            page.formula(row, 12, f"={cell_at(row, 5)}*{cell_at(row, 6)}", size, "long")
            row += 1
    if row > 1:
        page.text(row, 0, "Together", "total")
        page.column_sum(row, 12, 1, row - 1)


def write_rolls(page: BookPage, layouts: Sequence[Mapping[str, Any]]) -> None:
    """Rolls with what is used of each, and the waste: whole rolls but the last, less the net area."""
    names = ["Sheet", "Roll", "Length, m", "Used, m", "Left, m", "Price"]
    page.heads(0, names, [34, 12, 12, 12, 12, 12])
    row = 1
    for layout in layouts:
        first = row
        for roll in layout.get("roll_plan") or ():
            page.text(row, 0, (layout.get("product") or {}).get("name", ""))
            page.number(row, 1, float(roll["roll"]), "whole")
            page.number(row, 2, float(roll["length_m"]))
            page.number(row, 3, float(roll["used_m"]))
            left = float(roll["length_m"]) - float(roll["used_m"])
            page.formula(row, 4, f"={cell_at(row, 2)}-{cell_at(row, 3)}", left)
            page.number(row, 5, float(roll["price"]), "money")
            row += 1
        if row == first:
            continue
        page.text(row, 0, "Together", "total")
        for column in (2, 3, 4, 5):
            page.column_sum(row, column, first, row - 1)
        row = _write_waste(page, row + 1, layout, first, row) + 1


def _write_waste(page: BookPage, row: int, layout: Mapping[str, Any], first: int, total: int) -> int:
    """Consumed and net area and the share that does not lie on the floor."""
    consumed, net = float(layout["consumed_area_m2"]), float(layout["net_area_m2"])
    metres = float(page.values[total, 2]) - float(page.values[total - 1, 4])
    width = consumed / metres if metres else 0.0
    page.text(row, 0, "Roll width, m")
    page.number(row, 2, round(width, 6), "long")
    page.text(row + 1, 0, "Consumed, m²: whole rolls but the last")
    left = f"({cell_at(total, 2)}-{cell_at(total - 1, 4)})"
    used = metres * round(width, 6)
    page.formula(row + 1, 2, f"={left}*{cell_at(row, 2)}", used, "long")
    page.text(row + 2, 0, "Net area, m²")
    page.number(row + 2, 2, net, "long")
    page.text(row + 3, 0, "Waste")
    waste = 1 - net / used if used else 0.0
    page.formula(row + 3, 2, f"=1-{cell_at(row + 2, 2)}/{cell_at(row + 1, 2)}", waste, "share")
    return row + 4


def _write_basis(
    page: BookPage, job: str, basis: Mapping[str, Any], takeoffs: Sequence[Mapping[str, Any]]
) -> None:
    page.heads(0, ["What", "Value"], [30, 80])
    rows: list[tuple[str, str]] = [("Job", job), ("Date", str(basis.get("date") or "not dated"))]
    for key, value in basis.items():
        if isinstance(value, Mapping):
            rows += [(f"{key}, {inner}".replace("_", " "), str(own)) for inner, own in value.items()]
        elif key != "date":
            rows.append((key.replace("_", " "), str(value)))
    dates = sorted(
        {str(line["price_date"]) for one in takeoffs for line in one["lines"] if line["price_date"]}
    )
    rows.append(("prices of", ", ".join(dates) or "no prices"))
    rows += [(f"allowance, {one['area']}", str(one["allowance"])) for one in takeoffs]
    rows += [(f"note, {one['area']}", str(note)) for one in takeoffs for note in one["notes"]]
    rows.append(
        (
            "how to use it",
            "Numbers in italics are given: change them and the rest follows. Packs are rounded up.",
        )
    )
    for row, (what, value) in enumerate(rows, 1):
        page.text(row, 0, what)
        page.text(row, 1, value)
