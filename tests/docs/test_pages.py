"""Documentation that can fail: commands, options, facts, demands, links, pictures, the build itself."""

from __future__ import annotations

import json
import re
import shlex
import struct
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pytest
import typer
from typer.testing import CliRunner

from undercourse.base.domains import Domain, read_spec
from undercourse.cli.app import app
from undercourse.demands import DEMANDS
from undercourse.files.shipped import vocabulary
from undercourse.judge.rulebook import all_domains
from undercourse.line.rows import LOAD_CLASSES

from .reading import DOCS, ROOT, links, pages, shell_lines

COMMANDS = (DOCS / "commands.md").read_text("utf-8")


def walk(command: Any, path: str = "undercourse") -> Iterator[tuple[str, Any]]:
    """Every command with its path."""
    yield path, command
    for name, sub in getattr(command, "commands", {}).items():
        yield from walk(sub, f"{path} {name}")


ALL = dict(walk(typer.main.get_command(app)))


def section(path: str) -> str:
    """The part of the page that is about one command."""
    match = re.search(rf"^## `{path}`$(.*?)(?=^## |\Z)", COMMANDS, re.M | re.S)
    assert match, f"docs/commands.md has no heading for {path}"
    return match.group(1)


@pytest.mark.parametrize("path", ALL)
def test_command_is_documented_with_every_option(path: str) -> None:
    """A new command or option fails here until it is written down; one that went away, too."""
    text = section(path)
    options = {name for param in ALL[path].params for name in param.opts if name.startswith("-")} | {"--help"}
    heads = "\n".join(re.findall(r"^\| `-[^|]*\|", text, re.M))
    assert set(re.findall(r"`(-{1,2}[a-z-]+)`", heads)) == options
    names = {param.name.upper() for param in ALL[path].params if param.param_type_name == "argument"}
    assert set(re.findall(r"^\| `([A-Z]+)` \|", text, re.M)) == names


def test_no_command_is_documented_that_does_not_exist() -> None:
    """The page speaks of nothing else."""
    assert len(ALL) > 12
    assert set(re.findall(r"^## `([^`]+)`$", COMMANDS, re.M)) == set(ALL)


def test_printed_commands_run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Every command on the page can be typed as it stands; server and demo have tests of their own."""
    monkeypatch.chdir(tmp_path)
    ran = 0
    for line in shell_lines(COMMANDS):
        words, sent = shlex.split(line), ""
        if words[0] == "echo":
            sent, words = words[1] + "\n", words[3:]
        assert words[0] == ".venv/bin/undercourse"
        if words[1] in ("serve", "demo"):
            continue
        words = [str(ROOT / word) if word.startswith(("src/", "tests/")) else word for word in words[1:]]
        result = CliRunner().invoke(app, words, input=sent)
        assert result.exit_code == 0, (line, result.output, result.exception)
        assert result.stdout.strip()
        ran += 1
    assert ran > 15


@pytest.mark.parametrize("page", pages(), ids=lambda page: str(page.relative_to(ROOT)))
def test_relative_links_lead_somewhere(page: Path) -> None:
    """No page or picture is missing."""
    for target in links(page.read_text("utf-8")):
        assert "://" not in target, f"{target}: these pages name nothing outside"
        name, _, anchor = target.partition("#")
        path = (page.parent / name).resolve() if name else page
        assert path.exists(), target
        if anchor:
            headings = re.findall(r"^#+ (.+)$", path.read_text("utf-8"), re.M)
            assert anchor in {re.sub(r"[^\w -]", "", h).strip().lower().replace(" ", "-") for h in headings}


@pytest.mark.parametrize("picture", sorted(DOCS.glob("images/**/*.png")), ids=lambda p: p.name)
def test_picture_is_small_and_shown(picture: Path) -> None:
    """Pictures of reports have a palette and stay small; none lies about unused."""
    data = picture.read_bytes()
    assert data.startswith(b"\x89PNG")
    width, height, depth, color = struct.unpack(">IIBB", data[16:26])
    assert min(width, height) > 300
    assert len(data) < (200_000 if picture.parent.name == "reports" else 300_000)
    if picture.name != "page.png":
        assert (depth, color) == (8, 3)
    shown = {(p.parent / target).resolve() for p in pages() for target in links(p.read_text("utf-8"))}
    assert picture.resolve() in shown


class Reader(HTMLParser):
    """What a built page loads, and its text in code."""

    def __init__(self) -> None:
        super().__init__()
        self.loads: list[str] = []
        self.code: set[str] = set()
        self._in_code = 0

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Note what a tag makes the browser fetch."""
        named = dict(attrs)
        if tag in ("script", "img", "iframe", "source"):
            self.loads.append(named.get("src") or "")
        if tag == "link" and named.get("rel") in ("stylesheet", "preload", "icon", "preconnect"):
            self.loads.append(named.get("href") or "")
        self._in_code += tag == "code"

    def handle_endtag(self, tag: str) -> None:
        """Leave code."""
        self._in_code -= tag == "code"

    def handle_data(self, data: str) -> None:
        """Note a name in code."""
        if self._in_code:
            self.code.add(data)


