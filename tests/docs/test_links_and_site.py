"""Every link leads somewhere, and the pages build as a site with each of them in its menu."""

import re
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
DOCS = ROOT / "docs"
SITE = ROOT / ".ci" / "docs.yml"
PAGES = [
    ROOT / "README.md",
    ROOT / "DEVELOPERS.md",
    *sorted(DOCS.rglob("*.md")),
    *sorted((ROOT / "studies").rglob("*.md")),
]
LINK = re.compile(r"\]\(([^)\s]+)\)")
CODE = re.compile(r"```.*?```|`[^`\n]*`", re.DOTALL)


def anchors(page: Path) -> set[str]:
    """Return what a link into a page may name: its headings, as a Markdown renderer names them."""
    headings = re.findall(r"^#+ (.+)$", page.read_text(encoding="utf-8"), re.MULTILINE)
    return {re.sub(r"[^\w\- ]", "", h.lower()).replace(" ", "-") for h in headings}


@pytest.mark.parametrize("page", PAGES, ids=lambda page: str(page.relative_to(ROOT)))
def test_every_link_of_a_page_leads_to_a_file_and_a_heading_that_are_there(page):
    text = CODE.sub("", page.read_text(encoding="utf-8"))
    for link in LINK.findall(text):
        if link.startswith(("http://", "https://")):
            continue
        name, _, heading = link.partition("#")
        target = (page.parent / name).resolve() if name else page
        assert target.exists(), f"{link} leads nowhere"
        assert not heading or heading in anchors(target), f"{link} names no heading"


def test_every_page_of_docs_is_in_the_menu_of_the_site_once():
    menu = re.findall(r": (\S+\.md)$", SITE.read_text(encoding="utf-8"), re.MULTILINE)
    assert sorted(menu) == sorted(str(p.relative_to(DOCS)) for p in DOCS.rglob("*.md"))


def test_the_site_builds_without_a_warning(tmp_path):
    words = [sys.executable, "-m", "mkdocs", "build", "--strict", "-f", str(SITE), "-d"]
    built = subprocess.run(
        [*words, str(tmp_path / "site")], capture_output=True, text=True, check=False
    )
    assert built.returncode == 0, built.stderr
    assert (tmp_path / "site" / "index.html").is_file()
    for page in (tmp_path / "site").rglob("*.html"):  # a fence that was not read as one shows
        assert "```" not in page.read_text(encoding="utf-8"), page.name
    assert (tmp_path / "site" / "decisions" / "01-choice-then-assemble.html").is_file()
