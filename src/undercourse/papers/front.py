"""The one-page answer on an area: site, verdict, assembly, conditions, what decides, cautions."""

from __future__ import annotations

from typing import Any

from undercourse.drawings import open_share, plain_name, read_share, share_text, total_thickness_text
from undercourse.drawings.lettering import wrap_text
from undercourse.drawings.materials import is_coat, is_existing, is_structure, layer_name, split_layers
from undercourse.drawings.measures import quantity_text
from undercourse.papers.findings import MOST_SHARE, allowed_text, needed_text
from undercourse.papers.pieces import dual, items, own_source
from undercourse.papers.wording import (
    SITES,
    VERDICTS,
    fact_name,
    governing_finding,
    sentence,
    source_text,
    status_key,
    verdict_sentence,
)

COLUMN_MM, BODY_MM, LINE_MM = 124.0, 3.4, 4.45  # words of the first page: width, size, pitch of lines
FRONT_ITEMS = 5  # so many conditions and cautions stand on the first page; the rest follow


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
    for raw in items(area.get("cautions")):
        if isinstance(raw, dict):
            text = next((raw[key] for key in ("text", "caution", "what", "say") if raw.get(key)), "")
            about = next(
                (raw[key] for key in ("about", "limit", "demand", "fact", "layer") if raw.get(key)), ""
            )
            found.append({"text": sentence(text), "about": str(about), "source": own_source(raw)})
        else:
            found.append({"text": sentence(raw), "about": "", "source": ""})
    return [caution for caution in found if caution["text"]]


def front_page(
    area: dict[str, Any], candidate: dict[str, Any] | None, chart_mm: float = 0.0, room_mm: float = 210.0
) -> dict[str, Any]:
    """The one-page answer: site, verdict, assembly, conditions, what decides, cautions.

    ``chart_mm`` is the height of the chart, ``room_mm`` what the page has for all of it; conditions and
    cautions that would run over are left to the pages behind, and the page says how many.
    """
    site = area.get("site") or {}
    status = status_key(site.get("status"))
    chosen = candidate or {}
    cautions = read_cautions(area)
    provided = conditions(chosen)
    layers, goods = split_layers(list(chosen.get("layers") or ()))
    key, words = answer_sentence(area, candidate)
    front: dict[str, Any] = {
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
        "decides": decides(chosen),
    }
    left = room_mm - chart_mm - _fixed_height(front)
    most = min(FRONT_ITEMS, len(cautions))
    kept = _fitting([c["text"] for c in cautions[:most]], left * 0.6, 2.6)
    left -= sum(_lines(c["text"]) * LINE_MM + 2.6 for c in cautions[:kept])
    told = [f"{p['fact']}: {p['must']}. {p['who']}; {p['when']}" for p in provided[:FRONT_ITEMS]]
    shown = _fitting(told, left - 4.0, 1.0)
    front |= {
        "provided": provided[:shown],
        "provided_more": len(provided) - shown,
        "cautions": cautions[:kept],
        "cautions_rest": cautions[kept:],
    }
    return front


def _lines(text: str) -> int:
    """Lines that a text takes in the column of words of the first page."""
    return max(1, len(wrap_text(text, COLUMN_MM, BODY_MM)))


def _fitting(texts: list[str], room_mm: float, gap_mm: float) -> int:
    """How many of the texts, from the first, fit the room; one always does."""
    used = 0.0
    for number, text in enumerate(texts):
        used += _lines(text) * LINE_MM + gap_mm
        if used > room_mm and number:
            return number
    return len(texts)


def _fixed_height(front: dict[str, Any]) -> float:
    """About how high the parts of the first page are that are never shortened. [mm]"""
    verdict = max(1, len(wrap_text(front["verdict"]["sentence"], COLUMN_MM - 7, 5.05, bold=True))) * 7.2
    stops = sum(_lines(f"{s['why']} {s['who']} {s['source']}") * LINE_MM + 2 for s in front["site"]["stops"])
    layers = sum(
        max(1, len(wrap_text(f"{one['name']} {one['role']}", 88.0, BODY_MM))) for one in front["layers"]
    )
    words = [front["decides"], front["ranking"], front["verdict"]["apart"], ", ".join(front["goods"])]
    return 24.0 + verdict + stops + layers * 5.25 + 18.0 + sum(_lines(w) * LINE_MM + 2 for w in words if w)


def _apart(candidate: dict[str, Any]) -> str:
    if candidate.get("verdict") == "not_suitable":
        return "Apart from the stop, no assembly that was judged may be used here."
    return f"Apart from the stop: {verdict_sentence(candidate)}"


def _stops(site: dict[str, Any]) -> list[dict[str, str]]:
    return [
        {
            "why": _stop_text(stop),
            "who": str(stop.get("who_decides") or "") if isinstance(stop, dict) else "",
            "source": own_source(stop) if isinstance(stop, dict) else "",
        }
        for stop in items(site.get("stops"))
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
    for raw in items(candidate.get("provided")):
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
    needs, allows = needed_text(finding), allowed_text(finding)
    if needs in ("unknown", "not known"):
        return f"{name} decides: it is not known yet; the product allows {allows}."
    if status == "open" and share is not None and share[1] > MOST_SHARE:
        return f"{name} decides, and is open: the site needs {needs}, the product allows {allows}."
    if share is not None:
        used = f"{name} decides: it uses {share_text(*share)} of what the product allows."
        return f"{used} The site needs {needs}, the product allows {allows}."
    return f"{name} decides: the site needs {needs}, the product allows {allows}."
