"""Bad input is told on standard error, one line a fault, and the program ends with 2: never a traceback."""

from __future__ import annotations

import io
import json
import os
import re
from collections.abc import Callable
from pathlib import Path

import pytest

from undercourse.base.problems import Problems
from undercourse.cli import main
from undercourse.files.writing import write_whole

Run = Callable[..., tuple[int, str, str]]
LINE = re.compile(r"^.+: .+; .+$")


@pytest.fixture
def run(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Run:
    """Run a command line; returns exit code, standard output, standard error."""

    def command(*arguments: str) -> tuple[int, str, str]:
        monkeypatch.setattr("sys.argv", ["undercourse", *arguments])
        with pytest.raises(SystemExit) as ended:
            main()
        out, err = capsys.readouterr()
        code = ended.value.code
        return (code if isinstance(code, int) else 0 if code is None else 1), out, err

    return command


def refused(result: tuple[int, str, str], *words: str) -> list[str]:
    """The lines of a refusal; each names place, fault and remedy."""
    code, out, err = result
    assert code == 2
    assert out == ""
    assert "Traceback" not in err
    lines = err.strip().splitlines()
    assert lines
    assert all(LINE.match(line) for line in lines), lines
    for word in words:
        assert word in err
    return lines


FILES: list[tuple[str, bytes | None, str]] = [
    ("empty", b"", "the file is empty"),
    ("blank", b"  \n\n", "the file is empty"),
    ("binary", bytes(range(256)), "is not UTF-8 text"),
    ("zeros", b"name = \x00\x00", "binary file"),
    ("latin", 'name = "Café"\n'.encode("latin-1"), ":1: byte 11 is not UTF-8 text; save the file as UTF-8"),
    ("utf16", 'name = "x"\n'.encode("utf-16"), "is not UTF-8 text"),
    ("syntax", b'name = "x\n', ":1: "),
    ("missing", None, "no such file"),
]


@pytest.mark.parametrize(("raw", "words"), [case[1:] for case in FILES], ids=[case[0] for case in FILES])
def test_unreadable_job_is_refused(run: Run, tmp_path: Path, raw: bytes | None, words: str) -> None:
    """Empty, binary, of another encoding, not there."""
    path = tmp_path / "job.toml"
    if raw is not None:
        path.write_bytes(raw)
    refused(run("answer", str(path)), words, "job.toml")


def test_folder_in_place_of_a_job_is_refused(run: Run, tmp_path: Path) -> None:
    """A folder is named as one."""
    refused(run("answer", str(tmp_path)), "this is a folder")


def test_huge_file_is_refused_unread(run: Run, tmp_path: Path) -> None:
    """A hundred megabytes of nothing (a sparse file) is not read into memory."""
    path = tmp_path / "job.toml"
    with path.open("wb") as file:
        file.truncate(100_000_000)
    refused(run("answer", str(path)), "the file has 100 MB", "at most 10 MB")


@pytest.mark.parametrize("text", ["[" * 4000, '{"a":' * 4000, '{"name": ', "[1, 2]", '"text"', "12"])
def test_broken_or_bottomless_json_is_refused(run: Run, tmp_path: Path, text: str) -> None:
    """Nested without end, cut off, or no job at all."""
    path = tmp_path / "job.json"
    path.write_text(text, "utf-8")
    refused(run("answer", str(path)), "job.json")


JOB = """name = "Annex"
[place]
exposure = "interior"
[framing]
{framing}
[finish]
{finish}
"""


def job(folder: Path, framing: str = "", finish: str = "", more: str = "") -> str:
    """A job file with these lines; framing starts in line 5."""
    path = folder / "annex.toml"
    path.write_text(JOB.format(framing=framing, finish=finish) + more, "utf-8")
    return str(path)


FAULTS = [
    (
        "no unit",
        'joist_spacing = "16"',
        'joist_spacing = "16": no unit; write "16 in" or "406 mm"',
    ),
    ("wrong unit", 'joist_spacing = "16 lb"', "lb is a unit of mass, not of length"),
    ("unknown unit", 'joist_spacing = "16 furlong"', '"furlong" is not a unit known here'),
    ("unknown fact", 'joist_spaceing = "16 in"', 'did you mean "joist_spacing"?'),
    ("unknown choice", 'base = "sawn joist"', 'did you mean "sawn joists"?'),
    ("wrong section", 'slab_rh = "80 %"', "move it to [moisture]"),
    ("beyond the domain", 'joist_spacing = "90 ft"', "lies outside"),
    ("backwards", 'joist_spacing = "24..16 in"', "write the smaller end first"),
    ("words", 'joist_spacing = "wide"', "does not begin with a number"),
    ("empty list", "base = []", "leaves no value possible"),
    ("not a number", "joist_spacing = nan", "not a finite number"),
    ("true for a number", "joist_spacing = true", "is not a number"),
    ("no date", 'joist_spacing = { value = "16 in", on = "soon" }', "is not a date"),
    ("unknown provenance", 'joist_spacing = { value = "16 in", who = "Ann" }', '"who" is not known'),
]


@pytest.mark.parametrize(("line", "words"), [case[1:] for case in FAULTS], ids=[case[0] for case in FAULTS])
def test_faulty_fact_is_refused_with_its_line(run: Run, tmp_path: Path, line: str, words: str) -> None:
    """Where, what and how to mend it stand in one line."""
    lines = refused(run("answer", job(tmp_path, framing=line)), words)
    assert "annex.toml:5: framing" in lines[0]


def test_all_faults_of_all_jobs_come_in_one_pass(run: Run, tmp_path: Path) -> None:
    """Three faults in two files are three lines."""
    (tmp_path / "other").mkdir()
    first = job(tmp_path, 'joist_spacing = "16"\njoist_span = "13 kg"')
    second = job(tmp_path / "other", finish='finish = "gold"')
    lines = refused(run("answer", first, second))
    assert len(lines) == 3
    assert [line.split(": ")[0].rsplit(":", 1)[1] for line in lines] == ["5", "6", "7"]


def test_contradictory_facts_are_named_with_both_places_and_the_rule(run: Run, tmp_path: Path) -> None:
    """A short edge longer than the long edge (kind = derived: impossible by meaning)."""
    path = job(tmp_path, finish='tile_long_edge = "6 in"\n\ntile_short_edge = "12 in"')
    lines = refused(run("answer", path))
    assert len(lines) == 1
    for words in ("annex.toml:7: finish.tile_long_edge", "annex.toml:9: finish.tile_short_edge"):
        assert words in lines[0]
    for words in ('tile_long_edge = "6 in"', 'tile_short_edge = "12 in"', "short edge within long edge"):
        assert words in lines[0]


def test_unknown_product_and_role_of_a_proposed_layer_are_refused(run: Run, tmp_path: Path) -> None:
    """The asker's own stack names what there is."""
    more = '\n[[proposed]]\nrole = "membrane"\nproduct = "ghost"\n\n[[proposed]]\nrole = "carpet"\n'
    refused(run("answer", job(tmp_path, more=more)), '"ghost" is no product', '"carpet" is no role')


def test_two_areas_of_one_name_are_refused(run: Run, tmp_path: Path) -> None:
    """Answers could not be told apart."""
    more = '\n[[area]]\nname = "hall"\n[[area]]\nname = "hall"\n'
    refused(run("answer", job(tmp_path, more=more)), 'two areas are named "hall"')


OPTIONS = [
    (["answer"], "no job file is named"),
    (["answer", "x.toml", "--without", "sense"], '"sense" is not a part'),
    (["demand", "joist_span"], "is a fact"),
    (["demand", "joist_live_deflection", "--set", "joist_span=13"], "no unit"),
    (["rule", "zebra"], "no rule is filed under"),
    (["facts", "zebra"], "no group or fact matches"),
    (["schema", "zebra"], "is not a document"),
    (["line", "show", "low-meadow"], "did you mean"),
    (["line", "compare", "low-meadow-3", "zebra"], "no product"),
    (["line", "check", "--date", "tomorrow"], "is not a date"),
    (["line", "check", "--line", "/nowhere"], "no folder"),
]


@pytest.mark.parametrize(("arguments", "words"), OPTIONS, ids=[" ".join(case[0]) for case in OPTIONS])
def test_faulty_option_is_refused(run: Run, arguments: list[str], words: str) -> None:
    """Commands refuse what they do not know as jobs do."""
    refused(run(*arguments), words)


def test_line_with_faults_is_refused_by_every_command(run: Run, tmp_path: Path) -> None:
    """Two products of one id, no role, a price without currency and date: all told at once."""
    head = '[line]\nmaker = "M"\nname = "L"\nrevision = "1"\ndate = 2026-01-01\n'
    sheet = 'id = "a"\nrole = "membrane"\nkind = "uncoupling sheet"\n'
    files = {
        "line.toml": head,
        "a.toml": sheet,
        "b.toml": sheet,
        "c.toml": 'id = "c"\n',
        "d.toml": 'id = "d"\nrole = "primer"\n[[pack]]\ncontents = "1 gal"\nprice = 9.5\n',
    }
    for name, text in files.items():
        (tmp_path / name).write_text(text, "utf-8")
    for command in (["line", "check"], ["line", "show"], ["demand", "assembly_height"]):
        lines = refused(
            run(*command, "--line", str(tmp_path)),
            'two products have the id "a"',
            "needs id and role",
            "names no currency",
            "names no date",
        )
        assert len(lines) == 4


def test_one_faulty_line_of_many_stops_none(
    run: Run, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """With --jsonl a faulty job is answered by its problems, in its place."""
    jobs = [
        {"name": "good", "facts": {"joist_spacing": "16 in"}},
        {"name": "bad", "facts": {"joist_spacing": "16"}},
    ]
    text = "\n".join([json.dumps(jobs[0]), json.dumps(jobs[1]), "{", json.dumps(jobs[0])])
    monkeypatch.setattr("sys.stdin", io.StringIO(text))
    code, out, err = run("answer", "--jsonl", "--brief")
    assert (code, err) == (0, "")
    answers = [json.loads(line) for line in out.splitlines()]
    assert ["problems" in answer for answer in answers] == [False, True, True, False]
    assert "line 2" in answers[1]["problems"][0]["where"]
    assert "no unit" in answers[1]["problems"][0]["what"]


# RFC 8259 leaves duplicate names (section 4), lone surrogates (8.2) and the size of numbers (6) open.
WRONG_JOBS: list[tuple[str, str, str]] = [
    ("whole number past every float", f'{{"facts": {{"slab_rh": {10**400}}}}}', "too large"),
    ("thousands of digits", f'{{"facts": {{"slab_rh": {"9" * 6000}}}}}', "thousands of digits"),
    ("one key twice", '{"facts": {"base": "steel plate", "base": "masonry"}}', "written twice"),
    ("half a character", '{"name": "\\ud800"}', "half of a character"),
    ("name of another type", '{"name": ["x"]}', '"name" is not a text'),
    ("both spellings", '{"area": [], "areas": [{}]}', 'both "area" and "areas"'),
    ("both layer keys", '{"layer": [{"kind": "?"}], "layers": [{"kind": "?"}]}', 'both "layer" and "layers"'),
    ("classes a number", '{"proposed": [{"role": "membrane", "classes": 3}]}', "not a list of texts"),
    ("role null", '{"proposed": [{"role": null}]}', "names no role"),
    ("less than no thickness", '{"proposed": [{"role": "patch", "thickness": "-5 in"}]}', "outside"),
    ("endless thickness", '{"proposed": [{"role": "patch", "thickness": "1e999 in"}]}', "outside"),
    ("many digits, no unit", f'{{"facts": {{"joist_span": "{"9" * 400}"}}}}', "no unit"),
]


@pytest.mark.parametrize(("text", "words"), [c[1:] for c in WRONG_JOBS], ids=[c[0] for c in WRONG_JOBS])
def test_job_of_wrong_values_is_refused_alone_and_among_lines(
    run: Run, monkeypatch: pytest.MonkeyPatch, tmp_path: Path, text: str, words: str
) -> None:
    """The same fault is told for a file and for a line, and the next line is still answered."""
    path = tmp_path / "job.json"
    path.write_text(text, "utf-8")
    refused(run("answer", str(path), "--json"), words)
    monkeypatch.setattr("sys.stdin", io.StringIO(text + '\n{"name": "next"}\n'))
    code, out, err = run("answer", "--jsonl", "--brief")
    assert (code, err) == (0, "")
    first, second = (json.loads(line) for line in out.splitlines())
    assert any(words in problem["what"] for problem in first["problems"])
    assert second["job"] == "next"


def test_value_a_hair_past_a_domain_end_is_the_end(run: Run) -> None:
    """Rounding may leave a number just past an end; the span stays a span."""
    code, out, err = run("demand", "joist_live_deflection", "--set", "joist_plies=6.0000000001", "--json")
    assert (code, err) == (0, "")
    assert json.loads(out)


SHEET = 'id = "a"\nrole = "membrane"\nkind = "uncoupling sheet"\n'
HEAD = '[line]\nmaker = "M"\nname = "L"\nrevision = "1"\ndate = 2026-01-01\n'
PACK = '[[pack]]\nsize = "1 m x 10 m"\nprice = 9.5\ncurrency = "USD"\nprice_date = 2026-01-01\n'
WRONG_LINES: list[tuple[str, str, str, str]] = [
    ("head a list", "line = [1]\n", SHEET, "is no table"),
    ("products not tables", HEAD, "product = [5]\n", "an entry is no table"),
    ("limit a number", HEAD, SHEET + "limit = 5\n", "no list of tables"),
    ("properties a number", HEAD, SHEET + "properties = 5\n", "is no table"),
    ("respects a table", HEAD, SHEET + '[[evidence]]\nid = "e"\nrespects = { x = 1 }\n', "no list of tables"),
    ("endless number", HEAD, SHEET + f"[properties]\nthickness = {'9' * 400}\n", "is not a length"),
    ("thickness below nothing", HEAD, SHEET + '[properties]\nthickness = "-3 mm"\n', "out of reach"),
    ("no width", HEAD, SHEET + '[properties]\nroll_width = "0 m"\n', "out of reach"),
    ("price nan", HEAD, SHEET + PACK.replace("9.5", "nan"), "is not a number"),
    ("roll of no length", HEAD, SHEET + PACK.replace("10 m", "0 m"), "more than nothing"),
    ("ranking of numbers", HEAD + "[ranking]\nrow = [5]\n", SHEET, "an entry is no table"),
]


@pytest.mark.parametrize(
    ("head", "sheet", "words"), [case[1:] for case in WRONG_LINES], ids=[case[0] for case in WRONG_LINES]
)
def test_misshapen_line_is_refused(run: Run, tmp_path: Path, head: str, sheet: str, words: str) -> None:
    """A line of the wrong shapes is told as faults too."""
    (tmp_path / "line.toml").write_text(head, "utf-8")
    (tmp_path / "a.toml").write_text(sheet, "utf-8")
    refused(run("line", "show", "--line", str(tmp_path)), words)


def test_pipe_is_not_replaced_by_a_report(tmp_path: Path) -> None:
    """A device or a pipe stays what it is: only ordinary files are written."""
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    with pytest.raises(Problems, match="device or a pipe"):
        write_whole(pipe, b"x")
    assert pipe.is_fifo()
    assert list(tmp_path.iterdir()) == [pipe]
