"""A pack's files: page, shopping list as CSV and spreadsheet, and the PDF if asked for."""

from __future__ import annotations

from pathlib import Path

from optimizer.files import write_bytes_whole, write_text_whole
from optimizer.pack.contents import build_pack
from optimizer.pack.page import pack_page
from optimizer.pack.pdf import pack_pdf
from optimizer.pack.pieces import KERF_M
from optimizer.pack.shopping import ShoppingList, shopping_list
from optimizer.pack.spreadsheet import shopping_csv, shopping_xlsx
from optimizer.records.design import Design


def write_pack(
    design: Design, folder: str | Path, *, pdf: bool = False, kerf_m: float = KERF_M
) -> tuple[ShoppingList, list[Path]]:
    """Write the build pack of a design, each file whole or not at all.

    Args:
        design: any stored design.
        folder: where to; made if it is not there.
        pdf: also write pack.pdf.
        kerf_m: what one saw cut takes.

    Returns:
        the shopping list, and the files, the page first.

    Raises:
        BadInput: for a design without its shelf, or for a PDF without the library.
        OSError: if a file cannot be written.
    """
    found = shopping_list(design, kerf_m)
    pack = build_pack(design, found)
    printed = pack_pdf(pack) if pdf else None
    target = Path(folder)
    target.mkdir(parents=True, exist_ok=True)
    written = [target / "pack.html", target / "shopping.csv", target / "shopping.xlsx"]
    write_text_whole(written[0], pack_page(pack))
    write_text_whole(written[1], shopping_csv(found))
    write_bytes_whole(written[2], shopping_xlsx(found, design.currency))
    if printed is not None:
        written.append(target / "pack.pdf")
        write_bytes_whole(written[-1], printed)
    return found, written
