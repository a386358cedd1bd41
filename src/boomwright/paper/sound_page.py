"""One page of charts and tables that needs nothing from outside, for a screen of any width."""

from __future__ import annotations

import html
import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, fields
from typing import TYPE_CHECKING, Final

from boomwright.paper.charts import chart_svg
from boomwright.paper.look import DARK, LIGHT, Look

if TYPE_CHECKING:
    from boomwright.paper.charts import TopChart

__all__ = ["Section", "Sheet", "sound_page"]

_WIDE: Final = 760
_NARROW: Final = 420
_COLOURS: Final = tuple(
    field.name for field in fields(Look) if str(getattr(LIGHT, field.name)).startswith("#")
)


@dataclass(frozen=True, eq=False)
class Section:
    """A chart of the page.

    Parameters
    ----------
    key, title : str
        Its name in the address, and in the list at the top.
    draw : callable
        Gives the chart, in the light look, for a width [px].
    """

    key: str
    title: str
    draw: Callable[[int], TopChart]


@dataclass(frozen=True)
class Sheet:
    """A table of the page.

    Parameters
    ----------
    key, title : str
        Its name in the address, and its heading.
    header : tuple of str
        Heads of the columns.
    rows : sequence of tuple of str
        The lines; the first cell of each is its head.
    note : str
        What stands below it.
    """

    key: str
    title: str
    header: tuple[str, ...]
    rows: Sequence[tuple[str, ...]]
    note: str = ""


def sound_page(name: str, sections: Sequence[Section], sheets: Sequence[Sheet]) -> str:
    """A page of charts, followed by tables.

    Every chart is there twice, for wide and for narrow screens. Its colours are those of the page,
    which follow the screen's wish for light or dark.

    Parameters
    ----------
    name : str
        What the page is about.
    sections : sequence of Section
        Its charts.
    sheets : sequence of Sheet
        Its tables.

    Returns
    -------
    str
        The page as HTML.
    """
    parts = [(section.key, section.title) for section in sections]
    parts += [(sheet.key, sheet.title) for sheet in sheets]
    links = "".join(f'<li><a href="#{key}">{html.escape(title)}</a></li>' for key, title in parts)
    charts = "\n".join(_figure(section) for section in sections)
    tables = "\n".join(_table(sheet) for sheet in sheets)
    return (
        "<!doctype html>\n"
        f'<html lang="en"><head><meta charset="utf-8"><title>Sound of {html.escape(name)}</title>\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<style>{_style()}</style></head>\n"
        f"<body><header><h1>{html.escape(name)}: how it sounds</h1>"
        f'<nav aria-label="On this page"><ul>{links}</ul></nav></header>\n'
        f"<main>{charts}\n{tables}</main></body></html>\n"
    )


def _figure(section: Section) -> str:
    drawn = "".join(
        f'<div class="{kind}">{_in_page(section, kind, width)}</div>'
        for kind, width in (("wide", _WIDE), ("narrow", _NARROW))
    )
    title = html.escape(section.title, quote=True)
    return f'<figure id="{section.key}" tabindex="0" aria-label="{title}">{drawn}</figure>'


def _in_page(section: Section, kind: str, width: int) -> str:
    """Picture whose colours are the page's, with names of its own for what it cuts off by."""
    svg = chart_svg(section.draw(width))
    for colour in _COLOURS:
        value = str(getattr(LIGHT, colour))
        svg = re.sub(re.escape(value), f"var(--{colour})", svg, flags=re.IGNORECASE)
    own = f"{section.key}-{kind}-"
    svg = re.sub(r'\bid="', f'id="{own}', svg)
    return re.sub(r"url\(#", f"url(#{own}", svg)


def _table(sheet: Sheet) -> str:
    head = "".join(f'<th scope="col">{html.escape(cell)}</th>' for cell in sheet.header)
    body = "\n".join(
        "<tr>"
        + f'<th scope="row">{html.escape(row[0])}</th>'
        + "".join(f"<td>{html.escape(cell)}</td>" for cell in row[1:])
        + "</tr>"
        for row in sheet.rows
    )
    title = html.escape(sheet.title)
    note = f"<p>{html.escape(sheet.note)}</p>" if sheet.note else ""
    return (
        f'<section id="{sheet.key}"><h2>{title}</h2>'
        f'<div class="scroll" tabindex="0" role="region" aria-label="{title}">'
        f"<table><thead><tr>{head}</tr></thead><tbody>\n{body}</tbody></table></div>{note}</section>"
    )


def _style() -> str:
    return (
        f":root{{color-scheme:light dark;{_tokens(LIGHT)}}}\n"
        f"@media (prefers-color-scheme:dark){{:root{{{_tokens(DARK)}}}}}\n"
        "body{margin:0 auto;padding:1rem;max-width:792px;box-sizing:border-box;"
        "background:var(--paper);color:var(--ink);line-height:1.5;"
        f"font-family:{LIGHT.letters};font-variant-numeric:tabular-nums}}\n"
        "h1{font-size:1.5rem;margin:0 0 .5rem}h2{font-size:1.05rem;margin:1.5rem 0 .5rem}\n"
        "nav ul{margin:0 0 1rem;padding:0;list-style:none;display:flex;flex-wrap:wrap;"
        "gap:.25rem 1.25rem}\n"
        "a{color:var(--copper);display:inline-block;padding:.25rem 0}\n"
        ":focus-visible{outline:2px solid var(--copper);outline-offset:2px}\n"
        "figure{margin:0 0 1rem;border:1px solid var(--hairline);background:var(--sheet)}\n"
        "svg{display:block;max-width:100%;height:auto}\n"
        ".narrow{display:none}.scroll{overflow-x:auto}\n"
        "table{border-collapse:collapse;background:var(--sheet)}\n"
        "th,td{padding:.2rem .75rem;text-align:right;font-weight:normal;white-space:nowrap;"
        "border-bottom:1px solid var(--hairline)}\n"
        "thead th{color:var(--quiet)}p{color:var(--quiet);max-width:46rem}\n"
        "@media (max-width:700px){body{padding:.5rem}.wide{display:none}.narrow{display:block}"
        "svg{width:100%}table{font-size:.85rem}th,td{padding:.2rem .4rem}}\n"
    )


def _tokens(look: Look) -> str:
    return "".join(f"--{colour}:{getattr(look, colour)};" for colour in _COLOURS)
