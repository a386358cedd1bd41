"""A chart as a file: SVG, HTML, PDF or PNG by the ending of its name."""

from __future__ import annotations

import html
from pathlib import Path
from typing import TYPE_CHECKING

from boomwright.build.files import write_whole
from boomwright.build.nearest import nearest
from boomwright.errors import InputError, Problem

if TYPE_CHECKING:
    from boomwright.paper.charts import TopChart

__all__ = ["CHART_ENDINGS", "chart_problems", "write_chart"]

CHART_ENDINGS = (".svg", ".html", ".pdf", ".png")
"""Endings of the files that a chart can be written as."""


def chart_problems(file: Path | None) -> list[Problem]:
    """What is wrong with the name of a chart, told before anything long begins.

    Examples
    --------
    >>> [problem.got for problem in chart_problems(Path("loud.gif"))]
    ["'.gif'"]
    """
    if file is None or file.suffix.lower() in CHART_ENDINGS:
        return []
    expected = f"a name that ends in {', '.join(CHART_ENDINGS)}"
    hint = nearest(file.suffix.lower(), CHART_ENDINGS)
    says = "a chart of an unknown kind"
    return [Problem(says, repr(file.suffix), expected, file=str(file), key="--chart", hint=hint)]


def write_chart(file: Path, chart: TopChart, title: str) -> None:
    """Write a chart.

    Parameters
    ----------
    file : Path
        Where to; its ending says as what.
    chart : altair chart
        A themed chart.
    title : str
        Title of an HTML page.

    Raises
    ------
    InputError
        If the ending is unknown.
    WriteError
        If it cannot be written.
    """
    from boomwright.paper.charts import chart_png, chart_svg

    if problems := chart_problems(file):
        raise InputError(problems)
    kind = file.suffix.lower()
    if kind == ".png":
        write_whole(file, chart_png(chart))
    elif kind == ".pdf":
        import vl_convert

        write_whole(file, vl_convert.svg_to_pdf(chart_svg(chart)))
    elif kind == ".svg":
        write_whole(file, chart_svg(chart))
    else:
        write_whole(file, _page(chart_svg(chart), title))


def _page(svg: str, title: str) -> str:
    """A page that holds the picture and needs nothing from outside."""
    return (
        "<!doctype html>\n"
        f'<html lang="en"><head><meta charset="utf-8"><title>{html.escape(title)}</title>\n'
        '<meta name="viewport" content="width=device-width">\n'
        "<style>body{margin:1rem}svg{max-width:100%;height:auto}</style></head>\n"
        f"<body>{svg}</body></html>\n"
    )
