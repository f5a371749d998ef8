"""One area of a job report as plain words and numbers, ready for the template: what stands where."""

from __future__ import annotations

import re
from typing import Any

from undercourse.drawings import open_share, plain_name, read_share, share_text, total_thickness_text
from undercourse.drawings.materials import is_coat, is_existing, is_structure, layer_name, split_layers
from undercourse.drawings.measures import length_text, quantity_text, weight_text
from undercourse.papers.wording import (
    SITES,
    STATUSES,
    VERDICTS,
    candidate_name,
    counted,
    fact_name,
    governing_finding,
    sentence,
    source_text,
    status_key,
    verdict_sentence,
)

NEAR_SHARE = 0.8  # limits met with more than this are told with their reasons
MOST_SHARE = 2.0  # an open share beyond this only says that nothing is known
FRONT_ITEMS = 5  # so many conditions and cautions stand on the first page; the rest follow


def _items(value: Any) -> list[Any]:
    if value is None:
        return []
    return list(value) if isinstance(value, list | tuple) else [value]


def dual(text: str) -> dict[str, str]:
    """A quantity split where its bracket begins, so that the second system can stand lighter."""
    if text.endswith(")") and text.count(" (") == 1:
        first, second = text.split(" (")
        return {"first": first, "second": f"({second}"}
    return {"first": text, "second": ""}


def recommended_candidate(area: dict[str, Any]) -> dict[str, Any] | None:
    """The recommended candidate, else the first with the best verdict, or the one that fails least."""
    candidates = [dict(c) for c in area.get("candidates") or ()]
    wanted = area.get("recommended")
    for candidate in candidates:
        if wanted is not None and candidate.get("id") == wanted:
            return candidate
    order = list(VERDICTS)

    def place(candidate: dict[str, Any]) -> tuple[int, float]:
        verdict = candidate.get("verdict")
        used = read_share(candidate.get("utilisation"))
        worst = used[1] if used and verdict == "not_suitable" else 0.0
        return (order.index(verdict) if verdict in order else len(order), worst)

    return min(candidates, key=place, default=None)


def answer_sentence(area: dict[str, Any], candidate: dict[str, Any] | None) -> tuple[str, str]:
    """Key of the mark and the answer as one sentence; a stop on site comes before any verdict."""
    if status_key((area.get("site") or {}).get("status")) == "stop":
        return "stop", "Nothing is recommended until the stop on site is cleared."
    if candidate and area.get("recommended") is None and candidate.get("verdict") == "not_suitable":
        return "not_suitable", "Not suitable: no assembly that was judged may be used here."
    return str((candidate or {}).get("verdict") or "none"), verdict_sentence(candidate)


def read_cautions(area: dict[str, Any]) -> list[dict[str, str]]:
    """Cautions with what they are about, from plain texts or from dicts."""
    found = []
    for raw in _items(area.get("cautions")):
        if isinstance(raw, dict):
            text = next((raw[key] for key in ("text", "caution", "what", "say") if raw.get(key)), "")
            about = next(
                (raw[key] for key in ("about", "limit", "demand", "fact", "layer") if raw.get(key)), ""
            )
            found.append({"text": sentence(text), "about": str(about), "source": _source(raw)})
        else:
            found.append({"text": sentence(raw), "about": "", "source": ""})
    return [caution for caution in found if caution["text"]]


def _source(raw: dict[str, Any]) -> str:
    return source_text(raw["source"]) if raw.get("source") else ""


def front_page(area: dict[str, Any], candidate: dict[str, Any] | None) -> dict[str, Any]:
    """The one-page answer: site, verdict, assembly, conditions, what decides, cautions."""
    site = area.get("site") or {}
    status = status_key(site.get("status"))
    chosen = candidate or {}
    cautions = read_cautions(area)
    provided = conditions(chosen)
    layers, goods = split_layers(list(chosen.get("layers") or ()))
    key, words = answer_sentence(area, candidate)
    return {
        "site": {"key": status, "word": SITES.get(status, "Not judged"), "stops": _stops(site)},
        "verdict": {
            "key": key,
            "sentence": words,
            "apart": _apart(candidate) if key == "stop" and candidate else "",
        },
        "goods": [layer_name(layer) for layer in goods],
        "recommended": area.get("recommended") is not None and candidate is not None,
        "ranking": sentence(area.get("ranking")),
        "layers": [_layer(layer) for layer in layers],
        "height": dual(total_thickness_text(layers) if layers else ""),
        "new_height": dual(_new_height(layers)),
        "provided": provided[:FRONT_ITEMS],
        "provided_more": max(0, len(provided) - FRONT_ITEMS),
        "decides": decides(chosen),
        "cautions": cautions[:FRONT_ITEMS],
        "cautions_more": max(0, len(cautions) - FRONT_ITEMS),
    }


