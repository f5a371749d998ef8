"""Joists: deflection under live and total load, bending and shear shares.

Sawn joists are computed from species, grade, size, plies, spacing and span. For other framing the
designer's stated L/n counts. Which of the two holds is decided by the fact ``base`` alone, so that
a stated L/n can never contradict a computed one.
"""

from __future__ import annotations

from functools import partial

import numpy as np

from undercourse.base.columns import Bits, ChoiceColumn, Floats, NumberColumn
from undercourse.base.domains import number_domain
from undercourse.base.frame import Frame
from undercourse.demands.loads import LAYERS_WEIGHT, TILE_WEIGHT, tile_weight
from undercourse.demands.record import (
    CHOICE,
    LOWERS,
    RAISES,
    RATIO,
    Demand,
    Notation,
    Step,
    Tables,
    Values,
)
from undercourse.physics.joists import simple_span_deflection

G = 9.80665
SAWN = "sawn joists"
STATED = ("joists with stated stiffness", "I-joists", "open-web trusses", "cold-formed steel joists")
_SOURCE = (
    "NDS 2018, 3.2 to 3.5, with NDS Supplement 2018 values; simple span, clear span as in IRC Table R502.3.1"
)
_READS = {
    "base": CHOICE,
    "joist_species": CHOICE,
    "joist_grade": CHOICE,
    "joist_size": CHOICE,
    "joist_wet_service": CHOICE,
    "joist_spacing": RAISES,
    "joist_span": RAISES,
    "joist_plies": LOWERS,
    "live_load": RAISES,
}
_DEAD = {"existing_dead_load": RAISES, "finish": CHOICE, "tile_thickness": CHOICE}


def joist_ranges(frame: Frame, tables: Tables, quantity: str) -> NumberColumn:
    """Least and greatest tabulated quantity over the species, grades and sizes still possible.

    ``tables.joist_stiffness[quantity]`` is [species, grade, size, 2] with the range of each
    cell; the choice ``other`` carries a wide range.
    """
    found: NumberColumn = frame.keep(
        "joist_size", f"joists {quantity}", lambda: _joist_ranges(frame, tables, quantity)
    )
    return found


def _joist_ranges(frame: Frame, tables: Tables, quantity: str) -> NumberColumn:
    masks = []
    for name in ("joist_species", "joist_grade", "joist_size"):
        column = frame[name]
        assert isinstance(column, ChoiceColumn)
        masks.append(column.bits)
    species, grade, size = np.broadcast_arrays(*masks)
    key = (species << np.uint64(40)) | (grade << np.uint64(20)) | size
    unique, back = np.unique(key, return_inverse=True)
    table = tables.joist_stiffness[quantity]
    low, high = np.empty(len(unique)), np.empty(len(unique))
    for place, packed in enumerate(unique):
        picked = [
            np.flatnonzero([int(packed) >> shift >> bit & 1 for bit in range(count)])
            for shift, count in zip((40, 20, 0), table.shape[:3], strict=True)
        ]
        cells = table[np.ix_(*picked)] if all(len(index) for index in picked) else table
        low[place], high[place] = cells[..., 0].min(), cells[..., 1].max()
    return NumberColumn(low[back].reshape(key.shape), high[back].reshape(key.shape))


def _base(frame: Frame) -> tuple[Bits, Bits, Bits]:
    """Bits of ``base`` and the bits that mean sawn and stated framing."""
    column = frame["base"]
    assert isinstance(column, ChoiceColumn)
    choices = frame.domain("base").choices
    stated = sum(1 << choices.index(name) for name in STATED)
    one = np.array([1 << choices.index(SAWN)], dtype=np.uint64)
    return column.bits, one, np.array([stated], dtype=np.uint64)


