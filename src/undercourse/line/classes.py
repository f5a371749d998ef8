"""Classes of mortars, adhesives and grouts: when a product of one class meets another that is asked for.

Two systems of names are read. ANSI A118 names a mortar by its standard and adds letters: F fast, T for mortar
that does not slip on walls, E extended open time, H for large and heavy tile. ISO 13007-1 writes C
(cement) or R (reaction resin) with 1 or 2, the letters F, T, E, then S1 or S2 (deformable) and P1 or P2
(plywood). More letters than asked for, and the higher number, meet what is asked.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache

_NAMED = re.compile(r"^(?:ANSI )?(A118\.\d+)\s*([FTEH]*)$")
_ADHESIVE = re.compile(r"^(?:([CR])([12])\s*([FTE]*))?((?:\s*[SP][12])*)$")


@dataclass(frozen=True)
class _Class:
    """A class taken apart: family, grades by letter (higher meets lower), further letters."""

    family: str
    grades: tuple[tuple[str, int], ...]
    letters: frozenset[str]


@lru_cache(maxsize=4096)
def _take_apart(text: str) -> _Class | None:
    plain = " ".join(text.split())
    if match := _NAMED.match(plain):
        return _Class(match.group(1), (), frozenset(match.group(2)))
    match = _ADHESIVE.match(plain.removeprefix("ISO 13007 "))
    if not match or not match.group(0):
        return None
    kind, number, letters, rest = match.groups()
    grades = [(kind, int(number))] if kind else []
    grades += [(part[0], int(part[1])) for part in re.findall(r"[SP][12]", rest)]
    return _Class("ISO 13007", tuple(grades), frozenset(letters or ""))


@lru_cache(maxsize=4096)
def class_meets(have: str, want: str) -> bool:
    """Whether a product of class ``have`` meets the class ``want``.

    "A118.4HTE" meets "A118.4" and "A118.4T"; "C2TE S1" meets "C2", "C2 S1", "C2E" and "C1"; S2 meets S1, P2
    meets P1, R2 meets R1. "ISO 13007 " before a class changes nothing. No class of one system meets a
    class of the other, and A118.15, the improved mortar, is a class of its own that meets A118.4 only where
    a product or a need lists both. Whatever is not read as one of these names must be the same text.

    Fast mortar (F) counts for its class without F although its open time is shorter: what is asked is the
    strength; a need that minds the open time asks for E.
    """
    if have == want:
        return True
    first, second = _take_apart(have), _take_apart(want)
    if first is None or second is None:
        return have.strip().removeprefix("ISO 13007 ") == want.strip().removeprefix("ISO 13007 ")
    if first.family != second.family or not second.letters <= first.letters:
        return False
    owned = dict(first.grades)
    return all(owned.get(letter, 0) >= grade for letter, grade in second.grades)


def any_class_meets(have: Iterable[str], want: Iterable[str]) -> bool:
    """Whether one class of a product meets one of the classes asked for."""
    wanted = tuple(want)
    return any(class_meets(own, other) for own in have for other in wanted)
