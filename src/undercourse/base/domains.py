"""Domains of values and what a person may write for one: a range, a set, or nothing.

A value is the set of values that a thing may still have. Numbers are closed intervals in SI,
choices are bit sets. A flag is a choice of ``no`` and ``yes``.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from difflib import get_close_matches
from functools import cached_property
from typing import Any, NamedTuple

from undercourse.base.units import (
    UNITS,
    Unit,
    from_si,
    read_leading_number,
    read_quantity,
    show_quantity,
    to_si,
)

# Comparisons of written numbers allow for the last digits of unit conversion.
SLACK = 1e-9
# A strict end starts where comparisons stop counting as equal.
_STRICT = 2 * SLACK
# What surely lies beyond a number starts a little farther on.
_BEYOND = 3 * SLACK
_MOST_SHOWN = 2000
# Whole numbers of JSON and TOML have no end; past this they do not fit a float.
_HUGE = 10**300


class Span(NamedTuple):
    """A closed interval in SI."""

    low: float
    high: float


class Choices(NamedTuple):
    """A set of choices as bits."""

    bits: int


Spec = Span | Choices


@dataclass(frozen=True)
class Domain:
    """All values that a named thing may have."""

    name: str
    kind: str
    unit: Unit | None = None
    low: float = -math.inf
    high: float = math.inf
    choices: tuple[str, ...] = ()
    words: Mapping[str, str] = field(default_factory=dict)
    nominal: Mapping[float, float] = field(default_factory=dict)

    @property
    def everything(self) -> Spec:
        """The whole domain: what unknown means."""
        if self.kind == "number":
            return Span(self.low, self.high)
        return Choices((1 << len(self.choices)) - 1)

    @cached_property
    def bit_of(self) -> dict[str, int]:
        """The bit of each choice, by its lower-case name."""
        return {choice.lower(): 1 << place for place, choice in enumerate(self.choices)}

    @cached_property
    def shown(self) -> dict[Spec, str]:
        """Texts of sets that were shown before."""
        return {}

    def names(self, bits: int) -> list[str]:
        """The choices that a bit set holds, in the domain's order."""
        return [choice for place, choice in enumerate(self.choices) if bits >> place & 1]


def number_domain(name: str, unit: str, low: float, high: float) -> Domain:
    """A domain of numbers with its ends written in ``unit``."""
    known = UNITS[unit]
    return Domain(name, "number", known, to_si(low, known), to_si(high, known))


def choice_domain(name: str, choices: tuple[str, ...]) -> Domain:
    """A domain of named choices."""
    return Domain(name, "choice", choices=choices)


def flag_domain(name: str) -> Domain:
    """A domain of no and yes."""
    return Domain(name, "flag", choices=("no", "yes"))


def read_spec(domain: Domain, raw: Any) -> Spec:
    """The set of values that a written value leaves possible.

    Parameters
    ----------
    domain : Domain
    raw : str, int, float, bool, list or dict
        As in a job file; a dict is ``{"from": ..., "to": ...}``. A bare number is in the
        domain's unit.

    Raises
    ------
    ValueError
        With a sentence that says what is wrong and, after a semicolon, how to mend it.
    """
    # The two commonest forms first: a bare number well inside the domain, a choice by its name.
    if domain.unit is not None and (type(raw) is float or (type(raw) is int and abs(raw) < _HUGE)):
        value = raw * domain.unit.factor + domain.unit.offset
        if domain.low <= value <= domain.high:
            return Span(value, value)
    elif type(raw) is str and (bit := domain.bit_of.get(raw)) is not None:
        return Choices(bit)
    if isinstance(raw, str) and raw.strip() in ("?", "unknown", "not known", "don't know"):
        return domain.everything
    return _read_span(domain, raw) if domain.kind == "number" else Choices(_read_bits(domain, raw))


def _example(domain: Domain) -> str:
    assert domain.unit is not None
    return f"write a number with a unit of {domain.unit.dimension}, such as {domain.unit.symbol}"


def _with_unit(number: str, value: float, unit: Unit) -> str:
    """A bare number with the unit that it most likely is in, and the same in the other system."""
    written = f'"{number} {unit.symbol}"'
    _, _, other = show_quantity(to_si(value, unit), unit).rstrip(")").partition(" (")
    if unit.dimension not in ("length", "pressure", "mass") or not other:
        return written
    return f'{written} or "{other}"'


