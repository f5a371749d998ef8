"""The values of one fact in parts: each choice, each written number, and the ranges between them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

from undercourse.advise.findings import show_text
from undercourse.advise.sentences import spec_text
from undercourse.base.domains import Choices, Domain, Span, Spec, just_above, just_below
from undercourse.base.units import (
    UNITS,
    Unit,
    from_si,
    read_leading_number,
    read_quantity,
    show_plain,
    to_si,
)

# Numbers nearer to each other than this share are one written number in two units.
_SAME = 1e-8
# From here on lengths in inches are shown as feet, to a quarter inch.
_LONG_M = 10 * 0.3048
_FRACTIONS = (1 / 32, 1 / 16, 1 / 8, 1 / 4, 1 / 2, 1.0)


def parts_of(spec: Spec, written: Sequence[float]) -> list[Spec]:
    """A set of values in parts, in rising order.

    Parameters
    ----------
    written : sequence of float
        The numbers that limits write for the fact, rising; each is a part of its own.
    """
    if isinstance(spec, Choices):
        return [Choices(1 << place) for place in range(spec.bits.bit_length()) if spec.bits >> place & 1]
    found: list[Spec] = []
    start = spec.low
    for value in written:
        if not spec.low <= value <= spec.high or (found and value <= start + _SAME * abs(value)):
            continue
        if just_below(value) > start:
            found.append(Span(start, just_below(value)))
        found.append(Span(value, value))
        start = just_above(value)
    if start < spec.high:
        found.append(Span(start, spec.high))
    return found or [spec]


def is_point(spec: Spec) -> bool:
    """Whether a part is one number or one choice."""
    return spec.low == spec.high if isinstance(spec, Span) else spec.bits.bit_count() == 1


def written_step(unit: Unit, value: float) -> float:
    """The finest step in which people write a number of this size, and in which it is shown. [unit]"""
    size = abs(from_si(value, unit))
    if unit.symbol == "in":
        steps: Sequence[float] = _FRACTIONS[_fraction(size) :]
    elif unit.dimension == "count":
        steps = (1.0,)
    else:
        power = math.floor(math.log10(max(size, 1e-9))) - 2
        steps = [lead * 10.0 ** (power + more) for more in range(4) for lead in (1, 2, 5)]
    for step in steps:
        count = round(size / step)
        if all(_reads_back(to_si((count + more) * step, unit), unit) for more in (0, 1, 2, 3)):
            return step
    return steps[-1]


def _fraction(inches: float) -> int:
    """The place of the finest fraction of an inch for a length."""
    return sum(inches >= end for end in (4.0, 24.0, 120.0))


def _reads_back(value: float, unit: Unit) -> bool:
    """Whether what is shown for a number is that number."""
    if unit.symbol == "in" and abs(value) >= _LONG_M:
        unit = UNITS["ft"]
        return abs(read_quantity(show_plain(value, unit).replace(",", "")) - value) < 1e-6
    text = show_plain(value, unit).replace(",", "").removeprefix("L/")
    found = read_leading_number(text)
    number = from_si(value, unit)
    return found is not None and abs(found[0] - number) <= 1e-6 * max(1.0, abs(number))


def written_below(value: float, unit: Unit) -> float:
    """The last number at or below a value that a person would write. [SI]"""
    step = written_step(unit, value)
    return to_si(math.floor(from_si(value, unit) / step + 1e-7) * step, unit)


def written_above(value: float, unit: Unit) -> float:
    """The first number at or above a value that a person would write. [SI]"""
    step = written_step(unit, value)
    return to_si(math.ceil(from_si(value, unit) / step - 1e-7) * step, unit)


def round_values(span: Span, unit: Unit, most: int) -> list[float]:
    """Round numbers inside a range, rising, at most so many. [SI]"""
    low, high = from_si(span.low, unit), from_si(span.high, unit)
    # Long inches are told in feet.
    whole = 12.0 if unit.symbol == "in" and span.high >= _LONG_M else 1.0
    size = (high - low) / whole
    if not size > 0:
        return []
    power = math.floor(math.log10(size)) - 2
    steps = (lead * 10.0 ** (power + more) * whole for more in range(5) for lead in (1, 2, 5))
    step = next(step for step in steps if (high - low) / step <= most - 1)
    first = math.ceil(low / step)
    values = [to_si((first + place) * step, unit) for place in range(most)]
    return [value for value in values if span.low <= value <= span.high]


class End(NamedTuple):
    """One end of a run of numbers; ``closed`` where the number itself belongs to the run."""

    value: float
    closed: bool


class Run(NamedTuple):
    """Numbers between two ends; an end is None where the fact's own values end."""

    low: End | None
    high: End | None


