"""Shrinkage still to come after the day of tiling, by the plain ACI model with all its factors.

The plain model takes one time for any thickness; its other form, by size, is in ``slab_sizes``.
Longer curing lowers the shrinkage and shortens the drying. Where an open input has its extreme inside its
range, ``collapse`` puts it there, so that each end of the demand is worked out at one floor.
"""

from __future__ import annotations

import numpy as np

from undercourse.base.columns import Floats, NumberColumn
from undercourse.base.domains import number_domain
from undercourse.base.frame import Frame
from undercourse.demands.concrete import (
    CONCRETE,
    CONCRETE_NOTATION,
    DRY_AIR,
    OPEN_DRYING,
    SLAB_READS,
    humidity,
    only_concrete,
    usual,
    volume_surface,
)
from undercourse.demands.record import (
    LOWERS,
    PRACTICE,
    RAISES,
    RATIO,
    Demand,
    Notation,
    Step,
    Tables,
    Valid,
    Values,
)
from undercourse.physics.shrinkage import (
    ShrinkageFactors,
    aci_curing_factor,
    aci_shrinkage,
    hyperbolic_share,
    remaining_shrinkage,
)
from undercourse.physics.shrinkage_ends import (
    curing_of_least_remainder,
)

DAY = 86400.0
HALF_TIME_S = 35 * DAY
STANDARD_STRAIN = 780e-6
MIX = ("slump", "fines", "cement", "air", "scatter")
# Ranges that nothing said of a floor narrows.
NO_FACT = " ".join(("curing", *MIX))


def factors_of(values: Values) -> ShrinkageFactors:
    """The seven factors of a kernel's values."""
    return aci_shrinkage(
        values["curing"],
        values["relative_humidity"],
        values["volume_surface"],
        values["slump"],
        values["fines"],
        values["cement"],
        values["air"],
    )


def parts_of(factors: ShrinkageFactors, ultimate: Floats) -> Values:
    """The factors and the strain in the end as lines of a sheet."""
    return {
        "by_curing": factors.curing,
        "by_humidity": factors.humidity,
        "by_size": factors.size,
        "by_slump": factors.slump,
        "by_fines": factors.fines,
        "by_cement": factors.cement,
        "by_air": factors.air,
        "ultimate": ultimate,
    }


def remaining(values: Values, half_time: Floats) -> tuple[Floats, Values]:
    """Strain still to come with a half time, and the working."""
    factors = factors_of(values)
    ultimate = factors.ultimate_strain * values["scatter"]
    drying = np.maximum(values["slab_age"] - values["curing"], 0.0)
    share = hyperbolic_share(drying, half_time)
    strain = remaining_shrinkage(ultimate, share)
    return strain, {
        **parts_of(factors, ultimate),
        "drying_s": drying,
        "half_time_s": half_time,
        "left": 1 - share,
    }


def _plain(values: Values) -> tuple[Floats, Values]:
    return remaining(values, np.asarray(HALF_TIME_S))


def mix_ranges(frame: Frame, tables: Tables) -> dict[str, NumberColumn]:
    """Ranges of the mix, of the scatter and of the humidity in use."""
    return {name: usual(tables, name) for name in MIX} | {"relative_humidity": humidity(frame)}


def age_of(frame: Frame) -> NumberColumn:
    """Age of the concrete. [s]"""
    age = frame["slab_age"]
    assert isinstance(age, NumberColumn)
    return age


def to_come(curing: Floats, age: Floats, half_time: Floats | float) -> Floats:
    """What curing, age and half time together make of the strain; the other factors are apart."""
    drying = np.maximum(age - curing, 0.0)
    found: Floats = aci_curing_factor(curing) * half_time / (half_time + drying)
    return found


def two(first: Floats, second: Floats) -> Floats:
    """Two columns one above the other, each as long as the longer."""
    both = np.empty((2, max(first.size, second.size)))
    both[0], both[1] = first, second
    return both


def ends_of_curing(curing: NumberColumn, age: Floats) -> Floats:
    """The two times of curing, one above the other, at one of which most is to come."""
    return two(curing.low, np.minimum(curing.high, np.maximum(age, curing.low)))


def least_curing(curing: NumberColumn, age: Floats, half_time: Floats | float) -> Floats:
    """The curing at which least is to come: at the turning point, or where it ends with no drying at all."""
    last = np.minimum(curing.high, np.maximum(age, curing.low))
    turn: Floats = np.minimum(np.maximum(curing_of_least_remainder(age, half_time), curing.low), last)
    if (age >= curing.high).all():
        return turn
    end = curing.high
    return np.where(to_come(end, age, half_time) < to_come(turn, age, half_time), end, turn)


def pick(values: Floats, greatest: bool, *places: Floats) -> tuple[Floats, ...]:
    """Of two rows one above the other, what stands in each of ``places`` where ``values`` is extreme."""
    second = values[1] > values[0] if greatest else values[1] < values[0]
    return tuple(np.where(second, place[1], place[0]) for place in places)


def _plain_collapse(frame: Frame, tables: Tables) -> dict[str, NumberColumn]:
    found: dict[str, NumberColumn] = frame.keep(
        "slab_age", "plain shrinkage", lambda: _plain_ranges(frame, tables)
    )
    return found


