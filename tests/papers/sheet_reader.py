"""A reader of printed calculation sheets: from the text of a report to rows that can be recomputed.

Knows nothing of the program; it reads what ``pypdf`` gives for each page, as a person would.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass, field

from tests.printed_units import unit_factor
from tests.recompute import read_printed, work_through

# A quantity: its unit, where it has one, hangs on by a space that does not break.
QUANTITY = r"(?:−?[\d,]+(?:\.\d+)?(?:\u00a0\S+)*|residential|light|moderate|heavy|extra\u00a0heavy)"
# What has no unit, or the same in both systems, is printed once.
US_QUANTITY = r"−?[\d,]+(?:\.\d+)?(?:\u00a0\S+)+"
_ROW = re.compile(rf"(\S+) = ({QUANTITY})(?: ({US_QUANTITY}))?(?: (.*))?")
_OUT = re.compile(rf"Written out: (.+?)\u00a0= (.+)\u00a0= ({QUANTITY})$")
_START = re.compile(r"Sheet (\d+) (.*)")
_GROUPS = ("Sheets that decide a limit", "Sheets that only inform")
END_OF_RESULT = re.compile(
    r"(?=Open: not all|Taken from|What is not known|Governs|Meets[:.,]|Exceeds[:.,]|Open[:.,]|Not stated"
    r"|Not valid here[:.,]|Informs only|Caution\.|Ground:)"
)
_FUNCTIONS = [
    "sqrt",
    "exp",
    "ln",
    "log10",
    "sin",
    "cos",
    "tan",
    "sinh",
    "cosh",
    "tanh",
    "max",
    "min",
    "abs",
    "π",
]
_ENDS = re.compile("^(up to|under|at least|over) ")
_BROKEN = (NameError, KeyError, AssertionError, SyntaxError, TypeError, ArithmeticError, ValueError)
_SYMBOL = re.compile(r"[^\W\d⁰¹²³⁴⁵⁶⁷⁸⁹][^\W⁰¹²³⁴⁵⁶⁷⁸⁹]*")


@dataclass
class PrintedSheet:
    """What stands on one sheet."""

    number: int
    page: int
    lines: list[str] = field(default_factory=list)

    def text(self) -> str:
        return " ".join(self.lines)


def printed_sheets(pages: Sequence[str], first: int = 1) -> tuple[list[str], list[PrintedSheet]]:
    """The lines of the list in front, and every sheet; running heads and feet are left out."""
    front: list[str] = []
    sheets: list[PrintedSheet] = []
    begun = False
    for number, text in enumerate(pages, first):
        for line in text.split("\n")[1:-1]:
            begun = begun or line == "Calculation sheets"
            start = _START.fullmatch(line)
            if not begun or line in _GROUPS:
                continue
            if start and (sheets or front) and int(start.group(1)) == len(sheets) + 1:
                sheets.append(PrintedSheet(int(start.group(1)), number))
            (sheets[-1].lines if sheets else front).append(line.strip(" "))
    return front, sheets


def rows_of(sheet: PrintedSheet) -> tuple[list[dict[str, str]], list[dict[str, str]]]:
    """Inputs and steps as printed: symbol, both values, and for a step its formula and numbers."""
    parts: tuple[list[dict[str, str]], list[dict[str, str]]] = ([], [])
    part, blocks = 0, ([[]], [[]])
    for line in sheet.lines:
        if line.startswith("Step SI US"):
            part = 1
        elif _ROW.fullmatch(line):
            blocks[part].append([line])
        else:
            blocks[part][-1].append(line)
    for rows, found in zip(parts, blocks, strict=True):
        rows += [_row(block) for block in found[1:]]
    return parts


def _row(block: list[str]) -> dict[str, str]:
    match = _ROW.fullmatch(block[0])
    assert match is not None
    row = {"symbol": match.group(1), "si": match.group(2), "us": match.group(3) or ""}
    text = " ".join(block)
    at = text.find("Written out: ")
    if at >= 0:
        out = _OUT.match(text[at:])
        formula, numbers, result = out.groups() if out else ("", "", "")
        row |= {"out": text[at:], "formula": formula, "numbers": numbers, "result": result}
    return row


def result_of(sheet: PrintedSheet) -> list[tuple[float, float]]:
    """The ends of the large result, each as the range that it may stand for."""
    found = re.search(rf"\? (.+?) ?{END_OF_RESULT.pattern}", sheet.text())
    assert found, sheet.text()[:200]
    return [read_end(end) for end in _ENDS.sub("", found.group(1)).split(" to ")]


def read_end(text: str) -> tuple[float, float]:
    """A rounded quantity such as L/360, 35 %, a word, or one with its SI value in brackets."""
    text = text.strip()
    if match := re.fullmatch(r"L/([\d,]+)", text):
        n = float(match.group(1).replace(",", ""))
        return 1 / (n + 0.5), 1 / (n - 0.5)
    if match := re.search(r" \((.+)\)$", text):
        text = match.group(1)
    match = re.match(r"−?([\d,]+)(\.\d+)?", text)
    if match is None:
        return read_printed(text)
    digits, decimals = match.group(1).replace(",", ""), len(match.group(2) or ".") - 1
    # Whole numbers may be rounded to three digits; decimals are rounded where they end.
    half = 0.5 * 10.0**-decimals if decimals else 0.5 * 10.0 ** max(len(digits) - 3, 0)
    middle = sum(read_printed(text)) / 2
    unit = text[match.end() :].strip()
    return middle - half * _size(unit), middle + half * _size(unit)


def _size(unit: str) -> float:
    return 1.0 if unit == "°C" else unit_factor(unit.replace("\u00a0", " "))


def faults_of(sheet: PrintedSheet) -> list[str]:
    """All that does not come out on a sheet, from its printed inputs only."""
    try:
        return _faults(sheet)
    except _BROKEN as error:
        return [f"sheet {sheet.number}: cannot be followed: {error!r}"]


def _faults(sheet: PrintedSheet) -> list[str]:
    inputs, steps = rows_of(sheet)
    faults = [f"sheet {sheet.number}: {fault}" for fault in _both_systems([*inputs, *steps])]
    known = {row["symbol"]: row["si"] for row in inputs}
    for step in steps:
        if "out" in step:
            faults += [f"sheet {sheet.number}: {fault}" for fault in _written(step, known)]
        known[step["symbol"]] = step["si"]
    plain = [{"formula": "", **step} for step in steps]
    faults += [f"sheet {sheet.number}: {fault}" for fault in work_through(inputs, plain)]
    if steps:
        low, high = read_printed(steps[-1]["si"])
        slack = 1e-9 * max(abs(low), abs(high))
        if not any(low <= end[1] + slack and high >= end[0] - slack for end in result_of(sheet)):
            faults.append(f"sheet {sheet.number}: the result is not what the last step gives")
    return faults


def _both_systems(rows: Sequence[dict[str, str]]) -> list[str]:
    """Values whose SI and US number are not the same quantity."""
    faults = []
    for row in rows:
        if not row["us"]:
            continue
        low, high = read_printed(row["si"])
        number, _, unit = row["us"].partition("\u00a0")
        value = float(number.replace(",", "").replace("−", "-"))
        half = 0.5 * 10.0 ** (len(str(int(abs(value)))) - 5) if abs(value) >= 1 else abs(value) * 5e-5
        factor = unit_factor(unit.replace("\u00a0", " "))
        offset = 459.67 * factor if row["si"].endswith("°C") else 0.0
        least, most = (value - half) * factor + offset, (value + half) * factor + offset
        slack = 2e-6 * max(abs(least), abs(most))
        if most + slack < low or least - slack > high:
            faults.append(f"{row['symbol']}: {row['si']} is not {row['us']}")
    return faults


def _written(step: dict[str, str], known: dict[str, str]) -> list[str]:
    """Whether the line written out has the printed numbers in the place of the symbols."""
    if not step["formula"]:
        return [f"{step['symbol']}: the line written out cannot be read: {step['out']}"]
    if step["result"] != step["si"]:
        return [f"{step['symbol']}: written out gives {step['result']}, printed {step['si']}"]
    pattern, symbols = _pattern(step["formula"])
    found = re.fullmatch(pattern, _close(step["numbers"]))
    if found is None:
        return [f"{step['symbol']}: numbers do not follow the formula: {step['formula']}"]
    faults = []
    for symbol, number in zip(symbols, found.groups(), strict=True):
        low, high = read_printed(known[symbol]) if symbol in known else (1.0, 0.0)
        value = _number(number)
        half = abs(value) * 5.1e-5
        if not low - half <= value <= high + half:
            faults.append(f"{step['symbol']}: {number} put in for {symbol}, printed {known.get(symbol)}")
    return faults


def _pattern(formula: str) -> tuple[str, list[str]]:
    """The numbers' line that a formula asks for, and the symbols in the order of its groups."""
    text, symbols, parts, at = _close(formula), [], [], 0
    for match in _SYMBOL.finditer(text):
        if match.group(0) in _FUNCTIONS:
            continue
        parts.append(re.escape(text[at : match.start()]))
        parts.append(r"(\(−?[^()]+\)|[\d,]*\.?\d+)")
        symbols.append(match.group(0))
        at = match.end()
    return "".join(parts) + re.escape(text[at:]), symbols


def _close(line: str) -> str:
    """A line without its spaces; what parts the members of a function is no longer like a digit group."""
    return re.sub(r"\s", "", re.sub(r",\s", ";", unicodedata.normalize("NFC", line)))


def _number(text: str) -> float:
    """A number put in: plain, negative in brackets, or with a power of ten."""
    text = text.strip("()").replace("−", "-").replace(",", "")
    digits, _, power = text.partition("·10")
    raised = power.translate(str.maketrans("⁰¹²³⁴⁵⁶⁷⁸⁹⁻", "0123456789-"))
    return float(digits) * 10.0 ** int(raised or 0)
