"""A sheet of drawing paper: lines, hatching, words and dimension lines, as SVG in millimetres.

Everything is black, white and light grey, so that a copy of a copy still reads.
"""

from __future__ import annotations

from collections.abc import Sequence
from html import escape

FONT = "'Liberation Sans', Arial, 'DejaVu Sans', sans-serif"
TEXT_MM = 2.7
THIN_MM, LINE_MM, THICK_MM = 0.15, 0.3, 0.5
GREY, PALE = "#c9c9c9", "#ececec"
TICK_MM = 1.1
WIDTH_SHARE = 0.52
"""About how wide a letter is, over its height."""

Point = tuple[float, float]
_HALO = 'stroke="#fff" stroke-width="0.5" stroke-linejoin="round" paint-order="stroke"'


class Canvas:
    """Paper of a size in millimetres, y downward; what is drawn later lies on top."""

    def __init__(self, width_mm: float, height_mm: float) -> None:
        self.width_mm, self.height_mm = width_mm, height_mm
        self._parts: list[str] = []

    def line(self, a: Point, b: Point, width_mm: float = LINE_MM, dash: str = "") -> None:
        """Draw a straight line; ``dash`` as in SVG, such as ``1.2 0.8``."""
        style = f' stroke-dasharray="{dash}"' if dash else ""
        ends = zip(("x1", "y1", "x2", "y2"), (*a, *b), strict=True)
        places = " ".join(f'{name}="{number(value)}"' for name, value in ends)
        self._parts.append(
            f'<line {places} stroke="#000" stroke-width="{number(width_mm)}"{style}/>'
        )

    def box(
        self, a: Point, b: Point, fill: str = "none", width_mm: float = LINE_MM, dash: str = ""
    ) -> None:
        """Draw a rectangle between two corners; a width of 0 leaves out its outline."""
        x, y = min(a[0], b[0]), min(a[1], b[1])
        stroke = f'stroke="#000" stroke-width="{number(width_mm)}"' if width_mm else 'stroke="none"'
        style = f' stroke-dasharray="{dash}"' if dash else ""
        self._parts.append(
            f'<rect x="{number(x)}" y="{number(y)}" width="{number(abs(a[0] - b[0]))}" '
            f'height="{number(abs(a[1] - b[1]))}" fill="{fill}" {stroke}{style}/>'
        )

    def shape(self, points: Sequence[Point], fill: str = "none", width_mm: float = LINE_MM) -> None:
        """Draw a closed shape."""
        path = " ".join(f"{number(x)},{number(y)}" for x, y in points)
        stroke = f'stroke="#000" stroke-width="{number(width_mm)}"' if width_mm else 'stroke="none"'
        self._parts.append(f'<polygon points="{path}" fill="{fill}" {stroke}/>')

    def words(
        self, at: Point, text: str, anchor: str = "start", size_mm: float = TEXT_MM, turn: float = 0
    ) -> None:
        """Write one line of words; ``anchor`` is start, middle or end."""
        x, y = at
        turned = f' transform="rotate({number(turn)} {number(x)} {number(y)})"' if turn else ""
        self._parts.append(
            f'<text x="{number(x)}" y="{number(y)}" font-size="{number(size_mm)}" '
            f'text-anchor="{anchor}" {_HALO}{turned}>{escape(text)}</text>'
        )

    def across(self, x0: float, x1: float, y: float, text: str, from_y: float) -> None:
        """Draw a level dimension line; ``from_y`` is where its help lines begin."""
        self.line((x0, y), (x1, y), THIN_MM)
        for x in (x0, x1):
            self.line((x, from_y), (x, y), THIN_MM)
            self.line((x - TICK_MM / 2, y + TICK_MM / 2), (x + TICK_MM / 2, y - TICK_MM / 2))
        self.words(((x0 + x1) / 2, y - 0.8), text, "middle")

    def upright(self, y0: float, y1: float, x: float, text: str, from_x: float) -> None:
        """Draw an upright dimension line; ``from_x`` is where its help lines begin.

        Its words stand left of it, reading upward; where they are longer than it is, right of it
        and level, one line for each part between ``|``; an empty part moves the others down.
        """
        self.line((x, y0), (x, y1), THIN_MM)
        for y in (y0, y1):
            self.line((from_x, y), (x, y), THIN_MM)
            self.line((x - TICK_MM / 2, y + TICK_MM / 2), (x + TICK_MM / 2, y - TICK_MM / 2))
        middle, lines = (y0 + y1) / 2, text.split("|")
        if len(text) * WIDTH_SHARE * TEXT_MM <= abs(y1 - y0):
            self.words((x - 0.8, middle), " ".join(lines).strip(), "middle", turn=-90)
            return
        for i, words in enumerate(lines):
            if not words:
                continue
            down = (i - (len(lines) - 1) / 2) * 1.15 * TEXT_MM + 0.35 * TEXT_MM
            self.words((x + 1.0, middle + down), words)

    def water(self, x: float, y: float) -> None:
        """Draw the sign of a water level: a small triangle standing on it."""
        self.shape([(x - 1.1, y - 1.9), (x + 1.1, y - 1.9), (x, y)], "#fff", 0.2)

    def svg(self) -> str:
        """Return the drawing; in millimetres, so that it prints at its true size."""
        size = f'width="{number(self.width_mm)}mm" height="{number(self.height_mm)}mm"'
        view = f'viewBox="0 0 {number(self.width_mm)} {number(self.height_mm)}"'
        inner = "\n".join(self._parts)
        return (
            f'<svg xmlns="http://www.w3.org/2000/svg" {size} {view} '
            f'font-family="{FONT}" fill="#000">\n{inner}\n</svg>'
        )


def number(value: float) -> str:
    """Return a number to a thousandth, without a tail of zeros."""
    return f"{value:.3f}".rstrip("0").rstrip(".")