def _apart(candidate: dict[str, Any]) -> str:
    if candidate.get("verdict") == "not_suitable":
        return "Apart from the stop, no assembly that was judged may be used here."
    return f"Apart from the stop: {verdict_sentence(candidate)}"


def _stops(site: dict[str, Any]) -> list[dict[str, str]]:
    return [
        {
            "why": _stop_text(stop),
            "who": str(stop.get("who_decides") or "") if isinstance(stop, dict) else "",
            "source": _source(stop) if isinstance(stop, dict) else "",
        }
        for stop in _items(site.get("stops"))
    ]


def _stop_text(stop: Any) -> str:
    if not isinstance(stop, dict):
        return sentence(stop)
    words = sentence(stop.get("why"))
    return f"To be looked at: {words}" if stop.get("certain") is False else words


def _layer(layer: dict[str, Any]) -> dict[str, Any]:
    role = plain_name(layer.get("role") or "layer")
    words = "a coat" if is_coat(layer) else total_thickness_text([layer])
    words = "–" if is_structure(layer) and layer.get("thickness_m") is None else words
    return {
        "name": layer_name(layer),
        "role": f"{role}, if it is needed" if layer.get("certain") is False else role,
        "thickness": dual(words),
        "existing": is_existing(layer),
    }


def _new_height(layers: list[dict[str, Any]]) -> str:
    new = [layer for layer in layers if not is_existing(layer)]
    return total_thickness_text(new) if new and len(new) < len(layers) else ""


def conditions(candidate: dict[str, Any]) -> list[dict[str, str]]:
    """What must be made so, by whom, and when it is checked."""
    rows = []
    for raw in _items(candidate.get("provided")):
        if not isinstance(raw, dict):
            rows.append({"fact": "", "must": sentence(raw), "who": "", "when": "", "source": ""})
            continue
        rows.append(
            {
                "fact": fact_name(raw.get("fact")),
                "must": quantity_text(raw.get("must_be"), raw.get("unit")),
                "who": str(raw.get("by_whom") or "not said"),
                "when": str(raw.get("when_checked") or "not said"),
                "source": source_text(raw.get("source")),
            }
        )
    return rows


def decides(candidate: dict[str, Any]) -> str:
    """The limit that decides, as a sentence with both numbers."""
    finding = governing_finding(candidate)
    if finding is None:
        governs = candidate.get("governs")
        if governs:
            return f"{fact_name(governs)} decides."
        return "No single limit decides."
    name = fact_name(finding.get("demand") or finding.get("limit"))
    status = status_key(finding.get("status"))
    share = open_share(finding) if status == "open" else read_share(finding.get("utilisation"))
    needs, allows = _needed(finding), _allowed(finding)
    if needs in ("unknown", "not known"):
        return f"{name} decides: it is not known yet; the product allows {allows}."
    if status == "open" and share is not None and share[1] > MOST_SHARE:
        return f"{name} decides, and is open: the site needs {needs}, the product allows {allows}."
    if share is not None:
        used = f"{name} decides: it uses {share_text(*share)} of what the product allows."
        return f"{used} The site needs {needs}, the product allows {allows}."
    return f"{name} decides: the site needs {needs}, the product allows {allows}."


def findings_table(candidate: dict[str, Any], cautions: list[dict[str, str]]) -> dict[str, Any]:
    """Every finding that applies, the ones that decide or fail first, with its caution beside it."""
    order = {"exceeds": 0, "open": 1, "not stated": 2, "not valid here": 3, "meets": 4}
    findings = [dict(f) for f in candidate.get("findings") or ()]
    applying = [f for f in findings if status_key(f.get("status")) != "does not apply"]

    def rank(finding: dict[str, Any]) -> tuple[bool, int, float, str]:
        share = read_share(finding.get("utilisation"))
        leads = candidate.get("governs") in (finding.get("limit"), finding.get("demand"))
        place = order.get(status_key(finding.get("status")), 5)
        return (not leads, place, -(share[1] if share else -1.0), str(finding.get("limit")))

    rows = [_finding(finding, cautions) for finding in sorted(applying, key=rank)]
    full = [row for row in rows if row["key"] != "meets" or row["cautions"] or row["near"] or row is rows[0]]
    met = [row for row in rows if row not in full]
    bare = [row for row in met if row["needs"]["first"] == "–" == row["allows"][0]["first"]]
    return {
        "rows": _joined(full, "reasons"),
        "met": _joined([row for row in met if row not in bare], "allows"),
        "bare": [f"{row['name']} ({row['reasons'][0]['source']})" for row in bare],
        "idle": len(findings) - len(applying),
    }


