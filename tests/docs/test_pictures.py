"""The pictures of docs/ show what the code draws of the demo site today."""

from __future__ import annotations

import re

import pytest

from tests.docs.make_pictures import FOLDER, SHOWN, drawings


@pytest.fixture(scope="module")
def drawn():
    return {name: svg.decode() for name, svg in drawings().items()}


def words(svg):
    """Every text of a picture, sorted: where it stands depends on the fonts a machine has."""
    return sorted(re.findall(r"<text[^>]*>([^<]*)</text>", svg))


def shapes(svg):
    """How many marks of each kind a picture has."""
    return [svg.count(f"<{kind} ") for kind in ("path", "line", "rect", "text")]


@pytest.mark.parametrize("name", SHOWN)
def test_a_picture_has_the_words_and_marks_that_are_drawn_today(name, drawn):
    kept = (FOLDER / f"{name}.svg").read_text(encoding="utf-8")
    assert words(kept) == words(drawn[name])
    assert len(words(kept)) > 4
    assert shapes(kept) == shapes(drawn[name])


def test_no_picture_lies_there_that_is_not_made():
    assert sorted(path.stem for path in FOLDER.iterdir()) == sorted(SHOWN)
