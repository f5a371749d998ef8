"""Joists under a tub or an island, and what they still do after the day of tiling.

A heavy thing stands in place of the area load under its footprint, never on top of it. It is taken on one
simple span, at mid-span unless its place is told: joists that run on over more supports bend less.
"""

from __future__ import annotations

import numpy as np

from undercourse.base.columns import ChoiceColumn, Floats, NumberColumn
from undercourse.base.domains import number_domain
from undercourse.base.frame import Frame
from undercourse.demands.columns import number
from undercourse.demands.framing_deflection import (
    ALL_BOARDS,
    ANY_NOTATION,
    ANY_READS,
    CAUTION,
    DEAD_READS,
    LENGTH_VALUE,
    RATIO_VALUE,
    any_framing,
    framed,
)
from undercourse.demands.framing_members import (
    NOTATION,
    SAWN,
    STATED,
    STEEL,
    STIFFNESS_THROUGH,
    G,
    base_bits,
    total_stiffness,
)
from undercourse.demands.framing_runs import deflection_coefficient
from undercourse.demands.loads import LAYERS_WEIGHT, TILE_WEIGHT, tile_weight
from undercourse.demands.record import (
    CHOICE,
    DERIVED,
    LOWERS,
    RAISES,
    RATIO,
    Demand,
    Notation,
    Step,
    Tables,
    Values,
)
from undercourse.physics.joist_floors import footprint_share
from undercourse.physics.spans import deflection_after_tiling, uniform_span_deflection

_SIMPLE = 5 / 384
# Creep factors of NDS 3.5.2: seasoned and dry; unseasoned or wet. Steel does not creep.
_CREEP_DRY, _CREEP_WET, _CREEP_STEEL = 1.5, 2.0, 1.0
_SEASONED = 0.19


def _share_per_m(frame: Frame) -> NumberColumn:
    """Share of the full-load deflection that the footprint makes, per length of it. [1/m]"""
    length, span = number(frame, "heavy_item_length"), number(frame, "joist_span")
    near = number(frame, "heavy_item_from_support")
    low, high = (_placed(length.low, end, span.low) / length.low for end in (near.low, near.high))
    known = (length.low == length.high) & (span.low == span.high)
    if known.all():
        return NumberColumn(low, high)
    # Centered, the shorter footprint on the shorter span makes most per length.
    most = _placed(length.low, span.high, span.low) / length.low
    return NumberColumn(np.where(known, low, 0.0), np.where(known, high, most))


def _placed(length: Floats, near: Floats, span: Floats) -> Floats:
    covered = np.minimum(length, span)
    start = np.minimum(near, (span - covered) / 2)
    return np.asarray(footprint_share(start, start + covered, span))


def _item_collapse(frame: Frame, tables: Tables) -> dict[str, NumberColumn]:
    return {
        **any_framing(frame, tables),
        "length_m": number(frame, "heavy_item_length"),
        "share_per_m": _share_per_m(frame),
    }


def _item(values: Values) -> tuple[Floats, Values]:
    spacing, width, live = values["spacing_m"], values["heavy_item_width"], values["area_load"]
    weight = values["heavy_item_weight"] * G * np.minimum(1.0, spacing / width)
    relieved = live * np.minimum(width, spacing) * values["length_m"]
    extra = np.maximum(weight - relieved, 0.0) * values["share_per_m"]
    load, ei = live * spacing, total_stiffness(values)
    deflection = uniform_span_deflection(load + extra, values["span_m"], ei, _SIMPLE)
    return deflection / values["span_m"], {
        "load_n_m": load,
        "weight_n": weight,
        "relieved_n": relieved,
        "extra_n_m": extra,
        "stiffness_nm2": ei,
        "deflection_m": deflection,
    }


def _creep(frame: Frame) -> NumberColumn:
    """Creep factor by kind and moisture of the framing."""
    base, wet = frame["base"], frame["joist_wet_service"]
    assert isinstance(base, ChoiceColumn)
    assert isinstance(wet, ChoiceColumn)
    moisture = number(frame, "framing_moisture")
    may_wet = ((wet.bits & np.uint64(2)) != 0) | (moisture.high > _SEASONED)
    must_wet = ((wet.bits & np.uint64(1)) == 0) | (moisture.low > _SEASONED)
    steel = base_bits(frame, (STEEL,))
    may_steel, only_steel = (base.bits & steel) != 0, (base.bits & ~steel) == 0
    low = np.where(must_wet, _CREEP_WET, _CREEP_DRY)
    high = np.where(may_wet, _CREEP_WET, _CREEP_DRY)
    return NumberColumn(np.where(may_steel, _CREEP_STEEL, low), np.where(only_steel, _CREEP_STEEL, high))


def _after_collapse(frame: Frame, tables: Tables) -> dict[str, NumberColumn]:
    return {
        **any_framing(frame, tables),
        "live_coefficient": deflection_coefficient(frame, "worst_loaded"),
        "dead_coefficient": deflection_coefficient(frame, "all_loaded"),
        "tile_weight": tile_weight(frame, tables),
        "creep": _creep(frame),
    }


def _after(values: Values) -> tuple[Floats, Values]:
    spacing, span, ei = values["spacing_m"], values["span_m"], total_stiffness(values)
    new = (values["layers_weight"] + values["tile_weight"]) * G * spacing
    live = uniform_span_deflection(values["area_load"] * spacing, span, ei, values["live_coefficient"])
    before = uniform_span_deflection(
        values["existing_dead_load"] * spacing, span, ei, values["dead_coefficient"]
    )
    added = uniform_span_deflection(new, span, ei, values["dead_coefficient"])
    return deflection_after_tiling(live, before, added, values["creep"]), {
        "stiffness_nm2": ei,
        "live_m": live,
        "before_m": before,
        "new_m": added,
    }


