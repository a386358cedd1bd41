"""The minus wiring as a tree of leads, with the rings that screens close in it."""

from __future__ import annotations

from dataclasses import dataclass
from html import escape

from boomwright.build.quantities import format_quantity
from boomwright.design.ground.advice import stars
from boomwright.outcome.ground_data import Edge, GroundPlan
from boomwright.paper.look import LIGHT, Look
from boomwright.paper.room import text_width

__all__ = ["ground_tree_svg"]

_ROW, _STEP, _BOX, _MARGIN = 38, 40, 26, 24
_TOP, _LEGEND, _LANE, _APART = 76, 22, 64, 5.0
_FAN, _FIRST = 24.0, 8.0
_LONGEST = 28


@dataclass(frozen=True)
class _Place:
    """A part in the drawing: row, depth, its lead, its words, its width and where its lead lands.

    ``wire`` counts to the right from the left edge of what the lead ends on.
    """

    row: int
    depth: int
    lead: Edge | None
    name: str
    says: str
    box: float
    wire: float

    @property
    def x(self) -> float:
        return _MARGIN + _STEP * self.depth

    @property
    def y(self) -> float:
        return _TOP + _ROW * self.row


def ground_tree_svg(plan: GroundPlan, *, look: Look = LIGHT, title: str = "Minus wiring") -> str:
    """Drawing of a minus wiring: every part below what its minus lead ends on, rings marked.

    Parameters
    ----------
    plan : GroundPlan
        The minus wiring.
    look : Look
        Colours and letters.
    title : str
        Heading.

    Returns
    -------
    str
        One ``<svg>`` element that needs nothing from outside.

    Notes
    -----
    Leads in a ring and screens that close one are in the colour of stop and dashed; a bar marks a
    point where several leads meet.
    """
    places = _places(plan, look)
    ringed = {name for loop in plan.loops for name in loop.edges}
    joints = {star.at: star.label for star in stars(plan)}
    drawn = {place.lead.name for place in places.values() if place.lead is not None}
    extra = [
        edge
        for edge in plan.edges
        if edge.name not in drawn and edge.start in places and edge.end in places
    ]
    reach = max(place.x + place.box + 12 + _width(place.says, look) for place in places.values())
    lanes = reach + 24.0
    lines = [f"Ring of {_shown(loop.resistance)}: {', '.join(loop.edges)}" for loop in plan.loops]
    lines = lines or ["No ring: every part has one way back to the source."]
    widest = max(text_width(_clean(line), look.text_size) for line in (*lines, title))
    width = max(lanes + _LANE * len(extra) + 80.0, widest + 2 * _MARGIN)
    bottom = _TOP + _ROW * len(places)
    height = bottom + _LEGEND * len(lines) + _MARGIN
    body = [
        f'<rect width="{width:.0f}" height="{height:.0f}" fill="{look.sheet}"/>',
        _text(_MARGIN, 30, title, look.ink, look.heading_size, weight="bold"),
        _text(
            _MARGIN,
            50,
            "Each part hangs below the part that its minus lead ends on; a bar is a star point.",
            look.quiet,
            look.text_size,
        ),
    ]
    for place in places.values():
        body += _lead(place, places, ringed, look)
    for lane, edge in enumerate(extra):
        shift = _APART * (lane - 0.5 * (len(extra) - 1))
        body += _bridge(
            edge, places, lanes + _LANE * lane, shift=shift, ringed=edge.name in ringed, look=look
        )
    for node, place in places.items():
        body += _box(place, joints.get(node, ""), ringed, look)
    body += [
        _text(
            _MARGIN,
            bottom + _LEGEND * number + 10,
            line,
            look.stop if plan.loops else look.fine,
            look.text_size,
        )
        for number, line in enumerate(lines)
    ]
    said = "; ".join([*(f"{edge.name}: {edge.start} to {edge.end}" for edge in plan.edges), *lines])
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width:.0f}" height="{height:.0f}" '
        f'viewBox="0 0 {width:.0f} {height:.0f}" role="img" font-family="{look.letters}" '
        'style="font-variant-numeric:tabular-nums">'
        f"<title>{escape(_clean(title))}</title><desc>{escape(_clean(said))}</desc>"
        f"{''.join(body)}</svg>"
    )


def _places(plan: GroundPlan, look: Look) -> dict[str, _Place]:
    """Every part in the order it is drawn in, what hangs on it right below it."""
    above: dict[str, Edge] = {}
    for edge in plan.edges:
        if edge.kind != "screen":
            above.setdefault(edge.start, edge)
    below: dict[str, list[str]] = {}
    for start, edge in above.items():
        below.setdefault(edge.end, []).append(start)
    places: dict[str, _Place] = {}

    def put(node: str, depth: int, wire: float) -> None:
        if node in places:
            return
        lead = above.get(node) if depth else None
        name = _short(node)
        says = "" if lead is None else _size(lead)
        box = text_width(name, look.text_size) + 20.0
        places[node] = _Place(len(places), depth, lead, name, says, box, wire)
        children = below.get(node, [])
        # The upper ones land further right, so that no lead crosses another.
        step = min(_FAN / max(len(children) - 1, 1), _FAN / 3.0)
        for number, child in enumerate(children):
            put(child, depth + 1, _FIRST + step * (len(children) - 1 - number))

    roots = [node for node in plan.nodes if node not in above]
    for node in (*roots, *plan.nodes):
        put(node, 0, 0.0)
    return places


