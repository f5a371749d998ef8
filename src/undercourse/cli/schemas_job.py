"""Schemas of what goes with a job: its facts, its answer, laying plan and quantities."""

from __future__ import annotations

from undercourse.cli.schema_parts import (
    BASIS,
    COUNT,
    DAY,
    FLAG,
    NUMBER,
    POINT,
    SIZE,
    TEXT,
    TEXTS,
    VALUE,
    WORD,
    Schema,
    either,
    maybe,
    rows,
    shape,
    words,
)
from undercourse.cli.schemas_floor import ALSO, HEATING_CABLE, MOVEMENT_JOINTS
from undercourse.facts.jobs import HOLDS_FOR
from undercourse.facts.vocabulary import DECIDES, EFFORTS, MADE_SO, SLOTS
from undercourse.judge.results import SITE_WORDS, STATUS_WORDS, VERDICT_WORDS
from undercourse.line.records import ROLES

WORKING: Schema = {
    "type": "object",
    "properties": {"sentence": WORD, "source": WORD},
    "required": ["sentence", "source"],
    "additionalProperties": maybe(NUMBER),
}
FINDING = shape(
    {
        "limit": WORD,
        "demand": WORD,
        "value": VALUE,
        "value_text": TEXT,
        "capacity": VALUE,
        "capacity_text": TEXT,
        "unit": maybe(WORD),
        "utilisation": maybe(SIZE),
        "margin": maybe(shape({"value": maybe(NUMBER), "unit": WORD})),
        "status": words(*STATUS_WORDS),
        "can_be_made_so": FLAG,
        "reason": TEXT,
        "working": maybe(WORKING),
        "source": TEXT,
        "basis": TEXT,
        "by": WORD,
        "overrides": maybe(WORD),
    },
    {
        "caution": WORD,
        "rests_on": TEXT,
        "respects": rows(shape({"fact": WORD, "tested": WORD, "here": WORD, "kept": words("open", "no")})),
    },
)
LAYER = shape(
    {
        "role": TEXT,
        "product": maybe(WORD),
        "name": WORD,
        "kind": TEXT,
        "thickness_m": maybe(SIZE),
        "certain": FLAG,
    },
    {"or": TEXTS},
)
PROVIDED = shape(
    {
        "fact": WORD,
        "label": WORD,
        "must_be": WORD,
        "question": TEXT,
        "by_whom": WORD,
        "when_checked": WORD,
        "source": TEXT,
    },
    {"value": either(shape({"from": NUMBER, "to": NUMBER}), TEXTS)},
)
_VALUES = either(rows(shape({"from": NUMBER, "to": NUMBER})), TEXTS)
_CURVE = rows({"type": "array", "items": NUMBER, "minItems": 2, "maxItems": 2})
DEPENDS = shape(
    {
        "fact": WORD,
        "label": WORD,
        "question": WORD,
        "suitable_when": TEXT,
        "not_suitable_when": TEXT,
        "suitable_values": _VALUES,
        "not_suitable_values": _VALUES,
        "exact": FLAG,
    },
    {
        "not_stated_when": WORD,
        "with": WORD,
        "with_label": WORD,
        "curve": _CURVE,
        "curve_units": {**rows(TEXT), "minItems": 2, "maxItems": 2},
        "side": words("up to", "at least"),
        "third": shape({"fact": WORD, "label": WORD, "at": WORD, "curve": _CURVE}),
    },
)
CANDIDATE = shape(
    {
        "id": WORD,
        "name": WORD,
        "layers": rows(LAYER),
        "verdict": words(*VERDICT_WORDS),
        "verdict_text": WORD,
        "exact": FLAG,
        "effort": words("limits", "exact"),
        "utilisation": maybe(SIZE),
        "governs": maybe(WORD),
        "governs_text": TEXT,
        "findings": rows(FINDING),
        "provided": rows(PROVIDED),
        "depends_on": rows(DEPENDS),
        "not_stated": TEXTS,
        "why_not": TEXTS,
    }
)
STOP = shape(
    {
        "why": WORD,
        "who_decides": WORD,
        "source": TEXT,
        "certain": FLAG,
        "rule": WORD,
        "caution": TEXT,
        "facts": TEXTS,
    }
)
ASK = shape(
    {"fact": WORD, "question": WORD, "why": WORD, "find": TEXT, "effort": words(*EFFORTS), "gain": NUMBER}
)
FLOOR_LAYER = shape(
    {"role": TEXT, "product": maybe(TEXT), "kind": TEXT, "thickness_m": maybe(SIZE)},
    {"existing": FLAG, "name": TEXT, "certain": FLAG},
)
GATE = shape(
    {
        "fact": WORD,
        "label": WORD,
        "must_be": WORD,
        "who": WORD,
        "because": WORD,
        "touches": TEXT,
        "cost": SIZE,
        "days": SIZE,
    }
)
PREP_SET = shape(
    {
        "do": {**rows(WORD), "minItems": 1},
        "works": {**rows(WORD), "minItems": 1},
        "by_whom": {**rows(WORD), "minItems": 1},
        "then": WORD,
        "candidate": WORD,
        "verdict": words("suitable", "suitable_if"),
        "site": words("ready", "open"),
        "cost": SIZE,
        "currency": WORD,
        "cost_basis": WORD,
        "days": SIZE,
        "height_m": SIZE,
        "weight_kg_m2": SIZE,
        "gates": rows(GATE),
        "cautions": rows(WORD),
    }
)
ONE_NUMBER = shape(
    {
        "fact": WORD,
        "label": WORD,
        "now": WORD,
        "to": WORD,
        "value_si": NUMBER,
        "share": NUMBER,
        "candidate": WORD,
        "text": WORD,
    }
)
PREP = shape(
    {
        "job": TEXT,
        "areas": rows(
            shape(
                {
                    "area": WORD,
                    "already": maybe(WORD),
                    "prep": rows(PREP_SET),
                    "one_number": rows(ONE_NUMBER),
                    "area_m2": SIZE,
                    "area_assumed": FLAG,
                    "works_looked_at": COUNT,
                    "sets_judged": COUNT,
                }
            )
        ),
    }
)
AREA = shape(
    {
        "area": WORD,
        "site": shape({"status": words(*SITE_WORDS), "stops": rows(STOP)}),
        "recommended": maybe(WORD),
        "ranking": WORD,
        "headline": WORD,
        "candidates": rows(CANDIDATE),
        "assumed": TEXTS,
        "cautions": rows(shape({"text": WORD, "source": TEXT})),
    },
    {
        "floor": shape({"tile": maybe(FLOOR_LAYER), "existing": rows(FLOOR_LAYER)}),
        "ask_next": rows(ASK),
        "prep": rows(PREP_SET),
        "one_number": rows(ONE_NUMBER),
        # What was mended or left out when the outline was read.
        "plan_notes": rows(WORD),
    },
)
ANSWER = shape({"basis": BASIS, "job": TEXT, "areas": rows(AREA)})

