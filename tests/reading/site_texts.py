"""Site files for the tests; every name and figure is invented."""

SMALLEST = """\
name = "Six beds"

[goal]
floods = "2 per hour"

[ground]
sump = { x = "0 m", y = "0 m", floor_level = "-0.6 m" }

[[bed_type]]
name = "wide"
container = "bed_240x120"
medium = "expanded_clay"
stand = "timber_heavy"

[[row]]
name = "A"
start = ["2 m", "2 m"]
towards = "east"
positions = 6
spacing = "1.5 m"
"""

EVERY_KEY = """\
name = "North field"
currency = "USD"
units = "us"
gallon = "US"
catalog = "my_parts"

[goal]
floods = "1.5 per hour"
floods_most = "96 per day"
beds = 7
growing_area = "100 sq ft"
robustness = "whole"
planning_years = 8
discount_rate = "4 %"
energy_price = "0.15 per kWh"
energy_price_growth = "1.5 %"
pump_hours = "18 h"
water_temperature = "68 F"
velocity_limit = "5 ft/s"
valve_setting_error = "6 %"
level_drift = "9 %"
pump_tolerance = "4 %"
budget = 4500.5

[ground]
sump = { x = "1 m", y = "-1 m", floor_level = "-2 ft" }
pipe_height = "4 in"
header_fed = "nearest"

[[ground.corridor]]
name = "path"
points = [["0 m", "0 m"],
          ["10 m", "0 m"]]

[[ground.keep_out]]
name = "shed"
from = ["20 m", "9 m"]
to = ["16 m", "12 m"]

[[bed_type]]
name = "wide"
container = "bed_240x120"
medium = "expanded_clay"
stand = "timber_heavy"
kits = ["kit_sch40_1_plain", "kit_sch40_1_1_4_plain"]
drain_drop = "6 in"
crest_below_rim = "2 in"

[[bed_type]]
name = "tray"
container = "tray_125x080"
medium = "expanded_clay"
stand = "timber_heavy"

[[row]]
name = "A"
start = ["2 m", "2 m"]
towards = ["2 m", "14 m"]
positions = 5
level = "0.1 m"
bed_types = ["wide", "tray"]
beds_least = 2
beds_most = 4
standing_beds = 1
standing_type = "tray"

[[row]]
name = "B"
start = ["6 m", "2 m"]
towards = "north"
positions = 4
spacing = "1.5 m"

[[position]]
name = "corner"
at = ["12 m", "3 m"]
level = "0.2 m"
bed_types = ["tray"]
required = true

[buy]
pipe_series = "pvc_sch40"
pipes = ["1 in", "1 1/2 in", "2 in"]
valves = ["ball"]
pumps = ["pump_065w_mid"]
pumps_in_parallel_most = 1
spare_pump = true
two_sizes_on_a_stretch = false
sumps = ["sump_1000"]
sumps_most = 2
non_return_valve = true
pipe_sizes_most = 3

[standing]
pump = { part = "pump_065w_mid", count = 2, worn = "10 %" }
sump = { part = "sump_1000" }
water_level = "15 in"
overflow = "2 in"
standpipe_least = "6 in"

[[standing.pipe]]
run = "header"
size = '1-1/2"'

[[standing.bed]]
beds = ["corner"]
bed_type = "tray"
kit = "kit_sch40_1_plain"
drop = "3/4 in"
valve = "ball"
opening = "40 %"
inflow = "2 US gal/min"
standpipe_top = "9 in"
standpipe_bore = "1.1 in"
slots_top = "1 in"
bell_cap = "10 in"
bell = "2 in"
outlet_below_floor = "6 in"

[[standing.stretch]]
stretch = "header to A"
size = "2 in"
bore = "1.9 in"

[[standing.drain]]
run = "all"
size = "3 in"
fall = "1 %"

[standing.labour]
supply_per_metre = 3
return_per_metre = 4
siphon = 20
valve = 10
pump = 30
sump = 50.5
standpipe = 2

[[standing.stock]]
size = "2 in"
length = "20 ft"

[[standing.stock]]
size = "3 in"
length = "9 m"
series = 'pvc_sch80'

[returns]
designed = true
bursts = "binomial"
held = "quantile"
confidence = "99.5 %"
fill_limit = "70 %"
manning_n = 0.012
pipe_series = "pvc_sch80"
pipes = ["2 in", "3 in"]

[water_loss]
evaporation_per_day = "1/4 in"
top_up_every = "12 h"

[fish_tank]
volume = "250 US gal"
water_level = "1 ft"
turnovers = "1.5 per hour"
feed_per_day = "1 lb"
crop = "fruiting"

[noise]
louder_than = "38 dB"
hours_most = "16 h"

[coefficients]
start_froude = { value = 0.33, low = 0.28, high = 0.4, from = "bucket, June" }
porosity = { value = 0.41 }

[[price]]
part = "sump_1000"
price = 120.5
"""

WITH_TANK = (
    EVERY_KEY
    + """
[header_tank]
at = ["2 m", "-1 m"]
water_level = "9 ft"
part = "sump_0200"
outlet_below_water = "10 in"
"""
)
"""The same with a tank over the beds."""


def with_line(text, line, new):
    """Return a text with one of its lines, counted from 1, replaced."""
    lines = text.split("\n")
    lines[line - 1] = new
    return "\n".join(lines)


def line_of(text, start):
    """Return the number of the one line that starts so."""
    numbers = [i for i, line in enumerate(text.split("\n"), start=1) if line.startswith(start)]
    assert len(numbers) == 1, (start, numbers)
    return numbers[0]
