"""The answer as the page shows it: one area in full, the others in a line, and what changed."""

from __future__ import annotations

import datetime as dt
import json
import re
from collections.abc import Mapping
from typing import Any

from markupsafe import Markup

from undercourse.advise.answers import area_document, brief
from undercourse.advise.evaluating import evaluate
from undercourse.base.problems import Problems
from undercourse.demands import DEMANDS
from undercourse.drawings.chart import chart_svg
from undercourse.drawings.depends_chart import HEIGHT_M, WIDTH_M, draw_depends
from undercourse.facts.jobs import Job
from undercourse.judge.ranking import rank
from undercourse.judge.rulebook import Rulebook
from undercourse.web.calculations import Asked
from undercourse.web.wording import SITE_WORDS, VERDICT_WORDS, limit_words, plain, share_words, title

Digest = dict[str, Any]
# So many stops stand open; the rest fold away.
MOST_STOPS = 3
# What decides comes first in a table of findings.
_ORDER = ("exceeds", "not valid here", "not stated", "open", "meets", "does not apply")
MOST_DIGEST_CHARACTERS = 200_000


def answer_view(
    job: Job, book: Rulebook, today: dt.date, row: int, last: Digest, advise: bool, tables: str = ""
) -> tuple[dict[str, Any], Digest]:
    """What the page shows of an answer, and the digest that the next answer is compared with.

    Parameters
    ----------
    tables : str
        The candidate whose findings are set out in tables; ``all`` for every one.

    Raises
    ------
    Problems
        Contradictory facts.
    """
    day = job.date or today
    evaluated = evaluate(job.areas, book, day)
    faults = [p for at in sorted(evaluated.problems) for p in evaluated.problems[at]]
    if faults:
        raise Problems(dict.fromkeys(faults))
    document = area_document(evaluated, book, row, advise)
    areas = []
    digest: Digest = {}
    for at, area in enumerate(job.areas):
        if at == row:
            short = _brief_of(document)
        else:
            stopped = brief(evaluated, at, None)["site"] == "stop"
            best = None if stopped else rank(evaluated.judgements, book.line.ranking, at).recommended
            short = brief(evaluated, at, best)
        digest[area.name] = _digest(short)
        areas.append(_area_line(at, area.name, short, book, last.get(area.name), digest[area.name]))
    digest[job.areas[row].name]["p"] = _provided_keys(document)
    before = last.get(job.areas[row].name)
    view = _area_view(document, before if isinstance(before, dict) else None, book, tables)
    basis = {**book.basis, "date": day.isoformat()}
    return {
        "job": job.name,
        "basis": basis,
        "areas": areas,
        "row": row,
        "advised": advise,
        "tables": tables,
        **view,
    }, digest


def read_digest(text: str) -> Digest:
    """The digest that a page carries; empty if it cannot be read, which marks nothing as changed."""
    if len(text) > MOST_DIGEST_CHARACTERS:
        return {}
    try:
        data = json.loads(text or "{}")
    except (ValueError, RecursionError):
        return {}
    return data if isinstance(data, dict) else {}


def _brief_of(document: Mapping[str, Any]) -> dict[str, Any]:
    return {
        "area": document["area"],
        "site": document["site"]["status"],
        "recommended": document["recommended"],
        "candidates": document["candidates"],
    }


def _digest(short: Mapping[str, Any]) -> Digest:
    return {
        "s": short["site"],
        "r": short["recommended"],
        "c": {candidate["id"]: candidate["verdict"] for candidate in short["candidates"]},
    }


def _chosen(short: Mapping[str, Any]) -> dict[str, Any] | None:
    """The candidate that an area's line tells of: the recommended one, else the best verdict of the line."""
    candidates = short["candidates"]
    for candidate in candidates:
        if candidate["id"] == short["recommended"]:
            return dict(candidate)
    order = list(VERDICT_WORDS)
    own = [c for c in candidates if c["id"] != "proposed"] or candidates
    return dict(min(own, key=lambda c: order.index(c["verdict"]))) if own else None


