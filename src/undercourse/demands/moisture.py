"""Moisture: a dish test, vapor pressure and flux through a floor, dew point, condensation.

Two readings of a slab never meet here. Relative humidity in a hole is a state deep down; the emission
of a dish is a rate at the surface. No demand reads both, none turns one into the other, and the flux
computed from a humidity has a unit of its own.
"""

from __future__ import annotations

import numpy as np

from undercourse.base.columns import Floats, NumberColumn
from undercourse.base.domains import number_domain
from undercourse.base.frame import Frame
from undercourse.demands.record import (
    DERIVED,
    LOWERS,
    MEMORY,
    OTHER,
    PUBLISHED,
    RAISES,
    RATIO,
    Demand,
    Notation,
    Step,
    Tables,
    Valid,
    Values,
)
from undercourse.physics.drying import dish_emission
from undercourse.physics.moisture import (
    AIR_PERMEABILITY_KG_M_S_PA,
    dew_point,
    saturation_pressure,
    vapor_flux,
)

ZERO_C = 273.15
# Air drier than this counts as this dry, so that a dew point exists; it only makes margins smaller.
DRIEST = 0.01
# Mortar above and below a sheet, 3 to 12 mm together, mu 6 (wet) to 10 (dry), as still air.
_BED_LOW_M, _BED_HIGH_M = 0.018, 0.12
_HOUR = 3600.0
_ISO = "ISO 13788:2012, annex E, saturation over water and ice"
_CHECKED = "the formula is checked against psychrometric tables from -20 to 50 °C"


def _dry(frame: Frame, tables: Tables) -> dict[str, NumberColumn]:
    return {}


def _bed(frame: Frame, tables: Tables) -> dict[str, NumberColumn]:
    return {"bed_air_m": NumberColumn(np.array([_BED_LOW_M]), np.array([_BED_HIGH_M]))}


def _dish(values: Values) -> tuple[Floats, Values]:
    rate = dish_emission(values["dish_mass_gain"], values["dish_area"], values["dish_hours"])
    return rate, {}


def _room(values: Values) -> Values:
    """Saturation and vapor pressure of the air. [Pa]"""
    saturation = saturation_pressure(values["air_temperature"] - ZERO_C)
    return {
        "air_saturation_pa": saturation,
        "air_vapor_pa": np.maximum(values["air_humidity"], DRIEST) * saturation,
    }


def _dew(values: Values) -> tuple[Floats, Values]:
    working = _room(values)
    working["log_ratio"] = np.log(working["air_vapor_pa"] / 610.5)
    return dew_point(working["air_vapor_pa"]) + ZERO_C, working


def _margin(values: Values) -> tuple[Floats, Values]:
    dew, working = _dew(values)
    margin: Floats = values["base_temperature"] - dew
    return margin, {**working, "dew_point_k": dew}


def _pressures(values: Values) -> tuple[Floats, Values]:
    working = _room(values)
    saturation = saturation_pressure(values["base_temperature"] - ZERO_C)
    slab = values["slab_rh"] * saturation
    drop: Floats = slab - working["air_vapor_pa"]
    return drop, {**working, "slab_saturation_pa": saturation, "slab_vapor_pa": slab}


def _flux(values: Values) -> tuple[Floats, Values]:
    drop, working = _pressures(values)
    upward = np.maximum(drop, 0.0)
    # Two layers in series, written so that a perfect barrier divides nothing by zero.
    membrane = values["membrane_permeance"]
    stack = membrane / (1.0 + membrane * values["bed_air_m"] / AIR_PERMEABILITY_KG_M_S_PA)
    return vapor_flux(upward, 0.0, stack), {**working, "drop_pa": upward, "stack_permeance": stack}


