"""Every fault in a site file is named at once, with its line, what was read and what to do."""

import sys

import pytest
from pydantic import BaseModel, Field, ValidationError

from optimizer.errors import BadInput
from optimizer.reading.site import read_site_text
from optimizer.reading.site_models import SiteTable
from optimizer.reading.site_problems import keys_at, problems_of
from optimizer.reading.site_text import KeyLines
from tests.reading.site_texts import EVERY_KEY, SMALLEST, WITH_TANK, line_of, with_line

FAULTS = [  # start of a line of the full file, what it becomes, key, words that must be said
    ("name = \"North", "name = 3", "name", "expected text"),
    ("currency", 'currency = "dollars"', "currency", "three capitals"),
    ("units", 'units = "metrik"', "units", "'metric'"),
    ("gallon", 'gallon = "uk"', "gallon", '"US" or "imperial"'),
    ("floods =", "floods = 1.5", "goal.floods", "per hour"),
    ("growing_area", 'growing_area = "100"', "goal.growing_area", "sq ft"),
    ("robustness", 'robustness = "mots"', "goal.robustness", "'most'"),
    ("planning_years", 'planning_years = "8"', "goal.planning_years", "without quotes"),
    ("discount_rate", 'discount_rate = "400 %"', "goal.discount_rate", "at most 100 %"),
    ("pump_hours", 'pump_hours = "25 h"', "goal.pump_hours", "at most 24 h"),
    ("water_temperature", 'water_temperature = "-3 C"', "goal.water_temperature", "at least 0 C"),
    ("velocity_limit", 'velocity_limit = "nan m/s"', "goal.velocity_limit", "nan m/s"),
    ("level_drift", 'levl_drift = "9 %"', "goal.levl_drift", "'level_drift'"),
    ("from = [", 'from = ["1 m"]', "ground.keep_out[1].from[2]", "two coordinates"),
    ("points = [", 'points = [["0 m", 7],', "ground.corridor[1].points[1][2]", "bare number"),
    ("kits", "kits = [3]", "bed_type[1].kits[1]", "expected text"),
    ("towards = [", 'towards = ["2 m", "2 m"]', "row[1].towards", "ends where it starts"),
    ("positions = 4", "positions = 0", "row[2].positions", "from 1 to 10000"),
    ("required", 'required = "yes"', "position[1].required", "true or false"),
    ('pipes = ["1 in"', 'pipes = "1 in"', "buy.pipes", "expected a list"),
    ("pump = {", "pump = 3", "standing.pump", "expected a table"),
    ("designed", 'designed = "yes"', "returns.designed", "true or false"),
    ("bursts", 'bursts = "every"', "returns.bursts", '"all" or "binomial"'),
    ("held", 'held = "wurst"', "returns.held", "'worst'"),
    ("confidence", 'confidence = "40 %"', "returns.confidence", "at least 50 %"),
    ("fill_limit", 'fill_limit = "100 %"', "returns.fill_limit", "at most 90 %"),
    ("manning_n", 'manning_n = "0.011"', "returns.manning_n", "without quotes"),
    ('pipes = ["2 in"', 'pipes = [2]', "returns.pipes[1]", "expected text"),
    ("evaporation", 'evaporation_per_day = "5 m"', "water_loss.evaporation_per_day",
     "at most 100 mm"),
    ("top_up_every", 'top_up_every = "0 h"', "water_loss.top_up_every", "more than 0"),
    ("volume", "volume = 950", "fish_tank.volume", "US gal"),
    ('water_level = "1 ft', 'water_level = "4"', "fish_tank.water_level", "bare number"),
    ("turnovers", 'turnovers = "0 per hour"', "fish_tank.turnovers", "more than 0"),
    ("feed_per_day", 'feed_per_day = "-1 kg"', "fish_tank.feed_per_day", "cannot be negative"),
    ("crop", 'crop = "leaf"', "fish_tank.crop", "'leafy'"),
    ("louder_than", "louder_than = 38", "noise.louder_than", "a sound level"),
    ("hours_most", 'hours_most = "25 h"', "noise.hours_most", "at most 24 h"),
    ("start_froude", "start_froude = { value = 1, low = 2 }", "coefficients.start_froude.low",
     "low <= value <= high"),
    ("porosity", "porosity = { value = 41 }", "coefficients.porosity.value", "from 0.001 to 1"),
    ("floods_most", 'floods_most = "1 per hour"', "goal.floods_most", "below floods"),
    ("to = [", 'to = ["16 m", "9 m"]', "ground.keep_out[1].to", "no ground"),
    ("price = 120.5", "price = 1e999", "price[1].price", "inf"),
]  # fmt: skip

