"""Short formulas of heated floors against the long ones, and the ways in which their inputs move them."""

from __future__ import annotations

import numpy as np
import pytest

from undercourse.physics.cable_ripple import cable_ripple
from undercourse.physics.cables import cable_surface_excess
from undercourse.physics.hydronic import pipe_transfer
from undercourse.physics.warm_floor import surface_rise
from undercourse.physics.warm_up import warm_up_rise
from undercourse.physics.water_floor import usual_pipe_transfer

RNG = np.random.default_rng(8)


def spread(low: float, high: float, size: int) -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
    """Numbers from end to end, as many in each decade."""
    return np.exp(RNG.uniform(np.log(low), np.log(high), size))


def test_crest_is_that_of_the_long_series() -> None:
    """Four hundred harmonics give the same surface over the cable, to 0.2 % of the crest."""
    size = 200
    spacing, ratio = spread(0.02, 0.32, size), spread(0.05, 2.0, size)
    conductivity, film = spread(0.3, 3.5, size), RNG.uniform(1.0, 13.0, size)
    cover = spacing * ratio
    crest = cable_ripple(spacing, cover, conductivity, film).crest_m2k_w
    excess = cable_surface_excess(1.0, spacing, cover, conductivity, film, 0.0)
    np.testing.assert_allclose(crest, excess - 1.0 / film, rtol=2e-3, atol=2e-6)


@pytest.mark.parametrize(("name", "way"), [("spacing", 1), ("cover", -1), ("conductivity", -1)])
def test_unevenness_moves_one_way(name: str, way: int) -> None:
    """Wider spacing raises crest and dip, more cover and better conduction lower them."""
    size = 20_000
    here = {"spacing": spread(0.02, 0.32, size), "cover": spread(0.004, 0.3, size)}
    here["conductivity"] = spread(0.03, 3.5, size)
    film = 100 / 9

    def found(at: dict[str, np.ndarray[tuple[int, ...], np.dtype[np.float64]]]) -> list[np.ndarray]:  # type: ignore[type-arg]
        ripple = cable_ripple(at["spacing"], at["cover"], at["conductivity"], film)
        # A dip past the whole film counts as without bound.
        return [ripple.crest_m2k_w, np.where(ripple.dip_m2k_w * film >= 1, 10.0, ripple.dip_m2k_w)]

    more = {**here, name: here[name] * 1.02}
    for before, after in zip(found(here), found(more), strict=True):
        assert (way * (after - before) >= -1e-12).all()


def test_first_rise_is_that_of_the_layered_floor() -> None:
    """One even layer on a deep base: twelve real terms against a contour of twenty."""
    for resistance, capacity, contact, effusivity, film in (
        (0.0137, 30120.0, 0.017, 322.0, 11.1),
        (0.0137, 30120.0, 0.003, 1683.0, 11.1),
        (0.10, 120_000.0, 0.05, 1000.0, 10.0),
        (0.02, 20_000.0, 0.0, 500.0, 0.0),
    ):
        layer = [[0.02], [0.02 / resistance], [capacity / 0.02]]
        base = [[0.001, 20.0], [0.001 / max(contact, 1e-9), 1.0], [1.0, effusivity**2]]
        for time in (1800.0, 3600.0, 7200.0):
            long = warm_up_rise(time, 129.0, layer, film, base, 0.0).surface_k
            short = surface_rise(time, 129.0, resistance, capacity, film, contact, effusivity)
            ease = 2e-3 if time > 0.2 * resistance * capacity else 2e-2
            assert short == pytest.approx(float(long), rel=ease)


def test_layers_that_store_nothing_or_are_none_are_the_limit_of_thin_ones() -> None:
    """Derived: steady at once over a base that stores nothing; else as for a hundred thousandth of it."""
    with np.errstate(all="raise"):
        steady = surface_rise(3600.0, 100.0, [0.0004445, 0.0], 0.0, 11.1, 0.0336, 0.0)
        none = surface_rise(3600.0, 100.0, [0.0137, 0.0, 0.0137], 0.0, [11.1, 11.1, 0.0], 0.0336, 1000.0)
    assert steady == pytest.approx(100.0 / 11.1, rel=1e-9)
    thin = surface_rise(3600.0, 100.0, [0.0137, 1e-9, 0.0137], 0.3, [11.1, 11.1, 0.0], 0.0336, 1000.0)
    assert none == pytest.approx(thin, rel=1e-3)


def test_usual_pipes_are_those_of_the_full_formula() -> None:
    """20 mm pipes under 45 mm of screed, whose own factors are 1 (coefficients from memory, 88 %)."""
    spacing, covering = np.meshgrid(np.linspace(0.05, 0.375, 9), np.linspace(0.0, 0.15, 7))
    full = pipe_transfer(spacing, 0.045, 1.2, covering, 0.020).coefficient_w_m2_k
    np.testing.assert_allclose(usual_pipe_transfer(spacing, covering, 1.2), full, rtol=1e-9)


def test_long_columns_are_what_their_rows_are() -> None:
    """Worked piece by piece, as a block or one by one: the same numbers."""
    size = 700
    columns = spread(0.02, 0.3, size), spread(0.005, 0.1, size), spread(0.3, 3.0, size)
    long = cable_ripple(*columns, 11.0)
    block = cable_ripple(*(column.reshape(7, 100) for column in columns), 11.0)
    np.testing.assert_array_equal(block.dip_m2k_w.ravel(), long.dip_m2k_w)
    rise = surface_rise(3600.0, 100.0, columns[1], 1e5 * columns[0], 11.0, 0.0, 1000.0)
    for row in (0, 255, 256, 699):
        one = cable_ripple(*(column[row] for column in columns), 11.0)
        assert one.crest_m2k_w == pytest.approx(long.crest_m2k_w[row], rel=1e-12)
        alone = surface_rise(3600.0, 100.0, columns[1][row], 1e5 * columns[0][row], 11.0, 0.0, 1000.0)
        assert alone == pytest.approx(rise[row], rel=1e-9)
