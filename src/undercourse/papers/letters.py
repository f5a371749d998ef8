"""The reply to an asker as a letter: plain text made from the answer, ready to be copied."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Mapping, Sequence
from typing import Any

from undercourse.base.units import UNITS, show_quantity
from undercourse.papers.wording import counted, listed, sentence, source_text

WIDTH = 78
# The letter stays within one to one and a half pages: the full lists are in the answer.
MOST_QUESTIONS = 5
MOST_CAUTIONS = 3
MOST_REASONS = 3
MOST_STOPS = 3
_YES = ("suitable", "suitable_if")
_NUMBER = re.compile(r"(?<=\d) (?=\S)")
_OPEN_STOP = re.compile(r"(.+?\?) If (.+?), it (?:would|may) stop the work: ")
_HOLD = "\u00a0"
_OWN = "The stack that you propose"


def letter(
    answer: Mapping[str, Any],
    area: Mapping[str, Any],
    asks: Sequence[Mapping[str, str]] | None = None,
    client: str = "",
) -> dict[str, Any]:
    """One area's answer as a short letter.

    Parameters
    ----------
    answer : mapping
        The answer document of the job; ``area`` is one of its areas.
    asks : sequence of mapping, optional
        Open facts in the order of asking, each with ``question`` and ``find``; those of the answer when
        left out.
    client : str, optional
        To whom the letter goes.

    Returns
    -------
    dict
        ``job``, ``area``, ``subject``, ``text``, ``line_revision``, ``date``.
    """
    line, date = answer["basis"]["line"], answer["basis"]["date"]
    subject = f"{answer['job']}: {area['area']}"
    chosen = answered_candidate(area)
    questions = list(area.get("ask_next") or ()) if asks is None else list(asks)
    head = [f"{line['maker']}, technical desk", f"Date: {date or 'not given'}"]
    head += [f"To: {client}"] if client else []
    head += [f"Subject: {subject}"]
    parts = ["\n".join(head), _wrap(" ".join(_verdict(area, chosen)))]
    parts += [_site(area)]
    if chosen is not None and area["site"]["status"] != "stop":
        parts += [_assembly(chosen, area), _provided(chosen)]
        parts += [_block("We assumed", [sentence(text) for text in area["assumed"]])]
    parts += [_questions(questions)]
    parts += [_cautions(area)]
    if chosen is not None:
        parts += [_overrides(chosen, line["maker"])]
    parts += [*_why_not(area, chosen), _closing(line, date)]
    text = "\n\n".join(part for part in parts if part) + "\n"
    return {
        "job": answer["job"],
        "area": area["area"],
        "subject": subject,
        "text": text,
        "line_revision": line["revision"],
        "date": date,
    }


def answered_candidate(area: Mapping[str, Any]) -> dict[str, Any] | None:
    """What the letter answers with: the asker's own stack where it suits, else the recommended product."""
    own = _find(area, "proposed")
    if own is not None and own["verdict"] in _YES:
        return own
    return _find(area, area["recommended"])


def _find(area: Mapping[str, Any], name: str | None) -> dict[str, Any] | None:
    return next((dict(one) for one in area["candidates"] if one["id"] == name), None)


def _called(candidate: Mapping[str, Any]) -> str:
    return _OWN if candidate["id"] == "proposed" else str(candidate["name"])


def _wrap(text: str, first: str = "") -> str:
    """Lines of the letter's width; a number stays with the word after it."""
    held = _NUMBER.sub(_HOLD, text)
    filled = textwrap.fill(
        held,
        WIDTH,
        initial_indent=first,
        subsequent_indent=" " * len(first),
        break_long_words=False,
        break_on_hyphens=False,
    )
    return filled.replace(_HOLD, " ")


def _block(title: str, lines: Sequence[str]) -> str:
    """A title and its points; empty where there is none."""
    return "\n".join([f"{title}:", *(_wrap(line, "- ") for line in lines)]) if lines else ""


