"""Several layouts of one site, each designed: the least cost wins, and the proof covers them all.

A layout is a site of its own (one place for the sump, one feed of the header), so each is designed
by :func:`optimizer.pipeline.design_job` with a proof of its own. No design of the site costs less
than the least of the layouts' bounds.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from optimizer.candidates.layouts import Layout, is_one_layout, layouts_of
from optimizer.candidates.network import candidate_network
from optimizer.errors import BadInput, Infeasible, Remedy, SolverFailed
from optimizer.job import Job
from optimizer.milp.engine import Progress
from optimizer.near_misses import with_near_misses
from optimizer.pipeline import Answer, design_job, read_job
from optimizer.records.layouts import LayoutCost
from optimizer.records.network import Stretch
from optimizer.records.zones import Zones
from optimizer.ring_header import NoRing
from optimizer.search_settings import SearchSettings, Watcher

NOTHING_KNOWN = 0.0
"""No design costs less than nothing: the bound of a layout that was not looked at."""

BEATEN = "not its least: ended once it could not win"
NOT_TRIED = "not tried: the search was stopped before"


def design_site(path: str | Path, *, gap: float = 1e-4, seed: int = 0) -> Answer:
    """Read a site file, design it and check the design; see :func:`design_layouts`."""
    return design_layouts(read_job(path), SearchSettings(gap=gap, seed=seed))


def design_layouts(
    job: Job, search: SearchSettings | None = None, *, nearly: bool = False
) -> Answer:
    """Design every layout that a site leaves open, and return the cheapest design that passes.

    A site with one layout is designed by :func:`optimizer.pipeline.design_job` as it is. Else the
    design's ``layouts`` say what each of them costs, and its record carries the least of their
    bounds. The search of a layout ends early once its bound reaches the best cost so far.

    Args:
        job: site and catalog.
        search: how far and how long to search; to its defaults if left out. Its time limit is for
            all layouts together: each gets an equal share of what is left.
        nearly: whether to ask what nearly decided otherwise, in the layout that wins.

    Raises:
        BadInput: if a bed cannot be reached by pipe in any layout.
        Infeasible: if no layout has a design, with what stands in the way of each.
        SolverFailed: if the search is stopped before a first design.
    """
    search = search or SearchSettings()
    if is_one_layout(job.site):
        return design_job(job, search, nearly=nearly)
    contest = _Contest(job, search)
    layouts = layouts_of(job.site)
    heats = tuple(contest.run(layout, len(layouts) - i) for i, layout in enumerate(layouts))
    answer = _answer(heats)
    return _with_near_misses(answer, heats, contest) if nearly else answer


def _with_near_misses(answer: Answer, heats: Sequence[_Heat], contest: _Contest) -> Answer:
    """Price the steps away from the design of the layout that won."""
    chosen = next(line.name for line in answer.design.layouts if line.chosen)
    site = next(heat.layout.site for heat in heats if heat.layout.name == chosen)
    job = Job(site, contest.job.catalog)
    return replace(answer, design=with_near_misses(answer.design, job, contest.search))


@dataclass(frozen=True)
class _Heat:
    """What became of one layout: an answer, or the reason why there is none.

    ``bound_cents`` is None for one that is refused, or laid as one before it.
    """

    layout: Layout
    bound_cents: float | None
    ended: bool
    answer: Answer | None = None
    refusal: BadInput | Infeasible | None = None
    note: str = ""

    def line(self, chosen: bool) -> LayoutCost:
        """Return the layout's line in the record."""
        cost = None if self.answer is None else self.answer.design.record.cost_cents
        return LayoutCost(self.layout.name, cost, self.bound_cents, chosen, self.note)


