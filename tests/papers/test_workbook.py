"""The workbook: every formula worked out again by an evaluator of its own, from the file alone.

The file is read as what it is, zipped XML (ECMA-376, part 1: sheets, shared strings, cells with formula and
value). Formulas are evaluated by Python's own arithmetic after translation; nothing of the program is used.
Where an office program is installed it recalculates the bare formulas as well.
"""

from __future__ import annotations

import io
import json
import math
import re
import shutil
import subprocess
import zipfile
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest
from typer.testing import CliRunner

from undercourse.cli.app import app

JOBS = Path(__file__).parents[2] / "src" / "undercourse" / "data" / "demo" / "jobs"
MAIN = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"
RELATION = "{http://schemas.openxmlformats.org/officeDocument/2006/relationships}id"

Cells = dict[tuple[str, str], tuple[str, Any]]  # sheet, cell: formula, value


def read_workbook(data: bytes) -> Cells:
    """Every cell with its formula and its value."""
    file = zipfile.ZipFile(io.BytesIO(data))
    strings = []
    if "xl/sharedStrings.xml" in file.namelist():
        root = ElementTree.fromstring(file.read("xl/sharedStrings.xml"))
        strings = ["".join(part.text or "" for part in item.iter(f"{MAIN}t")) for item in root]
    relations = ElementTree.fromstring(file.read("xl/_rels/workbook.xml.rels"))
    targets = {one.get("Id"): str(one.get("Target")) for one in relations}
    cells: Cells = {}
    for sheet in ElementTree.fromstring(file.read("xl/workbook.xml")).iter(f"{MAIN}sheet"):
        path = "xl/" + targets[sheet.get(RELATION)].removeprefix("/xl/")
        for cell in ElementTree.fromstring(file.read(path)).iter(f"{MAIN}c"):
            formula, value = cell.findtext(f"{MAIN}f"), cell.findtext(f"{MAIN}v")
            if value is None and formula is None:
                continue
            text = cell.get("t") == "s"
            found = strings[int(str(value))] if text else (None if value is None else float(value))
            cells[str(sheet.get("name")), str(cell.get("r"))] = (formula or "", found)
    return cells


def _column(letters: str) -> int:
    number = 0
    for letter in letters:
        number = number * 26 + ord(letter) - 64
    return number


def evaluate(cells: Cells, sheet: str, formula: str) -> float:
    """A formula of + - * / ( ) SUM ROUNDUP ROUND over cells, worked out from its inputs down."""

    def value(where: str, cell: str) -> float:
        own, stored = cells.get((where, cell.replace("$", "")), ("", 0.0))
        if own:
            return evaluate(cells, where, own)
        return stored if isinstance(stored, float) else 0.0

    def total(start: str, end: str) -> float:
        (a, first), (b, last) = (re.match(r"([A-Z]+)(\d+)", one).groups() for one in (start, end))  # type: ignore[union-attr]
        inside = [
            cell
            for where, cell in cells
            if where == sheet
            and _column(a) <= _column(re.sub(r"\d", "", cell)) <= _column(b)
            and int(first) <= int(re.sub(r"\D", "", cell)) <= int(last)
        ]
        return math.fsum(value(sheet, cell) for cell in inside)

    code = re.sub(r"SUM\(([A-Z]+\d+):([A-Z]+\d+)\)", r"total('\1','\2')", formula)
    code = re.sub(r"\b(Sizes|Areas)!(\$?[A-Z]+\$?\d+)", r"value('\1','\2')", code)
    code = re.sub(r"(?<![\w'!$])(\$?[A-Z]{1,2}\$?\d+)(?![\w'(])", r"value('HERE','\1')", code)
    code = code.replace("'HERE'", repr(sheet)).replace("ROUNDUP", "roundup").replace("ROUND(", "rounded(")
    names = {
        "value": value,
        "total": total,
        "roundup": lambda number, places: (
            math.copysign(math.ceil(abs(number) * 10**places), number) / 10**places
        ),
        "rounded": lambda number, places: math.floor(number * 10**places + 0.5) / 10**places,
    }
    return float(eval(code, {"__builtins__": {}}, names))


def workbook(job: str, folder: Path) -> tuple[bytes, dict[str, Any]]:
    """The workbook of a demo job and its take-off as JSON."""
    path = folder / f"{job}.xlsx"
    done = CliRunner().invoke(app, ["takeoff", str(JOBS / f"{job}.toml"), "--json", "-o", str(path)])
    assert done.exit_code == 0, done.output
    return path.read_bytes(), json.loads(done.output)


