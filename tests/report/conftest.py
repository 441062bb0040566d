from __future__ import annotations

import pytest

from optimizer.report.page import render_page
from tests.builders.make_design import make_design, make_design_of
from tests.report.make_check import make_check
from tests.report.make_returns import with_returns, without_returns


@pytest.fixture(scope="session", autouse=True)
def cache_folder(tmp_path_factory):
    """Keep the bundle's cache out of the user's own folder, and make the bundle once."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("XDG_CACHE_HOME", str(tmp_path_factory.mktemp("cache")))
        yield


@pytest.fixture(scope="session")
def design():
    return without_returns(make_design())


@pytest.fixture(scope="session")
def check(design):
    return make_check(design)


@pytest.fixture(scope="session")
def big():
    return make_design_of(4, 6)


@pytest.fixture(scope="session")
def draining(design):
    return with_returns(design)


@pytest.fixture(scope="session")
def page(design, check, cache_folder):
    return render_page(design, check)
