"""What JSON Schemas are put together from: shapes, lists, texts, numbers, values, what an answer rests on."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

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
