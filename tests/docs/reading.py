"""What the documentation tests read: the repository's pages, their code blocks and links."""

from __future__ import annotations

import re
from pathlib import Path

ROOT = Path(__file__).parent.parent.parent
DOCS = ROOT / "docs"
README = ROOT / "README.md"
_NAMED_BLOCK = re.compile(r"^`([^`\n]+)`\n\n```toml\n(.*?)^```$", re.M | re.S)
_LINK = re.compile(r"!?\[[^\]\n]*\]\(([^)\s]+)\)")
_FENCE = re.compile(r"^```.*?^```$", re.M | re.S)


def pages() -> list[Path]:
    """Every Markdown page of the repository's own."""
    return sorted([*ROOT.glob("*.md"), *DOCS.glob("*.md"), *DOCS.glob("decisions/*.md")])


def named_blocks(text: str) -> dict[str, str]:
    """TOML blocks by the file name that stands above each."""
    return dict(_NAMED_BLOCK.findall(text))


def shell_lines(text: str) -> list[str]:
    """Every line of the shell blocks."""
    blocks: list[str] = re.findall(r"^```sh\n(.*?)^```$", text, re.M | re.S)
    return [line for block in blocks for line in block.splitlines() if line.strip()]


def links(text: str) -> list[str]:
    """Targets of links and images outside of code."""
    return _LINK.findall(re.sub(r"`[^`\n]*`", "", _FENCE.sub("", text)))
