"""Units as they are printed, read factor by factor: ``lbf·in²/ft``, ``Btu·in/(h·ft²·°F)``, ``10⁶ psi``.

Factors are SciPy's constants (CODATA and the exact definitions of NIST SP 811, appendix B).
"""

from __future__ import annotations

import re

from scipy import constants as si

_INCH_OF_MERCURY = 3386.389  # NIST SP 811, appendix B.8: conventional inch of mercury
_ATOMS = {
    "m": 1.0, "mm": 1e-3, "µm": 1e-6, "μm": 1e-6, "km": 1e3, "l": si.liter, "kg": 1.0, "g": 1e-3, "ng": 1e-12,
    "N": 1.0, "kN": 1e3, "MN": 1e6, "Pa": 1.0, "kPa": 1e3, "MPa": 1e6, "GPa": 1e9, "K": 1.0, "W": 1.0,
    "kW": 1e3, "V": 1.0, "A": 1.0, "J": 1.0, "kJ": 1e3, "MJ": 1e6, "s": 1.0, "min": si.minute, "h": si.hour,
    "d": si.day, "months": si.Julian_year / 12, "Hz": 1.0, "kHz": 1e3, "dB": 1.0, "%": 0.01,
    "ft": si.foot, "in": si.inch, "lbf": si.lbf, "lb": si.lb, "grain": si.grain, "psi": si.psi,
    "psf": si.lbf / si.foot**2, "inHg": _INCH_OF_MERCURY, "°F": 5 / 9, "mph": si.mph, "Btu": si.Btu_IT,
    "perm": si.grain / (si.hour * si.foot**2 * _INCH_OF_MERCURY),
}  # fmt: skip
_RAISED = str.maketrans("⁰¹²³⁴⁵⁶⁷⁸⁹⁻", "0123456789-")
_TOKEN = re.compile(r"(√)?([A-Za-zµμ°%]+|\d+)([⁰¹²³⁴⁵⁶⁷⁸⁹⁻]*)|[·/() ]")


def unit_factor(unit: str) -> float:
    """What one of a printed unit is in SI base units."""
    text, at = [], 0
    # A number before a unit counts it: one per 100 ft² is one per (100 ft²).
    unit = re.sub(r"/(\d+) ([^/()]+)$", r"/(\1 \2)", unit.strip("× "))
    for match in _TOKEN.finditer(unit):
        assert match.start() == at, f"unit {unit!r} cannot be read"
        at = match.end()
        root, atom, power = match.groups()
        if atom is None:
            text.append("*" if match.group(0) in "· " else match.group(0))
            continue
        value = float(atom) if atom.isdigit() else _ATOMS[atom]
        text.append(f"({value!r})**({power.translate(_RAISED) or 1}*{0.5 if root else 1})")
    assert at == len(unit), f"unit {unit!r} cannot be read"
    return float(eval("".join(text) or "1.0", {"__builtins__": {}}))
