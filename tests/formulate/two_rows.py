"""One small site with everything its formulation is made of, for hand counts."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

from optimizer.candidates.network import candidate_network
from optimizer.formulate.build import Formulation, formulate
from optimizer.records.network import CandidateNetwork
from optimizer.records.parts import Catalog
from optimizer.records.site import (
    BedType,
    Goals,
    Ground,
    Purchase,
    Returns,
    Row,
    Site,
    WaterLoss,
)
from tests.builders.random_site import shipped_catalog

KITS = ("kit_pvcu10_25_plain", "kit_pvcu10_32_plain")
TRAY = BedType("tray", "tray_125x080", "expanded_clay", "blocks_low", KITS)
TUB = BedType("tub", "tub_100x060", "expanded_clay", "timber_heavy", KITS)
GOALS = Goals(1.5, beds_least=3, robustness="nominal")
BUY = Purchase("pvcu_pn10", ("pvcu10_25", "pvcu10_32"), ("ball",), ("pump_100w_high",), 2)


def row(name: str, y: float, positions: int, types: tuple[str, ...], **changes: object) -> Row:
    plain = Row(name, (2.0, y), (1.0, 0.0), positions, 1.5, 0.0, types, 0, positions)
    return replace(plain, **changes)


SITE = Site(
    name="two rows (invented)",
    goals=GOALS,
    ground=Ground((0.0, 0.0), -0.9),
    bed_types=(TRAY, TUB),
    rows=(row("A", 1.0, 3, ("tray", "tub")), row("B", 3.5, 2, ("tub",))),
    purchase=BUY,
    returns=Returns(designed=False),
    water_loss=WaterLoss(evaporation_m_per_day=0.0),
)


@dataclass(frozen=True)
class Made:
    """A site with its network and formulation."""

    site: Site
    catalog: Catalog
    network: CandidateNetwork
    formulation: Formulation


@lru_cache(maxsize=64)
def made(site: Site = SITE) -> Made:
    catalog, network = shipped_catalog(), candidate_network(site)
    return Made(site, catalog, network, formulate(site, catalog, network))
