"""The pack as one self-contained page: no network, no script, print rules first."""

from __future__ import annotations

from functools import cache

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from optimizer.pack.canvas import number
from optimizer.pack.sheets import Pack, Picture, Pictures


def pack_page(pack: Pack) -> str:
    """Return the page as HTML; the same pack gives the same page.

    A drawing that several sheets show is stored once.
    """
    drawings = _drawings(pack)
    return (
        _environment()
        .get_template("pack.html.j2")
        .render(
            pack=pack,
            ids=[f"sheet_{i}" for i in range(1, len(pack.sheets) + 1)],
            drawings=[(name, each, _filling(each)) for name, each in drawings.values()],
            drawn={svg: name for svg, (name, _) in drawings.items()},
        )
    )


def _filling(picture: Picture) -> Markup:
    """Return a drawing that fills the place it is shown in."""
    size = f'width="{number(picture.width_mm)}mm" height="{number(picture.height_mm)}mm"'
    return Markup(picture.svg.replace(size, 'width="100%" height="100%"', 1))


def _drawings(pack: Pack) -> dict[str, tuple[str, Picture]]:
    """Return each different drawing with a name of its own."""
    found: dict[str, tuple[str, Picture]] = {}
    for sheet in pack.sheets:
        for block in sheet.blocks:
            for picture in block.pictures if isinstance(block, Pictures) else ():
                found.setdefault(picture.svg, (f"drawing_{len(found) + 1}", picture))
    return found


@cache
def _environment() -> Environment:
    return Environment(
        loader=PackageLoader("optimizer.pack", "."),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
