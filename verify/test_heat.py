"""Heated floors in steady state against two-dimensional finite elements (scikit-fem).

The meshes first have to pass the test case of the standard for such calculations and a closed form.
"""

from __future__ import annotations

import numpy as np
import pytest

from undercourse.physics import cable_ripple, cables, heat, moisture

from .agreement import agree, converged
from .conduction import Floats, Section, mirrored, toward

TINY = 1e-9


def uniform(conductivity: float):  # type: ignore[no-untyped-def]
    """The same conductivity everywhere."""
    return lambda x: np.full(x.shape[1:], conductivity)


def stacked(levels: Floats, conductivity: Floats):  # type: ignore[no-untyped-def]
    """Layers that change at levels of y, from the lowest up."""
    return lambda x: conductivity[np.clip(np.searchsorted(levels, x[1]) - 1, 0, len(conductivity) - 1)]


# Columns at x = 1/4, 1/2, 3/4, 1 and seven rows from the top of ISO 10211 case A.1, from memory (95 %).
CASE_A1 = [
    [9.7, 13.4, 14.7, 15.1],
    [5.3, 8.6, 10.3, 10.8],
    [3.2, 5.6, 7.0, 7.5],
    [2.0, 3.6, 4.7, 5.0],
    [1.3, 2.3, 3.0, 3.2],
    [0.7, 1.4, 1.8, 1.9],
    [0.3, 0.6, 0.8, 0.9],
]


def test_meshes_pass_the_case_of_the_standard() -> None:
    """Half a square column, top at 20 C, left and bottom at 0 C, right insulated.

    Routes: table of ISO 10211 case A.1 (from memory, 95 %); the elements used below. Tolerance: 0.06 K,
    half the last digit in print; the standard asks for 0.1 K.
    """
    column = Section(mirrored(0.0, 1.0, 8), mirrored(0.0, 2.0, 16), uniform(1.0))
    column.hold({20.0: lambda x: x[1] > 2 - TINY, 0.0: lambda x: (x[0] < TINY) | (x[1] < TINY)}).solve()
    x, y = np.meshgrid([0.25, 0.5, 0.75, 1 - TINY], 2 - np.arange(1, 8) * 0.25)
    agree(column.at(x.ravel(), y.ravel()), np.ravel(CASE_A1), 0.06 / 20, scale=20.0)


@pytest.mark.parametrize(("spacing", "depth"), [(0.075, 0.015), (0.150, 0.045)])
def test_meshes_know_a_row_of_line_sources(spacing: float, depth: float) -> None:
    """Flux through an isothermal surface over a row of lines in deep ground.

    Routes: sinh a / (cosh a - cos 2 pi x / w) by images; the elements used below, insulated three spacings
    further down. Tolerance: 0.3 % at the peak, where the flux is a difference quotient.
    """
    a, far = 2 * np.pi * depth / spacing, depth + 3 * spacing
    y = np.unique(np.concatenate([toward(depth, 0.0, cells=20), toward(depth, far, cells=20)]))
    ground = Section(toward(0.0, spacing / 2, cells=20), y, uniform(1.3))
    ground.line_source(0.0, depth, spacing / 2).hold({0.0: lambda x: x[1] < TINY}).solve()
    x, step = np.linspace(TINY, spacing / 2 - TINY, 5), 1e-5
    flux = 1.3 * ground.at(x, step) / step
    exact = np.sinh(a) / (np.cosh(a) - np.cos(2 * np.pi * x / spacing))
    agree(flux, exact, 0.003)


def cable_floor(
    flux: float, spacing: float, cover: float, conductivity: float, film: float, cells: int
) -> Section:
    """Half the floor between two cables that lie on insulation, cable at the origin."""
    section = Section(
        toward(0.0, spacing / 2, cells=cells), toward(0.0, cover, cells=cells), uniform(conductivity)
    )
    section.film(lambda x: x[1] > cover - TINY, film, 0.0)
    return section.line_source(0.0, 0.0, flux * spacing / 2).solve()


@pytest.mark.parametrize(
    "case",
    [
        (129.17, 0.0762, 0.016, 1.0, 10.8),
        (129.17, 0.0762, 0.010, 1.0, 10.8),
        (161.46, 0.0508, 0.016, 1.4, 10.8),
        (100.0, 0.150, 0.045, 1.2, 8.0),
    ],
)
def test_cables_on_insulation(case: tuple[float, float, float, float, float]) -> None:
    """Surface over the cable, between cables, and in three places between.

    Routes: Fourier series; quadratic elements with the cable as a load at a node. Tolerance: 0.05 %, a
    few thousandths of a kelvin.
    """
    spacing, cover = case[1], case[2]
    x = np.linspace(0.0, spacing / 2, 5)
    fine = cable_floor(*case, cells=24).at(x, cover - TINY)
    converged(cable_floor(*case, cells=12).at(x, cover - TINY), fine, 1e-3)
    agree(cables.cable_surface_excess(*case, x), fine, 5e-4)


