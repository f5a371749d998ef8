"""Reading a line: products, packs, coverages, evidence, rulings, ranking."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable, Mapping
from types import MappingProxyType
from typing import Any

from undercourse.base.domains import Domain
from undercourse.base.problems import Problem, Problems
from undercourse.base.units import find_unit, read_leading_number, read_quantity
from undercourse.line.records import (
    FUNCTIONS,
    MEMBRANE_KINDS,
    ROLES,
    AskFirst,
    Coverage,
    Line,
    Pack,
    Product,
    Property,
    RankingRow,
    Ruling,
)
from undercourse.line.rows import RowReader, read_property
from undercourse.line.sound_tests import BANDS, bands_fault

RANKED_BY = ("unwanted_functions", "installed_cost", "height", "days", "margin")
_LENGTHS = ("thickness", "roll_width", "seam_gap", "edge_gap", "seam_overlap", "smallest_piece", "upturn")


def read_line(files: Iterable[tuple[str, Mapping[str, Any]]], domains: Mapping[str, Domain]) -> Line:
    """Build a line from its parsed files.

    Parameters
    ----------
    files : iterable of (where, data)
        One product a file, ``[[product]]`` lists, and one file with ``[line]``.

    Raises
    ------
    Problems
        Every fault of every file.
    """
    problems: list[Problem] = []
    head: Mapping[str, Any] = {}
    ranking: list[RankingRow] = []
    first: list[AskFirst] = []
    products: dict[str, Product] = {}
    files = list(files)
    for where, data in files:
        if "line" in data:
            if not isinstance(data["line"], Mapping):
                problems.append(Problem(where, '"line" is no table', "write [line] and its keys below"))
                continue
            head = data["line"]
            ranking = _ranking(data.get("ranking", {}), where, problems)
            asks = RowReader(domains, where)
            first = [found for row in asks.tables(data, "ask_first") if (found := asks.ask_first(row))]
            problems.extend(asks.problems)
    for where, data in files:
        rows = [data] if "id" in data else _product_rows(data, where, problems)
        if not rows and "line" not in data:
            problems.append(
                Problem(where, "holds no product", 'write id = "…" at the top or [[product]] lists')
            )
        for row in rows:
            reader = RowReader(domains, f"{where}: {row.get('id', '?')}")
            product = _product(reader, row, str(head.get("currency", "")))
            problems.extend(reader.problems)
            if product is None:
                continue
            if product.id in products:
                what = f'two products have the id "{product.id}" (also in {products[product.id].where})'
                problems.append(Problem(where, what, "rename one of them"))
            products[product.id] = product
    if not head:
        problems.append(
            Problem("line", "no file has a [line] table", "add line.toml with maker, name, revision, date")
        )
    problems.extend(_cross_references(products))
    if problems:
        raise Problems(problems)
    reader = RowReader(domains, "line.toml")
    text = [str(head.get(key, "")) for key in ("maker", "name", "revision")]
    date = reader.date(head.get("date"), "line")
    rate = head.get("labor_rate", 0.0)
    return Line(
        text[0],
        text[1],
        text[2],
        date,
        str(head.get("currency", "")),
        MappingProxyType(products),
        tuple(ranking),
        float(rate) if isinstance(rate, (int, float)) else 0.0,
        tuple(first),
    )


def _product_rows(data: Mapping[str, Any], where: str, problems: list[Problem]) -> list[Mapping[str, Any]]:
    reader = RowReader({}, where)
    rows = reader.tables(data, "product")
    problems.extend(reader.problems)
    return rows


def _cross_references(products: Mapping[str, Product]) -> list[Problem]:
    problems = []
    for product in products.values():
        for need in product.needs:
            for wanted in need.products:
                if wanted not in products:
                    problems.append(
                        Problem(need.where, f'needs "{wanted}", which is no product', "mend the id")
                    )
        if product.supersedes and product.supersedes not in products:
            what = f'supersedes "{product.supersedes}", which is no product'
            problems.append(Problem(product.where, what, "mend the id or keep the old product as withdrawn"))
    return problems


def _ranking(raw: Any, where: str, problems: list[Problem]) -> list[RankingRow]:
    reader = RowReader({}, where)
    rows = []
    for row in reader.tables(raw if isinstance(raw, Mapping) else {"row": raw}, "row"):
        by, prefer = str(row.get("by", "")), str(row.get("prefer", "low"))
        if by not in RANKED_BY or prefer not in ("low", "high"):
            what = f'ranking by "{by}", prefer "{prefer}"'
            problems.append(Problem(where, what, f"use {', '.join(RANKED_BY)} and low or high"))
            continue
        tie = read_leading_number(str(row.get("tie_within", "0 %")))
        rows.append(RankingRow(by, prefer, (tie[0] if tie else 0.0) / 100))
    problems.extend(reader.problems)
    return rows


def _product(reader: RowReader, row: Mapping[str, Any], currency: str) -> Product | None:
    identity = str(row.get("id", ""))
    roles = reader.texts(row.get("roles") or row.get("role"))
    if not identity or not roles:
        reader.fault("", "a product needs id and role", "add them")
        return None
    for role in roles:
        if role not in ROLES:
            reader.fault("", f'role "{role}" is not known', f"use one of {', '.join(ROLES)}")
    kind = str(row.get("kind", ""))
    if "membrane" in roles and kind not in MEMBRANE_KINDS:
        reader.fault("", f'kind "{kind}" is no membrane kind', f"use one of {', '.join(MEMBRANE_KINDS)}")
    provides = reader.texts(row.get("provides"))
    for function in provides:
        if function not in FUNCTIONS:
            reader.fault("", f'provides "{function}"', f"use {', '.join(FUNCTIONS)}")
    properties = _properties(reader, row)
    evidence = {}
    for place, item in enumerate(reader.tables(row, "evidence")):
        record = reader.evidence(item, f"evidence {place + 1}")
        if not record.id or record.id in evidence:
            reader.fault(f"evidence {place + 1}", f'id "{record.id}"', "give each record its own id")
        evidence[record.id] = record
    limits = [
        reader.limit(item, f"limit {place + 1} ({item.get('demand')})", identity, properties, evidence)
        for place, item in enumerate(reader.tables(row, "limit"))
    ]
    limits += _rulings(reader, row, identity, properties)
    needs = [
        reader.need(item, f"need {place + 1}", identity)
        for place, item in enumerate(reader.tables(row, "need"))
    ]
    pairs = [
        reader.pair(item, f"pair {place + 1}", identity)
        for place, item in enumerate(reader.tables(row, "pair"))
    ]
    return Product(
        identity,
        roles,
        str(row.get("name", identity)),
        kind,
        reader.texts(row.get("classes")),
        provides,
        MappingProxyType(properties),
        tuple(_packs(reader, row, currency)),
        tuple(_coverages(reader, row)),
        tuple(limit for limit in limits if limit),
        tuple(need for need in needs if need),
        tuple(pair for pair in pairs if pair),
        MappingProxyType(evidence),
        str(row.get("revision", "")),
        reader.date(row.get("date"), "date"),
        reader.texts(row.get("regions")),
        str(row.get("item_number", "")),
        str(row.get("supersedes", "")),
        reader.date(row.get("withdrawn"), "withdrawn"),
        reader.date(row.get("last_buy"), "last_buy"),
        reader.where,
    )


def _properties(reader: RowReader, row: Mapping[str, Any]) -> dict[str, Property]:
    raw = row.get("properties", {})
    if not isinstance(raw, Mapping):
        reader.fault("properties", f"{raw!r} is no table", "write [properties] and its keys below")
        return {}
    if what := bands_fault(raw):
        reader.fault(f"properties.{BANDS}", what, "write the 16 reductions in dB as the report prints them")
        raw = {name: value for name, value in raw.items() if name != BANDS}
    properties: dict[str, Property] = {name: read_property(name, value) for name, value in raw.items()}
    for name in _LENGTHS:
        found = properties.get(name)
        if found is None:
            continue
        if found.unit is None or found.unit.dimension != "length":
            reader.fault(f"properties.{name}", f'"{found.text}" is not a length', 'write "3 mm" or "1/8 in"')
        elif not 0 <= (found.value or 0.0) < 1e4 or (name == "roll_width" and not found.value):
            what = f'"{found.text}" is out of reach for {name}'
            reader.fault(f"properties.{name}", what, "check the number and its unit")
    return properties


def _rulings(
    reader: RowReader, row: Mapping[str, Any], identity: str, properties: Mapping[str, Property]
) -> list[Any]:
    found = []
    for place, item in enumerate(reader.tables(row, "ruling")):
        label = f"ruling {place + 1}"
        date, expires = reader.date(item.get("date"), label), reader.date(item.get("expires"), label)
        if not item.get("who") or date is None:
            reader.fault(label, "a ruling needs who and date", "write who, date, expires and scope")
            continue
        shaped = {**item, "basis": f"ruling:{item.get('id', place + 1)}"}
        if "scope" in item:
            shaped["when"] = {**item.get("when", {}), **item["scope"]}
        limit = reader.limit(shaped, label, identity, properties, {})
        if limit is not None:
            ruling = Ruling(str(item.get("id", "")), str(item["who"]), date, expires)
            found.append(dataclasses.replace(limit, ruling=ruling))
    return found


def _packs(reader: RowReader, row: Mapping[str, Any], currency: str) -> list[Pack]:
    packs = []
    for place, item in enumerate(reader.tables(row, "pack")):
        label = f"pack {place + 1}"
        price, money = item.get("price"), str(item.get("currency", currency))
        date = reader.date(item.get("price_date"), label)
        if not isinstance(price, (int, float)) or isinstance(price, bool) or not 0 <= price < 1e12:
            reader.fault(label, f"price {price!r} is not a number", "write price = 12.50")
            continue
        if "currency" not in item:
            reader.fault(label, "the price names no currency", 'add currency = "USD"')
        if date is None:
            reader.fault(label, "the price names no date", "add price_date = 2026-09-01")
            continue
        width = length = amount = None
        unit = ""
        text = str(item.get("size") or item.get("contents") or "")
        try:
            if "size" in item:
                first, _, second = text.partition(" x ")
                width, length = read_quantity(first, "length"), read_quantity(second, "length")
                if not (0 < width < 1e4 and 0 < length < 1e4):
                    raise ValueError("a pack's width and length are more than nothing")
            elif "contents" in item:
                found = read_leading_number(text)
                known = find_unit(found[1]) if found else None
                if found and known:
                    amount, unit = found[0] * known.factor, known.dimension
                elif found:
                    amount, unit = found[0], found[1].strip() or "piece"
        except ValueError as error:
            reader.fault(label, f'"{text}": {error}', 'write size = "1 m x 30 m" or contents = "50 lb"')
        packs.append(
            Pack(
                str(item.get("item_number", row.get("item_number", ""))),
                text,
                width,
                length,
                amount,
                unit,
                float(price),
                money,
                date,
                str(item.get("region", "")),
                bool(item.get("stocked", True)),
                _pack_number(reader, item, label, "area", 'area = "54 ft2" or "5 m2"'),
                _pack_number(reader, item, label, "cable_length", 'cable_length = "200 ft"'),
                _pack_number(reader, item, label, "power", 'power = "600 W"'),
                _pack_number(reader, item, label, "voltage", 'voltage = "120 V"'),
            )
        )
    return packs


_PACK_NUMBERS = {"area": "area", "cable_length": "length", "power": "power", "voltage": "voltage"}


def _pack_number(
    reader: RowReader, item: Mapping[str, Any], label: str, key: str, example: str
) -> float | None:
    """A number of a pack in SI: the area that it is sold for, a cable's length, power and voltage."""
    if key not in item:
        return None
    try:
        found = read_quantity(str(item[key]), _PACK_NUMBERS[key])
        if not 0 < found < 1e9:
            raise ValueError("it is more than nothing")
        return found
    except ValueError as error:
        reader.fault(label, f"{key}: {error}", f"write {example}")
        return None


def _coverages(reader: RowReader, row: Mapping[str, Any]) -> list[Coverage]:
    found = []
    for place, item in enumerate(reader.tables(row, "coverage")):
        text = str(item.get("per_pack", ""))
        number = read_leading_number(text)
        unit = find_unit(number[1]) if number else None
        if number and unit is None and number[1].strip() in ("", "piece", "pieces", "set", "sets"):
            found.append(Coverage(str(item.get("place", "")), number[0], "piece", str(item.get("basis", ""))))
        elif number and unit and unit.dimension in ("area", "length"):
            symbol = "m2" if unit.dimension == "area" else "m"
            found.append(
                Coverage(
                    str(item.get("place", "")), number[0] * unit.factor, symbol, str(item.get("basis", ""))
                )
            )
        else:
            reader.fault(
                f"coverage {place + 1}", f'per_pack = "{text}"', 'write "95 ft2", "33 ft" or "1 piece"'
            )
    return found
