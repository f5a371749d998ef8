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
    factors_of,
    least_curing,
    mix_ranges,
    parts_of,
    remaining,
    to_come,
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


def _pick(tries: list[tuple[Floats, Floats, Floats]], greatest: bool) -> tuple[Floats, Floats, Floats]:
    """The best of several places, row by row."""
    best = tries[0]
    for other in tries[1:]:
        better = other[2] > best[2] if greatest else other[2] < best[2]
        first, second, third = (np.where(better, new, old) for new, old in zip(other, best, strict=True))
        best = (first, second, third)
    return best


def _sized_collapse(frame: Frame, tables: Tables) -> dict[str, NumberColumn]:
    age, curing, size = age_of(frame), usual(tables, "curing"), volume_surface(frame)

    def strain(at: Floats, cured: Floats, old: Floats) -> Floats:
        half_time = aci_half_time(at)
        return np.exp(-4.72 * at) * to_come(cured, old, half_time)

    tries = []
    for cured in (curing.low, curing.high, np.clip(age.low, curing.low, curing.high)):
        drying = np.maximum(age.low - cured, 0.0)
        at = np.clip(size_of_greatest_remainder(drying), size.low, size.high)
        tries.append((cured + 0 * at, at, strain(at, cured, age.low)))
    cured_most, size_most, _ = _pick(tries, greatest=True)
    tries = []
    for at in (size.low, size.high):
        cured = least_curing(curing, age.high, aci_half_time(at))
        tries.append((cured, at + 0 * cured, strain(at, cured, age.high)))
    cured_least, size_least, _ = _pick(tries, greatest=False)
    found = {
        "volume_surface": NumberColumn(size_least, size_most),
        "curing": NumberColumn(cured_least, cured_most),
    }
    return mix_ranges(frame, tables) | found


def _age_collapse(frame: Frame, tables: Tables) -> dict[str, NumberColumn]:
    mix, curing, size = mix_ranges(frame, tables), usual(tables, "curing"), volume_surface(frame)
    remainder = usual(tables, "remainder")
    air = mix["relative_humidity"]

    def bare(greatest: bool) -> Floats:
        """Strain over the remainder, before the factors of curing and size."""
        ends = {name: mix[name].high if greatest else mix[name].low for name in MIX}
        ends |= {"relative_humidity": air.low if greatest else air.high}
        ends |= {"curing": np.asarray(DAY), "volume_surface": np.asarray(0.0)}
        factors = factors_of(ends)
        strain = factors.ultimate_strain / factors.curing * ends["scatter"]
        return np.asarray(strain / (remainder.low if greatest else remainder.high))

    def age(at: Floats, cured: Floats, ratio: Floats) -> Floats:
        over = ratio * aci_curing_factor(cured) * np.exp(-4.72 * at) - 1
        return np.asarray(cured + aci_half_time(at) * np.maximum(over, 0.0))

    ratio, tries = bare(greatest=True), []
    for cured in (curing.low, curing.high):
        peak = size_of_greatest_age(ratio * aci_curing_factor(cured))
        at = np.clip(peak, size.low, size.high)
        tries.append((cured + 0 * at, at, age(at, cured, ratio)))
    cured_most, size_most, _ = _pick(tries, greatest=True)
    ratio, tries = bare(greatest=False), []
    for at in (size.low, size.high):
        turn = curing_of_least_age(ratio * np.exp(-4.72 * at), aci_half_time(at))
        cured = np.clip(turn, curing.low, curing.high)
        tries.append((cured, at + 0 * cured, age(at, cured, ratio)))
    cured_least, size_least, _ = _pick(tries, greatest=False)
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
