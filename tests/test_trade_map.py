"""Every row of the trade's facts has its place in the program, or a stated reason why not.

The rows are the facts of the trade on substrates, mortar, sheets, waterproofing, movement joints,
heated floors and intake, counted by section. Run with ``-s`` to print the map.
"""

from __future__ import annotations

import copy
import re
import tomllib
from collections import Counter
from pathlib import Path
from typing import Any

import pytest

import undercourse

HERE = Path(__file__).parent
DATA = Path(undercourse.__file__).parent / "data"
# Bullets and table lines of the trade's facts, counted where they were written down.
ROWS_PER_SECTION = {
    "2.1": 5,
    "2.2": 11,
    "2.3": 11,
    "2.4": 8,
    "3.1": 8,
    "3.2": 12,
    "3.3": 7,
    "4": 15,
    "5": 16,
    "6": 13,
    "7": 17,
    "13": 45,
}
TARGETS = ("facts", "rules", "topics", "products")
KEYS = {"id", "says", "not_modeled", *TARGETS}
Row = dict[str, Any]


def read_all(folder: Path) -> list[dict[str, Any]]:
    return [tomllib.loads(path.read_text("utf-8")) for path in sorted(folder.rglob("*.toml"))]


def practice_names() -> tuple[set[str], set[str]]:
    """Ids and topics of the trade rules."""
    ids: set[str] = set()
    topics: set[str] = set()
    for data in read_all(DATA / "practice"):
        for rows in data.values():
            for row in rows if isinstance(rows, list) else []:
                ids |= {row["id"]} if "id" in row else set()
                said = row.get("topic", [])
                topics |= {said} if isinstance(said, str) else set(said)
    return ids, topics


def product_names() -> set[str]:
    """What the demo line's products state, as "kind:name"."""
    names: set[str] = set()
    for data in read_all(DATA / "demo" / "line"):
        for product in data.get("product", [data] if "id" in data else []):
            roles = product.get("roles", [product.get("role")])
            names |= {f"role:{role}" for role in roles}
            names |= {f"property:{name}" for name in product.get("properties", {})}
            names |= {f"limit:{row['demand']}" for row in product.get("limit", [])}
            names |= {f"need:{row['role']}" for row in product.get("need", [])}
    return names


def known_names() -> dict[str, set[str]]:
    ids, topics = practice_names()
    facts = set(tomllib.loads((DATA / "vocabulary.toml").read_text("utf-8")))
    return {"facts": facts, "rules": ids, "topics": topics, "products": product_names()}


KEYS_READ = ("rules", "topics", "products", "not_modeled")


def find_faults(rows: list[Row], known: dict[str, set[str]]) -> list[str]:
    """Everything that is wrong with the map."""
    faults = []
    counts = Counter(str(row["id"]).rpartition("-")[0] for row in rows)
    for section in sorted(ROWS_PER_SECTION.keys() | counts.keys()):
        if counts[section] != ROWS_PER_SECTION.get(section, 0):
            faults.append(
                f"section {section}: {counts[section]} rows, not {ROWS_PER_SECTION.get(section, 0)}"
            )
    for name, times in Counter(row["id"] for row in rows).items():
        if times > 1:
            faults.append(f"{name}: {times} times")
    for row in rows:
        here = row["id"]
        if not re.fullmatch(r"\d+(\.\d)?-\d\d", here):
            faults.append(f"{here}: not an id")
        if set(row) - KEYS or not row.get("says"):
            faults.append(f"{here}: keys {sorted(row)}")
        if not any(row.get(key) for key in (*TARGETS, "not_modeled")):
            faults.append(f"{here}: leads nowhere")
        elif not here.startswith("13-") and not any(row.get(key) for key in KEYS_READ):
            faults.append(f"{here}: a fact is asked and nothing reads it")
        reason = row.get("not_modeled")
        if reason is not None and not re.match(r"not modeled: .{20,}", reason):
            faults.append(f"{here}: no reason")
        for key in TARGETS:
            faults += [f"{here}: no {name} in {key}" for name in row.get(key, []) if name not in known[key]]
    return faults


ROWS: list[Row] = tomllib.loads((HERE / "data" / "trade_map.toml").read_text("utf-8"))["row"]


def test_every_row_of_the_trades_facts_has_its_place() -> None:
    """No fact of the trade is lost: each leads to something that exists, or says why it is left out."""
    for row in ROWS:
        places = "; ".join(f"{key}: {', '.join(row[key])}" for key in TARGETS if row.get(key))
        print(row["id"], row["says"], places, row.get("not_modeled", ""), sep="\n    ")
    assert find_faults(ROWS, known_names()) == []


def test_few_rows_are_left_out_whole() -> None:
    """Leaving out is the exception: nearly every row leads to something in the program."""
    whole = [row["id"] for row in ROWS if not any(row.get(key) for key in TARGETS)]
    assert len(whole) <= 4, whole


@pytest.mark.parametrize(
    "spoil",
    [
        lambda rows: rows[0]["facts"].append("no_such_fact"),
        lambda rows: rows[0].update(rules=["no such rule"]),
        lambda rows: rows[0].update(topics=["no such topic"]),
        lambda rows: rows[0].update(products=["limit:no_such_demand"]),
        lambda rows: [rows[0].pop(key, None) for key in TARGETS],
        lambda rows: [rows[0].pop(key, None) for key in TARGETS[1:]],
        lambda rows: rows[0].update(not_modeled="not modeled: later"),
        lambda rows: rows[1].update(id=rows[0]["id"]),
        lambda rows: rows.pop(),
        lambda rows: rows.append({"id": "2.1-06", "says": "One more.", "facts": ["finish"]}),
    ],
    ids=["fact", "rule", "topic", "product", "empty", "unread", "reason", "twice", "missing", "extra"],
)
def test_a_spoiled_map_is_found_out(spoil: Any) -> None:
    """Each kind of fault in the map is noticed."""
    rows = copy.deepcopy(ROWS)
    spoil(rows)
    assert set(find_faults(rows, known_names())) - set(find_faults(ROWS, known_names()))
