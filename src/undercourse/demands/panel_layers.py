"""Panel layers: stiffness by span rating and kind, a second layer by its own rating, glue between them."""

from __future__ import annotations

import numpy as np

from undercourse.base.columns import Floats, NumberColumn, some
from undercourse.base.frame import Frame
from undercourse.demands.columns import bits, number
from undercourse.demands.loads import choice_range
from undercourse.demands.record import CHOICE, LOWERS, Notation, Step, Tables, Values

# Two layers glued into one solid panel are at most four times as stiff as loose, whatever their thicknesses:
# 3 (t1 + t2)^2 e1 e2 / (e1 + e2) with e = EI / t^2 is largest, 3 (EI1 + EI2), where t1 / t2 = EI1 / EI2.
TWO_GLUED = 4.0
# Of three and more no such bound is known.
_MORE_GLUED = 1000.0
# Along the joists a panel keeps 0.06 (24/16, 3-ply) to 0.43 (48oc, taken as 0.45) of its EI.
_ALONG = (0.06, 0.45)
LAYERS_READS = dict.fromkeys(
    (
        *("base", "panel_rating", "panel_kind", "second_panel_rating", "panel_layers", "panel_across_joists"),
        *("panels_glued_together", "panel_spans"),
    ),
    CHOICE,
)


def _by_kind(frame: Frame, tables: Tables, fact: str, quantity: str) -> NumberColumn:
    """EI of a rating of plywood or OSB, or of either where the kind is not told."""
    kind = bits(frame, "panel_kind")
    either = choice_range(frame, fact, tables.ranges[f"{quantity}_other"])
    for bit, name in ((1, "plywood"), (2, "OSB")):
        only = kind == np.uint64(bit)
        if some(only):
            own = choice_range(frame, fact, tables.ranges[f"{quantity}_{name}"])
            either = NumberColumn(np.where(only, own.low, either.low), np.where(only, own.high, either.high))
    return either


def panel_layers(frame: Frame, tables: Tables) -> dict[str, NumberColumn]:
    """EI of the first layer and of the others, and how far glue may make one panel of them."""
    found: dict[str, NumberColumn] = frame.keep("panel_rating", "panel layers", lambda: _stack(frame, tables))
    return found


def _stack(frame: Frame, tables: Tables) -> dict[str, NumberColumn]:
    first = _by_kind(frame, tables, "panel_rating", "panel_ei")
    across, glue = bits(frame, "panel_across_joists"), bits(frame, "panels_glued_together")
    layers = number(frame, "panel_layers")
    weak = np.where((across & np.uint64(1)) != 0, _ALONG[0], 1.0)
    strong = np.where((across & np.uint64(2)) != 0, 1.0, _ALONG[1])
    second = NumberColumn(_ZERO, _ZERO)
    if some(layers.high > 1.0):
        own = _by_kind(frame, tables, "second_panel_rating", "second_panel_ei")
        most = tables.ranges["panel_ei_other"]["other"][1]
        # The second layer may lie the other way; what lies below it has no rating of its own here.
        second = NumberColumn(
            np.where(layers.low >= 2.0, own.low * weak, 0.0),
            np.where(layers.high > 1.0, own.high, 0.0) + np.maximum(layers.high - 2.0, 0.0) * most,
        )
    may = ((glue & np.uint64(2)) != 0) & (layers.high > 1.0)
    must = ((glue & np.uint64(1)) == 0) & (layers.low >= 2.0)
    top = np.where(layers.high > 2.0, _MORE_GLUED, TWO_GLUED)
    return {
        "ei_nm": NumberColumn(first.low * weak, first.high * strong),
        "second_nm": second,
        "glued": NumberColumn(must.astype(np.float64), may.astype(np.float64)),
        "glued_most": NumberColumn(top, top),
    }


_ZERO = np.array([0.0])


def layers_stiffness(values: Values) -> Floats:
    """EI of all layers at a place between loose and glued into one. [N m]"""
    whole = 1.0 + values["sharing"] * values["glued"] * (values["glued_most"] - 1.0)
    ei: Floats = (values["ei_nm"] + values["second_nm"]) * whole
    return ei


LAYERS_THROUGH = {
    "ei_nm": LOWERS,
    "second_nm": LOWERS,
    "glued": LOWERS,
    "glued_most": LOWERS,
    "sharing": LOWERS,
}
_TABLE = "ASD/LRFD Manual, Table M9.2-1: EI by span rating, per width"
LAYERS_NOTATION = {
    "ei_nm": Notation("EI", "nm2_m", "stiffness of the panel per width", _TABLE),
    "second_nm": Notation("EI_2", "nm2_m", "stiffness of the layers on it", _TABLE + "; 0 without a rating"),
    "glued": Notation("k", "1", "1 for layers glued over their whole face"),
    "glued_most": Notation(
        "m", "1", "solid panel over loose layers, at most", "two layers: 4, own derivation"
    ),
    "sharing": Notation("θ", "1", "place between the two bounds", "not published; bounded by 0 and 1"),
    "stiffness_nm": Notation("EI_n", "nm2_m", "stiffness of all layers"),
}
LAYERS_STEP = Step(
    "stiffness_nm", "(EI + EI_2)*(1 + θ*k*(m - 1))", "loose layers add; glued ones at most m times"
)
