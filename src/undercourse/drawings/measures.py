"""Quantities as people read them: US customary first, SI in brackets."""

from __future__ import annotations

import math
import re

from undercourse.base.units import UNITS, find_unit, from_si, show_quantity, to_si

INCH_M = 0.0254
FOOT_M = 0.3048
SQUARE_FOOT_M2 = FOOT_M**2
POUND_KG = 0.45359237  # exact, international yard and pound agreement of 1959


def plain_number(value: float, digits: int = 3) -> str:
    """A number to ``digits`` significant figures, without an exponent and without idle zeros."""
    if not math.isfinite(value):
        return "without limit" if value > 0 else "not a number"
    if value == 0:
        return "0"
    places = max(0, digits - 1 - math.floor(math.log10(abs(value))))
    text = f"{value:.{places}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def _fraction(inches: float, parts: int) -> str:
    """Inches as a whole number and a reduced fraction of at most ``parts`` parts."""
    whole, rest = divmod(round(inches * parts), parts)
    if not rest:
        return str(whole)
    common = math.gcd(rest, parts)
    fraction = f"{rest // common}/{parts // common}"
    return f"{whole}-{fraction}" if whole else fraction


def inches_text(length_m: float) -> str:
    """Feet and inches as a tape is read: 32nds below 1/4 in, 16ths to 3 ft, 8ths beyond.

    The trade's 19.2 in stays a decimal; below 1/32 in films are
    told in thousandths of an inch (mil).
    """
    inches = abs(length_m) / INCH_M
    sign = "-" if length_m < 0 and inches else ""
    if inches == 0:
        return "0 in"
    if inches < 1 / 32:
        return f"{sign}{plain_number(inches * 1000, 2)} mil"
    if abs(inches - 19.2) < 0.02:
        return f"{sign}19.2 in"
    if inches <= 36:
        return f"{sign}{_fraction(inches, 32 if inches < 0.25 else 16)} in"
    feet, rest = divmod(round(inches * 8), 96)
    return f"{sign}{feet} ft {_fraction(rest / 8, 8)} in" if rest else f"{sign}{feet} ft"


def millimetres_text(length_m: float) -> str:
    """Millimetres to one place below 10 mm, whole beyond, metres from 10 m."""
    if abs(length_m) >= 10:
        return f"{length_m:.2f} m"
    millimetres = length_m * 1000
    if abs(millimetres) < 0.95:
        return f"{plain_number(millimetres, 2)} mm"
    if abs(millimetres) < 9.95:
        return f"{millimetres:.1f}".removesuffix(".0") + " mm"
    return f"{millimetres:.0f} mm"


def length_text(length_m: float) -> str:
    """A length in both systems, as in ``5/8 in (16 mm)``."""
    return f"{inches_text(length_m)} ({millimetres_text(length_m)})"


def _exact_length_text(length_m: float) -> str:
    """A calculated or stated length: as a tape reads if that is within half a percent, else decimals."""
    inches = abs(length_m) / INCH_M
    if inches == 0 or inches > 36:
        return length_text(length_m)
    parts = 32 if inches < 0.25 else 16
    if abs(round(inches * parts) / parts - inches) <= 0.005 * inches or abs(inches - 19.2) < 0.02:
        return length_text(length_m)
    return f"{plain_number(length_m / INCH_M)} in ({plain_number(length_m * 1000)} mm)"


def area_text(area_m2: float) -> str:
    """An area in both systems, as in ``150 sq ft (13.9 m²)``."""
    feet = area_m2 / SQUARE_FOOT_M2
    metres = f"{area_m2:.1f}" if area_m2 >= 1 else plain_number(area_m2, 2)
    return f"{f'{feet:,.0f}' if feet >= 10 else plain_number(feet, 2)} sq ft ({metres} m²)"


def weight_text(weight_kg: float) -> str:
    """A weight in both systems, as in ``50 lb (22.7 kg)``."""
    return f"{_grouped(weight_kg / POUND_KG)} lb ({_grouped(weight_kg)} kg)"


def _grouped(value: float) -> str:
    return f"{value:,.0f}" if abs(value) >= 999.5 else plain_number(value)


