"""A formula's tree as MathML, so that a browser sets fractions and powers and a reader speaks them.

A root stands as its sign with brackets: where no mathematical face is installed, a browser leaves the drawn
sign out, and the formula would read as another one.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from markupsafe import Markup

from undercourse.base.formula_trees import Tree


def math_markup(tree: Mapping[str, Any]) -> Markup:
    """A whole formula in a line of its own; every text of the tree is escaped."""
    return Markup('<math display="inline">{}</math>').format(_row(tree))


def _row(tree: Tree | Mapping[str, Any]) -> Markup:
    """A node, in a row of its own where it has several parts."""
    inside, several = _node(tree), tree["kind"] in ("line", "brackets", "call", "root")
    return Markup("<mrow>{}</mrow>").format(inside) if several else inside


def _node(tree: Tree | Mapping[str, Any]) -> Markup:
    kind = tree["kind"]
    if kind == "number":
        return Markup("<mn>{}</mn>").format(tree["text"])
    if kind == "sign":
        return _sign(tree["text"])
    if kind == "symbol":
        return _symbol(tree["base"], tree["index"])
    if kind == "line":
        return _join(tree["parts"])
    if kind == "fraction":
        return Markup("<mfrac>{}{}</mfrac>").format(_row(tree["over"]), _row(tree["under"]))
    if kind == "power":
        return Markup("<msup>{}{}</msup>").format(_row(tree["base"]), _row(tree["raised"]))
    if kind == "root":
        return _sign("√") + _sign("(") + _row(tree["inside"]) + _sign(")")
    if kind == "brackets":
        return _sign("(") + _node(tree["inside"]) + _sign(")")
    parts = _sign(",").join(_row(part) for part in tree["parts"])
    return _symbol(tree["name"], tree["index"]) + _sign("(") + parts + _sign(")")


def _join(parts: list[Tree]) -> Markup:
    return Markup("").join(_row(part) for part in parts)


def _sign(text: str) -> Markup:
    return Markup("<mo>{}</mo>").format(text)


def _symbol(base: str, index: str) -> Markup:
    name = Markup('<mi mathvariant="normal">{}</mi>').format(base)
    if not index:
        return name
    return Markup('<msub>{}<mi mathvariant="normal">{}</mi></msub>').format(name, index)