def _one_number(domain: Domain, raw: Any, nominal: bool = False) -> float:
    assert domain.unit is not None
    if isinstance(raw, bool) or not isinstance(raw, (int, float, str)):
        raise ValueError(f"{raw!r} is not a number; {_example(domain)}")
    if isinstance(raw, (int, float)):
        if isinstance(raw, int) and abs(raw) >= _HUGE:
            raise ValueError(f"the number is too large; {_example(domain)}")
        if not math.isfinite(raw):
            raise ValueError(f"{raw!r} is not a finite number; {_example(domain)}")
        return to_si(float(raw), domain.unit)
    bare = domain.unit.dimension in ("count", "ratio", "level")
    try:
        text = raw.strip()
        if domain.unit.symbol == "L/" and text.upper().startswith("L/"):
            text = text[2:]
        if domain.unit.dimension == "ratio" and "/" in text:
            found = read_leading_number(text)
            if found and not found[1].strip():
                return found[0]
        value = read_quantity(text, domain.unit.dimension, domain.unit if bare else None)
    except ValueError as error:
        what = str(error)
        found = read_leading_number(raw)
        if found and not found[1].strip() and math.isfinite(found[0]):
            raise ValueError(f"{what}; write {_with_unit(raw.strip(), found[0], domain.unit)}") from None
        raise ValueError(f"{what}; {_example(domain)}") from None
    if nominal and domain.nominal:
        for written, actual in domain.nominal.items():
            if abs(value - written) < 2e-5:
                return actual
    return value


_RANGE = re.compile(r"^(.*?\S)\s*(?:\.\.|\bto\b|–)\s*(\S.*)$")
_OPENING = [
    (re.compile(r"^(?:up to|at most|no more than|<=|≤)\s*(.+)$", re.I), "at most"),
    (re.compile(r"^(?:under|below|less than|<)\s*(.+)$", re.I), "under"),
    (re.compile(r"^(?:over|above|more than|>)\s*(.+)$", re.I), "over"),
    (re.compile(r"^(?:at least|from|>=|≥)\s*(.+)$", re.I), "at least"),
    (re.compile(r"^(?:about|around|roughly|ca\.?|~)\s*(.+)$", re.I), "about"),
]


def _read_span(domain: Domain, raw: Any) -> Span:
    if isinstance(raw, Mapping):
        unknown = set(raw) - {"from", "to"}
        if unknown or not raw:
            keys = sorted(map(str, raw))
            raise ValueError(f'a range has the keys "from" and "to", not {keys}; mend the keys')
        nominal = isinstance(raw.get("from"), str)
        low = _one_number(domain, raw["from"], nominal) if "from" in raw else domain.low
        high = _one_number(domain, raw["to"]) if "to" in raw else domain.high
        return _inside(domain, low, high, raw)
    if isinstance(raw, list):
        spans = [_read_span(domain, item) for item in raw]
        if not spans:
            raise ValueError("an empty list leaves no value possible; leave the fact out if it is unknown")
        return Span(min(span.low for span in spans), max(span.high for span in spans))
    if isinstance(raw, str):
        text = raw.strip()
        for pattern, word in _OPENING:
            if match := pattern.match(text):
                return _opening(domain, word, match.group(1), raw)
        if match := _RANGE.match(text):
            first, last = match.groups()
            ended = read_leading_number(last)
            begun = read_leading_number(first)
            if begun is not None and not begun[1].strip() and ended is not None:
                first = first + " " + ended[1]
            return _inside(domain, _one_number(domain, first, True), _one_number(domain, last), raw)
        if "|" in text:
            return _read_span(domain, [part.strip() for part in text.split("|")])
    value = _one_number(domain, raw, nominal=isinstance(raw, str))
    return _inside(domain, value, value, raw)


def _opening(domain: Domain, word: str, text: str, raw: Any) -> Span:
    value = _one_number(domain, text, nominal=word in ("at least", "about"))
    if word == "at most":
        return _inside(domain, min(domain.low, value), value, raw)
    if word == "under":
        return _inside(domain, min(domain.low, value), value - max(abs(value) * _STRICT, 1e-12), raw)
    if word == "over":
        return _inside(domain, value + max(abs(value) * _STRICT, 1e-12), max(domain.high, value), raw)
    if word == "at least":
        return _inside(domain, value, max(domain.high, value), raw)
    return _inside(domain, max(domain.low, value * 0.95), min(domain.high, value * 1.05), raw)


def _inside(domain: Domain, low: float, high: float, raw: Any) -> Span:
    assert domain.unit is not None
    if low > high + SLACK * max(1.0, abs(high)):
        raise ValueError(f'"{raw}" runs from high to low; write the smaller end first')
    slack = SLACK * max(1.0, abs(domain.high) if math.isfinite(domain.high) else 1.0)
    if high < domain.low - slack or low > domain.high + slack:
        ends = f"{show_quantity(domain.low, domain.unit)} to {show_quantity(domain.high, domain.unit)}"
        raise ValueError(f'"{raw}" lies outside {ends}; check the value and its unit')
    # Within the slack of an end both ends may lie past it: neither may cross the other.
    low, high = max(low, domain.low), min(high, domain.high)
    return Span(min(low, high), max(low, high))