PROBLEMS = shape({"problems": rows(shape({"where": TEXT, "what": WORD, "fix": TEXT}))}, {"job": TEXT})
BRIEF = shape(
    {
        "job": TEXT,
        "areas": rows(
            shape(
                {
                    "area": WORD,
                    "site": words(*SITE_WORDS),
                    "recommended": maybe(WORD),
                    "candidates": rows(
                        shape(
                            {
                                "id": WORD,
                                "verdict": words(*VERDICT_WORDS),
                                "utilisation": maybe(SIZE),
                                "governs": maybe(WORD),
                            }
                        )
                    ),
                }
            )
        ),
    }
)

FACT = shape(
    {
        "name": {"type": "string", "pattern": "^[a-z][a-z0-9_]*$"},
        "group": WORD,
        "kind": words("number", "choice", "flag"),
        "unit": maybe(WORD),
        "domain": either(
            shape({"low": NUMBER, "high": NUMBER}), {**rows(WORD), "minItems": 2, "uniqueItems": True}
        ),
        "role": words(DECIDES, MADE_SO),
        "effort": words(*EFFORTS),
        "label": WORD,
        "question": {"type": "string", "pattern": r"\?$"},
        "find": TEXT,
        "words": TEXTS,
        "domain_source": TEXT,
        "by_whom": TEXT,
        "when_checked": TEXT,
    }
)
FACT["allOf"] = [
    {
        "if": {"properties": {"kind": {"const": "number"}}},
        "then": {"properties": {"unit": WORD, "domain": {"type": "object"}}},
        "else": {"properties": {"unit": {"type": "null"}, "domain": {"type": "array"}}},
    }
]