def _wet(frame: Frame, factor: float) -> NumberColumn:
    """Wet service factor: 1 dry, ``factor`` wet, the range where unknown (NDS Supplement Table 4A)."""
    column = frame["joist_wet_service"]
    assert isinstance(column, ChoiceColumn)
    low = np.where((column.bits & np.uint64(2)) != 0, factor, 1.0)
    high = np.where((column.bits & np.uint64(1)) != 0, 1.0, factor)
    return NumberColumn(low, high)


def _stated_ratio(frame: Frame, stated: str, computed: NumberColumn, scale: NumberColumn) -> NumberColumn:
    """Join the computed range of sawn joists with the designer's L/n of other framing."""
    bits, sawn, named = _base(frame)
    may_sawn, may_stated = (bits & sawn) != 0, (bits & named) != 0
    may_none = (bits & ~(sawn | named)) != 0
    ratio = frame[stated]
    assert isinstance(ratio, NumberColumn)
    low = np.where(may_sawn, computed.low, np.inf)
    low = np.minimum(low, np.where(may_stated, scale.low / ratio.high, np.inf))
    low = np.where(may_none, 0.0, low)
    high = np.maximum(
        np.where(may_sawn, computed.high, 0.0), np.where(may_stated, scale.high / ratio.low, 0.0)
    )
    return NumberColumn(np.where(np.isinf(low), 0.0, low), high)


_ONE = NumberColumn(np.array([1.0]), np.array([1.0]))


def _ratio_branches(stated: str, frame: Frame, computed: NumberColumn) -> NumberColumn:
    return _stated_ratio(frame, stated, computed, _ONE)


def _absolute_branches(stated: str, frame: Frame, computed: NumberColumn) -> NumberColumn:
    span = frame["joist_span"]
    assert isinstance(span, NumberColumn)
    return _stated_ratio(frame, stated, computed, span)


def _strength_branches(frame: Frame, computed: NumberColumn) -> NumberColumn:
    """Framing that a designer states carries its own strength: the share is his to give."""
    bits, sawn, _ = _base(frame)
    only, may = (bits & ~sawn) == 0, (bits & sawn) != 0
    return NumberColumn(np.where(only, computed.low, 0.0), np.where(may, computed.high, 0.0))


def _live_collapse(frame: Frame, tables: Tables) -> dict[str, NumberColumn]:
    ei, wet = joist_ranges(frame, tables, "ei_nm2"), _wet(frame, 0.9)
    return {"ei_nm2": NumberColumn(ei.low * wet.low, ei.high * wet.high)}


def _total_collapse(frame: Frame, tables: Tables) -> dict[str, NumberColumn]:
    return {**_live_collapse(frame, tables), "tile_weight": tile_weight(frame, tables)}


def _live(values: Values) -> tuple[Floats, Values]:
    load = values["live_load"] * values["joist_spacing"]
    stiffness = values["ei_nm2"] * values["joist_plies"]
    deflection = simple_span_deflection(load, values["joist_span"], stiffness)
    return deflection / values["joist_span"], {
        "load_n_m": load,
        "stiffness_nm2": stiffness,
        "deflection_m": deflection,
    }


def _total_load(values: Values) -> Floats:
    dead = values["existing_dead_load"] + (values["layers_weight"] + values["tile_weight"]) * G
    load: Floats = (values["live_load"] + dead) * values["joist_spacing"]
    return load


def _total(values: Values) -> tuple[Floats, Values]:
    load = _total_load(values)
    stiffness = values["ei_nm2"] * values["joist_plies"]
    deflection = simple_span_deflection(load, values["joist_span"], stiffness)
    return deflection / values["joist_span"], {
        "load_n_m": load,
        "stiffness_nm2": stiffness,
        "deflection_m": deflection,
    }


def _absolute(ratio_kernel: object, values: Values) -> tuple[Floats, Values]:
    assert callable(ratio_kernel)
    ratio, working = ratio_kernel(values)
    return ratio * values["joist_span"], working


