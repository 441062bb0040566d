"""Every design of a random site passes its own check; every refusal says why."""

from __future__ import annotations

import pytest

from tests.builders.random_site import random_site
from tests.whole.judge import judge

SITES = 25
CHUNK = 5
BEDS_MOST = 14
TIME_LIMIT_S = 90.0
"""A search stopped at this time gives its best design so far, which must pass all the same."""


@pytest.mark.parametrize("first", range(0, SITES, CHUNK))
def test_a_design_passes_its_own_check_and_a_refusal_names_what_clashes(first):
    # The check finds every flow and head again from pipes, pump and valves as built, and holds
    # each promise against them; nothing of the program takes part.
    faults = {}
    for seed in range(first, first + CHUNK):
        verdict = judge(*random_site(seed, BEDS_MOST), TIME_LIMIT_S)
        if not verdict.sound:
            faults[seed] = verdict
    assert faults == {}
