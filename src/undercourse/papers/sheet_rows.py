"""One calculation sheet in the words and pieces that the template sets."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import Any

from undercourse.base.formula_trees import formula_tree, is_plain, tree_width
from undercourse.base.paired import pair_texts, plain_number
from undercourse.drawings.lettering import text_width
from undercourse.papers.pieces import dual
from undercourse.papers.wording import STATUSES, sentence, source_text

# Size of the sheet's face, and the room of a set formula beside its written line. [mm]
FACE_MM, FORMULA_MM = 2.822, 92.0
_LOWERED = str.maketrans("₀₁₂₃₄₅₆₇₈₉ₐₑₕᵢⱼₖₗₘₙₒₚᵣₛₜᵤᵥₓ", "0123456789aehijklmnoprstuvx")
_LOWER_RUN = re.compile("[₀-₉ₐₑₕᵢⱼₖₗₘₙₒₚᵣₛₜᵤᵥₓ]+|_(?:\\w+)")
_UNKNOWN = "not known"
_KEPT = {"yes": "kept", "no": "not kept here", "open": "may not be kept here"}
_NUMERAL = re.compile(r"(?<![\d/,.])\d[\d,]*\.?\d*(?![\d/])")
MOST_DIGITS, RESULT_DIGITS = 4, 3
_ONE_ENDED = ("up to", "under", "at least", "over")
# Units whose numbers an answer writes as the trade does: L/n, words, fractions of an inch, whole percents.
_AS_WRITTEN = (None, "1", "%", "class", "count", "m", "mm", "micro", "db", "hz", "min", "h", "day", "month")


def symbol_pieces(symbol: str) -> dict[str, str]:
    """A printed symbol and its index: ``EIₙ`` as EI and n."""
    match = _LOWER_RUN.search(symbol)
    if match is None:
        return {"base": symbol, "index": ""}
    return {"base": symbol[: match.start()], "index": match.group(0).lstrip("_").translate(_LOWERED)}


def written_pieces(line: str) -> list[dict[str, str]]:
    """A formula in one line as runs of text, each with the index after it; a line may break between runs."""
    pieces: list[dict[str, str]] = []
    at = 0
    for match in _LOWER_RUN.finditer(line):
        pieces += _runs(line[at : match.start()])
        index = match.group(0).lstrip("_").translate(_LOWERED)
        if pieces and not line[at : match.start()].endswith(" "):
            pieces[-1]["index"] = index
        else:
            pieces.append({"text": "", "index": index})
        at = match.end()
    return pieces + _runs(line[at:])


def _runs(text: str) -> list[dict[str, str]]:
    """Text cut before products and quotients, so that a long line can break there."""
    return [{"text": part, "index": ""} for part in re.split(r"(?=[·/])", text) if part]


def quantity_pieces(text: str) -> dict[str, str]:
    """A printed quantity as what stands before its decimal mark, what behind, and its unit."""
    match = re.fullmatch(r"(-?[\d,]+)(\.\d+)?(?: (.+))?", _times(text))
    if match is None:
        return {"whole": "", "part": _tied(text), "unit": ""}
    whole, part, unit = match.groups()
    return {"whole": signed(whole), "part": part or "", "unit": _tied(unit or "")}


def calm_numbers(text: str) -> str:
    """Words with every number of more than four digits of meaning rounded to four, minus signs set."""

    def calm(match: re.Match[str]) -> str:
        digits = match.group(0).replace(",", "").rstrip(".")
        if len(digits.replace(".", "").lstrip("0")) <= MOST_DIGITS:
            return match.group(0)
        return plain_number(float(digits), MOST_DIGITS)

    return signed(_NUMERAL.sub(calm, text))


def signed(text: str) -> str:
    """Words whose negative numbers have a minus sign, not a hyphen."""
    return re.sub(r"(?<![\w/])-(?=\d)", "−", text)


def result_pieces(sheet: Mapping[str, Any]) -> dict[str, Any]:
    """The result large: a word before it where only one end is known, and one quantity or both ends."""
    if any(item["here"] == "no" for item in sheet["valid"]):
        return {"word": "", "ends": [dual("Not valid here")]}
    text = str(sheet["value_text"])
    word = next((one for one in _ONE_ENDED if text.startswith(f"{one} ")), "")
    ends = text.removeprefix(f"{word} ").split(" to ")
    if text == "unknown":
        ends = ["Not known"]
    elif sheet.get("unit") not in _AS_WRITTEN and isinstance(sheet.get("low"), int | float):
        both = (float(sheet["low"]), float(sheet["high"]))
        taken = both if not word else (both[:1] if word in _ONE_ENDED[2:] else both[1:])
        ends = [_paired(value, str(sheet["unit"])) for value in taken]
    return {"word": word, "ends": [_dual(calm_numbers(end)) for end in dict.fromkeys(ends)]}


def _dual(text: str) -> dict[str, str]:
    """A quantity in both systems, neither of which breaks across lines."""
    return {key: _tied(part) for key, part in dual(text).items()}


def _paired(value: float, unit: str) -> str:
    si, us = pair_texts(value, unit, RESULT_DIGITS)
    return _times(si if si == us else f"{us} ({si})")


def _times(text: str) -> str:
    """A quantity whose unit begins with a power of ten, with the sign of multiplication before it."""
    return re.sub(r"(?<=\d) (?=10[⁻⁰¹²³⁴-⁹])", " × ", text)


def number_rows(rows: Sequence[Mapping[str, Any]]) -> list[dict[str, Any]]:
    """Inputs of a sheet: symbol, both quantities, what it is, where it comes from, its range when open."""
    found = []
    for row in rows:
        source = {"told": "as stated for this floor", "named products": "by the products named"}.get(
            row["source"], row["source"]
        )
        found.append(
            {
                "symbol": symbol_pieces(row["symbol"]),
                "si": quantity_pieces(row["si"]),
                "us": quantity_pieces("" if row["us"] == row["si"] else row["us"]),
                "what": sentence(row["label"]).rstrip("."),
                "source": source,
                "range": signed(_tied(_times(row["range"]))),
            }
        )
    return found


def step_rows(steps: Sequence[Mapping[str, Any]]) -> list[dict[str, Any]]:
    """Steps of a sheet: besides what an input has, the formula as a tree and the line written out."""
    found = []
    for step, row in zip(steps, number_rows([{**step, "range": ""} for step in steps]), strict=True):
        tree = formula_tree(step["plain"]) if step["plain"] else None
        shown = tree is not None and not is_plain(tree) and tree_width(tree) * FACE_MM < FORMULA_MM
        # What a line of figures equals is never taken for a symbol at the head of a new line.
        line = f"{step['formula']}\u00a0= {step['numbers']}\u00a0= " if step["formula"] else ""
        found.append(
            {
                **row,
                "tree": tree if shown else None,
                "alt": f"{step['symbol']} = {step['formula']}",
                "written": written_pieces(line),
                "result": _tied(signed(_times(step["si"]))),
            }
        )
    return found


def column_widths(rows: Sequence[Mapping[str, Any]]) -> dict[str, float]:
    """Widths of the columns of a sheet, decimal marks in line. [mm]"""

    def widest(texts: list[str]) -> float:
        # Tabular figures are all as wide as a nought.
        return max((text_width(re.sub(r"\d", "0", text), FACE_MM) for text in texts), default=0.0)

    widths = {"symbol": 4.0 + widest([row["symbol"]["base"] + row["symbol"]["index"] + " =" for row in rows])}
    for system in ("si", "us"):
        cells = [row[system] for row in rows]
        widths[f"{system}_whole"] = widest([cell["whole"] for cell in cells]) + 0.2
        behind = widest([f"{cell['part']} {cell['unit']}" for cell in cells])
        widths[system] = widths[f"{system}_whole"] + behind + 0.6
    widths["us"] = max(widths["us"], 12.0)
    return {key: round(value, 2) for key, value in widths.items()}


def held_row(limit: Mapping[str, Any]) -> dict[str, str]:
    """What a result is held against: status, limit, share used, who says so."""
    share = limit["utilisation"]
    return {
        "key": limit["status"],
        "word": STATUSES.get(limit["status"], str(limit["status"]).capitalize()),
        "allows": calm_numbers(str(limit["capacity_text"])),
        "share": "" if share is None else f"{share * 100:.0f} % of it used",
        "by": str(limit["by"]),
        "source": source_text(limit["source"]),
    }


def valid_rows(valid: Sequence[Mapping[str, str]]) -> list[dict[str, str]]:
    """Where the formula holds and whether that is kept; alike ones once."""
    rows = [
        {
            "text": signed(f"{item['label']} {item['range']}"),
            "kept": _KEPT[item["here"]],
            "key": item["here"],
            "source": item["source"],
        }
        for item in valid
    ]
    return [row for place, row in enumerate(rows) if row not in rows[:place]]


def given_text(choices: Sequence[Mapping[str, str]]) -> tuple[str, str]:
    """The facts that act through a table, as one line; and those of them that are not known."""
    known = [f"{item['label']}: {item['value_text']}" for item in choices if item["value_text"] != _UNKNOWN]
    unknown = [item["label"] for item in choices if item["value_text"] == _UNKNOWN]
    return sentence("; ".join(known)), sentence("; ".join(unknown))


def _tied(text: str) -> str:
    """A range whose line never breaks within a quantity."""
    return " to ".join(end.replace(" ", "\u00a0") for end in text.split(" to "))