def _lead(place: _Place, places: dict[str, _Place], ringed: set[str], look: Look) -> list[str]:
    """Lead from a part up to what it ends on, with its size beside the part."""
    if place.lead is None:
        return []
    parent = places[place.lead.end]
    x, stroke = parent.x + place.wire, _stroke(place.lead, ringed, look)
    return [
        f'<path d="M{x:.1f} {parent.y + _BOX / 2:.1f}V{place.y:.1f}H{place.x:.1f}" fill="none" '
        f"{stroke}/>",
        _text(
            place.x + place.box + 12,
            place.y + 4,
            place.says,
            look.stop if place.lead.name in ringed else look.quiet,
            look.small_size,
        ),
    ]


def _bridge(
    edge: Edge, places: dict[str, _Place], x: float, *, shift: float, ringed: bool, look: Look
) -> list[str]:
    """A conductor beside the tree, mostly a screen, as a bracket at the right."""
    one, other = sorted((places[edge.start], places[edge.end]), key=lambda place: place.row)
    ends = [place.x + place.box + 18 + _width(place.says, look) for place in (one, other)]
    colour = look.stop if ringed else look.quiet
    return [
        f'<path d="M{ends[0]:.1f} {one.y + shift:.1f}H{x:.1f}V{other.y + shift:.1f}'
        f'H{ends[1]:.1f}" fill="none" '
        f"{_stroke(edge, {edge.name} if ringed else set(), look)}/>",
        _text(x + 6, (one.y + other.y) / 2 + 4, edge.kind, colour, look.small_size),
    ]


def _stroke(edge: Edge, ringed: set[str], look: Look) -> str:
    if edge.name in ringed:
        dash = " ".join(map(str, look.off_dash))
        return f'stroke="{look.stop}" stroke-width="2.5" stroke-dasharray="{dash}"'
    if edge.kind == "screen":
        dash = " ".join(map(str, look.on_dash))
        return f'stroke="{look.quiet}" stroke-width="1.5" stroke-dasharray="{dash}"'
    return f'stroke="{look.copper}" stroke-width="2.5"'


def _box(place: _Place, joint: str, ringed: set[str], look: Look) -> list[str]:
    mine = place.lead is not None and place.lead.name in ringed
    edge = look.stop if mine else look.ink
    drawn = [
        f'<rect x="{place.x:.1f}" y="{place.y - _BOX / 2:.1f}" width="{place.box:.1f}" '
        f'height="{_BOX}" rx="3" fill="{look.sheet}" stroke="{edge}" stroke-width="1.5"/>',
        _text(place.x + 10, place.y + 4, place.name, look.ink, look.text_size),
    ]
    if joint:
        x, y = place.x, place.y + _BOX / 2
        drawn += [
            f'<rect x="{x + 2:.1f}" y="{y - 1:.1f}" width="{_FIRST + _FAN + 2:.1f}" height="5" '
            f'fill="{look.ink}"/>',
            _text(x - 3, y + 8, joint, look.ink, look.small_size, end=True),
        ]
    return drawn


def _size(edge: Edge) -> str:
    pieces = []
    if edge.area is not None:
        pieces.append(format_quantity(edge.area, "area", digits=2))
    if edge.length is not None:
        pieces.append(format_quantity(edge.length, "length", digits=2))
    pieces.append(_shown(edge.resistance.likely))
    return ", ".join(pieces)


def _shown(ohms: float) -> str:
    return format_quantity(ohms, "resistance", digits=2)


def _width(says: str, look: Look) -> float:
    return text_width(says, look.small_size) if says else 0.0


def _short(name: str) -> str:
    clean = _clean(name)
    return clean if len(clean) <= _LONGEST else f"{clean[: _LONGEST - 1]}…"


def _clean(text: str) -> str:
    """Text without the characters that no picture may hold."""
    return " ".join("".join(sign if sign.isprintable() else " " for sign in text).split())


def _text(
    x: float, y: float, says: str, colour: str, size: int, *, weight: str = "", end: bool = False
) -> str:
    bold = f' font-weight="{weight}"' if weight else ""
    anchor = ' text-anchor="end"' if end else ""
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" fill="{colour}" font-size="{size}"{bold}{anchor}>'
        f"{escape(_clean(says))}</text>"
    )
