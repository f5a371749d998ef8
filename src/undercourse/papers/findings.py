"""Findings as tables: what decides, fails or is open in full, what is met in short."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from undercourse.drawings import open_share, plain_name, read_share, share_text
from undercourse.drawings.measures import quantity_text
from undercourse.papers.pieces import dual
from undercourse.papers.wording import STATUSES, fact_name, sentence, source_text, status_key

NEAR_SHARE = 0.8  # limits met with more than this are told with their reasons

MOST_SHARE = 2.0  # an open share beyond this only says that nothing is known


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


def number_findings(table: dict[str, Any], numbers: Mapping[str, int]) -> None:
    """Give every finding the number of the calculation sheet that works it out; 0 where none does."""
    for row in (*table["rows"], *table["met"]):
        row["sheet"] = numbers.get(row["demand"], 0)


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
        "demand": str(finding.get("demand") or ""),
        "needs": dual(needed_text(finding)),
        "allows": [dual(allowed_text(finding))],
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


def needed_text(finding: dict[str, Any]) -> str:
    """What the site needs: in the answer's own words where it has them."""
    if finding.get("value") is None and finding.get("capacity") is None and not finding.get("value_text"):
        return "–"
    return str(finding.get("value_text") or "") or quantity_text(finding.get("value"), finding.get("unit"))


def allowed_text(finding: dict[str, Any]) -> str:
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