# keys judged against another key, which the list above spoils too
COMPARED = {"goal.floods_most", "ground.keep_out[1].to"}


@pytest.mark.parametrize(
    ("start", "new", "key", "said"), FAULTS, ids=[fault[2] for fault in FAULTS]
)
def test_one_fault_gives_one_problem_on_its_line(start, new, key, said):
    line = line_of(EVERY_KEY, start)
    with pytest.raises(BadInput) as caught:
        read_site_text(with_line(EVERY_KEY, line, new))
    (problem,) = caught.value.problems
    assert problem.where == f"site.toml line {line}, {key}"
    assert said in str(problem)
    assert problem.what and problem.fix


@pytest.mark.parametrize("name", ["=1+1", " -2+3", "+cmd", "@SUM(A1)"])
def test_a_name_that_a_spreadsheet_would_work_out_is_refused(name):
    line = line_of(EVERY_KEY, 'name = "North')
    with pytest.raises(BadInput, match="for a formula") as caught:
        read_site_text(with_line(EVERY_KEY, line, f"name = {name!r}"))
    assert caught.value.problems[0].fix == "Begin it with a letter or a number."
    # The twin: the same signs further on are letters like any other.
    assert read_site_text(with_line(EVERY_KEY, line, f"name = {'A' + name!r}")).site.name


def test_every_fault_is_named_at_once_in_the_order_of_the_file():
    text, lines = EVERY_KEY, []
    for start, new, key, _ in FAULTS:
        if key in COMPARED:
            continue
        lines.append(line_of(EVERY_KEY, start))
        text = with_line(text, lines[-1], new)
    with pytest.raises(BadInput) as caught:
        read_site_text(text)
    found = [int(p.where.split("line ")[1].split(",")[0]) for p in caught.value.problems]
    assert found == sorted(lines)


@pytest.mark.parametrize(
    ("gone", "line", "key"),
    [
        ('name = "Six', None, "name"),
        ("floods", 3, "goal.floods"),
        ("medium", 9, "bed_type[1].medium"),
        ("spacing", 15, "row[1].spacing"),
    ],
)
def test_a_missing_key_is_named_at_the_table_it_belongs_in(gone, line, key):
    text = with_line(SMALLEST, line_of(SMALLEST, gone), "#")
    with pytest.raises(BadInput) as caught:
        read_site_text(text)
    (problem,) = caught.value.problems
    place = "site.toml" if line is None else f"site.toml line {line}"
    assert problem.where == f"{place}, {key}"
    assert "missing" in problem.what


def test_a_file_without_a_place_for_a_bed_says_so():
    with pytest.raises(BadInput, match=r"Add a \[\[row\]\]"):
        read_site_text(SMALLEST[: SMALLEST.index("[[row]]")])


@pytest.mark.parametrize(
    ("start", "new", "said"),
    [
        ("points = [", 'points = [["0 m", "0 m"], #', "holds too few; at least 2"),
        ('bed_types = ["wide', "bed_types = []", "holds too few; at least 1"),
        ("at =", 'at = ["1 m", "2 m", "3 m"]', "two coordinates"),
        ("at =", 'at = "here"', "two coordinates"),
    ],
)
def test_a_list_of_the_wrong_length_says_what_fits(start, new, said):
    text = with_line(EVERY_KEY, line_of(EVERY_KEY, start), new)
    text = text.replace('          ["10 m", "0 m"]]', "]") if start == "points = [" else text
    with pytest.raises(BadInput) as caught:
        read_site_text(text)
    (problem,) = caught.value.problems
    assert said in problem.what


def test_more_tables_than_any_site_has_are_refused_at_once():
    with pytest.raises(BadInput, match="holds too many; at most 5000"):
        read_site_text(SMALLEST + "[[price]]\n" * 6000)


@pytest.mark.parametrize(
    ("many", "fix"),
    [
        ("[[phase]]\nyear = 0\n" * 7, "Take some out."),
        ('[[position]]\nname = "P"\nat = ["1 m", "2 m"]\n' * 5001, "Use [[row]] tables."),
    ],
)
def test_too_many_tables_are_told_with_what_can_be_done_about_those(many, fix):
    # A row stands for many positions; nothing stands for many phases.
    with pytest.raises(BadInput, match="holds too many") as caught:
        read_site_text(SMALLEST + many)
    assert caught.value.problems[0].fix == fix