def read_page(path: Path) -> Reader:
    """A built page."""
    reader = Reader()
    reader.feed(path.read_text("utf-8"))
    return reader


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The documentation as pages, warnings as errors."""
    out = tmp_path_factory.mktemp("html")
    command = [sys.executable, "-m", "sphinx", "-q", "-W", "-b", "html", "-d", str(out / ".trees")]
    done = subprocess.run([*command, str(DOCS), str(out)], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    return out


def test_facts_and_demands_are_on_their_pages(built: Path) -> None:
    """The generated pages hold every fact and every computed demand."""
    assert set(vocabulary().facts) <= read_page(built / "facts.html").code
    assert set(DEMANDS) <= read_page(built / "demands.html").code


def test_every_page_is_built_and_filled(built: Path) -> None:
    """No page is left out, and no marked place is left empty."""
    for page in [*DOCS.glob("*.md"), *DOCS.glob("decisions/*.md")]:
        html = built / page.relative_to(DOCS).with_suffix(".html")
        assert html.is_file()
        assert "generated:" not in html.read_text("utf-8")


def test_pages_load_nothing_from_elsewhere(built: Path) -> None:
    """They can be read without a network."""
    loaded = [load for path in built.rglob("*.html") for load in read_page(path).loads]
    assert loaded
    assert [load for load in loaded if "//" in load] == []


def test_checked_functions_are_in_the_coverage(built: Path) -> None:
    """Each function that is checked against something outside stands in the table."""
    code = read_page(built / "coverage.html").code
    for path in (ROOT / "tests/published").glob("*.toml"):
        for name in re.findall(r'^function = "([^"]+)"', path.read_text("utf-8"), re.M):
            assert name.replace(":", ".").removeprefix("undercourse.physics.") in code, name


def test_every_open_question_has_its_reason(built: Path) -> None:
    """What is left open or answered otherwise says why in a sentence of its own."""
    text = (built / "inquiries.html").read_text("utf-8")
    assert "asks first for" not in text, "write the reason in docs/inquiry_reasons.toml"


def test_job_schema_names_the_keys_that_the_format_page_documents() -> None:
    """The JSON form of a job is described with its own keys."""
    page = (DOCS / "line_files.md").read_text("utf-8")
    schema = json.loads(CliRunner().invoke(app, ["schema", "job"]).stdout)
    for key in schema["properties"]:
        assert re.search(rf"[`\"]{key}[`\"]|\[\[{key}\]\]", page), key


def test_written_forms_of_the_format_page_are_read() -> None:
    """Each value that the page shows is read by some fact or limit."""
    page = (DOCS / "line_files.md").read_text("utf-8")
    rows = re.search(r"^\| Written \|.*?\n\n", page, re.M | re.S)
    assert rows
    shown = re.findall(r"`(\"[^`]+\"|\[[^`]+\]|\{[^`]+\}|true|false)`", rows.group(0).replace("\\|", "|"))
    assert len(shown) > 20
    domains = all_domains(vocabulary()).values()
    for text in shown:
        raw = tomllib.loads(f"value = {text}")["value"]
        if raw in LOAD_CLASSES:
            continue
        assert any(reads(domain, raw) for domain in domains), text


def reads(domain: Domain, raw: object) -> bool:
    """Whether a domain reads a written value."""
    try:
        read_spec(domain, raw)
    except ValueError:
        return False
    return True


@pytest.mark.parametrize("name", ["requirements.lock", "requirements-verify.lock"])
def test_lock_names_no_host(name: str) -> None:
    """A lock says which packages, not where from."""
    text = (ROOT / name).read_text("utf-8")
    assert "--hash=sha256:" in text
    assert re.findall(r"://|--index|--find-links|--extra-index|--trusted-host", text) == []
