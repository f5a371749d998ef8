"""Moisture demands against printed values, and the wall between humidity and emission."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy import constants as si
from tests.demands.site import BOOK, cautions, check_validity_ends, valid, worked

from undercourse.demands import DEMANDS
from undercourse.judge.rulebook import unfit_limits
from undercourse.line.records import Condition, Limit
from undercourse.physics.moisture import series_permeance, vapor_flux

HUMIDITY = {"slab_rh", "screed_rh"}
EMISSION = {"slab_mver", "dish_mass_gain", "dish_area", "dish_hours", "dish_emission"}
SUBJECT = [name for name, demand in DEMANDS.items() if demand.subject == "moisture"]


def air(temperature: str, humidity: str) -> dict[str, str]:
    return {"air_temperature": temperature, "air_humidity": humidity}


@pytest.mark.parametrize(
    ("gain", "area", "hours", "printed"),
    [
        # Kind derived: 52.91 M/(A T) of ASTM F1869 (constant from memory, 92 %; exactly 24 000/453.592).
        ("1.0 g", "0.5 ft2", "60 h", 1.7637),
        ("2.0 g", "0.5 ft2", "65 h", 3.2561),
        ("3.0 g", "0.47 ft2", "72 h", 4.6907),
    ],
)
def test_dish_gives_the_customary_number(gain: str, area: str, hours: str, printed: float) -> None:
    """Grams, square feet and hours become lb per 1000 sq ft in 24 h."""
    low, high = worked("dish_emission", dish_mass_gain=gain, dish_area=area, dish_hours=hours)
    assert low == high == pytest.approx(printed, abs=1e-4)
    constant = 24 * 1000 / (si.lb / si.gram)
    assert low == pytest.approx(
        constant * float(gain.split()[0]) / (float(area.split()[0]) * float(hours.split()[0])), rel=1e-9
    )


@pytest.mark.parametrize("hours", ["59 h", "73 h"])
def test_dish_outside_its_exposure_says_nothing(hours: str) -> None:
    """Kind published: ASTM F1869 allows 60 to 72 h."""
    written = {"dish_mass_gain": "2 g", "dish_area": "0.5 ft2"}
    assert not valid("dish_emission", **written, dish_hours=hours).may.any()
    assert valid("dish_emission", **written, dish_hours="60..72 h").must.all()


def test_no_demand_reads_humidity_and_emission() -> None:
    """Each reading of a slab has demands of its own, in units that nothing can compare."""
    for name, demand in DEMANDS.items():
        named = {name, *demand.reads, *demand.takes}
        assert not (named & HUMIDITY and named & EMISSION), name
        assert demand.domain.unit is not None
        dimension = demand.domain.unit.dimension
        if named & HUMIDITY:
            assert dimension != "vapor emission", name
        if named & EMISSION:
            assert dimension == "vapor emission", name


def test_no_limit_holds_one_reading_against_the_other() -> None:
    """A limit of humidity never has its capacity in an emission, nor the other way."""
    limits = [*BOOK.practice.rules, *BOOK.practice.stops]
    limits += [limit for product in BOOK.line.products.values() for limit in product.limits]
    limits += [note.limit for note in BOOK.practice.cautions if note.limit is not None]
    for family, other in ((HUMIDITY, EMISSION), (EMISSION, HUMIDITY)):
        own = [limit for limit in limits if limit.demand in family]
        assert own
        assert all(limit.capacity.column not in other for limit in own)


def test_only_the_margin_may_carry_a_limit() -> None:
    """Waits, fluxes and pressures inform: a rule on one is refused when the rules are bound."""
    informing = [name for name in SUBJECT if DEMANDS[name].informs]
    assert set(SUBJECT) - set(informing) == {"condensation_margin"}
    for name in SUBJECT:
        rule = Limit("x", name, "at_most", BOOK.practice.rules[0].capacity, Condition(), None, "b", "c")
        found = unfit_limits(replace(BOOK.line, products={}), replace(BOOK.practice, rules=(rule,)))
        assert bool(found) is (name in informing)


@pytest.mark.parametrize(
    ("temperature", "humidity", "printed", "within"),
    [
        # Kind published: documentation example of an open psychrometrics library, ASHRAE equations.
        ("25 C", "80 %", 21.3094, 0.006),
        # Kind published: worked example of a painters' guide, read from a chart to a degree.
        ("16 C", "71 %", 11.0, 0.5),
        # Kind derived: ISO 13788 formula, to 0.001 K.
        ("20 C", "50 %", 9.269, 0.001),
        ("20 C", "60 %", 12.004, 0.001),
        ("23 C", "50 %", 12.023, 0.001),
        ("30 C", "70 %", 23.923, 0.001),
    ],
)
def test_dew_point_is_as_printed(temperature: str, humidity: str, printed: float, within: float) -> None:
    """The dew point, and with it how far a surface lies above it."""
    low, high = worked("dew_point", **air(temperature, humidity))
    assert low == high
    assert (low - 32) / 1.8 == pytest.approx(printed, abs=within)
    margin, _ = worked("condensation_margin", base_temperature="15 C", **air(temperature, humidity))
    assert margin / 1.8 == pytest.approx(15 - printed, abs=within)


def test_saturated_air_is_at_its_dew_point() -> None:
    """Above and below freezing, a surface as warm as saturated air has no margin."""
    for temperature in ("-15 C", "-0.1 C", "0 C", "0.1 C", "30 C"):
        margin = worked("condensation_margin", base_temperature=temperature, **air(temperature, "100 %"))
        assert margin == pytest.approx((0.0, 0.0), abs=1e-9)


def test_margin_of_half_known_air_holds_every_air() -> None:
    """Dense sampling: no air within the ranges gives a margin outside the range."""
    low, high = worked("condensation_margin", base_temperature="50..55 F", **air("60..75 F", "40..95 %"))
    found = [
        worked("condensation_margin", base_temperature=f"{base} F", **air(f"{warm} F", f"{damp} %"))[0]
        for base in np.linspace(50, 55, 4)
        for warm in np.linspace(60, 75, 7)
        for damp in np.linspace(40, 95, 12)
    ]
    assert low == pytest.approx(min(found), abs=1e-9)
    assert high == pytest.approx(max(found), abs=1e-9)


def test_bone_dry_air_has_a_margin() -> None:
    """0 % humidity counts as 1 %: a number, and a smaller margin than any drier air would give."""
    margin, _ = worked("condensation_margin", base_temperature="0 C", **air("20 C", "0 %"))
    assert margin == pytest.approx(
        worked("condensation_margin", base_temperature="0 C", **air("20 C", "1 %"))[0]
    )
    assert 40 < margin < 200


DAMP = {"slab_rh": "95 %", "base_temperature": "22 C", **air("22 C", "50 %")}


def test_damp_slab_drives_vapor_up() -> None:
    """Kind derived: slab at 22 °C and 95 % under a room at 22 °C and 50 %, 1189.1 Pa apart."""
    assert worked("vapor_pressure_difference", **DAMP) == pytest.approx((1189.1, 1189.1), abs=0.1)
    turned = {**DAMP, "slab_rh": "50 %", "air_humidity": "95 %"}
    assert worked("vapor_pressure_difference", **turned) == pytest.approx((-1189.1, -1189.1), abs=0.1)
    assert worked("vapor_flux", **turned, membrane_permeance="5 perm") == (0.0, 0.0)


@pytest.mark.parametrize(("permeance", "printed"), [(0.1, 0.02449), (0.5, 0.1224), (5.0, 1.2245)])
def test_flux_through_membrane_and_mortar_is_below_that_of_the_membrane(
    permeance: float, printed: float
) -> None:
    """Kind derived: 0.1, 0.5 and 5 perm alone pass 0.1204, 0.6019 and 6.020 lb a day, here in g/(m2 h).

    The mortar's range is worked a second way, as the sum of resistances.
    """
    low, high = (
        end * si.grain / si.foot**2 * 1000
        for end in worked("vapor_flux", **DAMP, membrane_permeance=f"{permeance} perm")
    )
    assert low < high < printed * 1.001
    # 3 mm of wet mortar (mu 6) and 12 mm of dry (mu 10) on still air of 2e-10 kg/(m s Pa).
    for end, air_m in ((high, 0.003 * 6), (low, 0.012 * 10)):
        stack = series_permeance([permeance * 5.72135e-11, 2e-10 / air_m])
        assert end == pytest.approx(float(vapor_flux(2510.29, 1321.21, stack)) * si.hour * 1000, rel=1e-4)


def test_flux_ranks_the_sheets_of_the_line_by_permeance() -> None:
    """Over one slab the tighter sheet passes less, at both ends; a perfect barrier passes nothing."""
    stated = {p.id: p.number("permeance") for p in BOOK.line.products.values() if "membrane" in p.roles}
    assert len(stated) > 5
    order = sorted((value, name) for name, value in stated.items() if value is not None)
    ends = [worked("vapor_flux", **DAMP, membrane_permeance=f"{v / 5.72135e-11} perm") for v, _ in order]
    assert [low for low, _ in ends] == sorted(low for low, _ in ends)
    assert [high for _, high in ends] == sorted(high for _, high in ends)
    assert worked("vapor_flux", **DAMP, membrane_permeance="0 perm") == (0.0, 0.0)


@pytest.mark.parametrize("name", [name for name in SUBJECT if DEMANDS[name].valid])
def test_formulas_say_where_they_hold(name: str) -> None:
    """Just outside either end of each range of validity nothing is said."""
    check_validity_ends(name)


def test_a_sweating_base_is_cautioned() -> None:
    """Only where the surface is surely nearer than 5 °F to the dew point."""
    inside = {"exposure": "interior", "base": "slab on ground"}
    words = "condenses"
    muggy = air("80 F", "70 %")  # dew point 69.3 F
    assert words in cautions(**inside, base_temperature="62 F", **muggy)
    assert words in cautions(**inside, base_temperature="70..73 F", **muggy)
    assert words not in cautions(**inside, base_temperature="75 F", **muggy)
    assert words not in cautions(**inside, base_temperature="62..80 F", **muggy)
    assert words not in cautions(**inside)


def test_dish_over_three_pounds_under_a_sheet_is_cautioned() -> None:
    """Kind published: old common limits of 3 and 5 lb; a caution names the dish and no humidity."""
    slab = {"base": "slab on ground", "exposure": "interior"}
    assert "The dish gives 4" in cautions(**slab, slab_mver="4 lb/1000ft2/24h")
    assert "The dish gives" not in cautions(**slab, slab_mver="2.5 lb/1000ft2/24h", slab_rh="95 %")
    assert "The dish gives" not in cautions(**slab, slab_rh="95 %")
