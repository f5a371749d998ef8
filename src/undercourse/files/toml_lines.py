"""Where a key stands in a TOML text: path of keys to line number."""

from __future__ import annotations

import re

Path = tuple[str | int, ...]

_HEADER = re.compile(r"^\s*(\[\[?)\s*([^\]]+?)\s*\]\]?\s*(?:#.*)?$")
_KEY = re.compile(r"""^\s*((?:[A-Za-z0-9_-]+|"[^"]*"|'[^']*')(?:\s*\.\s*(?:[A-Za-z0-9_-]+|"[^"]*"))*)\s*=""")


def find_lines(text: str) -> dict[Path, int]:
    """Line number (from 1) of every table header and key of a TOML text.

    Arrays of tables get their index in the path, as in the parsed data. Keys inside inline
    tables and multi-line values stand at the line where their value begins.
    """
    lines: dict[Path, int] = {(): 1}
    counts: dict[Path, int] = {}
    here: Path = ()
    inside = ""
    for number, line in enumerate(text.splitlines(), 1):
        if inside:
            if inside in line:
                inside = ""
            continue
        if match := _HEADER.match(line):
            names = [part.strip().strip("\"'") for part in match.group(2).split(".")]
            path: Path = ()
            for place, name in enumerate(names):
                path = (*path, name)
                last = place == len(names) - 1
                if match.group(1) == "[[" and last:
                    counts[path] = counts.get(path, -1) + 1
                    path = (*path, counts[path])
                elif path in counts:
                    path = (*path, counts[path])
            here = path
            lines.setdefault(path, number)
            continue
        if match := _KEY.match(line):
            names = [part.strip().strip("\"'") for part in match.group(1).split(".")]
            lines.setdefault((*here, *names), number)
            for quote in ('"""', "'''"):
                if line.count(quote) == 1:
                    inside = quote
    return lines


def line_of(lines: dict[Path, int], path: Path) -> int:
    """The line of a path, or of the nearest thing above it."""
    while path and path not in lines:
        path = path[:-1]
    return lines.get(path, 1)
