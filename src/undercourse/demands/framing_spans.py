"""Allowable span and allowable spacing of sawn joists, by the method of the code's span tables.

Least of live-load deflection (L/360), bending and shear; the span to the nearest inch, as the tables print.
They inform: a floor is judged by its own deflection and strength.
"""

from __future__ import annotations

from functools import partial

import numpy as np

from undercourse.base.columns import Floats, NumberColumn
from undercourse.base.domains import Domain, number_domain
from undercourse.base.frame import Frame
from undercourse.demands.framing_deflection import CAUTION, DEAD_LINE, LIVE_LINE, dead_line
from undercourse.demands.framing_members import NOTATION, REPETITIVE, WIDEST_REPETITIVE_M, G, sawn
from undercourse.demands.framing_runs import coefficient
from undercourse.demands.framing_strength import (
    MOMENT_CAPACITY,
    READS,
    SHEAR_CAPACITY,
    STRENGTH_NOTATION,
    bending_inputs,
    boards,
    may_be_sawn,
    moment_capacity,
    repetitive,
    shear_capacity,
    shear_inputs,
)
from undercourse.demands.loads import tile_weight
from undercourse.demands.record import CHOICE, LOWERS, RAISES, RATIO, Demand, Notation, Step, Tables, Values
from undercourse.physics.joist_floors import (
    moment_spacing,
    moment_span,
    shear_limited_spacing,
    shear_limited_span,
)
from undercourse.physics.joists import allowable_span, round_span
from undercourse.physics.spans import deflection_spacing, uniform_deflection_span

_RATIO = 360.0


def _spacing_collapse(frame: Frame, tables: Tables) -> dict[str, NumberColumn]:
    return {
        **bending_inputs(frame, tables),
        **shear_inputs(frame, tables),
        **boards(frame, tables),
        "ei_nm2": sawn(frame, tables).board["ei_nm2"],
        "live_coefficient": coefficient(frame, "worst_loaded"),
        "tile_weight": tile_weight(frame, tables),
    }


def _span_collapse(frame: Frame, tables: Tables) -> dict[str, NumberColumn]:
    return {**_spacing_collapse(frame, tables), "repetitive": repetitive(frame)}


def _stiffness(values: Values) -> Floats:
    ei: Floats = (values["boards"] + values["sister_share"]) * values["ei_nm2"]
    return ei


def _span(values: Values) -> tuple[Floats, Values]:
    live, dead = values["live_load"] * values["joist_spacing"], dead_line(values)
    moment, shear = values["repetitive"] * moment_capacity(values), shear_capacity(values)
    ei = _stiffness(values)
    by_deflection = uniform_deflection_span(ei, live, _RATIO, values["live_coefficient"])
    by_moment = moment_span(moment, live + dead, values["moment_coefficient"])
    by_shear = shear_limited_span(shear, values["depth_m"], live + dead, values["shear_coefficient"])
    least = allowable_span(by_moment, by_deflection, by_shear)
    return round_span(least), {
        "load_n_m": live,
        "dead_n_m": dead,
        "stiffness_nm2": ei,
        "capacity_nm": moment,
        "capacity_n": shear,
        "by_deflection_m": by_deflection,
        "by_moment_m": by_moment,
        "by_shear_m": by_shear,
        "least_m": least,
    }


def _spacing(values: Values) -> tuple[Floats, Values]:
    span, live = values["joist_span"], values["live_load"]
    total = live + values["existing_dead_load"] + (values["layers_weight"] + values["tile_weight"]) * G
    moment, shear, ei = moment_capacity(values), shear_capacity(values), _stiffness(values)
    by_deflection = deflection_spacing(ei, live, span, _RATIO, values["live_coefficient"])
    alone = moment_spacing(moment, total, span, values["moment_coefficient"])
    # The repetitive member factor holds up to 24 in: past that only what the joists carry without it.
    by_moment = np.minimum(REPETITIVE * alone, np.maximum(alone, WIDEST_REPETITIVE_M))
    by_shear = shear_limited_spacing(shear, values["depth_m"], total, span, values["shear_coefficient"])
    return np.minimum(np.minimum(by_deflection, by_moment), by_shear), {
        "total_pa": total,
        "stiffness_nm2": ei,
        "capacity_nm": moment,
        "capacity_n": shear,
        "by_deflection_m": by_deflection,
        "alone_m": alone,
        "by_moment_m": by_moment,
        "by_shear_m": by_shear,
    }


def _sawn_or_open(domain: Domain, frame: Frame, computed: NumberColumn) -> NumberColumn:
    """Framing that is not of sawn lumber has no span table here."""
    may, only = may_be_sawn(frame)
    high = np.where(only, computed.high, np.maximum(domain.high, np.where(may, computed.high, 0.0)))
    return NumberColumn(np.where(only, computed.low, 0.0), high)


