"""Small site files with phases; every name and figure is invented."""

YARD = """\
name = "Two rows"
currency = "EUR"

[goal]
floods = "2 per hour"
planning_years = 8
discount_rate = "6 %"
energy_price_growth = "2 %"

[ground]
sump = { x = "0 m", y = "0 m", floor_level = "-0.8 m" }

[[bed_type]]
name = "tub"
container = "tub_100x060"
medium = "expanded_clay"
stand = "timber_light"
kits = ["kit_pvcu10_25_plain"]

[[row]]
name = "A"
start = ["1.5 m", "1 m"]
towards = "east"
positions = 2
spacing = "1 m"

[[row]]
name = "B"
start = ["1.5 m", "2.5 m"]
towards = "east"
positions = 3
spacing = "1 m"

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
