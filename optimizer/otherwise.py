"""Sites that differ from a site by one step: another pump, a flood more, a bed fewer, and so on."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, replace

from optimizer.physics.pipe import velocity_m_s
from optimizer.reading.review import review
from optimizer.records.design import Design
from optimizer.records.parts import Catalog
from optimizer.records.site import Row, Site

FLOODS_MORE = 1.0
FLOODS_FEWER = 0.5
SHARE_STEP = 0.02
VELOCITY_STEP_M_S = 0.5
FAST = 0.5  # below this share of the limit in every pipe, a higher limit is not asked about
BUDGET_STEP = 0.1
WEAKER = {"whole": "most", "most": "nominal"}


@dataclass(frozen=True)
class Step:
    """One step away from a site as it was asked for.

    Attributes:
        what: the step, in the grower's words.
        site: the site with the step taken; None where it cannot be.
        eased: whether less is asked than before, so that the cost can only fall.
        none: why the step cannot be taken, where it cannot.
    """

    what: str
    site: Site | None
    eased: bool = False
    none: str = ""


Making = Callable[[Site, Catalog, Design], Step | None]


def steps_of(site: Site, catalog: Catalog, design: Design) -> list[Step]:
    """Return every step that applies to a site, in the order they are told.

    Args:
        site: the site that was designed.
        catalog: its catalog.
        design: its design.
    """
    made = (making(site, catalog, design) for making in STEPS)
    return [step for step in made if step is not None]


def _other_pump(site: Site, catalog: Catalog, design: Design) -> Step:
    names = set(site.purchase.pumps or catalog.pumps)
    names |= {site.standing.pump} if site.standing.pump else set()
    others = tuple(sorted(names - {design.pump.id}))
    what = f"any pump but the {design.pump.label}"
    if not others:
        return Step(what, None, none="no other pump is allowed")
    standing = site.standing
    if standing.pump == design.pump.id:
        standing = replace(standing, pump=None, pump_count=0)
    purchase = replace(site.purchase, pumps=others)
    return Step(what, replace(site, purchase=purchase, standing=standing))


def _flood_more(site: Site, _: Catalog, __: Design) -> Step:
    goals = site.goals
    least = goals.floods_per_hour_least + FLOODS_MORE
    most = goals.floods_per_hour_most
    goals = replace(
        goals,
        floods_per_hour_least=least,
        floods_per_hour_most=None if most is None else max(most, least),
    )
    what = f"one more flood an hour ({least:g} instead of {site.goals.floods_per_hour_least:g})"
    return Step(what, replace(site, goals=goals))


def _bed_more(site: Site, catalog: Catalog, design: Design) -> Step:
    """One more bed where there is a place for it, else at a place added to the end of a row."""
    asked, room = len(design.beds) + 1, sum(row.beds_most for row in site.rows)
    what = f"one more bed ({asked} instead of {asked - 1})"
    goals = replace(site.goals, beds_least=asked)
    if room >= asked:
        return Step(what, replace(site, goals=goals))
    built = Counter(bed.row for bed in design.beds)
    rows = tuple(replace(row, beds_least=built[row.id]) for row in site.rows)
    longer = tuple(_longer(row, site, catalog) for row in rows)
    if longer == rows:
        return Step(what, None, none="every place is built, and no row has room for another")
    what = f"{what}, added at the end of the row where that costs least"
    return Step(what, replace(site, goals=goals, rows=longer))


def _longer(row: Row, site: Site, catalog: Catalog) -> Row:
    """The row with a place added to its end, where nothing stands in the way of it."""
    if row.named or row.beds_most < row.positions:
        return row
    longer = replace(row, positions=row.positions + 1, beds_most=row.beds_most + 1)
    rows = tuple(longer if each.id == row.id else each for each in site.rows)
    return row if review(replace(site, rows=rows), catalog) else longer


def _without_a_size(site: Site, catalog: Catalog, design: Design) -> Step | None:
    """Keep the sizes laid but the one least laid that both sides can do without."""
    supply = {s.pipe for s in design.stretches if not s.standing}
    returns = {d.pipe for d in design.drains if not d.standing}
    laid = dict.fromkeys(supply | returns, 0.0)
    for pipe, length in (
        *((s.pipe, s.length_m) for s in design.stretches if not s.standing),
        *((d.pipe, d.length_m) for d in design.drains if not d.standing),
    ):
        laid[pipe] += length
    spare = [p for p in laid if supply - {p} and (returns - {p} or not returns)]
    if not spare or site.standing.stock:
        return None
    least = min(spare, key=lambda pipe: (laid[pipe], pipe))
    purchase = replace(site.purchase, pipes=tuple(sorted(supply - {least})))
    kept = tuple(sorted(returns - {least}))
    name, count = catalog.pipes[least].nominal, len(laid)
    what = f"{count - 1} sizes of pipe instead of {count}, without the {name}"
    altered = replace(site, purchase=purchase, returns=replace(site.returns, pipes=kept))
    return Step(what, altered)


def _size_more(site: Site, _: Catalog, __: Design) -> Step | None:
    most = site.purchase.pipe_sizes_most
    if most is None:
        return None
    purchase = replace(site.purchase, pipe_sizes_most=most + 1)
    what = f"{most + 1} sizes of pipe instead of {most}"
    return Step(what, replace(site, purchase=purchase), eased=True)


def _flood_fewer(site: Site, _: Catalog, __: Design) -> Step | None:
    least = site.goals.floods_per_hour_least - FLOODS_FEWER
    if least <= 0.0:
        return None
    what = f"half a flood an hour fewer ({least:g} instead of {site.goals.floods_per_hour_least:g})"
    goals = replace(site.goals, floods_per_hour_least=least)
    return Step(what, replace(site, goals=goals), eased=True)


def _bed_fewer(site: Site, _: Catalog, design: Design) -> Step | None:
    beds = site.goals.beds_least
    if beds <= 1 or len(design.beds) > beds:
        return None
    goals = replace(site.goals, beds_least=beds - 1)
    rows = tuple(_one_fewer(row) for row in site.rows)
    what = f"one bed fewer ({beds - 1} instead of {beds}), wherever it saves most"
    return Step(what, replace(site, goals=goals, rows=rows), eased=True)


def _one_fewer(row: Row) -> Row:
    return replace(row, beds_least=max(row.standing_beds, row.beds_least - 1))


def _area_fewer(site: Site, _: Catalog, __: Design) -> Step | None:
    area = site.goals.growing_area_least_m2
    if area < 1.0:
        return None
    goals = replace(site.goals, growing_area_least_m2=area - 1.0)
    what = f"one square metre of growing area less ({area - 1.0:.4g} instead of {area:.4g} m2)"
    return Step(what, replace(site, goals=goals), eased=True)


def _weaker(site: Site, _: Catalog, __: Design) -> Step | None:
    word = WEAKER.get(site.goals.robustness)
    if word is None:
        return None
    what = f'robustness "{word}" instead of "{site.goals.robustness}"'
    return Step(what, replace(site, goals=replace(site.goals, robustness=word)), eased=True)


def _more_drift(site: Site, _: Catalog, __: Design) -> Step:
    now = site.goals.level_drift
    goals = replace(site.goals, level_drift=now + SHARE_STEP)
    what = (
        f"inflows that may drift by {now + SHARE_STEP:.0%} with the sump's level instead of "
        f"{now:.0%}"
    )
    return Step(what, replace(site, goals=goals))


def _closer_valves(site: Site, _: Catalog, __: Design) -> Step | None:
    now = site.goals.valve_setting_error
    if now < SHARE_STEP:
        return None
    goals = replace(site.goals, valve_setting_error=now - SHARE_STEP)
    what = f"valves set to {now - SHARE_STEP:.0%} instead of {now:.0%}"
    return Step(what, replace(site, goals=goals), eased=True)


def _faster(site: Site, _: Catalog, design: Design) -> Step | None:
    limit = site.goals.velocity_limit_m_s
    speeds = [float(velocity_m_s(s.flow_m3_s, s.bore_m)) for s in design.stretches]
    if max(speeds, default=0.0) < FAST * limit:
        return None
    goals = replace(site.goals, velocity_limit_m_s=limit + VELOCITY_STEP_M_S)
    what = f"water at up to {limit + VELOCITY_STEP_M_S:g} m/s instead of {limit:g} m/s"
    return Step(what, replace(site, goals=goals), eased=True)


def _more_money(site: Site, _: Catalog, __: Design) -> Step | None:
    budget = site.goals.budget
    if budget is None:
        return None
    goals = replace(site.goals, budget=budget * (1.0 + BUDGET_STEP))
    what = f"a budget of {budget * (1.0 + BUDGET_STEP):,.2f} instead of {budget:,.2f}"
    return Step(what, replace(site, goals=goals), eased=True)


def _unheard(site: Site, _: Catalog, __: Design) -> Step | None:
    if site.noise is None:
        return None
    what = "a loud pump that may run all the time"
    return Step(what, replace(site, noise=None), eased=True)


STEPS: tuple[Making, ...] = (
    _other_pump,
    _flood_more,
    _bed_more,
    _flood_fewer,
    _bed_fewer,
    _area_fewer,
    _weaker,
    _more_drift,
    _closer_valves,
    _faster,
    _more_money,
    _unheard,
    _without_a_size,
    _size_more,
)
