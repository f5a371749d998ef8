"""Runs every check in tests/published/*.toml against a source outside the project.

A file holds ``source`` (standard, edition, table or page), ``function`` ("package.module.name" or
"package.module:name"), ``tolerance``, ``tolerance_why`` and ``[[case]]`` tables; or several
``[[check]]`` tables, each with these keys and its own ``[[check.case]]``. A case may override
what stands above it. A case holds

* ``name`` and ``kind`` (published, derived, practice, memory); for memory also ``confidence`` in
  percent, or the words "from memory, 90 %" in name or source;
* ``input``: arguments by name. Text with a unit ("187 in", "1.6e6 psi", "225000 lbf in2/ft")
  becomes SI; other text, numbers, flags and lists of them are passed on as they are;
* ``expect``: what the source prints, in the same notation. A table compares the named parts of
  the result. Text without a unit ("15-7") must match exactly;
* optionally ``about``: a remark, for instance what else the source prints.

``tolerance`` is "exact" (binary rounding only), a share ("0.5 %"), an amount ("1 in", 0.02), or
``{ rel = 0.002 }``, ``{ abs = 0.05 }``.
"""

from __future__ import annotations

import importlib
import re
import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from scipy import constants as si

FOLDER = Path(__file__).parent / "published"
KINDS = {"published", "derived", "practice", "memory"}
ROUNDING_SHARE = 1e-9

# Factors to SI from an outside library, so that a slip in our own units cannot hide here.
UNITS: dict[str, float] = {
    "1": 1.0, "%": 0.01, "micro": 1e-6,
    "m": 1.0, "km": 1e3, "cm": 1e-2, "mm": 1e-3, "um": 1e-6,
    "in": si.inch, "mil": si.mil, "ft": si.foot, "yd": si.yard, "L": si.liter, "gal": si.gallon,
    "kg": 1.0, "g": 1e-3, "lb": si.lb, "N": 1.0, "kN": 1e3, "lbf": si.lbf,
    "Pa": 1.0, "kPa": 1e3, "MPa": 1e6, "GPa": 1e9,
    "psi": si.psi, "psf": si.lbf / si.foot**2, "pci": si.lbf / si.inch**3,
    "s": 1.0, "min": si.minute, "h": si.hour, "d": si.day, "Hz": 1.0,
    "W": 1.0, "kW": 1e3, "J": 1.0, "kJ": 1e3, "MJ": 1e6, "Btu": si.Btu,
    "K": 1.0, "delta_C": 1.0, "delta_F": 5 / 9,
}  # fmt: skip
AMOUNT = re.compile(r"^\s*([-+]?\d+(?:\.\d+)?(?:[eE][-+]?\d+)?(?:/\d+)?)\s+(\S.*)$")
FROM_MEMORY = re.compile(r"from memory,? \(?(?:confidence )?\d+ ?%?")
UNIT_PART = re.compile(r"^([A-Za-z_%1]+?)(-?\d+)?$")


def unit_factor(text: str) -> float | None:
    """Factor to SI of a unit such as "lbf in2/ft"; None if any part is unknown."""
    factor = 1.0
    for position, group in enumerate(text.split("/")):
        for token in group.split():
            if token in UNITS:
                part = UNITS[token]
            else:
                match = UNIT_PART.match(token)
                if match is None or match[1] not in UNITS:
                    return None
                part = UNITS[match[1]] ** int(match[2] or 1)
            factor *= part if position == 0 else 1 / part
    return factor


def to_si(value: Any) -> Any:
    """Value of a case with units turned into SI; lists and tables item by item."""
    if isinstance(value, Mapping):
        return {key: to_si(item) for key, item in value.items()}
    if isinstance(value, list):
        return [to_si(item) for item in value]
    match = AMOUNT.match(value) if isinstance(value, str) else None
    factor = unit_factor(match[2]) if match else None
    if match is None or factor is None:
        return value
    top, _, bottom = match[1].partition("/")
    return float(top) / float(bottom or 1) * factor


def resolve(path: str) -> Any:
    """The object that a dotted path names."""
    module, _, name = path.replace(":", ".").rpartition(".")
    return getattr(importlib.import_module(module), name)


def is_text(value: Any) -> bool:
    """Whether a value, or every item of a list, is text."""
    return isinstance(value, str) or (
        isinstance(value, list) and all(isinstance(item, str) for item in value)
    )


def read_tolerance(tolerance: Any) -> tuple[float, float]:
    """Relative and absolute tolerance."""
    if isinstance(tolerance, Mapping):
        assert tolerance
        assert set(tolerance) <= {"rel", "abs"}
        return float(tolerance.get("rel", 0.0)), float(tolerance.get("abs", 0.0))
    if tolerance == "exact":
        return ROUNDING_SHARE, 0.0
    if isinstance(tolerance, str) and tolerance.endswith("%"):
        return float(tolerance[:-1]) / 100, 0.0
    return ROUNDING_SHARE, float(to_si(tolerance))


def compare(actual: Any, expected: Any, tolerance: Any) -> None:
    """Assert that a result agrees with what the source prints."""
    if isinstance(expected, Mapping):
        for part, wanted in expected.items():
            compare(actual[part] if isinstance(actual, Mapping) else getattr(actual, part), wanted, tolerance)
    elif is_text(expected):
        assert np.asarray(actual).tolist() == expected
    else:
        relative, absolute = read_tolerance(tolerance)
        assert np.shape(actual) == np.shape(expected)
        np.testing.assert_allclose(
            np.asarray(actual, dtype=float), np.asarray(expected, dtype=float), rtol=relative, atol=absolute
        )


def read_cases() -> list[Any]:
    """Every case of every file, with what it inherits from its file."""
    found = []
    for path in sorted(FOLDER.glob("*.toml")):
        try:
            content = tomllib.loads(path.read_text(encoding="utf-8"))
            for group in content.get("check", [content]):
                shared = {key: value for key, value in group.items() if key != "case"}
                for case in group["case"]:
                    found.append(pytest.param(shared | case, id=f"{path.stem}: {case['name']}"))
        except (tomllib.TOMLDecodeError, KeyError) as problem:
            # One broken file fails by itself instead of stopping every other check.
            found.append(pytest.param({"broken": repr(problem)}, id=f"{path.stem}: cannot be read"))
    return found


def test_published_folder_is_not_empty() -> None:
    """Guards against a moved folder, with which no check would run and all would pass."""
    assert len(read_cases()) > 0


@pytest.mark.parametrize("case", read_cases())
def test_published_case_agrees(case: dict[str, Any]) -> None:
    """A published, derived or remembered value comes out of the named function."""
    assert "broken" not in case
    assert case["source"].strip()
    assert case["tolerance_why"].strip()
    assert case["kind"] in KINDS
    if case["kind"] == "memory":
        assert "confidence" in case or FROM_MEMORY.search(f"{case['name']} {case['source']}")
    actual = resolve(case["function"])(**to_si(case["input"]))
    compare(actual, to_si(case["expect"]), case["tolerance"])
