"""JSON Schemas (draft 2020-12) of every document that a command prints or reads."""

from __future__ import annotations

from undercourse.cli.schema_parts import Schema, document, either, rows, shape
from undercourse.cli.schemas_job import (
    ANSWER,
    BRIEF,
    FACT,
    JOB,
    LAYOUT,
    LETTER,
    PLAN,
    PREP,
    PROBLEMS,
    TAKEOFF,
    WHY,
)
from undercourse.cli.schemas_line import (
    DEMAND,
    DEMAND_HEAD,
    DEMAND_SWEEP,
    LINE_CHECK,
    LINE_COMPARE,
    PRODUCT,
    RULE,
)

__all__ = ["SCHEMAS"]

SCHEMAS: dict[str, Schema] = {
    "answer": document("Answer to one job, or to several as a list", either(ANSWER, rows(ANSWER))),
    "answer-line": document("One line of answer --jsonl", either(ANSWER, BRIEF, PROBLEMS)),
    "demand": document("One demand worked out", DEMAND),
    "demand-sweep": document("One demand along a fact", DEMAND_SWEEP),
    "demand-list": document("Every computed demand", rows(shape(DEMAND_HEAD))),
    "facts": document("Facts of a site", rows(FACT)),
    "job": document("A job as JSON", JOB),
    "layout": document("Laying plan and cut rolls", LAYOUT),
    "plan": document("What a plan file holds", PLAN),
    "line-check": document("A line looked over", LINE_CHECK),
    "line-compare": document("Two products side by side", LINE_COMPARE),
    "line-show": document("One product, or all as a list", either(PRODUCT, rows(PRODUCT))),
    "reply": document("One letter, or several as a list", either(LETTER, rows(LETTER))),
    "prep": document("Works after which something suits", PREP),
    "rule": document("Rules of the trade on a topic", RULE),
    "takeoff": document("What to buy for each area", TAKEOFF),
    "why": document("Why an answer is as it is", WHY),
}
