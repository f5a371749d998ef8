"""The whole stack of an area for drawing: tile, candidate, existing layers, what carries them."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from undercourse.base.columns import ChoiceColumn, NumberColumn, pick
from undercourse.base.frame import Frame
from undercourse.facts.vocabulary import SLOTS

# Beds are drawn even where which mortar it is turns on open facts.
BEDS = ("membrane", "mortar above", "mortar below")


def existing_layers(facts: Frame, row: int) -> list[dict[str, Any]]:
    """The layers on site from the top down, then what carries them; only what is known."""
    found: list[dict[str, Any]] = []
    for place in range(1, SLOTS + 1):
        names = _names(facts, f"layer_{place}_kind", row)
        if names == ["nothing"]:
            break
        if len(names) > 3:
            break
        thickness = facts[f"layer_{place}_thickness"]
        assert isinstance(thickness, NumberColumn)
        low, high = float(pick(thickness.low, row)), float(pick(thickness.high, row))
        found.append(
            {
                "role": "existing layer",
                "product": " or ".join(names),
                "kind": names[0],
                "thickness_m": high if high - low < 1e-9 else None,
                "existing": True,
            }
        )
    if not found:
        names = _names(facts, "top_surface", row)
        if len(names) <= 3:
            found.append(
                {
                    "role": "existing layer",
                    "product": " or ".join(names),
                    "kind": names[0],
                    "thickness_m": None,
                    "existing": True,
                }
            )
    base = _names(facts, "base", row)
    if len(base) <= 2 and not (
        found and base[0] in ("slab on ground", "suspended slab") and "concrete" in found[-1]["kind"]
    ):
        found.append(
            {
                "role": "structure",
                "product": " or ".join(base),
                "kind": base[0],
                "thickness_m": None,
                "existing": True,
            }
        )
    return found


def _names(facts: Frame, name: str, row: int) -> list[str]:
    column = facts[name]
    assert isinstance(column, ChoiceColumn)
    return facts.domain(name).names(int(pick(column.bits, row)))


def tile_layer(facts: Frame, row: int) -> dict[str, Any]:
    """The finish on top."""
    names = _names(facts, "finish", row)
    thickness = facts["tile_thickness"]
    assert isinstance(thickness, NumberColumn)
    low, high = float(pick(thickness.low, row)), float(pick(thickness.high, row))
    label = names[0] if len(names) == 1 else "tile"
    words = {
        "ceramic": "ceramic tile",
        "porcelain": "porcelain tile",
        "quarry": "quarry tile",
        "glass": "glass tile",
    }
    return {
        "role": "finish",
        "product": words.get(label, label),
        "kind": "tile",
        "thickness_m": high if high - low < 1e-9 else None,
    }


def section_layers(candidate: Mapping[str, Any], floor: Mapping[str, Any]) -> list[dict[str, Any]]:
    """The layers of one candidate between the tile and the existing floor, as drawn."""
    middle = [
        {
            "role": layer["role"],
            "product": layer["name"],
            "kind": layer["kind"] or layer["role"],
            "thickness_m": layer["thickness_m"] or None,
        }
        for layer in candidate["layers"]
        if layer["role"] != "tile class" and (layer["certain"] or layer["role"] in BEDS)
    ]
    return [dict(floor["tile"]), *middle, *(dict(layer) for layer in floor["existing"])]
