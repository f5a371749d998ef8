"""Concrete slabs: stiffness, movement with heat and drying, curling, openings of joints and cracks."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from undercourse.physics._floats import FloatArray, floats

_PSI_PA = 6894.757293168


def concrete_modulus(strength_pa: ArrayLike) -> FloatArray:
    """Elastic modulus of normal-weight concrete, inch-pound form of the code.

    Parameters
    ----------
    strength_pa : array_like
        Specified cylinder strength, above 0. [Pa]

    Returns
    -------
    ndarray
        57,000 sqrt(f'c) with both in psi. [Pa]

    References
    ----------
    ACI 318, 19.2.2; from memory (confidence 98). Check: tests/published/slab.toml.
    """
    return 57_000 * np.sqrt(floats(strength_pa) / _PSI_PA) * _PSI_PA


def concrete_modulus_metric(strength_pa: ArrayLike) -> FloatArray:
    """Elastic modulus of normal-weight concrete, metric form of the code.

    Parameters
    ----------
    strength_pa : array_like
        Specified cylinder strength, above 0. [Pa]

    Returns
    -------
    ndarray
        4700 sqrt(f'c) with both in MPa; 0.7 % below the inch-pound form. [Pa]

    References
    ----------
    ACI 318M, 19.2.2.
    """
    return 4700 * np.sqrt(floats(strength_pa) / 1e6) * 1e6


def concrete_modulus_by_density(strength_pa: ArrayLike, density_kg_m3: ArrayLike) -> FloatArray:
    """Elastic modulus of concrete of 1440 to 2560 kg/m3.

    Parameters
    ----------
    strength_pa : array_like
        Specified cylinder strength, above 0. [Pa]
    density_kg_m3 : array_like
        Density. [kg/m3]

    Returns
    -------
    ndarray
        0.043 w^1.5 sqrt(f'c) in MPa. [Pa]

    References
    ----------
    ACI 318M, 19.2.2; from memory (confidence 98).
    """
    return 0.043 * floats(density_kg_m3) ** 1.5 * np.sqrt(floats(strength_pa) / 1e6) * 1e6


def relative_stiffness_length(
    modulus_pa: ArrayLike, thickness_m: ArrayLike, poisson: ArrayLike, subgrade_pa_m: ArrayLike
) -> FloatArray:
    """Radius of relative stiffness of a slab on a spring bed.

    Parameters
    ----------
    modulus_pa : array_like
        Elastic modulus. [Pa]
    thickness_m : array_like
        Thickness. [m]
    poisson : array_like
        Poisson ratio. [-]
    subgrade_pa_m : array_like
        Modulus of subgrade reaction, above 0. [Pa/m]

    Returns
    -------
    ndarray
        (E h^3 / (12 (1 - nu^2) k))^(1/4). [m]

    References
    ----------
    Westergaard 1926. Check: tests/published/slab.toml.
    """
    bending = floats(modulus_pa) * floats(thickness_m) ** 3 / (12 * (1 - floats(poisson) ** 2))
    return np.asarray((bending / floats(subgrade_pa_m)) ** 0.25)


def curling_coefficient(length_m: ArrayLike, stiffness_length_m: ArrayLike) -> FloatArray:
    """Coefficient of restraint to curling of a slab of finite length.

    Parameters
    ----------
    length_m : array_like
        Length of the slab between joints, above 0. [m]
    stiffness_length_m : array_like
        From `relative_stiffness_length`. [m]

    Returns
    -------
    ndarray
        0 for a short slab, at most 1.086 at 8.9 l, then towards 1. [-]

    References
    ----------
    Bradbury 1938, closed form of his chart; from memory (confidence 95).
    """
    # Beyond 40 the hyperbolic functions overflow while the coefficient is 1 to every digit.
    reach = np.minimum(floats(length_m) / (floats(stiffness_length_m) * np.sqrt(8)), 40.0)
    top = 2 * (np.sin(reach) * np.cosh(reach) + np.cos(reach) * np.sinh(reach))
    return np.asarray(1 - top / (np.sin(2 * reach) + np.sinh(2 * reach)))


def curling_stress_edge(
    coefficient: ArrayLike, modulus_pa: ArrayLike, strain_difference: ArrayLike
) -> FloatArray:
    """Bending stress at the middle of a slab edge from a strain difference of top and bottom.

    Parameters
    ----------
    coefficient : array_like
        From `curling_coefficient` along the edge. [-]
    modulus_pa : array_like
        Elastic modulus. [Pa]
    strain_difference : array_like
        Expansion coefficient times temperature difference, or shrinkage difference. [-]

    Returns
    -------
    ndarray
        C E s / 2. [Pa]

    References
    ----------
    Bradbury 1938. Check: tests/published/slab.toml.
    """
    return floats(coefficient) * floats(modulus_pa) * floats(strain_difference) / 2


def curling_stress_interior(
    along: ArrayLike,
    across: ArrayLike,
    modulus_pa: ArrayLike,
    poisson: ArrayLike,
    strain_difference: ArrayLike,
) -> FloatArray:
    """Bending stress inside a slab from a strain difference of top and bottom.

    Parameters
    ----------
    along, across : array_like
        Coefficients from `curling_coefficient` in the direction of the stress and across it. [-]
    modulus_pa : array_like
        Elastic modulus. [Pa]
    poisson : array_like
        Poisson ratio. [-]
    strain_difference : array_like
        See `curling_stress_edge`. [-]

    Returns
    -------
    ndarray
        E s / 2 * (C1 + nu C2) / (1 - nu^2). [Pa]

    References
    ----------
    Bradbury 1938. Check: tests/published/slab.toml.
    """
    nu = floats(poisson)
    full = floats(modulus_pa) * floats(strain_difference) / 2
    return full * (floats(along) + nu * floats(across)) / (1 - nu**2)


def curl_lift(length_m: ArrayLike, thickness_m: ArrayLike, strain_difference: ArrayLike) -> FloatArray:
    """Lift of the ends of a slab that curls freely, its weight neglected.

    Parameters
    ----------
    length_m : array_like
        Length between joints. [m]
    thickness_m : array_like
        Thickness, above 0. [m]
    strain_difference : array_like
        Strain of the bottom over that of the top. [-]

    Returns
    -------
    ndarray
        s L^2 / (8 t), an upper bound since weight presses the slab down. [m]

    References
    ----------
    Circular bending; own derivation.
    """
    return floats(strain_difference) * floats(length_m) ** 2 / (8 * floats(thickness_m))


def thermal_movement(
    expansion_per_k: ArrayLike, length_m: ArrayLike, temperature_change_k: ArrayLike
) -> FloatArray:
    """Free change of length with temperature.

    Parameters
    ----------
    expansion_per_k : array_like
        Expansion coefficient, per kelvin (not per degree Fahrenheit). [1/K]
    length_m : array_like
        Length. [m]
    temperature_change_k : array_like
        Change of temperature, also in kelvin. [K]

    Returns
    -------
    ndarray
        alpha L dT. [m]

    References
    ----------
    Definition of the expansion coefficient.
    """
    return floats(expansion_per_k) * floats(length_m) * floats(temperature_change_k)


def joint_opening(
    spacing_m: ArrayLike,
    expansion_per_k: ArrayLike,
    temperature_drop_k: ArrayLike,
    shrinkage_strain: ArrayLike,
    base_factor: ArrayLike,
) -> FloatArray:
    """Opening of a joint, or of a crack that acts as one, from cooling and drying.

    Parameters
    ----------
    spacing_m : array_like
        Length of slab that shortens towards the opening on both sides together. [m]
    expansion_per_k : array_like
        Expansion coefficient of the concrete. [1/K]
    temperature_drop_k : array_like
        Drop below the temperature at which the opening was closed. [K]
    shrinkage_strain : array_like
        Shrinkage, for tile work what remains after tiling. [-]
    base_factor : array_like
        1.0 free to slide, 0.80 on granular base, 0.65 on stabilized base. [-]

    Returns
    -------
    ndarray
        C L (alpha dT + e). [m]

    References
    ----------
    AASHTO Guide for Design of Pavement Structures 1993, joint opening; from memory (confidence 90).
    """
    strain = floats(expansion_per_k) * floats(temperature_drop_k) + floats(shrinkage_strain)
    return floats(base_factor) * floats(spacing_m) * strain


def restrained_opening(
    spacing_m: ArrayLike,
    restraint: ArrayLike,
    shrinkage_strain: ArrayLike,
    expansion_per_k: ArrayLike,
    temperature_drop_k: ArrayLike,
) -> FloatArray:
    """Opening of a joint or crack from shrinkage that is partly held back, and from cooling.

    Parameters
    ----------
    spacing_m : array_like
        Distance between openings: half a panel shortens towards each side. [m]
    restraint : array_like
        Share of the shrinkage that base and reinforcement hold back, 0 to 1. [-]
    shrinkage_strain : array_like
        Shrinkage, for tile work what remains after tiling. [-]
    expansion_per_k : array_like
        Expansion coefficient of the concrete. [1/K]
    temperature_drop_k : array_like
        Drop below the temperature on the day of tiling, at or above 0. [K]

    Returns
    -------
    ndarray
        L ((1 - R) e + alpha dT). The inputs broadcast. [m]

    Notes
    -----
    Cooling is counted in full. What is held back turns into `restraint_stress` and may open new cracks. Only
    in-plane opening: a step between the two sides is an engineer's matter.
    Published check: tests/published/slab.toml.

    References
    ----------
    Definition of the degree of restraint, as in ACI 207.2R (from memory, 85 %).
    """
    held = (1 - floats(restraint)) * floats(shrinkage_strain)
    return floats(spacing_m) * (held + floats(expansion_per_k) * floats(temperature_drop_k))


def restraint_stress(
    restraint: ArrayLike, modulus_pa: ArrayLike, strain: ArrayLike, creep_coefficient: ArrayLike
) -> FloatArray:
    """Tension in concrete from strain that is held back.

    Parameters
    ----------
    restraint : array_like
        Share held back, 0 to 1. [-]
    modulus_pa : array_like
        Elastic modulus at the age of the stress. [Pa]
    strain : array_like
        Shrinkage and cooling together. [-]
    creep_coefficient : array_like
        Creep over the same time, 0 for a sudden strain, see `creep.aci_creep`. [-]

    Returns
    -------
    ndarray
        R E e / (1 + phi). The inputs broadcast. [Pa]

    Notes
    -----
    Published check: tests/published/slab.toml.

    References
    ----------
    Effective modulus method, textbook (from memory, 92 %).
    """
    stiffness = floats(modulus_pa) / (1 + floats(creep_coefficient))
    return np.asarray(floats(restraint) * stiffness * floats(strain))
