"""Strength of sawn joists: bending and shear, all boards of a joist together.

Framing whose stiffness is stated carries its own strength: its designer gives the share, so here it is 0.
"""

from __future__ import annotations

import numpy as np

from undercourse.base.columns import Bools, ChoiceColumn, Floats, NumberColumn
from undercourse.base.domains import number_domain
from undercourse.base.frame import Frame
from undercourse.demands.columns import number
from undercourse.demands.framing_deflection import CAUTION, DEAD_LINE, DEAD_READS, LIVE_LINE, dead_line
from undercourse.demands.framing_members import (
    MEMBER_READS,
    NOTATION,
    REPETITIVE,
    SAWN,
    SOURCE,
    WIDEST_REPETITIVE_M,
    Sawn,
    base_bits,
    sawn,
    sister_stiffness,
    usable,
)
from undercourse.demands.framing_runs import coefficient
from undercourse.demands.loads import LAYERS_WEIGHT, TILE_WEIGHT, tile_weight
from undercourse.demands.record import (
    LOWERS,
    RAISES,
    RATIO,
    Demand,
    Notation,
    Step,
    Tables,
    Values,
)

_STATED = ("framing_stated_as", "joist_ei", "framing_rated_l_over", "framing_rated_load")
SAWN_READS = {name: way for name, way in MEMBER_READS.items() if name not in _STATED}
READS = {**SAWN_READS, "live_load": RAISES, **DEAD_READS}
BOARDS_THROUGH = {"boards": LOWERS, "sister_share": LOWERS}
_ZERO = np.array([0.0])
_ONE, _REPETITIVE = np.array([1.0]), np.array([REPETITIVE])


def may_be_sawn(frame: Frame) -> tuple[Bools, Bools]:
    """Where the framing may be sawn joists, and where it is nothing else."""
    column, bit = frame["base"], base_bits(frame, (SAWN,))
    assert isinstance(column, ChoiceColumn)
    return (column.bits & bit) != 0, (column.bits & ~bit) == 0


def only_sawn(frame: Frame, computed: NumberColumn) -> NumberColumn:
    """The share of sawn joists; 0 where the framing is of another kind."""
    may, only = may_be_sawn(frame)
    return NumberColumn(np.where(only, computed.low, 0.0), np.where(may, computed.high, 0.0))


def boards(frame: Frame, tables: Tables) -> dict[str, NumberColumn]:
    """Boards of the joist's own size, and the sister in terms of one of them."""
    joist = sawn(frame, tables)
    ei, sister = joist.board["ei_nm2"], sister_stiffness(joist)
    return {"boards": joist.boards, "sister_share": NumberColumn(sister.low / ei.high, sister.high / ei.low)}


def repetitive(frame: Frame) -> NumberColumn:
    """Repetitive member factor: joists no more than 24 in apart share the load."""
    spacing = number(frame, "joist_spacing")
    widest = WIDEST_REPETITIVE_M + 1e-6
    return NumberColumn(
        np.where(spacing.high <= widest, _REPETITIVE, _ONE),
        np.where(spacing.low <= widest, _REPETITIVE, _ONE),
    )


def _least_depth(joist: Sawn) -> NumberColumn:
    depth = joist.board["depth_m"]
    if joist.sister is None:
        return depth
    other = joist.sister["depth_m"]
    low = np.where(joist.may_sister, np.minimum(depth.low, other.low), depth.low)
    return NumberColumn(low, np.where(joist.may_none, depth.high, np.minimum(depth.high, other.high)))


def bending_inputs(frame: Frame, tables: Tables) -> dict[str, NumberColumn]:
    """What bending strength enters through, before the repetitive member factor."""
    return {
        "moment_nm": usable(sawn(frame, tables), "moment_nm"),
        "moment_coefficient": coefficient(frame, "moment"),
    }


def shear_inputs(frame: Frame, tables: Tables) -> dict[str, NumberColumn]:
    """What shear strength enters through."""
    joist = sawn(frame, tables)
    return {
        "shear_n": usable(joist, "shear_n"),
        "depth_m": _least_depth(joist),
        "shear_coefficient": coefficient(frame, "shear"),
    }


def _bending_collapse(frame: Frame, tables: Tables) -> dict[str, NumberColumn]:
    return {
        **bending_inputs(frame, tables),
        **boards(frame, tables),
        "repetitive": repetitive(frame),
        "tile_weight": tile_weight(frame, tables),
    }


def _shear_collapse(frame: Frame, tables: Tables) -> dict[str, NumberColumn]:
    return {
        **shear_inputs(frame, tables),
        **boards(frame, tables),
        "tile_weight": tile_weight(frame, tables),
    }


def moment_capacity(values: Values) -> Floats:
    """Allowable moment of all boards, before the repetitive member factor. [N m]"""
    capacity: Floats = (values["boards"] + values["sister_share"]) * values["moment_nm"]
    return capacity


def shear_capacity(values: Values) -> Floats:
    """Allowable shear of all boards. [N]"""
    capacity: Floats = (values["boards"] + values["sister_share"]) * values["shear_n"]
    return capacity


