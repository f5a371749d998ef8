"""Chains of formulas that published floor examples run through."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike
from scipy.constants import psi

from undercourse.physics import climate, creep, loads, shrinkage, slab


def aci_strain(
    ages_s: Sequence[float], curing_s: float, ultimate_strain: float, half_time_s: float
) -> np.ndarray:
    """Shrinkage strain at ages of the concrete, by the difference of ultimate and remainder."""
    share = shrinkage.hyperbolic_share(np.asarray(ages_s) - curing_s, half_time_s)
    return ultimate_strain - shrinkage.remaining_shrinkage(ultimate_strain, share)


def share_to_come(volume_surface_m: float, curing_s: float, age_s: float) -> float:
    """Share of the shrinkage that is still to come at an age, with the half time that follows the size."""
    half_time = shrinkage.aci_half_time(volume_surface_m)
    share = shrinkage.hyperbolic_share(age_s - curing_s, half_time)
    return float(shrinkage.remaining_shrinkage(1.0, share))


def aci_creep_coefficients(ages_s: Sequence[float], loading_age_s: float, **mix: float) -> np.ndarray:
    """Creep coefficient at ages of the concrete."""
    share = creep.aci_creep_share(np.asarray(ages_s) - loading_age_s)
    return creep.aci_creep(loading_age_s=loading_age_s, **mix).ultimate * share


def eurocode_nominal_shrinkage(mean_strength_pa: ArrayLike, relative_humidity: ArrayLike) -> np.ndarray:
    """Nominal drying shrinkage of EN 1992-1-1 with normal cement: 0.85 of the model code value."""
    return 0.85 * shrinkage.mc90_99_shrinkage(mean_strength_pa, relative_humidity, 4, 0.12)


def gl2000_strain(
    mean_strength_pa: float,
    relative_humidity: float,
    cement_factor: float,
    volume_surface_m: float,
    drying_s: float,
) -> float:
    """Shrinkage strain after a drying time by GL2000."""
    ultimate = shrinkage.gl2000_shrinkage(mean_strength_pa, relative_humidity, cement_factor)
    return float(ultimate * shrinkage.root_share(drying_s, shrinkage.gl2000_time_constant(volume_surface_m)))


def curling_stresses(
    length_m: float,
    width_m: float,
    thickness_m: float,
    modulus_pa: float,
    poisson: float,
    subgrade_pa_m: float,
    strain_difference: float,
) -> dict[str, float]:
    """Interior and long-edge curling stress of a slab."""
    reach = slab.relative_stiffness_length(modulus_pa, thickness_m, poisson, subgrade_pa_m)
    along = slab.curling_coefficient(length_m, reach)
    across = slab.curling_coefficient(width_m, reach)
    interior = slab.curling_stress_interior(along, across, modulus_pa, poisson, strain_difference)
    edge = slab.curling_stress_edge(along, modulus_pa, strain_difference)
    return {"interior_pa": float(interior), "edge_pa": float(edge)}


def interior_coefficients(length_over_section: Sequence[float]) -> np.ndarray:
    """Interior stress over P / h^2 for ratios of relative stiffness to resisting radius, nu 0.15.

    The load circle is above 1.724 h, so that it is its own resisting section.
    """
    thickness, radius, modulus, poisson = 0.1, 0.2, 30e9, 0.15
    reach = np.asarray(length_over_section) * radius
    bed = modulus * thickness**3 / (12 * (1 - poisson**2) * reach**4)
    response = loads.slab_interior(1.0, radius, thickness, modulus, poisson, bed)
    return response.stress_pa * thickness**2


def roller_peak(force_n: float, diameter_m: float, width_m: float, strength_pa: float) -> float:
    """Peak pressure of a steel roller (29e6 psi, 0.3) on concrete (57,000 sqrt f'c, 0.2)."""
    pair = loads.contact_modulus(29e6 * psi, 0.3, slab.concrete_modulus(strength_pa), 0.2)
    return float(loads.roller_contact(force_n, diameter_m / 2, width_m, pair).peak_pa)


def ball_on_rigid_plane(force_n: float, radius_m: float, modulus_pa: float, poisson: float) -> float:
    """Contact radius of an elastic ball on a rigid plane."""
    pair = loads.contact_modulus(modulus_pa, poisson, np.inf, 0.0)
    return float(loads.ball_contact(force_n, radius_m, pair).radius_m)


def radius_under_pressure(force_n: float, pressure_pa: float) -> float:
    """Radius of the circle on which a force has a mean pressure."""
    return float(loads.patch_radius(force_n / pressure_pa))


def longer_open_time(
    first_low: ArrayLike, first_high: ArrayLike, second_low: ArrayLike, second_high: ArrayLike
) -> np.ndarray:
    """Which of two open times is longer, from their ranges."""
    first, second = (
        climate.OpenTime(*(np.asarray(part, dtype=float) for part in (low, low, high)))
        for low, high in ((first_low, first_high), (second_low, second_high))
    )
    return climate.compare_open_times(first, second)


def area_to_spread(
    ratio: ArrayLike, low: ArrayLike, high: ArrayLike, class_time_s: float, laying_rate_m2_s: float
) -> climate.SpreadArea:
    """Area to spread from a stated open time ratio with its range."""
    times = climate.OpenTime(*(np.asarray(part, dtype=float) for part in (ratio, low, high)))
    return climate.spread_area(times, class_time_s, laying_rate_m2_s)