def _saturation(step: str, symbol: str) -> Step:
    """Saturation as one formula: the curve over water lies under that over ice above freezing only."""
    t = f"({symbol} - 273.15)"
    water, ice = f"17.269*{t}/(237.3 + {t})", f"21.875*{t}/(265.5 + {t})"
    return Step(step, f"610.5*exp(min({water}, {ice}))", f"{_ISO}; T - 273.15 is in °C")


_AIR = (
    _saturation("air_saturation_pa", "T_a"),
    Step("air_vapor_pa", "max(φ, 0.01)*p_s", "definition of relative humidity; under 1 % counts as 1 %"),
)
_SLAB = (
    _saturation("slab_saturation_pa", "T_b"),
    Step("slab_vapor_pa", "φ_b*p_b", "definition of relative humidity"),
)
_DEW_FORMULA = "273.15 + max(237.3*x/(17.269 - x), 265.5*x/(21.875 - x))"
_LOG = Step("log_ratio", "log(p_a/610.5)")
_NOTATION = {
    "dish_mass_gain": Notation("M", "g"),
    "dish_area": Notation("A", "m2"),
    "dish_hours": Notation("t", "h"),
    "air_temperature": Notation("T_a", "c"),
    "air_humidity": Notation("φ", "%"),
    "base_temperature": Notation("T_b", "c"),
    "slab_rh": Notation("φ_b", "%"),
    "membrane_permeance": Notation("W", "perm", "vapor permeance of the membrane"),
    "bed_air_m": Notation(
        "s_d", "mm", "still air that holds back as much as the mortar", "3 to 12 mm of mortar, mu 6 to 10"
    ),
    "air_saturation_pa": Notation("p_s", "vapor", "saturation pressure in the air"),
    "air_vapor_pa": Notation("p_a", "vapor", "vapor pressure of the air"),
    "slab_saturation_pa": Notation("p_b", "vapor", "saturation pressure in the slab"),
    "slab_vapor_pa": Notation("p_v", "vapor", "vapor pressure in the slab"),
    "log_ratio": Notation("x", "1", "logarithm of the pressure over 610.5 Pa"),
    "dew_point_k": Notation("T_d", "c", "dew point of the air"),
    "drop_pa": Notation("D", "vapor", "pressure that drives vapor up"),
    "stack_permeance": Notation("P", "perm", "permeance of membrane and mortar together"),
}
_AIR_READS = {"air_temperature": LOWERS, "air_humidity": LOWERS}
_SLAB_READS = {"slab_rh": RAISES, "base_temperature": RAISES, **_AIR_READS}
_AIR_VALID = Valid("air_temperature", ZERO_C - 20, ZERO_C + 50, _CHECKED)
_BASE_VALID = Valid("base_temperature", ZERO_C - 20, ZERO_C + 50, _CHECKED)
_APART = "Not the emission that a dish on this slab would gain: the two are never turned into each other."

