"""How wide words are on paper: advance widths of the shipped face, without asking a font file."""

from __future__ import annotations

from functools import cache
from types import MappingProxyType

from undercourse.drawings import _advances

FAMILY = "Atkinson Hyperlegible Next"
# Sizes of lettering in millimetres on paper (size of the face, not height of capitals).
SMALL, NORMAL, LARGE = 2.7, 3.2, 4.2
CAP_HEIGHT, ASCENT, DESCENT = 0.668, 0.75, 0.22  # shares of the size
LEADING = 1.28


@cache
def _widths(bold: bool) -> MappingProxyType[int, int]:
    widths: dict[int, int] = {}
    for run in (_advances.BOLD if bold else _advances.REGULAR).split(" "):
        first, values = run.split(":")
        found = enumerate(values.split(","), start=int(first, 16))
        widths.update((code, int(width)) for code, width in found if width)
    return MappingProxyType(widths)


def covers(character: str) -> bool:
    """Whether the shipped face has a glyph for the character."""
    return ord(character) in _widths(False)


def text_width(text: str, size: float, *, bold: bool = False) -> float:
    """Width of one line of text, in the unit of ``size``; kerning is left out.

    A character the face lacks counts as a full square, so that a fallback face never overruns.
    """
    widths = _widths(bold)
    return sum(widths.get(ord(c), 1000) for c in text) * size / 1000


def wrap_text(text: str, width: float, size: float, *, bold: bool = False) -> list[str]:
    """Lines of at most ``width``, broken at spaces and, where one word is too long, within it."""
    lines: list[str] = []
    line = ""
    for word in text.split():
        trial = f"{line} {word}" if line else word
        if text_width(trial, size, bold=bold) <= width:
            line = trial
            continue
        if line:
            lines.append(line)
        while text_width(word, size, bold=bold) > width and len(word) > 1:
            cut = len(word) - 1
            while cut > 1 and text_width(word[:cut], size, bold=bold) > width:
                cut -= 1
            lines.append(word[:cut])
            word = word[cut:]
        line = word
    return [*lines, line] if line else lines


def shorten(text: str, width: float, size: float, *, bold: bool = False) -> str:
    """The text, or as much of it as fits before an ellipsis."""
    if text_width(text, size, bold=bold) <= width:
        return text
    while text and text_width(text + "…", size, bold=bold) > width:
        text = text[:-1]
    return text.rstrip(" ,;") + "…"
