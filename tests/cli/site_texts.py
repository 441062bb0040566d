"""Small site files for tests of the command; every name and figure is invented."""

ONE_BED = """\
name = "One tub"
[goal]
floods = "2 per hour"
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
[buy]
pipe_series = "pvcu_pn10"
pumps = ["pump_040w_mid", "pump_065w_mid"]
sumps = ["sump_0500", "sump_1000"]
"""
