"""The README's promises about itself: two set-up lines, and Python blocks that run."""

import re
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
README = (ROOT / "README.md").read_text()
BLOCKS = re.findall(r"```python\n(.*?)```", README, flags=re.DOTALL)


def test_there_are_exactly_two_set_up_lines_and_both_make_and_use_a_virtual_environment():
    lines = [x for x in README.splitlines() if x.startswith("python3 -m venv .venv && ")]
    assert len(lines) == 2
    assert all(".venv/bin/" in line for line in lines)


def test_the_ci_script_runs_the_test_line_of_the_readme():
    assert "grep '^python3 -m venv .venv && ' README.md" in (ROOT / ".ci" / "run").read_text()


@pytest.mark.parametrize("block", BLOCKS, ids=range(len(BLOCKS)))
def test_a_python_block_of_the_readme_runs(block: str, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.chdir(ROOT)
    names: dict[str, object] = {}
    exec(compile(block, "README.md", "exec"), names)
    if "answer" in names:
        assert names["answer"].check.passed
    if "sized" in names:
        # Hazen-Williams at 0.8 L/s over 40 m: 8.7 m in the 25, 2.5 m in the 32; 3 m are there.
        assert names["sized"].sizes == {("tank", "tap"): "32"}


def test_every_local_link_of_the_docs_leads_somewhere():
    pages = [ROOT / "README.md", ROOT / "DEVELOPERS.md", *(ROOT / "docs").rglob("*.md")]
    broken = [
        f"{page.relative_to(ROOT)} -> {target}"
        for page in pages
        for target in re.findall(r"\]\(([^)#]+)(?:#[^)]*)?\)", page.read_text())
        if "://" not in target and not (page.parent / target).exists()
    ]
    assert broken == []
