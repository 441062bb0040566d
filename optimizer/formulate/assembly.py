"""What a choice names, looked up once for every piece of the design."""

from __future__ import annotations

import math

from optimizer.formulate.assemble_mixes import Piece, two_pieces, whole_piece
from optimizer.formulate.assemble_tank import TankPlant
from optimizer.formulate.bed_options import BedCandidate
from optimizer.formulate.bill import LaidStretch
from optimizer.formulate.build import Formulation
from optimizer.formulate.inflow_steps import FLOW_STEP_M3_S
from optimizer.formulate.loads import Load, closing_load, loads_by_stretch
from optimizer.formulate.pump_tables import curve_of
from optimizer.formulate.stretch_ways import Ways, tees_at_ends
from optimizer.formulate.zone_heads import heads_of_turn
from optimizer.physics.pump import PumpCurve
from optimizer.records.choice import Choice
from optimizer.records.header_tank import TANK
from optimizer.records.network import CandidateNetwork
from optimizer.records.parts import Catalog
from optimizer.records.problem import (
    BranchPlan,
    Build,
    LevelBand,
    PumpDuty,
    PumpOption,
    StretchTable,
    SumpOption,
)
from optimizer.records.site import Row, Site


class Assembly:
    """Looks up what a choice names, once, for the pieces below."""

    def __init__(
        self,
        site: Site,
        catalog: Catalog,
        network: CandidateNetwork,
        made: Formulation,
        choice: Choice,
    ) -> None:
        self.site, self.catalog, self.network, self.choice = site, catalog, network, choice
        self.problem = made.problem
        by_option = {c.option.id: c for c in made.candidates}
        chosen = {p.id: p for p in self.problem.plans}
        plans = [chosen[plan] for plan in choice.plans.values()]
        self.plans: list[tuple[BranchPlan, BedCandidate]] = [
            (plan, by_option[plan.option]) for plan in plans if plan.option is not None
        ]
        self.candidate_of_row = {plan.branch: c for plan, c in self.plans}
        self.rows: dict[str, Row] = {row.id: row for row in site.rows}
        tables = {s.id: s for s in self.problem.stretches}
        self.builds: dict[str, Build] = {
            sid: tables[sid].table[duty, way] for sid, (duty, way) in choice.builds.items()
        }
        self._ways = Ways(site, catalog)
        self.laid = self._laid(made)
        self.pieces = {s: self._pieces(each, tables[s]) for s, each in self.laid.items()}
        self.pump: PumpOption = next(p for p in self.problem.pumps if p.id == choice.pump)
        self.band: LevelBand = next(b for b in self.problem.bands if b.id == choice.band)
        self.sump: SumpOption = next(s for s in self.problem.sumps if s.id == choice.sump)
        self.flow_steps = self._zone_flows()
        total = max(self.flow_steps.values())
        self.duty: PumpDuty = next(
            d
            for d in self.problem.pump_duties
            if (d.pump, d.band, d.flow_steps) == (choice.pump, choice.band, total)
        )
        self.pump_head_m = self.head_of_pump_m(total)
        self.setting_m = (self.band.low_m + self.band.high_m) / 2.0
        self.heads = self._heads()
        self.tank = self._tank(made)

    def _laid(self, made: Formulation) -> dict[str, LaidStretch]:
        loads = loads_by_stretch(self.site, self.network, made.candidates, self.problem.plans)
        tees = tees_at_ends(self.network)
        laid: dict[str, LaidStretch] = {}
        if self.network.closing is not None:
            loads[self.network.closing.id] = (closing_load(self.network.closing),)
        for stretch in self.network.laid:
            if stretch.id not in self.choice.builds:
                continue
            duty, way_id = self.choice.builds[stretch.id]
            load: Load = next(d for d in loads[stretch.id] if d.duty.id == duty)
            way = next(w for w in self._ways.of(stretch) if w.id == way_id)
            laid[stretch.id] = LaidStretch(stretch, way, load, tees[stretch.id])
        return laid

    def _zone_flows(self) -> dict[str, int]:
        """Return what each zone asks in its turn, in flow steps; of all beds where none turn."""
        if not self.problem.zones:
            return {"": sum(plan.flow_steps for plan, _ in self.plans)}
        return {
            zone.id: sum(p.flow_steps for p, _ in self.plans if p.branch in zone.branches)
            for zone in self.problem.zones
        }

    @property
    def curve(self) -> PumpCurve:
        """The running pumps by their own curve; the program counts on less."""
        return curve_of(self.catalog.pumps[self.pump.pump], self.pump.count)

    def head_of_pump_m(self, flow_steps: int) -> float:
        """Return what the running pumps add at a flow."""
        return float(self.curve.head_m(flow_steps * FLOW_STEP_M3_S))

    def _source_head_m(self) -> float:
        """Return the head where the supply begins: of the pump as it runs, or of a tank's water."""
        if self.site.header_tank is not None:
            return self.duty.head_m
        return self.pump_head_m + self.setting_m

    def _pieces(self, each: LaidStretch, table: StretchTable) -> tuple[Piece, ...]:
        """Return the pipe of a stretch as laid: one piece, or two with a reducer between."""
        duty, way_id = self.choice.builds[each.stretch.id]
        build, share = table.table[duty, way_id], self.choice.mixes.get(each.stretch.id)
        if share is None:
            return (whole_piece(each, build),)
        mix = table.mixes[duty, way_id]
        wider = next(w for w in self._ways.of(each.stretch) if w.id == mix.wider)
        return two_pieces(each, build, (wider, table.table[duty, mix.wider]), mix, share)

    def _tank(self, made: Formulation) -> TankPlant | None:
        """Return what fills the tank that feeds the beds, if there is one."""
        tank, riser = self.site.header_tank, self.network.tank_riser
        if tank is None or riser is None:
            return None
        lift = made.lifts[self.pump.id]
        return TankPlant(self.site, self.catalog, tank, riser, lift, self.setting_m)

    def _heads(self) -> dict[str, float]:
        """Return the head at every built node above the sump floor, valves as set."""
        if self.problem.zones:
            return self._heads_in_turn()
        heads = dict.fromkeys(("pump", TANK), self._source_head_m())
        for each in self.laid.values():
            stretch = each.stretch
            lost = math.fsum(piece.loss_m for piece in self.pieces[stretch.id])
            heads[stretch.head] = heads[stretch.tail] - lost
        return heads

    def _heads_in_turn(self) -> dict[str, float]:
        """Return the head at every node in the turn of its zone; at shared nodes, of the last."""
        heads: dict[str, float] = {}
        for zone in self.problem.zones:
            source_m = self.head_of_pump_m(self.flow_steps[zone.id]) + self.setting_m
            warmth = self.site.goals.water_temperature_c
            heads |= heads_of_turn(self.laid, zone.branches, source_m, self.catalog, warmth)
        return heads
