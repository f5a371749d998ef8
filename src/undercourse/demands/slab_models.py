"""Shrinkage still to come by two other models, each whole: no factor of one is put into another."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial

import numpy as np

from undercourse.base.columns import Floats, NumberColumn
from undercourse.base.domains import number_domain
from undercourse.base.frame import Frame
from undercourse.demands.concrete import (
    CONCRETE,
    CONCRETE_NOTATION,
    OPEN_DRYING,
    only_concrete,
    usual,
    volume_surface,
)
from undercourse.demands.record import (
    CHOICE,
    LOWERS,
    MEMORY,
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
    gl2000_mean_strength,
    gl2000_shrinkage,
    gl2000_time_constant,
    mc90_shrinkage,
    mc90_time_constant,
    remaining_shrinkage,
    root_share,
)

# Mean over characteristic strength of the model code.
_MORE_PA = 8e6


def _collapse(kind: str, frame: Frame, tables: Tables) -> dict[str, NumberColumn]:
    return {
        "volume_surface": volume_surface(frame),
        "curing": usual(tables, "curing"),
        "cement_kind": usual(tables, kind),
        "scatter": usual(tables, "scatter"),
    }


def _remaining(values: Values, mean: Floats, ultimate: Floats, constant: Floats) -> tuple[Floats, Values]:
    ultimate = ultimate * values["scatter"]
    drying = np.maximum(values["slab_age"] - values["curing"], 0.0)
    share = root_share(drying, constant)
    strain = remaining_shrinkage(ultimate, share)
    return strain, {
        "mean_strength_pa": mean,
        "ultimate": ultimate,
        "drying_s": drying,
        "constant_s": constant,
        "left": 1 - share,
    }


def _mc90(values: Values) -> tuple[Floats, Values]:
    mean = values["slab_strength"] + _MORE_PA
    ultimate = mc90_shrinkage(mean, values["service_humidity"], values["cement_kind"])
    return _remaining(values, mean, ultimate, mc90_time_constant(values["volume_surface"]))


def _gl2000(values: Values) -> tuple[Floats, Values]:
    mean = gl2000_mean_strength(values["slab_strength"])
    ultimate = gl2000_shrinkage(mean, values["service_humidity"], values["cement_kind"])
    return _remaining(values, mean, ultimate, gl2000_time_constant(values["volume_surface"]))


_READS = {
    "base": CHOICE,
    "slab_thickness": CHOICE,
    "slab_drying_faces": CHOICE,
    "service_humidity": LOWERS,
    "slab_strength": LOWERS,
    "slab_age": LOWERS,
}
_NOTATION = {
    **CONCRETE_NOTATION,
    "service_humidity": Notation("h", "1"),
    "cement_kind": Notation("b", "1", "kind of cement", "usual range of the model, not asked for"),
    "mean_strength_pa": Notation("f_m", "mpa", "mean strength"),
    "constant_s": Notation("K", "day", "time constant"),
    "value": Notation("ε", "micro", "shrinkage to come"),
}
_DRYING = Step("drying_s", "max(t - c, 0)")
_TIME = (Step("left", "1 - sqrt(d/(d + K))"), Step("value", "ε_u*r"))


def _demand(
    model: str,
    title: str,
    kernel: Callable[[Values], tuple[Floats, Values]],
    source: str,
    steps: tuple[Step, ...],
    valid: tuple[Valid, ...],
    rests_on: str,
) -> Demand:
    name = f"slab_remaining_shrinkage_{model}"
    return Demand(
        name=name,
        title=title,
        subject="slab",
        domain=number_domain(name, "um/m", 0, 5000),
        scale=RATIO,
        source=source,
        reads=_READS,
        takes={},
        through={"volume_surface": RAISES, "curing": RAISES, "cement_kind": RAISES, "scatter": RAISES},
        kernel=kernel,
        collapse=partial(_collapse, f"{model}_cement"),
        reason="Of {ultimate} in the end, {left} is still to come after {drying_s} of drying.",
        model_parameter="curing cement_kind scatter",
        branches=only_concrete,
        only_base=CONCRETE,
        notation=_NOTATION,
        steps=(*steps, *_TIME),
        valid=valid,
        cautions=(OPEN_DRYING,),
        rests_on=rests_on,
        informs=rests_on == MEMORY,
    )


DEMANDS = (
    _demand(
        "mc90",
        "Shrinkage of the slab still to come, by the Model Code of 1990",
        _mc90,
        "CEB-FIP Model Code 1990 as given in ACI 209.2R-08, A.3.1; half to one and a half as scatter",
        (
            Step("mean_strength_pa", "f + 8000000", "mean is 8 MPa above characteristic"),
            Step(
                "ultimate",
                "0.000001*(160 + 10*b*(9 - f_m/10000000))*1.55*(1 - h**3)*q",
                "ACI 209.2R-08, A.3.1",
            ),
            _DRYING,
            Step("constant_s", "350*86400*(v/0.05)**2", "ACI 209.2R-08, A.3.1"),
        ),
        (
            Valid("service_humidity", 0.40, 0.99, "CEB-FIP Model Code 1990: 40 to 99 %"),
            Valid(
                "slab_strength",
                12e6,
                80e6,
                "CEB-FIP Model Code 1990: C12 to C80; from memory (confidence 92)",
            ),
        ),
        PRACTICE,
    ),
    _demand(
        "gl2000",
        "Shrinkage of the slab still to come, by GL2000",
        _gl2000,
        "GL2000 as given in ACI 209.2R-08, A.4, from memory (confidence 88); 0.5 to 1.5 as scatter",
        (
            Step("mean_strength_pa", "1.1*f + 5000000", "ACI 209.2R-08, A.4.1; from memory"),
            Step("ultimate", "0.0009*b*sqrt(30000000/f_m)*(1 - 1.18*h**4)*q", "A.4.5; from memory"),
            _DRYING,
            Step("constant_s", "0.12*86400*(1000*v)**2", "A.4.5; from memory, first printed with 0.15"),
        ),
        (
            Valid("service_humidity", 0.20, 0.95, "above 96 % the model swells; from memory"),
            Valid("slab_strength", 10e6, 70e6, "mean strength 16 to 82 MPa; from memory (confidence 85)"),
        ),
        MEMORY,
    ),
)
