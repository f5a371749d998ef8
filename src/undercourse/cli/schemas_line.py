"""Schemas of what is looked up without a job: rules, demands, the line."""

from __future__ import annotations

from undercourse.assembly.columns import candidate_domains
from undercourse.cli.schema_parts import (
    BASIS,
    COUNT,
    DAY,
    FLAG,
    NUMBER,
    SIZE,
    TEXT,
    TEXTS,
    VALUE,
    WORD,
    Schema,
    maybe,
    rows,
    shape,
    words,
)
from undercourse.demands.record import (
    CHOICE,
    DERIVED,
    LOWERS,
    MEMORY,
    ORDINAL,
    OTHER,
    PRACTICE,
    PUBLISHED,
    RAISES,
    RATIO,
    SET,
)
from undercourse.line.records import COMPARISONS, ROLES, YIELDS

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
DEMAND_HEAD: dict[str, Schema] = {
    "name": WORD,
    "title": WORD,
    "subject": WORD,
    "unit": maybe(WORD),
    "scale": words(RATIO, OTHER, ORDINAL, SET),
    "reads": WAYS,
    "takes": {**WAYS, "propertyNames": {"enum": sorted(candidate_domains())}},
    "source": WORD,
    "ground": words(PUBLISHED, DERIVED, PRACTICE, MEMORY),
    "informs": FLAG,
}
_SHEET_NUMBER: dict[str, Schema] = {
    "symbol": WORD,
    "label": WORD,
    "si": WORD,
    "us": WORD,
    "source": TEXT,
    "number": maybe(NUMBER),
}
SHEET = shape(
    {
        "demand": WORD,
        "title": WORD,
        "subject": WORD,
        "value_text": WORD,
        "open": FLAG,
        "applies": FLAG,
        "remark": TEXT,
        "choices": rows(shape({"name": WORD, "label": WORD, "value_text": WORD})),
        "inputs": rows(shape({**_SHEET_NUMBER, "name": WORD, "range": TEXT})),
        "steps": rows(shape({**_SHEET_NUMBER, "formula": TEXT, "numbers": TEXT, "plain": TEXT})),
        "valid": rows(
            shape({"label": WORD, "range": WORD, "here": words("yes", "no", "open"), "source": WORD})
        ),
        "source": WORD,
        "ground": WORD,
        "cautions": TEXTS,
    }
)
NUMBERS: Schema = {"type": "object", "additionalProperties": maybe(NUMBER)}
DEMAND = shape(
    {
        **DEMAND_HEAD,
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
        "sheet": SHEET,
    }
)
DEMAND_SWEEP = shape(
    {
        **DEMAND_HEAD,
        "along": WORD,
        "along_unit": WORD,
        "rows": rows(
            shape(
                {
                    "at": NUMBER,
                    "at_text": WORD,
                    "low": maybe(NUMBER),
                    "high": maybe(NUMBER),
                    "value_text": WORD,
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
