"""The parts of an area's report behind its first page, as plain words and numbers."""

from __future__ import annotations

import re
from typing import Any

from undercourse.drawings import plain_name
from undercourse.drawings.materials import layer_name
from undercourse.drawings.measures import length_text, quantity_text, weight_text
from undercourse.papers.pieces import dual, items, money, own_source
from undercourse.papers.wording import (
    VERDICTS,
    candidate_name,
    counted,
    fact_name,
    sentence,
    source_text,
    status_key,
)


def other_candidates(area: dict[str, Any], chosen: dict[str, Any] | None) -> list[dict[str, str]]:
    """The candidates not recommended, each with why not."""
    own = chosen.get("id") if chosen else None
    rows = []
    for candidate in area.get("candidates") or ():
        if candidate.get("id") != own:
            rows.append(
                {
                    "name": fact_name(candidate_name(candidate)),
                    "key": str(candidate.get("verdict") or "none"),
                    "word": VERDICTS.get(str(candidate.get("verdict")), "No verdict"),
                    "why": why_not(candidate),
                }
            )
    return rows


def why_not(candidate: dict[str, Any]) -> str:
    """In short why an assembly was not the one recommended."""
    said = [sentence(reason) for reason in items(candidate.get("why_not")) if reason]
    if said:
        rest = f" {counted(len(said) - 2, 'more reason').capitalize()}." if len(said) > 2 else ""
        return " ".join(said[:2]) + rest
    findings = [dict(f) for f in candidate.get("findings") or ()]
    failed = [f for f in findings if status_key(f.get("status")) in ("exceeds", "not valid here")]
    if failed:
        first = sentence(failed[0].get("reason")) or sentence(
            fact_name(failed[0].get("limit")) + " is exceeded"
        )
        more = len(failed) - 1
        return f"{first} {counted(more, 'more limit').capitalize()} not met." if more else first
    missing = items(candidate.get("not_stated"))
    if missing:
        names = [plain_name(m.get("limit") or m.get("demand") if isinstance(m, dict) else m) for m in missing]
        shown = ", ".join(names[:3]) + (f" and {len(names) - 3} more" if len(names) > 3 else "")
        return f"The maker does not state: {shown}."
    turns = items(candidate.get("depends_on"))
    if turns:
        names = [plain_name(t.get("fact") if isinstance(t, dict) else t) for t in turns]
        return f"It turns on {', '.join(names[:3])}{f' and {len(names) - 3} more' if len(names) > 3 else ''}."
    things = len(items(candidate.get("provided")))
    if things:
        return f"It would do, provided {counted(things, 'thing is', 'things are')} made so; it ranks lower."
    return "It would do; it ranks lower."


def assumed(area: dict[str, Any], candidate: dict[str, Any] | None) -> dict[str, Any]:
    """What the answer took as given, in sentences and as values, and what rests on practice or memory."""
    said, rows = [], []
    for raw in items(area.get("assumed")):
        if isinstance(raw, dict):
            words = quantity_text(raw.get("value"), raw.get("unit"))
            why = sentence(raw.get("why") or raw.get("how"))
            rows.append({"what": fact_name(raw.get("fact")), "as": words, "why": why})
        else:
            said.append(sentence(raw))
    practice: list[str] = []
    for finding in (candidate or {}).get("findings") or ():
        source = source_text(finding.get("source"))
        if status_key(finding.get("status")) != "does not apply" and re.search(
            "no source|from memory", source
        ):
            practice.append(f"{plain_name(finding.get('demand') or finding.get('limit'))} ({source})")
    return {"said": said, "rows": rows, "practice": list(dict.fromkeys(practice))}


def open_facts(area: dict[str, Any], candidate: dict[str, Any] | None) -> list[dict[str, Any]]:
    """What is not known yet: the question to ask, and on which answer the verdict turns."""
    asked = {str(a.get("fact")): a for a in area.get("ask_next") or () if isinstance(a, dict)}
    turns = {str(t.get("fact")): t for t in (candidate or {}).get("depends_on") or () if isinstance(t, dict)}
    rows = []
    for name in [*asked, *(fact for fact in turns if fact not in asked)]:
        ask, turn = asked.get(name, {}), turns.get(name, {})
        unit = turn.get("unit")
        rows.append(
            {
                "fact": fact_name(name),
                "question": str(ask.get("question") or turn.get("question") or ""),
                "why": sentence(ask.get("why")),
                "suitable": dual(_when(turn.get("suitable_when"), unit)),
                "not_suitable": dual(_when(turn.get("not_suitable_when"), unit)),
            }
        )
    return rows


def _when(value: Any, unit: Any) -> str:
    return "–" if value in (None, "", [], {}) else quantity_text(value, unit)