def _joined(rows: list[dict[str, Any]], by: str) -> list[dict[str, Any]]:
    """Rows on one demand as one row: open ones with all that is allowed, met ones where that is the same."""
    joined: dict[str, dict[str, Any]] = {}
    for row in rows:
        same = [row["name"], row["needs"], row["key"], row["made_so"], row["share"]]
        if by == "allows":
            same.append(row["allows"])
        elif row["key"] != "open":
            same.append(id(row))
        known = joined.setdefault(repr(same), {**row, "allows": [], "reasons": [], "cautions": []})
        for part in ("allows", "reasons", "cautions"):
            known[part] = [*known[part], *(one for one in row[part] if one not in known[part])]
    return list(joined.values())


def _finding(finding: dict[str, Any], cautions: list[dict[str, str]]) -> dict[str, Any]:
    status = status_key(finding.get("status"))
    names = {str(finding.get("limit")), str(finding.get("demand"))}
    beside = [caution["text"] for caution in cautions if caution["about"] in names]
    own = sentence(finding.get("caution"))
    if own and own not in beside:
        beside.append(own)
    limit, by = plain_name(finding.get("limit") or ""), str(finding.get("by") or "")
    label = "" if finding.get("limit") in (None, finding.get("demand")) else limit
    source = source_text(finding.get("source"))
    return {
        "name": fact_name(finding.get("demand") or finding.get("limit")),
        "needs": dual(_needed(finding)),
        "allows": [dual(_allowed(finding))],
        "share": _share_used(finding, status),
        "status": STATUSES.get(status, status.capitalize() or "Not judged"),
        "near": (read_share(finding.get("utilisation")) or (0.0, 0.0))[1] >= NEAR_SHARE,
        "made_so": bool(finding.get("can_be_made_so")),
        "key": status,
        "reasons": [
            {
                "reason": sentence(finding.get("reason")),
                "working": _working(finding.get("working")),
                "source": "; ".join(
                    dict.fromkeys(filter(None, (label, by if by not in label else "", source)))
                ),
            }
        ],
        "cautions": beside,
        "respects": [_respect(raw) for raw in finding.get("respects") or () if isinstance(raw, dict)],
    }


def _share_used(finding: dict[str, Any], status: str) -> dict[str, str]:
    """Share or margin; of an open finding only a share that says something."""
    share = open_share(finding) if status == "open" else read_share(finding.get("utilisation"))
    if share is not None:
        return dual("–" if status == "open" and share[1] > MOST_SHARE else share_text(*share))
    if finding.get("margin") is None or status == "open":
        return dual("–")
    used = dual(_margin_text(finding["margin"], finding.get("unit")))
    return {**used, "second": f"{used['second']} margin".strip()}


def _respect(raw: dict[str, Any]) -> str:
    kept = {"no": "this floor differs", "open": "not known yet"}.get(
        str(raw.get("kept")), str(raw.get("kept") or "")
    )
    return f"{fact_name(raw.get('fact'))}: tested {raw.get('tested')}, here {raw.get('here')}; {kept}."


def _margin_text(margin: Any, unit: Any) -> str:
    """A margin in both systems; between temperatures it is a difference, not a temperature."""
    if isinstance(margin, dict) and "value" in margin:
        margin, unit = margin["value"], margin.get("unit", unit)
    differences = {"C": "deltaC", "degC": "deltaC", "F": "deltaF", "degF": "deltaF"}
    return quantity_text(margin, differences.get(str(unit), unit))


def _needed(finding: dict[str, Any]) -> str:
    """What the site needs: in the answer's own words where it has them."""
    if finding.get("value") is None and finding.get("capacity") is None and not finding.get("value_text"):
        return "–"
    return str(finding.get("value_text") or "") or quantity_text(finding.get("value"), finding.get("unit"))


def _allowed(finding: dict[str, Any]) -> str:
    if finding.get("capacity_text"):
        return str(finding["capacity_text"])
    if finding.get("capacity") is None:
        return (
            "–"
            if finding.get("value") is None and status_key(finding.get("status")) == "meets"
            else "not stated"
        )
    return quantity_text(finding["capacity"], finding.get("unit"))


