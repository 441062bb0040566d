"""Text from a site file is only ever text, and nothing but the page's own script may run."""

from __future__ import annotations

from dataclasses import replace

import pytest

from optimizer.report.explorer.page import render_explorer
from tests.browser.open_page import Opened
from tests.builders.evil_design import evil_of
from tests.builders.make_design import make_design
from tests.builders.make_explorer import make_explorer

EVILS = (
    "</script><script>window.harmed = 1</script>",
    "<img src=x onerror=window.harmed=1>",
    "\"'><svg onload=window.harmed=1>",
    "\u2028\u2029'];window.harmed=1;//",
    "<!--<script>",
    "${window.harmed=1}",
)


@pytest.fixture(params=EVILS)
def hostile(request, chromium, tmp_path):
    """A page whose site, parts, beds and designs all carry one hostile name."""
    evil = request.param
    designs = {evil: evil_of(make_design(), evil), f"{evil} 2": make_design()}
    explorer = replace(make_explorer(designs, evil), title=evil)
    (tmp_path / "evil.html").write_text(render_explorer(explorer), encoding="utf-8")
    with Opened(chromium, tmp_path / "evil.html", width=1280, height=900) as page:
        yield page, evil
        page.demand_quiet()


def test_a_hostile_name_does_nothing_but_be_read(hostile):
    opened, evil = hostile
    for place in (0, 1):
        opened.page.locator("#choose").select_option(str(place))
        opened.unfold()
    assert opened.page.evaluate("window.harmed === undefined")
    assert opened.page.locator("script").count() == 2
    assert opened.page.locator("img, iframe, object, embed, link").count() == 0
    shown = opened.page.locator("#list button").first.text_content()
    assert shown == f"1. {evil}"


def test_a_script_put_into_the_page_by_any_other_way_is_refused(chromium, study):
    with Opened(chromium, study / "front_area.html", width=800, height=600) as opened:
        opened.page.evaluate(
            """() => {
              const script = document.createElement("script");
              script.textContent = "window.harmed = 1";
              document.body.append(script);
              const box = document.createElement("div");
              box.innerHTML = "<img src=x onerror=window.harmed=1>";
              document.body.append(box);
            }"""
        )
        opened.page.wait_for_timeout(100)
        assert opened.page.evaluate("window.harmed === undefined")
        assert any("Content Security Policy" in said for said in opened.said)


def test_the_page_can_reach_no_network(chromium, study):
    with Opened(chromium, study / "front_area.html", width=800, height=600) as opened:
        reach = "fetch('http://127.0.0.1:9/').then(() => 'reached', () => 'refused')"
        assert opened.page.evaluate(reach) == "refused"
        assert any("connect-src" in said or "default-src" in said for said in opened.said)
