"""Sizes of pipe are names, in any spelling, of one series."""

import pytest

from optimizer.reading.catalog import read_catalog
from optimizer.reading.pipe_names import size_name, with_pipe_ids
from optimizer.reading.site import read_site_text
from optimizer.records.site import (
    StandingPipe,
)
from tests.reading.site_texts import EVERY_KEY


@pytest.mark.parametrize(
    ("written", "name"),
    [
        ("1 1/2 in", "1-1/2 in"),
        ('1-1/2"', "1-1/2 in"),
        ("1½ in", "1-1/2 in"),
        ("3/4in", "3/4 in"),
        ("2 inch", "2 in"),
        ("110mm", "110 mm"),
        ("2.5 in", "2.5 in"),  # a name is never converted: there is no such size
    ],
)
def test_pipe_sizes_are_names_in_any_spelling(written, name):
    assert size_name(written) == name


def test_every_size_in_the_catalog_is_its_own_name():
    for pipe in read_catalog().pipes.values():
        assert size_name(pipe.nominal) == pipe.nominal


def test_sizes_become_ids_of_the_sites_series():
    site = with_pipe_ids(read_site_text(EVERY_KEY).site, read_catalog())
    assert site.purchase.pipes == ("sch40_1", "sch40_1_1_2", "sch40_2")
    assert site.standing.pipes == (StandingPipe("header", "sch40_1_1_2"),)
    assert site.returns.pipes == ("sch80_2", "sch80_3")
    assert with_pipe_ids(site, read_catalog()) == site


def test_return_sizes_are_of_the_supplys_series_where_none_is_named():
    text = EVERY_KEY.replace('pipe_series = "pvc_sch80"\n', "")
    site = with_pipe_ids(read_site_text(text).site, read_catalog())
    assert site.returns.pipes == ("sch40_2", "sch40_3")
