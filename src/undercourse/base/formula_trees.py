"""A formula of plain arithmetic as a tree, for whoever sets it with fractions, roots and raised powers."""

from __future__ import annotations

import ast
from typing import Any

Tree = dict[str, Any]
_NAMES = {"log": "ln", "log10": "log_10", "pi": "π"}
_SIGNS: dict[type[ast.operator], str] = {ast.Add: "+", ast.Sub: "−", ast.Mult: "·"}
# How tightly a kind of node holds together; a looser one inside a tighter one stands in brackets.
_SUM, _PRODUCT, _ATOM = 0, 1, 2


def formula_tree(formula: str) -> Tree | None:
    """The tree of a formula; None where it is empty or no plain arithmetic.

    A node is a dict with ``kind``: ``number`` (``text``), ``symbol`` (``base``, ``index``), ``line``
    (``parts``, nodes and signs in order), ``sign`` (``text``), ``fraction`` (``over``, ``under``),
    ``power`` (``base``, ``raised``), ``root`` (``inside``), ``call`` (``name``, ``index``, ``parts``) and
    ``brackets`` (``inside``). A product stays a product: nothing is cancelled or reordered.
    """
    try:
        return _read(ast.parse(formula.strip(), mode="eval").body, formula.strip())[0]
    except (SyntaxError, ValueError):
        return None


def symbol_parts(symbol: str) -> tuple[str, str]:
    """A symbol and its index: ``EI_n`` as EI and n."""
    base, _, index = symbol.partition("_")
    return base, index


def is_plain(tree: Tree) -> bool:
    """Whether one line of text reads as well: no root, and no fraction but that of two single quantities."""
    if tree["kind"] == "fraction":
        return all(tree[part]["kind"] in ("number", "symbol") for part in ("over", "under"))
    return tree["kind"] != "root" and all(
        part["kind"] != "fraction" and is_plain(part) for part in _inner(tree)
    )


def tree_width(tree: Tree) -> float:
    """About how wide a tree is when it is set, in sizes of the face."""
    kind = tree["kind"]
    if kind in ("number", "sign"):
        return 0.58 * len(tree["text"]) + (0.5 if kind == "sign" else 0.0)
    if kind == "symbol":
        return 0.62 * len(tree["base"]) + 0.4 * len(tree["index"])
    inner = [tree_width(part) for part in _inner(tree)]
    if kind == "fraction":
        return max(inner) + 0.3
    if kind == "power":
        return inner[0] + 0.7 * inner[1]
    extra = {"root": 1.0, "brackets": 0.8, "call": 0.6 * len(tree.get("name", "")) + 0.8 + 0.6 * len(inner)}
    return sum(inner) + extra.get(kind, 0.0)


def _inner(tree: Tree) -> list[Tree]:
    single = [tree[key] for key in ("over", "under", "base", "raised", "inside") if key in tree]
    return [part for part in single if isinstance(part, dict)] + list(tree.get("parts", ()))


def _read(node: ast.expr, text: str) -> tuple[Tree, int]:
    """A node and how tightly it holds."""
    if isinstance(node, ast.Constant) and isinstance(node.value, int | float):
        return _number(ast.get_source_segment(text, node) or str(node.value))
    if isinstance(node, ast.Name):
        base, index = symbol_parts(_NAMES.get(node.id, node.id))
        return {"kind": "symbol", "base": base, "index": index}, _ATOM
    if isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.USub):
        return _line("−", None, _tight(node.operand, text, _PRODUCT)), _SUM
    if isinstance(node, ast.BinOp):
        return _operation(node, text)
    if isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
        inside = [_read(part, text)[0] for part in node.args]
        if node.func.id == "sqrt":
            return {"kind": "root", "inside": inside[0]}, _ATOM
        name, index = symbol_parts(_NAMES.get(node.func.id, node.func.id))
        return {"kind": "call", "name": name, "index": index, "parts": inside}, _ATOM
    raise ValueError(f"not plain arithmetic: {text}")


def _operation(node: ast.BinOp, text: str) -> tuple[Tree, int]:
    if isinstance(node.op, ast.Div):
        over, under = _read(node.left, text)[0], _read(node.right, text)[0]
        return {"kind": "fraction", "over": over, "under": under}, _PRODUCT
    if isinstance(node.op, ast.Pow):
        base, held = _read(node.left, text)
        if held != _ATOM or base["kind"] in ("call", "power"):
            base = {"kind": "brackets", "inside": base}
        return {"kind": "power", "base": base, "raised": _read(node.right, text)[0]}, _ATOM
    sign = _SIGNS.get(type(node.op))
    if sign is None:
        raise ValueError(f"not plain arithmetic: {text}")
    if sign == "·":
        # A minus before the first factor stands for the whole product.
        least = _SUM if isinstance(node.left, ast.UnaryOp) else _PRODUCT
        return _line(sign, _tight(node.left, text, least), _tight(node.right, text, _PRODUCT)), _PRODUCT
    # What follows a minus keeps its brackets; what follows a plus does not need them.
    right = _tight(node.right, text, _PRODUCT if sign == "−" else _SUM)
    return _line(sign, _tight(node.left, text, _SUM), right), _SUM


def _tight(node: ast.expr, text: str, least: int) -> Tree:
    tree, held = _read(node, text)
    return tree if held >= least else {"kind": "brackets", "inside": tree}


def _line(sign: str, left: Tree | None, right: Tree) -> Tree:
    """Two parts with a sign between them, in one line with the lines they are."""
    own: Tree = {"kind": "sign", "text": sign}
    parts: list[Tree] = []
    for part in (left, own, right):
        if part is not None:
            parts += list(part["parts"]) if part["kind"] == "line" else [part]
    return {"kind": "line", "parts": parts}


def _number(text: str) -> tuple[Tree, int]:
    """A number; a power of ten instead of E notation."""
    digits, _, power = text.lower().partition("e")
    number: Tree = {"kind": "number", "text": digits}
    if not power:
        return number, _ATOM
    raised: Tree = {"kind": "number", "text": power.replace("-", "−").lstrip("+")}
    ten: Tree = {"kind": "power", "base": {"kind": "number", "text": "10"}, "raised": raised}
    return (ten if digits == "1" else _line("·", number, ten)), _PRODUCT