DEMANDS = (
    Demand(
        name="dish_emission",
        title="Vapor emission from a calcium chloride dish",
        subject="moisture",
        domain=number_domain("dish_emission", "lb/1000ft2/24h", 0, 1000),
        scale=RATIO,
        source="ASTM F1869: gain over area and time; its 52.91 M/(A T) follows from the units",
        reads={"dish_mass_gain": RAISES, "dish_area": LOWERS, "dish_hours": LOWERS},
        takes={},
        through={},
        kernel=_dish,
        collapse=_dry,
        reason="The dish's gain over the floor under the dome and the time of exposure.",
        notation={**_NOTATION, "value": Notation("E", "g_m2_day", "vapor emission")},
        steps=(Step("value", "M/(A*t)", "ASTM F1869, calculation"),),
        valid=(Valid("dish_hours", 60 * _HOUR, 72 * _HOUR, "ASTM F1869: exposure of 60 to 72 h"),),
        cautions=(
            "Not for gypsum or lightweight concrete; the building at service climate for 48 h before and"
            " during the test.",
            "One dish is one place: take the greatest of all dishes as the slab's emission, with its date.",
        ),
        rests_on=DERIVED,
        informs=True,
    ),
    Demand(
        name="dew_point",
        title="Dew point of the air",
        subject="moisture",
        domain=number_domain("dew_point", "F", -250, 141),
        scale=OTHER,
        source=_ISO,
        reads={"air_temperature": RAISES, "air_humidity": RAISES},
        takes={},
        through={},
        kernel=_dew,
        collapse=_dry,
        reason="At {air_vapor_pa} of vapor the air is saturated when it has cooled so far.",
        notation={**_NOTATION, "value": Notation("T_d", "c", "dew point of the air")},
        steps=(*_AIR, _LOG, Step("value", _DEW_FORMULA, "inverse of the saturation formula")),
        valid=(_AIR_VALID,),
        informs=True,
    ),
    Demand(
        name="condensation_margin",
        title="Surface of the base over the dew point",
        subject="moisture",
        domain=number_domain("condensation_margin", "deltaF", -300, 500),
        scale=OTHER,
        source=_ISO,
        reads={"base_temperature": RAISES, **_AIR_READS},
        takes={},
        through={},
        kernel=_margin,
        collapse=_dry,
        reason="The air's dew point is {dew_point_k}; the rest is how much warmer the surface is.",
        notation={**_NOTATION, "value": Notation("m", "k", "surface over dew point")},
        steps=(
            *_AIR,
            _LOG,
            Step("dew_point_k", _DEW_FORMULA, "inverse of the saturation formula"),
            Step("value", "T_b - T_d"),
        ),
        valid=(_AIR_VALID,),
        cautions=("Measure surface and air at one time and place; a slab lags the weather by hours.",),
        rests_on=PUBLISHED,
        wanted="high",
    ),
    Demand(
        name="vapor_pressure_difference",
        title="Vapor pressure of the slab over that of the room",
        subject="moisture",
        domain=number_domain("vapor_pressure_difference", "Pa", -25_000, 100_000),
        scale=OTHER,
        source=_ISO,
        reads=_SLAB_READS,
        takes={},
        through={},
        kernel=_pressures,
        collapse=_dry,
        reason="The slab holds vapor at {slab_vapor_pa}, the room at {air_vapor_pa}.",
        notation={**_NOTATION, "value": Notation("D", "vapor", "slab over room")},
        steps=(*_AIR, *_SLAB, Step("value", "p_v - p_a")),
        valid=(_AIR_VALID, _BASE_VALID),
        cautions=(_APART, "The slab is taken as warm as its surface all the way down."),
        informs=True,
    ),
    Demand(
        name="vapor_flux",
        title="Vapor that diffuses up through membrane and mortar",
        subject="moisture",
        domain=number_domain("vapor_flux", "grain/ft2/h", 0, 100_000),
        scale=OTHER,
        source="steady diffusion, ISO 13788:2012; the mortar's resistance from memory (90 %)",
        reads=_SLAB_READS,
        takes={"membrane_permeance": RAISES},
        through={"bed_air_m": LOWERS},
        kernel=_flux,
        collapse=_bed,
        reason="{drop_pa} drives vapor through {stack_permeance}.",
        notation={**_NOTATION, "value": Notation("g", "vapor_flux", "vapor flux")},
        steps=(
            *_AIR,
            *_SLAB,
            Step("drop_pa", "max(p_v - p_a, 0)", "none where the room is the damper side"),
            Step(
                "stack_permeance",
                "W/(1 + W*s_d/2e-10)",
                "layers in series; air passes 2e-10 kg/(m s Pa)",
            ),
            Step("value", "P*D"),
        ),
        valid=(_AIR_VALID, _BASE_VALID),
        cautions=(
            _APART,
            "A ranking of sheets over one slab, not a forecast: tile and its joints are left out, and what a"
            " layer lets through changes with its own dampness.",
        ),
        rests_on=MEMORY,
        informs=True,
    ),
)
