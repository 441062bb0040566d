"""A starter file reads, passes review and can be designed from, whatever the answers."""

import re
from dataclasses import asdict, replace

import pytest

from optimizer.errors import BadInput
from optimizer.reading.catalog import read_catalog
from optimizer.reading.review import review_file
from optimizer.reading.site import read_site_text
from optimizer.reading.starter import (
    QUESTIONS,
    StarterAnswers,
    answers_from,
    starter_defaults,
    starter_text,
)
from tests.tolerances import FORMULA


@pytest.fixture(scope="module")
def catalog():
    return read_catalog()


def test_there_are_at_most_ten_questions_and_each_fills_one_answer():
    assert len(QUESTIONS) <= 10
    assert [question.key for question in QUESTIONS] == list(asdict(StarterAnswers()))
    assert starter_defaults() == StarterAnswers()


@pytest.mark.parametrize("units", ["metric", "us"])
def test_every_container_in_the_catalog_makes_a_sound_file(units, catalog):
    for container in catalog.containers:
        text = starter_text(replace(starter_defaults(units), container=container))
        assert review_file(read_site_text(text), catalog) == []


def test_the_answers_come_back_as_the_site():
    text = starter_text(
        StarterAnswers(
            "East", "us", 3, 4, "2 m", "bed_240x120", "3 per hour", "-1 m", "9/MWh", "CHF"
        )
    )
    site = read_site_text(text).site
    assert (site.name, site.units, site.currency) == ("East", "us", "CHF")
    assert [(row.positions, row.spacing_m) for row in site.rows] == [(4, 2.0)] * 3
    assert site.goals.floods_per_hour_least == 3.0
    assert site.goals.energy_price_per_kwh == pytest.approx(0.009, rel=FORMULA)
    assert (site.ground.sump_floor_level_m, site.bed_types[0].container) == (-1.0, "bed_240x120")
    assert site.goals.beds_least == 12


def test_five_hundred_rows_have_names_of_their_own(catalog):
    text = starter_text(replace(StarterAnswers(), rows=500, beds_per_row=10))
    file = read_site_text(text)
    assert len({row.id for row in file.site.rows}) == 500
    assert [file.site.rows[i].id for i in (0, 25, 26, 51, 52)] == ["A", "Z", "AA", "AZ", "BA"]
    assert review_file(file, catalog) == []


@pytest.mark.parametrize("name", ['<b>"x"</b>', "a\\b", "{name}", "# no", "ü\U0001f4a7", "'''"])
def test_a_name_of_any_letters_comes_back_as_it_was(name):
    assert read_site_text(starter_text(StarterAnswers(name=name))).site.name == name


@pytest.mark.parametrize(
    ("key", "answer"),
    [
        ("name", "\x7f"),
        ("name", ""),
        ("units", "both"),
        ("rows", 0),
        ("rows", 10**9),
        ("beds_per_row", 0),
        ("spacing", "1.5"),
        ("floods", '2"\nx = 1'),
        ("sump_level", "deep"),
        ("energy_price", "-1 per kWh"),
        ("currency", "euro"),
    ],
)
def test_an_answer_that_does_not_fit_is_refused_by_its_key(key, answer):
    with pytest.raises(BadInput) as caught:
        starter_text(replace(StarterAnswers(), **{key: answer}))
    words = {"beds_per_row": "positions", "sump_level": "floor_level"}
    assert all(words.get(key, key) in problem.where for problem in caught.value.problems)


def test_answers_typed_as_text_are_all_checked_at_once():
    assert answers_from({"rows": " 3 ", "name": "x"}) == StarterAnswers(rows=3, name="x")
    with pytest.raises(BadInput) as caught:
        answers_from({"rows": "three", "beds_per_row": "6.5", "colour": "red"})
    assert [problem.where for problem in caught.value.problems] == [
        "colour",
        "rows",
        "beds_per_row",
    ]


@pytest.mark.parametrize("units", ["metric", "us"])
def test_every_line_that_is_commented_out_reads_once_it_is_not(units, catalog):
    text = starter_text(starter_defaults(units))
    file = read_site_text(re.sub(r"^# (?=\[|[a-z_]+ = )", "", text, flags=re.MULTILINE))
    assert file.site.fish_tank is not None
    assert review_file(file, catalog) == []


def test_the_text_says_what_is_invented():
    assert "invented examples" in starter_text(StarterAnswers())
