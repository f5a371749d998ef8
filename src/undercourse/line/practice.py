"""Reading the trade's own rules: limits, site stops, needs, pairs, what must be stated, notes."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from undercourse.base.domains import Domain
from undercourse.base.problems import Problem, Problems
from undercourse.line.records import LoadClassRow, MustState, Note, Practice
from undercourse.line.rows import LOAD_CLASSES, RowReader


def read_practice(files: Iterable[tuple[str, Mapping[str, Any]]], domains: Mapping[str, Domain]) -> Practice:
    """Build the trade rules from their parsed files; raises Problems with every fault."""
    problems: list[Problem] = []
    rules, stops, needs, pairs, must, notes, cautions, classes, first = ([] for _ in range(9))  # type: ignore[var-annotated]
    seen: dict[str, str] = {}
    for where, data in files:
        reader = RowReader(domains, where)
        for row in data.get("rule", []):
            limit = reader.limit(row, str(row.get("id", "?")))
            if limit is None:
                continue
            if limit.id in seen:
                reader.fault(limit.id, f"the id is used in {seen[limit.id]} too", "rename one")
            seen[limit.id] = where
            if limit.stop and not limit.who_decides:
                reader.fault(limit.id, "a stop names nobody who decides", 'write who_decides = "…"')
            (stops if limit.stop else rules).append(limit)
        for row in data.get("need", []):
            need = reader.need(row, str(row.get("id", "?")))
            if need is not None:
                needs.append(need)
        for row in data.get("pair", []):
            pair = reader.pair(row, f"{row.get('upper')} on {row.get('lower')}")
            if pair is not None:
                pairs.append(pair)
        for row in data.get("must_state", []):
            must.extend(_must_state(reader, row))
        for row in data.get("note", []):
            notes.append(_note(reader, row))
        for row in data.get("caution", []):
            cautions.append(_note(reader, row))
        first += [found for row in reader.tables(data, "ask_first") if (found := reader.ask_first(row))]
        for row in data.get("class", []):
            word = str(row.get("at_least") or row.get("class") or row.get("least") or "")
            if word not in LOAD_CLASSES:
                reader.fault("class", f'"{word}" is no floor-load class', f"use {', '.join(LOAD_CLASSES)}")
                continue
            classes.append(
                LoadClassRow(
                    str(row.get("occupancy", "")),
                    str(row.get("wheels", "")),
                    LOAD_CLASSES.index(word) + 1,
                    str(row.get("basis", "")),
                )
            )
        problems.extend(reader.problems)
    if problems:
        raise Problems(problems)
    return Practice(
        tuple(rules),
        tuple(stops),
        tuple(needs),
        tuple(pairs),
        tuple(must),
        tuple(notes),
        tuple(cautions),
        tuple(classes),
        tuple(first),
    )


def _must_state(reader: RowReader, row: Mapping[str, Any]) -> list[MustState]:
    label = f"must_state {row.get('demand')}"
    demands = reader.texts(row.get("demand"))
    found = []
    for demand in demands:
        if demand not in reader.domains:
            reader.fault(label, f'demand "{demand}" is not known', reader.nearest(demand))
            continue
        found.append(
            MustState(
                str(row.get("role", "membrane")),
                demand,
                reader.texts(row.get("kinds")),
                reader.condition(row.get("when"), label),
                str(row.get("because", "")),
                str(row.get("basis", "")),
            )
        )
    return found


def _note(reader: RowReader, row: Mapping[str, Any]) -> Note:
    label = str(row.get("id") or row.get("topic"))
    if not row.get("text") or not row.get("basis"):
        reader.fault(label, "a note needs text and basis", "add them")
    limit = None
    if "demand" in row:
        limit = reader.limit({**row, "because": row.get("text")}, label)
    return Note(
        str(row.get("id", "")),
        reader.texts(row.get("topic")),
        str(row.get("text", "")),
        str(row.get("basis", "")),
        str(row.get("source", "")),
        reader.texts(row.get("jurisdiction")),
        reader.condition(row.get("when"), label),
        limit,
    )
