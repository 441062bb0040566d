from __future__ import annotations

import pytest

from optimizer.pack.contents import build_pack
from optimizer.pack.shopping import shopping_list
from tests.builders.make_design import make_design
from tests.builders.random_choice import random_assemblies
from tests.report.make_returns import with_returns


def _first(wanted):
    """The first random design that has what a test is about."""
    for seed in range(100, 160):
        _, _, designs = random_assemblies(seed, 2)
        for design in designs:
            if wanted(design):
                return design
    raise AssertionError("no such design came up")


@pytest.fixture(scope="session")
def design():
    """A design with several beds, return pipe, nothing there before."""
    return _first(
        lambda d: len(d.beds) >= 4 and d.drains and not any(s.standing for s in d.stretches)
    )


@pytest.fixture(scope="session")
def pack(design):
    return build_pack(design, shopping_list(design))


@pytest.fixture(scope="session")
def draining():
    """The example of four beds with return pipe that all of them share."""
    return with_returns(make_design())