def _read_bits(domain: Domain, raw: Any) -> int:
    if isinstance(raw, bool):
        if domain.kind != "flag":
            raise ValueError(f"{str(raw).lower()} is not one of the choices; write {_some(domain)}")
        return 2 if raw else 1
    if isinstance(raw, list):
        if not raw:
            raise ValueError("an empty list leaves no value possible; leave the fact out if it is unknown")
        bits = 0
        for item in raw:
            bits |= _read_bits(domain, item)
        return bits
    if not isinstance(raw, str):
        raise ValueError(f"{raw!r} is not one of the choices; write {_some(domain)}")
    text = raw.strip()
    if "|" in text:
        return _read_bits(domain, [part.strip() for part in text.split("|")])
    lowered = text.lower()
    if lowered in ("true", "false") and domain.kind == "flag":
        return 2 if lowered == "true" else 1
    if lowered in domain.bit_of:
        return domain.bit_of[lowered]
    if lowered in domain.words:
        return _read_bits(domain, domain.words[lowered])
    if lowered.startswith("not "):
        everything = domain.everything
        assert isinstance(everything, Choices)
        return everything.bits & ~_read_bits(domain, text[4:])
    near = get_close_matches(lowered, [choice.lower() for choice in domain.choices], 1)
    hint = f'did you mean "{near[0]}"? Else write' if near else "write"
    raise ValueError(f'"{text}" is not one of the choices; {hint} {_some(domain)}')


def _some(domain: Domain) -> str:
    shown = [f'"{choice}"' for choice in domain.choices[:8]]
    return " or ".join(shown) + (" …" if len(domain.choices) > 8 else "")


def _written_end(value: float, factor: float, unit: Unit) -> float | None:
    """The end that a person wrote after "under" or "over"; None where the end itself belongs to the span."""
    written = value / factor
    for other in UNITS.values():
        if other.dimension == unit.dimension:
            for parts in (32, 1000):
                number, near = (from_si(end, other) * parts for end in (written, value))
                # A small part of the strict step tells a round number from its neighbor.
                tolerance = _STRICT * 5e-3 * max(1.0, abs(number))
                if abs(number - round(number)) < tolerance < abs(near - round(near)):
                    return written
    return None


def just_above(value: float) -> float:
    """A number as near above another as comparisons tell apart."""
    return value + _BEYOND * max(1e-6, abs(value))


def just_below(value: float) -> float:
    """A number as near below another as comparisons tell apart."""
    return value - _BEYOND * max(1e-6, abs(value))


def written_end(value: float, upper: bool, unit: Unit) -> tuple[float, bool]:
    """The number that a person wrote for an end of a range, and whether it belongs to the range itself."""
    strict = _written_end(value, 1.0 - _STRICT if upper else 1.0 + _STRICT, unit)
    return (value, True) if strict is None else (strict, False)


def show_spec(domain: Domain, spec: Spec) -> str:
    """A set of values as people read it; a domain remembers what it was asked before."""
    known = domain.shown.get(spec)
    if known is None:
        known = _show_spec(domain, spec)
        if len(domain.shown) < _MOST_SHOWN:
            domain.shown[spec] = known
    return known


def _show_spec(domain: Domain, spec: Spec) -> str:
    if isinstance(spec, Choices):
        names = domain.names(spec.bits)
        if len(names) == len(domain.choices):
            return "unknown"
        if len(names) > max(4, len(domain.choices) // 2):
            missing = [choice for choice in domain.choices if choice not in names]
            return "not " + ", not ".join(missing) if len(missing) <= 3 else f"one of {len(names)} choices"
        return " or ".join(names)
    assert domain.unit is not None
    at_low = spec.low <= domain.low + SLACK
    at_high = spec.high >= domain.high - SLACK * max(1.0, abs(domain.high))
    if at_low and at_high and spec.high > spec.low:
        return "unknown"
    if abs(spec.high - spec.low) <= SLACK * max(1.0, abs(spec.high)):
        return show_quantity(spec.low, domain.unit)
    if at_low:
        strict = _written_end(spec.high, 1.0 - _STRICT, domain.unit)
        word = "up to" if strict is None else "under"
        return f"{word} {show_quantity(spec.high if strict is None else strict, domain.unit)}"
    if at_high:
        strict = _written_end(spec.low, 1.0 + _STRICT, domain.unit)
        word = "at least" if strict is None else "over"
        return f"{word} {show_quantity(spec.low if strict is None else strict, domain.unit)}"
    return f"{show_quantity(spec.low, domain.unit)} to {show_quantity(spec.high, domain.unit)}"