def _verdict(area: Mapping[str, Any], chosen: Mapping[str, Any] | None) -> list[str]:
    """The verdict in a sentence, and what stands beside it."""
    own = _find(area, "proposed")
    if area["site"]["status"] == "stop":
        return [area["headline"], "We name no product until that is cleared."]
    said = []
    if own is not None and own["verdict"] not in _YES:
        words = {
            "needs_facts": "cannot be answered for yet: facts are missing",
            "needs_ruling": "is not covered by what its maker, or we, have stated",
            "not_suitable": "is not suitable here",
        }
        said.append(f"{_OWN} {words[own['verdict']]}.")
    if chosen is None:
        said.append(str(area["headline"]).removeprefix("Once the site is looked at: "))
        return said
    lead = "" if area["site"]["status"] == "ready" else "Once the site has been looked at, "
    name = _called(chosen) if not lead or chosen["id"] != "proposed" else _OWN.replace("The", "the")
    if chosen["verdict"] == "suitable":
        said.append(f"{lead}{name} is suitable as set out below.")
    else:
        things = counted(len(chosen["provided"]), "thing is", "things are")
        said.append(f"{lead}{name} is suitable, provided that {things} made so as listed below.")
    if chosen["id"] == "proposed":
        said += _first_choice(area)
    return said


def _first_choice(area: Mapping[str, Any]) -> list[str]:
    """The product that we would have named, where it is not already in the asker's stack."""
    first = _find(area, area["recommended"])
    if first is None or first["id"] in _products_of(_find(area, "proposed")):
        return []
    return [f"Of the line we would name {first['name']} first."]


def _products_of(candidate: Mapping[str, Any] | None) -> list[str]:
    """The membranes of the line in a stack."""
    layers = candidate["layers"] if candidate else ()
    return [layer["product"] for layer in layers if layer["role"] == "membrane" and layer["product"]]


def _site(area: Mapping[str, Any]) -> str:
    """What stops the work besides the verdict itself, or may, before any product; who decides."""
    status = area["site"]["status"]
    stops = area["site"]["stops"]
    if status == "ready":
        return ""
    if status == "open":
        return _block("Before any product, look on site for what may stop the work", _looked_at(stops))
    others = [stop for stop in stops if stop["certain"]][1:]
    lines = [f"{sentence(s['why'])} Decides: {s['who_decides']}." for s in others[:MOST_STOPS]]
    if len(others) > MOST_STOPS:
        lines.append(f"And {len(others) - MOST_STOPS} more; the answer to the job lists them all.")
    return _block("Stops the work as well", lines)


def _looked_at(stops: Sequence[Mapping[str, Any]]) -> list[str]:
    """Each question once, with who decides on what is found."""
    found: dict[str, dict[tuple[str, str], None]] = {}
    for stop in stops:
        who = stop["who_decides"].partition(":")[0]
        asked = _OPEN_STOP.match(stop["why"])
        question, case = (asked[1], asked[2]) if asked else (sentence(stop["why"]), "")
        cases = found.setdefault(question, {})
        if not any(who == other and case in wider for wider, other in cases):
            cases[case, who] = None
    lines = [
        " ".join(
            [
                question,
                *(f"If {case}, decides: {who}." if case else f"Decides: {who}." for case, who in cases),
            ]
        )
        for question, cases in found.items()
    ]
    if len(lines) > MOST_STOPS:
        lines[MOST_STOPS:] = [f"And {len(lines) - MOST_STOPS} more; the answer to the job lists them all."]
    return lines


def _assembly(chosen: Mapping[str, Any], area: Mapping[str, Any]) -> str:
    """The layers from the tile down to what is there."""
    tile = (area.get("floor") or {}).get("tile")
    lines = [_layer(tile["product"], tile["thickness_m"])] if tile else []
    for layer in chosen["layers"]:
        doubt = "" if layer["certain"] else ", if needed"
        name = layer["name"] if layer["name"] == layer["role"] else f"{layer['role']}: {layer['name']}"
        lines.append(_layer(f"{name}{doubt}", layer["thickness_m"]))
    floor = [layer["product"] for layer in (area.get("floor") or {}).get("existing", ())]
    if floor:
        lines.append(f"on what is there: {listed(list(dict.fromkeys(floor)))}")
    return _block("Assembly, from the tile down", lines)


def _layer(name: str, thickness_m: float | None) -> str:
    return f"{name}, {show_quantity(thickness_m, UNITS['in'])}" if thickness_m else name


def _provided(chosen: Mapping[str, Any]) -> str:
    """What must be made so, put together by who does it and when it is checked."""
    groups: dict[tuple[str, str], list[str]] = {}
    for item in chosen["provided"]:
        must = f"{item['label']}: {item['must_be']}"
        groups.setdefault((item["by_whom"], item["when_checked"]), []).append(must)
    lines = [f"{who}, {when}: {'; '.join(things)}." for (who, when), things in groups.items()]
    return _block("Provided that (who, when it is checked)", lines)