def _area_line(
    at: int, name: str, short: Mapping[str, Any], book: Rulebook, before: Any, now: Digest
) -> dict[str, Any]:
    chosen = _chosen(short)
    stopped = short["site"] == "stop"
    product = book.line.products.get(str(short["recommended"]))
    changed = isinstance(before, dict) and any(before.get(key) != now[key] for key in ("s", "r", "c"))
    verdict = "stop" if stopped else (chosen["verdict"] if chosen else "not_suitable")
    return {
        "at": at,
        "name": name,
        "mark": verdict,
        "words": "Stop" if stopped else VERDICT_WORDS[verdict],
        "product": product.name if product else "",
        "changed": changed,
    }


def _provided_keys(document: Mapping[str, Any]) -> list[str]:
    return [
        f"{item['fact']}={item['must_be']}"
        for candidate in document["candidates"]
        if candidate["id"] == document["recommended"]
        for item in candidate["provided"]
    ]


def _area_view(
    document: dict[str, Any], before: Digest | None, book: Rulebook, tables: str
) -> dict[str, Any]:
    earlier = before.get("c", {}) if before else {}
    earlier = earlier if isinstance(earlier, dict) else {}
    candidates = [
        _candidate(c, document, earlier, before is not None, book, tables in ("all", c["id"]))
        for c in document["candidates"]
    ]
    order = list(VERDICT_WORDS)
    candidates.sort(key=lambda c: (not c["recommended"], c["id"] != "proposed", order.index(c["verdict"])))
    chosen = next((c for c in candidates if c["id"] == document["recommended"]), None)
    if chosen is not None and before is not None:
        known = set(before.get("p") or [])
        for item in chosen["provided"]:
            item["changed"] = f"{item['fact']}={item['must_be']}" not in known
    rest = [c for c in candidates if c is not chosen]
    site = document["site"]
    status = site["status"]
    return {
        "area": document["area"],
        "headline": document["headline"],
        "ranking": _named(document["ranking"], book),
        "site": {
            "status": status,
            "words": SITE_WORDS[status],
            "stops": site["stops"][:MOST_STOPS] if len(site["stops"]) > MOST_STOPS + 1 else site["stops"],
            "more_stops": site["stops"][MOST_STOPS:] if len(site["stops"]) > MOST_STOPS + 1 else [],
            "changed": before is not None and before.get("s") != status,
        },
        "candidates": candidates,
        "chosen": chosen,
        "others": rest,
        "drawn": _drawn(candidates, chosen),
        "floor": document["floor"],
        "moved": _moved(candidates, before, document, book),
        "assumed": document["assumed"],
        "cautions": document["cautions"],
        "prep": {key: document[key] for key in ("prep", "one_number")} if "prep" in document else None,
        "ask_next": [{**item, "why": _named(item["why"], book)} for item in document.get("ask_next", [])],
    }


def _named(text: str, book: Rulebook) -> str:
    """Product ids in a sentence replaced by their names, the asker's own stack among them."""
    words = []
    for word in text.split(" "):
        bare = word.rstrip(",.;")
        product = book.line.products.get(bare)
        name = product.name if product else "the asker's own stack" if bare == "proposed" else bare
        words.append(name + word[len(bare) :])
    return " ".join(words)


def _drawn(candidates: list[dict[str, Any]], chosen: dict[str, Any] | None) -> str:
    """The candidate whose section is drawn: the recommended one, else the best verdict."""
    if chosen is not None:
        return str(chosen["id"])
    order = list(VERDICT_WORDS)
    return str(min(candidates, key=lambda c: order.index(c["verdict"]))["id"]) if candidates else ""


