"""Properties of the floor-heating functions, and checks against other ways of solving them."""

import numpy as np
import pytest
import scipy.sparse as sparse
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import brentq
from scipy.sparse.linalg import spsolve
from scipy.special import ellipj, ellipk, erfc

from undercourse.physics import cables, heat, warm_up

powers = st.floats(20.0, 250.0)
above = st.floats(0.0, 0.3)
below = st.floats(0.1, 5.0)
temperatures = st.floats(5.0, 25.0)
NOTHING = ([], [], [])


@given(st.floats(0.0, 30.0))
def test_surface_excess_undoes_emission(excess_k):
    """Flux from excess and excess from flux are one curve."""
    assert heat.surface_excess(heat.upward_heat_flux(excess_k)) == pytest.approx(excess_k, abs=1e-9)


def test_a_floor_colder_than_the_room_gives_no_heat():
    """The curve is for warm floors; below the room it gives 0 and no undefined number."""
    assert heat.upward_heat_flux([-5.0, 0.0]).tolist() == [0.0, 0.0]


@given(powers, above, below, temperatures, temperatures)
def test_power_is_shared_once(power, up_r, down_r, room, under):
    """Up and down make up the power, and the downward formula of EN 1264-2 agrees with the split."""
    film = heat.UPWARD_FILM_W_M2_K
    split = heat.split_flux(power, up_r, down_r, room, under, film)
    assert split.up_w_m2 + split.down_w_m2 == pytest.approx(power, rel=1e-9)
    assert heat.downward_flux(split.up_w_m2, up_r + 1 / film, down_r, room, under) == pytest.approx(
        split.down_w_m2, abs=1e-8
    )
    assert heat.mean_surface_temperature(split.up_w_m2, room, film) == pytest.approx(split.surface_c)


@given(powers, above, below, st.floats(0.1, 3.0))
def test_better_insulation_below_sends_more_up(power, up_r, down_r, more):
    """Resistance below raises the upward flux, resistance above lowers it."""
    base = heat.split_flux(power, up_r, down_r, 20.0, 20.0, 10.8).up_w_m2
    assert heat.split_flux(power, up_r, down_r + more, 20.0, 20.0, 10.8).up_w_m2 > base
    assert heat.split_flux(power, up_r + more, down_r, 20.0, 15.0, 10.8).up_w_m2 < base


@settings(max_examples=50)
@given(powers, above, below)
def test_split_by_emission_matches_a_root_finder(power, up_r, down_r):
    """The bisection finds the balance that a general root finder finds."""
    split = heat.split_flux_by_emission(power, up_r, down_r, 20.0, 20.0)

    def unbalanced(excess):
        up = 8.92 * excess**1.1
        return power - up - (excess + up * up_r) / down_r

    excess = brentq(unbalanced, 0.0, 100.0, xtol=1e-12)
    assert split.surface_c - 20.0 == pytest.approx(excess, abs=1e-7)
    assert split.up_w_m2 + split.down_w_m2 == pytest.approx(power, rel=1e-6)


@given(st.floats(0.01, 0.99), st.floats(0.5, 6.0), st.floats(0.5, 6.0), st.floats(0.0, 2.0))
def test_combined_resistance_lies_between_its_paths(share, one, other, shared):
    """Lower limit at most upper limit, both within the two plain paths; equal paths give one value."""
    found = heat.combined_resistance([share, 1 - share], [one, other], shared)
    assert found.lower_m2k_w <= found.upper_m2k_w * (1 + 1e-12)
    assert min(one, other) + shared <= found.lower_m2k_w * (1 + 1e-12)
    assert found.upper_m2k_w <= (max(one, other) + shared) * (1 + 1e-12)


@given(st.floats(20.0, 500.0), st.floats(0.2, 1.0), st.floats(0.0, 4.0), st.floats(0.05, 2.0))
def test_insulated_slab_on_ground_loses_less(area, ratio, resistance, more):
    """More insulation never raises the transmittance, across the switch of formula too."""
    plain = heat.slab_on_ground_transmittance(area, area * ratio, 0.3, resistance, 2.0, 0.17)
    assert heat.slab_on_ground_transmittance(area, area * ratio, 0.3, resistance + more, 2.0, 0.17) < plain


def test_slab_on_ground_formulas_meet():
    """At d_t = B' the two forms of ISO 13370 agree to their printed coefficient (0.457)."""
    resistance = (10.0 - 0.3) / 2.0 - 0.21
    near = heat.slab_on_ground_transmittance(
        100.0, 20.0, 0.3, [resistance - 1e-9, resistance + 1e-9], 2.0, 0.17
    )
    assert near[0] == pytest.approx(near[1], rel=1e-3)


