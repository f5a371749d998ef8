"""Water vapor in air and layers: saturation, dew point, surface condensation, flux.

Clause numbers are from memory; the formulas are the ones named there.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

FloatArray = NDArray[np.float64]

AIR_PERMEABILITY_KG_M_S_PA = 2.0e-10
"""Vapor permeability of still air; ISO 13788:2012, 6.2 (delta zero)."""

_PRESSURE_AT_ZERO_PA = 610.5
_WATER = (17.269, 237.3)
_ICE = (21.875, 265.5)  # 267.5, seen in several printed copies, reads 1.5 % more at -20 C


def _array(value: ArrayLike) -> FloatArray:
    return np.asarray(value, dtype=np.float64)


def saturation_pressure(temperature_c: ArrayLike) -> FloatArray:
    r"""Saturation pressure of water vapor over water, and over ice below 0 C.

    Parameters
    ----------
    temperature_c : array_like
        Air or surface temperature, -40 to 60. [C]

    Returns
    -------
    ndarray
        Saturation pressure, same shape. [Pa]

    Notes
    -----
    610.5 exp(17.269 t / (237.3 + t)), and 610.5 exp(21.875 t / (265.5 + t)) below 0 C. Within
    0.2 % of the tabulated values from 0 to 60 C; low by 0.5 % at -20 C and 1.9 % at -40 C.
    Published check: tests/published/moisture.toml, "saturation, against the psychrometric tables".

    References
    ----------
    ISO 13788:2012, annex E, equations E.7 and E.8.
    """
    temperature = _array(temperature_c)
    water = np.exp(_WATER[0] * temperature / (_WATER[1] + temperature))
    ice = np.exp(_ICE[0] * temperature / (_ICE[1] + temperature))
    return np.asarray(_PRESSURE_AT_ZERO_PA * np.where(temperature >= 0.0, water, ice))


def vapor_pressure(temperature_c: ArrayLike, relative_humidity: ArrayLike) -> FloatArray:
    """Partial pressure of water vapor in air.

    Parameters
    ----------
    temperature_c : array_like
        Air temperature, -40 to 60. [C]
    relative_humidity : array_like
        Fraction, 0 to 1. [1]

    Returns
    -------
    ndarray
        Vapor pressure; the inputs broadcast. [Pa]

    Notes
    -----
    Published check: tests/published/moisture.toml, "vapor pressure of the damp slab".

    References
    ----------
    ISO 13788:2012, 3.1 (definition of relative humidity).
    """
    return _array(relative_humidity) * saturation_pressure(temperature_c)


def dew_point(vapor_pressure_pa: ArrayLike) -> FloatArray:
    r"""Temperature at which air of this vapor pressure is saturated.

    Parameters
    ----------
    vapor_pressure_pa : array_like
        Vapor pressure, above 0. [Pa]

    Returns
    -------
    ndarray
        Dew point, frost point where below 0 C; same shape. [C]

    Notes
    -----
    Exact inverse of `saturation_pressure`: with x = ln(p / 610.5), 237.3 x / (17.269 - x), or
    265.5 x / (21.875 - x) below 610.5 Pa.
    Published check: tests/published/moisture.toml, "dew point".

    References
    ----------
    ISO 13788:2012, annex E, equations E.9 and E.10.
    """
    exponent = np.log(_array(vapor_pressure_pa) / _PRESSURE_AT_ZERO_PA)
    water = _WATER[1] * exponent / (_WATER[0] - exponent)
    ice = _ICE[1] * exponent / (_ICE[0] - exponent)
    return np.asarray(np.where(exponent >= 0.0, water, ice))


def lowest_dry_surface(
    air_c: ArrayLike, relative_humidity: ArrayLike, surface_humidity: ArrayLike
) -> FloatArray:
    """Surface temperature at which the air next to it reaches a given relative humidity.

    Parameters
    ----------
    air_c : array_like
        Room air temperature. [C]
    relative_humidity : array_like
        Of the room air, above 0, to 1. [1]
    surface_humidity : array_like
        Humidity tolerated at the surface: 1 for condensation, 0.8 for mold. [1]

    Returns
    -------
    ndarray
        Lowest surface temperature that stays at or under it; the inputs broadcast. [C]

    Notes
    -----
    Published check: tests/published/moisture.toml, "mold limit on a surface".

    References
    ----------
    ISO 13788:2012, 5.3 (saturation at the surface at least p_i / 0.8).
    """
    pressure = vapor_pressure(air_c, relative_humidity) / _array(surface_humidity)
    return dew_point(pressure)


def condensation_margin(surface_c: ArrayLike, air_c: ArrayLike, relative_humidity: ArrayLike) -> FloatArray:
    """How far a surface is above the dew point of the air over it.

    Parameters
    ----------
    surface_c : array_like
        Surface temperature. [C]
    air_c : array_like
        Air temperature. [C]
    relative_humidity : array_like
        Of that air, above 0, to 1. [1]

    Returns
    -------
    ndarray
        Margin, negative where water condenses; the inputs broadcast. [K]

    Notes
    -----
    Published check: tests/published/moisture.toml, "margin over the dew point".

    References
    ----------
    ISO 13788:2012, clause 5.
    """
    return _array(surface_c) - dew_point(vapor_pressure(air_c, relative_humidity))


def temperature_factor(surface_c: ArrayLike, indoor_c: ArrayLike, outdoor_c: ArrayLike) -> FloatArray:
    """Share of the indoor to outdoor temperature step that lies outward of the surface.

    Parameters
    ----------
    surface_c, indoor_c, outdoor_c : array_like
        Inner surface, room and outdoor temperature; indoor and outdoor differ. [C]

    Returns
    -------
    ndarray
        f_Rsi; 1 for a surface at room temperature; the inputs broadcast. [1]

    Notes
    -----
    Published check: tests/published/moisture.toml, "mold limit as temperature factor".

    References
    ----------
    ISO 13788:2012, 3.1.
    """
    outdoor = _array(outdoor_c)
    return np.asarray((_array(surface_c) - outdoor) / (_array(indoor_c) - outdoor))


def equivalent_air_thickness(permeance_kg_m2_s_pa: ArrayLike) -> FloatArray:
    """Thickness of still air that lets through as much vapor (s_d).

    Parameters
    ----------
    permeance_kg_m2_s_pa : array_like
        Vapor permeance of a layer, above 0. [kg/(m2 s Pa)]

    Returns
    -------
    ndarray
        s_d, same shape. The same expression turns s_d back into permeance. [m]

    Notes
    -----
    s_d = delta zero / W with delta zero = 2e-10 kg/(m s Pa); mu d gives the same s_d.
    Published check: tests/published/moisture.toml, "perm to air thickness".

    References
    ----------
    ISO 13788:2012, 3.1 and 6.2.
    """
    return np.asarray(AIR_PERMEABILITY_KG_M_S_PA / _array(permeance_kg_m2_s_pa))


def series_permeance(permeances_kg_m2_s_pa: ArrayLike) -> FloatArray:
    """Vapor permeance of layers lying on each other.

    Parameters
    ----------
    permeances_kg_m2_s_pa : array_like, shape (..., layers)
        Permeance of each layer, 0 for a perfect barrier. [kg/(m2 s Pa)]

    Returns
    -------
    ndarray, shape (...)
        Permeance of the stack; never above that of its tightest layer. [kg/(m2 s Pa)]

    Notes
    -----
    Published check: tests/published/moisture.toml, "layers in series".

    References
    ----------
    ISO 13788:2012, 6.2 (s_d values add); ASTM E96, appendix, sum of resistances.
    """
    with np.errstate(divide="ignore"):
        resistance = np.sum(1.0 / _array(permeances_kg_m2_s_pa), axis=-1)
    return np.asarray(1.0 / resistance)


def vapor_flux(from_pa: ArrayLike, to_pa: ArrayLike, permeance_kg_m2_s_pa: ArrayLike) -> FloatArray:
    """Steady vapor flux through a layer or stack between two vapor pressures.

    Parameters
    ----------
    from_pa, to_pa : array_like
        Vapor pressure on either side. [Pa]
    permeance_kg_m2_s_pa : array_like
        Permeance between them, at or above 0. [kg/(m2 s Pa)]

    Returns
    -------
    ndarray
        Flux, positive from the first side to the second; the inputs broadcast. [kg/(m2 s)]

    Notes
    -----
    Diffusion only, steady, no liquid water. Tile fields leak through their joints and permeance
    varies tenfold with humidity, so use it to rank membranes over the same floor, not to predict
    what a dish on that floor would gain.
    Published check: tests/published/moisture.toml, "membrane on a damp slab".

    References
    ----------
    ISO 13788:2012, 6.2; ASTM E96.
    """
    drop = _array(from_pa) - _array(to_pa)
    return np.asarray(_array(permeance_kg_m2_s_pa) * drop)


def interface_values(inner: ArrayLike, outer: ArrayLike, resistances: ArrayLike) -> FloatArray:
    """Temperature or vapor pressure at each interface of a stack in steady state.

    Parameters
    ----------
    inner, outer : array_like, shape (...)
        Value on the inner and on the outer side. [C or Pa]
    resistances : array_like, shape (..., layers)
        From inside out, films included where wanted; sum above 0. [m2 K/W, or s_d in m]

    Returns
    -------
    ndarray, shape (..., layers + 1)
        Values from the inner side to the outer side, both included. [as given]

    Notes
    -----
    The potential falls in proportion to the resistance passed. Where the vapor pressure found this
    way stays at or under saturation at every interface, no water collects inside.
    Published check: tests/published/moisture.toml, "interfaces of a stack".

    References
    ----------
    ISO 13788:2012, 6.4.
    """
    passed = np.cumsum(_array(resistances), axis=-1)
    passed = np.concatenate([np.zeros_like(passed[..., :1]), passed], axis=-1)
    start = _array(inner)[..., np.newaxis]
    end = _array(outer)[..., np.newaxis]
    return np.asarray(start + (end - start) * passed / passed[..., -1:])


def cup_permeance(
    mass_change_kg: ArrayLike, area_m2: ArrayLike, time_s: ArrayLike, pressure_difference_pa: ArrayLike
) -> FloatArray:
    """Vapor permeance from a cup test.

    Parameters
    ----------
    mass_change_kg : array_like
        Steady gain or loss of the cup. [kg]
    area_m2, time_s : array_like
        Open area and time, above 0. [m2], [s]
    pressure_difference_pa : array_like
        Vapor pressure across the specimen, above 0. [Pa]

    Returns
    -------
    ndarray
        Permeance; the inputs broadcast. [kg/(m2 s Pa)]

    Notes
    -----
    Published check: tests/published/moisture.toml, "cup test".

    References
    ----------
    ASTM E96, calculation: transmission G / (t A), permeance that over the pressure difference.
    """
    exposure = _array(area_m2) * _array(time_s)
    drop = _array(pressure_difference_pa)
    return np.asarray(_array(mass_change_kg) / (exposure * drop))
