"""Small site files that each show one feature; every name and figure is invented."""

from __future__ import annotations

from pathlib import Path

from optimizer.job import Job
from optimizer.pipeline import read_job
from tests.builders import site_parts
from tests.builders.site_parts import TUB, sump_text

SUMP = sump_text().rstrip()

HEAD = f"""\
name = "Feature yard (invented)"
[goal]
floods = "2 per hour"
{TUB}[[bed_type]]
name = "tray"
container = "tray_125x080"
medium = "expanded_clay"
stand = "timber_heavy"
kits = ["kit_pvcu10_32_plain"]
[buy]
pipe_series = "pvcu_pn10"
pipes = ["25 mm", "32 mm", "40 mm"]
valves = ["ball"]
pumps = ["pump_065w_mid", "pump_100w_mid"]
sumps = ["sump_0500", "sump_1000"]
pumps_in_parallel_most = 1
"""


def row_text(
    name: str, start: tuple[float, float], positions: int, bed_type: str = "tub", more: str = ""
) -> str:
    """A row to the east, 1.3 m between centres, of one type of bed."""
    kept = f'bed_types = ["{bed_type}"]\n{more}'
    return site_parts.row_text(name, start, positions, "1.3 m", kept)


def site_text(*tables: str, ground: str = SUMP, head: str = HEAD) -> str:
    """A whole file: head, ground, and the tables given."""
    return "\n".join((head, "[ground]", ground, *tables))


def job_of(folder: Path, text: str) -> Job:
    """The job that a file with this text gives; its faults are raised."""
    path = folder / "site.toml"
    path.write_text(text, encoding="utf-8")
    return read_job(path)