@pytest.fixture(scope="module", params=["heated_bath", "terrace"])
def made(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Any:
    return workbook(request.param, tmp_path_factory.mktemp("books"))


def test_every_formula_gives_its_stored_value(made: Any) -> None:
    """Each stored value is what its formula gives from the inputs alone."""
    cells = read_workbook(made[0])
    formulas = {key: pair for key, pair in cells.items() if pair[0]}
    assert len(formulas) > 80
    for (sheet, cell), (formula, stored) in formulas.items():
        assert stored == pytest.approx(evaluate(cells, sheet, formula), rel=1e-9, abs=1e-9), (sheet, cell)


def test_packs_costs_and_totals_are_those_of_the_take_off(made: Any) -> None:
    """What the formulas give is what the program prints."""
    cells = read_workbook(made[0])
    rows = _rows(cells)
    lines = [line for area in made[1]["areas"] for line in area["lines"]]
    assert len(rows) == len(lines)
    for row, line in zip(rows, lines, strict=True):
        assert row["Item"] == line["item_number"]
        assert row["Need"] == pytest.approx(line["need"], abs=6e-4)
        assert row.get("Packs") == line["packs"]
        assert row.get("Cost") == (None if line["cost"] is None else pytest.approx(line["cost"], abs=0.005))
    total = sum(area["cost"] for area in made[1]["areas"])
    costs = [
        stored for (sheet, cell), (_, stored) in cells.items() if sheet == "Quantities" and cell[0] == "N"
    ]
    assert any(isinstance(one, float) and abs(one - total) < 0.01 for one in costs)


def _rows(cells: Cells) -> list[dict[str, Any]]:
    heads = {
        re.sub(r"\d", "", cell): value
        for (sheet, cell), (_, value) in cells.items()
        if sheet == "Quantities" and re.sub(r"\D", "", cell) == "1"
    }
    table: dict[int, dict[str, Any]] = {}
    for (sheet, cell), (_, value) in cells.items():
        row = int(re.sub(r"\D", "", cell))
        if sheet == "Quantities" and row > 1:
            table.setdefault(row, {})[str(heads[re.sub(r"\d", "", cell)])] = value
    return [row for _, row in sorted(table.items()) if row.get("Item") and row.get("Counted from")]


def test_doubled_area_doubles_the_mortar(made: Any) -> None:
    """The net area is one cell; with twice of it mortar's need doubles and packs round up from there."""
    cells = dict(read_workbook(made[0]))
    formula, area = cells["Sizes", "B2"]
    assert formula == ""
    before = _mortar(cells)
    cells["Sizes", "B2"] = ("", 2 * area)
    after = _mortar(cells)
    assert after["need"] == pytest.approx(2 * before["need"])
    assert after["packs"] == math.ceil(round(after["need"] / before["held"], 6))
    assert after["cost"] == pytest.approx(after["packs"] * before["price"])


def _mortar(cells: Cells) -> dict[str, float]:
    row = next(
        re.sub(r"\D", "", cell)
        for (sheet, cell), (_, value) in cells.items()
        if sheet == "Quantities" and value == "mortar above"
    )
    letters = {"need": "H", "held": "J", "packs": "K", "price": "M", "cost": "N"}
    found = {}
    for name, letter in letters.items():
        formula, stored = cells["Quantities", f"{letter}{row}"]
        found[name] = evaluate(cells, "Quantities", formula) if formula else float(stored)
    return found


def test_cut_list_holds_both_units(made: Any) -> None:
    """An inch is 25.4 mm exactly (NIST SP 811): lengths in inches are metres over 0.0254."""
    cells = read_workbook(made[0])
    lengths = [(key, pair) for key, pair in cells.items() if key[0] == "Cut list" and key[1][0] == "F"][1:]
    assert lengths
    for (sheet, cell), (_, metres) in lengths:
        inches = cells[sheet, "J" + cell[1:]][1]
        assert inches == pytest.approx(metres / 0.0254)


def test_same_job_gives_the_same_bytes(tmp_path: Path) -> None:
    """No clock gets into the file."""
    folders = [tmp_path / "one", tmp_path / "two"]
    for folder in folders:
        folder.mkdir()
    first, second = (workbook("heated_bath", folder)[0] for folder in folders)
    assert first == second


def test_text_of_a_job_is_never_a_formula(tmp_path: Path) -> None:
    """An area named like a formula stays a name."""
    text = (JOBS / "heated_bath.toml").read_text(encoding="utf-8")
    job = tmp_path / "job.toml"
    job.write_text(text.replace('"Bath floor"', "'=HYPERLINK(\"x\")'"), encoding="utf-8")
    out = tmp_path / "out.xlsx"
    assert CliRunner().invoke(app, ["takeoff", str(job), "-o", str(out)]).exit_code == 0
    cells = read_workbook(out.read_bytes())
    named = [pair for pair in cells.values() if pair[1] == '=HYPERLINK("x")']
    assert named
    assert all(formula == "" for formula, _ in named)


def test_another_kind_of_file_is_refused(tmp_path: Path) -> None:
    """A workbook is asked for by its ending."""
    out = tmp_path / "out.csv"
    done = CliRunner().invoke(app, ["takeoff", str(JOBS / "laundry.toml"), "-o", str(out)])
    assert "is no workbook" in str(done.exception)
    assert not out.exists()


def recalculated(data: bytes, folder: Path) -> Cells:
    """Every cell as an office program works it out from the formulas alone."""
    bare = folder / "bare.xlsx"
    with zipfile.ZipFile(io.BytesIO(data)) as old, zipfile.ZipFile(bare, "w") as new:
        for name in old.namelist():
            part = old.read(name)
            if name.startswith("xl/worksheets/sheet"):
                part = re.sub(rb"(<f>[^<]*</f>)<v>[^<]*</v>", rb"\1", part)
            new.writestr(name, part)
    command = ["soffice", f"-env:UserInstallation=file://{folder}/profile", "--headless"]
    command += ["--convert-to", "xlsx", "--outdir", str(folder / "done"), str(bare)]
    subprocess.run(command, check=True, capture_output=True, timeout=120)
    return read_workbook((folder / "done" / "bare.xlsx").read_bytes())


@pytest.mark.skipif(shutil.which("soffice") is None, reason="no office program is installed")
def test_office_program_works_out_the_same(made: Any, tmp_path: Path) -> None:
    """Without stored values the office program must calculate, and gets every number of ours."""
    own, theirs = read_workbook(made[0]), recalculated(made[0], tmp_path)
    checked = 0
    for key, (formula, stored) in own.items():
        if formula:
            assert theirs[key][1] == pytest.approx(stored, rel=1e-9, abs=1e-9), key
            checked += 1
    assert checked > 80
