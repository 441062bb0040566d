"""What a site file says of a system that stands; what it leaves open comes back as questions."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

from optimizer.errors import BadInput, Problem
from optimizer.formulate.drain_tables import drain_runs
from optimizer.mend.contradictions import contradictions
from optimizer.reading.nearest import choose_from
from optimizer.reading.pipe_names import pipe_ids, return_series, size_name
from optimizer.reading.review_paths import unknown, unknown_size
from optimizer.reading.site_models_standing import StandingBedTable, StandingTable
from optimizer.reading.site_text import KeyLines
from optimizer.records.network import CandidateNetwork, Position, Stretch
from optimizer.records.parts import Catalog
from optimizer.records.site import Site
from optimizer.records.stands import BedStands, DrainStands, Stands, StretchStands

ALL = "all"


def described(
    table: StandingTable, site: Site, catalog: Catalog, network: CandidateNetwork, lines: KeyLines
) -> Stands:
    """Return the system that a site file describes.

    Args:
        table: the file's ``[standing]``.
        site: the site, pipes by catalog id.
        catalog: the parts.
        network: its candidate network.
        lines: where the file's keys stand.

    Raises:
        BadInput: once, with every fault, and a question for everything that is missing.
    """
    found = _Description(table, site, catalog, network, lines)
    stands = found.stands()
    found.problems += contradictions(table, site, catalog, lines)
    if found.problems:
        raise BadInput(found.problems)
    return stands


@dataclass
class _Description:
    """One description, with what is wrong with it or missing."""

    table: StandingTable
    site: Site
    catalog: Catalog
    network: CandidateNetwork
    lines: KeyLines
    problems: list[Problem] = field(default_factory=list)

    def stands(self) -> Stands:
        """Return what stands; of no use where there are problems."""
        pump, sump = self.table.pump, self.table.sump
        if pump is None:
            self._ask("standing, pump", "Which pump stands?", _PUMP)
        if sump is None:
            self._ask("standing, sump", "Which sump stands?", _SUMP)
        if self.table.water_level is None:
            self._ask(
                "standing, water_level",
                "How high does the water stand in the sump, with the pump running and every bed "
                "drained?",
                'Measure it from the sump\'s floor, as water_level = "0.4 m".',
            )
        beds = tuple(self._beds())
        return Stands(
            beds=beds,
            stretches=tuple(self._stretches()),
            drains=tuple(self._drains()) if self.site.returns.designed else (),
            pump="" if pump is None else pump.part,
            pump_count=1 if pump is None else pump.count,
            pump_head_share=1.0 if pump is None else 1.0 - pump.worn,
            sump="" if sump is None else sump.part,
            sump_count=1 if sump is None else sump.count,
            drained_level_m=self.table.water_level or 0.0,
            overflow=self._overflow(),
        )

    def _overflow(self) -> str:
        """Return the pipe of the overflow of a tank over the beds; empty where there is none."""
        if self.site.header_tank is None:
            return ""
        question = "What size of pipe is the overflow of the tank over the beds?"
        return self._size(
            self.table.overflow, return_series(self.site), ("standing",), "overflow", question
        )

    def _ask(self, where: str, what: str, fix: str) -> None:
        place = f"{self.lines.file} {where}".strip()
        self.problems.append(Problem(place, what, fix))

    def _beds(self) -> Iterator[BedStands]:
        of_bed: dict[str, tuple[int, StandingBedTable]] = {}
        known = {p.id for p in self.network.positions}
        for i, each in enumerate(self.table.bed):
            for j, name in enumerate(each.beds):
                path = ("standing", "bed", i, "beds", j)
                self.problems += unknown(name, known, "bed of this site", self.lines, *path)
                if name in of_bed:
                    what = f"bed {name} is described again."
                    fix = "Which is right? Keep it in one [[standing.bed]]."
                    self.problems.append(Problem(self.lines.where(*path), what, fix))
                of_bed[name] = (i, each)
        missing = [p.id for p in self.network.positions if p.id not in of_bed]
        if missing:
            what = f"What siphon, drop and valve has {_beds_words(missing)}?"
            self._ask("standing, bed", what, "Add to a [[standing.bed]], or make its row shorter.")
        for position in self.network.positions:
            if position.id in of_bed:
                yield self._bed(position, *of_bed[position.id])

    def _bed(self, position: Position, i: int, each: StandingBedTable) -> BedStands:
        name, series = position.id, self.site.purchase.pipe_series
        at = ("standing", "bed", i)
        if each.kit is None:
            self._once(at, "kit", "Which siphon kit has it (the size of its standpipe)?", _KIT)
        else:
            self.problems += self._new(
                unknown(each.kit, self.catalog.kits, "siphon kit", self.lines, *at, "kit")
            )
        self._own_bore(each, at)
        drop = self._size(each.drop, series, at, "drop", "What size of pipe is its drop?")
        valve = self._valve(each, drop, at)
        if each.opening is None and each.inflow is None:
            what = "How far is its valve open, or how much water does it get?"
            fix = 'Write opening = "40 %", or inflow = "9 L/min" by bucket and watch, or both.'
            self._once(at, "opening", what, fix)
        return BedStands(
            bed=name,
            bed_type=self._bed_type(position, each, at),
            kit=each.kit or "",
            pipe=drop,
            valve=valve,
            crest_level_m=each.standpipe_top,
            drain_level_m=each.slots_top,
            drain_drop_m=each.outlet_below_floor,
            bell=None
            if each.bell is None
            else self._size(each.bell, self._kit_series(each), at, "bell", ""),
            bell_height_m=each.bell_cap,
            bore_m=each.standpipe_bore,
            opening=self._opening(each, valve, at),
            inflow_m3_s=each.inflow,
        )

    def _own_bore(self, each: StandingBedTable, at: tuple[str | int, ...]) -> None:
        """Ask for what a kit would say of a siphon, where its standpipe is not the kit's."""
        if each.standpipe_bore is None:
            return
        asked = {
            "slots_top": "How high over the bed's floor do the slots of its bell reach?",
            "bell": "What size of pipe is its bell?",
            "bell_cap": "How high over the bed's floor is the underside of its bell's cap?",
            "standpipe_top": "How high over the bed's floor is the top of its standpipe?",
        }
        fix = "With a standpipe_bore of its own no kit says it: measure it, and write {}."
        for key, what in asked.items():
            if getattr(each, key) is None:
                self._once(at, key, what, fix.format(key))

    def _opening(
        self, each: StandingBedTable, valve: str, at: tuple[str | int, ...]
    ) -> float | None:
        if each.opening is None or valve not in self.catalog.valves:
            return each.opening
        least = self.catalog.valves[valve].openings[0]
        if each.opening < least:
            what = f"read {each.opening:.1%}; this valve is known from {least:.1%} open only."
            fix = "Is it shut? Then measure the inflow by bucket and watch, and write inflow."
            self._once(at, "opening", what, fix)
        return max(each.opening, least)

    def _kit_series(self, each: StandingBedTable) -> str:
        kit = self.catalog.kits.get(each.kit or "")
        return self.site.purchase.pipe_series if kit is None else kit.series

    def _bed_type(
        self, position: Position, each: StandingBedTable, at: tuple[str | int, ...]
    ) -> str:
        row = next(row for row in self.site.rows if row.id == position.row)
        if each.bed_type is not None:
            path = (*at, "bed_type")
            found = unknown(each.bed_type, row.bed_types, "bed type of its row", self.lines, *path)
            self.problems += self._new(found)
            return each.bed_type
        if len(row.bed_types) > 1:
            what = f"Of which bed type is bed {position.id}: {' or '.join(row.bed_types)}?"
            self._once(at, "bed_type", what, "Write bed_type.")
        return row.bed_types[0]

    def _valve(self, each: StandingBedTable, drop: str, at: tuple[str | int, ...]) -> str:
        if each.valve is None:
            self._once(
                at, "valve", "What kind of valve has it?", 'Write valve = "ball" or another.'
            )
            return ""
        pipe = self.catalog.pipes.get(drop)
        if pipe is None:
            return ""
        fitting = {
            v.kind: v.id
            for v in self.catalog.valves.values()
            if (v.series, v.nominal) == (pipe.series, pipe.nominal)
        }
        self.problems += self._new(
            unknown(each.valve, fitting, f"valve of {pipe.nominal}", self.lines, *at, "valve")
        )
        return fitting.get(each.valve, "")

    def _size(
        self, size: str | None, series: str, at: tuple[str | int, ...], key: str, question: str
    ) -> str:
        """Return the pipe of a size, or ask for it."""
        ids = pipe_ids(series, self.catalog)
        if size is None:
            self._once(at, key, question, "Read it from the pipe, or measure across it.")
            return ""
        name = size_name(size)
        what = f"pipe size of series {series}"
        self.problems += self._new(unknown_size(name, ids, what, self.lines, *at, key))
        return ids.get(name, "")

    def _once(self, at: tuple[str | int, ...], key: str, what: str, fix: str) -> None:
        """Add a question about a table of beds once, not for each of its beds."""
        self.problems += self._new([Problem(self.lines.where(*at, key), what, fix)])

    def _new(self, problems: list[Problem]) -> list[Problem]:
        return [each for each in problems if each not in self.problems]

    def _stretches(self) -> Iterator[StretchStands]:
        own = {each.stretch: (i, each) for i, each in enumerate(self.table.stretch)}
        laid = [s for s in self.network.stretches if s.kind != "drop"]
        for name, (i, _) in own.items():
            if name not in {s.id for s in laid}:
                path = ("standing", "stretch", i, "stretch")
                fix = choose_from(name, [s.id for s in laid])
                what = f"read {name!r}, no stretch of pipe between beds, header and pump."
                self.problems.append(Problem(self.lines.where(*path), what, fix))
        unknown_runs: dict[str, list[str]] = {}
        runs = {each.run: each.pipe for each in self.site.standing.pipes}
        series = self.site.purchase.pipe_series
        for stretch in laid:
            if stretch.id in own:
                i, each = own[stretch.id]
                pipe = self._size(each.size, series, ("standing", "stretch", i), "size", "")
                yield StretchStands(stretch.id, pipe, each.bore)
            elif _run(stretch) in runs:
                yield StretchStands(stretch.id, runs[_run(stretch)])
            else:
                unknown_runs.setdefault(_run(stretch), []).append(stretch.id)
        for run, names in unknown_runs.items():
            what = f"What size of pipe is {' and '.join(names)}?"
            fix = f'Add [[standing.pipe]] with run = "{run}", or a [[standing.stretch]] for each.'
            self._ask("standing, pipe", what, fix)

    def _drains(self) -> Iterator[DrainStands]:
        own = {each.run: (i, each) for i, each in enumerate(self.table.drain)}
        runs = drain_runs(self.network)
        names = {ALL, *(r.id for r in runs), *(_run(r.stretch) for r in runs)}
        for name, (i, _) in own.items():
            path = ("standing", "drain", i, "run")
            self.problems += unknown(name, names, "run of return pipe", self.lines, *path)
        missing = []
        for run in runs:
            keys = [key for key in (run.id, _run(run.stretch), ALL) if key in own]
            if not keys:
                missing.append(run.id)
                continue
            i, each = own[keys[0]]
            series = return_series(self.site)
            pipe = self._size(each.size, series, ("standing", "drain", i), "size", "")
            yield DrainStands(run.id, pipe, each.fall)
        if missing:
            what = f"What size is the return pipe, and how does it fall: {', '.join(missing)}?"
            fix = "Add [[standing.drain]] with run, size and fall, or [returns] designed = false."
            self._ask("standing, drain", what, fix)


_PUMP = 'Write pump = { part = "..." }, an id of `floodwright catalog pumps` or of your own folder.'
_SUMP = 'Write sump = { part = "..." }, an id of `floodwright catalog sumps` or of your own folder.'
_KIT = "Write kit, an id of `floodwright catalog kits`."


def _run(stretch: Stretch) -> str:
    return (stretch.row or "") if stretch.kind == "lateral" else stretch.kind


def _beds_words(names: list[str]) -> str:
    return f"bed {names[0]}" if len(names) == 1 else f"each of beds {', '.join(names)}"
