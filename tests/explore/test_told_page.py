"""A study handed to its page: which points, by what names, with which figures."""

from __future__ import annotations

from itertools import pairwise

import pytest

from optimizer.explore.fronts import area_front, floods_front, sump_front
from optimizer.explore.point import DESIGNED
from optimizer.explore.price_lines import energy_front
from optimizer.explore.sensitivity import Range, one_at_a_time
from optimizer.explore.told_page import (
    BEDS_MOST,
    POINTS_MOST,
    changes_name,
    changes_page,
    front_page,
    kept_rows,
)
from tests.explore.small import tiny_study
from tests.tolerances import EXACT


@pytest.mark.parametrize("front_of", [area_front, sump_front, lambda study: energy_front(study, 1)])
def test_every_point_of_a_front_has_its_row_s_figures_and_its_own_design(front_of):
    study = tiny_study(1)
    front = front_of(study)
    explorer = front_page(study, front, ())
    assert len(explorer.points) == len(front.rows)
    for point, row in zip(explorer.points, front.rows, strict=True):
        assert (point.design is not None) == (row["outcome"] == DESIGNED)
        if point.design is not None:
            assert point.design.record.cost_cents == round(100 * row["cost"])
            assert point.figures["cost"] == pytest.approx(row["cost"], abs=EXACT)
            assert point.figures[explorer.up.key] == row[explorer.up.key]
            assert point.best == row["on_front"]


def test_a_refused_point_keeps_its_reason_and_is_not_chosen():
    study = tiny_study(1)
    explorer = front_page(study, floods_front(study, [2.0, 30.0]), ())
    asked, refused = explorer.points
    assert refused.design is None and "30 floods an hour" in refused.says
    assert refused.name == ((30.0, "frequency"), " asked for")
    assert explorer.chosen == 0 and asked.design is not None


def test_a_site_without_a_design_has_no_page():
    study = tiny_study(5)  # see test_fronts: no choice of parts serves it
    assert front_page(study, area_front(study), ()) is None


def test_changes_are_set_beside_the_site_as_it_is():
    study = tiny_study(1)
    rows = one_at_a_time(study, [Range("water_temperature", 12.0, 28.0)])
    explorer = changes_page(study, rows, "one thing changed", ())
    assert explorer.against == 0 and explorer.chosen == 1
    assert explorer.points[0].name == ("your site as it is",)
    # Degrees are a figure, so that the page can write them in F.
    assert explorer.points[1].name == ("water temperature ", (12.0, "temperature"))
    assert len({point.id for point in explorer.points}) == 3
    assert "Kept instead" not in explorer.points[0].says
    for row, point in zip(rows, explorer.points[1:], strict=True):
        kept = row["broken"] or f"{row['regret']:,.2f} EUR more"
        assert kept in point.says


def test_changes_without_a_unit_of_the_reader_s_are_words():
    row = {"energy_price": 0.2, "pump_prices": 1.25}
    assert changes_name(row) == (
        "price of energy ",
        "0.2 per kWh",
        "; price of pumps ",
        "1.25 times",
    )


@pytest.mark.parametrize(("rows", "beds"), [(60, 250), (60, 1000), (5000, 4)])
def test_what_is_too_much_for_one_page_is_thinned_evenly(rows, beds):
    given = [{"bed_count": beds, "number": n} for n in range(rows)]
    kept = kept_rows(given)
    assert len(kept) <= POINTS_MOST
    assert sum(row["bed_count"] for row in kept) <= BEDS_MOST
    steps = {b["number"] - a["number"] for a, b in pairwise(kept)}
    assert len(steps) <= 1 and kept[0]["number"] == 0
    assert (len(kept) == rows) == (rows * beds <= BEDS_MOST and rows <= POINTS_MOST)
