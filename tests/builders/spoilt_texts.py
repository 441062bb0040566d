"""Sound files of every kind but the site file, for spoiling; every name and figure is invented."""

from tests.builders.site_parts import box_text, row_text, sump_text

READINGS = """\
bucket = "10 L"
units = "metric"
[[bed]]
name = "trial"
area = "2.88 m2"
bore = "26.64 mm"
drain_level = "3 cm"
crest_level = "25 cm"
outlet_level = "-15 cm"
[[reading]]
bed = "trial"
date = 2026-05-30
bucket_time = "164 s"
starts = "no"
[[reading]]
bed = "trial"
date = 2026-05-31
bucket_time = "62 s"
starts = "yes"
fills = "28.9 min"
drains = "12.1 min"
stops = "yes"
highest_level = "258 mm"
seen = "quiet"
[[reading]]
bed = "trial"
bucket_time = "30 s"
starts = "yes"
stops = "no"
"""

EVERY_READING_KEY = (
    READINGS
    + """\
bucket = "5 L"
[errors]
bucket_volume = "0.3 %"
watch = "0.5 s"
times = "5 s"
level = "4 mm"
start_beds = "4 %"
from = "bucket weighed full, stop watch"
[prior]
start_froude = { value = 0.33, low = 0.28, high = 0.4, from = "another yard" }
porosity = { value = 0.41 }
"""
)

SHEET = """\
bed,date,"10 L in, s",starts?,"fills, min","drains, min",stops?,"highest level, mm",seen and done
trial,2026-05-30,164,no,,,,,trickles
trial,2026-05-31,62,yes,28.9,12.1,yes,258,
trial,,30,yes,,,no,,
"""

BESIDE_A_SHEET = 'rows = "sheet.csv"\n' + READINGS.partition("[[reading]]")[0]
"""Readings whose lines stand in a sheet of their own."""

COEFFICIENTS = """\
[coefficients]
start_froude = { value = 0.33, low = 0.28, high = 0.4, from = "bucket, June" }
stop_ratio = { value = 0.6 }
turn_loss = { value = 1.0, low = 0.8, high = 1.2 }
porosity = { value = 0.41 }
"""

BOX = box_text("kit_sch40_1_plain", "kit_sch40_1_rim_funnel")

STANDING = f"""\
name = "Two boxes that stand"
[goal]
floods = "2 per hour"
floods_most = "4 per hour"
[ground]
{sump_text("-0.6 m")}{BOX}{row_text("A", (2, 1), 2, "1.8 m")}[standing]
pump = {{ part = "pump_040w_mid", count = 1, worn = "5 %" }}
sump = {{ part = "sump_1500" }}
water_level = "0.5 m"
[[standing.pipe]]
run = "riser"
size = "1-1/4 in"
[[standing.pipe]]
run = "A"
size = "1-1/4 in"
[[standing.drain]]
run = "riser"
size = "4 in"
fall = "1.1 %"
[[standing.drain]]
run = "all"
size = "3 in"
fall = "1.1 %"
[[standing.bed]]
beds = ["A1"]
kit = "kit_sch40_1_rim_funnel"
drop = "1/2 in"
valve = "ball"
opening = "50 %"
[[standing.bed]]
beds = ["A2"]
kit = "kit_sch40_1_plain"
drop = "1/2 in"
valve = "ball"
inflow = "10 L/min"
standpipe_top = "24 cm"
"""
