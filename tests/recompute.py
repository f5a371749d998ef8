"""A checking engineer: reads the printed numbers of a sheet and works its formulas through by himself.

Knows nothing of the program: units from SciPy's constants, arithmetic by Python. A printed number stands
for anything that rounds to it, so each formula is worked at the ends of that rounding.
"""

from __future__ import annotations

import math
import re
import unicodedata
from collections.abc import Mapping, Sequence
from itertools import product

from scipy import constants as si
from tests.printed_units import unit_factor

_UNITS = {
    "": 1.0, "%": 0.01, "µm/m": 1e-6, "m": 1.0, "mm": 1e-3, "m²": 1.0, "mm²": 1e-6, "1/m": 1.0, "N": 1.0,
    "kN": 1e3, "N/m": 1.0, "N·m": 1.0, "N·m/m": 1.0, "N·m²": 1.0, "N·m²/m": 1.0, "Pa": 1.0, "kPa": 1e3,
    "MPa": 1e6, "GPa": 1e9, "MPa/m": 1e6, "N/mm³": 1e9, "kg": 1.0, "kg/m²": 1.0, "kg/m³": 1.0, "l": 1e-3,
    "K": 1.0, "10⁻⁶/K": 1e-6, "W": 1.0, "V": 1.0, "A": 1.0, "W/m": 1.0, "W/m²": 1.0, "W/(m·K)": 1.0,
    "W/(m²·K)": 1.0, "m²·K/W": 1.0, "J/(kg·K)": 1.0, "kJ/(m²·K)": 1e3,
    "W·√s/(m²·K)": 1.0, "s": 1.0, "min": si.minute, "h": si.hour, "d": si.day,
    "ng/(s·m²·Pa)": 1e-12, "g/(m²·d)": 1e-3 / si.day, "kg/(m²·h)": 1 / si.hour, "km/h": 1 / 3.6,
    "m²/kg": 1.0, "dB": 1.0, "Hz": 1.0, "g": 1e-3, "g/(m²·h)": 1e-3 / si.hour, "d/mm": si.day / 1e-3,
    "months": si.Julian_year / 12, "l/m²": 1e-3,
}  # fmt: skip
_CLASSES = ("residential", "light", "moderate", "heavy", "extra heavy")
_MATH = {
    name: getattr(math, name)
    for name in ("sqrt", "exp", "log", "log10", "sin", "cos", "tan", "sinh", "cosh", "tanh", "pi")
} | {"min": min, "max": max, "abs": abs}


def read_printed(text: str) -> tuple[float, float]:
    """The least and the greatest SI value that a printed number with its unit may stand for."""
    text = text.strip().replace("−", "-").replace("\u00a0", " ")
    if text in _CLASSES:
        rank = float(_CLASSES.index(text) + 1)
        return rank, rank
    match = re.fullmatch(r"(-?[\d,]*\.?\d+)\s*(.*)", text)
    assert match, text
    digits, unit = match.group(1).replace(",", ""), match.group(2)
    offset = 0.0
    if unit == "°C":
        unit, offset = "K", si.zero_Celsius
    value = float(digits)
    # Five significant digits are printed, closing zeros left out.
    half = 0.5 * 10.0 ** (math.floor(math.log10(abs(value))) - 4) if value else 0.0
    factor = _UNITS[unit] if unit in _UNITS else unit_factor(unit)
    return (value - half) * factor + offset, (value + half) * factor + offset


_RAISED = str.maketrans("⁰¹²³⁴⁵⁶⁷⁸⁹⁻", "0123456789-")
_WRITTEN = {"·": "*", "−": "-", "√": "sqrt", "ln(": "log(", "log₁₀": "log10", "π": "pi", "^": "**"}


def read_formula(printed: str) -> str:
    """A printed formula as arithmetic: raised figures are powers, dots are products."""
    text = re.sub("[⁰¹²³⁴⁵⁶⁷⁸⁹⁻]+", lambda match: f"**({match.group(0).translate(_RAISED)})", printed)
    for sign, meaning in _WRITTEN.items():
        text = text.replace(sign, meaning)
    return unicodedata.normalize("NFKC", text)


def work_through(inputs: Sequence[Mapping[str, str]], steps: Sequence[Mapping[str, str]]) -> list[str]:
    """Work every formula from the printed inputs; what does not come out is told.

    A row has ``symbol`` and ``si`` as printed; a step also ``formula``.
    """
    faults = []
    known = {_key(row["symbol"]): read_printed(row["si"]) for row in inputs}
    for step in steps:
        low, high = read_printed(step["si"])
        if step["formula"]:
            formula = read_formula(step["formula"])
            names = [n for n in known if re.search(rf"(?<!\w){re.escape(n)}(?!\w)", formula)]
            for place, name in enumerate(names):  # a symbol may be a word of Python, such as "is"
                formula = re.sub(rf"(?<!\w){re.escape(name)}(?!\w)", f"known_{place}_", formula)

            def work(values: Sequence[float], formula: str = formula, names: list[str] = names) -> float:
                space = {**_MATH, **{f"known_{place}_": value for place, value in enumerate(values)}}
                return float(eval(formula, {"__builtins__": {}}, space))

            found = [work(ends) for ends in product(*(known[name] for name in names))]
            here = work([sum(known[name]) / 2 for name in names])
            # Rounding moves a value by its ends; a formula that is steep may need a little more.
            spread = max(max(found) - here, here - min(found), 0.0) * 1.2
            if not (low - spread - 1e-12 <= here <= high + spread + 1e-12):
                faults.append(f"{step['symbol']} = {step['formula']}: {here:g}, printed {step['si']}")
            if high - low < spread and spread > 0.02 * abs(here) + 1e-9:
                faults.append(f"{step['symbol']}: printed inputs are too coarse to check it")
        known[_key(step["symbol"])] = (low, high)
    return faults


def _key(symbol: str) -> str:
    return unicodedata.normalize("NFKC", symbol)
