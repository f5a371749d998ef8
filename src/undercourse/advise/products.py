"""A product's promises as a document, and two products' promises side by side."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from undercourse.advise.sentences import allowed_text, label, limit_text, need_text, where_text
from undercourse.base.units import from_si
from undercourse.judge.rulebook import Rulebook
from undercourse.line.records import Evidence, Limit, Need, Pack, Product, Property


def product_document(product: Product, book: Rulebook) -> dict[str, Any]:
    """Everything that a product states, with what stands behind it, and what it says it does not state."""
    limits = [_limit(limit, book) for limit in product.limits]
    return {
        "id": product.id,
        "name": product.name,
        "roles": list(product.roles),
        "kind": product.kind,
        "classes": list(product.classes),
        "provides": list(product.provides),
        "revision": product.revision,
        "date": _day(product.date),
        "regions": list(product.regions),
        "item_number": product.item_number,
        "supersedes": product.supersedes or None,
        "superseded_by": [p.id for p in book.line.products.values() if p.supersedes == product.id],
        "withdrawn": _day(product.withdrawn),
        "last_buy": _day(product.last_buy),
        "properties": [_property(one) for one in product.properties.values()],
        "packs": [_pack(pack) for pack in product.packs],
        "coverages": [
            {"place": c.place, "per_pack": c.per_pack, "unit": c.unit, "basis": c.basis}
            for c in product.coverages
        ],
        "limits": limits,
        "not_stated": [row for row in limits if row["comparison"] == "not stated"],
        "needs": [_need(need, book) for need in product.needs],
        "pairs": [
            {"upper": p.upper, "lower": p.lower, "may": p.may, "because": p.because, "basis": p.basis}
            for p in product.pairs
        ],
        "evidence": [_evidence(record, product) for record in product.evidence.values()],
    }


def _day(date: Any) -> str | None:
    return None if date is None else str(date.isoformat())


def _property(one: Property) -> dict[str, Any]:
    value = None
    if one.value is not None and one.unit is not None:
        value = float(f"{from_si(one.value, one.unit):.10g}")
    return {
        "name": one.name,
        "label": one.name.replace("_", " "),
        "value": value,
        "unit": one.unit.symbol if one.unit else None,
        "text": one.show(),
        "written": one.text,
    }


def _pack(pack: Pack) -> dict[str, Any]:
    return {
        "item_number": pack.item_number,
        "text": pack.text,
        "price": pack.price,
        "currency": pack.currency,
        "price_date": pack.price_date.isoformat(),
        "region": pack.region,
        "stocked": pack.stocked,
    }


def _limit(limit: Limit, book: Rulebook) -> dict[str, Any]:
    ruling = limit.ruling
    return {
        "id": limit.id,
        "demand": limit.demand,
        "label": label(limit.demand, book.vocabulary),
        "text": limit_text(limit, book.domains, book.vocabulary),
        "comparison": limit.comparison.replace("_", " "),
        "capacity_text": allowed_text(limit, book.domains, book.vocabulary),
        "when": where_text(limit, book.domains, book.vocabulary),
        "because": limit.because,
        "basis": limit.basis,
        "yields_to": limit.yields_to,
        "max_age_days": limit.max_age_days,
        "methods": list(limit.methods),
        "evidence": _proof(limit.evidence) if limit.evidence else None,
        "ruling": {
            "id": ruling.id,
            "who": ruling.who,
            "date": ruling.date.isoformat(),
            "expires": _day(ruling.expires),
        }
        if ruling
        else None,
    }


def _proof(record: Evidence) -> str:
    """A test in one line: standard and edition, laboratory, report, date."""
    parts = [f"{record.standard} ({record.edition})" if record.edition else record.standard]
    parts += [record.laboratory, record.report, record.date.isoformat() if record.date else ""]
    return ", ".join(part for part in parts if part)


def _evidence(record: Evidence, product: Product) -> dict[str, Any]:
    return {
        "id": record.id,
        "standard": record.standard,
        "edition": record.edition,
        "laboratory": record.laboratory,
        "report": record.report,
        "date": _day(record.date),
        "result": record.result,
        "tested": [dict(layer) for layer in record.tested],
        "respects": [{"fact": one.fact, "text": one.text} for one in record.respects],
        "stands_behind": [limit.id for limit in product.limits if limit.evidence is record],
    }


def _need(need: Need, book: Rulebook) -> dict[str, Any]:
    return {
        "id": need.id,
        "role": need.role,
        "classes": list(need.classes),
        "products": list(need.products),
        "text": need_text(need, book.domains, book.vocabulary, book.line.products),
        "when": where_text(need, book.domains, book.vocabulary),
        "because": need.because,
        "basis": need.basis,
    }


def compare_products(first: Product, second: Product, book: Rulebook) -> dict[str, Any]:
    """Two products' promises side by side, and what one states and the other does not."""
    pair = (first, second)
    documents = [product_document(product, book) for product in pair]
    limits = _by_demand(documents)
    heads = ("id", "name", "kind", "roles", "classes", "provides", "revision", "date", "withdrawn")
    return {
        "products": [{key: document[key] for key in heads} for document in documents],
        "provides": _provides(first, second),
        "properties": _properties(documents),
        "limits": limits,
        "only_first": [row["label"] for row in limits if row["first"] and not row["second"]],
        "only_second": [row["label"] for row in limits if row["second"] and not row["first"]],
        "needs": {"first": documents[0]["needs"], "second": documents[1]["needs"]},
    }


def _provides(first: Product, second: Product) -> dict[str, list[str]]:
    return {
        "both": [one for one in first.provides if one in second.provides],
        "only_first": [one for one in first.provides if one not in second.provides],
        "only_second": [one for one in second.provides if one not in first.provides],
    }


def _properties(documents: Sequence[Mapping[str, Any]]) -> list[dict[str, Any]]:
    tables = [{row["name"]: row["text"] for row in document["properties"]} for document in documents]
    names = list(dict.fromkeys(name for table in tables for name in table))
    return [
        {
            "name": name,
            "label": name.replace("_", " "),
            "first": tables[0].get(name),
            "second": tables[1].get(name),
            "same": tables[0].get(name) == tables[1].get(name),
        }
        for name in names
    ]


_SIDE = ("capacity_text", "when", "basis", "because", "evidence", "ruling")


def _by_demand(documents: Sequence[Mapping[str, Any]]) -> list[dict[str, Any]]:
    """Limits grouped by what they limit; a row is the same where texts and conditions are."""
    found = []
    for demand in dict.fromkeys(row["demand"] for document in documents for row in document["limits"]):
        sides = [[row for row in document["limits"] if row["demand"] == demand] for document in documents]
        texts = [{(row["capacity_text"], row["when"]) for row in side} for side in sides]
        found.append(
            {
                "demand": demand,
                "label": next(row["label"] for side in sides for row in side),
                "first": [{key: row[key] for key in _SIDE} for row in sides[0]],
                "second": [{key: row[key] for key in _SIDE} for row in sides[1]],
                "same": texts[0] == texts[1],
            }
        )
    return found
