"""About how high a calculation sheet is, so that it is kept whole on a page where it fits."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

# Lines are counted on the long side: sheets come out at 0.7 to 0.93 of what is estimated with this share.
_SHARE = 0.82
# A sheet is kept whole on one page up to this height; a higher one breaks between its steps. The lower of
# the two papers has room for 234 mm.
WHOLE_MM, INPUTS_MM = 228.0, 150.0


def _lines(text: str, width: int = 118) -> int:
    """About how many lines words take, by the characters that fit one line of the sheet."""
    return -(-len(text) // width)


def inputs_mm(inputs: Sequence[Mapping[str, Any]]) -> float:
    """About how high a table of inputs is. [mm]"""
    lines = sum(_lines(row["what"] + row["source"], 66) + bool(row["range"]) for row in inputs)
    return 3.5 * lines + 1.6 * len(inputs)


def _step_mm(step: Mapping[str, Any]) -> float:
    """About how high a step is. [mm]"""
    written = sum(len(piece["text"] + piece["index"]) for piece in step["written"]) + len(step["result"])
    below = max(9.0, 3.6 * _lines("x" * written, 75)) if step["tree"] else 3.6 * _lines("x" * written, 105)
    return 2.4 + 3.5 * _lines(step["what"] + step["source"], 66) + (below if step["written"] else 0.0)


def sheet_mm(sheet: Mapping[str, Any]) -> float:
    """About how high a sheet is. [mm]"""
    held = sum(
        1.3 + 3.5 * _lines(row["allows"] + row["by"] + row["source"] + " " * 30, 62) for row in sheet["held"]
    )
    words = sum(2.8 + 3.5 * _lines(text) for text in sheet["cautions"])
    words += sum(1.3 + 3.5 * _lines(item["text"] + item["source"] + " " * 20) for item in sheet["valid"])
    words += sum(1.3 + 3.5 * _lines(sheet[key]) for key in ("given", "unknown"))
    words += 2.8 + 3.5 * _lines(sheet["ground"] + sheet["source"] + " " * 16)
    steps = 9.0 + sum(_step_mm(step) for step in sheet["steps"])
    chart = 95.0 if sheet["chart"] else 0.0
    high = 30.0 + max(held, 15.0) + words + 9.0 + inputs_mm(sheet["inputs"]) + steps + chart
    return _SHARE * high
