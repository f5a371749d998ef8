"""Chart of shares used: what the site needs of what the product allows, limit by limit."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from typing import Any

from undercourse.drawings.frame import TitleBlock, finish_sheet
from undercourse.drawings.lettering import NORMAL, SMALL, text_width, wrap_text
from undercourse.drawings.sheet import PENS, Disc, Fill, Sheet, Stroke, Words, arrow_head

LABEL_SHARE, VALUE_MM, ROW_GAP_MM = 0.36, 29.0, 2.6
WIDEST = 2.0  # shares beyond this leave the axis with an arrow


@dataclass(frozen=True)
class _Row:
    """One limit: its name, its share used (low and high), whether it is open."""

    name: str
    low: float
    high: float
    governs: bool
    status: str


def read_share(value: Any) -> tuple[float, float] | None:
    """A share used as low and high: from a number, ``{"from", "to"}`` or a pair; None where there is none."""
    if isinstance(value, bool) or value is None:
        return None
    if isinstance(value, int | float):
        return (float(value), float(value)) if not math.isnan(value) else None
    ends = [value.get("from"), value.get("to")] if isinstance(value, dict) else list(value)
    if len(ends) != 2 or not any(isinstance(end, int | float) for end in ends):
        return None
    low, high = ends
    return (
        float(low) if isinstance(low, int | float) else 0.0,
        float(high) if isinstance(high, int | float) else math.inf,
    )


MOST_TOLD = 10.0
"""A share used beyond this is told as so much or more."""


def share_text(low: float, high: float) -> str:
    """A share, or a range of shares, in whole percent; rounded up so that more than all never reads 100 %."""
    if high > MOST_TOLD:
        return f"{_percent(min(low, MOST_TOLD))} % or more"
    if _percent(low) == _percent(high):
        return f"{_percent(low)} %"
    return f"{_percent(low)} to {_percent(high)} %"


def _percent(share: float) -> int:
    return math.ceil(share * 100 - 1e-9) if share > 1 else round(share * 100)


def plain_name(name: Any) -> str:
    """A machine's name as words: figures apart from their unit, acronyms in capitals."""
    words = str(name or "limit not named").replace("_", " ")
    words = re.sub(r"\b(\d+)(ft|in|mm|m)\b", r"\1 \2", words)
    return re.sub(r"\b(mver|rh|iic|stc|osb|csp|pvc|gfci|cof)\b", lambda found: found.group().upper(), words)


def _rows(findings: list[dict[str, Any]], governs: Any) -> list[_Row]:
    rows = []
    for finding in findings:
        status = str(finding.get("status") or "")
        share = open_share(finding) if status == "open" else read_share(finding.get("utilisation"))
        if share is None or status == "does not apply":
            continue
        limit = finding.get("demand") or finding.get("limit")
        leads = governs is not None and governs in (finding.get("limit"), finding.get("demand"))
        rows.append(_Row(plain_name(limit), share[0], share[1], leads, status))
    rows.sort(key=lambda row: (not row.governs, row.status == "open", -row.high, row.name))
    strictest: dict[str, _Row] = {}  # of several limits on one demand the hardest to meet
    for row in rows:
        known = strictest.get(row.name)
        if known is None or (row.status == "open" and known.status != "open" and not known.governs):
            strictest[row.name] = row
    return sorted(strictest.values(), key=lambda row: (row.status == "open", -row.high, row.name))


def open_share(finding: dict[str, Any]) -> tuple[float, float] | None:
    """The shares that an open finding may still have, low and high.

    A single share is the worst one; the best follows from the other end of the value, where the worst one
    shows in which direction the limit works.
    """
    share = read_share(finding.get("utilisation"))
    value, capacity = finding.get("value"), finding.get("capacity")
    if share is None or share[0] != share[1] or not isinstance(value, dict):
        return share
    low, high = value.get("from"), value.get("to")
    if not isinstance(low, int | float) or not isinstance(high, int | float):
        return (0.0, share[1])
    if not isinstance(capacity, int | float):
        return (0.0, share[1])
    if capacity and math.isclose(high / capacity, share[1], rel_tol=0.02):
        return (max(0.0, low / capacity), share[1])
    if low and high and math.isclose(capacity / low, share[1], rel_tol=0.02):
        return (max(0.0, capacity / high), share[1])
    return (0.0, share[1])


def draw_shares(
    findings: list[dict[str, Any]],
    governs: str | None = None,
    block: TitleBlock | None = None,
    *,
    title: str = "Shares used",
    width_mm: float = 170.0,
    most_rows: int | None = None,
) -> Sheet:
    """Bars of the share used of every limit that has one, the largest first.

    Parameters
    ----------
    findings : list of dict
        A candidate's ``findings``: ``limit``, ``utilisation`` (a share, a range, or None), ``status``.
    governs : str, optional
        The limit (or demand) that decides; its name is set in bold.
    most_rows : int, optional
        Only so many rows; the sheet says how many are left out.

    Returns
    -------
    Sheet
        Bars are paths of class ``bar``, open bands of class ``band``, the limit a path of class ``limit``.
    """
    rows = _rows(findings, governs)
    shown = _most(rows, most_rows) if most_rows else rows
    sheet = Sheet(title, _describe(rows), width_mm)
    if not shown:
        sheet.add(Words((0, 6), "No limit of this assembly is a share of something.", soft=True))
        return finish_sheet(sheet, block, 8) if block else _close(sheet, 10)
    axis = _axis_end(shown)
    left, right = width_mm * LABEL_SHARE, width_mm - VALUE_MM
    factor = (right - left) / axis
    top = y = 10.0
    for row in shown:
        y = _draw_row(sheet, row, left, factor, axis, y)
    y = _draw_axis(sheet, axis, left, factor, top - 2.5, y) - 1.4
    notes = _left_out([row for row in rows if row not in shown])
    if block:
        return finish_sheet(sheet, block, y, notes)
    for note in notes:
        y += SMALL * 1.3
        sheet.add(Words((0, y), note, SMALL, soft=True))
    return _close(sheet, y + 1)


