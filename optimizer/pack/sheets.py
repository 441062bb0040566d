"""What a sheet of the pack is made of; the page and the print know nothing else."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeAlias

from optimizer.report.text_table import Table


@dataclass(frozen=True)
class Words:
    """A paragraph."""

    text: str
    kind: str = "words"


@dataclass(frozen=True)
class Points:
    """A list; ``numbered`` steps are done in order."""

    items: tuple[str, ...]
    numbered: bool = False
    kind: str = "points"


@dataclass(frozen=True)
class Grid:
    """A table. ``blank`` ones are for writing in; ``headed`` ones have a head row."""

    table: Table
    headed: bool = True
    blank: bool = False
    kind: str = "grid"


@dataclass(frozen=True)
class Picture:
    """A drawing in SVG at its true size."""

    svg: str
    width_mm: float
    height_mm: float
    says: str


@dataclass(frozen=True)
class Pictures:
    """Drawings side by side."""

    pictures: tuple[Picture, ...]
    kind: str = "pictures"


@dataclass(frozen=True)
class Label:
    """A label to cut out."""

    title: str
    lines: tuple[str, ...]


@dataclass(frozen=True)
class Labels:
    """Labels in columns."""

    labels: tuple[Label, ...]
    kind: str = "labels"


Block: TypeAlias = Words | Points | Grid | Pictures | Labels


@dataclass(frozen=True)
class Sheet:
    """One sheet: an id, a title, blocks.

    ``flows`` sheets follow without a new page; ``short`` is the title in a list of links.
    """

    id: str
    title: str
    blocks: tuple[Block, ...]
    flows: bool = False
    short: str = ""


@dataclass(frozen=True)
class Pack:
    """A whole pack: its sheets in order, and the paper it is for (``a4`` or ``us-letter``)."""

    title: str
    subtitle: str
    sheets: tuple[Sheet, ...]
    paper: str
