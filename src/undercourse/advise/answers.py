"""The answer to a job as one document: site, candidates, recommendation, what to ask and make so."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from typing import Any

import numpy as np

from undercourse.advise.cautions import cautions_of
from undercourse.advise.depends_on import depends_on
from undercourse.advise.evaluating import Evaluated, evaluate
from undercourse.advise.exact import Exact, tighten
from undercourse.advise.findings import (
    clip,
    finding_document,
    layer_documents,
    number,
    row_spec,
    show_text,
)
from undercourse.advise.narrowing import rank_questions
from undercourse.advise.prep import prep_of_answer
from undercourse.advise.proof_cases import reasons_by_cases
from undercourse.advise.provided import provided_lists
from undercourse.advise.sentences import series, spec_text
from undercourse.advise.site_questions import site_facts
from undercourse.advise.stacks import existing_layers, tile_layer
from undercourse.advise.together import stand_in
from undercourse.advise.why import name_of
from undercourse.base.columns import pick
from undercourse.base.problems import Problem, Problems
from undercourse.facts.jobs import Job
from undercourse.judge.ranking import Ranked, rank
from undercourse.judge.results import (
    EXCEEDS,
    NEEDS_FACTS,
    NEEDS_RULING,
    NOT_STATED,
    NOT_SUITABLE,
    NOT_VALID,
    SITE_WORDS,
    STOP,
    VERDICT_WORDS,
    Finding,
    Judgement,
)
from undercourse.judge.rulebook import Rulebook
from undercourse.line.records import Limit

# Verdicts that no further fact opens again: only work, or the maker's word, does.
_CLOSED = (NEEDS_RULING, NOT_SUITABLE)
MOST_ASKED = 5
# Of these, so many at most about the site itself.
MOST_SITE = 2
VERDICT_SENTENCES = {
    "suitable": "Suitable",
    "suitable_if": "Suitable, provided …",
    "needs_facts": "Need facts",
    "needs_ruling": "Not stated by the maker",
    "not_suitable": "Not suitable",
}


def answer(job: Job, book: Rulebook, date: dt.date | None = None, advise: bool = True) -> dict[str, Any]:
    """Answer a job; see ``answered``."""
    return answered(job, book, date, advise)[0]


def answered(
    job: Job, book: Rulebook, date: dt.date | None, advise: bool
) -> tuple[dict[str, Any], Evaluated]:
    """The answer document of a job and the judged table behind it.

    Parameters
    ----------
    date : date, optional
        The day that rulings, prices and readings are judged on; the job's own date comes first.

    Raises
    ------
    Problems
        Contradictory facts, with both facts and places.
    """
    day = job.date or date
    evaluated = evaluate(job.areas, book, day)
    faults: list[Problem] = [p for row in sorted(evaluated.problems) for p in evaluated.problems[row]]
    if faults:
        raise Problems(dict.fromkeys(faults))
    document = {
        "basis": {**book.basis, "date": day.isoformat() if day else None},
        "job": job.name,
        "areas": [area_document(evaluated, book, row, advise) for row in range(len(job.areas))],
    }
    return document, evaluated


def area_document(evaluated: Evaluated, book: Rulebook, row: int, advise: bool = True) -> dict[str, Any]:
    """The answer for one area."""
    area = evaluated.areas[row]
    site = _site(evaluated, book, row)
    proven = tighten(evaluated, book, row) if advise else {}
    ranked = rank(evaluated.judgements, book.line.ranking, row)
    stopped = site["status"] == SITE_WORDS[STOP]
    turns = depends_on(evaluated, book, row, proven) if advise else {}
    listed = provided_lists(evaluated.of_row(row), evaluated, book, row)
    candidates = []
    written: dict[int, dict[str, Any] | None] = {}
    for judgement in evaluated.of_row(row):
        document = candidate_document(judgement, book, row, listed[judgement.candidate.id], written)
        if advise:
            exact = proven[judgement.candidate.id]
            document |= _effort(exact, judgement, document, evaluated, book, row)
            document["depends_on"] = turns.get(judgement.candidate.id, [])
        candidates.append(document)
    document = {
        "area": area.name,
        "site": site,
        "recommended": None if stopped else ranked.recommended,
        "ranking": _ranking_sentence(ranked, stopped),
        "headline": headline(candidates, site, None if stopped else ranked.recommended),
        "candidates": candidates,
        "floor": {
            "tile": tile_layer(evaluated.facts, row),
            "existing": existing_layers(evaluated.facts, row),
        },
        "assumed": _assumed(evaluated, row),
        "cautions": cautions_of(evaluated, book, row, None if stopped else ranked.recommended),
    }
    if advise:
        asked = _narrowing(evaluated, book, row)
        first = _site_questions(evaluated, book, row)
        known = {item["fact"] for item in first}
        document["ask_next"] = (first + [item for item in asked if item["fact"] not in known])[:MOST_ASKED]
        if stopped or all(int(j.verdict[row]) in _CLOSED for j in evaluated.judgements):
            document.update(prep_of_answer(evaluated, book, row))
    return document


def _ranking_sentence(ranked: Ranked, stopped: bool) -> str:
    if stopped:
        return "The site stops come first; no product is recommended until they are cleared."
    return ranked.sentence


def _site(evaluated: Evaluated, book: Rulebook, row: int) -> dict[str, Any]:
    status = int(pick(evaluated.site.status, row))
    stops = []
    for rule, truth in evaluated.site.stops:
        if not bool(pick(truth.may, row)):
            continue
        stops.append(
            {
                "why": rule.because if bool(pick(truth.must, row)) else _asked(rule, evaluated, book, row),
                "who_decides": rule.who_decides,
                "source": rule.source or rule.basis,
                "certain": bool(pick(truth.must, row)),
                "rule": rule.id,
                "caution": rule.caution,
                "facts": [name for name, _ in rule.when.terms if name != "jurisdiction"],
            }
        )
    stops.sort(key=lambda stop: not stop["certain"])
    return {"status": SITE_WORDS[status], "stops": stops}


def _site_questions(evaluated: Evaluated, book: Rulebook, row: int) -> list[dict[str, Any]]:
    """Where the site itself may be stopped, what to look at before products are asked about."""
    if SITE_WORDS[int(pick(evaluated.site.status, row))] != "open":
        return []
    found: list[dict[str, Any]] = []
    for one in site_facts(evaluated, book, row):
        lead = stand_in(evaluated, book, row, one.name, ())
        if not one.comes_first or lead is None or lead in [entry["fact"] for entry in found]:
            continue
        fact = book.vocabulary[lead]
        found.append(
            {
                "fact": lead,
                "question": fact.question,
                "why": f"it could stop the work: {one.reasons[0][:1].lower()}{one.reasons[0][1:]}",
                "find": fact.find,
                "effort": fact.effort,
                "gain": round(one.gain, 4),
            }
        )
    return found[:MOST_SITE]


def _narrowing(evaluated: Evaluated, book: Rulebook, row: int) -> list[dict[str, Any]]:
    """The facts that narrow the answer most, for their effort."""
    names = {one.candidate.id: name_of(one) for one in evaluated.of_row(row)}
    found = []
    for one in rank_questions(evaluated, book, row)[:MOST_ASKED]:
        fact = book.vocabulary[one.fact]
        shown = [names[name] for name in one.settles]
        told = f"it tells most about {series(shown, most=3)}" if shown else "it matters together with others"
        found.append(
            {
                "fact": one.fact,
                "question": fact.question,
                "why": told,
                "find": fact.find,
                "effort": fact.effort,
                "gain": round(one.gain, 4),
            }
        )
    return found


def _open_names(rule: Limit, evaluated: Evaluated, row: int) -> list[str]:
    """The facts on which it turns whether a stop applies."""
    return [
        name for name, spec in rule.when.terms if not bool(pick(evaluated.facts.says(name, spec).must, row))
    ]


def _asked(rule: Limit, evaluated: Evaluated, book: Rulebook, row: int) -> str:
    """An open stop as what it is: something to look at, and what it would mean."""
    because = f"{rule.because[:1].lower()}{rule.because[1:]}"
    open_ones = {name: spec for name, spec in rule.when.terms if name in _open_names(rule, evaluated, row)}
    asked = {name: stand_in(evaluated, book, row, name, ()) or name for name in open_ones}
    leading = [lead for lead in asked.values() if lead in open_ones]
    # What another fact hangs on is asked first; of several the last, which the author wrote for it.
    lead = leading[-1] if leading else next(iter(open_ones))
    value = spec_text(book.vocabulary.domains[lead], clip(book.vocabulary.domains[lead], open_ones[lead]))
    may = "would" if len(open_ones) == 1 else "may"
    return f"{book.vocabulary[lead].question} If {value}, it {may} stop the work: {because}"


def _effort(
    exact: Exact,
    judgement: Judgement,
    document: Mapping[str, Any],
    evaluated: Evaluated,
    book: Rulebook,
    row: int,
) -> dict[str, Any]:
    """How far the verdict is proven, and why where no single limit says so."""
    found: dict[str, Any] = {"exact": exact.exact, "effort": "exact"}
    if exact.cases and exact.verdict in _CLOSED and not document["why_not"]:
        reasons = reasons_by_cases(judgement, evaluated, book, row)
        found["why_not"] = [one["reason"] for one in reasons] or [
            f"No limit is surely passed alone, yet in each of the {exact.cases} cases left some limit is."
        ]
    return found


def candidate_document(
    judgement: Judgement,
    book: Rulebook,
    row: int,
    listed: list[dict[str, Any]],
    written: dict[int, dict[str, Any] | None] | None = None,
) -> dict[str, Any]:
    """One candidate in one area, with what is ``listed`` to be made so.

    ``written`` keeps findings that candidates share, by identity.
    """
    kept = {} if written is None else written
    code = int(judgement.verdict[row])
    verdict = VERDICT_WORDS[code]
    findings = []
    for finding in judgement.findings:
        if id(finding) not in kept:
            kept[id(finding)] = finding_document(finding, book, judgement, row)
        document = kept[id(finding)]
        if document is not None:
            findings.append(document)
    used = float(judgement.utilisation[row])
    governing = int(judgement.governs[row])
    candidate = judgement.candidate
    # What fails by its kind has no share to show.
    by_kind = code == NOT_SUITABLE and governing >= 0 and judgement.findings[governing].utilisation is None
    return {
        "id": candidate.id,
        "name": candidate.membrane.name
        if candidate.membrane and not candidate.proposed
        else "the asker's own stack"
        if candidate.proposed
        else candidate.id,
        "layers": layer_documents(candidate, row),
        "verdict": verdict,
        "verdict_text": VERDICT_SENTENCES[verdict],
        # Limit by limit is exact where nothing is left open.
        "exact": code != NEEDS_FACTS and not any(f["status"] == "open" for f in findings),
        "effort": "limits",
        "utilisation": number(used) if np.isfinite(used) and not by_kind else None,
        "governs": judgement.findings[governing].label if governing >= 0 else None,
        "governs_text": _governs_text(judgement, book, governing, used),
        "findings": findings,
        "provided": listed,
        "depends_on": [],
        "not_stated": [f["demand"] for f in findings if f["status"] in ("not stated", "not valid here")],
        "why_not": _why(judgement, book, row),
    }


def _governs_text(judgement: Judgement, book: Rulebook, place: int, used: float) -> str:
    """What decides, in words: the fact or demand behind the governing limit and the share it uses."""
    if place < 0:
        return ""
    finding = judgement.findings[place]
    fact = book.vocabulary.facts.get(finding.demand)
    label = fact.label if fact is not None else finding.demand.replace("_", " ") or finding.label
    if finding.utilisation is None or not np.isfinite(used):
        return label
    return f"{label}, {used * 100:.0f} % used"


def _why(judgement: Judgement, book: Rulebook, row: int) -> list[str]:
    """The reasons that a candidate is not suitable or needs a ruling, each after the fact behind it."""
    codes = (EXCEEDS, NOT_STATED, NOT_VALID)
    found = []
    for code in codes:
        for finding in judgement.findings:
            if int(pick(finding.status, row)) == code and finding.reason:
                found.append(_fact_behind(finding, book, row) + finding.reason)
    return list(dict.fromkeys(found))


def _fact_behind(finding: Finding, book: Rulebook, row: int) -> str:
    fact = book.vocabulary.facts.get(finding.demand)
    if fact is None or finding.value is None or finding.demand.startswith("wants_"):
        return ""
    text = show_text(fact.domain, row_spec(finding.value, row))
    return "" if text in ("unknown", "yes", "no") else f"{fact.label[:1].upper()}{fact.label[1:]}: {text}. "


def headline(candidates: list[dict[str, Any]], site: Mapping[str, Any], recommended: str | None) -> str:
    """The answer as a sentence."""
    if site["status"] == "stop":
        first = next(stop for stop in site["stops"] if stop["certain"])
        who = str(first["who_decides"])
        return f"Stop: {first['why']} {who[:1].upper()}{who[1:]} decides."
    lead = "" if site["status"] == "ready" else "Once the site is looked at: "
    if recommended is not None:
        chosen = next(c for c in candidates if c["id"] == recommended)
        if chosen["verdict"] == "suitable":
            return f"{lead}{chosen['name']} is suitable."
        count = len(chosen["provided"])
        things = "one thing is" if count == 1 else f"{count} things are"
        return f"{lead}{chosen['name']} is suitable, provided {things} made so."
    waiting = [c["name"] for c in candidates if c["verdict"] == "needs_facts" and c["id"] != "proposed"]
    if waiting:
        return f"{lead}Facts are needed before {_list(waiting)} can be answered for."
    silent = [c["name"] for c in candidates if c["verdict"] == "needs_ruling" and c["id"] != "proposed"]
    if silent:
        return f"{lead}The maker does not state what {_list(silent)} would need here; a ruling is needed."
    return "Nothing in the line is suitable here."


def _list(names: list[str]) -> str:
    if len(names) > 3:
        return f"any of the {len(names)} sheets still in play"
    return series(names, "or")


def _assumed(evaluated: Evaluated, row: int) -> list[str]:
    """What the answer takes for granted."""
    area = evaluated.areas[row]
    found = []
    for name, reading in area.readings.items():
        if name in ("slab_rh", "slab_mver", "screed_rh", "wood_panel_moisture") and reading.on is None:
            found.append(f"The reading of {name.replace('_', ' ')} is taken as current; it carries no date.")
        if isinstance(reading.said, str) and reading.said.strip().lower().startswith("about"):
            found.append(f"{name.replace('_', ' ')}: “{reading.said}” is read as within 5 % of the value.")
        if reading.how == "assumed":
            found.append(f"{name.replace('_', ' ')} = {reading.said} is assumed, not known.")
    found.append("A mortar bed without a stated thickness counts as 1/4 in (6.4 mm) of height.")
    return found


def brief(evaluated: Evaluated, row: int, recommended: str | None) -> dict[str, Any]:
    """Only verdict, share used and governing limit of each candidate."""
    return {
        "area": evaluated.areas[row].name,
        "site": SITE_WORDS[int(pick(evaluated.site.status, row))],
        "recommended": recommended,
        "candidates": [
            {
                "id": j.candidate.id,
                "verdict": VERDICT_WORDS[int(j.verdict[row])],
                "utilisation": number(float(j.utilisation[row])),
                "governs": j.findings[int(j.governs[row])].label if j.governs[row] >= 0 else None,
            }
            for j in evaluated.of_row(row)
        ],
    }