def _strength_collapse(frame: Frame, tables: Tables) -> dict[str, NumberColumn]:
    moment, shear = joist_ranges(frame, tables, "moment_nm"), joist_ranges(frame, tables, "shear_n")
    wet_moment, wet_shear = _wet(frame, 0.85), _wet(frame, 0.97)
    return {
        "moment_nm": NumberColumn(moment.low * wet_moment.low, moment.high * wet_moment.high),
        "shear_n": NumberColumn(shear.low * wet_shear.low, shear.high * wet_shear.high),
        "depth_m": joist_ranges(frame, tables, "depth_m"),
        "tile_weight": tile_weight(frame, tables),
    }


def _bending(values: Values) -> tuple[Floats, Values]:
    load = _total_load(values)
    moment = load * values["joist_span"] ** 2 / 8.0
    capacity = values["moment_nm"] * values["joist_plies"]
    return moment / capacity, {"moment_here_nm": moment, "capacity_nm": capacity, "load_n_m": load}


def _shear(values: Values) -> tuple[Floats, Values]:
    load = _total_load(values)
    shear = np.maximum(load * (values["joist_span"] / 2.0 - values["depth_m"]), 0.0)
    capacity = values["shear_n"] * values["joist_plies"]
    return shear / capacity, {"shear_here_n": shear, "capacity_n": capacity, "load_n_m": load}


def _demand(name: str, unit: str, high: float, **parts: object) -> Demand:
    defaults: dict[str, object] = {
        "scale": RATIO,
        "source": _SOURCE,
        "takes": {},
        "subject": "framing",
        "notation": {**_NOTATION, "value": _RESULT[unit if "deflection" in name else "share"]},
        "cautions": (_CAUTION,),
    }
    return Demand(name=name, domain=number_domain(name, unit, 0, high), **{**defaults, **parts})  # type: ignore[arg-type]


_CAUTION = (
    "Strength and stiffness of a building's frame are a design professional's matter; these figures show when"
    " to call one."
)
_VALUES = "NDS Supplement 2018, by species, grade and size, per joist"
_NOTATION = {
    "live_load": Notation("p", "kpa"),
    "existing_dead_load": Notation("g", "kpa"),
    "tile_weight": TILE_WEIGHT,
    "layers_weight": LAYERS_WEIGHT,
    "joist_spacing": Notation("s", "m"),
    "joist_span": Notation("L", "m"),
    "joist_plies": Notation("n", "count"),
    "ei_nm2": Notation("EI", "nm2", "stiffness of one ply", _VALUES),
    "moment_nm": Notation("M_a", "nm", "allowable moment of one ply", _VALUES),
    "shear_n": Notation("V_a", "n", "allowable shear of one ply", _VALUES),
    "depth_m": Notation("d", "mm", "depth of the joist"),
    "load_n_m": Notation("w", "n_m", "load on one joist"),
    "stiffness_nm2": Notation("EI_n", "nm2", "stiffness of all plies"),
    "deflection_m": Notation("Δ", "mm", "deflection at midspan"),
    "moment_here_nm": Notation("M", "nm", "moment at midspan"),
    "capacity_nm": Notation("M_n", "nm", "allowable moment of all plies"),
    "capacity_n": Notation("V_n", "n", "allowable shear of all plies"),
    "shear_here_n": Notation("V", "n", "shear a depth from the bearing"),
}
_RESULT = {
    "ratio": Notation("r", "1", "deflection over span"),
    "in": Notation("D", "mm", "deflection at midspan"),
    "share": Notation("u", "1", "share of the capacity used"),
}
_LIVE_LOAD = Step("load_n_m", "p*s")
_ALL_LOAD = Step("load_n_m", "(p + g + (m_t + m_l)*9.80665)*s")
_BEND = (
    Step("stiffness_nm2", "n*EI"),
    Step("deflection_m", "5*w*L**4/(384*EI_n)", "beam theory, one span, uniform load"),
)
_PER_SPAN, _ALONE = Step("value", "Δ/L"), Step("value", "Δ")
_LIVE_READS = {**_READS, "framing_live_l_over": CHOICE}
_TOTAL_READS = {**_READS, **_DEAD, "framing_total_l_over": CHOICE}
_THROUGH = {"ei_nm2": LOWERS}
_LIVE_REASON = "Live load puts {load_n_m} on a joist of EI {stiffness_nm2} and bends it {deflection_m} over {joist_span}."
_STRENGTH_THROUGH = {"tile_weight": RAISES, "moment_nm": LOWERS, "shear_n": LOWERS, "depth_m": LOWERS}