_NOTATION = {
    **STRENGTH_NOTATION,
    **{name: NOTATION[name] for name in ("ei_nm2", "live_coefficient", "stiffness_nm2")},
    "total_pa": Notation("q", "kpa", "live and dead load"),
    "by_deflection_m": Notation("L_d", "m", "span by deflection"),
    "by_moment_m": Notation("L_M", "m", "span by bending"),
    "by_shear_m": Notation("L_V", "m", "span by shear"),
    "least_m": Notation("L_0", "m", "least of the three"),
    "value": Notation("L_a", "m", "allowable clear span"),
}
_SPACING_NOTATION = {
    **_NOTATION,
    "by_deflection_m": Notation("s_d", "m", "spacing by deflection"),
    "alone_m": Notation("s_1", "m", "spacing by bending without the repetitive member factor"),
    "by_moment_m": Notation("s_M", "m", "spacing by bending"),
    "by_shear_m": Notation("s_V", "m", "spacing by shear"),
    "value": Notation("s_a", "m", "widest spacing"),
}
_THROUGH = {
    "ei_nm2": RAISES,
    "boards": RAISES,
    "sister_share": RAISES,
    "moment_nm": RAISES,
    "shear_n": RAISES,
    "depth_m": RAISES,
    "live_coefficient": LOWERS,
    "moment_coefficient": LOWERS,
    "shear_coefficient": LOWERS,
    "tile_weight": LOWERS,
}
_TURNED = {RAISES: LOWERS, LOWERS: RAISES, CHOICE: CHOICE}
_SPAN_READS = {name: _TURNED[way] for name, way in READS.items() if name != "joist_span"}
_SPACING_READS = {name: _TURNED[way] for name, way in READS.items() if name != "joist_spacing"}
_BOARDS = Step("stiffness_nm2", "(n + ρ)*EI", "boards that bend alike: their stiffness adds")
_METHOD = "American Wood Council, span table method (2012 NDS): L/360 live, NDS bending and shear"
_REASON = "Deflection gives {by_deflection_m}, bending {by_moment_m}, shear {by_shear_m}: the least counts."
_SPAN_DOMAIN = number_domain("joist_allowable_span", "in", 0, 2400)
_SPACING_DOMAIN = number_domain("joist_allowable_spacing", "in", 0, 240)

DEMANDS = (
    Demand(
        name="joist_allowable_span",
        title="Allowable span of sawn joists",
        subject="framing",
        domain=_SPAN_DOMAIN,
        scale=RATIO,
        source=_METHOD,
        reads=_SPAN_READS,
        takes={"layers_weight": LOWERS},
        through={**_THROUGH, "repetitive": RAISES},
        kernel=_span,
        collapse=_span_collapse,
        branches=partial(_sawn_or_open, _SPAN_DOMAIN),
        reason=_REASON,
        notation=_NOTATION,
        steps=(
            LIVE_LINE,
            DEAD_LINE,
            _BOARDS,
            MOMENT_CAPACITY,
            SHEAR_CAPACITY,
            Step("by_deflection_m", "(EI_n/(c_p*360*w))**(1/3)", "L/360 under live load"),
            Step("by_moment_m", "sqrt(M_n/(c_M*(w + w_g)))"),
            Step("by_shear_m", "(V_n/(w + w_g) + d)/c_V", "NDS 3.4.3.1"),
            Step("least_m", "min(min(L_d, L_M), L_V)"),
            Step(
                "value",
                "",
                "the least to the nearest inch, a half going up, as the code's span tables print it",
            ),
        ),
        cautions=(CAUTION, "The code's tables end at 26 ft; longer spans are not in them."),
        informs=True,
        wanted="high",
    ),
    Demand(
        name="joist_allowable_spacing",
        title="Allowable spacing of sawn joists",
        subject="framing",
        domain=_SPACING_DOMAIN,
        scale=RATIO,
        source=_METHOD + ", turned round",
        reads=_SPACING_READS,
        takes={"layers_weight": LOWERS},
        through=_THROUGH,
        kernel=_spacing,
        collapse=_spacing_collapse,
        branches=partial(_sawn_or_open, _SPACING_DOMAIN),
        reason=_REASON,
        notation=_SPACING_NOTATION,
        steps=(
            Step("total_pa", "p + g + (m_t + m_l)*9.80665"),
            _BOARDS,
            Step("capacity_nm", "(n + ρ)*M_a", "without the repetitive member factor"),
            SHEAR_CAPACITY,
            Step("by_deflection_m", "EI_n/(c_p*360*p*L**3)", "L/360 under live load"),
            Step("alone_m", "M_n/(c_M*q*L**2)"),
            Step("by_moment_m", "min(1.15*s_1, max(s_1, 0.6096))", "NDS 4.3.9: 1.15 up to 24 in apart"),
            Step("by_shear_m", "V_n/(q*max(c_V*L - d, 0.001))", "NDS 3.4.3.1"),
            Step("value", "min(min(s_d, s_M), s_V)"),
        ),
        cautions=(CAUTION, "Take the next usual spacing below: 12, 16, 19.2 or 24 in."),
        informs=True,
        wanted="high",
    ),
)
