"""Ways to spoil what the example design, given a fish tank, promises of that tank.

Its pump moves 2.304 m3 an hour through 1.5 m3, its beds are 4.0 m2 of leafy crops: 40-50 g/m2/day
support 0.16 to 0.20 kg of feed a day (FAO Fisheries and Aquaculture Technical Paper 589, 2014,
second hand). All sizes are invented.
"""

from __future__ import annotations

import dataclasses

from optimizer.records.design import Design
from optimizer.records.fish_tank import BuiltFishTank
from tests.builders.make_design import make_design
from tests.simulate.spoil_tools import Spoiled

TANK = "fish tank"


def with_fish(**fields: object) -> Design:
    """The example design with a fish tank whose promises hold, but for the fields replaced."""
    tank = BuiltFishTank(
        volume_m3=1.5,
        water_level_m=0.22,
        turnovers_per_hour=1.536,
        turnovers_per_hour_least=1.0,
        feed_kg_per_day=0.18,
        feed_supported_kg_per_day=(0.16, 0.20),
        crop="leafy",
    )
    return dataclasses.replace(make_design(), fish=dataclasses.replace(tank, **fields))


def turnover_misstated() -> Spoiled:
    return with_fish(turnovers_per_hour=1.56), {(TANK, "turnover as stated")}


def turnover_too_slow() -> Spoiled:
    return with_fish(turnovers_per_hour_least=1.6), {(TANK, "turnover not too slow")}


def feed_supported_misstated() -> Spoiled:
    # The figures of a fruiting crop, 50-80 g/m2/day, beside the word leafy.
    ends = (f"{end} feed that the growing area takes up, as stated" for end in ("least", "most"))
    return with_fish(feed_supported_kg_per_day=(0.20, 0.32)), {(TANK, each) for each in ends}


def fed_too_much() -> Spoiled:
    promise = "feed no more than the growing area takes up"
    return with_fish(feed_kg_per_day=0.21), {(TANK, promise)}


def tank_below_the_sump() -> Spoiled:
    # The sump's water stands at 0.206 m after a power cut.
    return with_fish(water_level_m=0.2), {(TANK, "water above the sump's highest")}


def tank_above_the_end_of_the_return() -> Spoiled:
    ends = [d.lower_invert_m for d in make_design().drains if d.head == "sump"]
    level_m = min(ends) + 0.01
    return with_fish(water_level_m=level_m), {(TANK, "return pipe ends above its water")}


def fish_under_siphons(**fields: object) -> Design:
    """Without return pipe: siphons fall straight into the tank."""
    design = dataclasses.replace(with_fish(**fields), drains=())
    beds = tuple(dataclasses.replace(bed, drain="") for bed in design.beds)
    return dataclasses.replace(design, beds=beds)


def tank_above_the_siphons() -> Spoiled:
    # Siphons end at 0.47 m.
    return fish_under_siphons(water_level_m=0.48), {(TANK, "siphons end above its water")}
