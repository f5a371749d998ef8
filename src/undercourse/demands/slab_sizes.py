"""Shrinkage still to come with the time by the slab's size, and the age at which little is left.

Neither is monotone in thickness: a thicker slab shrinks less and later. ``collapse`` finds the size and
the curing at which an end of the demand lies, so that each end is worked out at one floor.
"""

from __future__ import annotations

import numpy as np

from undercourse.base.columns import Floats, NumberColumn
from undercourse.base.domains import number_domain
from undercourse.base.frame import Frame
from undercourse.demands.concrete import (
    CONCRETE,
    DRY_AIR,
    OPEN_DRYING,
    SLAB_READS,
    only_concrete,
    usual,
    volume_surface,
)
from undercourse.demands.record import (
    LOWERS,
    MEMORY,
    RAISES,
    RATIO,
    Demand,
    Notation,
    Step,
    Tables,
    Valid,
    Values,
)
from undercourse.demands.slab import (
    DAY,
    DRYING,
    EQUATIONS,
    LEFT,
    MIX,
    NO_FACT,
    NOTATION,
    READS_AGE,
    REASON,
    ULTIMATE,
    VALUE,
    WAYS,
    age_of,
    ends_of_curing,
    factors_of,
    least_curing,
    mix_ranges,
    parts_of,
    pick,
    remaining,
    to_come,
    two,
)
from undercourse.physics.shrinkage import (
    aci_curing_factor,
    aci_half_time,
    hyperbolic_time,
    share_for_remainder,
)
from undercourse.physics.shrinkage_ends import (
    curing_of_least_age,
    size_of_greatest_age,
    size_of_greatest_remainder,
)


def _sized(values: Values) -> tuple[Floats, Values]:
    return remaining(values, aci_half_time(values["volume_surface"]))


def _age(values: Values) -> tuple[Floats, Values]:
    factors = factors_of(values)
    ultimate = factors.ultimate_strain * values["scatter"]
    half_time = aci_half_time(values["volume_surface"])
    drying = hyperbolic_time(share_for_remainder(ultimate, values["remainder"]), half_time)
    age: Floats = values["curing"] + drying
    return age, {**parts_of(factors, ultimate), "half_time_s": half_time, "drying_s": drying}


def _within(places: Floats, size: NumberColumn) -> Floats:
    found: Floats = np.minimum(np.maximum(places, size.low), size.high)
    return found


def _sized_collapse(frame: Frame, tables: Tables) -> dict[str, NumberColumn]:
    age, curing, size = age_of(frame), usual(tables, "curing"), volume_surface(frame)

    def strain(at: Floats, cured: Floats, old: Floats) -> Floats:
        found: Floats = np.exp(-4.72 * at) * to_come(cured, old, aci_half_time(at))
        return found

    cured = ends_of_curing(curing, age.low)
    at = _within(size_of_greatest_remainder(age.low - cured), size)
    cured_most, size_most = pick(strain(at, cured, age.low), True, cured, at)
    at = two(size.low, size.high)
    cured = least_curing(curing, age.high, aci_half_time(at))
    cured_least, size_least = pick(strain(at, cured, age.high), False, cured, at)
    return mix_ranges(frame, tables) | {
        "volume_surface": NumberColumn(size_least, size_most),
        "curing": NumberColumn(cured_least, cured_most),
    }


def _age_collapse(frame: Frame, tables: Tables) -> dict[str, NumberColumn]:
    mix, curing, size = mix_ranges(frame, tables), usual(tables, "curing"), volume_surface(frame)
    remainder, air = usual(tables, "remainder"), mix["relative_humidity"]
    # Strain over the remainder before the factors of curing and size: its least, then its greatest.
    ends = {name: two(mix[name].low, mix[name].high) for name in MIX}
    ends |= {"relative_humidity": two(air.high, air.low)}
    factors = factors_of(ends | {"curing": np.asarray(DAY), "volume_surface": np.asarray(0.0)})
    bare = factors.ultimate_strain / factors.curing * ends["scatter"]
    least, most = bare[0] / remainder.high, bare[1] / remainder.low

    def age(at: Floats, cured: Floats, ratio: Floats) -> Floats:
        over = ratio * aci_curing_factor(cured) * np.exp(-4.72 * at) - 1
        found: Floats = cured + aci_half_time(at) * np.maximum(over, 0.0)
        return found

    cured = two(curing.low, curing.high)
    at = _within(size_of_greatest_age(most * aci_curing_factor(cured)), size)
    cured_most, size_most = pick(age(at, cured, most), True, cured, at)
    at = two(size.low, size.high)
    cured = _within(curing_of_least_age(least * np.exp(-4.72 * at), aci_half_time(at)), curing)
    cured_least, size_least = pick(age(at, cured, least), False, cured, at)
    return mix | {
        "remainder": remainder,
        "volume_surface": NumberColumn(size_least, size_most),
        "curing": NumberColumn(cured_least, cured_most),
    }


_BY_SIZE = Step("half_time_s", "2246400*exp(14.173228*v)", "26 exp(0.36 V/S), days and inches; from memory")
_SIZES = Valid(
    "volume_surface", 0.0, 0.1524, "sizes that the form was made for, to 6 in; from memory (confidence 85)"
)
DEMANDS = (
    Demand(
        name="slab_remaining_shrinkage_by_size",
        title="Shrinkage of the slab still to come, with the time by its size",
        subject="slab",
        domain=number_domain("slab_remaining_shrinkage_by_size", "um/m", 0, 5000),
        scale=RATIO,
        source=f"{EQUATIONS}, all factors; half time by size from memory (confidence 90); usual mixes",
        reads=READS_AGE,
        takes={},
        through={**WAYS, "volume_surface": RAISES},
        kernel=_sized,
        collapse=_sized_collapse,
        reason=REASON,
        model_parameter=NO_FACT,
        branches=only_concrete,
        only_base=CONCRETE,
        notation=NOTATION,
        steps=(*ULTIMATE, DRYING, _BY_SIZE, LEFT, VALUE),
        valid=(DRY_AIR, _SIZES),
        cautions=(OPEN_DRYING,),
        rests_on=MEMORY,
        informs=True,
    ),
    Demand(
        name="slab_age_for_remainder",
        title="Age of the slab with 200 µm/m of shrinkage still to come",
        subject="slab",
        domain=number_domain("slab_age_for_remainder", "day", 0, 1e9),
        scale=RATIO,
        source=f"{EQUATIONS}, all factors; half time by size from memory (confidence 90); usual mixes",
        reads=SLAB_READS,
        takes={},
        through={**WAYS, "volume_surface": RAISES, "remainder": LOWERS},
        kernel=_age,
        collapse=_age_collapse,
        reason="Of {ultimate} in the end, all but 200 µm/m has come after {drying_s} of drying.",
        model_parameter=NO_FACT,
        branches=only_concrete,
        only_base=CONCRETE,
        notation={**NOTATION, "value": Notation("t", "day", "age of the slab")},
        steps=(
            *ULTIMATE,
            _BY_SIZE,
            Step("drying_s", "f*max(ε_u/ε_r - 1, 0)", "share 1 − ε_r/ε_u of the end, t/(f + t) turned round"),
            Step("value", "c + d"),
        ),
        valid=(DRY_AIR, _SIZES),
        cautions=(OPEN_DRYING, "A wait for planning: nobody promises the shrinkage of one slab."),
        rests_on=MEMORY,
        informs=True,
    ),
)
