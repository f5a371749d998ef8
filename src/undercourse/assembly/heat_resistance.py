"""Thermal resistance of the layers that a candidate adds, as ranges: stated, or by kind.

A product that states its resistance or its conductivity has that; of any other, what its kind is made
of bounds it. Films, tile and base are not in here.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from undercourse.base.columns import Bools, Columns, Floats, NumberColumn, Truth
from undercourse.line.records import Product

Ends = tuple[float, float]
# Name, unit, least and greatest value of the columns that this module fills.
HEAT_COLUMNS: Mapping[str, tuple[str, float, float]] = {
    "membrane_thermal_resistance": ("m2K/W", 0.0, 2.0),
    "above_membrane_resistance": ("m2K/W", 0.0, 2.0),
    "below_membrane_resistance": ("m2K/W", 0.0, 4.0),
    "above_membrane_height": ("mm", 0.0, 300.0),
    "cable_output": ("W/m", 0.5, 100.0),
}
# Conductivity by kind, W/(m K). Solid polyethylene 0.33 to 0.50, polypropylene 0.22, PVC 0.17, rubber 0.17,
# cork and felt underlays 0.05 to 0.10 (published tables of EN ISO 10456); still air 0.026 and mortar 1.0 in
# the cells of a cavity sheet and the ends of every range from memory.
MEMBRANE_W_M_K: Mapping[str, Ends] = {
    "uncoupling sheet": (0.05, 1.0),
    "heating sheet": (0.05, 1.0),
    "crack isolation sheet": (0.10, 0.50),
    "waterproofing sheet": (0.10, 0.50),
    "sound mat": (0.035, 0.25),
    "liquid membrane": (0.15, 0.50),
    "pan liner": (0.14, 0.33),
    "slip sheet": (0.05, 0.50),
    "other": (0.03, 2.5),
}
# Cement mortar 1.0 (EN ISO 10456, from memory), concrete 1.15 to 2.5 (EN ISO 10456 as printed); foam boards
# 0.03 to cement boards 0.6, light mortars and coatings from memory.
LAYER_W_M_K: Mapping[str, Ends] = {
    "mortar above": (0.5, 1.4),
    "mortar below": (0.5, 1.4),
    "mortar bed": (0.8, 1.6),
    "leveler": (0.6, 1.8),
    "patch": (0.5, 1.8),
    "tile board": (0.03, 0.6),
    "moisture coat": (0.15, 0.5),
}
BELOW = ("mortar below", "tile board", "mortar bed", "leveler", "patch", "moisture coat")
# Thickness of a stranger's layer in these roles: from a skim to a deep bed, from memory.
STRANGE_M: Mapping[str, Ends] = {
    "mortar bed": (0.015, 0.10),
    "leveler": (0.0, 0.05),
    "patch": (0.0, 0.02),
    "tile board": (0.005, 0.05),
    "moisture coat": (0.0, 0.002),
    "membrane": (0.0002, 0.03),
}
_NOTHING: Ends = (0.0, 0.0)


def membrane_resistance(membrane: Product) -> Ends:
    """Least and greatest resistance of a membrane. [m2 K/W]"""
    return _by_kind(membrane, membrane.number("thickness"), MEMBRANE_W_M_K.get(membrane.kind))


def layer_resistance(product: Product, role: str, thickness_m: float) -> Ends:
    """Least and greatest resistance that a product adds in a role. [m2 K/W]"""
    return _by_kind(product, thickness_m, LAYER_W_M_K.get(role, (np.inf, np.inf)))


def _by_kind(product: Product, thickness_m: float | None, conductivity: Ends | None) -> Ends:
    stated = product.number("thermal_resistance")
    if stated is not None:
        return stated, stated
    own = product.number("conductivity")
    conductivity = (own, own) if own else conductivity
    if conductivity is None:
        return _NOTHING
    ends = (thickness_m, thickness_m) if thickness_m is not None else STRANGE_M["membrane"]
    return ends[0] / conductivity[1], ends[1] / conductivity[0]


def strange_resistance(role: str, kind: str, thickness: Ends | None) -> Ends:
    """Least and greatest resistance of a layer of a stranger's make. [m2 K/W]"""
    table = MEMBRANE_W_M_K if role == "membrane" else LAYER_W_M_K
    conductivity = table.get(kind if role == "membrane" else role)
    if conductivity is None:
        conductivity = MEMBRANE_W_M_K["other"]
        if role != "membrane":
            return _NOTHING
    ends = thickness if thickness is not None else STRANGE_M.get(role, _NOTHING)
    return ends[0] / conductivity[1], ends[1] / conductivity[0]