class _Contest:
    """Designs one layout after another, each with the best cost so far to beat."""

    def __init__(self, job: Job, search: SearchSettings) -> None:
        self.job, self.search, self.stop = job, search, search.stop
        limit = search.time_limit_s
        self.ends_at = None if limit is None else time.perf_counter() + limit
        self.best_cents: int | None = None
        self.seen: dict[tuple[tuple[Stretch, ...], Zones | None], str] = {}

    def run(self, layout: Layout, left: int) -> _Heat:
        """Design one layout; ``left`` counts it and those after it."""
        if self.stop.is_set():
            return _Heat(layout, NOTHING_KNOWN, ended=False, note=NOT_TRIED)
        try:
            laid = (candidate_network(layout.site).stretches, layout.site.zones)
            if laid in self.seen:
                note = f"its pipes run as with: {self.seen[laid]}"
                return _Heat(layout, None, ended=True, note=note)
            self.seen[laid] = layout.name
            return self._designed(layout, left)
        except (BadInput, Infeasible) as refusal:
            note = refusal.clash if isinstance(refusal, Infeasible) else _whys(refusal)
            return _Heat(layout, None, ended=True, refusal=refusal, note=note)

    def _designed(self, layout: Layout, left: int) -> _Heat:
        to_beat = self.best_cents if self._searched_once else None
        watch = _Watch(self.search.progress, self.stop, to_beat)
        share = replace(
            self.search,
            time_limit_s=self._share_s(left),
            progress=watch.heard,
            stop=watch.own,
        )
        try:
            answer = design_job(Job(layout.site, self.job.catalog), share)
        except NoRing as failure:
            self._after(watch)
            return _Heat(layout, failure.bound_cents, ended=True, note=str(failure))
        except SolverFailed as failure:
            self._after(watch)
            note = BEATEN if watch.beaten else f"no design: {failure}"
            bound = watch.bound_cents if self._searched_once else NOTHING_KNOWN
            return _Heat(layout, bound, ended=watch.beaten, note=note)
        self._after(watch)
        return self._answered(layout, answer, watch)

    def _answered(self, layout: Layout, answer: Answer, watch: _Watch) -> _Heat:
        record = answer.design.record
        note = BEATEN if watch.beaten else ""
        if not answer.check.passed:
            note = "its best design fails its check"
        elif self.best_cents is None or record.cost_cents < self.best_cents:
            self.best_cents = record.cost_cents
        ended = watch.beaten or record.status != "stopped"
        return _Heat(layout, record.bound_cents, ended, answer, note=note)

    @property
    def _searched_once(self) -> bool:
        """Whether a layout is searched once, so that a bound heard on the way is one of the layout.

        Where held water is a quantile it is searched again, with less water each time.
        """
        return self.job.site.returns.held == "worst"

    def _share_s(self, left: int) -> float | None:
        if self.ends_at is None:
            return None
        return max(1.0, (self.ends_at - time.perf_counter()) / left)

    def _after(self, watch: _Watch) -> None:
        """Pass on a stop by Ctrl-C, which the search at work has taken for itself."""
        if watch.own.is_set() and not watch.beaten:
            self.stop.set()


class _Watch:
    """Hears how one layout's search stands, and ends it once it cannot win."""

    def __init__(
        self, progress: Watcher | None, outer: threading.Event, to_beat: float | None
    ) -> None:
        self.progress, self.outer, self.to_beat = progress, outer, to_beat
        self.own = threading.Event()
        self.bound_cents = NOTHING_KNOWN
        self.beaten = False

    def heard(self, now: Progress) -> None:
        """Take one report of the search."""
        if now.bound is not None:
            self.bound_cents = max(self.bound_cents, now.bound)
        self.beaten = self.to_beat is not None and self.bound_cents >= self.to_beat
        if self.beaten or self.outer.is_set():
            self.own.set()
        if self.progress is not None:
            self.progress(now)


def _answer(heats: Sequence[_Heat]) -> Answer:
    """Return the cheapest answer that passes its check, with every layout in its record."""
    found = [(heat, heat.answer) for heat in heats if heat.answer is not None]
    if not found:
        raise _no_design(heats)

    def order(pair: tuple[_Heat, Answer]) -> tuple[bool, int]:
        return (not pair[1].check.passed, pair[1].design.record.cost_cents)

    best, answer = min(found, key=order)
    bounds = [heat.bound_cents for heat in heats if heat.bound_cents is not None]
    record = replace(
        answer.design.record,
        bound_cents=min(bounds),
        status="optimal" if all(heat.ended for heat in heats) else "stopped",
        seconds=sum(each.design.record.seconds for _, each in found),
    )
    lines = tuple(heat.line(heat is best) for heat in heats)
    return replace(answer, design=replace(answer.design, record=record, layouts=lines))


def _no_design(heats: Sequence[_Heat]) -> Exception:
    """Return what to raise where no layout has a design."""
    if any(not heat.ended for heat in heats):
        return SolverFailed("The search was stopped before a first design of any layout.")
    unproven = [heat for heat in heats if heat.refusal is None and heat.bound_cents is not None]
    if unproven:
        told = " ".join(f"{heat.layout.name}: {heat.note}" for heat in heats)
        return SolverFailed(f"No design of any layout was found. {told}")
    refused = [(heat.layout.name, heat.refusal) for heat in heats if heat.refusal is not None]
    if all(isinstance(refusal, BadInput) for _, refusal in refused):
        problems = [p for _, r in refused if isinstance(r, BadInput) for p in r.problems]
        return BadInput(list(dict.fromkeys(problems)))
    clashes = [f"{heat.layout.name}: {heat.note}" for heat in heats if heat.refusal is not None]
    remedies = [
        Remedy(f"{name}: {remedy.requirement}", remedy.change)
        for name, refusal in refused
        if isinstance(refusal, Infeasible)
        for remedy in refusal.remedies
    ]
    return Infeasible("No layout has a design. " + " ".join(clashes), remedies)


def _whys(refusal: BadInput) -> str:
    """Return what stands in the way of a layout, without where it stands in the file."""
    return " ".join(dict.fromkeys(f"{p.where}: {p.what}" for p in refusal.problems))
