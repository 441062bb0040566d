"""Every command, Python block and site file printed in README.md and docs/ works as printed.

A page's blocks of sh and Python are run in their order, in a temporary folder that holds the demo
site, the two site files that pages speak of and an empty folder of own parts; Python knows a
``design`` with its ``check``, which some pages speak of without making one. What prints no
`floodwright` line (making a virtual environment, running the tests) is passed over here. `start` is
given the shortest answers, one row of two small tubs, so that the design after it is quick; the
demo design is run in full.
"""

import re
import shlex
import shutil
from dataclasses import dataclass
from pathlib import Path

import pytest
from click.testing import CliRunner

from optimizer.cli import main
from optimizer.learn.read import read_readings
from optimizer.reading.site import read_site_text
from optimizer.reading.starter import QUESTIONS, StarterAnswers, starter_text
from tests.builders.make_design import make_design
from tests.reading.site_texts import SMALLEST
from tests.report.make_check import make_check

ROOT = Path(__file__).resolve().parents[2]
PAGES = [ROOT / "README.md", *sorted((ROOT / "docs").rglob("*.md"))]
SHORT_ANSWERS = {"rows": "1", "beds_per_row": "2", "container": "tub_100x060"}


@dataclass(frozen=True)
class Block:
    """A fenced block of a page; ``line`` is where it starts."""

    page: str
    line: int
    text: str
    language: str

    def __str__(self) -> str:
        return f"{self.page}:{self.line}"


def blocks(language: str) -> list[Block]:
    fence = re.compile(rf"^( *)```{language}\n(.*?)^ *```", re.DOTALL | re.MULTILINE)
    return [
        Block(
            str(page.relative_to(ROOT)),
            text.count("\n", 0, found.start()) + 1,
            re.sub(rf"^{found[1]}", "", found[2], flags=re.MULTILINE),
            language,
        )
        for page in PAGES
        for text in [page.read_text(encoding="utf-8")]
        for found in fence.finditer(text)
    ]


def commands(block: Block) -> list[list[str]]:
    """Return the words after ``floodwright`` of each command that calls it."""
    parts = [part for line in block.text.splitlines() for part in line.split("&&")]
    words = [shlex.split(part, comments=True) for part in parts]
    return [each[1:] for each in words if each and Path(each[0]).name == "floodwright"]


CALLING = [block for block in blocks("sh") if commands(block)]


def test_the_pages_print_every_verb_of_the_command():
    verbs = {words[0] for block in CALLING for words in commands(block)}
    assert verbs == set(main.commands)


SCRIPTS = [block for block in blocks("python") if block.page != "README.md"]  # see test_readme
RUN = sorted([*CALLING, *SCRIPTS], key=lambda block: (block.page, block.line))


def shortest(start: str, beds: int) -> str:
    """Return the site file of one row of small tubs."""
    answers = StarterAnswers(name=start, rows=1, beds_per_row=beds, container="tub_100x060")
    return starter_text(answers)


@pytest.mark.parametrize("page", sorted({block.page for block in RUN}))
def test_every_command_and_python_block_on_a_page_works_in_the_order_of_the_page(
    page: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
):
    shutil.copytree(ROOT / "studies", tmp_path / "studies")
    (tmp_path / "my_parts").mkdir()
    for name, beds in (("my-site", 2), ("larger", 3)):
        (tmp_path / f"{name}.toml").write_text(shortest(name, beds), encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    typed = "".join(SHORT_ANSWERS.get(question.key, "") + "\n" for question in QUESTIONS)
    names: dict[str, object] = {}
    for block in (each for each in RUN if each.page == page):
        if block.language == "python":
            if "design" not in names:
                names["design"] = make_design()
                names["check"] = make_check(make_design())
            exec(compile(block.text, str(block), "exec"), names)
            continue
        for words in commands(block):
            if words[0] == "start":
                Path(words[1]).unlink(missing_ok=True)
            answer = CliRunner().invoke(main, words, input=typed if words[0] == "start" else "")
            assert answer.exit_code == 0, f"{block}: {words}\n{answer.output}"


def test_the_readme_says_where_its_results_go(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.chdir(tmp_path)
    words = [
        word for key, value in SHORT_ANSWERS.items() for word in ("--answer", f"{key}={value}")
    ]
    runner = CliRunner()
    assert runner.invoke(main, ["start", "my-site.toml", "--yes", *words]).exit_code == 0
    assert runner.invoke(main, ["design", "my-site.toml"]).exit_code == 0
    assert "my-site-design/design.json" in (ROOT / "README.md").read_text(encoding="utf-8")
    assert (tmp_path / "my-site-design" / "design.json").is_file()
    assert (tmp_path / "my-site-design" / "page.html").is_file()


READINGS = "readings-file.md"


@pytest.mark.parametrize("block", [b for b in blocks("toml") if READINGS in b.page], ids=str)
def test_every_readings_file_printed_reads_alone_or_before_the_first(block: Block, tmp_path: Path):
    first = next(each.text for each in blocks("toml") if READINGS in each.page)
    path = tmp_path / "readings.toml"
    path.write_text(block.text if "[[reading]]" in block.text else first + block.text)
    found = read_readings(path)
    assert found.readings
    assert bool(found.errors.replaced()) == ("[errors]" in block.text)


@pytest.mark.parametrize("block", [b for b in blocks("toml") if READINGS not in b.page], ids=str)
def test_every_site_file_printed_reads_alone_or_added_to_the_smallest(block: Block):
    whole = "[goal]" in block.text
    site = read_site_text(block.text if whole else SMALLEST + block.text, str(block)).site
    assert site != read_site_text(SMALLEST).site or whole


@pytest.mark.parametrize("language", ["toml", "sh", "python"])
def test_no_page_hides_a_block_from_these_tests(language: str):
    # a fence in another spelling of the language would be passed over in silence
    odd = {"toml": "TOML|ini", "sh": "bash|shell|console", "python": "py|pycon"}[language]
    for page in PAGES:
        assert not re.search(rf"^ *```({odd})$", page.read_text(encoding="utf-8"), re.MULTILINE)