# The customary unit that stands beside an SI unit, by unit symbol of ``base.units``.
_CUSTOMARY = {
    "m2": "ft2", "kg": "lb", "N": "lb", "kN": "lb", "kg/m2": "lb/ft2", "kg/m3": "lb/ft3", "K": "deltaF",
    "deltaC": "deltaF", "C": "F", "W/m2": "W/ft2", "g/m2/24h": "lb/1000ft2/24h", "USD/m2": "USD/ft2",
    "m2/h": "ft2/h", "l": "gal", "ml": "gal",
}  # fmt: skip
_BARE = {"", "1", "-", "ratio", "count", "class"}


def _pressure_text(value_pa: float) -> str:
    """Floor loads read in psf, strengths in psi; 20 kPa lies between the two uses."""
    if abs(value_pa) < 20_000:
        load = from_si(value_pa, UNITS["psf"])
        return f"{plain_number(load)} psf ({plain_number(value_pa / 1000)} kPa)"
    strength = from_si(value_pa, UNITS["psi"])
    return f"{_grouped(strength)} psi ({plain_number(value_pa / 1e6)} MPa)"


def quantity_text(value: object, unit: str | None = None) -> str:
    """A value of an answer in both systems: a number that stands in ``unit``, a range, a set or a word.

    A range comes as ``{"from", "to"}``; nothing at all reads as "not known".
    """
    if value is None:
        return "not known"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, dict):
        return _range_text(value, unit)
    if isinstance(value, list | tuple | set | frozenset):
        members = sorted(value, key=str) if isinstance(value, set | frozenset) else value
        return ", ".join(quantity_text(member, unit) for member in members) or "none"
    if isinstance(value, int | float):
        return _number_text(float(value), (unit or "").strip())
    return str(value)


def _range_text(value: dict[str, object], unit: str | None) -> str:
    if "value" in value:
        return quantity_text(value["value"], unit)
    low, high = value.get("from"), value.get("to")
    if low is None and high is None:
        return "not known"
    if low is None:
        return f"at most {quantity_text(high, unit)}"
    if high is None:
        return f"at least {quantity_text(low, unit)}"
    if low == high:
        return quantity_text(low, unit)
    return join_range(quantity_text(low, unit), quantity_text(high, unit))


_ONE = re.compile(r"([-\d.,/ ]+) ?(\D*?)")
_BOTH = re.compile(r"([-\d.,/ ]+) (\D+) \(([-\d.,]+) (\D+)\)")


def join_range(low: str, high: str) -> str:
    """Two quantities as a range, their units named once: ``50 to 90 °F (10 to 32 °C)``."""
    for pattern in (_BOTH, _ONE):
        first, last = pattern.fullmatch(low), pattern.fullmatch(high)
        if first and last and first.groups()[1::2] == last.groups()[1::2]:
            a, b = first.groups(), last.groups()
            words = f"{a[0].strip()} to {b[0].strip()} {a[1]}".rstrip()
            return f"{words} ({a[2]} to {b[2]} {a[3]})" if len(a) == 4 else words
    return f"{low} to {high}"


def _number_text(value: float, unit: str) -> str:
    """One number that stands in ``unit``, in both systems where the unit is known."""
    if not math.isfinite(value):
        return plain_number(value)
    known = find_unit(unit) if unit not in _BARE else None
    if unit == "piece":
        return f"{_grouped(value)} {'piece' if value == 1 else 'pieces'}"
    if known is None:
        return f"{_grouped(value)} {'' if unit in _BARE else unit}".rstrip()
    if known.symbol == "%":
        return f"{_grouped(value)} %"
    if known.symbol == "L/":
        return f"L/{value:.0f}"
    if known.dimension == "time":
        many = known.symbol not in ("h", "min") and value != 1
        return f"{_grouped(value)} {known.symbol}{'s' if many else ''}"
    value_si = to_si(value, known)
    if known.symbol == "mil":
        return f"{_grouped(value)} mil ({millimetres_text(value_si)})"
    if known.dimension == "length":
        return _exact_length_text(value_si)
    if known.dimension == "pressure":
        return _pressure_text(value_si)
    return show_quantity(value_si, UNITS[_CUSTOMARY.get(known.symbol, known.symbol)])