cable_cases = st.tuples(st.floats(20, 250), st.floats(0.04, 0.3), st.floats(0.008, 0.08), st.floats(0.5, 2.5))


@given(cable_cases, st.floats(5.0, 12.0))
def test_cable_ripple_keeps_the_mean(case, film):
    """Averaged over a spacing the surface gives exactly the upward flux; extremes lie over and between."""
    flux, spacing, cover, conductivity = case
    offsets = (np.arange(500) + 0.5) / 500 * spacing / 2
    excess = cables.cable_surface_excess(flux, spacing, cover, conductivity, film, offsets)
    assert np.mean(excess) == pytest.approx(flux / film, rel=1e-6)
    peak, trough = cables.cable_surface_excess(flux, spacing, cover, conductivity, film, [0.0, spacing / 2])
    assert trough - 1e-6 <= np.min(excess)
    assert np.max(excess) <= peak + 1e-6


@given(cable_cases, st.floats(1.05, 3.0))
def test_more_cover_or_closer_cables_lower_the_peak(case, factor):
    """The peak falls with cover and rises with spacing."""
    flux, spacing, cover, conductivity = case
    peak = cables.cable_surface_excess(flux, spacing, cover, conductivity, 10.8, 0.0)
    assert cables.cable_surface_excess(flux, spacing, cover * factor, conductivity, 10.8, 0.0) <= peak + 1e-6
    assert cables.cable_surface_excess(flux, spacing * factor, cover, conductivity, 10.8, 0.0) >= peak - 1e-6


@pytest.mark.parametrize(("spacing", "cover"), [(0.0762, 0.010), (0.15, 0.03), (0.1, 0.05)])
def test_ripple_under_a_perfect_film_is_an_elliptic_function(spacing, cover):
    """With a film without resistance the flux ratio is (2 K / pi) dn (DLMF 22.11.3)."""
    film = 1e9
    wanted = 2 * cover / spacing  # K'/K of the elliptic function
    parameter = brentq(lambda m: ellipk(1 - m) / ellipk(m) - wanted, 1e-12, 1 - 1e-12, xtol=1e-15)
    quarter = ellipk(parameter)
    offsets = np.linspace(0.0, spacing / 2, 7)
    ratio = cables.cable_surface_excess(film, spacing, cover, 1.0, film, offsets)
    dn = ellipj(offsets * 2 * quarter / spacing, parameter)[2]
    assert ratio == pytest.approx(2 * quarter / np.pi * dn, rel=1e-5)


def finite_difference_excess(flux, spacing, cover, conductivity, film, cells=96):
    """Surface excess over and between cables from a finite-volume grid over half a spacing."""
    dx, dz = spacing / 2 / cells, cover / cells
    index = np.arange(cells * cells).reshape(cells, cells)  # row 0 at the cable plane
    rows, columns, values = [], [], []

    def couple(a, b, conductance):
        rows.extend([a, b, a, b])
        columns.extend([a, b, b, a])
        values.extend([conductance, conductance, -conductance, -conductance])

    for row in range(cells):
        for column in range(cells):
            if column + 1 < cells:
                couple(index[row, column], index[row, column + 1], conductivity * dz / dx)
            if row + 1 < cells:
                couple(index[row, column], index[row + 1, column], conductivity * dx / dz)
    outlet = dx / (dz / 2 / conductivity + 1 / film)
    top = index[-1]
    matrix = sparse.coo_matrix((values, (rows, columns))).tocsr()
    matrix = matrix + sparse.coo_matrix((np.full(cells, outlet), (top, top)), shape=matrix.shape).tocsr()
    source = np.zeros(cells * cells)
    source[0] = flux * spacing / 2
    surface = spsolve(matrix, source)[top] * outlet / dx / film
    return surface[0], surface[-1]


@pytest.mark.parametrize("case", [(129.17, 0.0762, 0.016, 1.0, 10.8), (100.0, 0.15, 0.045, 1.2, 8.0)])
def test_cable_series_matches_finite_volumes(case):
    """An independent grid solution gives the same surface temperatures to a hundredth of a kelvin."""
    found = cables.cable_surface_excess(*case, [0.0, case[1] / 2])
    assert found == pytest.approx(finite_difference_excess(*case), abs=0.01)


