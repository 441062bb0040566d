"""How many beds fit on a pump, where searches fail, are stopped or settle nothing."""

from __future__ import annotations

import threading
from dataclasses import replace
from functools import cache

import pytest

from optimizer import reach
from optimizer.errors import SolverFailed
from optimizer.job import Job
from optimizer.reach import Refused
from optimizer.search_settings import SearchSettings
from tests.builders.make_design import make_design
from tests.whole.site_file import job_of
from tests.whole.test_near_misses import site


@cache
def two_tubs() -> Job:
    return job_of(site(positions="2"))


def asked(stop=None) -> reach._Asked:
    return reach._Asked(two_tubs(), SearchSettings(stop=stop or threading.Event()))


def answered(monkeypatch, on_whole, may_fit):
    """The number of beds asked for, where the test answers each search."""
    monkeypatch.setattr(reach, "on_standing_pump", lambda site, _: site)
    monkeypatch.setattr(reach._Asked, "_tried", lambda _, site: on_whole(site))
    monkeypatch.setattr(reach._Asked, "_may_fit", lambda _, site: may_fit(site))
    return asked()


def test_a_number_of_beds_is_asked_for_once(monkeypatch):
    searches = []

    def found(site):
        searches.append(site)
        return make_design()

    numbers = answered(monkeypatch, found, lambda _: True)
    assert numbers.on_pump(2) is numbers.on_pump(2)
    assert len(searches) == 1


def test_a_number_whose_search_ran_out_of_time_stays_open(monkeypatch):
    late = answered(monkeypatch, lambda _: Refused("late", proven=False), lambda _: True)
    assert late.on_pump(2) == Refused("late", proven=False)


def test_a_number_that_takes_too_many_searches_to_settle_stays_open(monkeypatch):
    monkeypatch.setattr(reach, "SEARCHES_MOST", 1)
    monkeypatch.setattr(reach, "undecided", lambda site: list(site.rows))
    many = answered(monkeypatch, lambda _: Refused("no head"), lambda _: True)
    assert many.on_pump(2) == Refused("no head", proven=False)
    # The twin: where no way of settling rows can fit, the refusal is proven by one search.
    none = answered(monkeypatch, lambda _: Refused("no head"), lambda _: False)
    assert none.on_pump(2) == Refused("no head")


def test_where_held_water_is_a_quantile_no_refusal_excludes_a_number():
    # Held water counted by a share is no relaxation, so nothing is asked of the program.
    place = two_tubs().site
    assert asked()._may_fit(replace(place, returns=replace(place.returns, held="quantile")))


def test_the_most_beds_not_excluded_end_where_none_may_fit_or_places_do(monkeypatch):
    numbers = answered(
        monkeypatch, lambda _: Refused("no"), lambda site: site.goals.beds_least <= 3
    )
    assert numbers.most_not_excluded(1, 5) == 3
    assert numbers.most_not_excluded(1, 2) == 2


def test_a_row_is_tried_closed_only_where_the_others_have_room_for_all_beds():
    row = two_tubs().site.rows[0]
    two_rows = replace(two_tubs().site, rows=(row, replace(row, id="B")))
    most = [[each.beds_most for each in s.rows] for s in reach._settled(two_rows, row, 2)]
    assert most == [[2, 2], [0, 2]]
    assert len(list(reach._settled(two_rows, row, 3))) == 1


@pytest.mark.parametrize("name", ["find_design", "SearchSettings.choice"])
def test_a_search_that_fails_leaves_the_number_open_and_one_that_is_stopped_ends_all(
    name, monkeypatch
):
    stop = threading.Event()

    def fails(*_, **__):
        raise SolverFailed("late")

    monkeypatch.setattr(f"optimizer.reach.{name}", fails)
    numbers, place = asked(stop), two_tubs().site
    ask = numbers._tried if name == "find_design" else numbers._may_fit
    left_open = Refused("late", proven=False) if name == "find_design" else True
    assert ask(place) == left_open
    stop.set()
    with pytest.raises(SolverFailed):
        ask(place)
