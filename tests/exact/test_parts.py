"""Numbers as people write them, and ranges told by their ends: derived checks, by reading what is shown."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.judge.floors import BOOK

from undercourse.advise.parts import (
    chosen_text,
    is_point,
    parts_of,
    round_values,
    written_above,
    written_below,
    written_step,
)
from undercourse.base.domains import Choices, Span
from undercourse.base.units import UNITS, from_si, read_quantity, show_quantity, to_si

NUMBERS = [name for name, fact in BOOK.vocabulary.facts.items() if fact.domain.kind == "number"]


@given(
    st.sampled_from(["in", "psf", "lb", "%", "mil", "F", "deltaF", "W/ft2", "L/", "day"]), st.floats(0.5, 900)
)
def test_a_written_number_is_shown_as_it_is(symbol: str, number: float) -> None:
    """What stands in the answer is the number itself: read back it gives the same, on the right side."""
    unit = UNITS[symbol]
    value = to_si(number, unit)
    below, above = written_below(value, unit), written_above(value, unit)
    step = written_step(unit, value) * unit.factor
    assert below <= value + 1e-9 * abs(value) + 1e-7 * step
    assert above >= value - 1e-9 * abs(value) - 1e-7 * step
    assert above - below <= step * (1 + 1e-6)
    for end in (below, above):
        text = show_quantity(end, unit).partition(" (")[0]
        if symbol in ("F", "deltaF", "L/"):
            read = float(text.replace("L/", "").split()[0].replace(",", ""))
            assert read == pytest.approx(from_si(end, unit), rel=1e-6)
            continue
        read = read_quantity(text.replace(",", ""), unit.dimension)
        assert read == pytest.approx(end, rel=1e-6, abs=1e-9)


@pytest.mark.parametrize("name", NUMBERS)
def test_parts_follow_one_another_from_end_to_end(name: str) -> None:
    """Nothing overlaps, and what lies between two parts no comparison tells from a written number."""
    whole = BOOK.domains[name].everything
    assert isinstance(whole, Span)
    parts = [part for part in parts_of(whole, BOOK.written.get(name, ())) if isinstance(part, Span)]
    assert parts[0].low == whole.low
    assert parts[-1].high == whole.high
    for first, last in pairwise(parts):
        assert 0 < last.low - first.high <= 1e-8 * max(1e-6, abs(last.low))
        assert not (is_point(first) and is_point(last))


def test_ends_are_told_on_the_right_side() -> None:
    """A written number belongs to one side: up to and over, or under and at least."""
    domain = BOOK.domains["joist_spacing"]
    end = 19.2 * 0.0254
    whole = Span(domain.low, domain.high)
    parts = parts_of(whole, [end])
    assert chosen_text(domain, parts, [True, True, False], whole) == "up to 19.2 in (488 mm)"
    assert chosen_text(domain, parts, [False, False, True], whole) == "over 19.2 in (488 mm)"
    assert chosen_text(domain, parts, [True, False, False], whole) == "under 19.2 in (488 mm)"
    assert chosen_text(domain, parts, [False, True, True], whole) == "at least 19.2 in (488 mm)"
    assert chosen_text(domain, parts, [False, True, False], whole) == "19.2 in (488 mm)"
    assert chosen_text(domain, parts, [True, False, True], whole) == (
        "under 19.2 in (488 mm) or over 19.2 in (488 mm)"
    )
    flags = BOOK.domains["wants_heating"]
    assert chosen_text(flags, [Choices(1), Choices(2)], [False, True], Choices(3)) == "yes"


def test_round_values_are_round_and_few() -> None:
    """A dozen at most, whole feet for long lengths."""
    inch = UNITS["in"]
    spacings = round_values(Span(0.1524, 0.6096), inch, 12)
    assert 5 <= len(spacings) <= 12
    assert all(abs(v / 0.0254 - round(v / 0.0254)) < 1e-6 for v in spacings)
    spans = round_values(Span(1.0, 9.0), inch, 12)
    assert 5 <= len(spans) <= 12
    assert all(abs(v / 0.3048 - round(v / 0.3048)) < 1e-6 for v in spans)
