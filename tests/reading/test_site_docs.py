"""The pages about the site file say what the reader does."""

import re
from pathlib import Path

import pytest

from optimizer.reading import site_models_water as water
from optimizer.reading.site import read_site_text
from optimizer.reading.site_models import SiteTable
from optimizer.reading.site_problems import keys_at
from optimizer.reading.site_text import BYTES_MOST, LINE_MOST
from optimizer.records.site import Goals, Ground, Purchase, Returns, WaterLoss
from optimizer.records.zones import Zones
from optimizer.units import parse_quantity
from tests.reading.site_texts import SMALLEST
from tests.tolerances import FORMULA

DOCS = Path(__file__).parents[2] / "docs"
PAGE = (DOCS / "site-file.md").read_text(encoding="utf-8")
TABLES = [(), ("goal",), ("ground",), ("ground", "sump"), ("ground", "corridor"), ("position",),
          ("ground", "sump_place"),
          ("ground", "keep_out"), ("bed_type",), ("row",), ("buy",), ("standing",), ("price",),
         ("standing", "pipe"), ("standing", "pump"), ("standing", "stock"),
         ("coefficients", "porosity"),
         ("coefficients",), ("returns",), ("water_loss",), ("fish_tank",),
         ("header_tank",), ("zones",), ("phase",), ("header_ring",),
         ("noise",)]  # fmt: skip


def code_blocks(text, language):
    found = re.findall(rf"^( *)```{language}\n(.*?)^ *```", text, re.DOTALL | re.MULTILINE)
    return [re.sub(rf"^{indent}", "", block, flags=re.MULTILINE) for indent, block in found]


def test_the_example_on_the_page_is_the_smallest_file_and_reads():
    example, *_ = code_blocks(PAGE, "toml")
    assert example == SMALLEST
    assert read_site_text(example).site.name == "Six beds"


@pytest.mark.parametrize("path", TABLES, ids=".".join)
def test_every_key_is_on_the_page(path):
    for key in keys_at(path):
        assert re.search(rf"[`{{ .[]{key}[`\] =]", PAGE), f"tell of {key} in docs/site-file.md"


def test_every_table_is_looked_at():
    looked_at = {path[0] for path in TABLES if path}
    tables = {key for key in SiteTable.model_fields if keys_at((key,))}
    assert looked_at == tables, "Add it to TABLES above."


DEFAULTS = [
    ("energy_price", "energy_price", Goals(1.0).energy_price_per_kwh),
    ("discount_rate", "share", Goals(1.0).discount_rate),
    ("energy_price_growth", "share", Goals(1.0).energy_price_growth),
    ("pump_hours", "time", Goals(1.0).pump_hours_per_day * 3600.0),
    ("water_temperature", "temperature_c", Goals(1.0).water_temperature_c),
    ("velocity_limit", "velocity", Goals(1.0).velocity_limit_m_s),
    ("valve_setting_error", "share", Goals(1.0).valve_setting_error),
    ("level_drift", "share", Goals(1.0).level_drift),
    ("pump_tolerance", "share", Goals(1.0).pump_tolerance),
    ("pipe_height", "length", Ground((0.0, 0.0), 0.0).pipe_height_m),
    ("drain_drop", "length", read_site_text(SMALLEST).site.bed_types[0].drain_drop_m),
    ("confidence", "share", Returns().confidence),
    ("fill_limit", "share", Returns().fill_limit),
    ("evaporation_per_day", "length", WaterLoss().evaporation_m_per_day),
    ("change_time", "time", Zones().change_s),
    ("top_up_every", "time", WaterLoss().top_up_days * 86400.0),
    ("crest_below_rim", "length", read_site_text(SMALLEST).site.bed_types[0].crest_below_rim_m),
]


@pytest.mark.parametrize(("key", "dimension", "value"), DEFAULTS, ids=[d[0] for d in DEFAULTS])
def test_defaults_on_the_page_are_those_of_the_records(key, dimension, value):
    (written,) = re.findall(rf'^\| `{key}` \| `"(.*?)"`', PAGE, re.MULTILINE)
    assert parse_quantity(written, dimension) == pytest.approx(value, rel=FORMULA)


def test_plain_defaults_and_bounds_on_the_page_are_those_in_the_code():
    assert f'| `pipe_series` | `"{Purchase().pipe_series}"`' in PAGE
    assert f"| `pumps_in_parallel_most` | `{Purchase().pumps_in_parallel_most}`" in PAGE
    assert f"| `sumps_most` | `{Purchase().sumps_most}`" in PAGE
    assert f"| `planning_years` | `{Goals(1.0).planning_years:g}`" in PAGE
    assert f'| `robustness` | `"{Goals(1.0).robustness}"`' in PAGE
    assert f"| `designed` | `{str(Returns().designed).lower()}`" in PAGE
    assert f'| `bursts` | `"{Returns().bursts}"`' in PAGE
    assert f'| `held` | `"{Returns().held}"`' in PAGE
    assert f"| `manning_n` | `{Returns().manning_n}`" in PAGE
    assert f"| `floods_in_a_turn` | `{Zones().floods}`" in PAGE
    assert f"| `valve_watts` | `{Zones().valve_watts:g}`" in PAGE
    assert f"{BYTES_MOST // 1000} kB long" in PAGE
    assert f"{LINE_MOST} letters in a line" in PAGE


def test_bounds_of_water_keys_on_the_page_are_those_in_the_code():
    low, high = (100 * bound for bound in water.CONFIDENCE)
    assert f"{low:g} to {high:g} % |" in line_about("confidence")
    low, high = (100 * bound for bound in water.FILL_LIMIT)
    assert f"{low:g} to {high:g} % |" in line_about("fill_limit")
    assert "{:g} to {:g},".format(*water.MANNING_N) in line_about("manning_n")
    low, high = (1000 * bound for bound in water.EVAPORATION_M_PER_DAY)
    assert f"{low:g} to {high:g} mm;" in line_about("evaporation_per_day")
    assert f"at most {water.TOP_UP_DAYS_MOST:g} days" in line_about("top_up_every")
    assert f"{water.TANK_M3[0] * 1000:g} L to {water.TANK_M3[1]:g} m3" in line_about("volume")
    assert f"at most {water.TURNOVERS_MOST:g} per hour" in line_about("turnovers")
    assert f"0 to {water.FEED_KG_PER_DAY_MOST:g} kg" in line_about("feed_per_day")
    for key, words in (("bursts", water.BURSTS), ("held", water.HELD), ("crop", water.CROPS)):
        assert all(f'"{word}"' in line_about(key) for word in words)


def line_about(key):
    (line,) = re.findall(rf"^\| `{key}` \|.*$", PAGE, re.MULTILINE)
    return line


def test_the_how_to_runs_as_written(tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    for block in code_blocks((DOCS / "how-to" / "start.md").read_text(encoding="utf-8"), "python"):
        exec(compile(block, "start.md", "exec"), {})
    assert (tmp_path / "greenhouse.toml").is_file()
    assert capsys.readouterr().out == ""
