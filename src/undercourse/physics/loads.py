"""Concentrated loads: contact under wheels and feet, slabs on a spring bed, tile on a soft bed."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from undercourse.physics._floats import FloatArray, floats
from undercourse.physics.slab import relative_stiffness_length

# ln 2 + 1/2 - Euler's constant, of Westergaard's interior formula.
_INTERIOR = float(np.log(2) + 0.5 - np.euler_gamma)
# Where sqrt(1.6 x^2 + 1) - 0.675 meets x, printed as 1.724; at the printed figure the section would jump.
_THICK_ENDS = float((1.35 + np.sqrt(1.35**2 - 4 * 0.6 * (1 - 0.675**2))) / 1.2)


def _plain(value: ArrayLike) -> FloatArray | float:
    """One number stays one number, which is quicker than an array of it."""
    return value if isinstance(value, float) else floats(value)


def contact_modulus(
    modulus_1_pa: ArrayLike, poisson_1: ArrayLike, modulus_2_pa: ArrayLike, poisson_2: ArrayLike
) -> FloatArray:
    """Modulus of two bodies in contact.

    Parameters
    ----------
    modulus_1_pa, modulus_2_pa : array_like
        Elastic moduli; infinite for a rigid body. [Pa]
    poisson_1, poisson_2 : array_like
        Poisson ratios. [-]

    Returns
    -------
    ndarray
        1 / ((1 - nu1^2) / E1 + (1 - nu2^2) / E2). [Pa]

    References
    ----------
    Hertz 1882; Johnson, Contact Mechanics, 1985, chapter 4.
    """
    first = (1 - floats(poisson_1) ** 2) / floats(modulus_1_pa)
    second = (1 - floats(poisson_2) ** 2) / floats(modulus_2_pa)
    return 1 / (first + second)


class RollerContact(NamedTuple):
    """Contact of a roller on a plane."""

    half_width_m: FloatArray
    peak_pa: FloatArray
    mean_pa: FloatArray


def roller_contact(
    force_n: ArrayLike, radius_m: ArrayLike, width_m: ArrayLike, contact_modulus_pa: ArrayLike
) -> RollerContact:
    """Contact strip and pressure under a hard wheel with a flat tread.

    Parameters
    ----------
    force_n : array_like
        Load on the wheel, above 0. [N]
    radius_m : array_like
        Radius of the wheel. [m]
    width_m : array_like
        Width of tread that bears. [m]
    contact_modulus_pa : array_like
        From `contact_modulus`. [Pa]

    Returns
    -------
    RollerContact
        Half the strip b = sqrt(4 P R / (pi L E)) [m], peak and mean pressure. [Pa]

    Notes
    -----
    Elastic bodies, no tread edge: real edges and grit press harder.

    References
    ----------
    Johnson, Contact Mechanics, 1985, 4.2. Check: tests/published/loads.toml.
    """
    line = floats(force_n) / floats(width_m)
    half = np.sqrt(4 * line * floats(radius_m) / (np.pi * floats(contact_modulus_pa)))
    mean = line / (2 * half)
    return RollerContact(half, 4 / np.pi * mean, mean)


class BallContact(NamedTuple):
    """Contact of a ball on a plane."""

    radius_m: FloatArray
    peak_pa: FloatArray
    mean_pa: FloatArray


def ball_contact(force_n: ArrayLike, radius_m: ArrayLike, contact_modulus_pa: ArrayLike) -> BallContact:
    """Contact circle and pressure under a ball or a crowned wheel.

    Parameters
    ----------
    force_n : array_like
        Load, above 0. [N]
    radius_m : array_like
        Radius of the ball. [m]
    contact_modulus_pa : array_like
        From `contact_modulus`. [Pa]

    Returns
    -------
    BallContact
        Radius a = (3 P R / (4 E))^(1/3) [m], peak and mean pressure. [Pa]

    References
    ----------
    Johnson, Contact Mechanics, 1985, 4.2. Check: tests/published/loads.toml.
    """
    force = floats(force_n)
    radius = np.cbrt(3 * force * floats(radius_m) / (4 * floats(contact_modulus_pa)))
    mean = force / (np.pi * radius**2)
    return BallContact(radius, 1.5 * mean, mean)


def patch_pressure(force_n: ArrayLike, patch_area_m2: ArrayLike) -> FloatArray:
    """Mean pressure of a load on a stated patch.

    Parameters
    ----------
    force_n : array_like
        Load. [N]
    patch_area_m2 : array_like
        Area that bears, above 0. [m2]

    Returns
    -------
    ndarray
        [Pa]
    """
    return floats(force_n) / floats(patch_area_m2)


def patch_radius(patch_area_m2: ArrayLike) -> FloatArray:
    """Radius of the circle that has the area of a patch.

    Parameters
    ----------
    patch_area_m2 : array_like
        Area that bears. [m2]

    Returns
    -------
    ndarray
        sqrt(area / pi). [m]

    References
    ----------
    Definition; Westergaard 1926 takes the load on such a circle.
    """
    return np.sqrt(floats(patch_area_m2) / np.pi)


def resisting_radius(load_radius_m: ArrayLike, thickness_m: ArrayLike) -> FloatArray:
    """Radius of the resisting section under a small loaded circle.

    Parameters
    ----------
    load_radius_m : array_like
        Radius a of the loaded circle. [m]
    thickness_m : array_like
        Slab thickness h. [m]

    Returns
    -------
    ndarray
        sqrt(1.6 a^2 + h^2) - 0.675 h where a < 1.724 h, else a. [m]

    References
    ----------
    Westergaard 1926, as printed in transport engineering lectures.
    """
    radius, thickness = floats(load_radius_m), floats(thickness_m)
    small = np.sqrt(1.6 * radius**2 + thickness**2) - 0.675 * thickness
    return np.where(radius < _THICK_ENDS * thickness, small, radius)


class SlabResponse(NamedTuple):
    """Bending stress [Pa] and deflection [m] of a slab on a spring bed under a wheel."""

    stress_pa: FloatArray
    deflection_m: FloatArray


def interior_stress(
    force_n: ArrayLike, thickness_m: ArrayLike, poisson: ArrayLike, reach_m: ArrayLike, section_m: ArrayLike
) -> FloatArray:
    """Westergaard's stress below an interior load, from reach and resisting section.

    Parameters
    ----------
    force_n : array_like
        Load. [N]
    thickness_m, poisson : array_like
        Thickness [m] and Poisson ratio [-] of the slab.
    reach_m : array_like
        Radius of relative stiffness. [m]
    section_m : array_like
        From `resisting_radius`. [m]

    Returns
    -------
    ndarray
        3 (1 + nu) P / (2 pi h^2) (ln(l / b) + 0.6159). [Pa]

    References
    ----------
    Westergaard 1926, see `slab_interior`.
    """
    nu = _plain(poisson)
    bent = 3 * (1 + nu) / (2 * np.pi) * (floats(force_n) / floats(thickness_m) ** 2)
    return np.asarray(bent * (np.log(floats(reach_m) / floats(section_m)) + _INTERIOR))


def slab_interior(
    force_n: ArrayLike,
    load_radius_m: ArrayLike,
    thickness_m: ArrayLike,
    modulus_pa: ArrayLike,
    poisson: ArrayLike,
    subgrade_pa_m: ArrayLike,
) -> SlabResponse:
    """Slab on a spring bed, load on a circle far from any edge.

    Parameters
    ----------
    force_n : array_like
        Load. [N]
    load_radius_m : array_like
        Radius of the loaded circle, above 0. [m]
    thickness_m : array_like
        Slab thickness. [m]
    modulus_pa, poisson : array_like
        Elastic modulus [Pa] and Poisson ratio [-] of the slab.
    subgrade_pa_m : array_like
        Modulus of subgrade reaction. [Pa/m]

    Returns
    -------
    SlabResponse
        3 (1 + nu) P / (2 pi h^2) (ln(l / b) + 0.6159), and the deflection under the load.

    Notes
    -----
    The stress leaves out pi/32 (a/l)^2: 0.2 % low at a/l = 0.2, 1 % at 0.4.

    References
    ----------
    Westergaard 1926, special theory (Ioannides and others 1985). Check: tests/published/loads.toml.
    """
    force, radius, thickness = floats(force_n), floats(load_radius_m), floats(thickness_m)
    nu, bed = floats(poisson), floats(subgrade_pa_m)
    reach = relative_stiffness_length(modulus_pa, thickness_m, poisson, subgrade_pa_m)
    section = resisting_radius(radius, thickness)
    stress = interior_stress(force, thickness, nu, reach, section)
    correction = (np.log(radius / (2 * reach)) - 0.673) / (2 * np.pi) * (radius / reach) ** 2
    return SlabResponse(stress, force / (8 * bed * reach**2) * (1 + correction))


def edge_stress(
    force_n: ArrayLike,
    load_radius_m: ArrayLike,
    thickness_m: ArrayLike,
    poisson: ArrayLike,
    reach_m: ArrayLike,
) -> FloatArray:
    """Westergaard's stress along a free edge, from the radius of relative stiffness.

    Parameters
    ----------
    force_n : array_like
        Load. [N]
    load_radius_m : array_like
        Radius of the loaded circle that touches the edge, above 0. [m]
    thickness_m, poisson : array_like
        Thickness [m] and Poisson ratio [-] of the slab.
    reach_m : array_like
        Radius of relative stiffness l. [m]

    Returns
    -------
    ndarray
        With E h^3 / k = 12 (1 - nu^2) l^4: 3 (1 + nu) P / (pi (3 + nu) h^2) times
        ln(E h^3 / (100 k a^4)) + 1.84 - 4 nu / 3 + (1 - nu) / 2 + 1.18 (1 + 2 nu) a / l. [Pa]

    References
    ----------
    Westergaard 1948, see `slab_edge`.
    """
    nu = _plain(poisson)
    relative = floats(load_radius_m) / floats(reach_m)
    constant = np.log(0.12 * (1 - nu**2)) + 1.84 - 4 * nu / 3 + (1 - nu) / 2
    bracket = constant - 4 * np.log(relative) + 1.18 * (1 + 2 * nu) * relative
    share = 3 * (1 + nu) / (np.pi * (3 + nu))
    return np.asarray(share * floats(force_n) / floats(thickness_m) ** 2 * bracket)


def corner_stress(
    force_n: ArrayLike, load_radius_m: ArrayLike, thickness_m: ArrayLike, reach_m: ArrayLike
) -> FloatArray:
    """Westergaard's stress at the top of a free corner, from the radius of relative stiffness.

    Parameters
    ----------
    force_n : array_like
        Load. [N]
    load_radius_m : array_like
        Radius a of the loaded circle that touches both edges. [m]
    thickness_m : array_like
        Thickness of the slab. [m]
    reach_m : array_like
        Radius of relative stiffness l. [m]

    Returns
    -------
    ndarray
        3 P / h^2 (1 - (a sqrt 2 / l)^0.6). [Pa]

    References
    ----------
    Westergaard 1926, see `slab_corner`.
    """
    relative = floats(load_radius_m) / floats(reach_m)
    return np.asarray(3 * floats(force_n) / floats(thickness_m) ** 2 * (1 - 2**0.3 * relative**0.6))


def slab_edge(
    force_n: ArrayLike,
    load_radius_m: ArrayLike,
    thickness_m: ArrayLike,
    modulus_pa: ArrayLike,
    poisson: ArrayLike,
    subgrade_pa_m: ArrayLike,
) -> SlabResponse:
    """Slab on a spring bed, load on a circle that touches a free edge.

    Parameters
    ----------
    force_n, load_radius_m, thickness_m, modulus_pa, poisson, subgrade_pa_m : array_like
        As for `slab_interior`.

    Returns
    -------
    SlabResponse
        Stress along the edge and deflection of the edge.

    Notes
    -----
    Against thin-plate finite elements both hold to 0.4 % at a/l = 0.1 and 0.9 % at 0.2; at 0.4 the
    deflection is 4 to 5 % low.

    References
    ----------
    Westergaard 1948 for a circle (Ioannides and others 1985); from memory (confidence 95).
    Check: tests/published/loads.toml.
    """
    force, radius, thickness = floats(force_n), floats(load_radius_m), floats(thickness_m)
    modulus, nu, bed = floats(modulus_pa), floats(poisson), floats(subgrade_pa_m)
    reach = relative_stiffness_length(modulus_pa, thickness_m, poisson, subgrade_pa_m)
    stress = edge_stress(force, radius, thickness, nu, reach)
    full = force * np.sqrt(2 + 1.2 * nu) / np.sqrt(modulus * thickness**3 * bed)
    return SlabResponse(stress, full * (1 - (0.76 + 0.4 * nu) * radius / reach))


def slab_corner(
    force_n: ArrayLike,
    load_radius_m: ArrayLike,
    thickness_m: ArrayLike,
    modulus_pa: ArrayLike,
    poisson: ArrayLike,
    subgrade_pa_m: ArrayLike,
) -> SlabResponse:
    """Slab on a spring bed, load on a circle that touches both edges of a free corner.

    Parameters
    ----------
    force_n, load_radius_m, thickness_m, modulus_pa, poisson, subgrade_pa_m : array_like
        As for `slab_interior`.

    Returns
    -------
    SlabResponse
        Stress at the top of the slab, away from the corner, and deflection of the corner.

    Notes
    -----
    Against thin-plate finite elements (a/l of 0.1 and 0.2) the stress holds to 0.5 % while the
    deflection is low: by 9 to 10 % at a Poisson ratio of 0.15, by 13 % at 0.3.

    References
    ----------
    Westergaard 1926; from memory (confidence 95). Check: tests/published/loads.toml.
    """
    force, bed = floats(force_n), floats(subgrade_pa_m)
    reach = relative_stiffness_length(modulus_pa, thickness_m, poisson, subgrade_pa_m)
    relative = floats(load_radius_m) * np.sqrt(2) / reach
    stress = corner_stress(force, load_radius_m, thickness_m, reach)
    return SlabResponse(stress, force / (bed * reach**2) * (1.1 - 0.88 * relative))


def slab_corner_revised(
    force_n: ArrayLike,
    load_radius_m: ArrayLike,
    thickness_m: ArrayLike,
    modulus_pa: ArrayLike,
    poisson: ArrayLike,
    subgrade_pa_m: ArrayLike,
) -> SlabResponse:
    """As `slab_corner`, with the coefficients fitted to finite elements in 1985.

    Parameters
    ----------
    force_n, load_radius_m, thickness_m, modulus_pa, poisson, subgrade_pa_m : array_like
        As for `slab_interior`.

    Returns
    -------
    SlabResponse
        Load taken as a square of side 1.772 a.

    Notes
    -----
    A fit for small patches at a Poisson ratio of 0.15. Against thin-plate finite elements it holds to
    0.5 % at a/l = 0.1; at 0.2 the deflection still holds to 1 % but the stress is 7 % low, and lower
    beyond: take the stress of `slab_corner` there. Deflection is 5 % low at a Poisson ratio of 0.3.

    References
    ----------
    Ioannides, Thompson and Barenberg 1985; from memory (confidence 95).
    """
    force, bed = floats(force_n), floats(subgrade_pa_m)
    reach = relative_stiffness_length(modulus_pa, thickness_m, poisson, subgrade_pa_m)
    relative = 1.772 * floats(load_radius_m) / reach
    stress = 3 * force / floats(thickness_m) ** 2 * (1 - relative**0.72)
    return SlabResponse(stress, force / (bed * reach**2) * (1.205 - 0.69 * relative))


class BedResponse(NamedTuple):
    """Deflection and bending moment of a strip on a spring bed.

    For a beam: load in N, bed stiffness in N/m2, moment in N m. For a strip one metre wide the same
    numbers are per metre of width.
    """

    decay_per_m: FloatArray
    deflection_m: FloatArray
    moment_nm: FloatArray


def long_beam_on_bed(
    force_n: ArrayLike, stiffness_nm2: ArrayLike, bed_n_m2: ArrayLike, distance_m: ArrayLike
) -> BedResponse:
    """Long beam or tile strip on a spring bed under a point or line load far from its ends.

    Parameters
    ----------
    force_n : array_like
        Load (per metre of width for a strip). [N]
    stiffness_nm2 : array_like
        EI (per metre of width for a strip), above 0. [N m2]
    bed_n_m2 : array_like
        Bed stiffness per length of beam: modulus of the bed times width. [N/m2]
    distance_m : array_like
        Distance from the load, at or above 0. [m]

    Returns
    -------
    BedResponse
        w = P d / (2 k) A, M = P / (4 d) C with d = (k / 4EI)^(1/4).

    References
    ----------
    Hetenyi, Beams on Elastic Foundation, 1946. Check: tests/published/loads.toml.
    """
    force, bed = floats(force_n), floats(bed_n_m2)
    decay = np.asarray((bed / (4 * floats(stiffness_nm2))) ** 0.25)
    reach = decay * floats(distance_m)
    fade = np.exp(-reach)
    deflection = force * decay / (2 * bed) * fade * (np.cos(reach) + np.sin(reach))
    moment = force / (4 * decay) * fade * (np.cos(reach) - np.sin(reach))
    return BedResponse(decay, deflection, moment)


def beam_end_on_bed(force_n: ArrayLike, stiffness_nm2: ArrayLike, bed_n_m2: ArrayLike) -> BedResponse:
    """Long beam or tile strip on a spring bed under a load at its free end.

    Parameters
    ----------
    force_n, stiffness_nm2, bed_n_m2 : array_like
        As for `long_beam_on_bed`.

    Returns
    -------
    BedResponse
        Deflection of the end 2 P d / k, and the greatest moment, at pi/4 / d from it, which stretches
        the top face.

    References
    ----------
    Hetenyi, Beams on Elastic Foundation, 1946 (0.3224 P / d).
    """
    force, bed = floats(force_n), floats(bed_n_m2)
    decay = np.asarray((bed / (4 * floats(stiffness_nm2))) ** 0.25)
    moment = force / decay * np.exp(-np.pi / 4) * np.sin(np.pi / 4)
    return BedResponse(decay, 2 * force * decay / bed, moment)


def plate_on_bed_deflection(
    force_n: ArrayLike, plate_stiffness_nm: ArrayLike, bed_pa_m: ArrayLike
) -> FloatArray:
    """Deflection under a point load of a wide plate on a spring bed.

    Parameters
    ----------
    force_n : array_like
        Load. [N]
    plate_stiffness_nm : array_like
        D = E h^3 / (12 (1 - nu^2)), above 0. [N m]
    bed_pa_m : array_like
        Modulus of the bed: for a mat, its compression modulus over its thickness. [Pa/m]

    Returns
    -------
    ndarray
        P / (8 sqrt(k D)). [m]

    References
    ----------
    Hertz 1884; Timoshenko and Woinowsky-Krieger. Check: tests/published/loads.toml.
    """
    return np.asarray(floats(force_n) / (8 * np.sqrt(floats(bed_pa_m) * floats(plate_stiffness_nm))))


def strip_stress(moment_nm: ArrayLike, thickness_m: ArrayLike) -> FloatArray:
    """Bending stress of a strip one metre wide.

    Parameters
    ----------
    moment_nm : array_like
        Moment per metre of width. [N]
    thickness_m : array_like
        Thickness. [m]

    Returns
    -------
    ndarray
        6 M / t^2. [Pa]
    """
    return 6 * floats(moment_nm) / floats(thickness_m) ** 2
