"""A sheet as SVG: the same bytes for the same sheet, presentation attributes only, no identifier.

Ink is ``currentColor`` (a page may restyle it, dark mode included); the classes ``ink``, ``soft``, ``pale``
and ``paper`` let a page restyle the rest. Nothing is scripted, linked or styled inline, so a strict content
security policy has nothing to object to.
"""

from __future__ import annotations

from collections.abc import Sequence
from xml.sax.saxutils import escape, quoteattr

from undercourse.drawings import lettering
from undercourse.drawings.scene import Point
from undercourse.drawings.sheet import Disc, Dots, Fill, Mark, Sheet, Stroke, Tangle, Words

INK = "#23272b"
SOFT_OPACITY = "0.68"
_CONTROL = {code: None for code in range(32) if code not in (9, 10, 13)} | {0xFFFE: None, 0xFFFF: None}


def _number(value: float) -> str:
    text = f"{value:.3f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def _path(points: tuple[Point, ...], closed: bool) -> str:
    first, *rest = (f"{_number(x)} {_number(y)}" for x, y in points)
    return f"M{first}" + "".join(f"L{p}" for p in rest) + ("Z" if closed else "")


def _clean(text: str) -> str:
    """Text without the characters that XML 1.0 forbids."""
    kept = text.translate(_CONTROL)
    return "".join(c for c in kept if not 0xD800 <= ord(c) <= 0xDFFF)


def _stroke(mark: Stroke) -> str:
    attributes = [f'd="{_path(mark.points, mark.closed)}"', f'stroke-width="{_number(mark.width)}"']
    if mark.dash:
        attributes.append(f'stroke-dasharray="{mark.dash}"')
    if mark.soft:
        attributes.append(f'stroke-opacity="{SOFT_OPACITY}"')
    name = mark.name or ("soft" if mark.soft else "ink")
    return f"<path class={quoteattr(_clean(name))} {' '.join(attributes)}/>"


def _fill(mark: Fill) -> str:
    tone = {
        "ink": 'fill="currentColor" stroke="none"',
        "soft": f'fill="currentColor" fill-opacity="{SOFT_OPACITY}" stroke="none"',
        "pale": 'fill="currentColor" fill-opacity="0.14" stroke="none"',
        "paper": 'fill="#ffffff" stroke="none"',
    }[mark.tone]
    name = mark.name or mark.tone
    return f'<path class={quoteattr(_clean(name))} {tone} d="{_path(mark.points, True)}"/>'


def _disc(mark: Disc) -> str:
    if mark.hollow:
        tone = 'class="paper" fill="#ffffff" stroke-width="0.25"'
    elif mark.soft:
        tone = f'class="soft" fill="currentColor" fill-opacity="{SOFT_OPACITY}" stroke="none"'
    else:
        tone = 'class="ink" fill="currentColor" stroke="none"'
    return (
        f'<circle {tone} cx="{_number(mark.at[0])}" cy="{_number(mark.at[1])}" r="{_number(mark.radius)}"/>'
    )


def _tangle(mark: Tangle) -> str:
    tone = f'class="soft" stroke-opacity="{SOFT_OPACITY}"' if mark.soft else 'class="ink"'
    lines = "".join(_path(points, False) for points in mark.lines)
    return f'<path {tone} stroke-width="{_number(mark.width)}" d="{lines}"/>'


def _dots(mark: Dots) -> str:
    """Round caps on lines of no length: one path for any number of dots."""
    tone = f'class="soft" stroke-opacity="{SOFT_OPACITY}"' if mark.soft else 'class="ink"'
    spots = "".join(f"M{_number(x)} {_number(y)}h0" for x, y in mark.points)
    return f'<path {tone} stroke-linecap="round" stroke-width="{_number(2 * mark.radius)}" d="{spots}"/>'


def _words(mark: Words) -> str:
    x, y = _number(mark.at[0]), _number(mark.at[1])
    attributes = [f'x="{x}"', f'y="{y}"', f'font-size="{_number(mark.size)}"']
    if mark.anchor != "start":
        attributes.append(f'text-anchor="{mark.anchor}"')
    if mark.bold:
        attributes.append('font-weight="700"')
    if mark.soft:
        attributes.append(f'fill-opacity="{SOFT_OPACITY}"')
    if mark.turn_deg:
        attributes.append(f'transform="rotate({_number(-mark.turn_deg)} {x} {y})"')
    tone = "soft" if mark.soft else "ink"
    text = escape(_clean(mark.text))
    return f'<text class="{tone}" fill="currentColor" stroke="none" {" ".join(attributes)}>{text}</text>'


def _mark(mark: Mark) -> str:
    if isinstance(mark, Stroke):
        return _stroke(mark)
    if isinstance(mark, Fill):
        return _fill(mark)
    if isinstance(mark, Disc):
        return _disc(mark)
    if isinstance(mark, Tangle):
        return _tangle(mark)
    if isinstance(mark, Dots):
        return _dots(mark)
    return _words(mark)


def _head(wide_mm: float, high_mm: float) -> str:
    width, height = _number(wide_mm), _number(high_mm)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" role="img" width="{width}mm" height="{height}mm" '
        f'viewBox="0 0 {width} {height}" color="{INK}" fill="none" stroke="currentColor" '
        f'stroke-linecap="butt" stroke-linejoin="round" font-family="{lettering.FAMILY}, sans-serif">'
    )


def stack_svg(sheets: Sequence[Sheet], title: str, gap_mm: float = 12.0) -> bytes:
    """Several sheets one under another as one SVG document in true size."""
    lines = [f"<title>{escape(_clean(title))}</title>"]
    lines.append(f"<desc>{escape(_clean(' '.join(sheet.description for sheet in sheets)))}</desc>")
    top = 0.0
    for sheet in sheets:
        lines.append(f'<g transform="translate(0 {_number(top)})">')
        lines += [f"<title>{escape(_clean(sheet.title))}</title>", *map(_mark, sheet.marks), "</g>"]
        top += sheet.height + gap_mm
    head = _head(max(sheet.width for sheet in sheets), top - gap_mm)
    return "\n".join([head, *lines, "</svg>", ""]).encode()


def to_svg(sheet: Sheet) -> bytes:
    """The sheet as an SVG document in UTF-8, in true size (millimetres)."""
    head = _head(sheet.width, sheet.height)
    title = f"<title>{escape(_clean(sheet.title))}</title>"
    description = f"<desc>{escape(_clean(sheet.description))}</desc>"
    return "\n".join([head, title, description, *map(_mark, sheet.marks), "</svg>", ""]).encode()
