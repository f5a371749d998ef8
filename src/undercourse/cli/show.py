"""Answers, facts and rules as a person reads them in a terminal."""

from __future__ import annotations

from typing import Any

from rich.console import Console
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

_MARKS = {
    "suitable": "●",
    "suitable_if": "◐",
    "needs_facts": "?",
    "needs_ruling": "§",
    "not_suitable": "×",
}


def console() -> Console:
    """A console that keeps width sensible when its output is piped."""
    found = Console(highlight=False, soft_wrap=False)
    return found if found.is_terminal else Console(highlight=False, width=100)


def show_answer(document: dict[str, Any], full: bool = False) -> None:
    """One job's answer: the sentence first, then what it rests on."""
    out = console()
    basis = document["basis"]
    line = basis["line"]
    out.print(Text(document["job"], style="bold"))
    out.print(
        f"{line['maker']} {line['name']}, revision {line['revision']}; judged on {basis['date']}.",
        style="dim",
    )
    for area in document["areas"]:
        _show_area(out, area, full)


def _show_area(out: Console, area: dict[str, Any], full: bool) -> None:
    out.print()
    out.rule(Text(area["area"], style="bold"), align="left", characters="─", style="dim")
    out.print(Text(area["headline"], style="bold"))
    if area["site"]["status"] != "ready":
        words = {"stop": "Site: Stop", "open": "Site: Open, still to be looked at"}
        out.print(words[area["site"]["status"]])
        stops = [s for s in area["site"]["stops"] if s["certain"] or area["site"]["status"] == "open"]
        # Several stops may turn on one question: it is put once.
        stops = list({s["why"].split("?")[0]: s for s in reversed(stops)}.values())[::-1]
        shown = stops if full else stops[:4]
        for stop in shown:
            text = f"{stop['why']} Decides: {stop['who_decides']}. ({stop['source']})"
            out.print(Padding(Text(text), (0, 0, 0, 2)))
        if len(stops) > len(shown):
            more = f"… and {len(stops) - len(shown)} more to look at; --full lists them."
            out.print(Padding(Text(more), (0, 0, 0, 2)))
    else:
        out.print("Site: Ready")
    out.print(area["ranking"], style="dim")
    table = Table(box=None, padding=(0, 2, 0, 0), show_edge=False)
    for name in ("", "Candidate", "Verdict", "Share used", "What decides"):
        table.add_column(name, justify="right" if name == "Share used" else "left", overflow="fold")
    for candidate in area["candidates"]:
        chosen = candidate["id"] == area["recommended"]
        table.add_row(
            _MARKS[candidate["verdict"]],
            Text(candidate["name"], style="bold" if chosen else ""),
            candidate["verdict_text"],
            _share(candidate),
            (candidate["why_not"] or [candidate["governs_text"]])[0],
        )
    out.print(Padding(table, (1, 0)))
    shown = [c for c in area["candidates"] if full or c["id"] in (area["recommended"], "proposed")]
    for candidate in shown:
        _show_candidate(out, candidate, full)
    if area.get("ask_next"):
        out.print(Text("To ask next", style="bold"))
        for item in area["ask_next"]:
            out.print(
                Padding(f"{item['question']} ({item['effort']}) [{item['fact']}]", (0, 0, 0, 2)), markup=False
            )
    if area.get("plan_notes"):
        out.print(Text("Outline", style="bold"))
        for note in area["plan_notes"]:
            out.print(Padding(Text(note), (0, 0, 0, 2)))
    if area["cautions"]:
        out.print(Text("Cautions", style="bold"))
        for caution in area["cautions"]:
            out.print(Padding(Text(caution["text"]), (0, 0, 0, 2)))


def _share(candidate: dict[str, Any]) -> str:
    """The greatest share used, where the candidate suits; elsewhere another thing decides."""
    share = candidate["utilisation"]
    if share is None or candidate["verdict"] not in ("suitable", "suitable_if"):
        return "–"
    return f"{share * 100:.0f} %" if share < 10 else "over 10×"


def _show_candidate(out: Console, candidate: dict[str, Any], full: bool) -> None:
    out.print(Text(f"{candidate['name']}: {candidate['verdict_text']}", style="bold"))
    for layer in candidate["layers"]:
        doubt = "" if layer["certain"] else " (if needed)"
        out.print(Padding(Text(f"{layer['role']}: {layer['name']}{doubt}"), (0, 0, 0, 2)))
    if candidate["provided"]:
        out.print(Text("Provided", style="italic"))
        for item in candidate["provided"]:
            who = f"({item['by_whom']}, {item['when_checked']})"
            out.print(Padding(Text(f"{item['label']}: {item['must_be']} {who}"), (0, 0, 0, 2)))
    for reason in candidate["why_not"]:
        out.print(Padding(Text(reason), (0, 0, 0, 2)))
    for item in candidate["depends_on"][:6]:
        good, bad = item["suitable_when"], item["not_suitable_when"]
        out.print(Padding(Text(f"{item['label']}: may suit when {good}; not when {bad}"), (0, 0, 0, 2)))
    if full:
        for finding in candidate["findings"]:
            numbers = " | ".join(t for t in (finding["value_text"], finding["capacity_text"]) if t)
            text = f"{finding['status']}: {finding['limit']}: {numbers} | {finding['source']}"
            out.print(Padding(Text(text), (0, 0, 0, 4)))
            if finding["overrides"]:
                out.print(Padding(Text(f"gives way to {finding['overrides']}"), (0, 0, 0, 6)))
    out.print()
