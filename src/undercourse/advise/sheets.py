"""A calculation sheet: one demand of one area with everything that a checking engineer needs to follow it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from undercourse.advise.findings import number, row_column, row_spec, show_text, valid_range
from undercourse.advise.sentences import label
from undercourse.base.columns import Floats, NumberColumn, pick
from undercourse.base.domains import show_spec
from undercourse.base.formulas import show_formula, show_numbers, show_symbol
from undercourse.base.frame import Frame
from undercourse.base.paired import pair_texts, plain_number
from undercourse.demands import Demand
from undercourse.demands.record import CHOICE, LESS, MEMORY, Notation, Valid
from undercourse.judge.rulebook import Rulebook
from undercourse.line.rows import LOAD_CLASSES

# Digits of the printed numbers: enough that a hand calculation from them lands on the printed result.
DIGITS = 5
# Under this, a number in a formula is told by its power of ten.
_SMALLEST = 1e-4
_STATED = "Taken from what is stated for this floor, or not in play here; not computed."
GROUNDS = {
    "published": "published formula and values",
    "derived": "derived from published formulas; checked by a second way",
    "practice": "common practice, no source",
    MEMORY: "from memory: it may warn and never allows",
}


def sheet_document(demand: Demand, frame: Frame, book: Rulebook, row: int = 0) -> dict[str, Any]:
    """The sheet of a demand in one row.

    Returns
    -------
    dict
        ``inputs`` and ``steps`` in order, each with symbol, label and its value in both unit systems;
        ``formula`` as written and ``numbers``, the same with SI base numbers put in. Where facts are
        open, the numbers are those of the unfavorable end and ``range`` tells both ends.
    """
    columns = {name: row_column(column, row) for name, column in demand.inputs(frame, book.tables).items()}
    value = demand.value(frame, book.tables)
    here = row_spec(value, row)
    point = demand.worst(columns)
    result, working = demand.kernel(point)
    computed = float(np.ravel(result)[0])
    ends = (float(pick(value.low, row)), float(pick(value.high, row)))
    shown = ends[1] if demand.wanted == "low" else ends[0]
    applies = bool(np.isclose(computed, shown, rtol=1e-6, atol=1e-15)) or bool(demand.both)
    is_open = ends[0] < ends[1] * (1 - 1e-9) if ends[1] > 0 else ends[0] < ends[1]
    holds = _validity(demand, columns, book)
    return {
        "demand": demand.name,
        "title": demand.title,
        "subject": demand.subject,
        "value_text": show_text(demand.domain, here),
        "open": is_open,
        "applies": applies and all(item["here"] == "yes" for item in holds),
        "remark": "" if applies else _STATED,
        "choices": _choices(demand, frame, book, row),
        "inputs": [_input(name, demand, columns, point, book) for name in demand.ways],
        "steps": _steps(demand, point, working, result) if applies else [],
        "valid": holds,
        "source": demand.source,
        "ground": GROUNDS[demand.rests_on],
        "cautions": list(demand.cautions),
    }


def _choices(demand: Demand, frame: Frame, book: Rulebook, row: int) -> list[dict[str, str]]:
    """The facts that act through a table, as they stand."""
    found = []
    for name, way in {**demand.reads, **demand.takes}.items():
        spec = row_spec(frame[name], row)
        if way != CHOICE:
            continue
        domain = frame.domain(name)
        unknown = spec == domain.everything
        text = "not known" if unknown else show_spec(domain, spec)
        found.append({"name": name, "label": label(name, book.vocabulary), "value_text": text})
    return found


def _input(
    name: str,
    demand: Demand,
    columns: Mapping[str, NumberColumn],
    point: Mapping[str, Floats],
    book: Rulebook,
) -> dict[str, Any]:
    notation = demand.notation[name]
    value = float(np.ravel(point[name])[0])
    low, high = float(columns[name].low[0]), float(columns[name].high[0])
    si, us = _texts(value, notation)
    spread = ""
    if high > low * (1 + 1e-9) + 1e-15:
        spread = " to ".join(_texts(end, notation)[0] for end in (low, high))
    return {
        "name": name,
        "symbol": show_symbol(notation.symbol),
        "label": notation.label or label(name, book.vocabulary),
        "si": si,
        "us": us,
        "range": spread,
        "source": notation.source or _whence(name, demand, book, low, high),
        "number": number(value),
    }


def _whence(name: str, demand: Demand, book: Rulebook, low: float, high: float) -> str:
    """Where a number comes from that no table gives."""
    if name in book.vocabulary:
        domain = book.domains[name]
        unknown = low <= domain.low and high >= domain.high
        return "not known: all that is plausible" if unknown else "told"
    return "named products" if name in demand.takes else ""


def _texts(value: float, notation: Notation) -> tuple[str, str]:
    if notation.unit == "class":
        word = LOAD_CLASSES[max(0, min(4, round(value) - 1))]
        return word, word
    return pair_texts(value, notation.unit, DIGITS)


def _steps(
    demand: Demand, point: Mapping[str, Floats], working: Mapping[str, Floats], result: Floats
) -> list[dict[str, Any]]:
    known = {
        demand.notation[name].symbol: float(np.ravel(point[name])[0])
        for name in demand.ways
        if not name.endswith(LESS)
    }
    found = []
    for step in demand.steps:
        notation = demand.notation[step.name]
        value = float(np.ravel(result if step.name == "value" else working[step.name])[0])
        texts = {symbol: _put_in(each) for symbol, each in known.items()}
        si, us = _texts(value, notation)
        found.append(
            {
                "symbol": show_symbol(notation.symbol),
                "label": notation.label,
                "formula": show_formula(step.formula),
                "numbers": show_numbers(step.formula, texts) if step.formula else "",
                "plain": step.formula,
                "si": si,
                "us": us,
                "source": step.source,
                "number": number(value),
            }
        )
        known[notation.symbol] = value
    return found


def _put_in(value: float) -> str:
    """A number as it stands in a formula; a very small one by its power of ten."""
    if value and abs(value) < _SMALLEST:
        digits, _, power = f"{abs(value):.{DIGITS - 1}e}".partition("e")
        number = show_formula(f"{float(digits):g}e{int(power)}")
        return number if value > 0 else f"(−{number[1:]}"
    return plain_number(value, DIGITS).replace("-", "−")


def _validity(demand: Demand, columns: Mapping[str, NumberColumn], book: Rulebook) -> list[dict[str, str]]:
    return [
        {
            "label": demand.notation[span.name].label or label(span.name, book.vocabulary),
            "range": valid_range(demand, span),
            "here": _within(span, columns[span.name]),
            "source": span.source,
        }
        for span in demand.valid
    ]


def _within(span: Valid, column: NumberColumn) -> str:
    slack = 1e-9 * max(1e-6, abs(span.high))
    if column.low[0] >= span.low - slack and column.high[0] <= span.high + slack:
        return "yes"
    return "no" if column.high[0] < span.low - slack or column.low[0] > span.high + slack else "open"
