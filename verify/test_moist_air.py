"""Water vapor in air against psychrolib (equations of the ASHRAE handbook) and CoolProp (IAPWS).

The project uses the short formula of ISO 13788. The two outside tools are long equations fitted to
measurements and agree with each other to 0.02 % over water and 0.03 % over ice; what is left is the
short formula's own error, and the tolerances below are that error. Real-gas enhancement (0.5 % at one
atmosphere) is left out by the standard and so is asked of neither tool.
"""

from __future__ import annotations

import numpy as np
import psychrolib
import pytest
from CoolProp.CoolProp import PropsSI
from CoolProp.HumidAirProp import HAProps_Aux
from scipy.optimize import brentq

from undercourse.physics import moisture

from .agreement import agree

KELVIN, PRESSURE_PA = 273.15, 101325.0
ROOMS = [(t, rh) for t in (8.0, 15.0, 20.0, 23.0, 30.0, 40.0) for rh in (0.3, 0.5, 0.65, 0.8, 0.95)]
# A share of a pressure becomes a step of the dew point through dT = dp/p T^2 R / L, 16 K per 100 % at 20 C.
DEW_WITHIN_K = 0.05


@pytest.fixture(autouse=True, scope="module")
def _metric() -> None:
    psychrolib.SetUnitSystem(psychrolib.SI)


def over_water(temperature_c: float) -> float:
    """Saturation pressure by IAPWS."""
    return float(PropsSI("P", "T", temperature_c + KELVIN, "Q", 0, "Water"))


def over_ice(temperature_c: float) -> float:
    """Sublimation pressure by IAPWS."""
    return float(HAProps_Aux("p_ws", temperature_c + KELVIN, PRESSURE_PA, 0.0)[0])


def test_saturation_over_water() -> None:
    """From 1 to 60 C in steps of one.

    Routes: ISO 13788 formula; psychrolib and CoolProp. Tolerance: 0.2 %, the formula's own error (greatest
    at 45 C).
    """
    temperatures = np.arange(1.0, 61.0)
    ours = moisture.saturation_pressure(temperatures)
    agree(ours, [psychrolib.GetSatVapPres(t) for t in temperatures], 0.002)
    agree(ours, [over_water(t) for t in temperatures], 0.002)


@pytest.mark.parametrize(("low", "high", "within", "sees"), [(-20, 0, 0.0055, 0.01), (-40, -20, 0.02, 0.04)])
def test_saturation_over_ice(low: int, high: int, within: float, sees: float) -> None:
    """Frozen ground and cold rooms.

    Routes: ISO 13788 formula; psychrolib and CoolProp. Tolerance: 0.55 % to -20 C and 2 % to -40 C, the
    formula's own error, which grows with the cold and errs to the low side.
    """
    temperatures = np.arange(float(low), float(high))
    ours = moisture.saturation_pressure(temperatures)
    agree(ours, [psychrolib.GetSatVapPres(t) for t in temperatures], within, sees=sees)
    agree(ours, [over_ice(t) for t in temperatures], within, sees=sees)


def test_vapor_pressure_of_rooms() -> None:
    """Partial pressure from temperature and relative humidity.

    Routes: humidity times the ISO 13788 formula; psychrolib, and humidity times CoolProp's saturation.
    Tolerance: 0.2 %, as saturation.
    """
    air, humidity = np.transpose(ROOMS)
    ours = moisture.vapor_pressure(air, humidity)
    agree(ours, [psychrolib.GetVapPresFromRelHum(t, rh) for t, rh in ROOMS], 0.002)
    agree(ours, [rh * over_water(t) for t, rh in ROOMS], 0.002)


def test_dew_point_of_rooms() -> None:
    """Dew points above freezing, from the vapor pressure of the other tool.

    Routes: ISO 13788 inverse; psychrolib's own search and a root of CoolProp's saturation pressure.
    Tolerance: 0.05 K: 0.2 % of pressure is 0.03 K, and psychrolib stops its search at 0.01 K.
    """
    checked = 0
    for air, humidity in ROOMS:
        pressure = psychrolib.GetVapPresFromRelHum(air, humidity)
        if pressure < 700.0:
            continue
        ours = moisture.dew_point(pressure)
        agree(ours, psychrolib.GetTDewPointFromVapPres(air, pressure), DEW_WITHIN_K, scale=1.0, sees=0.05)
        root = brentq(lambda t, p=pressure: over_water(t) - p, 0.5, 60.0)
        agree(ours, root, DEW_WITHIN_K, scale=1.0, sees=0.05)
        checked += 1
    assert checked > 20


def test_frost_point() -> None:
    """Frost points down to -20 C.

    Routes: ISO 13788 inverse over ice; root of CoolProp's sublimation pressure. Tolerance: 0.06 K, which
    0.5 % of pressure makes at -20 C.
    """
    for pressure in (110.0, 200.0, 350.0, 500.0):
        root = brentq(lambda t, p=pressure: over_ice(t) - p, -40.0, -0.01)
        agree(moisture.dew_point(pressure), root, 0.06, scale=1.0, sees=0.05)


def test_lowest_dry_surface_and_margin() -> None:
    """Surface at which the air beside it reaches 80 %, and how far a surface is above its dew point.

    Routes: ISO 13788 formulas; roots of the saturation pressure that psychrolib gives at a surface.
    Tolerance: 0.05 K, as the dew point.
    """
    for air, humidity in ((20.0, 0.5), (23.0, 0.5), (24.0, 0.65), (18.0, 0.6)):
        pressure = psychrolib.GetVapPresFromRelHum(air, humidity)
        mold, dew = (
            brentq(lambda t, p=pressure, share=share: share * psychrolib.GetSatVapPres(t) - p, 0.0, air)
            for share in (0.8, 1.0)
        )
        agree(moisture.lowest_dry_surface(air, humidity, 0.8), mold, DEW_WITHIN_K, scale=1.0)
        agree(moisture.condensation_margin(26.0, air, humidity), 26.0 - dew, DEW_WITHIN_K, scale=1.0)
