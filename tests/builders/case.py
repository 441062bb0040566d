"""A site with the grower's own prices, and the share of held water it must give: one test case."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from optimizer.reading.priced import with_prices
from optimizer.records.parts import Catalog
from optimizer.records.site import Site
from tests.builders.random_site import shipped_catalog


@dataclass(frozen=True)
class Case:
    """A site with the grower's own prices, and the share of held water that the sump must give."""

    site: Site
    prices: Mapping[str, float]
    held_share: float = 1.0

    @property
    def catalog(self) -> Catalog:
        """The shipped catalog with these prices."""
        return with_prices(shipped_catalog(), self.prices)

    def having(self, **fields: object) -> Case:
        """The case with fields of its site changed."""
        return replace(self, site=replace(self.site, **fields))  # type: ignore[arg-type]

    def goals(self, **fields: object) -> Case:
        """The case with some of its goals changed."""
        return self.having(goals=replace(self.site.goals, **fields))  # type: ignore[arg-type]

    def ground(self, **fields: object) -> Case:
        """The case with its ground changed."""
        return self.having(ground=replace(self.site.ground, **fields))  # type: ignore[arg-type]

    def purchase(self, **fields: object) -> Case:
        """The case with other things to buy."""
        return self.having(purchase=replace(self.site.purchase, **fields))  # type: ignore[arg-type]

    def standing(self, **fields: object) -> Case:
        """The case with other things there already."""
        return self.having(standing=replace(self.site.standing, **fields))  # type: ignore[arg-type]

    def returns(self, **fields: object) -> Case:
        """The case with its return pipe changed."""
        return self.having(returns=replace(self.site.returns, **fields))  # type: ignore[arg-type]
