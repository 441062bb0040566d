"""A bed as the text of the physics describes it, taken through time in small steps."""

import math

GRAVITY = 9.80665
RIM_DISCHARGE = 0.62


class SteppedBed:
    """One bed; levels above its floor, times in seconds from its making.

    Attributes:
        level: level of its water.
        primed: whether its siphon runs.
        primes_s: when it started.
        breaks_s: when it broke.
    """

    def __init__(self, bed, level_m, step_s=0.05):
        self.bed, self.level, self.primed, self.step_s = bed, level_m, False, step_s
        self.time_s, self.primes_s, self.breaks_s = 0.0, [], []
        self.area = math.pi / 4.0 * bed.bore_m**2
        self.start = bed.start_froude * math.sqrt(GRAVITY * bed.bore_m) * self.area
        self.weir = 2.0 / 3.0 * RIM_DISCHARGE * math.sqrt(2.0 * GRAVITY) * math.pi * bed.mouth_m

    @property
    def starts(self):
        return len(self.primes_s)

    @property
    def breaks(self):
        return len(self.breaks_s)

    def run(self, inflow, length_s):
        for _ in range(round(length_s / self.step_s)):
            self._step(inflow)

    def _step(self, inflow):
        bed = self.bed
        if self.primed:
            fall = max(0.0, self.level - bed.outlet_level_m)
            out = self.area * math.sqrt(2.0 * GRAVITY * fall / bed.loss_coefficient)
        else:
            out = self.weir * max(0.0, self.level - bed.crest_level_m) ** 1.5
        self.level += (inflow - out) / (bed.area_m2 * bed.porosity) * self.step_s
        self.time_s += self.step_s
        if not self.primed and out >= self.start:
            self.primed = True
            self.primes_s.append(self.time_s)
        elif self.primed and self.level <= bed.drain_level_m:
            self.primed = False
            self.breaks_s.append(self.time_s)