DEMANDS = (
    _demand(
        "joist_live_deflection",
        "ratio",
        1,
        title="Joist deflection under live load",
        reads=_LIVE_READS,
        through=_THROUGH,
        kernel=_live,
        collapse=_live_collapse,
        branches=partial(_ratio_branches, "framing_live_l_over"),
        reason=_LIVE_REASON,
        steps=(_LIVE_LOAD, *_BEND, _PER_SPAN),
    ),
    _demand(
        "joist_live_deflection_m",
        "in",
        40,
        title="Joist deflection under live load, as a length",
        reads=_LIVE_READS,
        through=_THROUGH,
        kernel=partial(_absolute, _live),
        collapse=_live_collapse,
        branches=partial(_absolute_branches, "framing_live_l_over"),
        reason=_LIVE_REASON,
        steps=(_LIVE_LOAD, *_BEND, _ALONE),
    ),
    _demand(
        "joist_total_deflection",
        "ratio",
        1,
        title="Joist deflection under live and dead load",
        reads=_TOTAL_READS,
        takes={"layers_weight": RAISES},
        through={**_THROUGH, "tile_weight": RAISES},
        kernel=_total,
        collapse=_total_collapse,
        branches=partial(_ratio_branches, "framing_total_l_over"),
        reason=_LIVE_REASON.replace("Live load puts", "Live and dead load put"),
        steps=(_ALL_LOAD, *_BEND, _PER_SPAN),
    ),
    _demand(
        "joist_total_deflection_m",
        "in",
        40,
        title="Joist deflection under live and dead load, as a length",
        reads=_TOTAL_READS,
        takes={"layers_weight": RAISES},
        through={**_THROUGH, "tile_weight": RAISES},
        kernel=partial(_absolute, _total),
        collapse=_total_collapse,
        branches=partial(_absolute_branches, "framing_total_l_over"),
        reason=_LIVE_REASON.replace("Live load puts", "Live and dead load put"),
        steps=(_ALL_LOAD, *_BEND, _ALONE),
    ),
    _demand(
        "joist_bending",
        "ratio",
        50,
        title="Joist bending strength used",
        reads={**_READS, **_DEAD},
        takes={"layers_weight": RAISES},
        through={key: way for key, way in _STRENGTH_THROUGH.items() if key in ("tile_weight", "moment_nm")},
        kernel=_bending,
        collapse=_strength_collapse,
        branches=_strength_branches,
        reason="The moment {moment_here_nm} uses the joist's bending capacity {capacity_nm}.",
        steps=(
            _ALL_LOAD,
            Step("moment_here_nm", "w*L**2/8"),
            Step("capacity_nm", "n*M_a", "NDS allowable stress design"),
            Step("value", "M/M_n"),
        ),
    ),
    _demand(
        "joist_shear",
        "ratio",
        50,
        title="Joist shear strength used",
        reads={**_READS, **_DEAD},
        takes={"layers_weight": RAISES},
        through={key: way for key, way in _STRENGTH_THROUGH.items() if key != "moment_nm"},
        kernel=_shear,
        collapse=_strength_collapse,
        branches=_strength_branches,
        reason="The shear {shear_here_n} a depth away from the bearing uses the capacity {capacity_n}.",
        steps=(
            _ALL_LOAD,
            Step(
                "shear_here_n",
                "max(w*(L/2 - d), 0)",
                "NDS 3.4.3.1: load within a depth of the bearing is left out",
            ),
            Step("capacity_n", "n*V_a"),
            Step("value", "V/V_n"),
        ),
    ),
)
