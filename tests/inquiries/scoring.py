"""How the program answers real questions put to the trade, beside what experts said."""

from __future__ import annotations

import datetime as dt
import tomllib
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from undercourse.advise.answers import answer
from undercourse.advise.rules import find_rules
from undercourse.base.problems import Problems
from undercourse.files import shipped
from undercourse.files.jobfiles import load_job

HERE = Path(__file__).parent
DAY = dt.date(2026, 11, 25)


@dataclass(frozen=True)
class Score:
    """One question's outcome."""

    id: str
    kind: str
    representable: bool
    expected: str
    basis: str
    ours: str
    agrees: bool | None
    provided: int
    open: bool
    first_question: str
    asked_back: str
    note: str


def _ours(area: dict[str, Any]) -> tuple[str, int, str]:
    """Our verdict in the words of the index: site first, the asker's own stack next, the line's best last."""
    if area["site"]["status"] == "stop":
        return "no", 0, "site stop: " + next(s["why"] for s in area["site"]["stops"] if s["certain"])
    by_id = {c["id"]: c for c in area["candidates"]}
    own = by_id.get("proposed")
    if own is not None and own["verdict"] == "needs_ruling":
        # A sheet named by its kind alone: the desk answers for its own sheets of that kind.
        kinds = {
            layer["kind"] for layer in own["layers"] if layer["role"] == "membrane" and not layer["product"]
        }
        order = ["suitable", "suitable_if", "needs_facts", "needs_ruling", "not_suitable"]
        same = [
            c
            for c in area["candidates"]
            if any(x["role"] == "membrane" and x["kind"] in kinds for x in c["layers"])
        ]
        same = [c for c in same if c is not own]
        own = min(same, key=lambda c: order.index(c["verdict"])) if same else own
    best = own or by_id.get(area["recommended"] or "")
    if best is None:
        verdicts = {c["verdict"] for c in area["candidates"]}
        for verdict, word in (("needs_facts", "open"), ("needs_ruling", "not stated")):
            if verdict in verdicts:
                return word, 0, ""
        return "no", 0, "; ".join(area["candidates"][0]["why_not"][:1])
    words = {
        "suitable": "yes",
        "suitable_if": "yes-with-conditions",
        "needs_facts": "open",
        "needs_ruling": "not stated",
        "not_suitable": "no",
    }
    return words[best["verdict"]], len(best["provided"]), "; ".join(best["why_not"][:1])


def agrees(expected: str, ours: str) -> bool:
    """Whether two verdicts say the same: a yes is conditional on what must be made so, depends is open."""
    same = {
        "yes": ("yes", "yes-with-conditions"),
        "yes-with-conditions": ("yes-with-conditions", "yes"),
        "no": ("no",),
        "depends": ("open", "yes-with-conditions", "not stated"),
    }
    return ours in same[expected]


def score(row: dict[str, Any]) -> Score:
    """Answer one question."""
    book = shipped.rulebook(None)
    head = (row["id"], row["kind"], bool(row["representable"]), row["verdict"], row["basis"])
    asked = row.get("ask_first", "")
    if not row["representable"]:
        return Score(*head, "not asked", None, 0, False, "", asked, row.get("reason", ""))
    if row["kind"] == "rule":
        found = find_rules(" ".join(row["topic"]), book.practice, book.vocabulary)["rules"]
        return Score(
            *head, f"{len(found)} rules", bool(found), 0, False, "", asked, found[0]["text"] if found else ""
        )
    try:
        job = load_job(HERE / "jobs" / f"{row['id']}.toml", book.vocabulary)
        document = answer(job, book, DAY)
    except Problems as error:
        return Score(*head, "problem", False, 0, False, "", asked, str(error.problems[0]))
    area = document["areas"][0]
    ours, provided, note = _ours(area)
    first = area["ask_next"][0]["fact"] if area["ask_next"] else ""
    if row["kind"] == "symptom":
        stopped = area["site"]["status"] == "stop"
        return Score(*head, "stop" if stopped else ours, stopped, provided, False, first, asked, note)
    return Score(
        *head,
        ours,
        agrees(row["verdict"], ours),
        provided,
        ours in ("open", "not stated"),
        first,
        asked,
        note,
    )


def scores() -> list[Score]:
    """All questions."""
    index = tomllib.loads((HERE / "index.toml").read_text(encoding="utf-8"))
    return [score(row) for row in index["question"]]


def summary(found: list[Score]) -> dict[str, Any]:
    """The figures of a report."""
    floors = [s for s in found if s.kind == "floor" and s.representable]
    strict = [s for s in floors if s.basis == "stated"]
    with_list = [s.provided for s in floors if s.ours == "yes-with-conditions"]
    return {
        "questions": len(found),
        "representable": sum(s.representable for s in found),
        "floors": len(floors),
        "settled": sum(not s.open for s in floors),
        "agree": sum(bool(s.agrees) for s in floors),
        "stated": len(strict),
        "stated_agree": sum(bool(s.agrees) for s in strict),
        "open": sum(s.open for s in floors),
        "mean_provided": round(sum(with_list) / len(with_list), 1) if with_list else 0.0,
        "rules_answered": sum(bool(s.agrees) for s in found if s.kind == "rule"),
        "rules": sum(s.kind == "rule" for s in found),
        "symptoms_stopped": sum(bool(s.agrees) for s in found if s.kind == "symptom" and s.representable),
        "symptoms": sum(s.kind == "symptom" and s.representable for s in found),
    }


if __name__ == "__main__":
    rows = scores()
    for s in rows:
        mark = {True: "=", False: "x", None: "-"}[s.agrees]
        print(
            f"{mark} {s.id} {s.kind:8} expected {s.expected} ({s.basis}); ours {s.ours}; "
            f"ask {s.first_question}; {s.note[:110]}"
        )
    print(summary(rows))
