"""A formula of plain arithmetic as a person writes it, and with its numbers put in."""

from __future__ import annotations

import re
from collections.abc import Mapping

_RAISED = str.maketrans("0123456789-", "⁰¹²³⁴⁵⁶⁷⁸⁹⁻")
_LOWERED = {
    **dict(zip("0123456789", "₀₁₂₃₄₅₆₇₈₉", strict=True)),
    **dict(zip("aehijklmnoprstuvx", "ₐₑₕᵢⱼₖₗₘₙₒₚᵣₛₜᵤᵥₓ", strict=True)),
}
_WORDS = {"sqrt": "√", "log": "ln", "log10": "log₁₀", "pi": "π"}
_TOKEN = re.compile(r"\*\*\s*(\d+(?:\.\d+)?|\((?:-?\d+(?:\.\d+)?)\))|[^\W\d]\w*|\d+\.?\d*(?:e-?\d+)?|\*\*|.")
_POWER_OF_TEN = re.compile(r"(\d+\.?\d*)e(-?\d+)")


def show_symbol(symbol: str) -> str:
    """A symbol with its index lowered where the letters allow it: ``m_t`` as mₜ."""
    base, _, index = symbol.partition("_")
    if not index:
        return base
    if all(letter in _LOWERED for letter in index):
        return base + "".join(_LOWERED[letter] for letter in index)
    return f"{base}_{index}"


def show_formula(formula: str) -> str:
    """A formula with dots, raised powers and lowered indices: ``p*l**4/(c*EI)`` as p·l⁴/(c·EI)."""
    return _write(formula, {})


def show_numbers(formula: str, numbers: Mapping[str, str]) -> str:
    """The same formula with the number of each symbol in its place."""
    return _write(formula, numbers)


def _write(formula: str, numbers: Mapping[str, str]) -> str:
    parts = []
    for match in _TOKEN.finditer(formula):
        token = match.group(0)
        if power := match.group(1):
            whole = power.strip("()").lstrip("-").isdigit()
            parts.append(power.strip("()").translate(_RAISED) if whole else f"^{power}")
        elif token in numbers:
            text = numbers[token]
            parts.append(f"({text})" if text.startswith("−") else text)
        elif token[0].isalpha():
            parts.append(_WORDS.get(token) or show_symbol(token))
        elif ten := _POWER_OF_TEN.fullmatch(token):
            parts.append(f"({ten.group(1)}·10{ten.group(2).translate(_RAISED)})")
        elif token == "**":
            parts.append("^")
        elif token == "*":
            parts.append("·")
        elif token == "-":
            parts.append("−")
        else:
            parts.append(token)
    return "".join(parts)
