"""Cables in layered floors against two-dimensional finite elements (scikit-fem)."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest

from undercourse.physics import cable_floor as cables_in_layers
from undercourse.physics import heat

from .agreement import agree, converged
from .conduction import Floats, Section, mirrored, toward

TINY = 1e-9
ROOM_C, BELOW_C, POWER_W_M2, SPACING_M, FILM, FILM_BELOW = 20.0, 12.0, 129.17, 0.0762, 10.8, 1 / 0.17
TILE = ([0.006, 0.010], [1.0, 1.3])
UNDER_MEMBRANE = ([0.003, 0.006, 0.010], [0.17, 1.0, 1.3])
WOOD = ([0.003, 0.018, 0.100], [0.17, 0.13, 0.04])
SLAB = ([0.100], [2.0])


def floor(
    above: tuple[list[float], list[float]], below: tuple[list[float], list[float]], cells: int
) -> Section:
    """Half a cable spacing of the floor with the cable, a line, at the origin."""
    high, low = np.cumsum(above[0]), -np.cumsum(below[0])
    levels = np.concatenate([low[::-1], [0.0], high])
    conductivity = np.array(below[1][::-1] + above[1])

    def conduct(at: Floats) -> Floats:
        return conductivity[np.clip(np.searchsorted(levels, at[1]) - 1, 0, len(conductivity) - 1)]

    up, down = toward(0.0, high[0], cells=cells), toward(0.0, low[0], cells=cells)
    rest = [mirrored(a, b, cells // 3) for a, b in pairwise(high)]
    rest += [mirrored(b, a, cells // 3) for a, b in pairwise(low)]
    y = np.unique(np.round(np.concatenate([up, down, *rest]), 12))
    section = Section(toward(0.0, SPACING_M / 2, cells=cells), y, conduct)
    section.film(lambda at: at[1] > high[-1] - TINY, FILM, ROOM_C)
    section.film(lambda at: at[1] < low[-1] + TINY, FILM_BELOW, BELOW_C)
    return section.line_source(0.0, 0.0, POWER_W_M2 * SPACING_M / 2).solve()


@pytest.mark.parametrize("above", [TILE, UNDER_MEMBRANE])
@pytest.mark.parametrize("below", [WOOD, SLAB])
def test_cables_in_layers(
    above: tuple[list[float], list[float]], below: tuple[list[float], list[float]]
) -> None:
    """Surface over and between cables, fluxes up and down, means of surface and cable plane.

    Routes: Fourier series with admittances of layers; quadratic elements with the cable as a load at a node.
    Tolerance: 0.1 % of the excess over the room, a hundredth of a kelvin; plane mean 1 %, its peak is sharp.
    """
    top = float(np.sum(above[0]))
    x = np.linspace(TINY, SPACING_M / 2 - TINY, 5)
    fine = floor(above, below, 24)
    surface = fine.at(x, top - TINY) - ROOM_C
    converged(floor(above, below, 12).at(x, top - TINY) - ROOM_C, surface, 2e-3)
    ours = cables_in_layers.layered_cable_floor(
        POWER_W_M2, SPACING_M, above, FILM, ROOM_C, below, FILM_BELOW, BELOW_C, x
    )
    agree(ours.surface_c - ROOM_C, surface, 1e-3)
    half = SPACING_M / 2
    up = -fine.heat_in(lambda at: at[1] > top - TINY) / half
    agree([ours.up_w_m2[0], ours.down_w_m2[0]], [up, POWER_W_M2 - up], 1e-3)
    agree(ours.surface_mean_c[0] - ROOM_C, fine.mean(lambda at: at[1] > top - TINY) - ROOM_C, 1e-3)
    agree(ours.plane_mean_c[0] - ROOM_C, fine.mean(lambda at: np.abs(at[1]) < TINY) - ROOM_C, 0.004)


def test_membrane_above_or_below_the_cables() -> None:
    """Fluxes with the membrane on either side.

    Routes: two resistances in parallel; elements of both floors with the row of cables. Tolerance:
    0.1 %.
    """
    above, bare = heat.layer_resistance(*TILE), ([0.018, 0.100], [0.13, 0.04])
    below = heat.layer_resistance(*bare) + 1 / FILM_BELOW
    ours = cables_in_layers.membrane_place(POWER_W_M2, above, 0.003 / 0.17, below, ROOM_C, BELOW_C, FILM)
    for place, upper, lower in ((ours.under, TILE, WOOD), (ours.over, UNDER_MEMBRANE, bare)):
        top = float(np.sum(upper[0]))
        up = -floor(upper, lower, 12).heat_in(lambda at, top=top: at[1] > top - TINY) / (SPACING_M / 2)
        agree([place.up_w_m2, place.down_w_m2], [up, POWER_W_M2 - up], 1e-3)


def test_flux_at_a_sensor_limit() -> None:
    """Flux to the room while the sensor's plane is held at 29 C.

    Routes: temperature step over resistance; elements with the plane held. Tolerance: 1e-6, both are exact.
    """
    levels = np.array([0.0, 0.006, 0.016])
    held = Section(np.array([0.0, 1.0]), levels, lambda at: np.where(at[1] < 0.006, 1.0, 1.3))
    held.film(lambda at: at[1] > 0.016 - TINY, FILM, ROOM_C).hold({29.0: lambda at: at[1] < TINY}).solve()
    ours = cables_in_layers.flux_at_sensor_limit(29.0, ROOM_C, heat.layer_resistance(*TILE), FILM)
    agree(ours, held.heat_in(lambda at: at[1] < TINY), 1e-6)
