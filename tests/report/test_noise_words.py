"""The page says how loud the pump is, and what the site allows."""

from __future__ import annotations

from dataclasses import replace

import pytest

from optimizer.records.noise import NoiseLimit
from optimizer.report.page import render_page
from optimizer.report.words_noise import noise_sentence
from tests.builders.make_design import make_design
from tests.report.make_check import make_check

NIGHT = NoiseLimit(louder_than_db=35.5, hours_per_day_most=14.0)


def pumped(count, noise_db, limit=None):
    design = make_design()
    return replace(
        design,
        pump=replace(design.pump, count=count, noise_db=noise_db),
        promise=replace(design.promise, noise=limit),
    )


@pytest.mark.parametrize(
    ("count", "noise_db", "limit", "said"),
    [
        (1, None, None, ""),
        (1, None, NIGHT, "counts as louder than any limit."),
        (1, 37.0, None, "It sounds at 37 dB a metre away."),
        # two equal sounds that keep no step: 10 log10(2) = 3 dB more than one
        (2, 37.0, None, "The 2 together sound at 40 dB a metre away."),
        (1, 37.0, NIGHT, "louder than 35.5 dB run 14 h a day at most."),
    ],
)
def test_how_loud_the_pumps_are_is_told_where_it_or_a_limit_is_known(count, noise_db, limit, said):
    design = pumped(count, noise_db, limit)
    told = noise_sentence(design)
    assert told.endswith(said) and bool(told) == bool(said)
    assert told in render_page(design, make_check(design))
