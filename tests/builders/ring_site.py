"""Small sites whose header may be closed into a ring; every name and figure is invented."""

from __future__ import annotations

from tests.whole.feature_sites import HEAD, SUMP, row_text, site_text

SHORT_WAY = '[["1.8 m", "1 m"]]'
"""The closing pipe runs just beside the header."""

LONG_WAY = '[["0.5 m", "0 m"], ["0.5 m", "{} m"]]'
"""The closing pipe goes round behind the header; to be filled with the last row's y."""


def ring_text(
    rows: int = 3,
    positions: int = 2,
    through: str = SHORT_WAY,
    wanted: str = "always",
    feed: str = "south",
    more: str = "",
    head: str = HEAD,
) -> str:
    """Rows 2 m apart to the east of a header that a ring may close."""
    names = "ABCDEFGHIJ"[:rows]
    tables = [row_text(name, (2.65, 2 * i), positions) for i, name in enumerate(names)]
    ring = f'[header_ring]\nthrough = {through.format(2 * (rows - 1))}\nwanted = "{wanted}"\n'
    return site_text(*tables, ring, more, ground=f'{SUMP}\nheader_fed = "{feed}"', head=head)
