"""The page of many designs as text: what a browser would be handed."""

from __future__ import annotations

import base64
import hashlib
import json
import re
from dataclasses import replace

import pytest

from optimizer.report.explorer.page import render_explorer
from tests.builders.evil_design import evil_of
from tests.builders.make_design import make_design_of
from tests.builders.make_explorer import make_explorer
from tests.report.read_page import PageReader

EVIL = "</script><script>alert(1)</script><img src=x onerror=alert(1)>\u2028\"'&"
SIZE_LIMIT_BYTES = 3_000_000
DESIGNS, ROWS, IN_ROW = 50, 10, 10


@pytest.fixture(scope="module")
def explorer():
    return make_explorer({"small": make_design_of(2, 2), "large": make_design_of(2, 3)})


@pytest.fixture(scope="module")
def html(explorer):
    return render_explorer(explorer)


def data_of(html: str):
    (text,) = [text for kind, text in PageReader(html).scripts if kind.get("id") == "data"]
    return text, json.loads(text)


def test_hostile_names_stay_data(explorer):
    evil = evil_of(make_design_of(2, 2), EVIL)
    html = render_explorer(make_explorer({EVIL: evil, "b": evil}, EVIL))
    read = PageReader(html)
    assert len(read.scripts) == 2
    assert not any(tag == "img" for tag, _ in read.tags)
    text, data = data_of(html)
    assert not re.search("[<>&\u2028\u2029]", text)
    assert data["points"][0]["name"] == [EVIL]


def test_only_the_page_s_own_script_and_style_are_allowed_by_their_hash(html):
    (policy,) = re.findall(r'Content-Security-Policy" content="([^"]+)"', html)
    assert "default-src 'none'" in policy and "unsafe" not in policy
    scripts = re.findall(r"<script>(.*?)</script>", html, re.DOTALL)
    styles = re.findall(r"<style>(.*?)</style>", html, re.DOTALL)
    for kind, (text,) in (("script-src", scripts), ("style-src", styles)):
        digest = base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()
        assert f"{kind} 'sha256-{digest}'" in policy


def test_the_script_writes_no_markup(html):
    (script,) = re.findall(r"<script>(.*?)</script>", html, re.DOTALL)
    for way in (
        "innerHTML",
        "outerHTML",
        "insertAdjacentHTML",
        "document.write",
        "eval(",
        "fetch(",
    ):
        assert way not in script


def test_the_page_asks_for_nothing_outside(html):
    for tag, attributes in PageReader(html).tags:
        assert tag not in ("link", "img", "iframe", "object", "embed", "base")
        assert "src" not in attributes
        assert (attributes.get("href") or "#").startswith("#")
    assert "@import" not in html and "url(" not in html


def test_fifty_designs_of_a_hundred_beds_all_different_stay_under_three_megabytes():
    base = make_design_of(ROWS, IN_ROW)
    designs = {f"design {n}": stretched(base, 1.0 + 0.01 * n) for n in range(DESIGNS)}
    html = render_explorer(make_explorer(designs))
    assert len(data_of(html)[1]["designs"]) == DESIGNS
    assert len(html.encode()) < SIZE_LIMIT_BYTES


def stretched(design, times):
    """The design with every flow, opening and price times as great: no figure of it is shared."""
    stretches = tuple(
        replace(s, flow_m3_s=s.flow_m3_s * times, length_m=s.length_m * times)
        for s in design.stretches
    )
    drains = tuple(replace(d, length_m=d.length_m * times) for d in design.drains)
    beds = tuple(
        replace(bed, valve_opening=bed.valve_opening * times**-1, bucket_s=bed.bucket_s / times)
        for bed in design.beds
    )
    costs = tuple(replace(line, cents=round(line.cents * times)) for line in design.costs)
    return replace(design, stretches=stretches, drains=drains, beds=beds, costs=costs)


def test_what_designs_share_is_written_once(explorer):
    same = explorer.points[0]
    twice = replace(explorer, points=(same, same, explorer.points[1]))
    _, data = data_of(render_explorer(twice))
    assert [point["design"] for point in data["points"]] == [0, 0, 1]
    assert len(data["plan"]["beds"]) == len({tuple(bed) for bed in data["plan"]["beds"]})


def test_the_same_study_gives_the_same_page_to_the_byte(explorer, html):
    assert render_explorer(explorer) == html


def test_the_page_can_be_walked_by_landmarks_and_every_label_has_its_field(html):
    read = PageReader(html)
    tags = [tag for tag, _ in read.tags]
    assert [tags.count(tag) for tag in ("main", "header", "footer", "h1")] == [1] * 4
    assert dict(read.tags)["html"]["lang"] == "en"
    ids = [attributes["id"] for _, attributes in read.tags if attributes.get("id")]
    assert len(ids) == len(set(ids))
    assert all(a["for"] in ids for tag, a in read.tags if tag == "label")
    assert all(a["aria-labelledby"] in ids for tag, a in read.tags if tag == "section")


def test_every_caution_is_said_once_in_each_system_of_units(explorer, html):
    text = PageReader(html).text
    for words in ("residual-current", "drip loop", "children drown", "air gap", "Prices are"):
        assert text.count(words) >= 2
    heaviest = max(k.wet_mass_kg for p in explorer.points for k in p.design.kinds)
    # 1 lb is 0.45359237 kg (international yard and pound agreement, 1959)
    assert f"up to {heaviest / 0.45359237:.0f} lb each" in text
    assert text.count("Wet beds are heavy") == 2


def test_a_study_without_a_design_has_no_page(explorer):
    bare = tuple(replace(point, design=None, check=None) for point in explorer.points)
    with pytest.raises(ValueError, match="needs a design"):
        render_explorer(replace(explorer, points=bare))