_STIFF = {name: NOTATION[name] for name in ("ei_nm2", "boards", "sister_nm2", "stiffness_nm2")}
_ITEM_NOTATION = {
    **_STIFF,
    **ANY_NOTATION,
    **{name: NOTATION[name] for name in ("load_n_m", "deflection_m")},
    "heavy_item_weight": Notation("m_W", "kg"),
    "heavy_item_width": Notation("b", "m"),
    "length_m": Notation("a", "m", "length along the joists"),
    "share_per_m": Notation(
        "ψ",
        "1/m",
        "share of the full-load deflection made by its stretch, per length of it",
        "beam formula tables, simple beam, partial load",
    ),
    "weight_n": Notation("W", "n", "weight of it that one joist carries"),
    "relieved_n": Notation("P_r", "n", "area load that it stands in place of"),
    "extra_n_m": Notation("w_e", "n_m", "what it adds, as of a whole span"),
    "value": RATIO_VALUE,
}
_AFTER_NOTATION = {
    **_STIFF,
    **ANY_NOTATION,
    **{name: NOTATION[name] for name in ("existing_dead_load", "live_coefficient", "dead_coefficient")},
    "tile_weight": TILE_WEIGHT,
    "layers_weight": LAYERS_WEIGHT,
    "creep": Notation("K", "1", "creep factor", "NDS 3.5.2: 1.5 dry, 2.0 wet or unseasoned; steel 1"),
    "live_m": Notation("Δ_p", "mm", "deflection under live load"),
    "before_m": Notation("Δ_g", "mm", "deflection under the dead load that is there"),
    "new_m": Notation("Δ_m", "mm", "deflection under the new work"),
    "value": LENGTH_VALUE,
}
_ITEM_READS = {name: way for name, way in ANY_READS.items() if name != "joist_spans"}

DEMANDS = (
    Demand(
        name="joist_point_deflection",
        title="Joist deflection under a tub, island or other heavy thing",
        subject="framing",
        domain=number_domain("joist_point_deflection", "ratio", 0, 1),
        scale=RATIO,
        source="beam theory, simple span, partial load; the thing stands in place of the area load under it",
        reads={
            **_ITEM_READS,
            "heavy_item_weight": RAISES,
            "heavy_item_length": CHOICE,
            "heavy_item_width": LOWERS,
            "heavy_item_from_support": CHOICE,
        },
        takes={},
        through={
            **STIFFNESS_THROUGH,
            "spacing_m": RAISES,
            "span_m": RAISES,
            "area_load": RAISES,
            "length_m": LOWERS,
            "share_per_m": RAISES,
        },
        kernel=_item,
        collapse=_item_collapse,
        branches=framed,
        only_base=(SAWN, *STATED),
        reason="Live load of {load_n_m} and {weight_n} of it bend a joist {deflection_m} over {span_m}.",
        notation=_ITEM_NOTATION,
        steps=(
            Step("load_n_m", "p*s"),
            Step("weight_n", "m_W*9.80665*min(1, s/b)", "the part above one joist's strip"),
            Step("relieved_n", "p*min(b, s)*a"),
            Step("extra_n_m", "max(W - P_r, 0)*ψ", "in place of the area load, where it is heavier"),
            ALL_BOARDS,
            Step("deflection_m", "5*(w + w_e)*L**4/(384*EI_n)", "beam theory, one span"),
            Step("value", "Δ/L"),
        ),
        cautions=(
            CAUTION,
            "At mid-span unless its place is told; on one simple span: joists over more supports bend less.",
        ),
        rests_on=DERIVED,
    ),
    Demand(
        name="deflection_after_tiling",
        title="What the joists may still sink after the day of tiling",
        subject="framing",
        domain=number_domain("deflection_after_tiling", "in", 0, 100),
        scale=RATIO,
        source="NDS 2018, 3.5.2, creep factor on the lasting load, parted at the day of tiling",
        reads={**ANY_READS, **DEAD_READS, "framing_moisture": CHOICE},
        takes={"layers_weight": RAISES},
        through={
            **STIFFNESS_THROUGH,
            "spacing_m": RAISES,
            "span_m": RAISES,
            "area_load": RAISES,
            "live_coefficient": RAISES,
            "dead_coefficient": RAISES,
            "tile_weight": RAISES,
            "creep": RAISES,
        },
        kernel=_after,
        collapse=_after_collapse,
        branches=framed,
        only_base=(SAWN, *STATED),
        reason="Live load {live_m}, creep of what is there on {before_m}, new work {new_m} and its creep.",
        notation=_AFTER_NOTATION,
        steps=(
            ALL_BOARDS,
            Step("live_m", "c_p*p*s*L**4/EI_n"),
            Step("before_m", "c_g*g*s*L**4/EI_n"),
            Step("new_m", "c_g*(m_t + m_l)*9.80665*s*L**4/EI_n"),
            Step("value", "Δ_p + (K - 1)*Δ_g + K*Δ_m", "what came before the tile does not bend the tile"),
        ),
        cautions=(
            "For information: limits of tile name immediate loads, and this is never held against them.",
            "All creep of the old dead load is taken as still to come: in an old house most of it is over.",
        ),
        rests_on=DERIVED,
        informs=True,
    ),
)
