"""How many beds fit on the pump that stands: found by asking the program, row by row if need be.

A tee that a pipe passes costs head, and stands only where a row is built. The program counts one
for every row that it may leave empty, so a design it finds can be built as it is (the tee closed
for later), while a refusal need not be the last word. A refused number of beds is asked for again
with rows settled one by one, each built or closed, a closed one without its tee. A branch of that
search ends where there is a design, or where there is none even with no tee counted at undecided
rows and with valves that may throttle without limit: that problem has every design of the branch.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace

from optimizer.candidates.network import candidate_network
from optimizer.candidates.runs import positions_of
from optimizer.errors import Infeasible, SolverFailed
from optimizer.formulate.build import formulate
from optimizer.formulate.level_of_choice import with_level_of_choice
from optimizer.formulate.loads import rows_below
from optimizer.formulate.stretch_ways import TEE_OUTLETS
from optimizer.formulate.throttle import free_of_throttling
from optimizer.job import Job
from optimizer.milp.formulations import BEST
from optimizer.pipeline import find_design
from optimizer.records.design import Design
from optimizer.records.extension import Room
from optimizer.records.network import CandidateNetwork, Stretch
from optimizer.records.parts import Catalog
from optimizer.records.site import Row, Site
from optimizer.search_settings import SearchSettings

SEARCHES_MOST = 40
"""Most searches to settle one number of beds; beyond it the number stays open (a choice)."""


@dataclass(frozen=True)
class Refused:
    """A number of beds that has no design; ``proven`` where no tee is to blame."""

    why: str
    proven: bool = True


def room_on_pump(stood: Job, search: SearchSettings | None = None) -> Room:
    """Return how many beds fit on the standing pumps, and what the next one costs.

    What serves more beds serves fewer, so the number is found by halving; the program itself says
    of the number and of the next one whether there is a design.

    Args:
        stood: a job on whose site a design stands, as from
            :func:`optimizer.extension.standing_job`.
        search: how every number is searched for; one not settled in its time limit stays open.

    Raises:
        SolverFailed: if it is stopped.
    """
    asked = _Asked(stood, search or SearchSettings())
    site, places = stood.site, len(positions_of(stood.site))
    before = sum(row.standing_beds for row in site.rows)
    best = asked.on_pump(before)
    if isinstance(best, Refused):
        return Room(before, places, None, None, None, best.why)
    low, high, refused = before, places + 1, Refused("every place is taken")
    while high - low > 1:
        middle = (low + high) // 2
        found = asked.on_pump(middle)
        if isinstance(found, Refused):
            high, refused = middle, found
        else:
            low, best = middle, found
    at_most = low if refused.proven else asked.most_not_excluded(low, places)
    spare = asked.least(asked.on_pump_site(low))
    best = best if isinstance(spare, Refused) else spare
    beyond = asked.least(with_beds(site, low + 1)) if low < places else Refused("")
    further = None if isinstance(beyond, Refused) else beyond
    return Room(before, places, low, best, further, refused.why, at_most)


def with_beds(site: Site, beds: int) -> Site:
    """Return a site that asks for at least so many beds, wherever they cost least."""
    rows = tuple(replace(row, beds_least=row.standing_beds) for row in site.rows)
    return replace(site, rows=rows, goals=replace(site.goals, beds_least=beds))


def on_standing_pump(site: Site, catalog: Catalog) -> Site:
    """Return a site that may run no other pumps than those that stand, and no more of them.

    The sump's lowest level stays that of the whole choice of pumps.
    """
    standing, levelled = site.standing, with_level_of_choice(site, catalog)
    purchase = replace(
        levelled.purchase,
        pumps=(standing.pump,) if standing.pump else (),
        pumps_in_parallel_most=max(1, standing.pump_count - int(site.purchase.spare_pump)),
    )
    return replace(site, purchase=purchase)


@dataclass(frozen=True)
class _Asked:
    """Asks the program; answers about a number of beds are kept."""

    stood: Job
    search: SearchSettings
    known: dict[int, Design | Refused] = field(default_factory=dict)

    def on_pump(self, beds: int) -> Design | Refused:
        """Return a design of so many beds on the standing pumps, or why there is none."""
        if beds not in self.known:
            self.known[beds] = self._on_pump(beds)
        return self.known[beds]

    def least(self, site: Site) -> Design | Refused:
        """Return the least-cost design of a site; rows that it leaves empty have no tee, too."""
        design = self._tried(site)
        if isinstance(design, Refused):
            return design
        built = {bed.row for bed in design.beds}
        empty = [row.id for row in undecided(site) if row.id not in built]
        if not empty:
            return design
        bare = self._tried(closed(site, empty))
        worse = isinstance(bare, Refused) or bare.record.cost_cents > design.record.cost_cents
        return design if worse or isinstance(bare, Refused) else bare

    def most_not_excluded(self, low: int, places: int) -> int:
        """Return the most beds that no refusal excludes, tees or not, from ``low`` on."""
        most = low
        while most < places and self._may_fit(self.on_pump_site(most + 1)):
            most += 1
        return most

    def on_pump_site(self, beds: int) -> Site:
        """Return the site that asks for so many beds on the standing pumps."""
        return on_standing_pump(with_beds(self.stood.site, beds), self.stood.catalog)

    def _on_pump(self, beds: int) -> Design | Refused:
        whole = self.on_pump_site(beds)
        waiting, refused, searches = [whole], None, 0
        while waiting:
            site = waiting.pop()
            found = self._tried(site)
            searches += 1
            if not isinstance(found, Refused):
                return found
            refused = refused or found
            if not found.proven:
                return Refused(refused.why, proven=False)
            open_rows = undecided(site)
            if not open_rows or not self._may_fit(site):
                continue
            if searches >= SEARCHES_MOST:
                return Refused(refused.why, proven=False)
            waiting += _settled(site, open_rows[-1], beds)
        return refused or Refused("")

    def _tried(self, site: Site) -> Design | Refused:
        try:
            return find_design(Job(site, self.stood.catalog), self.search)
        except Infeasible as refusal:
            return Refused(refusal.clash)
        except SolverFailed as failure:
            if self.search.stop.is_set():
                raise
            return Refused(str(failure), proven=False)

    def _may_fit(self, site: Site) -> bool:
        """Return whether there is a design with no tee counted at undecided rows."""
        if site.returns.held != "worst":  # counted on a share of held water: not a relaxation
            return True
        network = without_open_tees(candidate_network(site), {row.id for row in undecided(site)})
        try:
            made = formulate(site, self.stood.catalog, network)
            any_will_do = replace(self.search, gap=1.0, formulation=BEST, progress=None)
            stretches = tuple(free_of_throttling(table) for table in made.problem.stretches)
            any_will_do.choice(replace(made.problem, stretches=stretches))
        except Infeasible:
            return False
        except SolverFailed:
            if self.search.stop.is_set():
                raise
        return True


def undecided(site: Site) -> list[Row]:
    """Return the rows that may be built or left empty."""
    return [
        row for row in site.rows if row.beds_most and not max(row.beds_least, row.standing_beds)
    ]


def closed(site: Site, names: Iterable[str]) -> Site:
    """Return a site on which some rows hold no bed, pipe or tee."""
    shut = set(names)
    rows = tuple(replace(row, beds_most=0) if row.id in shut else row for row in site.rows)
    return replace(site, rows=rows)


def _settled(site: Site, row: Row, beds: int) -> Iterator[Site]:
    """Yield a site with a row built for certain, and with it closed where the others have room."""
    rows = tuple(replace(each, beds_least=1) if each is row else each for each in site.rows)
    yield replace(site, rows=rows)
    if sum(each.beds_most for each in site.rows if each is not row) >= beds:
        yield closed(site, [row.id])


def without_open_tees(network: CandidateNetwork, open_rows: set[str]) -> CandidateNetwork:
    """Return a network without the tees that are there only if some open row is built.

    Args:
        network: the network.
        open_rows: rows that may be left empty.
    """
    below = rows_below(network)
    beds = {p.take_off for p in network.positions if p.row not in open_rows}
    certain: dict[str, set[str]] = {}
    for stretch in network.stretches:
        if set(below[stretch.id]) - open_rows:
            certain.setdefault(stretch.tail, set()).add(stretch.id)

    def stays(stretch: Stretch) -> bool:
        return stretch.tail in beds or bool(certain.get(stretch.tail, set()) - {stretch.id})

    stretches = tuple(each if stays(each) else _without_tee(each) for each in network.stretches)
    return replace(network, stretches=stretches)


def _without_tee(stretch: Stretch) -> Stretch:
    kept = tuple(each for each in stretch.fittings if each[0] not in TEE_OUTLETS)
    return replace(stretch, fittings=kept)
