"""Site climate: how fast a fresh bed dries out, open time as a ranking, a day's cure in the cold or heat.

Nothing here gives minutes of open time or an area that may be spread: the scatter of the method, the
suction of base and tile and the mortar itself are left out. Ridges are touched with a finger instead.
"""

from __future__ import annotations

import numpy as np

from undercourse.base.columns import Floats, NumberColumn
from undercourse.base.domains import number_domain
from undercourse.base.frame import Frame
from undercourse.demands.moisture import ZERO_C
from undercourse.demands.record import (
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
from undercourse.physics.climate import (
    CLASS_TEST_C,
    CLASS_TEST_HUMIDITY,
    CLASS_TEST_WIND_M_S,
    EVAPORATION_SCATTER,
    age_factor,
    evaporation,
    evaporation_by_pressure,
    evaporation_rounded,
)

_DAY = 86400.0
REFERENCE_C = 20.0
# Activation energy over the gas constant of cements, in kelvin; from memory.
LEAST_ACTIVATION_K, MOST_ACTIVATION_K = 4000.0, 5500.0
# Where next to nothing evaporates, open time counts as this many times that of the class test.
LONGEST_INDEX = 20.0
_F = 5.0 / 9.0
_LEAST_K, _MOST_K = 499.67 * _F, 559.67 * _F
_NOMOGRAPH = "40 to 100 °F and up to 25 mph, the printed nomograph (from memory)"
_TEST_EVAPORATION = evaporation(CLASS_TEST_C, CLASS_TEST_C, CLASS_TEST_HUMIDITY, CLASS_TEST_WIND_M_S)


def _scatter(frame: Frame, tables: Tables) -> dict[str, NumberColumn]:
    low, high = np.array([1.0 - EVAPORATION_SCATTER]), np.array([1.0 + EVAPORATION_SCATTER])
    return {"scatter": NumberColumn(low, high)}


def _activation(frame: Frame, tables: Tables) -> dict[str, NumberColumn]:
    """Colder than the reference a high energy waits longest, warmer a low one."""
    base = frame["base_temperature"]
    assert isinstance(base, NumberColumn)
    reference = REFERENCE_C + ZERO_C
    least = np.where(base.high > reference, MOST_ACTIVATION_K, LEAST_ACTIVATION_K)
    most = np.where(base.low < reference, MOST_ACTIVATION_K, LEAST_ACTIVATION_K)
    return {"activation_k": NumberColumn(least, most)}


def _rate(values: Values) -> Values:
    surface, air = values["base_temperature"] - ZERO_C, values["air_temperature"] - ZERO_C
    humidity, wind = values["air_humidity"], values["wind_speed"]
    return {
        "surface_f": np.maximum(surface * 1.8 + 32.0, 0.0),
        "air_f": np.maximum(air * 1.8 + 32.0, 0.0),
        "rate": np.maximum(evaporation(surface, air, humidity, wind), 0.0),
    }


def _evaporation(values: Values) -> tuple[Floats, Values]:
    working = _rate(values)
    surface, air = values["base_temperature"] - ZERO_C, values["air_temperature"] - ZERO_C
    humidity, wind = values["air_humidity"], values["wind_speed"]
    rounded = evaporation_rounded(surface, air, humidity, wind)
    pressures = evaporation_by_pressure(surface, air, humidity, wind)
    working["rounded"] = np.maximum(rounded, 0.0)
    working["by_pressure"] = np.maximum(pressures, 0.0)
    found: Floats = values["scatter"] * working["rate"]
    return found, working


def _index(values: Values) -> tuple[Floats, Values]:
    working = _rate(values)
    site = np.maximum(values["scatter"] * working["rate"], _TEST_EVAPORATION / LONGEST_INDEX)
    index: Floats = _TEST_EVAPORATION / site
    return index, {**working, "test_rate": _TEST_EVAPORATION, "site_rate": site}


def _day(values: Values) -> tuple[Floats, Values]:
    factor = age_factor(values["base_temperature"] - ZERO_C, values["activation_k"], REFERENCE_C)
    wait: Floats = _DAY / factor
    return wait, {"age_factor": factor}


def _over_water_or_ice(symbol: str) -> str:
    t = f"({symbol} - 273.15)"
    return f"exp(min(17.269*{t}/(237.3 + {t}), 21.875*{t}/(265.5 + {t})))"


_FORMULA = "max((F_b**2.5 - φ*F_a**2.5)*(1 + V/1.1176), 0)*1.35623e-9"
_TEST_FORMULA = "0.5*73.4**2.5*(1 + 0.2/1.1176)*1.35623e-9"
_ROUNDED = "max((max(T_b - 255.15, 0)**2.5 - φ*max(T_a - 255.15, 0)**2.5)*(3.6*V + 4), 0)*5e-6/3600"
_PRESSURE = (
    f"max({_over_water_or_ice('T_b')} - φ*{_over_water_or_ice('T_a')}, 0)*0.6105*0.315*(0.253 + 0.216*V)/3600"
)
_UNO = "Uno 1998 (ACI), American form: degrees F, miles an hour, lb/(sq ft h)"
_RATE = (
    Step("surface_f", "max(1.8*(T_b - 273.15) + 32, 0)", "degrees Fahrenheit; the bed as warm as the base"),
    Step("air_f", "max(1.8*(T_a - 273.15) + 32, 0)", "degrees Fahrenheit"),
    Step("rate", _FORMULA, _UNO),
)
_NOTATION = {
    "base_temperature": Notation("T_b", "c"),
    "air_temperature": Notation("T_a", "c"),
    "air_humidity": Notation("φ", "%"),
    "wind_speed": Notation("V", "m_s"),
    "scatter": Notation("s", "1", "scatter of the method", "0.6 to 1.4, Hover 2020 (abstract)"),
    "activation_k": Notation(
        "Q", "1", "activation energy over the gas constant, in kelvin", "4,000 to 5,500, from memory (90 %)"
    ),
    "surface_f": Notation("F_b", "1", "surface in °F"),
    "air_f": Notation("F_a", "1", "air in °F"),
    "rate": Notation("E_1", "kg_m2_h", "evaporation, American form"),
    "rounded": Notation("E_2", "kg_m2_h", "evaporation, rounded metric form"),
    "by_pressure": Notation("E_3", "kg_m2_h", "evaporation, by vapor pressures"),
    "test_rate": Notation("E_t", "kg_m2_h", "evaporation in the class test"),
    "site_rate": Notation("E", "kg_m2_h", "evaporation on site"),
    "age_factor": Notation("f", "1", "speed of hardening against 68 °F"),
}
_NO_AREA = (
    "No area to spread and no minutes follow from it. Spread little, touch the ridges with a finger every few"
    " minutes: if no mortar comes off, scrape it up."
)
_VALID = (
    Valid("base_temperature", _LEAST_K, _MOST_K, _NOMOGRAPH),
    Valid("air_temperature", _LEAST_K, _MOST_K, _NOMOGRAPH),
    Valid("wind_speed", 0.0, 25 * 0.44704, _NOMOGRAPH),
)

DEMANDS = (
    Demand(
        name="bed_evaporation",
        title="Evaporation from a fresh cement surface",
        subject="site climate and mortar",
        domain=number_domain("bed_evaporation", "lb/ft2/h", 0, 100),
        scale=RATIO,
        source="Uno 1998 (ACI); scatter of 40 % either way, Hover 2020 (abstract)",
        reads={
            "base_temperature": RAISES,
            "air_temperature": LOWERS,
            "air_humidity": LOWERS,
            "wind_speed": RAISES,
        },
        takes={},
        through={"scatter": RAISES},
        kernel=_evaporation,
        collapse=_scatter,
        reason="The formula gives {rate}, its rounded metric form {rounded}, vapor pressures {by_pressure}.",
        notation={**_NOTATION, "value": Notation("E", "kg_m2_h", "evaporation with its scatter")},
        steps=(
            *_RATE,
            Step("rounded", _ROUNDED, "for comparison: constants rounded, about 4 % under the American form"),
            Step("by_pressure", _PRESSURE, "for comparison: Menzel 1954 (constants from memory, 88 %)"),
            Step("value", "s*E_1"),
        ),
        valid=_VALID,
        cautions=(
            "For a surface wet with its own water; a thin bed stops giving water far sooner.",
            "Wind half a meter above the surface, not at a weather station; sun on the bed warms it over the"
            " air.",
        ),
        rests_on=PUBLISHED,
        informs=True,
    ),
    Demand(
        name="open_time_index",
        title="Open time as a share of that in the class test",
        subject="site climate and mortar",
        domain=number_domain("open_time_index", "ratio", 0, LONGEST_INDEX),
        scale=OTHER,
        source="evaporation by Uno 1998 over that at 73 °F, 50 %, 0.2 m/s (EN 12004-2, from memory, 88 %)",
        reads={
            "base_temperature": LOWERS,
            "air_temperature": RAISES,
            "air_humidity": RAISES,
            "wind_speed": LOWERS,
        },
        takes={},
        through={"scatter": LOWERS},
        kernel=_index,
        collapse=_scatter,
        reason="The class test loses {test_rate}, the site {site_rate}: a ranking of days and places.",
        notation={**_NOTATION, "value": Notation("i", "1", "open time here over that of the class test")},
        steps=(
            *_RATE,
            Step("test_rate", _TEST_FORMULA, "the same at 73.4 °F, 50 % and 0.2 m/s, as in the class test"),
            Step("site_rate", "max(s*E_1, E_t/20)", "so that the share ends at 20"),
            Step("value", "E_t/E"),
        ),
        valid=_VALID,
        cautions=(
            _NO_AREA,
            "A ranking only: suction of base and tile, the mortar and its cold are left out, and two days"
            " whose ranges overlap cannot be told apart.",
        ),
        rests_on=MEMORY,
        informs=True,
        wanted="high",
    ),
    Demand(
        name="mortar_day",
        title="Hours at the base's temperature that count as a day at 68 °F",
        subject="site climate and mortar",
        domain=number_domain("mortar_day", "h", 0, 20_000),
        scale=RATIO,
        source="equivalent age, ASTM C1074 (activation energy from memory, 90 %)",
        reads={"base_temperature": LOWERS},
        takes={},
        through={"activation_k": RAISES},
        kernel=_day,
        collapse=_activation,
        reason="At this temperature cement hardens {age_factor} times as fast as at 68 °F.",
        notation={**_NOTATION, "value": Notation("t", "h", "hours that count as a day")},
        steps=(
            Step("age_factor", "exp(-Q*(1/T_b - 1/293.15))", "ASTM C1074, equivalent age"),
            Step("value", "86400/f"),
        ),
        valid=(
            Valid("base_temperature", _LEAST_K, 313.15, "40 °F, where hydration all but stops, to 40 °C"),
        ),
        cautions=(
            "For the cement alone. A polymer mortar also needs its water to leave and its film to close;"
            " cold, dense tile and a sheet hold that up far more. The maker's own times count.",
        ),
        rests_on=MEMORY,
        informs=True,
    ),
)
