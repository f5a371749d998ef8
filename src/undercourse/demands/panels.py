"""Panels between joists: under uniform live load, and under a 300 lb load as a bounded range.

The EI of a span rating is the least of plywood and OSB at the unfavorable end. A second layer of
unknown rating only helps: it counts at the favorable end alone. The width of panel that shares a
concentrated load is not published; two widths bound it and only a verdict on which both agree counts.
"""

from __future__ import annotations

import numpy as np

from undercourse.base.columns import ChoiceColumn, Floats, NumberColumn
from undercourse.base.domains import number_domain
from undercourse.base.frame import Frame
from undercourse.demands.loads import choice_range
from undercourse.demands.record import CHOICE, LOWERS, RAISES, RATIO, Demand, Notation, Step, Tables, Values
from undercourse.physics.panels import (
    concentrated_deflection,
    concentrated_divisor,
    uniform_deflection,
    uniform_divisor,
)

_INCH = 0.0254
# Clear span plus 1/4 in on 2 in nominal supports (panel design specification), 1-1/2 in actual.
_SPAN_LESS = 1.25 * _INCH
CONCENTRATED_N = 300 * 0.45359237 * 9.80665
# One foot of panel alone at the hard end; at the gentle end a width of two joist spacings.
NARROW_M = 12 * _INCH
_READS = {
    "base": CHOICE,
    "panel_rating": CHOICE,
    "panel_across_joists": CHOICE,
    "panel_layers": CHOICE,
    "joist_spacing": RAISES,
    "panel_spans": CHOICE,
}


def _collapse(frame: Frame, tables: Tables) -> dict[str, NumberColumn]:
    stiffness = choice_range(frame, "panel_rating", dict(tables.panel_stiffness))
    across = frame["panel_across_joists"]
    layers, spans = frame["panel_layers"], frame["panel_spans"]
    assert isinstance(across, ChoiceColumn)
    assert isinstance(layers, NumberColumn)
    assert isinstance(spans, NumberColumn)
    # Along the joists a panel keeps 0.06 (24/16, 3-ply) to 0.43 (48oc, taken as 0.45) of its EI.
    low = stiffness.low * np.where((across.bits & np.uint64(1)) != 0, 0.06, 1.0)
    high = stiffness.high * np.where((across.bits & np.uint64(2)) != 0, 1.0, 0.45)
    most = max(value[1] for value in tables.panel_stiffness.values())
    extra = np.maximum(layers.high - 1.0, 0.0) * most
    return {
        "ei_nm": NumberColumn(low, high + extra),
        "spans": NumberColumn(np.floor(spans.low), np.ceil(spans.high)),
    }


def _uniform_collapse(frame: Frame, tables: Tables) -> dict[str, NumberColumn]:
    """As ``_collapse``; under uniform load two spans are stiffer than three, three than one."""
    found = _collapse(frame, tables)
    least, most = found["spans"].low, found["spans"].high
    hard = np.where(least <= 1, 1.0, np.where(most >= 3, 3.0, 2.0))
    gentle = np.where((least <= 2) & (most >= 2), 2.0, np.where(least > 2, 3.0, 1.0))
    return {**found, "spans": NumberColumn(hard, gentle)}


def _framed(frame: Frame, computed: NumberColumn) -> NumberColumn:
    """Without joists there is no bay to bend."""
    column = frame["base"]
    assert isinstance(column, ChoiceColumn)
    choices = frame.domain("base").choices
    framed = sum(1 << place for place, name in enumerate(choices) if "joists" in name or "trusses" in name)
    bits = np.array([framed], dtype=np.uint64)
    may, only = (column.bits & bits) != 0, (column.bits & ~bits) == 0
    return NumberColumn(np.where(only, computed.low, 0.0), np.where(may, computed.high, 0.0))


def _bay(values: Values) -> Floats:
    bay: Floats = np.maximum(values["joist_spacing"] - _SPAN_LESS, 0.02)
    return bay


def _uniform(values: Values) -> tuple[Floats, Values]:
    bay = _bay(values)
    deflection = uniform_deflection(values["live_load"], bay, values["ei_nm"], values["spans"])
    return deflection / bay, {
        "bay_m": bay,
        "divisor": uniform_divisor(values["spans"]),
        "deflection_m": deflection,
    }


