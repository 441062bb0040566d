"""Pipe sizes as a grower writes them, looked up in the catalog. A size is a name, not a length."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable
from dataclasses import replace

from optimizer.records.parts import Catalog
from optimizer.records.site import Site, StockPipe


def size_name(written: str) -> str:
    """Return a nominal size as catalogs spell it: ``1 1/2"`` and ``1½ in`` as ``1-1/2 in``."""
    spaced = re.sub(r"(?<=[0-9])(?=[\u00bc-\u00be\u2150-\u215e])", "-", written)
    plain = unicodedata.normalize("NFKC", spaced).replace("\u2044", "/").replace("\u2033", '"')
    plain = re.sub(r"(?<=[0-9])\s*-?\s+(?=[0-9]+\s*/)", "-", plain.strip().lower())
    plain = re.sub(r"\s*(?:\"|\binch(?:es)?\b|(?<![a-z])in\b\.?)$", " in", plain)
    return re.sub(r"(?<=[0-9])\s*mm$", " mm", plain)


def pipe_ids(series: str, catalog: Catalog) -> dict[str, str]:
    """Return nominal size to pipe id for one series."""
    return {pipe.nominal: pipe.id for pipe in catalog.pipes.values() if pipe.series == series}


def with_pipe_ids(site: Site, catalog: Catalog) -> Site:
    """Return the site with every nominal size replaced by the id of that size in its series.

    Ids, and sizes the catalog does not hold, stay as they are: ``review`` names them.
    """
    ids = pipe_ids(site.purchase.pipe_series, catalog)
    pipes = tuple(_ids_of(site.purchase.pipes, ids))
    return_ids = pipe_ids(return_series(site), catalog)
    standing = tuple(
        replace(each, pipe=ids.get(size_name(each.pipe), each.pipe)) for each in site.standing.pipes
    )
    stock = tuple(
        replace(each, pipe=stock_ids(site, each, catalog).get(size_name(each.pipe), each.pipe))
        for each in site.standing.stock
    )
    return replace(
        site,
        purchase=replace(site.purchase, pipes=pipes),
        standing=replace(site.standing, pipes=standing, stock=stock),
        returns=replace(site.returns, pipes=tuple(_ids_of(site.returns.pipes, return_ids))),
    )


def stock_ids(site: Site, stock: StockPipe, catalog: Catalog) -> dict[str, str]:
    """Return nominal size to pipe id for the series of pipe that lies ready."""
    return pipe_ids(stock.series or site.purchase.pipe_series, catalog)


def return_series(site: Site) -> str:
    """Return the series of return pipe: its own, or the supply's where none is named."""
    return site.returns.pipe_series or site.purchase.pipe_series


def _ids_of(sizes: Iterable[str], ids: dict[str, str]) -> Iterable[str]:
    return (ids.get(size_name(size), size) for size in sizes)
