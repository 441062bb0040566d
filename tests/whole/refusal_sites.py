"""Sites without a design, each for its own reason; every name and figure is invented."""

from __future__ import annotations

HEAD = """\
name = "Refused"
[goal]
floods = "{floods}"
{goal}
[ground]
sump = {{ x = "0 m", y = "0 m", floor_level = "{floor}" }}
[[bed_type]]
name = "tub"
container = "{container}"
medium = "expanded_clay"
stand = "{stand}"
kits = {kits}
[[row]]
name = "A"
start = ["{start}", "1 m"]
towards = "east"
positions = {positions}
spacing = "3 m"
level = "{level}"
[buy]
pipe_series = "pvc_sch40"
pumps = {pumps}
sumps = {sumps}
{buy}
{more}
"""

SOUND = {
    "floods": "2 per hour",
    "goal": "",
    "floor": "-0.8 m",
    "container": "bed_240x120",
    "stand": "timber_heavy",
    "kits": '["kit_sch40_1_1_4_plain"]',
    "start": "4 m",
    "positions": "2",
    "level": "0 m",
    "pumps": '["pump_065w_mid", "pump_100w_mid"]',
    "sumps": '["sump_1000", "sump_2000"]',
    "buy": "",
    "more": "",
}


def site(**changes: str) -> str:
    """The text of a sound site file of two wide beds, with some of its values changed."""
    return HEAD.format(**{**SOUND, **changes})


REFUSED = {
    "too little head": {"level": "2.5 m", "pumps": '["pump_015w_low"]'},
    "no siphon window": {"floods": "3 per hour", "kits": '["kit_sch40_1_plain"]'},
    "sump too small": {"sumps": '["sump_0300"]', "buy": "sumps_most = 1"},
    "no room": {"goal": "beds = 5"},
    "budget": {"goal": "budget = 700"},
    "return pipe too narrow": {"more": '[returns]\npipes = ["1 in"]'},
    "no fall": {"floor": "0.0 m"},
    "power cut": {
        "start": "450 m",
        "sumps": '["sump_1500"]',
        "buy": "sumps_most = 1",
        "more": "[returns]\ndesigned = false",
    },
    "fish turnovers": {
        "more": '[fish_tank]\nvolume = "9000 L"\nwater_level = "0.2 m"\nturnovers = "1 per hour"\n'
        'feed_per_day = "0.1 kg"\ncrop = "leafy"'
    },
    "too few pipe sizes": {
        "buy": 'pipes = ["1 in", "1-1/4 in"]\npipe_sizes_most = 1',
        "more": '[returns]\npipes = ["2 in", "3 in"]',
    },
    "stand too weak": {"stand": "timber_light"},
    "noise": {"more": '[noise]\nlouder_than = "20 dB"\nhours_most = "8 h"'},
    "velocity": {"goal": 'velocity_limit = "0.1 m/s"'},
}