def _working(working: Any) -> str:
    if isinstance(working, dict) and working.get("sentence"):
        return f"{sentence(working['sentence'])} {working.get('source') or ''}".strip()
    if isinstance(working, dict):
        return ", ".join(_worked(str(key), value) for key, value in working.items())
    if isinstance(working, list | tuple):
        return "; ".join(_working(one) for one in working)
    if isinstance(working, float):
        return f"{working:.4g}"
    return "" if working is None else str(working)


_SUFFIXES = {"m": "m", "m2": "m2", "pa": "Pa", "kg": "kg", "n": "N", "c": "C", "k": "K", "percent": "%"}


def _worked(key: str, value: Any) -> str:
    """One number of the working; the suffix of its name tells its unit."""
    stem, _, suffix = key.rpartition("_")
    if stem and suffix in _SUFFIXES and isinstance(value, int | float):
        return f"{plain_name(stem)} {quantity_text(value, _SUFFIXES[suffix])}"
    return f"{plain_name(key)} {_working(value)}"


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
    said = [sentence(reason) for reason in _items(candidate.get("why_not")) if reason]
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
    missing = _items(candidate.get("not_stated"))
    if missing:
        names = [plain_name(m.get("limit") or m.get("demand") if isinstance(m, dict) else m) for m in missing]
        shown = ", ".join(names[:3]) + (f" and {len(names) - 3} more" if len(names) > 3 else "")
        return f"The maker does not state: {shown}."
    turns = _items(candidate.get("depends_on"))
    if turns:
        names = [plain_name(t.get("fact") if isinstance(t, dict) else t) for t in turns]
        return f"It turns on {', '.join(names[:3])}{f' and {len(names) - 3} more' if len(names) > 3 else ''}."
    things = len(_items(candidate.get("provided")))
    if things:
        return f"It would do, provided {counted(things, 'thing is', 'things are')} made so; it ranks lower."
    return "It would do; it ranks lower."


def assumed(area: dict[str, Any], candidate: dict[str, Any] | None) -> dict[str, Any]:
    """What the answer took as given, in sentences and as values, and what rests on practice or memory."""
    said, rows = [], []
    for raw in _items(area.get("assumed")):
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
                "question": str(ask.get("question") or ""),
                "why": sentence(ask.get("why")),
                "suitable": dual(_when(turn.get("suitable_when"), unit)),
                "not_suitable": dual(_when(turn.get("not_suitable_when"), unit)),
            }
        )
    return rows


def _when(value: Any, unit: Any) -> str:
    return "–" if value in (None, "", [], {}) else quantity_text(value, unit)


def overrides(candidate: dict[str, Any] | None) -> list[dict[str, str]]:
    """Where one rule gives way to another, and who carries it."""
    rows = []
    for finding in (candidate or {}).get("findings") or ():
        for raw in _items(finding.get("overrides")):
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
            rows.append(
                {
                    "limit": fact_name(finding.get("limit") or finding.get("demand")),
                    "rule": plain_name(rule),
                    "by": source_text(entry.get("by") or finding.get("source")),
                    "who": str(who or "not said"),
                }
            )
    return rows


def preparations(area: dict[str, Any], currency: str = "") -> list[dict[str, str]]:
    """What would put the site right, and what follows from doing it."""
    rows = []
    for raw in _items(area.get("prep")):
        entry = raw if isinstance(raw, dict) else {"do": raw}
        cost = entry.get("cost")
        words = "–" if cost is None else money(cost, currency)
        rows.append({"do": sentence(entry.get("do")), "then": sentence(entry.get("then")), "cost": words})
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
        "unpriced": [str(name) for name in _items(takeoff.get("unpriced"))],
        "hours": f"{takeoff['hours']:g}" if isinstance(takeoff.get("hours"), int | float) else "",
        "labor": money(takeoff.get("labor_cost"), currency) if takeoff.get("labor_cost") else "",
        "notes": [sentence(note) for note in _items(takeoff.get("notes"))],
    }


def money(amount: Any, currency: str) -> str:
    """An amount with its currency; a dash where there is none."""
    if not isinstance(amount, int | float) or isinstance(amount, bool):
        return "–" if amount in (None, "") else str(amount)
    return f"{amount:,.2f} {currency}".strip()


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
                "source": _source(raw),
                "caution": sentence(raw.get("caution")),
            }
        )
    return rows