# What a person may say of a fact: bare, as a range, as a set, or with how it is known.
SAID = maybe(
    either(
        NUMBER,
        TEXT,
        FLAG,
        {**rows(either(NUMBER, TEXT, FLAG)), "minItems": 1},
        {**shape({}, {"from": either(NUMBER, TEXT), "to": either(NUMBER, TEXT)}), "minProperties": 1},
    )
)
TOLD = shape(
    {"value": SAID},
    {"how": TEXT, "method": TEXT, "by": TEXT, "on": DAY, "for": words(*HOLDS_FOR)},
)
FACTS_SAID: Schema = {
    "type": "object",
    "propertyNames": {"pattern": "^[a-z][a-z0-9_]*$"},
    "additionalProperties": either(SAID, TOLD),
}
RING: Schema = {"type": "array", "items": POINT, "minItems": 3}
STACK_LAYER = shape({}, {"kind": either(TEXT, TEXTS), "thickness": either(NUMBER, TEXT), "note": TEXT})
STACK: Schema = {**rows(STACK_LAYER), "maxItems": SLOTS}
PROPOSED = rows(
    shape(
        {"role": words(*ROLES)},
        {"product": TEXT, "kind": TEXT, "classes": either(TEXT, TEXTS), "thickness": TEXT, "note": TEXT},
    )
)
_SITE: dict[str, Schema] = {
    "facts": FACTS_SAID,
    "proposed": PROPOSED,
    "layers": STACK,
    "layer": STACK,
    "note": TEXT,
    "functions": TEXTS,
}
JOB_AREA = shape(
    {},
    {
        **_SITE,
        "name": TEXT,
        "outline": RING,
        "obstacles": rows(RING),
        "doors": rows({"type": "array", "items": POINT, "minItems": 2}),
        "base_joint_lines": rows({"type": "array", "items": POINT, "minItems": 2}),
        "material_lines": rows({"type": "array", "items": POINT, "minItems": 2}),
        "unheated": rows(RING),
        "control": POINT,
        "tile_start": POINT,
        "seams_off": rows({"type": "array", "items": POINT, "minItems": 2}),
        "strip_direction": NUMBER,
        "strip_start": NUMBER,
        "plan": TEXT,
        "plan_layer": TEXT,
        "plan_unit": words("", "mm", "cm", "m", "in", "ft"),
        "room_name": TEXT,
        "storey": TEXT,
        "entrance": POINT,
    },
)
JOB = shape({}, {**_SITE, "name": TEXT, "date": DAY, "client": TEXT, "line": TEXT, "areas": rows(JOB_AREA)})

STRIP = shape({"id": WORD, "outline": rows(POINT), "pieces": TEXTS, "direction_deg": NUMBER, "across": FLAG})
CHALK = shape({"start": POINT, "end": POINT, "right_m": rows(NUMBER), "left_m": rows(NUMBER)})
LAYOUT_AREA = shape(
    {
        "name": TEXT,
        "net_area_m2": SIZE,
        "direction_deg": NUMBER,
        "start_m": NUMBER,
        "strip_width_m": SIZE,
        "strips": rows(STRIP),
        "seam_length_m": SIZE,
        "head_joint_length_m": SIZE,
        "seam_on_lines_m": SIZE,
        "edge_length_m": SIZE,
        "inside_corners": COUNT,
        "outside_corners": COUNT,
        "chalk_line": maybe(CHALK),
        "notes": TEXTS,
    },
    {"movement_joints": maybe(MOVEMENT_JOINTS), "heating_cable": maybe(HEATING_CABLE)},
)
PIECE = shape(
    {
        "id": WORD,
        "area": TEXT,
        "strip": WORD,
        "width_m": SIZE,
        "length_m": SIZE,
        "roll": {"type": "integer", "minimum": 1},
        "at": POINT,
        "outline": rows(POINT),
    }
)
_LAID: dict[str, Schema] = {
    "areas": rows(LAYOUT_AREA),
    "pieces": rows(PIECE),
    "rolls": COUNT,
    "roll_bound": COUNT,
    "offcuts": rows(shape({"roll": COUNT, "width_m": SIZE, "length_m": SIZE, "at": POINT})),
    "roll_plan": rows(
        shape({"roll": COUNT, "length_m": SIZE, "used_m": SIZE, "price": SIZE, "on_site": FLAG})
    ),
    "consumed_area_m2": SIZE,
    "net_area_m2": SIZE,
    "waste": {"type": "number", "maximum": 1},
    "objective": NUMBER,
    "objective_terms": {"type": "object", "additionalProperties": NUMBER},
    "bounds": shape(
        {
            "any_layout": COUNT,
            "these_strips": COUNT,
            "any_layout_m2": SIZE,
            "these_strips_m2": SIZE,
            "objective": NUMBER,
        }
    ),
    "uncovered": rows(shape({"area": TEXT, "why": WORD, "fix": TEXT})),
}
ONE_LAYOUT = shape(_LAID, {"product": shape({"id": WORD, "name": WORD})})
# What a plan file holds, and what was mended in it.
REPAIR = shape({"what": WORD, "at": maybe(POINT), "size_m": maybe(SIZE)})
PLAN_AREA = shape(
    {
        "name": WORD,
        "storey": TEXT,
        "area_m2": SIZE,
        "length_m": SIZE,
        "width_m": SIZE,
        "outline": rows(POINT),
        "obstacles": rows(rows(POINT)),
        "doors": rows(rows(POINT)),
        "repairs": rows(REPAIR),
        "notes": TEXTS,
    }
)
PLAN = shape(
    {
        "file": WORD,
        "unit": WORD,
        "moved_m": POINT,
        "notes": TEXTS,
        "areas": rows(PLAN_AREA),
        "faults": rows(shape({"area": TEXT, "where": TEXT, "what": WORD, "fix": TEXT})),
    }
)

