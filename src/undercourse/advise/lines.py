"""The values of one open fact in parts, with what each part means for one candidate."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass, field

from undercourse.advise.edges import Border
from undercourse.advise.parts import is_point
from undercourse.base.domains import Choices, Span, Spec

# States of a part: proven out, out because the maker does not state it, not known, a completion suits,
# between the two written numbers of a boundary, contradictory.
OUT, RULING, UNSURE, SUITS, BETWEEN, IMPOSSIBLE = range(6)


@dataclass
class Line:
    """The values of one fact in parts, with the state of each for one candidate.

    ``shown`` holds the single values with which a completion suits.
    """

    fact: str
    whole: Spec
    parts: list[Spec]
    states: list[int]
    shown: set[Spec] = field(default_factory=set)

    @property
    def matters(self) -> bool:
        """Whether some values are out and others are not."""
        out = [state in (OUT, RULING) for state in self.states]
        return any(out) and any(state in (UNSURE, SUITS) for state in self.states)

    @property
    def exact(self) -> bool:
        """Whether every part is proven one way or the other."""
        return UNSURE not in self.states

    def chosen(self, *states: int) -> list[bool]:
        """Which parts are in one of some states."""
        return [state in states for state in self.states]

    def unsure(self, apart: Collection[Spec] = ()) -> Iterator[Spec]:
        """The values to look into: choices, numbers, both ends of ranges; parts set apart are left out."""
        for part, state in zip(self.parts, self.states, strict=True):
            if state == UNSURE and part not in apart:
                yield from ends_of(part)

    def settle(self) -> None:
        """A part suits where it does at all its ends."""
        for place, (part, state) in enumerate(zip(self.parts, self.states, strict=True)):
            if state == UNSURE and all(value in self.shown for value in ends_of(part)):
                self.states[place] = SUITS

    def cut(self, span: Span, lower: Border | None, upper: Border | None) -> None:
        """Cut a range where what is out at either end begins."""
        place = self.parts.index(span)
        pieces = _pieces(span, lower, upper)
        self.parts[place : place + 1] = [spec for spec, _ in pieces]
        self.states[place : place + 1] = [state for _, state in pieces]

    def left(self) -> Spec | None:
        """What is left once what is out is taken away; of a number one range. None where nothing is."""
        if isinstance(self.whole, Span):
            return self.kept()
        parts = zip(self.parts, self.states, strict=True)
        bits = sum(
            part.bits for part, state in parts if state in (UNSURE, SUITS) and isinstance(part, Choices)
        )
        return Choices(bits) if bits else None

    def kept(self) -> Span | None:
        """From the least to the greatest number that is not out."""
        parts = [
            part
            for part, state in zip(self.parts, self.states, strict=True)
            if state in (UNSURE, SUITS) and isinstance(part, Span)
        ]
        return Span(parts[0].low, parts[-1].high) if parts else None


def ends_of(part: Spec) -> list[Spec]:
    """The two ends of a range; a number or a choice by itself."""
    if is_point(part) or not isinstance(part, Span):
        return [part]
    return [Span(part.low, part.low), Span(part.high, part.high)]


def _pieces(span: Span, lower: Border | None, upper: Border | None) -> list[tuple[Spec, int]]:
    """A range with what is out at either end; the numbers between two written ones are left to neither."""
    first, last = lower or Border(span.low, span.low), upper or Border(span.high, span.high)
    if lower and upper and first.out >= last.out:
        return [(span, OUT)]
    pieces: list[tuple[Spec, int]] = []
    if lower:
        pieces += [(Span(span.low, first.out), OUT), (Span(first.out, first.kept), BETWEEN)]
    if first.kept <= last.kept:
        pieces.append((Span(first.kept, last.kept), UNSURE))
    if upper:
        pieces += [(Span(last.kept, last.out), BETWEEN), (Span(last.out, span.high), OUT)]
    return pieces
