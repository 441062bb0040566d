"""Watch what a command does while it runs: files it touches, programs it starts, pages it writes.

An audit hook of the interpreter sees every file opened, every name moved or removed, every program
started and every connection made, whatever library asks for it.
"""

from __future__ import annotations

import os
import signal
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from html.parser import HTMLParser
from pathlib import Path

PAGE_TAGS = {
    "a", "abbr", "article", "aside", "b", "body", "br", "button", "caption", "circle", "clippath",
    "code", "col", "colgroup", "dd", "defs", "desc", "details", "dfn", "div", "dl", "dt", "em",
    "fieldset", "figcaption", "figure", "footer", "form", "g", "h1", "h2", "h3", "h4", "head",
    "header", "html", "i", "input", "label", "legend", "li", "line", "lineargradient", "main",
    "mark", "marker", "meta", "nav", "noscript", "ol", "option", "output", "p", "path", "pattern",
    "polygon", "polyline", "rect", "script", "section", "select", "small", "span", "stop",
    "strong", "style", "sub", "summary", "sup", "svg", "symbol", "table", "tbody", "td",
    "template", "text", "tfoot", "th", "thead", "time", "title", "tr", "tspan", "u", "ul", "use",
    "wbr",
}  # fmt: skip
"""What our pages are made of; img, iframe, object, embed, link and base are not among it."""

_STARTS = {"subprocess.Popen", "os.system", "os.exec", "os.posix_spawn", "os.startfile", "os.fork"}
_MOVES = {"os.rename", "os.remove", "os.mkdir", "os.rmdir", "os.symlink", "os.link", "os.truncate"}


class TooLongError(BaseException):
    """Raised by the timer in a run without an end; nothing may swallow it."""


class Watch:
    """What happened since :meth:`begin`; one per process, for a hook cannot be taken out.

    Attributes:
        allowed: names of folders inside which a command may write, set anew for each run.
        secret: name of a folder in which it may not even read.
    """

    def __init__(self) -> None:
        self.allowed: tuple[str, ...] = ()
        self.secret = ""
        self.seen: list[str] | None = None
        sys.addaudithook(self._hear)

    @contextmanager
    def over(self, *allowed: Path, secret: Path) -> Iterator[list[str]]:
        """Collect what happened that must not, while the block runs."""
        self.allowed = tuple(os.path.realpath(each) for each in allowed)
        self.secret = os.path.realpath(secret)
        self.seen = found = []
        try:
            yield found
        finally:
            self.seen = None

    def _hear(self, event: str, arguments: tuple[object, ...]) -> None:
        if self.seen is None:
            return
        if event == "open":
            name, mode, flags = arguments
            writes = isinstance(flags, int) and flags & (os.O_WRONLY | os.O_RDWR | os.O_CREAT)
            if not isinstance(name, str | bytes):
                return
            if writes or (mode and "w" in str(mode)):
                self._wrote(os.fsdecode(name))
            elif os.path.realpath(os.fsdecode(name)).startswith(self.secret):
                self.seen.append(f"read {os.fsdecode(name)}"[:300])
        elif event in _MOVES:
            self._wrote(os.fsdecode(arguments[0]))  # type: ignore[arg-type]
        elif event in _STARTS or event == "socket.connect":
            self.seen.append(f"{event} {arguments[:2]!r}"[:200])

    def _wrote(self, name: str) -> None:
        assert self.seen is not None
        where = os.path.realpath(name)
        inside = any(os.path.commonpath([where, each]) == each for each in self.allowed)
        if not inside and where != "/dev/null" and "__pycache__" not in where:
            self.seen.append(f"wrote {where}"[:300])


class PageFaults(HTMLParser):
    """Elements and attributes that no page of ours has: text of a file that became markup."""

    def __init__(self, html: str) -> None:
        super().__init__(convert_charrefs=True)
        self.found: list[str] = []
        self._script = False
        self.feed(html)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag not in PAGE_TAGS:
            self.found.append(f"<{tag}>")
        for name, value in attrs:
            leads_out = name in {"href", "src", "xlink:href", "action", "srcdoc"}
            if name.startswith("on") or (leads_out and not _stays(value or "")):
                self.found.append(f"<{tag} {name}={value!r}>"[:120])
        self._script = tag == "script" and dict(attrs).get("type") != "application/json"

    def handle_endtag(self, tag: str) -> None:
        self._script = False

    def handle_data(self, data: str) -> None:
        if self._script and "alert(" in data.replace("window.alert(", ""):
            self.found.append("a script from outside")


def _stays(address: str) -> bool:
    """Whether an address stays on the page or beside it."""
    return address.startswith(("#", "data:image/")) or (":" not in address and address[:1] != "/")


def page_faults(folder: Path) -> list[str]:
    """Return what is wrong with the pages in a folder, by file."""
    pages = sorted(folder.rglob("*.html")) if folder.is_dir() else []
    return [
        f"{page.name}: {fault}"
        for page in pages
        for fault in PageFaults(page.read_text(encoding="utf-8")).found
    ]


@contextmanager
def patience(processor_s: float, clock_s: float) -> Iterator[None]:
    """Cut off what takes longer, by the processor's time or the clock's, where there are timers."""

    def give_up(*_: object) -> None:
        raise TooLongError

    if not hasattr(signal, "setitimer"):
        yield
        return
    timers = ((signal.SIGPROF, signal.ITIMER_PROF, processor_s),
              (signal.SIGALRM, signal.ITIMER_REAL, clock_s))  # fmt: skip
    earlier = [signal.signal(name, give_up) for name, _, _ in timers]
    for _, timer, seconds in timers:
        signal.setitimer(timer, seconds)
    try:
        yield
    finally:
        for (name, timer, _), before in zip(timers, earlier, strict=True):
            signal.setitimer(timer, 0.0)
            signal.signal(name, before)
