"""Joist floors whose L/n people tell, worked out again from load, stiffness and span.

kind = practice: common practice, no source; the numbers are told from floor to floor and carry neither load
nor wood. They come out for total load, 40 psf in use and 10 psf dead, on a simple span with E near
1.0e6 psi, as is told for old framing; that E is stated here, and the EI with it.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import pytest

from undercourse.physics.joists import simple_span_deflection

from .floors import STATED, known

INCH, PSI = 0.0254, 4.4482216152605 / 0.0254**2
LIVE_PSF, DEAD_PSF = 40.0, 10.0
PSF = 47.88025898
# [psi]
E = 1.0e6
# The L/n of the rows below ask for an E from 1.00e6 to 1.03e6 psi.
NEAR = 0.04


class Told(NamedTuple):
    """A floor as it is told: boards of 1-1/2 in, their depth, spacing and span, and the n of L/n."""

    name: str
    boards: int
    depth_in: float
    spacing_in: float
    span_ft: float
    n: float


FLOORS = [
    Told("2x8 at 24 in over 11 ft 6 in", 1, 7.25, 24.0, 11.5, 172.0),
    Told("the same, two boards a joist", 2, 7.25, 24.0, 11.5, 343.0),
    Told("joists 7 in deep at 16 in over 10 ft 6 in", 1, 7.0, 16.0, 10.5, 297.0),
]
# Two boards of a stiffer pine in the place of the others: told as L/396.
STIFFER_N = 396.0


def ei_lb_in2(floor: Told) -> float:
    """Stiffness of one joist with E as stated. [lb in2]"""
    return E * floor.boards * 1.5 * floor.depth_in**3 / 12


def ratio(floor: Told, ei: float) -> float:
    """Total deflection over span, as the demand works it out."""
    facts = {
        **STATED,
        "framing_stated_as": "EI of one joist",
        "joist_ei": f"{ei:.6f} lb in2",
        "joist_spacing": f"{floor.spacing_in} in",
        "joist_span": f"{floor.span_ft} ft",
        "live_load": f"{LIVE_PSF} psf",
        "existing_dead_load": f"{DEAD_PSF} psf",
    }
    return known("joist_total_deflection", facts)


@pytest.mark.parametrize("floor", FLOORS, ids=lambda floor: floor.name)
def test_told_floor_comes_out_with_the_stated_load_and_e(floor: Told) -> None:
    """kind = practice. L/n as told, within what E may differ."""
    assert 1 / ratio(floor, ei_lb_in2(floor)) == pytest.approx(floor.n, rel=NEAR)


@pytest.mark.parametrize("floor", FLOORS, ids=lambda floor: floor.name)
def test_e_behind_a_told_floor_is_near_a_million(floor: Told) -> None:
    """kind = practice. The E that gives the told n exactly lies from 1.00e6 to 1.03e6 psi."""
    found = E * floor.n * ratio(floor, ei_lb_in2(floor))
    assert 0.99e6 < found < 1.04e6
    exact = ei_lb_in2(floor) * found / E
    assert 1 / ratio(floor, exact) == pytest.approx(floor.n, rel=1e-9)


@pytest.mark.parametrize("floor", FLOORS, ids=lambda floor: floor.name)
def test_demand_and_formula_agree(floor: Told) -> None:
    """kind = derived. 5 w L^4 / (384 E I) of the formula book gives what the demand gives."""
    load = (LIVE_PSF + DEAD_PSF) * PSF * floor.spacing_in * INCH
    span = floor.span_ft * 12 * INCH
    bent = simple_span_deflection(load, span, ei_lb_in2(floor) * PSI * INCH**4)
    assert float(np.asarray(bent)) / span == pytest.approx(ratio(floor, ei_lb_in2(floor)), rel=1e-6)


def test_a_second_board_halves_the_bending() -> None:
    """kind = practice. Doubled joists are told as L/343 where single ones are L/172."""
    single, double, _ = FLOORS
    told = double.n / single.n
    worked = ratio(single, ei_lb_in2(single)) / ratio(double, ei_lb_in2(double))
    assert worked == pytest.approx(2.0, rel=1e-6)
    # Both n are told as whole numbers.
    assert told == pytest.approx(worked, abs=1.5 / single.n + 2 * 0.5 / single.n)


def test_stiffer_boards_differ_by_their_e_alone() -> None:
    """kind = practice. Two boards of southern pine are told as L/396: an E of 1.15 times the others'."""
    double = FLOORS[1]
    share = STIFFER_N / double.n
    assert 1.1 < share < 1.2
    ei = ei_lb_in2(double) * double.n * ratio(double, ei_lb_in2(double))
    assert 1 / ratio(double, ei * share) == pytest.approx(STIFFER_N, rel=1e-6)
    assert 1.1e6 < E * share * ei / ei_lb_in2(double) < 1.25e6
