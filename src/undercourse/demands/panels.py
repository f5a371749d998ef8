"""Panels between joists: under uniform live load, under a 300 lb load, and their curvature over a joist.

The EI of a span rating is the least of plywood and OSB where the kind is not told. A second layer counts
by its own rating; of unknown rating it only helps, at the favorable end alone. Layers act as one only where
they are glued and that is said: then loose layers and one solid panel bound them. The width of panel that
shares a concentrated load is not published; two widths bound it. Between two such bounds nothing is said.
"""

from __future__ import annotations

import numpy as np

from undercourse.base.columns import Floats, NumberColumn
from undercourse.base.domains import number_domain
from undercourse.base.frame import Frame
from undercourse.demands.columns import bits, number
from undercourse.demands.framing_members import SAWN, STATED
from undercourse.demands.panel_layers import (
    LAYERS_NOTATION,
    LAYERS_READS,
    LAYERS_STEP,
    LAYERS_THROUGH,
    layers_stiffness,
    panel_layers,
)
from undercourse.demands.record import (
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
from undercourse.physics.panels import (
    concentrated_deflection,
    concentrated_divisor,
    uniform_deflection,
    uniform_divisor,
)
from undercourse.physics.supports import support_curvature

_INCH = 0.0254
# Clear span plus 1/4 in on 2 in nominal supports (panel design specification), 1-1/2 in actual.
_SPAN_LESS = 1.25 * _INCH
CONCENTRATED_N = 300 * 0.45359237 * 9.80665
# One foot of panel alone at the hard end; at the gentle end a width of two joist spacings.
NARROW_M = 12 * _INCH
_READS = {**LAYERS_READS, "joist_spacing": RAISES}


def _spans(frame: Frame) -> tuple[Floats, Floats]:
    spans = number(frame, "panel_spans")
    return np.floor(spans.low), np.ceil(spans.high)


def _sharing(layers: dict[str, NumberColumn], always: bool) -> NumberColumn:
    """From a narrow strip of loose layers to a wide one of a whole panel; 0 where both are the same."""
    high = layers["glued"].high
    return NumberColumn(np.zeros_like(high), np.ones_like(high) if always else high)


def _uniform_collapse(frame: Frame, tables: Tables) -> dict[str, NumberColumn]:
    """Under uniform load two spans are stiffer than three, three than one."""
    least, most = _spans(frame)
    hard = np.where(least <= 1, 1.0, np.where(most >= 3, 3.0, 2.0))
    gentle = np.where((least <= 2) & (most >= 2), 2.0, np.where(least > 2, 3.0, 1.0))
    layers = panel_layers(frame, tables)
    return {**layers, "spans": NumberColumn(hard, gentle), "sharing": _sharing(layers, False)}


def _curvature_collapse(frame: Frame, tables: Tables) -> dict[str, NumberColumn]:
    """Over the inner joist of two spans a panel bends more than of three; over one span not at all."""
    least, most = _spans(frame)
    hard = np.where((least <= 2) & (most >= 2), 2.0, np.where(most >= 3, 3.0, 1.0))
    gentle = np.where(least <= 1, 1.0, np.where(most >= 3, 3.0, 2.0))
    layers = panel_layers(frame, tables)
    return {**layers, "spans": NumberColumn(hard, gentle), "sharing": _sharing(layers, False)}


def _concentrated_collapse(frame: Frame, tables: Tables) -> dict[str, NumberColumn]:
    wide = np.maximum(number(frame, "joist_spacing").high * 2.0, NARROW_M)
    layers = panel_layers(frame, tables)
    return {
        **layers,
        "spans": NumberColumn(*_spans(frame)),
        "wide_m": NumberColumn(wide, wide),
        "sharing": _sharing(layers, True),
    }


def _framed(frame: Frame, computed: NumberColumn) -> NumberColumn:
    """Without joists there is no bay to bend."""
    choices = frame.domain("base").choices
    framed = sum(1 << place for place, name in enumerate(choices) if "joists" in name or "trusses" in name)
    joists, base = np.array([framed], dtype=np.uint64), bits(frame, "base")
    may, only = (base & joists) != 0, (base & ~joists) == 0
    return NumberColumn(np.where(only, computed.low, 0.0), np.where(may, computed.high, 0.0))


def _bay(values: Values) -> Floats:
    bay: Floats = np.maximum(values["joist_spacing"] - _SPAN_LESS, 0.02)
    return bay


def _uniform(values: Values) -> tuple[Floats, Values]:
    bay, ei = _bay(values), layers_stiffness(values)
    deflection = uniform_deflection(values["live_load"], bay, ei, values["spans"])
    return deflection / bay, {
        "bay_m": bay,
        "stiffness_nm": ei,
        "divisor": uniform_divisor(values["spans"]),
        "deflection_m": deflection,
    }


def _concentrated(values: Values) -> tuple[Floats, Values]:
    bay, ei = _bay(values), layers_stiffness(values)
    divisor = concentrated_divisor(values["spans"], True)
    width = NARROW_M + values["sharing"] * (values["wide_m"] - NARROW_M)
    deflection = concentrated_deflection(CONCENTRATED_N, bay, ei, width, divisor)
    return deflection / bay, {
        "bay_m": bay,
        "stiffness_nm": ei,
        "divisor": divisor,
        "width_m": width,
        "deflection_m": deflection,
    }


def _curvature(values: Values) -> tuple[Floats, Values]:
    ei, spans = layers_stiffness(values), values["spans"]
    moment = np.where(spans <= 1, 0.0, np.where(spans == 2, 1 / 8, 1 / 10))
    curvature = support_curvature(values["live_load"], values["joist_spacing"], ei, spans)
    return curvature, {"stiffness_nm": ei, "moment_coefficient": moment}


_THROUGH = {**LAYERS_THROUGH, "spans": LOWERS}
_NOTATION = {
    **LAYERS_NOTATION,
    "joist_spacing": Notation("s", "m"),
    "live_load": Notation("p", "kpa"),
    "spans": Notation("n", "count", "spans that the panel runs over"),
    "wide_m": Notation("b_w", "m", "wide strip: two joist spacings", "not published; a bound"),
    "width_m": Notation("b", "m", "width of panel that shares the load"),
    "bay_m": Notation("l", "m", "deflection span: clear bay and 1/4 in"),
    "divisor": Notation("c", "1", "constant of the span case"),
    "moment_coefficient": Notation(
        "c_M", "1", "moment over the joist, as a share of load times spacing squared"
    ),
    "deflection_m": Notation("Δ", "mm", "deflection"),
    "value": Notation("r", "1", "deflection over span"),
}
_BAY = Step(
    "bay_m", "max(s - 0.03175, 0.02)", "panel design specification: clear span and 1/4 in, 1-1/2 in joists"
)
_OVER_SPAN = Step("value", "Δ/l")
_SUPPORT = "The panel's rating, its dry condition and its fastening are taken as stated."
_GLUED = "Glued layers: counted only where loose layers and one solid panel give the same verdict."
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
        model_parameter="sharing",
        branches=_framed,
        only_base=(SAWN, *STATED),
        notation=_NOTATION,
        steps=(
            _BAY,
            LAYERS_STEP,
            Step(
                "divisor",
                "",
                "145.25 over three spans (Peurifoy and Oberlender); 76.8 over one and 185 over two, from"
                " memory (confidence 95) and by beam theory",
            ),
            Step("deflection_m", "p*l**4/(c*EI_n)"),
            _OVER_SPAN,
        ),
        cautions=(_SUPPORT, _GLUED),
    ),
    Demand(
        name="panel_concentrated_deflection",
        title="Panel between joists under a 300 lb load",
        subject="panels",
        domain=number_domain("panel_concentrated_deflection", "ratio", 0, 1),
        scale=RATIO,
        source="beam theory, EI by span rating; 300 lb by older handbook wording, from memory; the sharing"
        " width is not published: two widths bound it",
        reads=_READS,
        takes={},
        through={**_THROUGH, "wide_m": LOWERS},
        kernel=_concentrated,
        collapse=_concentrated_collapse,
        reason="300 lb in the middle of the bay of {bay_m} bends the panel {deflection_m}.",
        model_parameter="sharing",
        branches=_framed,
        only_base=(SAWN, *STATED),
        notation=_NOTATION,
        steps=(
            _BAY,
            LAYERS_STEP,
            Step("divisor", "", "beam theory: 48 on one span, 66.78 on two, 68.57 in the end bay of three"),
            Step("width_m", "0.3048 + θ*(b_w - 0.3048)", "from one foot of panel to two joist spacings"),
            Step("deflection_m", "1334.466*l**3/(c*EI_n*b)", "300 lbf is 1,334 N"),
            _OVER_SPAN,
        ),
        cautions=(_SUPPORT, "Counted against a limit only where a narrow and a wide sharing width agree."),
        rests_on=DERIVED,
    ),
    Demand(
        name="panel_support_curvature",
        title="Curvature of the panel over a joist under live load",
        subject="panels",
        domain=number_domain("panel_support_curvature", "1/in", 0, 1),
        scale=RATIO,
        source="beam formula tables, equal spans; EI by span rating (ASD/LRFD Manual Table M9.2-1)",
        reads={**_READS, "live_load": RAISES},
        takes={},
        through=_THROUGH,
        kernel=_curvature,
        collapse=_curvature_collapse,
        reason="Over the joist a panel of EI {stiffness_nm} is bent up: tile above it is stretched.",
        model_parameter="sharing",
        branches=_framed,
        only_base=(SAWN, *STATED),
        notation={**_NOTATION, "value": Notation("κ", "1/m", "curvature over the joist")},
        steps=(
            LAYERS_STEP,
            Step("moment_coefficient", "", "0 over one span, 1/8 over two, 1/10 over three and more"),
            Step("value", "c_M*p*s**2/EI_n", "moment over stiffness"),
        ),
        cautions=(_SUPPORT, "No limit of tile names it; a seam over the joist opens instead."),
        rests_on=DERIVED,
        informs=True,
    ),
)