def set_range(columns: Columns, name: str, low: Floats, high: Floats) -> None:
    """Put a range into a column, held within its domain."""
    domain = columns.domains[name]
    columns[name] = NumberColumn(
        np.clip(low, domain.low, domain.high), np.clip(high, domain.low, domain.high)
    )


def set_heat_columns(
    columns: Columns,
    membrane: Product,
    amounts: Mapping[str, tuple[Floats, Floats]],
    leveler_above: Truth,
) -> None:
    """Fill the resistances of a candidate around one membrane.

    Parameters
    ----------
    amounts : mapping
        Role to the least and greatest height [m] and resistance [m2 K/W] that it adds. [2, rows] each.
    leveler_above : Truth
        Whether the leveler lies over the membrane.
    """
    low, high = (np.array([end]) for end in membrane_resistance(membrane))
    set_range(columns, "membrane_thermal_resistance", low, high)
    nothing = np.zeros((2, 1))
    above_low, above_high = amounts.get("mortar above", (nothing, nothing))
    below_low, below_high = nothing, nothing
    for role in BELOW:
        least, most = amounts.get(role, (nothing, nothing))
        if role == "leveler":
            above_low = above_low + np.where(leveler_above.must, least, 0.0)
            above_high = above_high + np.where(leveler_above.may, most, 0.0)
            least = np.where(leveler_above.may, 0.0, least)
            most = np.where(leveler_above.must, 0.0, most)
        below_low, below_high = below_low + least, below_high + most
    set_range(columns, "above_membrane_resistance", above_low[1], above_high[1])
    set_range(columns, "above_membrane_height", above_low[0], above_high[0])
    set_range(columns, "below_membrane_resistance", below_low[1], below_high[1])


def set_stack_columns(columns: Columns, stack: Sequence[tuple[str, Ends, Ends]]) -> None:
    """Fill the resistances of a stack from the top down.

    Parameters
    ----------
    stack : sequence
        Role, thickness [m] and resistance [m2 K/W] of each layer below the tile, as ranges. Of several
        membranes the heat may lie about any; without one it may lie anywhere.
    """
    places = [place for place, (role, _, _) in enumerate(stack) if role == "membrane"]
    first, last = (places[0], places[-1]) if places else (len(stack), -1)
    sums = {"above": np.zeros((2, 2)), "membrane": np.zeros((2, 2)), "below": np.zeros((2, 2))}
    for place, (_, thickness, resistance) in enumerate(stack):
        ends = np.array([thickness, resistance])
        parts = ("above", "below") if not places else ("membrane",)
        if places and place < first:
            parts = ("above",)
        elif places and place > last:
            parts = ("below",)
        for part in parts:
            # Where the heat may lie on either side, the least of a side is none of it.
            sums[part] = sums[part] + np.where([len(parts) > 1 or len(places) > 1, False], 0.0, ends)
    for name, part, row in (
        ("above_membrane_height", "above", 0),
        ("above_membrane_resistance", "above", 1),
        ("membrane_thermal_resistance", "membrane", 1),
        ("below_membrane_resistance", "below", 1),
    ):
        set_range(columns, name, sums[part][row, :1], sums[part][row, 1:])


def set_cable_output(
    columns: Columns, products: Sequence[Product], possible: Sequence[Bools], present: Truth
) -> None:
    """Fill the cable's power per length; unknown where no cable is picked or one states none."""
    domain = columns.domains["cable_output"]
    low, high = np.array([np.inf]), np.array([-np.inf])
    for product, may in zip(products, possible, strict=True):
        stated = product.number("cable_output")
        ends = (domain.low, domain.high) if stated is None else (stated, stated)
        low = np.where(may, np.minimum(low, ends[0]), low)
        high = np.where(may, np.maximum(high, ends[1]), high)
    sure = present.must & np.isfinite(low)
    set_range(columns, "cable_output", np.where(sure, low, domain.low), np.where(sure, high, domain.high))
