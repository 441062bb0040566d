"""The Python block of docs/method-rings.md runs, and says what trying everything says."""

import re
from pathlib import Path

import pytest

from tests.oracles.enumerate_ring import least_ring_cost
from tests.oracles.enumerate_tree import HazenWilliamsByHand
from tests.tolerances import FORMULA

PAGE = (Path(__file__).resolve().parents[2] / "docs" / "method-rings.md").read_text()


def test_the_ring_on_the_page_costs_what_trying_everything_costs():
    (block,) = re.findall(r"```python\n(.*?)```", PAGE, flags=re.DOTALL)
    names: dict[str, object] = {}
    exec(compile(block, "method-rings.md", "exec"), names)
    cost, _ = least_ring_cost(names["ring"], names["sizes"], HazenWilliamsByHand(150.0))
    assert names["ringed"].cost == pytest.approx(cost, rel=FORMULA)
    assert names["ringed"].bound == pytest.approx(cost, rel=FORMULA)