def runs_of(parts: Sequence[Spec], chosen: Sequence[bool], whole: Span) -> list[Run]:
    """The chosen parts of a number as runs, with the written numbers as their ends."""
    runs: list[tuple[Span, Span]] = []
    inside = False
    for part, take in zip(parts, chosen, strict=True):
        assert isinstance(part, Span)
        if take:
            runs = [*runs[:-1], (runs[-1][0], part)] if inside else [*runs, (part, part)]
        inside = take
    points = [part.low for part in parts if isinstance(part, Span) and part.low == part.high]
    found = []
    for first, last in runs:
        low = None if first.low <= whole.low else _end(first.low, points)
        high = None if last.high >= whole.high else _end(last.high, points)
        found.append(Run(low, high))
    return found


def _end(value: float, points: Sequence[float]) -> End:
    """The written number that an end stands at or just beyond; the end itself where there is none."""
    for point in points:
        if value == point:
            return End(point, True)
        if just_below(just_below(point)) <= value <= just_above(just_above(point)):
            return End(point, False)
    return End(value, True)


def run_text(domain: Domain, run: Run) -> str:
    """A run in words: at least or over the one end, up to or under the other."""

    def shown(end: End) -> str:
        return show_text(domain, Span(end.value, end.value))

    if run.low is not None and run.high is not None and run.low.value == run.high.value:
        return shown(run.low)
    if run.low is not None and run.high is not None and run.low.closed and run.high.closed:
        return f"{shown(run.low)} to {shown(run.high)}"
    texts = []
    if run.low is not None:
        texts.append(f"{'at least' if run.low.closed else 'over'} {shown(run.low)}")
    if run.high is not None:
        texts.append(f"{'up to' if run.high.closed else 'under'} {shown(run.high)}")
    return " and ".join(texts) if texts else "any value"


def chosen_text(domain: Domain, parts: Sequence[Spec], chosen: Sequence[bool], whole: Spec) -> str:
    """The chosen parts in words; empty where there are none."""
    if not any(chosen):
        return ""
    if isinstance(whole, Choices):
        bits = sum(
            part.bits for part, take in zip(parts, chosen, strict=True) if take and isinstance(part, Choices)
        )
        return spec_text(domain, Choices(bits))
    return " or ".join(run_text(domain, run) for run in runs_of(parts, chosen, whole))


def chosen_values(
    domain: Domain, parts: Sequence[Spec], chosen: Sequence[bool], whole: Spec
) -> list[str] | list[dict[str, float]]:
    """The chosen parts as a job takes them: names of choices, or ranges in the fact's unit."""
    if isinstance(whole, Choices):
        bits = sum(
            part.bits for part, take in zip(parts, chosen, strict=True) if take and isinstance(part, Choices)
        )
        return domain.names(bits)
    unit = domain.unit
    assert unit is not None
    found = []
    for run in runs_of(parts, chosen, whole):
        low = whole.low if run.low is None else run.low.value if run.low.closed else just_above(run.low.value)
        high = (
            whole.high
            if run.high is None
            else run.high.value
            if run.high.closed
            else just_below(run.high.value)
        )
        found.append({"from": _tidy(from_si(low, unit)), "to": _tidy(from_si(high, unit))})
    return found


def _tidy(number: float) -> float:
    return float(f"{number:.12g}")