def _plain_ranges(frame: Frame, tables: Tables) -> dict[str, NumberColumn]:
    age, curing = age_of(frame), usual(tables, "curing")
    ends = ends_of_curing(curing, age.low)
    (most,) = pick(to_come(ends, age.low, HALF_TIME_S), True, ends)
    least = least_curing(curing, age.high, HALF_TIME_S)
    found = {"volume_surface": volume_surface(frame), "curing": NumberColumn(least, most)}
    return mix_ranges(frame, tables) | found


def strain_without_mix(frame: Frame, tables: Tables) -> tuple[NumberColumn, NumberColumn]:
    """Remaining strain of the plain model before mix and scatter, and the factor of both.

    The first follows from facts of the floor, the second from none.
    """
    found: tuple[NumberColumn, NumberColumn] = frame.keep(
        "slab_age", "strain without mix", lambda: _without_mix(frame, tables)
    )
    return found


def _without_mix(frame: Frame, tables: Tables) -> tuple[NumberColumn, NumberColumn]:
    age, ranges = age_of(frame), _plain_collapse(frame, tables)
    # Both ends of a floor's own inputs under standard concrete, then both ends of the mix in standard air.
    floor = {"curing": two(ranges["curing"].low, ranges["curing"].high)}
    for name in ("relative_humidity", "volume_surface"):
        floor[name] = two(ranges[name].high, ranges[name].low)
    mix = {name: two(ranges[name].low, ranges[name].high) for name in MIX}
    factors = factors_of(floor | mix)
    own = factors.curing * factors.humidity * factors.size * STANDARD_STRAIN
    old = two(age.high, age.low)
    strain = own * HALF_TIME_S / (HALF_TIME_S + np.maximum(old - floor["curing"], 0.0))
    whole = factors.slump * factors.fines * factors.cement * factors.air * mix["scatter"]
    return only_concrete(frame, NumberColumn(strain[0], strain[1])), NumberColumn(whole[0], whole[1])


NOTATION = {
    **CONCRETE_NOTATION,
    "remainder": Notation("ε_r", "micro", "strain that may be to come", "0.2 mm a meter; no source"),
    "by_curing": Notation("γ_tc", "1", "factor for curing"),
    "by_humidity": Notation("γ_RH", "1", "factor for humidity"),
    "by_size": Notation("γ_vs", "1", "factor for size"),
    "by_slump": Notation("γ_s", "1", "factor for slump"),
    "by_fines": Notation("γ_ψ", "1", "factor for fines"),
    "by_cement": Notation("γ_c", "1", "factor for cement"),
    "by_air": Notation("γ_α", "1", "factor for air"),
    "half_time_s": Notation("f", "day", "time for half of it"),
    "value": Notation("ε", "micro", "shrinkage to come"),
}
EQUATIONS = "ACI 209.2R-08, A.1.1 (ACI 209R-92)"
ULTIMATE = (
    Step("by_curing", "1.202 - 0.2337*log10(c/86400)", EQUATIONS),
    Step("by_humidity", "", f"1.40 − 1.02 h up to h = 0.80, 3.00 − 3.0 h above; {EQUATIONS}"),
    Step("by_size", "1.2*exp(-4.72*v)", EQUATIONS),
    Step("by_slump", "0.89 + 1.61*s", EQUATIONS),
    Step("by_fines", "min(0.30 + 1.4*ψ, 0.90 + 0.2*ψ)", EQUATIONS),
    Step("by_cement", "0.75 + 0.00061*k", EQUATIONS),
    Step("by_air", "max(0.95 + 0.8*a, 1)", EQUATIONS),
    Step("ultimate", "0.00078*γ_tc*γ_RH*γ_vs*γ_s*γ_ψ*γ_c*γ_α*q", "780 µm/m under standard conditions"),
)
DRYING = Step("drying_s", "max(t - c, 0)")
LEFT = Step("left", "f/(f + d)", EQUATIONS)
VALUE = Step("value", "ε_u*r")
_MIX_WAYS = {"slump": RAISES, "fines": RAISES, "cement": RAISES, "air": RAISES, "scatter": RAISES}
WAYS = {"relative_humidity": LOWERS, "curing": RAISES, **_MIX_WAYS}
REASON = "Of {ultimate} in the end, {left} is still to come after {drying_s} of drying."
_THICK = Valid(
    "volume_surface", 0.0, 0.38, "ACI 209R-92, 2.5.5: size factor not below 0.2; from memory (confidence 85)"
)
READS_AGE = {**SLAB_READS, "slab_age": LOWERS}

REMAINING = Demand(
    name="slab_remaining_shrinkage",
    title="Shrinkage of the slab still to come",
    subject="slab",
    domain=number_domain("slab_remaining_shrinkage", "um/m", 0, 5000),
    scale=RATIO,
    source=f"{EQUATIONS}, all factors, half time 35 days; usual mixes and half to one and a half as scatter",
    reads=READS_AGE,
    takes={},
    through={**WAYS, "volume_surface": LOWERS},
    kernel=_plain,
    collapse=_plain_collapse,
    reason=REASON,
    model_parameter=NO_FACT,
    branches=only_concrete,
    only_base=CONCRETE,
    notation={key: value for key, value in NOTATION.items() if key != "remainder"},
    steps=(
        *ULTIMATE,
        DRYING,
        Step("half_time_s", "35*86400", f"moist cured; {EQUATIONS}"),
        LEFT,
        VALUE,
    ),
    valid=(DRY_AIR, _THICK),
    cautions=(OPEN_DRYING, "One time for any thickness: a thick slab is slower than this."),
    rests_on=PRACTICE,
)
DEMANDS = (REMAINING,)
