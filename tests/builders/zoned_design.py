"""A small invented site in zones that flood in turn, and its design."""

from __future__ import annotations

from functools import lru_cache

from optimizer.job import Job
from optimizer.pipeline import find_design
from optimizer.reading.catalog import read_catalog
from optimizer.reading.pipe_names import with_pipe_ids
from optimizer.reading.site import read_site_text
from optimizer.records.design import Design
from tests.builders.site_parts import row_text, sump_text

SITE = f"""
name = "Three benches (invented)"
[goal]
floods = "0.5 per hour"
[ground]
{sump_text("-0.9 m", x="-1 m")}[[bed_type]]
name = "box"
container = "box_120x120"
medium = "expanded_clay"
stand = "blocks_tall"
{row_text("A", (1, 0), 2, "1.8 m")}\
[[row]]
name = "B"
start = ["1 m", "3 m"]
towards = "east"
positions = 1
{row_text("C", (1, 6), 2, "1.8 m")}[buy]
pipe_series = "pvcu_pn10"
pipes = ["25 mm", "32 mm", "40 mm"]
valves = ["ball"]
pumps = ["pump_040w_mid", "pump_065w_mid"]
pumps_in_parallel_most = 1
[returns]
pipes = ["50 mm", "63 mm", "75 mm", "90 mm"]
"""

ZONES = """
[zones]
rows = [["A"], ["B", "C"]]
change_time = "20 s"
"""


def job_of(text: str) -> Job:
    """A site file's text with the shipped catalog."""
    catalog = read_catalog()
    return Job(with_pipe_ids(read_site_text(text).site, catalog), catalog)


@lru_cache(maxsize=1)
def zoned_design() -> Design:
    """Rows A, and B with C, in turn: 2 beds and 3 beds, so the zones are uneven."""
    return find_design(job_of(SITE + ZONES))
