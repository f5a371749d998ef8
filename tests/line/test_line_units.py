"""Units at the edges: what is written is what is meant, and what is shown reads back.

Factors: NIST SP 811 (2008), appendix B.8; printed there and exact unless said otherwise (kind = published).
"""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from undercourse.base.units import (
    UNITS,
    Unit,
    find_unit,
    from_si,
    read_quantity,
    show_plain,
    show_quantity,
    to_si,
)

# NIST SP 811, appendix B.8: value of one unit in SI, with the digits printed there.
PRINTED = [
    ("ft", 0.3048),
    ("in", 0.0254),
    ("yd", 0.9144),
    ("mil", 2.54e-5),
    ("ft2", 9.290304e-2),
    ("gal", 3.785412e-3),
    ("lb", 0.45359237),
    ("psi", 6.894757e3),
    ("psf", 4.788026e1),
    ("lb/ft2", 4.882428),
    ("lb/ft3", 1.601846e1),
    ("deltaF", 5 / 9),
    ("W/ft2", 1.076391e1),
    ("perm", 5.721350e-11),
    ("day", 8.64e4),
    ("h", 3600.0),
]
BARE = ("ratio", "count", "CSP", "L/", "class")


@pytest.mark.parametrize(("symbol", "si"), PRINTED)
def test_factor_is_the_printed_one(symbol: str, si: float) -> None:
    """One of a unit is the number of SI units that the guide prints."""
    unit = UNITS[symbol]
    one = to_si(1.0, unit) - to_si(0.0, unit)
    assert one == pytest.approx(si, rel=5e-7)


@pytest.mark.parametrize(
    ("fahrenheit", "celsius"), [(32.0, 0.0), (212.0, 100.0), (-40.0, -40.0), (50.0, 10.0)]
)
def test_temperatures_meet_at_their_fixed_points(fahrenheit: float, celsius: float) -> None:
    """Ice and boiling point, and where both scales agree (NIST SP 811, B.8: C = (F - 32) / 1.8)."""
    assert from_si(to_si(fahrenheit, UNITS["F"]), UNITS["C"]) == pytest.approx(celsius, abs=1e-9)


@given(st.sampled_from(list(UNITS.values())), st.floats(-1e6, 1e6))
def test_a_number_comes_back_from_si(unit: Unit, number: float) -> None:
    """To SI and back is the same number."""
    assert from_si(to_si(number, unit), unit) == pytest.approx(number, rel=1e-9, abs=1e-6)


@given(st.sampled_from([u for u in UNITS.values() if u.symbol not in BARE]), st.floats(0.01, 9999))
def test_written_quantity_reads_as_its_si_value(unit: Unit, number: float) -> None:
    """A number with its unit reads as that many of the unit; with a wrong dimension it is refused."""
    text = f"{number!r} {unit.symbol}"
    assert read_quantity(text, unit.dimension) == pytest.approx(to_si(number, unit), rel=1e-12)
    with pytest.raises(ValueError, match="is"):
        read_quantity(text, "no such dimension")


@given(st.integers(0, 99), st.integers(0, 11), st.integers(1, 15))
def test_feet_inches_and_fractions_add_up(feet: int, inches: int, sixteenths: int) -> None:
    """``13 ft 2-3/16 in`` is the sum of its parts, however the parts are joined."""
    expected = feet * 0.3048 + (inches + sixteenths / 16) * 0.0254
    for text in (
        f"{feet} ft {inches}-{sixteenths}/16 in",
        f"{feet} ft {inches} {sixteenths}/16 in",
        f"{feet}' {inches}-{sixteenths}/16\"",
    ):
        assert read_quantity(text, "length") == pytest.approx(expected, abs=1e-12)


@given(st.integers(1, 32 * 119))
def test_shown_inches_read_back_exactly(parts: int) -> None:
    """Thirty-seconds of an inch are shown as fractions that read back without loss."""
    meters = parts / 32 * 0.0254
    assert read_quantity(show_plain(meters, UNITS["in"])) == pytest.approx(meters, abs=1e-9)


@given(st.integers(1, 4 * 12 * 60))
def test_shown_feet_read_back_exactly(quarters: int) -> None:
    """Quarter inches shown as feet and inches read back; inches never reach twelve."""
    meters = quarters / 4 * 0.0254
    text = show_plain(meters, UNITS["ft"])
    assert "12 in" not in text
    assert read_quantity(text) == pytest.approx(meters, abs=1e-9)


@given(
    st.sampled_from(
        ["in", "mm", "ft", "m", "psf", "psi", "kPa", "MPa", "lb", "kg", "F", "C", "ft2", "m2", "W/ft2"]
    ),
    st.floats(20, 9000),
)
def test_both_systems_are_shown_and_agree(symbol: str, number: float) -> None:
    """The value in parentheses is the same quantity, to the digits that are shown."""
    value = to_si(number, UNITS[symbol])
    first, _, second = show_quantity(value, UNITS[symbol]).rstrip(")").partition(" (")
    for shown in (first, second):
        read = read_quantity(shown.replace(",", ""), UNITS[symbol].dimension)
        assert read == pytest.approx(value, rel=0.01)


def test_halves_are_shown_as_people_round_them() -> None:
    """A quarter inch is 6.35 mm and is shown as 6.4 mm."""
    assert show_quantity(0.25 * 0.0254, UNITS["in"]) == "1/4 in (6.4 mm)"


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("16", "no unit"),
        ("16 furlong", "not a unit"),
        ("wide", "number"),
        ("1/0 in", "number"),
        ("3 lb", "mass"),
    ],
)
def test_what_is_no_length_is_refused_with_its_reason(text: str, reason: str) -> None:
    """Each refusal says what is wrong."""
    with pytest.raises(ValueError, match=reason):
        read_quantity(text, "length")


def test_words_of_the_trade_are_units() -> None:
    """Signs and spellings that people type."""
    for text, symbol in (
        ('"', "in"),
        ("'", "ft"),
        ("feet", "ft"),
        ("sq ft", "ft2"),
        ("°F", "F"),
        ("days", "day"),
    ):
        found = find_unit(text)
        assert found is not None
        assert found.symbol == symbol
