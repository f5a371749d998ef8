"""Water inside a floor by the tight-string check, and how warm its inner surface stays.

Steady diffusion between two fixed climates: a yes or no and a rate to rank with, no wetting over a year.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from undercourse.physics._floats import FloatArray, floats
from undercourse.physics.moisture import AIR_PERMEABILITY_KG_M_S_PA, interface_values, saturation_pressure


def saturation_margins(
    temperatures_c: ArrayLike, inner_pa: ArrayLike, outer_pa: ArrayLike, air_thickness_m: ArrayLike
) -> FloatArray:
    """How far the vapor pressure stays under saturation at each interface of a stack.

    Parameters
    ----------
    temperatures_c : array_like, shape (..., layers + 1)
        Temperatures from the inner to the outer face, from `moisture.interface_values` without the films. [C]
    inner_pa, outer_pa : array_like, shape (...)
        Vapor pressure on either side. [Pa]
    air_thickness_m : array_like, shape (..., layers)
        s_d of each layer from inside out, sum above 0. [m]

    Returns
    -------
    ndarray, shape (..., layers + 1)
        Saturation less vapor pressure; water collects where it is below 0. [Pa]

    Notes
    -----
    Published check: tests/published/moisture.toml, "margins of a stack".

    References
    ----------
    ISO 13788:2012, 6.4.
    """
    pressure = interface_values(inner_pa, outer_pa, air_thickness_m)
    return np.asarray(saturation_pressure(temperatures_c) - pressure)


def condensation_rate(
    inner_pa: ArrayLike,
    interface_c: ArrayLike,
    outer_pa: ArrayLike,
    inside_air_thickness_m: ArrayLike,
    outside_air_thickness_m: ArrayLike,
) -> FloatArray:
    """Water that collects at one interface of a stack.

    Parameters
    ----------
    inner_pa, outer_pa : array_like
        Vapor pressure on either side. [Pa]
    interface_c : array_like
        Temperature of the interface. [C]
    inside_air_thickness_m, outside_air_thickness_m : array_like
        s_d from the inner side to the interface and from it to the outer side, above 0. [m]

    Returns
    -------
    ndarray
        Rate, 0 where none collects. The inputs broadcast. [kg/(m2 s)]

    Notes
    -----
    delta0 ((p_i - p_sat) / s_di - (p_sat - p_e) / s_de). Of several interfaces with too little margin take
    the worst; with two wet planes the rates follow from the stretch between them.
    Published check: tests/published/moisture.toml, "water at one interface".

    References
    ----------
    ISO 13788:2012, 6.4 (the tight-string check).
    """
    saturated = saturation_pressure(interface_c)
    arriving = (floats(inner_pa) - saturated) / floats(inside_air_thickness_m)
    leaving = (saturated - floats(outer_pa)) / floats(outside_air_thickness_m)
    return np.asarray(AIR_PERMEABILITY_KG_M_S_PA * np.maximum(arriving - leaving, 0.0))


def surface_factor(total_m2k_w: ArrayLike, indoor_film_m2k_w: ArrayLike) -> FloatArray:
    """Temperature factor of the inner surface of a floor away from its edges.

    Parameters
    ----------
    total_m2k_w : array_like
        Resistance from room to outdoor air, films included. [m2 K/W]
    indoor_film_m2k_w : array_like
        Indoor film: 0.17 downwards, 0.25 in corners and behind furniture. [m2 K/W]

    Returns
    -------
    ndarray
        1 - R_si / R_T, to be held against the factor that mold or dew asks for; edges and corners are colder.
        The inputs broadcast. [1]

    Notes
    -----
    Published check: tests/published/moisture.toml, "surface factor of a floor".

    References
    ----------
    ISO 13788:2012, 3.1 and 4.4.1 (0.25 from memory, confidence 93).
    """
    return np.asarray(1.0 - floats(indoor_film_m2k_w) / floats(total_m2k_w))
