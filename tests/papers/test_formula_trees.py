"""Set formulas mean what the kernel's formulas mean: held against Python's own arithmetic."""

from __future__ import annotations

import math
import random
import re
from typing import Any

import pytest

from undercourse.base.formula_trees import formula_tree, is_plain, tree_width
from undercourse.demands import DEMANDS

FORMULAS = sorted({step.formula for demand in DEMANDS.values() for step in demand.steps if step.formula})
_SPACE = {name: getattr(math, name) for name in dir(math) if not name.startswith("_")}
_SPACE |= {"ln": math.log, "min": min, "max": max, "abs": abs}


def read_as_seen(tree: dict[str, Any]) -> str:
    """The arithmetic that a reader sees: only what is set apart on paper is held together."""
    kind = tree["kind"]
    if kind in ("number", "sign"):
        return str(tree["text"]).replace("·", "*").replace("−", "-")
    if kind == "symbol":
        return tree["base"] + (f"_{tree['index']}" if tree["index"] else "")
    if kind == "line":
        return "".join(read_as_seen(part) for part in tree["parts"])
    if kind == "fraction":
        return f"(({read_as_seen(tree['over'])})/({read_as_seen(tree['under'])}))"
    if kind == "power":
        return f"{read_as_seen(tree['base'])}**({read_as_seen(tree['raised'])})"
    if kind in ("root", "brackets"):
        return f"{'sqrt' if kind == 'root' else ''}({read_as_seen(tree['inside'])})"
    name = "log10" if tree["index"] == "10" else tree["name"]
    return f"{name}({','.join(read_as_seen(part) for part in tree['parts'])})"


def values_for(formula: str, rng: random.Random) -> dict[str, float]:
    names = sorted(set(re.findall(r"[^\W\d]\w*", re.sub(r"\d\.?\d*e-?\d+", "", formula))))
    return {name: rng.uniform(0.2, 0.9) for name in names if name not in _SPACE}


def outcome(text: str, space: dict[str, Any]) -> float | str:
    try:
        return float(eval(text, {"__builtins__": {}}, space))
    except (ValueError, ZeroDivisionError, OverflowError, TypeError) as error:
        return type(error).__name__


@pytest.mark.parametrize(
    "formula", [*FORMULAS, "-(a + b)*c", "a - (b - c)", "(a/b)**2", "a/b/c", "a*-b", "2e-3*a"]
)
def test_a_set_formula_reads_as_it_computes(formula: str) -> None:
    """The same number at random values, brackets dropped and fractions set notwithstanding."""
    tree = formula_tree(formula)
    assert tree is not None, "every formula of a sheet can be set"
    assert tree_width(tree) > 0
    rng = random.Random(formula)
    for _ in range(5):
        values = values_for(formula, rng)
        space = {**_SPACE, **values, "π": math.pi}
        seen, meant = outcome(read_as_seen(tree), space), outcome(formula, space)
        assert seen == pytest.approx(meant, rel=1e-12) if isinstance(meant, float) else seen == meant


def test_what_is_no_arithmetic_has_no_tree() -> None:
    """Nothing else of Python is let through."""
    for text in ("", "a if b else c", "[1, 2]", "a.b", "'x'", "a <= b", "f(x)(y)"):
        assert formula_tree(text) is None


def test_plain_lines_are_not_set_twice() -> None:
    """A root or a compound fraction wants setting; a product or a single quotient does not."""
    for formula, plain in (
        ("p*s", True),
        ("a/b", True),
        ("a*b/c", False),
        ("sqrt(a)", False),
        ("w*L**2", True),
    ):
        tree = formula_tree(formula)
        assert tree is not None
        assert is_plain(tree) is plain, formula