def test_a_key_of_very_many_parts_is_refused_before_it_costs_time():
    with pytest.raises(BadInput, match=r"site\.toml line 2: a key of more than 12 parts"):
        read_site_text('name = "a.b.c.d.e.f.g.h.i.j.k.l.m.n"\na' + ".a" * 400 + " = 1")


def test_an_empty_file_names_every_table_it_needs():
    with pytest.raises(BadInput) as caught:
        read_site_text("")
    keys = {problem.where.split(", ")[1] for problem in caught.value.problems}
    assert keys == {"name", "goal", "ground", "bed_type", "position"}


def test_a_price_given_twice_is_named_beside_the_other_faults():
    text = EVERY_KEY.replace('currency = "USD"', "currency = 1")
    text += '[[price]]\npart = "sump_1000"\nprice = 3\n'
    with pytest.raises(BadInput) as caught:
        read_site_text(text)
    assert [problem.where for problem in caught.value.problems] == [
        "site.toml line 2, currency",
        f"site.toml line {text.count(chr(10)) - 1}, price[2].part",
    ]


@pytest.mark.parametrize(
    ("start", "new", "fix"),
    [
        ("spacing", "spacing = 1.5 m", 'Put quotes around it: spacing = "1.5 m".'),
        ("floods", "floods = 2 per hour", 'Put quotes around it: floods = "2 per hour".'),
        ("medium", "medium = expanded_clay", 'Put quotes around it: medium = "expanded_clay".'),
        ("towards", "positions = 3", "The key or table stands twice: keep one."),
        ("start", 'start = ["2 m" "2 m"]', "Look for a missing quote"),
    ],
)
def test_text_that_is_not_toml_is_named_by_line_with_a_likely_cure(start, new, fix):
    line = line_of(SMALLEST, start)
    if new == "positions = 3":  # the second of two is the one that is refused
        line = line_of(SMALLEST, "positions") + 1
        new = "positions = 3"
    with pytest.raises(BadInput) as caught:
        read_site_text(with_line(SMALLEST, line, new))
    (problem,) = caught.value.problems
    assert problem.where.startswith(f"site.toml line {line}, column")
    assert problem.fix.startswith(fix)


def test_every_key_the_messages_suggest_is_in_the_full_example():
    # so the tests above know every key there is
    for path in [
        (),
        ("goal",),
        ("ground",),
        ("ground", "sump"),
        ("row", 0),
        ("buy",),
        ("standing",),
        ("returns",),
        ("water_loss",),
        ("fish_tank",),
        ("header_tank",),
        ("noise",),
    ]:
        for key in keys_at(path):
            # sump_place stands in place of sump, surface in place of part, never beside it; zones
            # phases and a ring do not go with a tank, and have tests of their own
            apart = ("sump_place", "surface", "zones", "phase", "header_ring")
            known = key in WITH_TANK or key in apart
            assert known, f"write {key} into EVERY_KEY of tests/reading/site_texts.py"
    assert keys_at(("goal", "floods", "x")) == ()
    assert set(keys_at(())) == set(SiteTable.model_fields)


def test_a_band_whose_high_end_lies_below_its_value_is_refused():
    line = line_of(EVERY_KEY, "start_froude")
    text = with_line(EVERY_KEY, line, "start_froude = { value = 1, high = 0.5 }")
    with pytest.raises(BadInput, match=r"read 0\.5, below value"):
        read_site_text(text)


def test_a_number_of_more_digits_than_python_reads_is_refused_in_a_sentence():
    # Python reads integers of up to 4300 digits; a user may set it to as few as 640.
    most = sys.get_int_max_str_digits()
    sys.set_int_max_str_digits(640)
    try:
        with pytest.raises(BadInput, match="Write a smaller number"):
            read_site_text(f"beds = {'9' * 700}\n")
    finally:
        sys.set_int_max_str_digits(most)


def test_a_fault_that_has_no_sentence_of_its_own_is_told_as_the_reader_tells_it():
    class Table(BaseModel):
        name: str = Field(pattern="^a")

    with pytest.raises(ValidationError) as found:
        Table(name="b")
    (problem,) = problems_of(found.value, KeyLines("site.toml"), Table)
    assert problem.what.startswith("cannot be used: String should match pattern")
    assert problem.fix == "docs/site-file.md says what it holds."
