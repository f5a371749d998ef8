"""Units at the edges: text in, SI floats inside, both unit systems out.

Factors are exact by definition (NIST SP 811, appendix B) unless they follow from those.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from math import floor, log10

_LB_KG = 0.45359237
_G = 9.80665
_FT2 = 0.3048**2
_DAY = 86400.0
_LBF_N = _LB_KG * _G
_PSI = _LBF_N / 0.0254**2


@dataclass(frozen=True)
class Unit:
    """A unit: SI value = number * factor + offset."""

    symbol: str
    dimension: str
    factor: float
    offset: float = 0.0


_TABLE = [
    Unit("m", "length", 1.0),
    Unit("cm", "length", 0.01),
    Unit("mm", "length", 0.001),
    Unit("in", "length", 0.0254),
    Unit("ft", "length", 0.3048),
    Unit("yd", "length", 0.9144),
    Unit("mil", "length", 2.54e-5),
    Unit("m2", "area", 1.0),
    Unit("ft2", "area", _FT2),
    Unit("l", "volume", 0.001),
    Unit("gal", "volume", 0.003785411784),
    Unit("ml", "volume", 1e-6),
    Unit("fl oz", "volume", 0.003785411784 / 128),
    Unit("Pa", "pressure", 1.0),
    Unit("kPa", "pressure", 1e3),
    Unit("MPa", "pressure", 1e6),
    Unit("psf", "pressure", _LBF_N / _FT2),
    Unit("psi", "pressure", _PSI),
    Unit("kg", "mass", 1.0),
    Unit("g", "mass", 0.001),
    Unit("lb", "mass", _LB_KG),
    Unit("N", "mass", 1.0 / _G),
    Unit("kN", "mass", 1000.0 / _G),
    Unit("kg/m2", "mass per area", 1.0),
    Unit("lb/ft2", "mass per area", _LB_KG / _FT2),
    Unit("kg/m3", "density", 1.0),
    Unit("lb/ft3", "density", _LB_KG / 0.3048**3),
    Unit("%", "share", 0.01),
    Unit("K", "temperature difference", 1.0),
    Unit("deltaC", "temperature difference", 1.0),
    Unit("deltaF", "temperature difference", 5.0 / 9.0),
    Unit("C", "temperature", 1.0, 273.15),
    Unit("F", "temperature", 5.0 / 9.0, 459.67 * 5.0 / 9.0),
    Unit("h", "time", 3600.0),
    Unit("min", "time", 60.0),
    Unit("day", "time", _DAY),
    Unit("week", "time", 7 * _DAY),
    Unit("month", "time", 365.25 / 12 * _DAY),
    Unit("year", "time", 365.25 * _DAY),
    Unit("W/m2", "power per area", 1.0),
    Unit("W/ft2", "power per area", 1.0 / _FT2),
    Unit("W/m", "power per length", 1.0),
    Unit("W/ft", "power per length", 1.0 / 0.3048),
    Unit("m2K/W", "thermal resistance", 1.0),
    Unit("h ft2 F/Btu", "thermal resistance", _FT2 * (5.0 / 9.0) * 3600.0 / 1055.05585262),
    Unit("W/mK", "thermal conductivity", 1.0),
    Unit("W", "power", 1.0),
    Unit("V", "voltage", 1.0),
    Unit("A", "current", 1.0),
    Unit("lb/1000ft2/24h", "vapor emission", _LB_KG / (1000 * _FT2) / _DAY),
    Unit("g/m2/24h", "vapor emission", 0.001 / _DAY),
    Unit("perm", "permeance", 5.72135e-11),
    # Apart from the emission of a dish test, so that nothing can compare the two.
    Unit("grain/ft2/h", "vapor flux", _LB_KG / 7000 / _FT2 / 3600.0),
    Unit("g/m2/h", "vapor flux", 0.001 / 3600.0),
    Unit("lb/ft2/h", "evaporation", _LB_KG / _FT2 / 3600.0),
    Unit("kg/m2/h", "evaporation", 1.0 / 3600.0),
    Unit("mph", "speed", 0.44704),
    Unit("km/h", "speed", 1.0 / 3.6),
    Unit("m/s", "speed", 1.0),
    Unit("N/mm3", "shear stiffness", 1e9),
    Unit("MN/m3", "shear stiffness", 1e6),
    Unit("Hz", "frequency", 1.0),
    Unit("um/m", "strain", 1e-6),
    Unit("lb in2", "bending stiffness", _LBF_N * 0.0254**2),
    Unit("N m2", "bending stiffness", 1.0),
    Unit("1/in", "curvature", 1.0 / 0.0254),
    Unit("1/m", "curvature", 1.0),
    Unit("dB", "level", 1.0),
    Unit("count", "count", 1.0),
    Unit("L/", "count", 1.0),
    Unit("CSP", "count", 1.0),
    Unit("ratio", "ratio", 1.0),
    Unit("class", "count", 1.0),
    Unit("USD", "money", 1.0),
    Unit("USD/ft2", "cost per area", 1.0 / _FT2),
    Unit("USD/m2", "cost per area", 1.0),
    Unit("m2/h", "area per time", 1.0 / 3600.0),
    Unit("ft2/h", "area per time", _FT2 / 3600.0),
]
UNITS: dict[str, Unit] = {unit.symbol: unit for unit in _TABLE}

_ALIASES = {
    '"': "in",
    "inch": "in",
    "inches": "in",
    "'": "ft",
    "foot": "ft",
    "feet": "ft",
    "meter": "m",
    "meters": "m",
    "metre": "m",
    "metres": "m",
    "yard": "yd",
    "yards": "yd",
    "mils": "mil",
    "lbs": "lb",
    "pound": "lb",
    "pounds": "lb",
    "days": "day",
    "d": "day",
    "weeks": "week",
    "months": "month",
    "years": "year",
    "hour": "h",
    "hours": "h",
    "percent": "%",
    "pct": "%",
    "° F": "F",
    "°F": "F",
    "° C": "C",
    "°C": "C",
    "degF": "F",
    "degC": "C",
    "perms": "perm",
    "L": "l",
    "liter": "l",
    "gallon": "gal",
    "gallons": "gal",
    "sq ft": "ft2",
    "sqft": "ft2",
    "ft²": "ft2",
    "m²": "m2",
    "sq m": "m2",
    "W/sq ft": "W/ft2",
    "W/ft²": "W/ft2",
    "W/m²": "W/m2",
    "W/foot": "W/ft",
    "W/(m·K)": "W/mK",
    "W/(m K)": "W/mK",
    "m²K/W": "m2K/W",
    "m² K/W": "m2K/W",
    "m2 K/W": "m2K/W",
    "m²·K/W": "m2K/W",
    "ft2 h F/Btu": "h ft2 F/Btu",
    "h·ft²·°F/Btu": "h ft2 F/Btu",
    "kg/m²": "kg/m2",
    "lb/1000 ft2/24 h": "lb/1000ft2/24h",
    "lbf in2": "lb in2",
    "lb in²": "lb in2",
    "lb·in²": "lb in2",
    "N·m²": "N m2",
    "lb/1000 sq ft/24 h": "lb/1000ft2/24h",
}
_SHOW = {"ft2": "sq ft", "m2": "m²", "W/ft2": "W/sq ft", "W/m2": "W/m²", "kg/m2": "kg/m²", "deltaF": "°F"}
_SHOW |= {"F": "°F", "C": "°C", "K": "K", "lb/1000ft2/24h": "lb/1000 sq ft·24 h", "g/m2/24h": "g/m²·24 h"}
_SHOW |= {"lb/ft2": "lb/sq ft", "count": "", "CSP": "", "ratio": "", "class": "", "USD/ft2": "USD/sq ft"}
_SHOW |= {"um/m": "µm/m", "MN/m3": "MN/m³"}
_SHOW |= {"USD/m2": "USD/m²", "m2/h": "m²/h", "ft2/h": "sq ft/h", "kg/m3": "kg/m³", "lb/ft3": "lb/cu ft"}
_SHOW |= {"lb in2": "lb·in²", "N m2": "N·m²", "m2K/W": "m²·K/W", "h ft2 F/Btu": "h·ft²·°F/Btu"}
_SHOW |= {"W/mK": "W/(m·K)"}
_SHOW |= {"grain/ft2/h": "grains/sq ft·h", "g/m2/h": "g/m²·h", "lb/ft2/h": "lb/sq ft·h", "kg/m2/h": "kg/m²·h"}

# The other system's unit for each customary unit, for display side by side.
_PAIR = {"in": "mm", "ft": "m", "psf": "kPa", "psi": "MPa", "lb": "kg", "F": "C", "deltaF": "K", "mil": "mm"}
_PAIR |= {"W/ft2": "W/m2", "lb/1000ft2/24h": "g/m2/24h", "lb/ft2": "kg/m2", "USD/ft2": "USD/m2", "ft2": "m2"}
_PAIR |= {"grain/ft2/h": "g/m2/h", "lb/ft2/h": "kg/m2/h", "mph": "km/h"}
_PAIR |= {"lb in2": "N m2", "1/in": "1/m", "W/ft": "W/m", "h ft2 F/Btu": "m2K/W"}
_PAIR |= {"ft2/h": "m2/h", "gal": "l", "lb/ft3": "kg/m3"}
_PAIR |= {other: unit for unit, other in _PAIR.items() if unit != "mil"} | {"cm": "in"}
# From ten feet on people say feet and inches.
_LONG_M = 10 * 0.3048
_PLURAL = ("day", "week", "month", "year", "perm")
_DECIMALS = {"mm": 0, "m": 2, "kPa": 2, "MPa": 1, "kg": 0, "C": 0, "K": 0, "W/m2": 0, "g/m2/24h": 1, "psf": 0}
_DECIMALS |= {"kg/m2": 1, "lb/ft2": 1, "USD/m2": 2, "USD/ft2": 2, "lb": 0, "F": 0, "%": 0, "day": 0}
_DECIMALS |= {"ft2": 0, "m2": 2, "deltaF": 0, "month": 0}


def find_unit(text: str) -> Unit | None:
    """The unit that a text names, or None."""
    text = text.strip()
    text = _ALIASES.get(text, _ALIASES.get(text.lower(), text))
    return UNITS.get(text)


_NUMBER = r"[-+]?\d+(?:\.\d+)?(?:[eE][-+]?\d+)?"
_FRACTION = re.compile(rf"^\s*({_NUMBER})\s*/\s*(\d+(?:\.\d+)?)")
_MIXED = re.compile(r"^\s*(\d+)(?:\s+|-)(\d+)\s*/\s*(\d+)")
_PLAIN = re.compile(rf"^\s*({_NUMBER})")


def read_leading_number(text: str) -> tuple[float, str] | None:
    """Split ``5/8 in`` or ``1-1/8 in`` into a number and the rest; None without a number."""
    if match := _MIXED.match(text):
        whole, top, bottom = (float(part) for part in match.groups())
        return None if bottom == 0 else (whole + top / bottom, text[match.end() :])
    if match := _FRACTION.match(text):
        top, bottom = (float(part) for part in match.groups())
        return None if bottom == 0 else (top / bottom, text[match.end() :])
    if match := _PLAIN.match(text):
        return float(match.group(1)), text[match.end() :]
    return None


def to_si(number: float, unit: Unit) -> float:
    """SI value of a number in a unit."""
    return number * unit.factor + unit.offset


def from_si(value: float, unit: Unit) -> float:
    """Number in a unit of an SI value."""
    return (value - unit.offset) / unit.factor


def read_quantity(text: str, dimension: str | None = None, default: Unit | None = None) -> float:
    """SI value of one written quantity such as ``13 ft 2 in``.

    Parameters
    ----------
    text : str
        Number (decimal, fraction or mixed) and unit; feet may be followed by inches.
    dimension : str, optional
        The dimension that the unit must have.
    default : Unit, optional
        Unit taken when none is written; without it a missing unit is an error.

    Raises
    ------
    ValueError
        With a sentence fit for a person.
    """
    found = read_leading_number(text)
    if found is None:
        raise ValueError(f'"{text}" does not begin with a number')
    number, rest = found
    rest = rest.strip()
    if not rest:
        if default is None:
            raise ValueError(f'"{text}": no unit')
        return to_si(number, default)
    head = re.match(r"^(?:(?:ft|foot|feet)\.?\s+|'\s*)(.+)$", rest)
    if head and read_leading_number(head.group(1)) is not None:
        if dimension not in (None, "length"):
            raise ValueError(f'"{text}" is a length')
        return number * 0.3048 + read_quantity(head.group(1), "length")
    unit = find_unit(rest)
    if unit is None:
        raise ValueError(f'"{rest}" is not a unit known here')
    if unit.dimension == "temperature" and dimension == "temperature difference":
        unit = UNITS["delta" + unit.symbol]
    if dimension is not None and unit.dimension != dimension:
        raise ValueError(f'"{text}": {unit.symbol} is a unit of {unit.dimension}, not of {dimension}')
    return to_si(number, unit)


def show_number(value: float, decimals: int | None = None) -> str:
    """A number as people write it: no trailing zeros beyond need, thousands spaced by commas."""
    if decimals is not None:
        # Halves go up as people round them: 6.35 is 6.4, although its float lies a hair below.
        return f"{value * (1 + 1e-12):,.{decimals}f}"
    if 0 < abs(value) < 1e-4:
        # Never in E notation: a small number shows its zeros.
        return f"{value:.{3 - floor(log10(abs(value)))}f}".rstrip("0")
    return f"{value:,.4g}" if abs(value) < 1e4 else f"{value:,.0f}"


def show_inches(meters: float) -> str:
    """Inches to the nearest 1/32 as a fraction where that is exact, else two decimals."""
    inches = meters / 0.0254
    for bottom in (1, 2, 4, 8, 16, 32):
        top = round(inches * bottom)
        if abs(inches * bottom - top) < 1e-3 * bottom:
            whole, part = divmod(top, bottom)
            if part == 0:
                return f"{whole}"
            return f"{whole}-{part}/{bottom}" if whole else f"{part}/{bottom}"
    if abs(inches) < 0.1:
        return f"{inches:.2g}"
    return f"{inches:.2f}".rstrip("0").rstrip(".")


def show_plain(value: float, unit: Unit) -> str:
    """One value in one unit."""
    if unit.symbol == "in":
        return f"{show_inches(value)} in"
    if unit.symbol == "ft":
        whole, quarters = divmod(round(abs(value) / 0.0254 * 4), 48)
        sign = "-" if value < 0 else ""
        if not quarters:
            return f"{sign}{whole:,} ft"
        return f"{sign}{whole:,} ft {show_inches(quarters / 4 * 0.0254)} in"
    number = from_si(value, unit)
    decimals = _DECIMALS.get(unit.symbol)
    if unit.symbol == "mm" and abs(number) < 10:
        decimals = 1
    if unit.dimension == "mass per area" and abs(number) < 1:
        decimals = 2
    if unit.symbol == "MPa" and abs(number) < 10:
        decimals = 2 if abs(number) >= 1 else 3
    if unit.dimension == "pressure" and abs(number) >= 1e4:
        # Nobody knows a stress or a modulus to more than four figures.
        number, decimals = round(number, 3 - floor(log10(abs(number)))), 0
    if unit.symbol == "L/":
        return f"L/{number:.0f}"
    if decimals == 0 and abs(number - round(number)) > 0.04 and abs(number) < 100:
        decimals = 1
    text = show_number(number, decimals)
    if decimals:
        text = text.rstrip("0").rstrip(".") if "." in text and unit.symbol == "mm" else text
    label = _SHOW.get(unit.symbol, unit.symbol)
    if unit.symbol in _PLURAL and text != "1":
        label += "s"
    return f"{text} {label}".strip()


def show_quantity(value: float, unit: Unit) -> str:
    """A value in its unit and in the other system: ``19.2 in (488 mm)``; long inches as feet."""
    if unit.symbol == "in" and abs(value) >= _LONG_M:
        unit = UNITS["ft"]
    first = show_plain(value, unit)
    other = _PAIR.get(unit.symbol)
    return first if other is None else f"{first} ({show_plain(value, UNITS[other])})"
