"""Which hatch stands for which layer: read from its kind, its role, or the words of its name."""

from __future__ import annotations

import re
from typing import Any

# First match wins; words are looked for in kind, then role, then product.
_WORDS: tuple[tuple[str, str], ...] = (
    (r"heat|cable|warm", "cables"),
    (r"uncoupl|decoupl", "studs"),
    (r"crack", "steep"),
    (r"waterproof|vapou?r|sheet membrane|liner", "band"),
    (r"sound|acoustic|impact", "rings"),
    (r"insulat", "zigzag"),
    (r"membrane|underlay(?!ment board)", "membrane"),
    (r"mortar|thin.?set|adhesive|\bbond", "mortar"),
    (r"tile|porcelain|ceramic|stone|marble|granite|slate|terrazzo|finish", "tile"),
    (r"gypsum|anhydrite", "gypsum"),
    (r"level|patch|screed|topping|pour", "leveler"),
    (r"plywood|osb|panel|board|sheathing|subfloor", "plies"),
    (r"joist|truss|plank|hardwood|wood|lumber|beam", "grain"),
    (r"concrete|slab|cement|masonry", "concrete"),
    (r"primer|coat|sealer|slip sheet|paper|felt|film", "none"),
)
# Given out in turn, so that two membranes of one section never share a hatch.
_MEMBRANE_HATCHES = ("studs", "band", "steep", "rings", "cross", "upright", "cables", "zigzag")
_MEMBRANE_KINDS = {"studs", "band", "steep", "rings", "cables", "membrane"}


# Goods that come with an assembly but add no layer to it.
_ACCESSORIES = (
    "grout",
    "corner",
    "collar",
    "tape",
    "band",
    "sealant",
    "drain",
    "control",
    "cable",
    "profile",
)
_COATS = ("primer", "coat", "sealer", "paint")


def layer_name(layer: dict[str, Any]) -> str:
    """What a layer is called: its name, else its product, else its kind or role."""
    found = next((layer[key] for key in ("name", "product", "kind", "role") if layer.get(key)), None)
    words = str(found or "layer not named").replace("_", " ")
    return words[:1].upper() + words[1:]


def is_structure(layer: dict[str, Any]) -> bool:
    """Whether a layer is what carries the floor: its depth is no part of the floor's height unless stated."""
    return "structure" in str(layer.get("role") or "").lower()


def is_coat(layer: dict[str, Any]) -> bool:
    """Whether a layer is only a coat: no height to speak of."""
    text = f"{layer.get('role') or ''} {layer.get('kind') or ''}".lower()
    return not layer.get("thickness_m") and any(word in text for word in _COATS)


def split_layers(layers: list[dict[str, Any]]) -> tuple[list[dict[str, Any]], list[dict[str, Any]]]:
    """The layers that stand in the stack, and the goods that only come with it.

    A thickness of nothing means that none is stated, coats apart.
    """
    stack, goods = [], []
    for layer in layers:
        role = str(layer.get("role") or "").lower()
        if not layer.get("thickness_m") and any(word in role for word in _ACCESSORIES):
            goods.append(layer)
        elif not layer.get("thickness_m") and not is_coat(layer):
            stack.append({**layer, "thickness_m": None})
        else:
            stack.append(layer)
    return stack, goods


def _first_match(layer: dict[str, Any]) -> str:
    for key in ("kind", "role", "name", "product"):
        text = str(layer.get(key) or "").lower().replace("_", " ")
        if key == "role" and text in (
            "existing",
            "structure",
            "existing layer",
            "substrate",
            "foreign",
            "layer",
        ):
            continue
        for pattern, hatch in _WORDS:
            if re.search(pattern, text):
                return hatch
    return "none"


def _best_match(layer: dict[str, Any]) -> str:
    """A membrane whose role says no more than that may say more in its name."""
    hatch = _first_match(layer)
    if hatch == "membrane":
        named = _first_match({"product": layer_name(layer)})
        return named if named in _MEMBRANE_KINDS else "membrane"
    return hatch


def choose_hatches(layers: list[dict[str, Any]]) -> list[str]:
    """One hatch for each layer; every membrane of the section gets one of its own."""
    found = [_best_match(layer) for layer in layers]
    taken: dict[str, str] = {}
    hatches = []
    for layer, hatch in zip(layers, found, strict=True):
        if hatch not in _MEMBRANE_KINDS:
            hatches.append(hatch)
            continue
        product = str(layer.get("product") or layer_name(layer))
        if product not in taken:
            wanted = (hatch, *_MEMBRANE_HATCHES)
            free = [h for h in wanted if h != "membrane" and h not in taken.values()]
            taken[product] = free[0] if free else _MEMBRANE_HATCHES[len(taken) % len(_MEMBRANE_HATCHES)]
        hatches.append(taken[product])
    return hatches


def is_membrane(layer: dict[str, Any]) -> bool:
    """Whether a layer is a sheet between subfloor and tile."""
    return _best_match(layer) in _MEMBRANE_KINDS


def is_existing(layer: dict[str, Any]) -> bool:
    """Whether a layer is on site already (said by ``existing``, or by its role)."""
    said = layer.get("existing")
    if said is not None:
        return bool(said)
    role = str(layer.get("role") or "").lower()
    return any(word in role for word in ("existing", "structure", "substrate", "subfloor", "slab", "joist"))
