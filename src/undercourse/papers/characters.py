"""Which characters the fonts of a paper can set; the others are told by their Unicode number.

A tagged PDF must not hold a character without a shape, so nothing of a job's own words may reach the
typesetter unchecked. The blocks below were found by setting every assigned character of them.
"""

from __future__ import annotations

import re
import unicodedata
from functools import lru_cache
from typing import Any

from undercourse.drawings.lettering import covers

_FALLBACK_BLOCKS = ((0x00A0, 0x0250), (0x0370, 0x0500), (0x1E00, 0x1F00), (0x2010, 0x20D0), (0x2100, 0x2300))
_NOT_SET = frozenset("⁁⁃⁓℟℡℣℥⅒ↅↆↇↈ↊↋")
_SPACES = {"\t": " ", "\r": " ", "\x85": " ", "\u2028": " ", "\u2029": " ", "\u200b": "", "\ufeff": ""}
# Words of these alone need no look at each character: the face has them all.
_PLAIN = re.compile(r"[ -~\n]*")
LONGEST_WORD = 28
_LEFT = ("svg", "alt", "key", "written", "tree")


def is_settable(character: str) -> bool:
    """Whether the text face or the typesetter's own fallback faces have a shape for the character."""
    if character in (" ", "\n") or covers(character):
        return True
    if character in _NOT_SET or unicodedata.category(character) in ("Cn", "Cc", "Cf", "Cs", "Co", "Zl", "Zp"):
        return False
    return any(low <= ord(character) < high for low, high in _FALLBACK_BLOCKS)


def settable_text(text: str) -> str:
    """The text with every character that can't be set written as its number, ``[U+6F22]``.

    Words are composed (NFC) first; control characters and invisible ones go.
    """
    if _PLAIN.fullmatch(text):
        return text
    return "".join(map(_set_as, unicodedata.normalize("NFC", text)))


@lru_cache(maxsize=4096)
def _set_as(character: str) -> str:
    """What stands on paper for one character."""
    character = _SPACES.get(character, character)
    if not character or is_settable(character):
        return character
    return "" if unicodedata.category(character) in ("Cc", "Cf") else f"[U+{ord(character):04X}]"


def settable(value: Any) -> Any:
    """The same dicts, lists and values with all their words made settable."""
    if isinstance(value, str):
        return settable_text(value)
    if isinstance(value, dict):
        return {settable_text(str(key)): settable(inner) for key, inner in value.items()}
    if isinstance(value, list | tuple):
        return [settable(inner) for inner in value]
    return value


def breakable(text: str) -> str:
    """Long words with places where a line may break: after punctuation, else every so many characters."""
    words = []
    for word in text.split(" "):
        if len(word) <= LONGEST_WORD:
            words.append(word)
            continue
        parts, run = [], 0
        for character in word:
            parts.append(character)
            run += 1
            if run >= LONGEST_WORD or (run > 6 and character in "/_-.,:;"):
                parts.append("\u200b")
                run = 0
        words.append("".join(parts))
    return " ".join(words)


def breakable_all(value: Any) -> Any:
    """The same data with every text breakable, drawings, formulas and what describes them left alone."""
    if isinstance(value, str):
        return breakable(value)
    if isinstance(value, dict):
        return {key: inner if key in _LEFT else breakable_all(inner) for key, inner in value.items()}
    if isinstance(value, list):
        return [breakable_all(inner) for inner in value]
    return value