@pytest.mark.parametrize(
    "case", [(0.0762, 0.016, 1.0, 10.8), (0.150, 0.015, 1.2, 8.0), (0.0508, 0.010, 1.4, 6.0)]
)
def test_crest_and_dip_of_cables(case: tuple[float, float, float, float]) -> None:
    """Surface over a cable above its mean, and cable plane half way between two below its own, per flux.

    Routes: ten terms and the rest in closed form; quadratic elements with the cable as a load at a node.
    Tolerance: 0.2 % for the crest; 1 % for the dip, since the mean of the plane takes in the sharp peak.
    """
    spacing, cover = case[0], case[1]
    section = cable_floor(1.0, *case, cells=32)
    ours = cable_ripple.cable_ripple(*case)
    crest = section.at(TINY, cover - TINY)[0] - section.mean(lambda x: x[1] > cover - TINY)
    dip = section.mean(lambda x: x[1] < TINY) - section.at(spacing / 2 - TINY, TINY)[0]
    agree(ours.crest_m2k_w, crest, 0.002)
    agree(ours.dip_m2k_w, dip, 0.01, sees=0.02)


def test_cables_under_an_isothermal_surface() -> None:
    """A perfect film: the series becomes the spread of the flux.

    Routes: Fourier series with a film of 1e7; elements with the surface held, flux by difference quotient.
    Tolerance: 0.3 %.
    """
    spacing, cover, conductivity = 0.0762, 0.016, 1.0
    section = Section(toward(0.0, spacing / 2, cells=24), mirrored(0.0, cover, 16), uniform(conductivity))
    section.line_source(0.0, 0.0, spacing / 2).hold({0.0: lambda x: x[1] > cover - TINY}).solve()
    x, step = np.linspace(TINY, spacing / 2 - TINY, 5), 1e-6
    # A flux equal to the film makes the excess a ratio of fluxes.
    ours = cables.cable_surface_excess(1e7, spacing, cover, conductivity, 1e7, x)
    agree(ours, conductivity * section.at(x, cover - step) / step, 0.003)


TILE_MORTAR = ([0.010, 0.006], [1.3, 1.0])
PANEL_INSULATION = ([0.018, 0.100], [0.13, 0.04])
ROOM_C, BELOW_C, POWER_W_M2, FILM = 20.0, 15.0, 129.167, 10.8


def heated_stack(film: float) -> Section:
    """One column of the floor with its power in the plane y = 0."""
    levels = np.array([-0.118, -0.018, 0.0, 0.006, 0.016])
    layers = stacked(levels, np.array([0.04, 0.13, 1.0, 1.3]))
    section = Section(np.array([0.0, 1.0]), levels, layers)
    section.film(lambda x: x[1] > 0.016 - TINY, film, ROOM_C)
    section.film(lambda x: x[1] < -0.118 + TINY, 1 / heat.DOWNWARD_FILM_M2K_W, BELOW_C)
    return section.flux(lambda x: np.abs(x[1]) < TINY, POWER_W_M2).solve()


def test_split_of_heat_up_and_down() -> None:
    """Power in a plane between tile and a framed floor.

    Routes: two resistances in parallel; elements through the layers with a source plane. Tolerance: 1e-6,
    both are exact for layers.
    """
    above = heat.layer_resistance(*TILE_MORTAR)
    below = heat.layer_resistance(*PANEL_INSULATION) + heat.DOWNWARD_FILM_M2K_W
    ours = heat.split_flux(POWER_W_M2, above, below, ROOM_C, BELOW_C, FILM)
    section = heated_stack(FILM)
    source, surface = section.at(0.5, 0.0)[0], section.at(0.5, 0.016)[0]
    up = -section.heat_in(lambda x: x[1] > 0.016 - TINY)
    down = -section.heat_in(lambda x: x[1] < -0.118 + TINY)
    agree([ours.up_w_m2, ours.down_w_m2, ours.source_c, ours.surface_c], [up, down, source, surface], 1e-6)
    agree(heat.downward_flux(up, above + 1 / FILM, below, ROOM_C, BELOW_C), down, 1e-6)
    agree(heat.mean_surface_temperature(up, ROOM_C, FILM), surface, 1e-6)


def test_split_of_heat_by_emission() -> None:
    """The same floor with the emission of a warm surface instead of a constant film.

    Routes: halving on the surface excess; elements with the film set anew to flux over excess until it
    rests, 8.92 dT^1.1 taken from the standard. Tolerance: 1e-6.
    """
    above = heat.layer_resistance(*TILE_MORTAR)
    below = heat.layer_resistance(*PANEL_INSULATION) + heat.DOWNWARD_FILM_M2K_W
    ours = heat.split_flux_by_emission(POWER_W_M2, above, below, ROOM_C, BELOW_C)
    film = FILM
    for _ in range(12):
        excess = heated_stack(film).at(0.5, 0.016)[0] - ROOM_C
        film = 8.92 * excess**0.1
    agree([ours.up_w_m2, ours.surface_c], [film * excess, ROOM_C + excess], 1e-6)
    section = heated_stack(film)
    down = -section.heat_in(lambda x: x[1] < -0.118 + TINY)
    agree([ours.down_w_m2, ours.source_c], [down, section.at(0.5, 0.0)[0]], 1e-6)
    agree(heat.upward_heat_flux(excess), film * excess, 1e-6)
    agree(heat.surface_excess(film * excess), excess, 1e-6)


