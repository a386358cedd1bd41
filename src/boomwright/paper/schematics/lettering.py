"""Words and signs that stand beside the parts of a drawing, as SVG."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal
from xml.sax.saxutils import escape

from boomwright.paper.look import Look
from boomwright.paper.room import text_width
from boomwright.paper.schematics.symbols import SCALE, Point, ground, number

__all__ = ["Words", "fins", "grounded", "line_width", "written"]


def line_width(text: str, size: float, *, bold: bool = False) -> float:
    """Width that a line of text never outgrows in the widest of the house's faces [px].

    Types and designators hold more figures and capitals than the words of a chart.
    """
    return 1.06 * text_width(text, size, bold=bold) + 2.0


@dataclass(frozen=True)
class Words:
    """A line of text: place of its baseline [px], and how it looks."""

    x: float
    y: float
    text: str
    anchor: Literal["start", "middle", "end"] = "start"
    tone: Literal["ink", "quiet"] = "ink"
    size: int = 12
    bold: bool = False

    @property
    def box(self) -> tuple[float, float, float, float]:
        """Left, top, right and bottom [px]."""
        width = line_width(self.text, self.size, bold=self.bold)
        left = self.x - {"start": 0.0, "middle": width / 2, "end": width}[self.anchor]
        return left, self.y - 0.8 * self.size, left + width, self.y + 0.25 * self.size


def grounded(at: Point) -> str:
    """The sign of ground under a place, which it names."""
    place = f"{number(at[0] * SCALE)},{number(-at[1] * SCALE)}"
    return f'<g class="ground" data-at="{place}">{"".join(ground(at))}</g>'


def fins(x: float, base: float, colour: str) -> str:
    """The sign of a heat sink: a plate with fins."""
    fins = "".join(f"M{number(x + step)} {number(base - 1)}v-8" for step in (1, 5, 9, 13))
    return (
        f'<path class="heat" d="M{number(x)} {number(base - 1)}h14{fins}" fill="none" '
        f'stroke="{colour}" stroke-width="1.6"/>'
    )


def written(words: Words, look: Look) -> str:
    """A line of text as an SVG element."""
    colour = look.ink if words.tone == "ink" else look.quiet
    weight = ' font-weight="600"' if words.bold else ""
    return (
        f'<text x="{number(words.x)}" y="{number(words.y)}" font-size="{words.size}" '
        f'text-anchor="{words.anchor}" fill="{colour}"{weight}>{escape(words.text)}</text>'
    )
