"""Properties of evaporation, maturity and the open time ranking."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from undercourse.physics import climate

surfaces = st.floats(5.0, 45.0)
airs = st.floats(5.0, 40.0)
humidities = st.floats(0.05, 0.95)
winds = st.floats(0.0, 10.0)
FORMULAS = [climate.evaporation, climate.evaporation_rounded, climate.evaporation_by_pressure]


@pytest.mark.parametrize("formula", FORMULAS)
@given(surfaces, airs, humidities, winds, st.floats(0.01, 5.0))
def test_warmer_surface_and_drier_air_dry_faster(formula, surface, air, humidity, wind, more):
    """Evaporation rises with surface temperature and falls with humidity, in all three formulas."""
    base = formula(surface, air, humidity, wind)
    assert formula(surface + more, air, humidity, wind) > base
    assert formula(surface, air, min(humidity + more / 100, 1.0), wind) < base


@pytest.mark.parametrize("formula", FORMULAS)
@given(surfaces, humidities, winds, st.floats(0.01, 5.0))
def test_wind_speeds_drying(formula, surface, humidity, wind, more):
    """Where anything evaporates, wind makes it more."""
    assert formula(surface, surface, humidity, wind + more) > formula(surface, surface, humidity, wind)


@given(surfaces, humidities, winds)
def test_rounded_metric_form_reads_low(temperature, humidity, wind):
    """The common metric form is 2 to 6 % under its American original: the trap in its docstring."""
    exact = climate.evaporation(temperature, temperature, humidity, wind)
    assert 0.94 <= climate.evaporation_rounded(temperature, temperature, humidity, wind) / exact <= 0.98


@given(surfaces, airs, humidities, winds)
def test_american_form_equals_its_exact_metric_twin(surface, air, humidity, wind):
    """5.275 ((Tc + 17.778)^2.5 - r (Ta + 17.778)^2.5)(V + 4.02336) 1e-6, printed in an instrument note."""
    twin = 5.275e-6 * ((surface + 17.778) ** 2.5 - humidity * (air + 17.778) ** 2.5) * (wind * 3.6 + 4.02336)
    scale = 5.275e-6 * (surface + 17.778) ** 2.5 * (wind * 3.6 + 4.02336) / 3600
    found = climate.evaporation(surface, air, humidity, wind)
    assert found == pytest.approx(twin / 3600, abs=2e-4 * scale)


@given(st.floats(15.0, 40.0), humidities, st.floats(1.0, 8.0))
def test_three_formulas_agree_within_the_scatter_of_the_method(temperature, humidity, wind):
    """Around building-site weather the formulas stay within 40 % of each other (Hover 2020)."""
    values = [formula(temperature, temperature, humidity, wind) for formula in FORMULAS]
    assert max(values) <= 1.4 * min(values)


def test_dew_shows_as_negative_evaporation():
    """A cold surface in warm damp air gains water; the sign says so."""
    assert climate.evaporation(10.0, 30.0, 0.9, 1.0) < 0
    assert climate.evaporation_by_pressure(10.0, 30.0, 0.9, 1.0) < 0


histories = st.lists(st.tuples(st.floats(-10.0, 40.0), st.floats(0.0, 1e5)), min_size=1, max_size=6)


@given(histories, st.floats(3500.0, 5500.0))
def test_equivalent_age_of_a_constant_climate_is_its_factor(history, activation):
    """Age adds up step by step, and at the reference temperature it is plain time."""
    temperatures, durations = np.array(history).T
    total = climate.equivalent_age(temperatures, durations, activation, 23.0)
    steps = climate.age_factor(temperatures, activation, 23.0) * durations
    assert total == pytest.approx(sum(steps.tolist()), rel=1e-9)
    plain = climate.equivalent_age(np.full(len(durations), 23.0), durations, activation, 23.0)
    assert plain == pytest.approx(durations.sum(), rel=1e-12)


@given(histories, st.floats(0.1, 10.0))
def test_warmth_never_lowers_maturity(history, more):
    """A warmer history is at least as mature in either measure; none is negative."""
    temperatures, durations = np.array(history).T
    assert climate.maturity(temperatures, durations, 0.0) >= 0
    assert climate.maturity(temperatures + more, durations, 0.0) >= climate.maturity(
        temperatures, durations, 0.0
    )
    base = climate.equivalent_age(temperatures, durations, 5000.0, 20.0)
    assert climate.equivalent_age(temperatures + more, durations, 5000.0, 20.0) >= base


@given(surfaces, airs, humidities, winds)
def test_open_time_range_holds_its_ratio(surface, air, humidity, wind):
    """Low, ratio and high are in order; two like conditions are never told apart."""
    found = climate.open_time_index(surface, air, humidity, wind)
    assert found.low <= found.ratio <= found.high
    assert climate.compare_open_times(found, found) == 0


def test_open_time_ranks_only_what_the_scatter_allows():
    """A hot, windy day is told from the laboratory, a slightly warmer room is not."""
    laboratory = climate.open_time_index(23.0, 23.0, 0.5, 0.2)
    hot = climate.open_time_index(38.0, 35.0, 0.2, 3.0)
    warmer = climate.open_time_index(25.0, 25.0, 0.5, 0.2)
    assert climate.compare_open_times(laboratory, hot) == 1
    assert climate.compare_open_times(hot, laboratory) == -1
    assert climate.compare_open_times(laboratory, warmer) == 0


def test_open_time_without_drying_is_infinite_and_silent(recwarn):
    """Where dew falls the bed does not dry out; no warning, no negative time."""
    assert climate.open_time_index(10.0, 30.0, 0.9, 1.0).ratio == np.inf
    assert not recwarn.list


@given(st.floats(5, 40), st.floats(5, 40), st.floats(0.1, 0.95), st.floats(0, 10), st.floats(1.05, 3))
def test_spread_area_is_a_range_that_shrinks_with_wind_and_never_passes_the_class(t, air, rh, wind, more):
    """Low under high, both at most what the class test allows; more wind never more area."""
    calm = climate.spread_area(climate.open_time_index(t, air, rh, wind), 1200.0, 6e-4)
    windy = climate.spread_area(climate.open_time_index(t, air, rh, wind * more + 0.1), 1200.0, 6e-4)
    assert 0 < calm.low_m2 <= calm.high_m2 <= 1200.0 * 6e-4 * (1 + 1e-12)
    assert windy.low_m2 <= calm.low_m2