# Other ways to lay a plan, from least sheet to shortest seams.
ALTERNATIVE = shape(
    {
        "consumed_area_m2": SIZE,
        "seam_length_m": SIZE,
        "pieces": COUNT,
        "cost": NUMBER,
        "seam_weight": NUMBER,
        "direction_deg": maybe(NUMBER),
        "head_joints": FLAG,
        "small_pieces": FLAG,
    }
)

# A job of several sheets: their layouts joined, and each by itself.
LAYOUT = shape(
    _LAID,
    {
        "product": shape({"id": WORD, "name": WORD}),
        "layouts": rows(ONE_LAYOUT),
        "plan": PLAN,
        "alternatives": rows(ALTERNATIVE),
    },
)

QUANTITY = shape(
    {
        "role": words(*ROLES),
        "product": WORD,
        "name": WORD,
        "item_number": TEXT,
        "what": WORD,
        "counted": {"type": "object", "additionalProperties": NUMBER},
        "measured": SIZE,
        "allowance": SIZE,
        "need": SIZE,
        "unit": words("m2", "m", "kg", "l", "piece"),
        "per_pack": maybe(SIZE),
        "packs": maybe(COUNT),
        "pack": TEXT,
        "price": maybe(SIZE),
        "currency": TEXT,
        "price_date": either(DAY, {"const": ""}),
        "cost": maybe(SIZE),
        "weight_kg": maybe(SIZE),
        "note": TEXT,
    }
)
TAKEOFF = shape(
    {
        "job": TEXT,
        "basis": BASIS,
        "areas": rows(
            shape(
                {
                    "area": TEXT,
                    "net_area_m2": SIZE,
                    "sizes": {"type": "object", "additionalProperties": NUMBER},
                    "lines": rows(QUANTITY),
                    "allowance": WORD,
                    "cost": maybe(SIZE),
                    "currency": TEXT,
                    "labor_cost": maybe(SIZE),
                    "weight_kg": SIZE,
                    "hours": SIZE,
                    "unpriced": TEXTS,
                    "also": rows(ALSO),
                    "notes": TEXTS,
                }
            )
        ),
    }
)

LETTER = shape(
    {"job": TEXT, "area": WORD, "subject": WORD, "text": WORD, "line_revision": TEXT, "date": maybe(DAY)}
)
BECAUSE = {"limit": WORD, "reason": WORD, "numbers": TEXT, "source": TEXT}
PROOF_FACT = shape({"fact": WORD, "label": WORD, "value": WORD, "sentence": WORD, "where": TEXT})
PROOF = shape(
    {
        "candidate": WORD,
        "name": WORD,
        "verdict": words(*VERDICT_WORDS),
        "proved": FLAG,
        "smallest": FLAG,
        "sentence": WORD,
        "facts": rows(PROOF_FACT),
        "because": rows(shape(BECAUSE)),
    }
)
_AGAINST = rows(shape({**BECAUSE, "facts": TEXTS}))
APART = shape(
    {
        "first": WORD,
        "second": WORD,
        "first_verdict": words(*VERDICT_WORDS),
        "second_verdict": words(*VERDICT_WORDS),
        "sentence": WORD,
        "facts": rows(PROOF_FACT),
        "against_first": _AGAINST,
        "against_second": _AGAINST,
    }
)
LOSES = shape({"fact": WORD, "label": WORD, "now": WORD, "loses_when": WORD, "then": rows(WORD)})
WHY = shape(
    {
        "basis": BASIS,
        "job": TEXT,
        "areas": rows(
            shape(
                {
                    "area": WORD,
                    "recommended": maybe(WORD),
                    "proof": PROOF,
                    "apart": maybe(APART),
                    "loses": rows(LOSES),
                }
            )
        ),
    }
)
