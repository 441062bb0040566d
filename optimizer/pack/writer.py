"""A pack's files: page, shopping list as CSV and spreadsheet, and the PDF if asked for."""

from __future__ import annotations

from pathlib import Path

from optimizer.files import write_bytes_whole, written_together
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
    """Write the build pack of a design, all files or none.

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
    files = {
        target / "pack.html": pack_page(pack).encode(),
        target / "shopping.csv": shopping_csv(found).encode(),
        target / "shopping.xlsx": shopping_xlsx(found, design.currency),
    }
    if printed is not None:
        files[target / "pack.pdf"] = printed
    with written_together(target):
        for file, data in files.items():
            write_bytes_whole(file, data)
    return found, list(files)
