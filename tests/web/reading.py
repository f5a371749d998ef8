"""Reads the form out of a page as a browser without script would send it."""

from __future__ import annotations

from html.parser import HTMLParser


class PageForm(HTMLParser):
    """The fields of the page's form, as (name, value) pairs in order, and the page's text."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.fields: list[tuple[str, str]] = []
        self.ids: set[str] = set()
        self.words: list[str] = []
        self._area: str | None = None
        self._select: str | None = None
        self._options: list[tuple[str, bool]] = []
        self._option: list[str] | None = None
        self._selected = False
        self._value: str | None = None
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        found = dict(attrs)
        if found.get("id"):
            self.ids.add(str(found["id"]))
        name, value = found.get("name"), found.get("value") or ""
        if tag == "input" and name and name != "file":
            kind = found.get("type", "text")
            if kind != "checkbox" or "checked" in found:
                self.fields.append((name, value))
        elif tag == "textarea" and name:
            self.fields.append((name, ""))
            self._area = name
        elif tag == "select" and name:
            self._select, self._options = name, []
        elif tag == "option" and self._select:
            self._option, self._selected, self._value = [], "selected" in found, found.get("value")

    def handle_endtag(self, tag: str) -> None:
        if tag == "textarea":
            self._area = None
        elif tag == "option" and self._option is not None:
            words = "".join(self._option) if self._value is None else self._value
            self._options.append((words, self._selected))
            self._option = None
        elif tag == "select" and self._select:
            chosen = next((text for text, on in self._options if on), self._options[0][0])
            self.fields.append((self._select, chosen))
            self._select = None

    def handle_data(self, data: str) -> None:
        if self._area is not None:
            name, value = self.fields[-1]
            self.fields[-1] = (name, value + data)
        elif self._option is not None:
            self._option.append(data)
        else:
            self.words.append(data)

    @property
    def text(self) -> str:
        """All words of the page with single spaces."""
        return " ".join(" ".join(self.words).split())

    def value(self, name: str) -> str:
        """The first value of a field."""
        return next(value for key, value in self.fields if key == name)

    def values(self, name: str) -> list[str]:
        """All values of a field."""
        return [value for key, value in self.fields if key == name]

    def send(self, **changed: str | list[str] | None) -> dict[str, list[str]]:
        """The form's data with fields changed, added or, with None, left out; ``__`` stands for a dot."""
        data: dict[str, list[str]] = {}
        for name, value in self.fields:
            data.setdefault(name, []).append(value)
        for key, value in changed.items():
            name = key.replace("__", ".")
            data.pop(name, None)
            if value is not None:
                data[name] = [value] if isinstance(value, str) else value
        return data
