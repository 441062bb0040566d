"""Every worked example in the physics docstrings gives what it says."""

import doctest
import importlib
import pkgutil

import pytest

import optimizer.physics

MODULES = [each.name for each in pkgutil.iter_modules(optimizer.physics.__path__)]


@pytest.mark.parametrize("name", MODULES)
def test_worked_examples_give_what_they_say(name):
    module = importlib.import_module(f"optimizer.physics.{name}")
    assert doctest.testmod(module).failed == 0


def test_worked_examples_are_found_at_all():
    found = [
        example
        for name in MODULES
        for test in doctest.DocTestFinder().find(
            importlib.import_module(f"optimizer.physics.{name}")
        )
        for example in test.examples
    ]
    assert len(found) >= 10
