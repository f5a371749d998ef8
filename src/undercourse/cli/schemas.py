"""JSON Schemas (draft 2020-12) of every document that a command prints or reads."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from undercourse.assembly.columns import candidate_domains
from undercourse.demands.record import CHOICE, LOWERS, ORDINAL, OTHER, RAISES, RATIO, SET
from undercourse.facts.jobs import HOLDS_FOR
from undercourse.facts.vocabulary import DECIDES, EFFORTS, MADE_SO, SLOTS
from undercourse.judge.results import SITE_WORDS, STATUS_WORDS, VERDICT_WORDS
from undercourse.line.records import COMPARISONS, ROLES, YIELDS

Schema = dict[str, Any]

TEXT: Schema = {"type": "string"}
WORD: Schema = {"type": "string", "minLength": 1}
NUMBER: Schema = {"type": "number"}
COUNT: Schema = {"type": "integer", "minimum": 0}
SIZE: Schema = {"type": "number", "minimum": 0}
FLAG: Schema = {"type": "boolean"}
DAY: Schema = {"type": "string", "pattern": r"^\d{4}-\d{2}-\d{2}$"}
HASH: Schema = {"type": "string", "pattern": "^[0-9a-f]{16}$"}
POINT: Schema = {"type": "array", "items": NUMBER, "minItems": 2, "maxItems": 2}
TEXTS: Schema = {"type": "array", "items": TEXT}


def shape(required: Mapping[str, Schema], optional: Mapping[str, Schema] | None = None) -> Schema:
    """An object with these keys and no others."""
    return {
        "type": "object",
        "properties": {**required, **(optional or {})},
        "required": list(required),
        "additionalProperties": False,
    }


def rows(item: Schema) -> Schema:
    """A list of one kind of thing."""
    return {"type": "array", "items": item}


def either(*options: Schema) -> Schema:
    """One of several shapes."""
    return {"anyOf": list(options)}


def maybe(option: Schema) -> Schema:
    """A thing or null."""
    return either(option, {"type": "null"})


def words(*values: str) -> Schema:
    """One of these texts."""
    return {"type": "string", "enum": list(values)}


def document(title: str, body: Schema) -> Schema:
    """A whole schema."""
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", "title": title, **body}


# A set of values: one number or word, a range with null for an open end, or a list of choices.
VALUE = maybe(either(NUMBER, TEXT, TEXTS, shape({"from": maybe(NUMBER), "to": maybe(NUMBER)})))
BASIS = shape(
    {
        "program": WORD,
        "line": shape({"maker": TEXT, "name": TEXT, "revision": TEXT, "hash": HASH}),
        "practice": HASH,
        "vocabulary": HASH,
        "tables": HASH,
        "prices": HASH,
        "date": maybe(DAY),
    }
)
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
    }
)
PROVIDED = shape(
    {
        "fact": WORD,
        "must_be": WORD,
        "question": TEXT,
        "by_whom": WORD,
        "when_checked": WORD,
        "source": TEXT,
    }
)
DEPENDS = shape({"fact": WORD, "question": WORD, "suitable_when": TEXT, "not_suitable_when": TEXT})
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
        "prep": rows(shape({"do": WORD, "then": TEXT, "cost": TEXT})),
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
}
JOB_AREA = shape(
    {},
    {
        **_SITE,
        "name": TEXT,
        "outline": RING,
        "obstacles": rows(RING),
        "doors": rows({"type": "array", "items": POINT, "minItems": 2}),
        "plan": TEXT,
        "room_name": TEXT,
        "entrance": POINT,
    },
)
JOB = shape({}, {**_SITE, "name": TEXT, "date": DAY, "client": TEXT, "line": TEXT, "areas": rows(JOB_AREA)})

RULE = shape(
    {
        "asked": TEXT,
        "rules": rows(
            shape(
                {
                    "id": TEXT,
                    "kind": words("limit", "stop", "need", "note", "caution"),
                    "text": WORD,
                    "because": TEXT,
                    "source": TEXT,
                    "basis": WORD,
                    "edition": TEXT,
                    "jurisdiction": TEXTS,
                    "yields_to": words(*YIELDS),
                    "caution": TEXT,
                    "topics": TEXTS,
                }
            )
        ),
        "topics": TEXTS,
    }
)

WAYS: Schema = {"type": "object", "additionalProperties": words(RAISES, LOWERS, CHOICE, "both")}
_DEMAND: dict[str, Schema] = {
    "name": WORD,
    "unit": maybe(WORD),
    "scale": words(RATIO, OTHER, ORDINAL, SET),
    "reads": WAYS,
    "takes": {**WAYS, "propertyNames": {"enum": sorted(candidate_domains())}},
    "source": WORD,
}
NUMBERS: Schema = {"type": "object", "additionalProperties": maybe(NUMBER)}
DEMAND = shape(
    {
        **_DEMAND,
        "value": VALUE,
        "value_text": WORD,
        "working": shape({"sentence": WORD, "least": NUMBERS, "most": NUMBERS}),
        "inputs": rows(
            shape(
                {
                    "name": WORD,
                    "label": WORD,
                    "direction": words(RAISES, LOWERS, CHOICE, "both"),
                    "value": VALUE,
                    "value_text": WORD,
                    "open": FLAG,
                    "whole_domain": FLAG,
                }
            )
        ),
        "unused": TEXTS,
    }
)

STRIP = shape({"id": WORD, "outline": rows(POINT), "pieces": TEXTS})
CHALK = shape({"start": POINT, "end": POINT, "right_m": rows(NUMBER), "left_m": rows(NUMBER)})
LAYOUT_AREA = shape(
    {
        "name": TEXT,
        "net_area_m2": SIZE,
        "direction_deg": NUMBER,
        "strips": rows(STRIP),
        "seam_length_m": SIZE,
        "head_joint_length_m": SIZE,
        "edge_length_m": SIZE,
        "inside_corners": COUNT,
        "outside_corners": COUNT,
        "chalk_line": maybe(CHALK),
        "notes": TEXTS,
    }
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
ONE_LAYOUT = shape(
    {
        "areas": rows(LAYOUT_AREA),
        "pieces": rows(PIECE),
        "rolls": COUNT,
        "roll_bound": COUNT,
        "roll_plan": rows(shape({"roll": COUNT, "length_m": SIZE, "used_m": SIZE, "price": SIZE})),
        "consumed_area_m2": SIZE,
        "net_area_m2": SIZE,
        "waste": {"type": "number", "maximum": 1},
        "objective": NUMBER,
        "objective_terms": {"type": "object", "additionalProperties": NUMBER},
        "bounds": shape(
            {"any_layout": COUNT, "these_strips": COUNT, "any_layout_m2": SIZE, "these_strips_m2": SIZE}
        ),
        "uncovered": rows(shape({"area": TEXT, "why": WORD, "fix": TEXT})),
    },
    {"product": shape({"id": WORD, "name": WORD})},
)
LAYOUT = either(ONE_LAYOUT, shape({"layouts": rows(ONE_LAYOUT)}))

QUANTITY = shape(
    {
        "role": words(*ROLES),
        "product": WORD,
        "name": WORD,
        "item_number": TEXT,
        "what": WORD,
        "need": SIZE,
        "unit": words("m2", "m", "piece"),
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
                    "lines": rows(QUANTITY),
                    "allowance": WORD,
                    "cost": maybe(SIZE),
                    "currency": TEXT,
                    "labor_cost": maybe(SIZE),
                    "weight_kg": SIZE,
                    "hours": SIZE,
                    "unpriced": TEXTS,
                    "notes": TEXTS,
                }
            )
        ),
    }
)

TALLY: Schema = {"type": "object", "additionalProperties": {"type": "integer", "minimum": 1}}
LINE_CHECK = shape(
    {
        "line": BASIS["properties"]["line"],
        "date": maybe(DAY),
        "faults": rows(shape({"where": WORD, "what": WORD, "fix": WORD, "severity": words("fault", "note")})),
        "counts": shape({"fault": COUNT, "note": COUNT}),
        "not_stated": rows(
            shape({"product": WORD, "demand": WORD, "label": WORD, "when": TEXT, "because": TEXT})
        ),
        "samples": shape(
            {
                "areas": COUNT,
                "stopped": TEXTS,
                "without": TEXTS,
                "contradictory": TEXTS,
                "products": rows(
                    shape(
                        {
                            "id": WORD,
                            "name": WORD,
                            "recommended": COUNT,
                            "suitable": COUNT,
                            "loses_to": TALLY,
                            "outranked_by": TALLY,
                            "never_suitable": FLAG,
                            "met": FLAG,
                        }
                    )
                ),
                "condition": WORD,
                "met": maybe(FLAG),
            }
        ),
    }
)

PROPERTY = shape(
    {"name": WORD, "label": WORD, "value": maybe(NUMBER), "unit": maybe(WORD), "text": TEXT, "written": TEXT}
)
PROMISE = shape(
    {
        "id": WORD,
        "demand": TEXT,
        "label": TEXT,
        "text": WORD,
        "comparison": words(*(word.replace("_", " ") for word in COMPARISONS)),
        "capacity_text": WORD,
        "when": TEXT,
        "because": TEXT,
        "basis": WORD,
        "yields_to": words(*YIELDS),
        "max_age_days": maybe(SIZE),
        "methods": TEXTS,
        "evidence": maybe(WORD),
        "ruling": maybe(shape({"id": TEXT, "who": WORD, "date": DAY, "expires": maybe(DAY)})),
    }
)
NEED = shape(
    {
        "id": WORD,
        "role": words(*ROLES),
        "classes": TEXTS,
        "products": TEXTS,
        "text": WORD,
        "when": TEXT,
        "because": TEXT,
        "basis": TEXT,
    }
)
EVIDENCE = shape(
    {
        "id": WORD,
        "standard": TEXT,
        "edition": TEXT,
        "laboratory": TEXT,
        "report": TEXT,
        "date": maybe(DAY),
        "result": TEXT,
        "tested": rows({"type": "object", "additionalProperties": TEXT}),
        "respects": rows(shape({"fact": WORD, "text": WORD})),
        "stands_behind": TEXTS,
    }
)
_HEAD: dict[str, Schema] = {
    "id": WORD,
    "name": WORD,
    "roles": rows(words(*ROLES)),
    "kind": TEXT,
    "classes": TEXTS,
    "provides": TEXTS,
    "revision": TEXT,
    "date": maybe(DAY),
    "withdrawn": maybe(DAY),
}
PRODUCT = shape(
    {
        **_HEAD,
        "regions": TEXTS,
        "item_number": TEXT,
        "supersedes": maybe(WORD),
        "superseded_by": TEXTS,
        "last_buy": maybe(DAY),
        "properties": rows(PROPERTY),
        "packs": rows(
            shape(
                {
                    "item_number": TEXT,
                    "text": TEXT,
                    "price": SIZE,
                    "currency": TEXT,
                    "price_date": DAY,
                    "region": TEXT,
                    "stocked": FLAG,
                }
            )
        ),
        "coverages": rows(shape({"place": TEXT, "per_pack": SIZE, "unit": WORD, "basis": TEXT})),
        "limits": rows(PROMISE),
        "not_stated": rows(PROMISE),
        "needs": rows(NEED),
        "pairs": rows(
            shape(
                {
                    "upper": WORD,
                    "lower": WORD,
                    "may": words("yes", "no", "with primer"),
                    "because": TEXT,
                    "basis": TEXT,
                }
            )
        ),
        "evidence": rows(EVIDENCE),
    }
)
_SIDE = shape(
    {
        key: PROMISE["properties"][key]
        for key in ("capacity_text", "when", "basis", "because", "evidence", "ruling")
    }
)
LINE_COMPARE = shape(
    {
        "products": {**rows(shape(_HEAD)), "minItems": 2, "maxItems": 2},
        "provides": shape({"both": TEXTS, "only_first": TEXTS, "only_second": TEXTS}),
        "properties": rows(
            shape({"name": WORD, "label": WORD, "first": maybe(TEXT), "second": maybe(TEXT), "same": FLAG})
        ),
        "limits": rows(
            shape({"demand": TEXT, "label": TEXT, "first": rows(_SIDE), "second": rows(_SIDE), "same": FLAG})
        ),
        "only_first": TEXTS,
        "only_second": TEXTS,
        "needs": shape({"first": rows(NEED), "second": rows(NEED)}),
    }
)

SCHEMAS: dict[str, Schema] = {
    "answer": document("Answer to one job, or to several as a list", either(ANSWER, rows(ANSWER))),
    "answer-line": document("One line of answer --jsonl", either(ANSWER, BRIEF, PROBLEMS)),
    "demand": document("One demand worked out", DEMAND),
    "demand-list": document("Every computed demand", rows(shape(_DEMAND))),
    "facts": document("Facts of a site", rows(FACT)),
    "job": document("A job as JSON", JOB),
    "layout": document("Laying plan and cut rolls", LAYOUT),
    "line-check": document("A line looked over", LINE_CHECK),
    "line-compare": document("Two products side by side", LINE_COMPARE),
    "line-show": document("One product, or all as a list", either(PRODUCT, rows(PRODUCT))),
    "rule": document("Rules of the trade on a topic", RULE),
    "takeoff": document("What to buy for each area", TAKEOFF),
}
