"""Plain lines, arcs, circles and polylines of a drawing's model space, read in bulk.

A general reader makes an object of each part, which takes a minute where a plan has some hundred thousand
plain lines. Those are taken out here; what is left goes to the general reader.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import pairwise

from undercourse.files.dxf_curves import Point, arc_points, bulge_points

_SECTION = re.compile(rb"\n[ \t]*2[ \t]*\r?\n[ \t]*ENTITIES[ \t]*(?=\r?\n)")
_END = re.compile(rb"\r?\n[ \t]*0[ \t]*\r?\n[ \t]*ENDSEC")
# The group code 0 and a name: a value is never followed by a line that starts with a letter.
_NEXT = re.compile(rb"\r?\n[ \t]*0[ \t]*\r?\n[ \t]*(?=[A-Z])")
_PLAIN = (b"LINE", b"ARC", b"CIRCLE", b"LWPOLYLINE")
# Kinds that bound no floor here; but for points they are told.
_IDLE = (b"POINT", b"HATCH", b"SOLID", b"WIPEOUT")

Tags = list[tuple[bytes, bytes]]


@dataclass(frozen=True)
class Plain:
    """One part: its layer as bytes and its numbers, of which the kind tells the meaning."""

    kind: bytes
    layer: bytes
    numbers: tuple[float, ...] = ()
    corners: tuple[tuple[float, float, float], ...] = ()
    closed: bool = False

    def points(self, chord: float | None) -> list[Point]:
        """The part as points, curves within ``chord`` of them, in drawing units."""
        n = self.numbers
        if self.kind == b"LINE":
            return [(n[0], n[1]), (n[2], n[3])]
        if self.kind == b"ARC":
            return arc_points((n[0], n[1]), n[2], n[3], n[4], chord)
        if self.kind == b"CIRCLE":
            return arc_points((n[0], n[1]), n[2], 0.0, 360.0, chord)
        return bulge_points(self.corners, self.closed, chord)


@dataclass
class Bulk:
    """Parts taken out of a drawing; ``skipped`` counts kinds that bound no floor."""

    plain: list[Plain] = field(default_factory=list)
    skipped: Counter[str] = field(default_factory=Counter)
    too_many: bool = False


def take_bulk(data: bytes, most: int) -> tuple[Bulk, bytes]:
    """Take the plain parts out of a drawing; return them, and the drawing without them."""
    bulk = Bulk()
    head = _SECTION.search(data)
    end = _END.search(data, head.end()) if head else None
    if head is None or end is None:
        return bulk, data
    starts = [mark.start() for mark in _limited(data, head.end(), end.start(), most)]
    if len(starts) > most:
        bulk.too_many = True
        return bulk, b""
    if not starts or starts[0] != head.end():
        return bulk, data
    starts.append(end.start())
    chunks = [data[start:stop] for start, stop in pairwise(starts)]
    return bulk, data[: head.end()] + b"".join(_left(chunks, bulk)) + data[end.start() :]


def _limited(data: bytes, start: int, stop: int, most: int) -> list[re.Match[bytes]]:
    found = []
    for mark in _NEXT.finditer(data, start, stop):
        found.append(mark)
        if len(found) > most:
            break
    return found


def _left(chunks: Sequence[bytes], bulk: Bulk) -> list[bytes]:
    """Take the plain chunks into the bulk; give back the others, in their order."""
    left: list[bytes] = []
    place = 0
    while place < len(chunks):
        kind, tags = _tags(chunks[place])
        after = place + 1
        if kind == b"POLYLINE":
            while after < len(chunks) and _kind(chunks[after]) == b"VERTEX":
                after += 1
            after += after < len(chunks) and _kind(chunks[after]) == b"SEQEND"
        try:
            taken = _take(kind, tags, chunks[place + 1 : after], bulk)
        except (KeyError, ValueError):
            taken = False
        if not taken:
            left += chunks[place:after]
        place = after
    return left


def _kind(chunk: bytes) -> bytes:
    return chunk.split(b"\n", 3)[2].strip()


def _tags(chunk: bytes) -> tuple[bytes, Tags]:
    lines = chunk.split(b"\n")
    pairs = [(code.strip(), value) for code, value in zip(lines[3::2], lines[4::2], strict=False)]
    return lines[2].strip(), pairs


def _take(kind: bytes, tags: Tags, more: Sequence[bytes], bulk: Bulk) -> bool:
    """Take one part if it is plain; raises KeyError or ValueError where it is damaged."""
    if kind in _IDLE:
        bulk.skipped[kind.decode()] += kind != b"POINT"
        return True
    if kind not in _PLAIN and kind != b"POLYLINE":
        return False
    named = dict(tags)
    if float(named.get(b"230", b"1")) != 1.0:
        return False  # turned out of the plan
    if int(named.get(b"67", b"0")) == 1 or int(named.get(b"60", b"0")) == 1:
        return True  # on a sheet of paper, or invisible
    layer = named[b"8"].strip()
    flags = int(named.get(b"70", b"0"))
    if kind == b"LWPOLYLINE":
        bulk.plain.append(Plain(kind, layer, (), _corners(tags), bool(flags & 1)))
    elif kind == b"POLYLINE":
        if flags & ~(1 | 8 | 128):
            return False  # fitted curves and meshes
        corners: list[tuple[float, float, float]] = []
        for chunk in more:
            name, vertex = _tags(chunk)
            if name == b"VERTEX":
                corners += _corners(vertex)
        bulk.plain.append(Plain(kind, layer, (), tuple(corners), bool(flags & 1)))
    else:
        codes = {b"LINE": b"10 20 11 21", b"ARC": b"10 20 40 50 51", b"CIRCLE": b"10 20 40"}[kind]
        numbers = tuple(float(named[code]) for code in codes.split())
        bulk.plain.append(Plain(kind, layer, numbers, (), kind == b"CIRCLE"))
    return True


def _corners(tags: Tags) -> tuple[tuple[float, float, float], ...]:
    """Corners and bulges of a polyline, or the one of a vertex."""
    xs, ys, bulges = [], [], {}
    for code, value in tags:
        if code == b"10":
            xs.append(float(value))
        elif code == b"20":
            ys.append(float(value))
        elif code == b"42" and xs:
            bulges[len(xs) - 1] = float(value)
    if len(xs) != len(ys):
        raise ValueError("a corner lacks its y")
    return tuple((x, y, bulges.get(place, 0.0)) for place, (x, y) in enumerate(zip(xs, ys, strict=True)))