@given(st.floats(60.0, 1e5), st.floats(0.001, 0.2), st.floats(0.1, 3.0), st.floats(5e5, 3e6))
def test_half_space_matches_the_error_function_solution(time, depth, conductivity, capacity):
    """The contour inversion reproduces the closed form (Carslaw and Jaeger 2.9) at any depth."""
    found = warm_up.warm_up_rise(
        time, 100.0, ([depth, 50.0], conductivity, capacity), 0.0, NOTHING, 0.0
    ).interfaces_k
    alpha = conductivity / capacity
    reach = np.sqrt(4 * alpha * time)
    for x, rise in ((0.0, found[0]), (depth, found[1])):
        exact = 2 * np.sqrt(alpha * time / np.pi) * np.exp(-((x / reach) ** 2)) - x * erfc(x / reach)
        assert rise == pytest.approx(100.0 / conductivity * exact, rel=1e-6, abs=1e-6)


FLOOR = ([0.006, 0.010], [1.0, 1.3], [1.8e6, 1.932e6])
WOOD = ([0.018, 0.100], [0.13, 0.04], [8.0e5, 4.0e4])


@given(powers, st.floats(60.0, 3e4), st.floats(1.01, 10.0))
def test_a_floor_under_power_only_gets_warmer(power, time, later):
    """Rise grows with time, in proportion to power, and the source stays warmest."""
    rise = warm_up.warm_up_rise([time, time * later], power, FLOOR, 10.8, WOOD, 5.9)
    assert rise.surface_k[0] < rise.surface_k[1]
    assert np.all(rise.source_k >= rise.surface_k)
    single = warm_up.warm_up_rise(time, 1.0, FLOOR, 10.8, WOOD, 5.9)
    assert rise.surface_k[0] == pytest.approx(power * single.surface_k, rel=1e-9)


def test_warm_up_ends_in_the_steady_split():
    """After a month the rise is that of the steady two-way split."""
    rise = warm_up.warm_up_rise(2.6e6, 129.167, FLOOR, 10.8, WOOD, 1 / 0.17)
    up_r, down_r = heat.layer_resistance(*FLOOR[:2]), heat.layer_resistance(*WOOD[:2]) + 0.17
    split = heat.split_flux(129.167, up_r, down_r, 20.0, 20.0, 10.8)
    assert rise.surface_k == pytest.approx(split.surface_c - 20.0, rel=1e-5)
    assert rise.source_k == pytest.approx(split.source_c - 20.0, rel=1e-5)


def test_cutting_a_layer_in_two_changes_nothing():
    """Layers are exact: a cut inside one material leaves the rise as it was."""
    whole = warm_up.warm_up_rise(1800.0, 100.0, ([0.03], 1.0, 1.8e6), 10.8, WOOD, 5.9).surface_k
    cut = warm_up.warm_up_rise(1800.0, 100.0, ([0.011, 0.019], 1.0, 1.8e6), 10.8, WOOD, 5.9).surface_k
    assert cut == pytest.approx(whole, rel=1e-9)


@settings(max_examples=25)
@given(st.floats(60.0, 2e4))
def test_warm_up_time_undoes_the_rise(time):
    """The time found for a rise is the time at which that rise stands."""
    rise = warm_up.warm_up_rise(time, 129.0, FLOOR, 10.8, WOOD, 5.9).surface_k
    assert warm_up.warm_up_time(rise, 129.0, FLOOR, 10.8, WOOD, 5.9) == pytest.approx(time, rel=1e-6)


def test_warm_up_time_is_infinite_where_the_floor_never_gets_there():
    """An unreachable rise is told apart from a long wait."""
    found = warm_up.warm_up_time([5.0, 50.0], 129.0, FLOOR, 10.8, WOOD, 5.9)
    assert np.isfinite(found).tolist() == [True, False]


def test_a_column_of_floors_agrees_with_its_rows():
    """Floors side by side in arrays give what each gives alone."""
    thickness = np.array([[0.006, 0.010], [0.012, 0.020]])
    column = warm_up.warm_up_rise([900.0, 3600.0], 100.0, (thickness, *FLOOR[1:]), 10.8, WOOD, 5.9)
    for row, time in enumerate((900.0, 3600.0)):
        alone = warm_up.warm_up_rise(time, 100.0, (thickness[row], *FLOOR[1:]), 10.8, WOOD, 5.9)
        assert column.interfaces_k[row].tolist() == pytest.approx(alone.interfaces_k.tolist(), rel=1e-12)
