"""Width of movement joints in tile: the larger of the guideline's and the calculated one.

The calculation goes the way of ASTM C1472: movement over what the sealant takes, and a tolerance. Tile is
counted as free to move. No property of a membrane comes into it: none relaxes a joint.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from undercourse.base.columns import Floats, NumberColumn
from undercourse.base.domains import number_domain
from undercourse.base.frame import Frame
from undercourse.demands.concrete import CONCRETE_NOTATION, DRY_AIR, SLAB_READS, humidity
from undercourse.demands.loads import choice_range
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
    Valid,
    Values,
)
from undercourse.demands.slab_movement import base_opening
from undercourse.physics.joints import closing_movement, exterior_joint_width, joint_width

_INCH = 0.0254
# Joints are laid to about a sixteenth of an inch.
_TOLERANCE = NumberColumn(np.array([0.0]), np.array([_INCH / 16]))
# Floor tile; glazed wall tile and mosaic may have half of it.
_FLOOR_M, _SMALL_M = _INCH / 4, _INCH / 8
_NO_WIDTH_M = 1e-4


_SURE, _NOT, _MAYBE = (1.0, 1.0), (0.0, 0.0), (0.0, 1.0)
_INSIDE = ChoiceTable({"interior": _SURE, "exterior covered": _NOT, "exterior open": _NOT, "other": _MAYBE})
_OUTSIDE = ChoiceTable({"interior": _NOT, "exterior covered": _SURE, "exterior open": _SURE, "other": _MAYBE})
_WALL = {"wall": (_SMALL_M, _SMALL_M), "ceiling": (_SMALL_M, _SMALL_M)}
_MOSAIC = ChoiceTable({"no": (_FLOOR_M, _FLOOR_M), "yes": (_SMALL_M, _SMALL_M)})


def _place(frame: Frame) -> dict[str, NumberColumn]:
    """Whether the tile is inside and outside, 0 or 1 each, and the least width that any joint has."""
    surfaces = {name: _WALL.get(name, (_FLOOR_M, _FLOOR_M)) for name in frame.domain("surface").choices}
    by_surface, by_tile = choice_range(frame, "surface", surfaces), choice_range(frame, "mosaic", _MOSAIC)
    return {
        "inside": choice_range(frame, "exposure", _INSIDE),
        "outside": choice_range(frame, "exposure", _OUTSIDE),
        "least": NumberColumn(
            np.minimum(by_surface.low, by_tile.low), np.minimum(by_surface.high, by_tile.high)
        ),
    }


def _field_collapse(frame: Frame, tables: Tables) -> dict[str, NumberColumn]:
    made: dict[str, NumberColumn] = frame.keep("finish", "tile field", lambda: _field(frame, tables))
    return made


def _field(frame: Frame, tables: Tables) -> dict[str, NumberColumn]:
    return _place(frame) | {
        "expansion": choice_range(frame, "finish", tables.ranges["tile_expansion"]),
        "swelling": choice_range(frame, "finish", tables.ranges["tile_moisture_expansion"]),
        "tolerance": _TOLERANCE,
    }


def _over_collapse(frame: Frame, tables: Tables) -> dict[str, NumberColumn]:
    return _field_collapse(frame, tables) | {
        "opening": base_opening(frame, tables),
        "relative_humidity": humidity(frame),
    }


def _guideline(values: Values) -> Values:
    outside = exterior_joint_width(values["movement_joint_spacing"], values["yearly_temperature_range"])
    inside = np.maximum(values["least"], values["inside"] * values["grout_joint"])
    return {"exterior": outside, "guideline": np.maximum(inside, values["outside"] * outside)}


def _closing(values: Values) -> Floats:
    found: Floats = closing_movement(
        values["movement_joint_spacing"],
        values["expansion"],
        values["yearly_temperature_range"],
        values["swelling"],
        0.0,
    )
    return found


def _width(values: Values) -> tuple[Floats, Values]:
    working = _guideline(values)
    movement = _closing(values)
    calculated = joint_width(movement, 0.0, values["sealant_movement"], values["tolerance"])
    width: Floats = np.maximum(working["guideline"], calculated)
    return width, {**working, "closing": movement, "calculated": calculated, "width": width}


def _over(values: Values) -> tuple[Floats, Values]:
    working = _guideline(values)
    movement = _closing(values)
    larger = np.maximum(movement, values["opening"])
    calculated = joint_width(larger, 0.0, values["sealant_movement"], values["tolerance"])
    width: Floats = np.maximum(np.maximum(working["guideline"], values["base_joint_width"]), calculated)
    return width, {
        **working,
        "closing": movement,
        "larger": larger,
        "calculated": calculated,
        "width": width,
    }


def _share(width: Floats, values: Values) -> Floats:
    share: Floats = width / np.maximum(values["movement_joint_width"], _NO_WIDTH_M)
    return share


def _width_share(values: Values) -> tuple[Floats, Values]:
    width, working = _width(values)
    return _share(width, values), working


def _over_share(values: Values) -> tuple[Floats, Values]:
    width, working = _over(values)
    return _share(width, values), working


_GUIDE = "movement joint guideline EJ171 of the industry handbook, as quoted by trade magazines"
_NOTATION = {
    "movement_joint_spacing": Notation("L", "m"),
    "movement_joint_width": Notation("w", "mm"),
    "yearly_temperature_range": Notation("T", "k"),
    "grout_joint": Notation("g", "mm"),
    "sealant_movement": Notation("X", "1"),
    "base_joint_width": Notation("w_b", "mm"),
    "inside": Notation("i", "1", "1 inside, 0 outside", "by the place"),
    "outside": Notation("o", "1", "1 outside, 0 inside", "by the place"),
    "least": Notation(
        "b", "mm", "least width of any joint", f"1/4 in, 1/8 in in wall tile and mosaic; {_GUIDE}"
    ),
    "expansion": Notation("α", "1/k", "expansion of the tile", "by its finish"),
    "swelling": Notation("β", "micro", "moisture expansion of the tile", "by its finish; ISO 10545-10"),
    "tolerance": Notation("z", "mm", "tolerance of laying", "up to 1/16 in; common practice, no source"),
    "opening": Notation(
        "x", "mm", "opening of the joint below", "of the sheet on opening of a joint of the slab"
    ),
    "relative_humidity": CONCRETE_NOTATION["relative_humidity"],
    "exterior": Notation("e", "mm", "guideline outside"),
    "guideline": Notation("W_g", "mm", "width by the guideline"),
    "closing": Notation("M", "mm", "movement of the tile"),
    "larger": Notation("N", "mm", "larger of both movements"),
    "calculated": Notation("W_c", "mm", "calculated width"),
    "width": Notation("W_n", "mm", "width needed"),
    "value": Notation("W", "mm", "width needed"),
}
_GUIDELINE_STEPS = (
    Step(
        "exterior",
        "",
        "3/8 in up to 8 ft, 1/2 in above, 1/16 in more for each begun 15 °F of yearly range above"
        f" 100 °F; {_GUIDE}",
    ),
    Step("guideline", "max(max(b, i*g), o*e)", f"inside the grout joint, never under the least; {_GUIDE}"),
    Step("closing", "L*(α*T + β)", "tile free to move, heat and moisture at once"),
)
_FORM = "form of ASTM C1472: movement over what the sealant takes, and a tolerance"
_WIDTH_STEPS = (*_GUIDELINE_STEPS, Step("calculated", "M/X + z", _FORM))
_OVER_STEPS = (
    *_GUIDELINE_STEPS,
    Step("larger", "max(M, x)", "the tile closes it, the base opens it: not both at once"),
    Step("calculated", "N/X + z", _FORM),
)
_READS = {
    "exposure": CHOICE,
    "surface": CHOICE,
    "mosaic": CHOICE,
    "finish": CHOICE,
    "grout_joint": RAISES,
    "movement_joint_spacing": RAISES,
    "yearly_temperature_range": RAISES,
    "sealant_movement": LOWERS,
}
_THROUGH = {
    "inside": RAISES,
    "outside": RAISES,
    "least": RAISES,
    "expansion": RAISES,
    "swelling": RAISES,
    "tolerance": RAISES,
}
_OVER_READS = {
    **_READS,
    **SLAB_READS,
    "slab_age": CHOICE,
    "concrete_aggregate": CHOICE,
    "base_joint_spacing": CHOICE,
    "base_joint_width": RAISES,
}
_SHARE_NOTATION = {**_NOTATION, "value": Notation("u", "1", "width needed over width planned")}
_SHARE_STEP = Step("value", "W_n/max(w, 0.0001)")
_GUIDE_ENDS = Valid("movement_joint_spacing", 0.0, 25 * 0.3048, f"25 ft at the most; {_GUIDE}")
_CAUTIONS = (
    "Outside the guideline ends at joints 12 ft apart.",
    "A seal moves both ways about the width that it was laid at: laid hot it opens, laid cold it closes.",
)
_SOURCE = "larger of the movement joint guideline EJ171 and the form of ASTM C1472; some tile from memory"

WIDTH = Demand(
    name="movement_joint_least_width",
    title="Width that a movement joint in the tile needs",
    subject="movement joints",
    domain=number_domain("movement_joint_least_width", "in", 0, 4000),
    scale=RATIO,
    source=_SOURCE,
    reads=_READS,
    takes={},
    through=_THROUGH,
    kernel=_width,
    collapse=_field_collapse,
    reason="The guideline gives {guideline}; {closing} of movement asks for {calculated} of this sealant.",
    model_parameter="tolerance",
    notation=_NOTATION,
    steps=(*_WIDTH_STEPS, Step("value", "max(W_g, W_c)")),
    valid=(_GUIDE_ENDS,),
    cautions=_CAUTIONS,
    rests_on=MEMORY,
)
OVER = replace(
    WIDTH,
    name="base_joint_cover_width",
    title="Width that a soft joint over a joint of the base needs",
    domain=number_domain("base_joint_cover_width", "in", 0, 50_000),
    source=f"{_SOURCE}; opening of the base by ACI 209.2R-08, A.1.1",
    reads=_OVER_READS,
    through={**_THROUGH, "opening": RAISES, "relative_humidity": LOWERS},
    kernel=_over,
    collapse=_over_collapse,
    reason="The guideline gives {guideline}; {larger} of movement asks for {calculated} of this sealant.",
    steps=(
        *_OVER_STEPS,
        Step("value", "max(max(W_g, w_b), W_c)", f"never narrower than the joint of the base; {_GUIDE}"),
    ),
    valid=(_GUIDE_ENDS, DRY_AIR),
    cautions=(
        *_CAUTIONS,
        "A joint of the base is carried through where it stands; no membrane moves it by itself.",
    ),
)
DEMANDS = (
    WIDTH,
    OVER,
    replace(
        WIDTH,
        name="movement_joint_width_share",
        title="Width that a movement joint needs over the width planned",
        domain=number_domain("movement_joint_width_share", "ratio", 0, 1e9),
        reads={**_READS, "movement_joint_width": LOWERS},
        kernel=_width_share,
        reason="The joint needs {width}.",
        notation=_SHARE_NOTATION,
        steps=(*_WIDTH_STEPS, Step("width", "max(W_g, W_c)"), _SHARE_STEP),
    ),
    replace(
        OVER,
        name="base_joint_cover_share",
        title="Width that a soft joint over a joint of the base needs over the width planned",
        domain=number_domain("base_joint_cover_share", "ratio", 0, 1e9),
        reads={**_OVER_READS, "movement_joint_width": LOWERS},
        kernel=_over_share,
        reason="The joint needs {width}.",
        notation=_SHARE_NOTATION,
        steps=(*_OVER_STEPS, Step("width", "max(max(W_g, w_b), W_c)"), _SHARE_STEP),
    ),
)