def _bending(values: Values) -> tuple[Floats, Values]:
    load, dead = values["live_load"] * values["joist_spacing"], dead_line(values)
    moment = values["moment_coefficient"] * (load + dead) * values["joist_span"] ** 2
    capacity = values["repetitive"] * moment_capacity(values)
    working = {"load_n_m": load, "dead_n_m": dead, "moment_here_nm": moment, "capacity_nm": capacity}
    return moment / capacity, working


def _shear(values: Values) -> tuple[Floats, Values]:
    load, dead = values["live_load"] * values["joist_spacing"], dead_line(values)
    reach = values["shear_coefficient"] * values["joist_span"] - values["depth_m"]
    shear, capacity = np.maximum((load + dead) * reach, 0.0), shear_capacity(values)
    working = {"load_n_m": load, "dead_n_m": dead, "shear_here_n": shear, "capacity_n": capacity}
    return shear / capacity, working


_VALUES = "NDS Supplement 2018 by species, grade and size; less where a sister reaches its own first"
STRENGTH_NOTATION = {
    **{name: NOTATION[name] for name in ("live_load", "existing_dead_load", "joist_spacing", "joist_span")},
    **{name: NOTATION[name] for name in ("boards", "load_n_m", "dead_n_m")},
    "tile_weight": TILE_WEIGHT,
    "layers_weight": LAYERS_WEIGHT,
    "sister_share": Notation("ρ", "1", "stiffness of the sister over that of one board"),
    "repetitive": Notation("C_r", "1", "repetitive member factor", "NDS 4.3.9: 1.15 up to 24 in apart"),
    "moment_nm": Notation("M_a", "nm", "allowable moment of one board", _VALUES),
    "shear_n": Notation("V_a", "n", "allowable shear of one board", _VALUES),
    "depth_m": Notation("d", "mm", "depth of the joist"),
    "moment_coefficient": Notation("c_M", "1", "moment coefficient", NOTATION["live_coefficient"].source),
    "shear_coefficient": Notation("c_V", "1", "shear coefficient", NOTATION["live_coefficient"].source),
    "moment_here_nm": Notation("M", "nm", "largest moment"),
    "capacity_nm": Notation("M_n", "nm", "allowable moment of all boards"),
    "capacity_n": Notation("V_n", "n", "allowable shear of all boards"),
    "shear_here_n": Notation("V", "n", "shear a depth from the bearing"),
    "value": Notation("u", "1", "share of the capacity used"),
}
MOMENT_CAPACITY = Step(
    "capacity_nm", "C_r*(n + ρ)*M_a", "NDS allowable stress design; boards share by stiffness"
)
SHEAR_CAPACITY = Step("capacity_n", "(n + ρ)*V_a", "boards share by stiffness")
BENDING_THROUGH = {
    **BOARDS_THROUGH,
    "moment_nm": LOWERS,
    "repetitive": LOWERS,
    "moment_coefficient": RAISES,
    "tile_weight": RAISES,
}
SHEAR_THROUGH = {
    **BOARDS_THROUGH,
    "shear_n": LOWERS,
    "depth_m": LOWERS,
    "shear_coefficient": RAISES,
    "tile_weight": RAISES,
}

DEMANDS = (
    Demand(
        name="joist_bending",
        title="Joist bending strength used",
        subject="framing",
        domain=number_domain("joist_bending", "ratio", 0, 50),
        scale=RATIO,
        source=SOURCE,
        reads=READS,
        takes={"layers_weight": RAISES},
        through=BENDING_THROUGH,
        kernel=_bending,
        collapse=_bending_collapse,
        branches=only_sawn,
        only_base=(SAWN,),
        reason="The moment {moment_here_nm} uses the joist's bending capacity {capacity_nm}.",
        notation=STRENGTH_NOTATION,
        steps=(
            LIVE_LINE,
            DEAD_LINE,
            Step("moment_here_nm", "c_M*(w + w_g)*L**2", "beam theory, equal spans, worst loaded"),
            MOMENT_CAPACITY,
            Step("value", "M/M_n"),
        ),
        cautions=(CAUTION,),
    ),
    Demand(
        name="joist_shear",
        title="Joist shear strength used",
        subject="framing",
        domain=number_domain("joist_shear", "ratio", 0, 50),
        scale=RATIO,
        source=SOURCE,
        reads=READS,
        takes={"layers_weight": RAISES},
        through=SHEAR_THROUGH,
        kernel=_shear,
        collapse=_shear_collapse,
        branches=only_sawn,
        only_base=(SAWN,),
        reason="The shear {shear_here_n} a depth away from the bearing uses the capacity {capacity_n}.",
        notation=STRENGTH_NOTATION,
        steps=(
            LIVE_LINE,
            DEAD_LINE,
            Step(
                "shear_here_n",
                "max((w + w_g)*(c_V*L - d), 0)",
                "NDS 3.4.3.1: load within a depth of the bearing is left out",
            ),
            SHEAR_CAPACITY,
            Step("value", "V/V_n"),
        ),
        cautions=(CAUTION,),
    ),
)
