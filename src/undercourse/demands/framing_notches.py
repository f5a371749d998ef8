"""Notches in sawn joists: the prescribed limits, and shear beside a notch over the bearing.

Neither lets a notched joist pass: that is an engineer's to say. They only tell how far it is out.
"""

from __future__ import annotations

import numpy as np

from undercourse.base.columns import Floats, NumberColumn
from undercourse.base.domains import number_domain
from undercourse.base.frame import Frame
from undercourse.demands.framing_deflection import CAUTION, DEAD_LINE, LIVE_LINE, dead_line
from undercourse.demands.framing_members import SAWN
from undercourse.demands.framing_strength import (
    BOARDS_THROUGH,
    READS,
    SHEAR_CAPACITY,
    STRENGTH_NOTATION,
    boards,
    only_sawn,
    shear_capacity,
    shear_inputs,
)
from undercourse.demands.loads import choice_range, tile_weight
from undercourse.demands.record import (
    CHOICE,
    LOWERS,
    MEMORY,
    RAISES,
    RATIO,
    ChoiceTable,
    Demand,
    Notation,
    Step,
    Tables,
    Values,
)

# In the middle third no notch is allowed: any depth at all is far past its limit.
_NOT_ALLOWED = 1000.0
# Depth and length of a notch are held to d / these (NDS 4.4.3): d/4 at the bearing; d/6 and d/3 outside
# the middle third.
_DEPTH_PARTS = ChoiceTable(
    {
        "none": (0.0, 0.0),
        "at the bearing": (4.0, 4.0),
        "outer third": (6.0, 6.0),
        "middle third": (_NOT_ALLOWED, _NOT_ALLOWED),
        "other": (0.0, _NOT_ALLOWED),
    }
)
_LENGTH_PARTS = ChoiceTable(
    {
        "none": (0.0, 0.0),
        "at the bearing": (0.0, 0.0),
        "outer third": (3.0, 3.0),
        "middle third": (3.0, 3.0),
        "other": (0.0, 3.0),
    }
)
_AT_BEARING = ChoiceTable(
    dict.fromkeys(_DEPTH_PARTS, (0.0, 0.0)) | {"at the bearing": (1.0, 1.0), "other": (0.0, 1.0)}
)
# What is left over a notch at the least: past it the joist is as good as cut through.
_LEAST_LEFT = 0.05


def _notch_collapse(frame: Frame, tables: Tables) -> dict[str, NumberColumn]:
    return {
        "depth_m": choice_range(frame, "joist_size", tables.ranges["joist_depth"]),
        "depth_parts": choice_range(frame, "notch_place", _DEPTH_PARTS),
        "length_parts": choice_range(frame, "notch_place", _LENGTH_PARTS),
    }


def _notch(values: Values) -> tuple[Floats, Values]:
    deep = values["depth_parts"] * values["notch_depth"] / values["depth_m"]
    long = values["length_parts"] * values["notch_length"] / values["depth_m"]
    return np.maximum(deep, long), {"deep": deep, "long": long}


def _shear_collapse(frame: Frame, tables: Tables) -> dict[str, NumberColumn]:
    return {
        **shear_inputs(frame, tables),
        **boards(frame, tables),
        "tile_weight": tile_weight(frame, tables),
        "at_bearing": choice_range(frame, "notch_place", _AT_BEARING),
    }


def _notched_shear(values: Values) -> tuple[Floats, Values]:
    load, dead = values["live_load"] * values["joist_spacing"], dead_line(values)
    reaction = values["shear_coefficient"] * (load + dead) * values["joist_span"]
    left = np.maximum(1.0 - values["notch_depth"] / values["depth_m"], _LEAST_LEFT)
    whole = shear_capacity(values)
    share = values["at_bearing"] * reaction / (whole * left**3)
    return share, {
        "load_n_m": load,
        "dead_n_m": dead,
        "reaction_n": reaction,
        "left": left,
        "capacity_n": whole,
    }


_NOTATION = {
    **STRENGTH_NOTATION,
    "notch_depth": Notation("h", "mm"),
    "notch_length": Notation("l", "mm"),
    "depth_parts": Notation("k_h", "1", "part of the joist's depth that a notch may be deep", "NDS 4.4.3"),
    "length_parts": Notation("k_l", "1", "part of the joist's depth that a notch may be long", "NDS 4.4.3"),
    "deep": Notation("u_h", "1", "share of the depth allowed"),
    "long": Notation("u_l", "1", "share of the length allowed"),
    "at_bearing": Notation("k_b", "1", "1 for a notch at the bearing"),
    "reaction_n": Notation("R", "n", "largest shear at a bearing"),
    "left": Notation("f", "1", "share of the depth left over the notch"),
    "value": Notation("u", "1", "share of what is allowed"),
}
_ENGINEER = "Whether a notched joist stays is a structural engineer's to say, whatever the figure."

DEMANDS = (
    Demand(
        name="joist_notch",
        title="Notch against the prescribed limits",
        subject="framing",
        domain=number_domain("joist_notch", "ratio", 0, 5000),
        scale=RATIO,
        source="NDS 2018, 4.4.3; IRC R502.8.1, text of it on a building guide page",
        reads={
            "base": CHOICE,
            "joist_size": CHOICE,
            "notch_place": CHOICE,
            "notch_depth": RAISES,
            "notch_length": RAISES,
        },
        takes={},
        through={"depth_m": LOWERS, "depth_parts": RAISES, "length_parts": RAISES},
        kernel=_notch,
        collapse=_notch_collapse,
        branches=only_sawn,
        only_base=(SAWN,),
        reason="The notch uses {deep} of the depth and {long} of the length that {depth_m} of joist allow.",
        notation=_NOTATION,
        steps=(
            Step(
                "deep",
                "k_h*h/d",
                "at most d/4 at the bearing, d/6 in an outer third; none in the middle third",
            ),
            Step("long", "k_l*l/d", "at most d/3 outside the bearing"),
            Step("value", "max(u_h, u_l)"),
        ),
        cautions=(_ENGINEER,),
    ),
    Demand(
        name="joist_notched_shear",
        title="Joist shear beside a notch at the bearing",
        subject="framing",
        domain=number_domain("joist_notched_shear", "ratio", 0, 100000),
        scale=RATIO,
        source="NDS 2018, 3.4.3.2 (a), square notch on the tension face, from memory (confidence 95)",
        reads={**READS, "notch_place": CHOICE, "notch_depth": RAISES},
        takes={"layers_weight": RAISES},
        through={
            **BOARDS_THROUGH,
            "shear_n": LOWERS,
            "depth_m": LOWERS,
            "shear_coefficient": RAISES,
            "tile_weight": RAISES,
            "at_bearing": RAISES,
        },
        kernel=_notched_shear,
        collapse=_shear_collapse,
        branches=only_sawn,
        only_base=(SAWN,),
        reason="The reaction {reaction_n} uses what is left of the capacity {capacity_n} over the notch.",
        notation=_NOTATION,
        steps=(
            LIVE_LINE,
            DEAD_LINE,
            Step("reaction_n", "c_V*(w + w_g)*L"),
            SHEAR_CAPACITY,
            Step("left", "max(1 - h/d, 0.05)"),
            Step("value", "k_b*R/(V_n*f**3)", "width times remaining depth times its share squared"),
        ),
        cautions=(_ENGINEER, CAUTION),
        rests_on=MEMORY,
    ),
)