def test_interfaces_of_a_stack() -> None:
    """Temperatures between the layers of a floor without heating.

    Routes: resistance passed; elements through the layers. Tolerance: 1e-6 of 20 K, both are exact.
    """
    thickness, conductivity = np.array([0.1, 0.018, 0.006, 0.010]), np.array([0.04, 0.13, 1.0, 1.3])
    levels = np.concatenate([[0.0], np.cumsum(thickness)])
    section = Section(np.array([0.0, 1.0]), levels, stacked(levels, conductivity))
    section.hold({2.0: lambda x: x[1] < TINY, 22.0: lambda x: x[1] > levels[-1] - TINY}).solve()
    ours = moisture.interface_values(2.0, 22.0, thickness / conductivity)
    agree(ours, section.at(0.5, levels), 1e-6, scale=20.0)


def joisted(along: float, across: float, lateral: float) -> float:
    """Resistance of 200 mm between joists with what lies above and below; sideways flow eased or barred."""
    half, joist, depth = 0.2, 0.0235, 0.2
    x = np.unique(np.concatenate([toward(joist, 0.0, cells=8), toward(joist, half, cells=12)]))

    def conductivity(at: Floats) -> Floats:
        return np.where(at[0] < joist, along, across)

    section = Section(x, mirrored(0.0, depth, 10), lambda at: lateral * conductivity(at), conductivity)
    section.film(lambda at: at[1] > depth - TINY, 1 / 0.36, 1.0).film(lambda at: at[1] < TINY, 1 / 0.18, 0.0)
    section.solve()
    return half / section.heat_in(lambda at: at[1] > depth - TINY)


def test_joists_beside_insulation() -> None:
    """Bounds and mean of a framed floor.

    Routes: combined method of ISO 6946; elements of joist and insulation, first with sideways conduction
    barred (upper limit), then free without bound (lower limit), then as it is. Tolerance: 0.1 % for the
    limits, which are exact in these limits; the floor as it is lies between them and 1 % from the mean.
    """
    share = 0.0235 / 0.2
    ours = heat.combined_resistance([1 - share, share], [0.2 / 0.04, 0.2 / 0.13], 0.36 + 0.18)
    agree(ours.upper_m2k_w, joisted(0.13, 0.04, 1e-9), 1e-3)
    agree(ours.lower_m2k_w, joisted(0.13, 0.04, 1e7), 1e-3)
    real = joisted(0.13, 0.04, 1.0)
    assert ours.lower_m2k_w < real < ours.upper_m2k_w
    agree(ours.mean_m2k_w, real, 0.01, sees=0.02)


def ground_floor(width: float, wall: float, resistance: float, ground: float, cells: int) -> float:
    """Transmittance of half a long floor on deep ground, outdoor air beyond the wall."""
    half, far = width / 2, 20 * width
    beside, under = toward(half + wall, far, cells=cells), mirrored(half, half + wall, cells // 2)
    x = np.unique(np.concatenate([toward(half, 0.0, cells=cells), under, beside]))
    soil = Section(x, -toward(0.0, far, cells=2 * cells, power=3.0)[::-1], uniform(ground))
    soil.film(lambda at: (at[1] > -TINY) & (at[0] < half), 1 / resistance, 1.0)
    soil.film(lambda at: (at[1] > -TINY) & (at[0] > half + wall), 1 / 0.04, 0.0)
    soil.solve()
    inside = soil.basis.get_dofs(lambda at: (at[1] > -TINY) & (at[0] < half + TINY)).all()
    return float((soil.conduction @ soil.temperature)[inside].sum()) / half


@pytest.mark.parametrize("resistance", [0.17, 1.17])
def test_slab_on_ground(resistance: float) -> None:
    """A long floor eight meters wide on clay, bare and insulated.

    Routes: ISO 13370 with B' the width; elements of a section of ground twenty widths deep, no heat through
    the footprint of the wall. Tolerance: 5 %. The standard counts films as so much more ground, and
    its heat near the wall follows another temperature there; it comes out 3 to 4 % lower.
    """
    width, wall, ground = 8.0, 0.3, 1.5
    outside = ground_floor(width, wall, resistance, ground, 20)
    converged(ground_floor(width, wall, resistance, ground, 10), outside, 0.02)
    ours = heat.slab_on_ground_transmittance(width, 2.0, wall, resistance - 0.17, ground, 0.17)
    agree(ours, outside, 0.05, sees=0.1)
