"""Quantities of a calculation in both unit systems, as one would write them by hand.

A key names a quantity kind; the SI value in base units goes in, both numbers with their units come
out. Factors are exact or follow from NIST SP 811, appendix B.
"""

from __future__ import annotations

import math
from typing import NamedTuple

_IN, _FT, _LBF, _LB = 0.0254, 0.3048, 0.45359237 * 9.80665, 0.45359237
_PSI = _LBF / _IN**2
_DAY = 86400.0
_BTU_H = 1055.05585262 / 3600.0
_F = 5.0 / 9.0


class Pair(NamedTuple):
    """SI and US unit of a quantity: value = number * factor + offset."""

    si: str
    si_factor: float
    us: str
    us_factor: float
    si_offset: float = 0.0
    us_offset: float = 0.0


def _one(symbol: str, factor: float = 1.0) -> Pair:
    return Pair(symbol, factor, symbol, factor)


PAIRS: dict[str, Pair] = {
    "1": _one(""),
    "%": _one("%", 0.01),
    "micro": _one("µm/m", 1e-6),
    "count": _one(""),
    "m": Pair("m", 1.0, "ft", _FT),
    "mm": Pair("mm", 1e-3, "in", _IN),
    "m2": Pair("m²", 1.0, "ft²", _FT**2),
    "mm2": Pair("mm²", 1e-6, "in²", _IN**2),
    "1/m": Pair("1/m", 1.0, "1/in", 1.0 / _IN),
    "n": Pair("N", 1.0, "lbf", _LBF),
    "kn": Pair("kN", 1e3, "lbf", _LBF),
    "n_m": Pair("N/m", 1.0, "lbf/ft", _LBF / _FT),
    "nm": Pair("N·m", 1.0, "lbf·ft", _LBF * _FT),
    "nm_m": Pair("N·m/m", 1.0, "lbf·in/ft", _LBF * _IN / _FT),
    "nm2": Pair("N·m²", 1.0, "lbf·in²", _LBF * _IN**2),
    "nm2_m": Pair("N·m²/m", 1.0, "lbf·in²/ft", _LBF * _IN**2 / _FT),
    "pa": Pair("Pa", 1.0, "psf", _LBF / _FT**2),
    "kpa": Pair("kPa", 1e3, "psf", _LBF / _FT**2),
    "mpa": Pair("MPa", 1e6, "psi", _PSI),
    "gpa": Pair("GPa", 1e9, "10⁶ psi", 1e6 * _PSI),
    "pa_m": Pair("MPa/m", 1e6, "lbf/in³", _LBF / _IN**3),
    "mn_m3": Pair("MN/m³", 1e6, "lbf/in³", _LBF / _IN**3),
    "n_mm3": Pair("N/mm³", 1e9, "lbf/in³", _LBF / _IN**3),
    "vapor": Pair("Pa", 1.0, "inHg", 3386.389),
    "kg": Pair("kg", 1.0, "lb", _LB),
    "g": _one("g", 1e-3),
    "kg_m2": Pair("kg/m²", 1.0, "lb/ft²", _LB / _FT**2),
    "kg_m3": Pair("kg/m³", 1.0, "lb/ft³", _LB / _FT**3),
    "m3": Pair("l", 1e-3, "ft³", _FT**3),
    "k": Pair("K", 1.0, "°F", _F),
    "c": Pair("°C", 1.0, "°F", _F, 273.15, 459.67 * _F),
    "1/k": Pair("10⁻⁶/K", 1e-6, "10⁻⁶/°F", 1e-6 / _F),
    "w": _one("W"),
    "v": _one("V"),
    "a": _one("A"),
    "w_m": Pair("W/m", 1.0, "W/ft", 1.0 / _FT),
    "w_m2": Pair("W/m²", 1.0, "W/ft²", 1.0 / _FT**2),
    "w_mk": Pair("W/(m·K)", 1.0, "Btu·in/(h·ft²·°F)", _BTU_H * _IN / (_FT**2 * _F)),
    "w_m2k": Pair("W/(m²·K)", 1.0, "Btu/(h·ft²·°F)", _BTU_H / (_FT**2 * _F)),
    "m2k_w": Pair("m²·K/W", 1.0, "h·ft²·°F/Btu", _FT**2 * _F / _BTU_H),
    "j_kgk": Pair("J/(kg·K)", 1.0, "Btu/(lb·°F)", 1055.05585262 / (_LB * _F)),
    "j_m2k": Pair("kJ/(m²·K)", 1e3, "Btu/(ft²·°F)", 1055.05585262 / (_FT**2 * _F)),
    "effusivity": Pair("W·√s/(m²·K)", 1.0, "Btu/(ft²·°F·√h)", 1055.05585262 / (_FT**2 * _F * 60.0)),
    "s": _one("s"),
    "min": _one("min", 60.0),
    "h": _one("h", 3600.0),
    "day": _one("d", _DAY),
    "month": _one("months", 365.25 / 12 * _DAY),
    "day_depth": Pair("d/mm", _DAY / 1e-3, "d/in", _DAY / _IN),
    "perm": Pair("ng/(s·m²·Pa)", 1e-12, "perm", 5.72135e-11),
    "g_m2_day": Pair("g/(m²·d)", 1e-3 / _DAY, "lb/(1000 ft²·24 h)", _LB / (1000 * _FT**2) / _DAY),
    "vapor_flux": Pair("g/(m²·h)", 1e-3 / 3600.0, "grain/(ft²·h)", _LB / 7000 / _FT**2 / 3600.0),
    "kg_m2_h": Pair("kg/(m²·h)", 1.0 / 3600.0, "lb/(ft²·h)", _LB / _FT**2 / 3600.0),
    "m_s": Pair("km/h", 1.0 / 3.6, "mph", 1609.344 / 3600.0),
    "mm_volume": Pair("l/m²", 1e-3, "ft³/100 ft²", _FT / 100),
    "m2_kg": Pair("m²/kg", 1.0, "ft²/lb", _FT**2 / _LB),
    "db": _one("dB"),
    "hz": _one("Hz"),
    "class": _one(""),
}


def plain_number(value: float, digits: int = 4) -> str:
    """A number to so many significant digits, with digit groups and never in E notation."""
    if not math.isfinite(value):
        return "not finite"
    if value == 0:
        return "0"
    places = digits - 1 - math.floor(math.log10(abs(value)))
    rounded = round(value, places)
    text = f"{rounded:,.{max(places, 0)}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def pair_numbers(value: float, key: str) -> tuple[float, float]:
    """A value in base SI units as the numbers of its SI and its US unit."""
    pair = PAIRS[key]
    return (value - pair.si_offset) / pair.si_factor, (value - pair.us_offset) / pair.us_factor


def pair_texts(value: float, key: str, digits: int = 4) -> tuple[str, str]:
    """A value in base SI units as text in SI and in US units; the same where both use one unit."""
    pair = PAIRS[key]
    si, us = (plain_number(number, digits) for number in pair_numbers(value, key))
    return f"{si} {pair.si}".rstrip(), f"{us} {pair.us}".rstrip()