def _candidate(
    candidate: dict[str, Any],
    document: Mapping[str, Any],
    earlier: Mapping[str, Any],
    compare: bool,
    book: Rulebook,
    with_tables: bool,
) -> dict[str, Any]:
    findings = sorted(candidate["findings"], key=lambda f: _ORDER.index(f["status"]))
    shown = [_finding(finding, book, candidate["id"]) for finding in findings] if with_tables else []
    was = earlier.get(candidate["id"])
    changed = compare and was != candidate["verdict"]
    reasons = candidate["why_not"]
    decides = limit_words(candidate["governs"], findings)
    return {
        **candidate,
        "name": title(candidate["name"]) if candidate["id"] == "proposed" else candidate["name"],
        "words": VERDICT_WORDS[candidate["verdict"]],
        "share": share_words(candidate["utilisation"]),
        "decides": reasons[0] if reasons else decides,
        "in_short": _in_short(candidate, reasons, decides),
        "recommended": candidate["id"] == document["recommended"],
        "changed": changed,
        "was": VERDICT_WORDS.get(str(was), "not among the candidates") if changed else "",
        "against": [f for f in shown if f["status"] in _ORDER[:3]],
        "open": [f for f in shown if f["status"] == "open"],
        "meets": [f for f in shown if f["status"] in ("meets", "does not apply")],
        "provided": [
            {**item, "name": title(item["fact"]), "changed": False} for item in candidate["provided"]
        ],
        "depends_on": [_turn(item, with_tables) for item in candidate["depends_on"]],
        "stack_text": "|".join(
            f"{layer['role']}={layer['product']}" for layer in candidate["layers"] if layer["product"]
        ),
    }


def _turn(entry: Mapping[str, Any], with_chart: bool) -> dict[str, Any]:
    """A fact that a verdict turns on, with the chart of the pair that it belongs to."""
    chart = draw_depends(entry) if with_chart else None
    # The chart's own writer escapes every text.
    drawn = Markup(chart_svg(chart, WIDTH_M, HEIGHT_M)) if chart is not None else None
    return {**entry, "name": title(entry["fact"]), "chart": drawn}


def _in_short(candidate: Mapping[str, Any], reasons: list[str], decides: str) -> str:
    """Why a candidate is not the recommended one, in a line."""
    if reasons:
        return reasons[0]
    if candidate["verdict"] in ("suitable", "suitable_if"):
        return "It would suit too; the line's own order puts another before it."
    return f"It turns on: {decides.lower()}." if decides else ""


def _finding(finding: dict[str, Any], book: Rulebook, candidate: str) -> dict[str, Any]:
    value, capacity = finding["value_text"], finding["capacity_text"]
    demand = str(finding["demand"])
    if demand.startswith("wants_"):
        value = {"yes": "asked for", "no": "not asked for"}.get(value, "not known")
        capacity = {"at most no": "not provided", "at most yes": "provided"}.get(capacity, capacity)
    return {
        **finding,
        "name": title(str(finding["limit"]) if demand in ("", "contact") else demand),
        "value_text": "not known" if value == "unknown" else value,
        "capacity_text": {"unknown": "any", "not other": "any that is named"}.get(capacity, capacity),
        "share": share_words(finding["utilisation"]),
        "by": product.name if (product := book.line.products.get(finding["by"])) else title(finding["by"]),
        "source": re.sub(r"^([a-z]+):(?=\S)", r"\1: ", str(finding["source"])),
        "sentence": (finding["working"] or {}).get("sentence", ""),
        "sheet": Asked(candidate, demand).key if demand in DEMANDS else "",
        "gives_way": plain(str(finding["overrides"])) if finding["overrides"] else "",
    }


def _moved(
    candidates: list[dict[str, Any]], before: Digest | None, document: Mapping[str, Any], book: Rulebook
) -> list[str]:
    """What the last entry changed in this area's answer, as sentences."""
    if before is None:
        return []
    found = []
    if before.get("s") != document["site"]["status"]:
        was = SITE_WORDS.get(str(before.get("s")), "not judged")
        found.append(f"The site is now “{SITE_WORDS[document['site']['status']]}”; it was “{was}”.")
    if before.get("r") != document["recommended"]:
        was_product = book.line.products.get(str(before.get("r")))
        now_product = book.line.products.get(str(document["recommended"]))
        was, now = (product.name if product else "nothing" for product in (was_product, now_product))
        found.append(f"{now[:1].upper()}{now[1:]} is recommended now; it was {was}.")
    found += [f"{c['name']} is now “{c['words']}”; it was “{c['was']}”." for c in candidates if c["changed"]]
    return found
