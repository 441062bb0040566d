"""The shopping list as CSV and as a spreadsheet that adds up as you change it."""

from __future__ import annotations

import io
import math
from collections.abc import Sequence
from datetime import UTC, datetime

import pandas as pd
import xlsxwriter

from optimizer.pack.shopping import ShoppingList
from optimizer.pack.shopping_line import Line
from optimizer.report.tables import csv_text

COLUMNS = {
    "group": "the aisle",
    "what": "what to ask for",
    "part": "catalog id; empty where the catalog has none",
    "quantity": "how many or how much",
    "unit": "stick, piece, m3 or set",
    "stock_length_m": "length of one stick; empty for others",
    "needed_length_m": "pipe needed; empty for others",
    "price_each": "price of one; empty where it is not known",
    "price": "price of all; empty where it is not known, 0 for what is in a kit",
    "note": "what else to know",
}
"""Every column with its meaning."""

SETTINGS = {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False}
MADE = datetime(2000, 1, 1, tzinfo=UTC).replace(tzinfo=None)
"""The date written into every file, so that equal lists give equal files."""

EACH, PRICE = 7, 8
"""Places of the price of one and of all."""

WIDTHS = (14, 44, 26, 10, 8, 14, 16, 12, 12, 48)


def shopping_frame(lines: Sequence[Line]) -> pd.DataFrame:
    """Return the list as a tidy frame."""
    rows = [
        {
            "group": line.group,
            "what": line.what,
            "part": line.part,
            "quantity": line.quantity,
            "unit": line.unit,
            "stock_length_m": line.stock_m or None,
            "needed_length_m": line.length_m or None,
            "price_each": line.each,
            "price": None if line.cents is None else line.cents / 100.0,
            "note": line.note,
        }
        for line in lines
    ]
    return pd.DataFrame(rows, columns=list(COLUMNS))


def shopping_csv(found: ShoppingList) -> str:
    """Return the list as CSV."""
    return csv_text(shopping_frame(found.lines))


def shopping_xlsx(found: ShoppingList, currency: str) -> bytes:
    """Return the list as a spreadsheet: prices follow quantities, the foot adds them up.

    Args:
        found: the list.
        currency: what prices are in.
    """
    stream = io.BytesIO()
    with xlsxwriter.Workbook(stream, SETTINGS) as book:
        book.set_properties({"title": "Shopping list", "created": MADE})
        bold, money = book.add_format({"bold": True}), book.add_format({"num_format": "0.00"})
        sheet = book.add_worksheet("shopping list")
        sheet.freeze_panes(1, 0)
        sheet.repeat_rows(0)
        sheet.set_landscape()
        sheet.fit_to_pages(1, 0)
        for column, (name, width) in enumerate(zip(COLUMNS, WIDTHS, strict=True)):
            word = f"{name}, {currency}" if name.startswith("price") else name
            sheet.write_string(0, column, word, bold)
            sheet.set_column(column, column, width)
        rows = shopping_frame(found.lines).astype(object)
        for row, cells in enumerate(rows.itertuples(index=False), start=1):
            _write_row(sheet, row, list(cells), money)
        last = len(found.lines)
        sheet.write_string(last + 1, EACH, "all", bold)
        total = f"=SUM(I2:I{last + 1})"
        sheet.write_formula(last + 1, PRICE, total, money, found.cents / 100.0)
    return stream.getvalue()


def _write_row(
    sheet: xlsxwriter.worksheet.Worksheet,
    row: int,
    cells: list[object],
    money: xlsxwriter.format.Format,
) -> None:
    """Write one line; its price is its quantity times the price of one, to whole cents."""
    for column, value in enumerate(cells):
        if isinstance(value, str):
            sheet.write_string(row, column, value)
        elif not isinstance(value, int | float) or math.isnan(value):
            continue
        elif column == PRICE and not _missing(cells[EACH]):
            formula = f"=ROUND(D{row + 1}*H{row + 1},2)"
            sheet.write_formula(row, column, formula, money, value)
        else:
            sheet.write_number(row, column, value, money if column >= EACH else None)


def _missing(value: object) -> bool:
    return not isinstance(value, int | float) or math.isnan(value)
