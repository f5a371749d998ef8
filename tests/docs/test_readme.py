"""The README's own job and line give what the README says of them."""

from __future__ import annotations

import json
import re
import shlex
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner

from undercourse.advise.answers import answer as answer_job
from undercourse.cli.app import app
from undercourse.files.demo import demo_jobs
from undercourse.files.shipped import rulebook

from .reading import README, named_blocks, shell_lines

TEXT = README.read_text("utf-8")
BLOCKS = named_blocks(TEXT)
ADDED = ", added"
# Rows of the table of changes: whether a line is left out, the line, verdict, what decides.
CHANGES = re.findall(r"^\| (leave out )?`([^`]+)` \| ([^|]+?) \| (.+?) \|$", TEXT, re.M)
CHANGES = [row for row in CHANGES if row[1].startswith(("joist_", "leveler_"))]
ASKS = "asks first: "


def write_files(folder: Path, ruled: bool = False) -> Path:
    """The README's files in a folder; the job's path."""
    for name, text in BLOCKS.items():
        path = folder / name.removesuffix(ADDED)
        path.parent.mkdir(exist_ok=True)
        if not name.endswith(ADDED):
            path.write_text(text, "utf-8")
        elif ruled:
            path.write_text(path.read_text("utf-8") + "\n" + text, "utf-8")
    return folder / "job.toml"


def run(folder: Path, *words: str) -> Any:
    """A command's result with the README's line."""
    return CliRunner().invoke(app, [*words, "--line", str(folder / "my-line")])


def change_line(job: Path, change: str, leave_out: bool) -> None:
    """Put a line of the job in place of the one with its key."""
    key = change.partition(" ")[0]
    text, count = re.subn(rf"^{key} = .*$", "" if leave_out else change, job.read_text("utf-8"), flags=re.M)
    assert count == 1, f"{key} does not stand once in the job"
    job.write_text(text, "utf-8")


def answer(folder: Path, change: str = "", leave_out: bool = False, ruled: bool = False) -> dict[str, Any]:
    """The one area's answer, after a change of one line of the job."""
    job = write_files(folder, ruled)
    if change:
        change_line(job, change, leave_out)
    result = run(folder, "answer", str(job), "--json")
    assert result.exit_code == 0, (result.output, result.exception)
    area: dict[str, Any] = json.loads(result.stdout)["areas"][0]
    return area


def test_blocks_and_table_are_all_there() -> None:
    """A renamed file would silently leave the other tests without something to test."""
    names = {"my-line/line.toml", "my-line/sheet.toml", "my-line/mortar.toml", "job.toml"}
    assert set(BLOCKS) == names | {"my-line/sheet.toml" + ADDED}
    assert len(CHANGES) == 4


def test_readme_job_has_the_verdict_that_the_readme_prints(tmp_path: Path) -> None:
    """Who types it in sees what was promised."""
    area = answer(tmp_path)
    only = area["candidates"][0]
    assert (area["site"]["status"], only["verdict"], len(only["provided"])) == ("ready", "suitable_if", 11)
    assert "the eleven things with who makes them so" in TEXT
    shown = run(tmp_path, "answer", str(tmp_path / "job.toml")).stdout
    for line in (area["headline"], "Site: Ready", "coating: none (installer, before the membrane)"):
        assert line in shown
        assert line in TEXT


@pytest.mark.parametrize(("out", "change", "verdict", "decides"), CHANGES, ids=[row[1] for row in CHANGES])
def test_changed_line_turns_the_answer_as_the_table_says(
    tmp_path: Path, out: str, change: str, verdict: str, decides: str
) -> None:
    """The table of changes is true row by row."""
    if verdict.startswith("none"):
        job = write_files(tmp_path)
        change_line(job, change, leave_out=False)
        result = run(tmp_path, "answer", str(job))
        assert result.exit_code != 0
        assert decides.strip("`") in str(result.exception)
        return
    area = answer(tmp_path, change, bool(out))
    only = area["candidates"][0]
    assert only["verdict_text"] == verdict
    if decides.startswith(ASKS):
        assert area["ask_next"][0]["question"] == decides.removeprefix(ASKS)
    else:
        assert decides in only["why_not"][0]


def test_ruling_settles_what_was_not_stated(tmp_path: Path) -> None:
    """The ruling that the README adds does what it says."""
    only = answer(tmp_path, "leveler_over_membrane = true", ruled=True)["candidates"][0]
    assert (only["verdict"], len(only["provided"])) == ("suitable_if", 11)
    assert "again suitable, provided eleven things are made so" in TEXT


@pytest.mark.parametrize("ruled", [False, True])
def test_commands_of_the_readme_run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, ruled: bool) -> None:
    """Every command that the README prints, as it stands, before and after its ruling is added."""
    write_files(tmp_path, ruled)
    monkeypatch.chdir(tmp_path)
    commands = [line for line in shell_lines(TEXT) if line.startswith(".venv/bin/undercourse ")]
    assert len(commands) == 10
    for line in commands:
        result = CliRunner().invoke(app, shlex.split(line)[1:])
        assert result.exit_code == 0, (line, result.output, result.exception)
    assert (tmp_path / "guest-bath.pdf").read_bytes().startswith(b"%PDF")


def test_make_targets_of_the_readme_exist() -> None:
    """A command that is printed can be typed."""
    targets = re.findall(r"^([a-z]+):", (README.parent / "Makefile").read_text("utf-8"), re.M)
    named = set(re.findall(r"\bmake ([a-z]+)\b(?=`|   #)", TEXT))
    assert named == {"demo", "test", "ifc", "docs", "serve"}
    assert named <= set(targets)


def test_demo_jobs_end_as_the_readme_says() -> None:
    """A shower floor suits, others on conditions, a kitchen waits, a hall is not stated, a landing stops."""
    book = rulebook(None)
    ends = {}
    for _, job in demo_jobs(book.vocabulary):
        for area in answer_job(job, book, advise=False)["areas"]:
            best = {c["id"]: c["verdict"] for c in area["candidates"]}.get(area["recommended"])
            ends[area["area"]] = area["site"]["status"] if area["site"]["status"] == "stop" else best
            if area["area"] == "Kitchen":
                assert area["headline"].startswith("Facts are needed")
            if area["area"] == "Hall":
                assert area["headline"].startswith("The maker does not state")
    assert "The eight areas of the four demo jobs" in TEXT
    assert len(ends) == 8
    assert ends.pop("Shower floor") == "suitable"
    assert ends.pop("Timber landing") == "stop"
    assert ends.pop("Kitchen") is None
    assert ends.pop("Hall") is None
    assert set(ends.values()) == {"suitable_if"}
