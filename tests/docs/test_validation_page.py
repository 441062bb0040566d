"""Our figures lie within the named bands of the published ones, and the page says so."""

import pytest

from tests.docs.make_validation import PAGE, validation_page
from tests.validation.register import SUBJECTS

CHECKS = [check for checks in SUBJECTS.values() for check in checks]
WAYS = {"read", "second hand", "recalled", "ran"}


@pytest.mark.parametrize("check", CHECKS, ids=str)
def test_our_figure_is_the_published_one_within_its_band(check):
    # The source of each stands beside it in tests/validation/.
    assert check.ours() == pytest.approx(check.published, abs=check.within, rel=0.0)


def test_every_figure_has_a_source_and_says_how_it_is_known():
    assert all(check.source and check.known in WAYS for check in CHECKS)


def test_no_band_is_so_wide_that_it_holds_anything():
    # Two in a hundred at most, but for the round "about 20 %" of a pump's efficiency.
    wide = [check for check in CHECKS if check.within > 0.0201 * abs(check.published)]
    assert [check.what[:20] for check in wide] == ["small aquarium pump,"]


def test_no_case_stands_twice():
    names = [check.what for check in CHECKS]
    assert len(set(names)) == len(names)


def test_the_page_is_what_the_register_gives_today():
    # after a change: python -m tests.docs.make_validation
    assert PAGE.read_text(encoding="utf-8") == validation_page()
