"""What a design is made from: a site and its catalog."""

from __future__ import annotations

from dataclasses import dataclass

from optimizer.records.parts import Catalog
from optimizer.records.site import Site


@dataclass(frozen=True)
class Job:
    """A site and the catalog it is designed from, read and reviewed."""

    site: Site
    catalog: Catalog
