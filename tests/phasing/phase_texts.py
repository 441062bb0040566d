"""Small site files with phases; every name and figure is invented."""

from tests.builders.site_parts import TUB, row_text, sump_text

YARD = f"""\
name = "Two rows"
currency = "EUR"

[goal]
floods = "2 per hour"
planning_years = 8
discount_rate = "6 %"
energy_price_growth = "2 %"

[ground]
{sump_text()}
{TUB}
{row_text("A", (1.5, 1), 2, "1 m")}
{row_text("B", (1.5, 2.5), 3, "1 m")}
[buy]
pipe_series = "pvcu_pn10"
pipes = ["25 mm", "32 mm"]
valves = ["ball"]
pumps = ["pump_025w_mid", "pump_040w_mid", "pump_065w_mid"]
sumps = ["sump_0300", "sump_0500", "sump_1000"]

[returns]
designed = false
"""

THREE_PHASES = """
[[phase]]
year = 0
rows = ["A"]

[[phase]]
name = "more"
year = 1.5
rows = ["B"]
beds = 3

[[phase]]
year = 4
"""

FAULTY_PHASES = """
[[phase]]
year = 1
rows = ["A", "Z"]

[[phase]]
year = 0.5
rows = ["A"]
beds = 40

[[phase]]
year = 9
beds = 2
"""
