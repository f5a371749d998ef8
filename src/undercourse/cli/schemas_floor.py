"""JSON Schemas of what lies on a floor beside its sheets: movement joints and heating cable."""

from __future__ import annotations

from undercourse.cli.schema_parts import (
    COUNT,
    NUMBER,
    POINT,
    SIZE,
    TEXT,
    TEXTS,
    WORD,
    Schema,
    maybe,
    rows,
    shape,
    words,
)
from undercourse.layout.fields import KINDS

LINE: Schema = {"type": "array", "items": POINT, "minItems": 2}
MOVEMENT_JOINTS = shape(
    {
        "longest_field_m": maybe(SIZE),
        "longest_field_from": TEXT,
        "width_m": SIZE,
        "width_from": WORD,
        "direction_deg": NUMBER,
        "joints": rows(shape({"kind": words(*KINDS), "line": LINE, "length_m": SIZE})),
        "doorways": rows(LINE),
        "fields": rows(
            shape({"id": WORD, "long_m": SIZE, "short_m": SIZE, "area_m2": SIZE, "outline": rows(POINT)})
        ),
        "joint_length_m": SIZE,
        "least_length_m": SIZE,
        "doorway_length_m": SIZE,
        "edge_length_m": SIZE,
        "sealant_depth_m": SIZE,
        "sealant_l": SIZE,
        "rod_m": SIZE,
        "rod_diameter_m": SIZE,
        "notes": TEXTS,
    }
)
CIRCUIT = shape(
    {
        "item_number": WORD,
        "control": {"type": "integer", "minimum": 1},
        "length_m": SIZE,
        "power_w": SIZE,
        "voltage_v": SIZE,
        "amps": SIZE,
        "spacing_m": SIZE,
        "power_w_m2": SIZE,
        "heated_m2": SIZE,
        "path": LINE,
        "ends_to_control_m": rows(SIZE),
        "sensor": POINT,
        "sensor_way": LINE,
    }
)
HEATING_CABLE = shape(
    {
        "product": WORD,
        "control": POINT,
        "zone": rows(LINE),
        "free_m2": SIZE,
        "heated_m2": SIZE,
        "unheated_m2": SIZE,
        "wall_gap_m": SIZE,
        "fixture_gap_m": SIZE,
        "joint_gap_m": SIZE,
        "spacing_range_m": rows(SIZE),
        "controls": COUNT,
        "control_amps": maybe(SIZE),
        "amps": SIZE,
        "circuits": rows(CIRCUIT),
        "notes": TEXTS,
        "cautions": TEXTS,
    }
)
ALSO = shape({"what": WORD, "need": SIZE, "unit": words("m", "l"), "note": TEXT})
