"""Reading text, TOML and JSON files with every fault told as a problem, never as a traceback."""

from __future__ import annotations

import json
import re
import tomllib
from pathlib import Path
from typing import Any

from undercourse.base.problems import Problem, Problems
from undercourse.files.toml_lines import Path as KeyPath
from undercourse.files.toml_lines import find_lines, line_of

# A job or product file is typed by people; ten megabytes is far more than anyone types.
LARGEST_BYTES = 10_000_000


def read_text(path: Path, largest: int = LARGEST_BYTES) -> str:
    """The text of a UTF-8 file.

    Raises
    ------
    Problems
        Missing, a folder, too large, empty, binary or of another encoding.
    """
    where = str(path)
    try:
        size = path.stat().st_size
        if path.is_dir():
            raise Problems([Problem(where, "this is a folder", "name a file")])
        if size > largest:
            what = f"the file has {size / 1e6:.0f} MB"
            fix = f"files here have at most {largest / 1e6:.0f} MB; check that it is the right one"
            raise Problems([Problem(where, what, fix)])
        raw = path.read_bytes()
    except OSError as error:
        reason = error.strerror or "cannot be read"
        raise Problems([Problem(where, reason.lower(), "check the path and the permissions")]) from None
    if not raw.strip():
        raise Problems([Problem(where, "the file is empty", "write a job as in the README")])
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw[: error.start].count(b"\n") + 1
        what = f"byte {error.start} is not UTF-8 text"
        raise Problems([Problem(f"{where}:{line}", what, "save the file as UTF-8")]) from None
    if "\x00" in text:
        raise Problems([Problem(where, "this is a binary file", "name a text file")])
    return text


def parse_toml(text: str, where: str) -> dict[str, Any]:
    """The data of a TOML text; a syntax fault names its line."""
    if _DEEP_KEY.search(text):
        # The standard library's reader takes minutes for keys of many parts.
        raise Problems([Problem(where, "a key has more than 30 parts", "flatten the file")])
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        message = str(error)
        line = getattr(error, "lineno", None)
        if line is None and "(at line " in message:
            line = int(message.split("(at line ")[1].split(",")[0])
        elif line is None and "end of document" in message:
            line = max(1, len(text.splitlines()))
        what = message.split(" (at ")[0].lower()
        place = f"{where}:{line}" if line else where
        raise Problems([Problem(place, what, "texts stand in quotes, one key = value a line")]) from None
    except RecursionError:
        raise Problems([Problem(where, "the values are nested too deep", "flatten the file")]) from None
    except ValueError:
        raise Problems([Problem(where, "a number has thousands of digits", "mend the number")]) from None


_DEEP_KEY = re.compile(r"""(?<![\w"'.-])(?:[\w"'-]++[ \t]*+\.[ \t]*+){30}""")


def parse_json(text: str, where: str) -> Any:
    """The data of a JSON text; a syntax fault names its line."""
    twice: list[str] = []

    def once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
        table = dict(pairs)
        if len(table) < len(pairs):
            keys = [key for key, _ in pairs]
            twice.extend(key for key in table if keys.count(key) > 1)
        return table

    try:
        data = json.loads(text, object_pairs_hook=once)
    except json.JSONDecodeError as error:
        raise Problems([Problem(f"{where}:{error.lineno}", error.msg.lower(), "mend the JSON")]) from None
    except RecursionError:
        raise Problems([Problem(where, "the values are nested too deep", "flatten the file")]) from None
    except ValueError:
        raise Problems([Problem(where, "a number has thousands of digits", "mend the number")]) from None
    if twice:
        # Of two values for one key the last would win unseen.
        raise Problems(
            [Problem(where, f'"{key}" is written twice in one table', "keep one") for key in twice[:8]]
        )
    if "\\u" in text and _HALF.search(text) and _has_half(data):
        what = "a text holds half of a character (a lone surrogate)"
        raise Problems([Problem(where, what, "write the character itself")])
    return data


_HALF = re.compile(r"\\u[dD][89a-fA-F]")


def _has_half(data: Any) -> bool:
    """Whether a text or key cannot be written as UTF-8 again."""
    try:
        json.dumps(data, ensure_ascii=False).encode()
    except UnicodeEncodeError:
        return True
    return False


class Locator:
    """Names the file, line and key of a path of keys."""

    def __init__(self, where: str, text: str = "", toml: bool = True) -> None:
        self.where = where
        self.lines = find_lines(text) if toml and text else {}

    def __call__(self, path: KeyPath) -> str:
        names = [f"[{part + 1}]" if isinstance(part, int) else str(part) for part in path]
        keys = ".".join(names).replace(".[", "[")
        place = f"{self.where}:{line_of(self.lines, path)}" if self.lines else self.where
        return f"{place}: {keys}" if keys else place
