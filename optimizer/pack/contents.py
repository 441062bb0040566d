"""The pack of a design: all sheets in the order a builder needs them."""

from __future__ import annotations

from optimizer.pack.sheet_bed import bed_sheets
from optimizer.pack.sheet_cuts import cutting_sheets
from optimizer.pack.sheet_faults import fault_sheets
from optimizer.pack.sheet_labels import cautions_sheet, labels_sheet
from optimizer.pack.sheet_shopping import shopping_sheet
from optimizer.pack.sheet_start import commissioning_sheets
from optimizer.pack.sheet_zones import timer_sheets
from optimizer.pack.sheets import Pack
from optimizer.pack.shopping import ShoppingList
from optimizer.records.design import Design
from optimizer.report.scales import counted

PAPERS = {"metric": "a4", "us": "us-letter"}


def build_pack(design: Design, found: ShoppingList) -> Pack:
    """Return the pack.

    Args:
        design: a design with its shelf.
        found: its shopping list.
    """
    sheets = (
        cautions_sheet(design),
        shopping_sheet(design, found),
        *cutting_sheets(design, found.cuts, found.kit_cuts),
        *bed_sheets(design),
        *commissioning_sheets(design),
        *timer_sheets(design),
        *fault_sheets(design),
        labels_sheet(design),
    )
    return Pack(
        title=design.site,
        subtitle=f"Build pack for {counted(len(design.beds), 'bed')}",
        sheets=sheets,
        paper=PAPERS[design.units],
    )