def overrides(candidate: dict[str, Any] | None, maker: str = "") -> list[dict[str, str]]:
    """Where one rule gives way to another, and who carries it: said, else the maker whose evidence it is."""
    rows = []
    for finding in (candidate or {}).get("findings") or ():
        for raw in items(finding.get("overrides")):
            if not raw:
                continue
            idle = status_key(finding.get("status")) == "does not apply"
            # A rule that no longer applies names what took its place; one that applies, what it displaced.
            entry = raw if isinstance(raw, dict) else {"by" if idle else "rule": raw}
            if idle:
                entry = {"rule": finding.get("limit") or finding.get("demand"), **entry}
            rule = next(
                (entry[key] for key in ("rule", "overridden", "limit", "what") if entry.get(key)), "a rule"
            )
            who = next((entry[key] for key in ("carried_by", "who_carries", "who") if entry.get(key)), "")
            by = source_text(entry.get("by") or finding.get("source"))
            if not who and "evidence" in by:
                who = maker or "the maker"
            rows.append(
                {
                    "limit": fact_name(finding.get("demand") or finding.get("limit")),
                    "rule": plain_name(rule),
                    "by": by,
                    "who": str(who or "not said"),
                }
            )
    return rows


def preparations(area: dict[str, Any], currency: str = "") -> list[dict[str, str]]:
    """What would put the site right, and what follows from doing it."""
    rows = []
    for raw in items(area.get("prep")):
        entry = raw if isinstance(raw, dict) else {"do": raw}
        cost = entry.get("cost")
        words = "–" if cost is None else money(cost, str(entry.get("currency") or currency))
        works = entry.get("do")
        said = " ".join(map(sentence, works)) if isinstance(works, list) else sentence(works)
        gates = [
            f"First, by {gate['who']}: {gate['label']} = {gate['must_be']}."
            for gate in items(entry.get("gates"))
        ]
        rows.append({"do": " ".join([said, *gates]), "then": sentence(entry.get("then")), "cost": words})
    return rows


def quantities(takeoff: dict[str, Any] | None) -> dict[str, Any] | None:
    """The take-off of an area as rows, with its sums."""
    if not takeoff:
        return None
    currency = str(takeoff.get("currency") or "")
    lines = [_quantity(line, currency) for line in takeoff.get("lines") or ()]
    dates = sorted({str(line["price_date"]) for line in takeoff.get("lines") or () if line.get("price_date")})
    allowance = takeoff.get("allowance")
    if isinstance(allowance, int | float):
        allowance = f"{allowance * 100:.0f} % on what is measured"
    return {
        "rows": lines,
        "allowance": str(allowance or ""),
        "cost": money(takeoff.get("cost"), currency),
        "weight": dual(weight_text(float(takeoff["weight_kg"])))
        if takeoff.get("weight_kg") is not None
        else dual("–"),
        "priced": ", ".join(dates),
        "unpriced": [str(name) for name in items(takeoff.get("unpriced"))],
        "hours": f"{takeoff['hours']:g}" if isinstance(takeoff.get("hours"), int | float) else "",
        "labor": money(takeoff.get("labor_cost"), currency) if takeoff.get("labor_cost") else "",
        "notes": [sentence(note) for note in items(takeoff.get("notes"))],
        "also": [
            f"{one['what']}, {quantity_text(one['need'], one['unit'])}" for one in items(takeoff.get("also"))
        ],
    }


def _quantity(line: dict[str, Any], currency: str) -> dict[str, Any]:
    unit = line.get("unit")
    packs, pack = line.get("packs"), line.get("pack")
    size = quantity_text(pack, unit) if isinstance(pack, int | float | dict) else str(pack or "")
    number = f"{packs:g}" if isinstance(packs, int | float) else str(packs or "–")
    weight = line.get("weight_kg")
    name = layer_name({**line, "kind": line.get("what")})
    what = str(line.get("what") or line.get("role") or "")
    return {
        "name": name,
        "what": plain_name(what) if what and what != name else "",
        "item": str(line.get("item_number") or ""),
        "need": dual(quantity_text(line.get("need"), unit)),
        "packs": number,
        "pack": size,
        "price": money(line.get("price"), ""),
        "cost": money(line.get("cost"), ""),
        "currency": str(line.get("currency") or currency),
        "weight": dual(weight_text(float(weight))) if isinstance(weight, int | float) else dual("–"),
        "note": sentence(line.get("note")),
    }


def cut_list(layout: dict[str, Any] | None, name: str) -> list[dict[str, Any]]:
    """The pieces of one area in the order they come off the rolls."""
    own = [p for p in (layout or {}).get("pieces") or () if p.get("area") in (None, name)]

    def place(piece: dict[str, Any]) -> tuple[str, float, float]:
        at = piece.get("at") or (0.0, 0.0)
        return (str(piece.get("roll") or "").rjust(9), float(at[0]), float(at[1]))

    rows = []
    for piece in sorted(own, key=place):
        start = float((piece.get("at") or (0.0, 0.0))[0])
        rows.append(
            {
                "id": str(piece.get("id") or ""),
                "strip": str(piece.get("strip") or ""),
                "roll": str(piece.get("roll") or ""),
                "length": dual(length_text(float(piece.get("length_m") or 0))),
                "width": dual(length_text(float(piece.get("width_m") or 0))),
                "start": dual(length_text(start)),
            }
        )
    return rows


def step_rows(steps: list[dict[str, Any]] | None) -> list[dict[str, str]]:
    """Steps in order, each with its source and its caution."""
    rows = []
    for raw in steps or ():
        rows.append(
            {
                "step": sentence(raw.get("step")),
                "detail": sentence(raw.get("detail")),
                "source": own_source(raw),
                "caution": sentence(raw.get("caution")),
            }
        )
    return rows