def _concentrated(values: Values) -> tuple[Floats, Values]:
    bay = _bay(values)
    end_bay = np.ones_like(bay, dtype=bool)
    divisor = concentrated_divisor(values["spans"], end_bay)
    width = values["sharing_width_m"]
    deflection = concentrated_deflection(
        np.full_like(bay, CONCENTRATED_N), bay, values["ei_nm"], width, divisor
    )
    return deflection / bay, {"bay_m": bay, "divisor": divisor, "deflection_m": deflection}


def _concentrated_collapse(frame: Frame, tables: Tables) -> dict[str, NumberColumn]:
    spacing = frame["joist_spacing"]
    assert isinstance(spacing, NumberColumn)
    wide = np.maximum(spacing.high * 2.0, NARROW_M)
    return {**_collapse(frame, tables), "sharing_width_m": NumberColumn(np.full_like(wide, NARROW_M), wide)}


_THROUGH = {"ei_nm": LOWERS, "spans": LOWERS}
_TABLE = "ASD/LRFD Manual, Table M9.2-1: EI by span rating, per width"
_NOTATION = {
    "joist_spacing": Notation("s", "m"),
    "live_load": Notation("p", "kpa"),
    "ei_nm": Notation("EI", "nm2_m", "stiffness of the panel per width", _TABLE),
    "spans": Notation("n", "count", "spans that the panel runs over"),
    "sharing_width_m": Notation("b", "m", "width of panel that shares the load", "not published; bounded"),
    "bay_m": Notation("l", "m", "deflection span: clear bay and 1/4 in"),
    "divisor": Notation("c", "1", "constant of the span case"),
    "deflection_m": Notation("Δ", "mm", "deflection"),
    "value": Notation("r", "1", "deflection over span"),
}
_BAY = Step(
    "bay_m", "max(s - 0.03175, 0.02)", "panel design specification: clear span and 1/4 in, 1-1/2 in joists"
)
_OVER_SPAN = Step("value", "Δ/l")
_SUPPORT = "The panel's rating, its dry condition and its fastening are taken as stated."
DEMANDS = (
    Demand(
        name="panel_uniform_deflection",
        title="Panel between joists under live load",
        subject="panels",
        domain=number_domain("panel_uniform_deflection", "ratio", 0, 1),
        scale=RATIO,
        source="panel design specification: EI by span rating (ASD/LRFD Manual Table M9.2-1)",
        reads={**_READS, "live_load": RAISES},
        takes={},
        through=_THROUGH,
        kernel=_uniform,
        collapse=_uniform_collapse,
        reason="Over the bay of {bay_m} the panel bends {deflection_m}.",
        branches=_framed,
        notation=_NOTATION,
        steps=(
            _BAY,
            Step(
                "divisor", "", "76.8 over one span, 185 over two, 145.25 over three (Peurifoy and Oberlender)"
            ),
            Step("deflection_m", "p*l**4/(c*EI)"),
            _OVER_SPAN,
        ),
        cautions=(_SUPPORT,),
    ),
    Demand(
        name="panel_concentrated_deflection",
        title="Panel between joists under a 300 lb load",
        subject="panels",
        domain=number_domain("panel_concentrated_deflection", "ratio", 0, 1),
        scale=RATIO,
        source="beam theory, EI by span rating; the sharing width is not published: two widths bound it",
        reads=_READS,
        takes={},
        through={**_THROUGH, "sharing_width_m": LOWERS},
        kernel=_concentrated,
        collapse=_concentrated_collapse,
        reason="300 lb in the middle of the bay of {bay_m} bends the panel {deflection_m}.",
        model_parameter="sharing_width_m",
        branches=_framed,
        notation=_NOTATION,
        steps=(
            _BAY,
            Step("divisor", "", "beam theory: 48 on one span, 66.78 on two, 68.57 in the end bay of three"),
            Step("deflection_m", "1334.466*l**3/(c*EI*b)", "300 lbf is 1,334 N"),
            _OVER_SPAN,
        ),
        cautions=(_SUPPORT, "Counted against a limit only where a narrow and a wide sharing width agree."),
    ),
)
