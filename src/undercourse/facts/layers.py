"""What the existing layers amount to: derived facts from the eight slots, top down.

Limits read the derived facts, never a slot.
"""

from __future__ import annotations

import numpy as np

from undercourse.base.columns import Bits, Bools, ChoiceColumn, Columns, NumberColumn, is_empty, narrow
from undercourse.facts.vocabulary import SLOTS

PANELS = ("plywood", "OSB")
# Flag facts that ask whether a layer of one of these kinds lies anywhere in the floor.
PRESENCE: dict[str, tuple[str, ...]] = {
    "resilient_layer": (
        "sheet vinyl",
        "cushioned vinyl",
        "vinyl tile",
        "vinyl plank",
        "linoleum",
        "rubber",
        "adhesive residue",
    ),
    "cushioned_or_floating_layer": ("cushioned vinyl", "vinyl plank", "laminate", "carpet", "cork"),
    "unsuitable_panel_layer": ("particleboard", "lauan", "hardboard", "strip flooring"),
    "gypsum_layer": ("calcium sulfate screed", "poured gypsum"),
    "old_tile_layer": ("ceramic tile", "stone tile", "terrazzo"),
}
DERIVED = ("top_surface", "panel_total_thickness", "panel_layers", *PRESENCE)
_NO, _YES = np.uint64(1), np.uint64(2)


def derive_layer_facts(columns: Columns) -> dict[str, Bools]:
    """Narrow the derived facts by the slots, in place.

    Returns
    -------
    dict
        Derived fact to the rows [rows,] in which it contradicts the slots.
    """
    slots = [columns.choice(f"layer_{place}_kind").bits for place in range(1, SLOTS + 1)]
    if all(f"layer_{place}_kind" not in columns for place in range(1, SLOTS + 1)):
        return {}
    domain = columns.domains["layer_1_kind"]
    bit = {kind: np.uint64(1 << place) for place, kind in enumerate(domain.choices)}
    nothing = bit["nothing"]
    _narrow_choice(columns, "top_surface", _top(slots, nothing))
    sums = {"low": np.array([0.0]), "high": np.array([0.0]), "few": np.array([0.0]), "many": np.array([0.0])}
    panel_bits = np.uint64(0)
    for kind in PANELS:
        panel_bits |= bit[kind]
    for place, bits in enumerate(slots, 1):
        thickness = columns.number(f"layer_{place}_thickness")
        must, may = (bits & ~panel_bits) == 0, (bits & panel_bits) != 0
        sums["low"] = sums["low"] + np.where(must, thickness.low, 0.0)
        sums["high"] = sums["high"] + np.where(may, thickness.high, 0.0)
        sums["few"] = sums["few"] + must
        sums["many"] = sums["many"] + may
    columns["panel_layers"] = narrow(columns["panel_layers"], NumberColumn(sums["few"], sums["many"]))
    # Without a sure panel the total says nothing: the fact's domain starts above zero.
    sure = sums["few"] > 0
    whole = columns.domains["panel_total_thickness"]
    total = NumberColumn(
        np.where(sure, np.maximum(sums["low"], 0.0), whole.low), np.where(sure, sums["high"], whole.high)
    )
    columns["panel_total_thickness"] = narrow(columns["panel_total_thickness"], total)
    for fact, kinds in PRESENCE.items():
        wanted = np.uint64(0)
        for kind in kinds:
            wanted |= bit[kind]
        must = np.array([False])
        may = np.array([False])
        for bits in slots:
            must = must | ((bits & ~wanted) == 0)
            may = may | ((bits & wanted) != 0)
        _narrow_choice(columns, fact, np.where(must, _YES, np.where(may, _NO | _YES, _NO)))
    return {name: is_empty(columns[name]) for name in DERIVED}


def _top(slots: list[Bits], nothing: np.uint64) -> Bits:
    reached = np.array([True])
    top: Bits = np.array([0], dtype=np.uint64)
    for bits in slots:
        top = top | np.where(reached, bits & ~nothing, np.uint64(0))
        reached = reached & ((bits & nothing) != 0)
    return top


def _narrow_choice(columns: Columns, name: str, bits: Bits) -> None:
    columns[name] = narrow(columns[name], ChoiceColumn(bits.astype(np.uint64)))
