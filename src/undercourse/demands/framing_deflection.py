"""Deflection of joists: under live load, under all load, and under a concentrated load, each by itself.

Continuous joists deflect most with every second span loaded; dead load lies on all spans. An L/n that a
designer states for this floor counts as it stands; one stated for another load goes with the load.
"""

from __future__ import annotations

from functools import partial

import numpy as np

from undercourse.base.columns import Floats, NumberColumn
from undercourse.base.domains import number_domain
from undercourse.base.frame import Frame
from undercourse.demands.columns import number, union
from undercourse.demands.framing_members import (
    MEMBER_READS,
    NOTATION,
    SAWN,
    SOURCE,
    STATED,
    STIFFNESS_THROUGH,
    G,
    kinds,
    stiffness,
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
from undercourse.physics.panels import concentrated_deflection
from undercourse.physics.spans import uniform_span_deflection

CAUTION = (
    "Strength and stiffness of a building's frame are a design professional's matter; these figures show when"
    " to call one."
)
DEAD_READS = {"existing_dead_load": RAISES, "finish": CHOICE, "tile_thickness": CHOICE}
# The least that is stood on one joist: 300 lb, as older handbook wording names it.
FOOT_KG = 300 * 0.45359237
_WHOLE = np.array([1.0])
_NONE = np.array([0.0])


def total_load(frame: Frame, tables: Tables) -> NumberColumn:
    """Live and dead load per area, the new work included. [Pa]"""
    found: NumberColumn = frame.keep("layers_weight", "joist total load", lambda: _total_load(frame, tables))
    return found


def _total_load(frame: Frame, tables: Tables) -> NumberColumn:
    live, dead = number(frame, "live_load"), number(frame, "existing_dead_load")
    tile, layers = tile_weight(frame, tables), number(frame, "layers_weight")
    return NumberColumn(
        live.low + dead.low + (tile.low + layers.low) * G,
        live.high + dead.high + (tile.high + layers.high) * G,
    )


def _live_collapse(frame: Frame, tables: Tables) -> dict[str, NumberColumn]:
    return {**stiffness(frame, tables), "live_coefficient": deflection_coefficient(frame, "worst_loaded")}


def _total_collapse(frame: Frame, tables: Tables) -> dict[str, NumberColumn]:
    # The branches below find the load where it was kept.
    total_load(frame, tables)
    return {
        **_live_collapse(frame, tables),
        "dead_coefficient": deflection_coefficient(frame, "all_loaded"),
        "tile_weight": tile_weight(frame, tables),
    }


def _foot_collapse(frame: Frame, tables: Tables) -> dict[str, NumberColumn]:
    return {**any_framing(frame, tables), "divisor": deflection_coefficient(frame, "concentrated")}


def any_framing(frame: Frame, tables: Tables) -> dict[str, NumberColumn]:
    """Stiffness with an L/n for this floor taken as an EI, and what that EI was reckoned with.

    Spacing, span and load go into such an EI the other way, so they enter by names of their own.
    """
    return {
        **stiffness(frame, tables, with_ratio=True),
        "spacing_m": number(frame, "joist_spacing"),
        "span_m": number(frame, "joist_span"),
        "area_load": number(frame, "live_load"),
    }


def _live(values: Values) -> tuple[Floats, Values]:
    load, ei = values["live_load"] * values["joist_spacing"], total_stiffness(values)
    span = values["joist_span"]
    deflection = uniform_span_deflection(load, span, ei, values["live_coefficient"])
    return deflection / span, {"load_n_m": load, "stiffness_nm2": ei, "deflection_m": deflection}


def dead_line(values: Values) -> Floats:
    """Dead load on one joist, the new work included. [N/m]"""
    dead = values["existing_dead_load"] + (values["layers_weight"] + values["tile_weight"]) * G
    load: Floats = dead * values["joist_spacing"]
    return load


def _total(values: Values) -> tuple[Floats, Values]:
    load, dead = values["live_load"] * values["joist_spacing"], dead_line(values)
    span, ei = values["joist_span"], total_stiffness(values)
    weighed = values["live_coefficient"] * load + values["dead_coefficient"] * dead
    deflection = uniform_span_deflection(1.0, span, ei, weighed)
    return deflection / span, {
        "load_n_m": load,
        "dead_n_m": dead,
        "stiffness_nm2": ei,
        "deflection_m": deflection,
    }


def _foot(values: Values) -> tuple[Floats, Values]:
    force = np.maximum(values["point_load"], FOOT_KG) * G
    span, ei = values["span_m"], total_stiffness(values)
    deflection = concentrated_deflection(force, span, ei, 1.0, values["divisor"])
    return deflection / span, {"force_n": force, "stiffness_nm2": ei, "deflection_m": deflection}


def _absolute(ratio_kernel: object, values: Values) -> tuple[Floats, Values]:
    assert callable(ratio_kernel)
    ratio, working = ratio_kernel(values)
    return ratio * values["joist_span"], working


def _kept_load(frame: Frame) -> NumberColumn:
    def missing() -> NumberColumn:
        raise AssertionError("the load is kept when the demand's inputs are collected")

    found: NumberColumn = frame.keep("layers_weight", "joist total load", missing)
    return found


def _branches(total: bool, as_length: bool, frame: Frame, computed: NumberColumn) -> NumberColumn:
    """Join what is computed with what is stated, each where the framing may be of its kind."""
    kind = kinds(frame)
    n = number(frame, "framing_total_l_over" if total else "framing_live_l_over")
    load = _kept_load(frame) if total else number(frame, "live_load")
    rated, under = number(frame, "framing_rated_l_over"), number(frame, "framing_rated_load")
    if as_length:
        span = number(frame, "joist_span")
        short, long, top = span.low, span.high, 1.0
    else:
        short = long = _WHOLE
        top = 1.0
    parts = [
        (kind.sawn | kind.by_ei, computed.low, computed.high),
        (kind.by_ratio, short / n.high, long / n.low),
        (
            kind.by_rated,
            short * load.low / (rated.high * under.high),
            long * load.high / (rated.low * under.low),
        ),
        (kind.other, _NONE, np.array([top])),
        (kind.none, _NONE, _NONE),
    ]
    return union(parts, 0.0)


def framed(frame: Frame, computed: NumberColumn) -> NumberColumn:
    """Without joists there is nothing to bend; how stiff is stated in another way is not known."""
    kind = kinds(frame)
    known = kind.sawn | kind.by_ei | kind.by_rated | kind.by_ratio
    return union(
        [(known, computed.low, computed.high), (kind.other, _NONE, _WHOLE), (kind.none, _NONE, _NONE)], 0.0
    )


ANY_READS = {
    **MEMBER_READS,
    **dict.fromkeys(("joist_spacing", "joist_span", "live_load", "framing_live_l_over"), CHOICE),
}
ANY_NOTATION = {
    "spacing_m": Notation("s", "m", "joist spacing"),
    "span_m": Notation("L", "m", "joist span"),
    "area_load": Notation("p", "kpa", "live load"),
}
_NOTATION = {
    **NOTATION,
    "tile_weight": TILE_WEIGHT,
    "layers_weight": LAYERS_WEIGHT,
    **ANY_NOTATION,
    "point_load": Notation("m_P", "kg"),
    "force_n": Notation("P", "n", "force on one joist"),
    "divisor": Notation("c", "1", "constant of the span case"),
}
RATIO_VALUE = Notation("r", "1", "deflection over span")
LENGTH_VALUE = Notation("D", "mm", "largest deflection")
LIVE_LINE = Step("load_n_m", "p*s")
DEAD_LINE = Step("dead_n_m", "(g + (m_t + m_l)*9.80665)*s")
ALL_BOARDS = Step("stiffness_nm2", "n*EI + EI_s", "boards that bend alike: their stiffness adds")
_BEAM = "beam theory, equal spans; the load that bends most"
_PER_SPAN, _ALONE = Step("value", "Δ/L"), Step("value", "Δ")
_LIVE_STEPS = (LIVE_LINE, ALL_BOARDS, Step("deflection_m", "c_p*w*L**4/EI_n", _BEAM))
_TOTAL_STEPS = (
    LIVE_LINE,
    DEAD_LINE,
    ALL_BOARDS,
    Step("deflection_m", "(c_p*w + c_g*w_g)*L**4/EI_n", _BEAM + "; both parts' largest values added"),
)
_FOOT_STEPS = (
    Step("force_n", "max(m_P, 136.07771)*9.80665", "at least 300 lb, on one joist alone"),
    ALL_BOARDS,
    Step(
        "deflection_m",
        "P*L**3/(c*EI_n)",
        "beam theory: 48 on one span, 66.78 on two, 68.57 on three and more",
    ),
)
_LIVE_READS = {**MEMBER_READS, "live_load": RAISES, "framing_live_l_over": CHOICE}
_TOTAL_READS = {**MEMBER_READS, "live_load": RAISES, **DEAD_READS, "framing_total_l_over": CHOICE}
_LIVE_THROUGH = {**STIFFNESS_THROUGH, "live_coefficient": RAISES}
_TOTAL_THROUGH = {**_LIVE_THROUGH, "dead_coefficient": RAISES, "tile_weight": RAISES}
_LIVE_REASON = (
    "Live load puts {load_n_m} on a joist of EI {stiffness_nm2} and bends it {deflection_m} over"
    " {joist_span}."
)
_TOTAL_REASON = (
    "Live load of {load_n_m} and dead load of {dead_n_m} on a joist of EI {stiffness_nm2} bend it"
    " {deflection_m} over {joist_span}."
)


def _demand(name: str, title: str, total: bool, as_length: bool) -> Demand:
    kernel = _total if total else _live
    return Demand(
        name=name,
        title=title + (", as a length" if as_length else ""),
        subject="framing",
        domain=number_domain(name, "in" if as_length else "ratio", 0, 40 if as_length else 1),
        scale=RATIO,
        source=SOURCE,
        reads=_TOTAL_READS if total else _LIVE_READS,
        takes={"layers_weight": RAISES} if total else {},
        through=_TOTAL_THROUGH if total else _LIVE_THROUGH,
        kernel=partial(_absolute, kernel) if as_length else kernel,
        collapse=_total_collapse if total else _live_collapse,
        branches=partial(_branches, total, as_length),
        only_base=(SAWN, *STATED),
        reason=_TOTAL_REASON if total else _LIVE_REASON,
        notation={**_NOTATION, "value": LENGTH_VALUE if as_length else RATIO_VALUE},
        steps=(*(_TOTAL_STEPS if total else _LIVE_STEPS), _ALONE if as_length else _PER_SPAN),
        cautions=(CAUTION,),
    )


DEMANDS = (
    _demand("joist_live_deflection", "Joist deflection under live load", False, False),
    _demand("joist_live_deflection_m", "Joist deflection under live load", False, True),
    _demand("joist_total_deflection", "Joist deflection under live and dead load", True, False),
    _demand("joist_total_deflection_m", "Joist deflection under live and dead load", True, True),
    Demand(
        name="joist_concentrated_deflection",
        title="Joist deflection under a concentrated load",
        subject="framing",
        domain=number_domain("joist_concentrated_deflection", "ratio", 0, 1),
        scale=RATIO,
        source="beam theory; 300 lb by older handbook wording, from memory; no panel shares it",
        reads={**ANY_READS, "point_load": RAISES},
        takes={},
        through={**STIFFNESS_THROUGH, "span_m": RAISES, "divisor": LOWERS},
        kernel=_foot,
        collapse=_foot_collapse,
        branches=framed,
        only_base=(SAWN, *STATED),
        reason="{force_n} amid a joist of EI {stiffness_nm2} bends it {deflection_m} over {span_m}.",
        notation={**_NOTATION, "value": RATIO_VALUE},
        steps=(*_FOOT_STEPS, _PER_SPAN),
        cautions=(
            CAUTION,
            "The load stands alone on one joist: panels and bridging share some of it with the next ones.",
        ),
        rests_on=DERIVED,
    ),
)
