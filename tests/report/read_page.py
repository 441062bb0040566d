"""Read a page back with the standard library's parser, as a browser would."""

from __future__ import annotations

from html.parser import HTMLParser

VOID = {"meta", "br", "hr", "img", "input", "link", "col", "wbr"}


class PageReader(HTMLParser):
    """Collects elements with attributes, table cells with their class, scripts and ids."""

    def __init__(self, html: str) -> None:
        super().__init__(convert_charrefs=True)
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.cells: list[tuple[str, str]] = []
        self.scripts: list[tuple[dict[str, str | None], str]] = []
        self.words: list[str] = []
        self.open: list[str] = []
        self._attributes: dict[str, str | None] = {}
        self.feed(html)

    def handle_starttag(self, tag, attrs):
        self._attributes = dict(attrs)
        self.tags.append((tag, self._attributes))
        if tag not in VOID:
            self.open.append(tag)
        if tag in ("td", "th"):
            self.cells.append((self._attributes.get("class") or "", ""))
        if tag == "script":
            self.scripts.append((self._attributes, ""))

    def handle_endtag(self, tag):
        assert self.open and self.open.pop() == tag, f"{tag} closes what is not open"

    def handle_data(self, data):
        inside = self.open[-1] if self.open else ""
        if inside == "script":
            attributes, text = self.scripts[-1]
            self.scripts[-1] = (attributes, text + data)
        elif inside in ("td", "th"):
            kind, text = self.cells[-1]
            self.cells[-1] = (kind, text + data)
        if inside not in ("script", "style"):
            self.words.append(data)

    @property
    def text(self) -> str:
        return " ".join(" ".join(self.words).split())
