"""What stands on a site, looked up by what the program decides on, and the work of changing it."""

from __future__ import annotations

from optimizer.formulate.fittings_price import cents
from optimizer.records.network import Stretch
from optimizer.records.site import Site
from optimizer.records.standing import StandingDrain, StandingSiphon, StandingStretch


class Kept:
    """What stands, by stretch, return stretch and bed type.

    Args:
        site: the site.
    """

    def __init__(self, site: Site) -> None:
        self._standing = standing = site.standing
        self.labour = standing.labour
        self._stretches = {each.stretch: each for each in standing.stretches}
        self._drains = {each.stretch: each for each in standing.drains}
        self._siphons = {each.bed_type: each for each in standing.siphons}
        self._runs = {each.run: each.pipe for each in standing.pipes}

    def stretch(self, stretch: Stretch) -> StandingStretch | None:
        """Return what is laid in a stretch: as named for itself, else as named for its run."""
        if stretch.id in self._stretches:
            return self._stretches[stretch.id]
        run = stretch.row if stretch.kind == "lateral" else stretch.kind
        pipe = self._runs.get(run or "")
        return None if pipe is None else StandingStretch(stretch.id, pipe)

    def drain(self, run_id: str) -> StandingDrain | None:
        """Return what is laid in a return stretch."""
        return self._drains.get(run_id)

    def siphon(self, bed_type: str) -> StandingSiphon | None:
        """Return the siphon in the standing beds of a bed type."""
        return self._siphons.get(bed_type)

    def taking_out_cents(self, length_m: float) -> int:
        """Return the work of taking out a length of standing supply pipe."""
        return cents(length_m * self.labour.pipe_per_m)

    def taking_out_return_cents(self, length_m: float) -> int:
        """Return the work of taking out a length of standing return pipe."""
        return cents(length_m * self.labour.return_per_m)

    def other_pump_cents(self, pump: str) -> int:
        """Return the work of putting a pump in another's place; 0 for the one that stands."""
        changed = self._standing.pump not in (None, pump)
        return cents(self.labour.pump) if changed else 0

    def other_sump_cents(self, sump: str) -> int:
        """Return the work of putting a sump in another's place; 0 for the one that stands."""
        changed = self._standing.sump not in (None, sump)
        return cents(self.labour.sump) if changed else 0
