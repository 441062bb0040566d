"""Sites for the benchmark of the program: rows of equal places on one header (invented)."""

from __future__ import annotations

from dataclasses import dataclass, replace

from optimizer.candidates.network import candidate_network
from optimizer.formulate.build import formulate
from optimizer.reading.catalog import read_catalog
from optimizer.records.parts import Catalog
from optimizer.records.problem import DesignProblem
from optimizer.records.site import BedType, Goals, Ground, Purchase, Returns, Row, Site

CONTAINERS = ("tub_075x040", "tub_100x060")
KITS = ("kit_pvcu10_25_plain", "kit_pvcu10_25_rim_funnel", "kit_pvcu10_32_plain")
CATALOG = read_catalog()


def wider_catalog() -> Catalog:
    """The catalog with pipe of 280 to 500 mm and its fittings, invented: price as the square."""
    pipes, fittings = dict(CATALOG.pipes), dict(CATALOG.fittings)
    widest = pipes["pvcu10_225"]
    for outside_mm in (280, 315, 355, 400, 450, 500):
        scale, nominal = outside_mm / 225.0, f"{outside_mm} mm"
        pipes[f"pvcu10_{outside_mm}"] = replace(
            widest,
            id=f"pvcu10_{outside_mm}",
            nominal=nominal,
            outside_m=widest.outside_m * scale,
            wall_m=widest.wall_m * scale,
            bore_m=widest.bore_m * scale,
            price_per_m=widest.price_per_m * scale**2,
        )
        for f in CATALOG.fittings.values():
            if (f.series, f.nominal) == (widest.series, widest.nominal):
                name = f"{f.id}_{outside_mm}"
                fittings[name] = replace(f, id=name, nominal=nominal, price=f.price * scale**2)
    return replace(CATALOG, pipes=pipes, fittings=fittings)


@dataclass(frozen=True)
class Shape:
    """What a benchmark site is like.

    Attributes:
        rows: rows, 2.3 m apart along the header.
        places: places in each row, 1.6 m apart.
        beds: beds asked for; every place is built where that is all of them.
        types: bed types a row may be built of, 1 or 2.
        kits: siphon kits to choose from.
        floods: floods an hour.
        non_return_valve: whether water stays in the pipes in a power cut.
        returns: whether return pipe is designed.
        speed_m_s: greatest speed in a pipe; the catalog's largest pipe limits large sites.
        pumps: most pumps in parallel.
        sumps: most sump tanks.
        wide_pipe: whether invented pipe wider than the catalog's may be bought.
        containers: what beds are made of, by type.
    """

    rows: int
    places: int
    beds: int
    types: int = 1
    kits: int = 1
    floods: float = 2.0
    non_return_valve: bool = True
    returns: bool = False
    speed_m_s: float = 1.5
    pumps: int = 6
    sumps: int = 60
    wide_pipe: bool = False
    containers: tuple[str, ...] = CONTAINERS


def site_of(shape: Shape, step_m: float = 0.0) -> Site:
    """A site of the shape; every second row lies ``step_m`` higher."""
    every = shape.beds == shape.rows * shape.places
    types = tuple(
        BedType(f"type{n}", container, "expanded_clay", "blocks_tall", KITS[: shape.kits])
        for n, container in enumerate(shape.containers[: shape.types])
    )
    rows = tuple(
        Row(
            id=f"r{n}x",
            start=(2.0, 1.0 + 2.3 * n),
            direction=(1.0, 0.0),
            positions=shape.places,
            spacing_m=1.6,
            level_m=step_m * (n % 2),
            bed_types=tuple(t.id for t in types),
            beds_least=shape.places if every else 0,
            beds_most=shape.places,
        )
        for n in range(shape.rows)
    )
    return Site(
        name="benchmark (invented)",
        goals=Goals(
            floods_per_hour_least=shape.floods,
            beds_least=shape.beds,
            robustness="nominal",
            velocity_limit_m_s=shape.speed_m_s,
        ),
        ground=Ground(sump=(0.0, 0.0), sump_floor_level_m=-0.9),
        bed_types=types,
        rows=rows,
        purchase=Purchase(
            pipe_series="pvcu_pn10",
            pumps_in_parallel_most=shape.pumps,
            sumps_most=shape.sumps,
            non_return_valve=shape.non_return_valve,
        ),
        returns=Returns(designed=shape.returns),
    )


def problem_of(shape: Shape, step_m: float = 0.0) -> DesignProblem:
    """The tables of a site of the shape, by the whole road from a Site."""
    site = site_of(shape, step_m)
    catalog = wider_catalog() if shape.wide_pipe else CATALOG
    return formulate(site, catalog, candidate_network(site)).problem