def _questions(asks: Sequence[Mapping[str, str]]) -> str:
    lines = [
        f"{ask['question']} {_first_sentence(ask.get('find', ''))}".strip() for ask in asks[:MOST_QUESTIONS]
    ]
    if len(asks) > MOST_QUESTIONS:
        lines.append("What these settle decides what else is needed.")
    return _block("Please send in, in this order", lines)


def _first_sentence(text: str) -> str:
    return re.split(r"(?<=[.!?]) ", text, maxsplit=1)[0]


def _cautions(area: Mapping[str, Any]) -> str:
    texts = [sentence(item["text"]) for item in area["cautions"]]
    lines = texts[:MOST_CAUTIONS]
    if len(texts) > MOST_CAUTIONS:
        lines.append(f"And {len(texts) - MOST_CAUTIONS} more; the answer to the job lists them all.")
    return _block("Cautions", lines)


def _overrides(chosen: Mapping[str, Any], maker: str) -> str:
    """Rules that give way, to what, and who carries that."""
    names = {layer["product"]: layer["name"] for layer in chosen["layers"] if layer["product"]}
    lines: dict[str, None] = {}
    for finding in chosen["findings"]:
        by = finding.get("overrides")
        if not by:
            continue
        product, _, basis = str(by).partition(" (")
        called = names.get(product, product)
        rests = f", {source_text(basis.rstrip(')'))}" if basis else ""
        carried = "who published that standard" if "standard:" in str(by) else maker
        rule = f"{sentence(finding['reason'])} ({finding['source']})"
        lines[f"{rule} This gives way to {called}{rests}. Carried by: {carried}."] = None
    return _block("Rules set aside", list(lines))


def _why_not(area: Mapping[str, Any], chosen: Mapping[str, Any] | None) -> list[str]:
    """Why not the asker's own stack, the product in it, or, where nothing suits, each of the line."""
    if area["site"]["status"] == "stop":
        return []
    own = _find(area, "proposed")
    blocks = []
    if own is not None and own["verdict"] not in _YES:
        blocks.append(_block("Why not the stack that you propose", _reasons(own, area)))
    for name in dict.fromkeys(_products_of(own)):
        asked = _find(area, name)
        if asked is None or asked["verdict"] in _YES or (chosen is not None and name == chosen["id"]):
            continue
        known = set(own["why_not"] if own else ())
        fresh = {**asked, "why_not": [text for text in asked["why_not"] if text not in known]}
        if fresh["why_not"] or not asked["why_not"]:
            blocks.append(_block(f"Why not {asked['name']} in our own assembly", _reasons(fresh, area)))
    if chosen is None:
        blocks.append(_block("The products of the line", _line_verdicts(area)))
    return blocks


def _line_verdicts(area: Mapping[str, Any]) -> list[str]:
    """Where nothing is named: the products by verdict, or each with its reason where all are out."""
    groups: dict[str, list[Mapping[str, Any]]] = {}
    for one in area["candidates"]:
        if one["id"] != "proposed":
            groups.setdefault(one["verdict_text"].lower(), []).append(one)
    if len(groups) > 1:
        return [f"{words}: {'; '.join(one['name'] for one in ones)}." for words, ones in groups.items()]
    return [
        f"{one['name']}: {words}. {sentence((one['why_not'] or [''])[0])}".strip()
        for words, ones in groups.items()
        for one in ones
    ]


def _reasons(candidate: Mapping[str, Any], area: Mapping[str, Any]) -> list[str]:
    """The first reasons against a candidate; for one that waits for facts, what it turns on."""
    found = [sentence(text) for text in candidate["why_not"]]
    if candidate["verdict"] == "needs_facts":
        found = [
            f"It turns on {item['label']}: not when {item['not_suitable_when']}."
            for item in candidate["depends_on"]
        ] or ["It turns on several facts together; see what we ask for."]
    more = len(found) - MOST_REASONS
    return found[:MOST_REASONS] + ([f"And {counted(more, 'more reason')}."] if more > 0 else [])


def _closing(line: Mapping[str, Any], date: str | None) -> str:
    text = (
        f"This answers for {line['maker']} {line['name']}, revision {line['revision']}, judged on "
        f"{date or 'no stated day'}, and for the facts that you gave. When a fact changes, or the site shows "
        f"another, call the technical desk of {line['maker']} before the work goes on, and name this date "
        "and revision: the answer is then worked out again."
    )
    return _wrap(text)