def _most(rows: list[_Row], most: int) -> list[_Row]:
    """The first rows, with the one that decides among them."""
    first = rows[:most]
    leading = [row for row in rows[most:] if row.governs]
    return [*first[: most - 1], leading[0]] if leading else first


def _left_out(rows: list[_Row]) -> list[str]:
    """How many limits a short chart does not show, and how many of those are open."""
    if not rows:
        return []
    count = f"{len(rows)} more limit{' is' if len(rows) == 1 else 's are'} not shown"
    still = sum(row.status == "open" for row in rows)
    return [f"{count}, {still} of them open." if still else f"{count}, all with smaller shares."]


def _close(sheet: Sheet, height: float) -> Sheet:
    sheet.height = height
    return sheet


def _axis_end(rows: list[_Row]) -> float:
    highest = max([row.high for row in rows if math.isfinite(row.high)] or [1.0])
    return min(max(1.25, math.ceil(highest * 4 + 0.2) / 4), WIDEST)


def _draw_row(sheet: Sheet, row: _Row, left: float, factor: float, axis: float, top: float) -> float:
    """Name, bar with the job's point or open band, value; returns the top of the next row."""
    size = NORMAL
    lines = wrap_text(row.name, left - 4.0, size, bold=row.governs) or ["limit not named"]
    height = max(len(lines) * size * 1.2, 4.0)
    middle = top + height / 2
    for number, line in enumerate(lines):
        base = middle + (number - (len(lines) - 1) / 2) * size * 1.2 + size * 0.33
        sheet.add(Words((left - 3.0, base), line, size, "end", bold=row.governs))
    low, high = row.low, row.high
    x_low, x_high = left + min(low, axis) * factor, left + min(high, axis) * factor
    half = 1.3
    bar = ((left, middle - half), (x_low, middle - half), (x_low, middle + half), (left, middle + half))
    sheet.add(Fill(bar, "pale", name="bar"))
    if high > low:
        band = (
            (x_low, middle - half),
            (x_high, middle - half),
            (x_high, middle + half),
            (x_low, middle + half),
        )
        sheet.add(*_open_band(band))
        edge = x_high
    else:
        sheet.add(Disc((x_low, middle), 1.25))
        edge = x_low
    if high > axis:
        tip = left + axis * factor + 3.0
        sheet.add(Stroke(((left + axis * factor, middle), (tip, middle)), PENS["wide"]))
        sheet.add(arrow_head((tip + 1.2, middle), (1, 0)))
        edge = tip + 1.2
    words = share_text(low, high)
    if row.status == "open":
        words = "open" if high > axis else f"{words}, open"
    x = edge + 2.4
    if edge < left + factor < x + text_width(words, size, bold=row.governs) + 0.8:
        x = max(x, left + factor + 1.6)  # the value does not cross the line of the limit
    room = sheet.width - x
    parts = [words]
    if text_width(words, size, bold=row.governs) > room:
        parts, size = words.split(", "), SMALL
    for number, part in enumerate(parts):
        base = middle + (number - (len(parts) - 1) / 2) * size * 1.15 + size * 0.33
        sheet.add(Words((x, base), part, size, bold=row.governs))
    return top + height + ROW_GAP_MM


def _open_band(corners: tuple[tuple[float, float], ...]) -> list[Stroke]:
    """A band between the best and the worst that is still possible: framed, with upright lines."""
    (x_low, y_low), (x_high, y_high) = corners[0], corners[2]
    marks = [Stroke(corners, PENS["narrow"], closed=True, name="band")]
    count = int((x_high - x_low) / 1.1)
    for step in range(1, count + 1):
        x = x_low + step * (x_high - x_low) / (count + 1)
        marks.append(Stroke(((x, y_low), (x, y_high)), PENS["fine"]))
    return marks


def _draw_axis(sheet: Sheet, axis: float, left: float, factor: float, top: float, bottom: float) -> float:
    """The limit at 100 %, the base line and percent along it; returns the lowest line used."""
    limit = left + factor
    sheet.add(Stroke(((limit, top), (limit, bottom)), PENS["wide"], name="limit"))
    sheet.add(Words((limit, top - 1.6), "Limit: all that is allowed", SMALL, "middle", bold=True))
    sheet.add(Stroke(((left, bottom), (left + axis * factor, bottom)), PENS["narrow"]))
    sheet.add(Stroke(((left, top), (left, bottom)), PENS["narrow"]))
    for step in range(int(axis * 4 + 1e-9) + 1):
        x = left + step / 4 * factor
        sheet.add(Stroke(((x, bottom), (x, bottom + 1.2)), PENS["narrow"]))
        if step % 2 == 0 or axis <= 1.5:
            sheet.add(Words((x, bottom + 4.4), f"{step * 25}", SMALL, "middle", soft=True))
    y = bottom + 8.6
    for line in wrap_text(
        "Share used: what the site needs of what the product allows [%]", sheet.width - left, SMALL
    ):
        sheet.add(Words((left, y), line, SMALL, soft=True))
        y += SMALL * 1.25
    return y


def _describe(rows: list[_Row]) -> str:
    if not rows:
        return "No shares used."
    parts = [f"{row.name} {share_text(row.low, row.high)}" for row in rows]
    count = f"{len(rows)} limit{'' if len(rows) == 1 else 's'}"
    return f"Shares used of {count}: {'; '.join(parts)}. The limit is 100 %."
