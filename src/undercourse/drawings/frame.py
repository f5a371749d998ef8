"""What every sheet carries: title block, notes, scale bar."""

from __future__ import annotations

from dataclasses import dataclass

from undercourse.drawings.lettering import NORMAL, SMALL, shorten, text_width, wrap_text
from undercourse.drawings.measures import FOOT_M
from undercourse.drawings.scene import Point
from undercourse.drawings.sheet import PENS, Fill, Sheet, Stroke, Words, scale_text


@dataclass(frozen=True)
class TitleBlock:
    """Who and what a sheet belongs to; an empty entry shows as a dash."""

    job: str = ""
    area: str = ""
    line_revision: str = ""
    date: str = ""
    hash: str = ""


def finish_sheet(sheet: Sheet, block: TitleBlock, below: float, notes: list[str] | None = None) -> Sheet:
    """Write notes under the drawing (from ``below`` on) and the title block under them; sets the height."""
    y = below
    for note in notes or []:
        for line in wrap_text(note, sheet.width, SMALL):
            y += SMALL * 1.3
            sheet.add(Words((0, y), line, SMALL, soft=True))
    top = y + 4.0
    height = 10.6
    sheet.add(Stroke(((0, top), (sheet.width, top)), PENS["wide"]))
    drawing = sheet.title if sheet.scale is None else f"{sheet.title}, {scale_text(sheet.scale)}"
    cells = [
        ("Drawing", drawing, 0.23),
        ("Job", block.job, 0.24),
        ("Area", block.area, 0.17),
        ("Line revision", block.line_revision, 0.14),
        ("Date", block.date, 0.12),
        ("Hash", block.hash[:8], 0.10),
    ]
    x = 0.0
    for number, (_, value, share) in enumerate(cells):
        if text_width(value, NORMAL, bold=number == 0) > share * sheet.width - 2.4:
            height = 12.6  # some value takes two lines
    for number, (head, value, share) in enumerate(cells):
        room = share * sheet.width - 2.4
        left = x if number == 0 else x + 1.6
        if number:
            sheet.add(Stroke(((x, top), (x, top + height)), PENS["narrow"]))
        sheet.add(Words((left, top + 3.5), head, SMALL, soft=True))
        sheet.add(*_cell_words(value or "–", (left, top + 7.9), room, bold=number == 0))
        x += share * sheet.width
    sheet.add(Stroke(((0, top + height), (sheet.width, top + height)), PENS["narrow"]))
    sheet.height = top + height + 0.4
    return sheet


def _cell_words(value: str, at: Point, room: float, *, bold: bool) -> list[Words]:
    """One line at normal size, else two small ones, the second shortened to fit."""
    if text_width(value, NORMAL, bold=bold) <= room:
        return [Words(at, value, NORMAL, bold=bold)]
    first, *rest = wrap_text(value, room, SMALL, bold=bold)
    lines = [first, shorten(" ".join(rest), room, SMALL, bold=bold)] if rest else [first]
    x, y = at
    return [Words((x, y - 0.6 + n * 3.2), line, SMALL, bold=bold) for n, line in enumerate(lines)]


def draw_scale_bar(sheet: Sheet, at: Point, scale: float, longest_mm: float = 60.0) -> None:
    """A bar in metres with feet below it; ``at`` is its left end, 7 mm of height are used above and below."""
    step_m = _bar_step(scale, longest_mm / 4, 1.0)
    step_ft = _bar_step(scale, longest_mm / 4, FOOT_M)
    x, y = at
    for number in range(4):
        left = x + number * step_m * 1000 / scale
        right = x + (number + 1) * step_m * 1000 / scale
        outline = ((left, y - 1.1), (right, y - 1.1), (right, y), (left, y))
        if number % 2 == 0:
            sheet.add(Fill(outline))
        sheet.add(Stroke(outline, PENS["narrow"], closed=True, name="scale-bar"))
    crowded = step_m * 1000 / scale < 6.5  # then only the ends are named
    for number in range(0, 5, 4 if crowded else 1):
        spot = x + number * step_m * 1000 / scale
        words = _bar_label(number * step_m, step_m < 0.1)
        sheet.add(Words((spot, y - 2.0), words, SMALL, "middle", soft=True))
    unit = "mm" if step_m < 0.1 else "m"
    end = x + 4 * step_m * 1000 / scale
    widest = text_width(_bar_label(4 * step_m, step_m < 0.1), SMALL) / 2
    sheet.add(Words((end + widest + 1.0, y - 2.0), unit, SMALL, soft=True))
    count = int(4 * step_m / step_ft + 1e-9)
    inch = step_ft < FOOT_M * 0.99
    for number in range(count + 1):
        spot = x + number * step_ft * 1000 / scale
        sheet.add(Stroke(((spot, y), (spot, y + 1.2)), PENS["narrow"]))
        value = number * step_ft / FOOT_M * (12 if inch else 1)
        sheet.add(Words((spot, y + 4.0), f"{value:g}", SMALL, "middle", soft=True))
    last = x + count * step_ft * 1000 / scale
    sheet.add(Words((last + 3.2, y + 4.0), "in" if inch else "ft", SMALL, soft=True))


def _bar_step(scale: float, target_mm: float, unit_m: float) -> float:
    """The largest round step within the target: 1, 2, 5 times a power of ten, or inches below a foot."""
    candidates = [unit_m * a * 10.0**p for p in range(-3, 4) for a in (1, 2, 5)]
    if unit_m == FOOT_M:
        candidates = [FOOT_M / 12 * k for k in (0.25, 0.5, 1, 2, 3, 6)]
        candidates += [FOOT_M * k for k in (1, 2, 5, 10, 20, 50, 100, 200, 500)]
    fitting = [step for step in candidates if step * 1000 / scale <= target_mm]
    return max(fitting, default=min(candidates))


def _bar_label(value_m: float, small: bool) -> str:
    return f"{value_m * 1000:g}" if small else f"{round(value_m, 3):g}"
