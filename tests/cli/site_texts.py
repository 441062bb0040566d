"""Small site files for tests of the command; every name and figure is invented."""

from tests.builders.site_parts import TUB, row_text, sump_text

ONE_BED = f"""\
name = "One tub"
[goal]
floods = "2 per hour"
[ground]
{sump_text()}{TUB}{row_text("A", (1.5, 1), 2, "1 m")}[buy]
pipe_series = "pvcu_pn10"
pumps = ["pump_040w_mid", "pump_065w_mid"]
sumps = ["sump_0500", "sump_1000"]
"""

EVERY_TABLE = (
    ONE_BED
    + """\
pipes = ["25 mm", "32 mm", "40 mm"]
valves = ["ball"]
[returns]
bursts = "all"
held = "worst"
fill_limit = "75 %"
manning_n = 0.011
pipes = ["50 mm", "63 mm", "75 mm"]
[water_loss]
evaporation_per_day = "5 mm"
top_up_every = "24 h"
[fish_tank]
volume = "100 L"
water_level = "0.2 m"
turnovers = "1 per hour"
feed_per_day = "0.04 kg"
crop = "leafy"
[standing]
pump = { part = "pump_040w_mid" }
[[standing.pipe]]
run = "header"
size = "32 mm"
[[price]]
part = "sump_0500"
price = 95.0
"""
)
"""The same with every table a small site might have."""
