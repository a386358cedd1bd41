"""What lines and leads on a drawing join, found from their places alone."""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Mapping, Sequence
from typing import TypeVar

from boomwright.circuit.netlist import Netlist

__all__ = ["Nets", "Segment", "joined", "joints", "netlist_nets", "on_segment"]

Point = tuple[float, float]
Segment = tuple[Point, Point]
"""A straight piece of wire."""

Nets = frozenset[frozenset[tuple[str, str]]]
"""Groups of terminals, each a part and its field, that are one conductor."""

_NEAR = 0.02

_Key = TypeVar("_Key", bound=Hashable)


def on_segment(point: Point, segment: Segment, *, near: float = _NEAR) -> bool:
    """Whether a place lies on a straight piece, its ends included."""
    (ax, ay), (bx, by) = segment
    dx, dy = bx - ax, by - ay
    length = dx * dx + dy * dy
    share = 0.0 if length == 0 else ((point[0] - ax) * dx + (point[1] - ay) * dy) / length
    share = min(max(share, 0.0), 1.0)
    x, y = ax + share * dx, ay + share * dy
    return abs(point[0] - x) <= near and abs(point[1] - y) <= near


def _same(one: Point, other: Point, near: float) -> bool:
    return abs(one[0] - other[0]) <= near and abs(one[1] - other[1]) <= near


def joined(
    terminals: Mapping[_Key, Point], segments: Sequence[Segment], *, near: float = _NEAR
) -> frozenset[frozenset[_Key]]:
    """Groups of terminals that wires make one.

    Wires touch where the end of one lies on the other; two that merely cross do not.

    Parameters
    ----------
    terminals : mapping
        Place of each terminal.
    segments : sequence of Segment
        Straight pieces of wire, on the same scale.
    near : float
        How far apart two places may be that count as one.

    Returns
    -------
    frozenset of frozenset
        Every terminal in just one group.

    Examples
    --------
    >>> places = {"a": (0.0, 0.0), "b": (2.0, 1.0), "c": (1.0, 3.0)}
    >>> wires = [((0.0, 0.0), (4.0, 0.0)), ((2.0, 0.0), (2.0, 1.0)), ((1.0, -1.0), (1.0, 3.0))]
    >>> sorted(sorted(group) for group in joined(places, wires))
    [['a', 'b'], ['c']]
    """
    count = len(segments)
    above = list(range(count + len(terminals)))

    def top(item: int) -> int:
        while above[item] != item:
            item = above[item]
        return item

    for index, segment in enumerate(segments):
        for other in range(index):
            touch = any(on_segment(end, segments[other], near=near) for end in segment) or any(
                on_segment(end, segment, near=near) for end in segments[other]
            )
            if touch:
                above[top(index)] = top(other)
    places = list(terminals.values())
    for index, place in enumerate(places):
        for other, segment in enumerate(segments):
            if on_segment(place, segment, near=near):
                above[top(count + index)] = top(other)
        for other in range(index):
            if _same(place, places[other], near):
                above[top(count + index)] = top(count + other)
    groups: dict[int, set[_Key]] = {}
    for index, key in enumerate(terminals):
        groups.setdefault(top(count + index), set()).add(key)
    return frozenset(frozenset(group) for group in groups.values())


def joints(leads: Iterable[Point], segments: Sequence[Segment]) -> list[Point]:
    """Places where three or more conductors meet, which a drawing marks with a dot.

    Parameters
    ----------
    leads : iterable of Point
        Where a lead of a part ends; twice for two leads at one place.
    segments : sequence of Segment
        Straight pieces of wire.
    """
    ends = list(leads)
    places: list[Point] = []
    for place in (*ends, *(end for segment in segments for end in segment)):
        if not any(_same(place, known, _NEAR) for known in places):
            places.append(place)
    found = []
    for place in places:
        arms = sum(_same(place, end, _NEAR) for end in ends)
        for segment in segments:
            if any(_same(place, end, _NEAR) for end in segment):
                arms += 1
            elif on_segment(place, segment):
                arms += 2
        if arms > 2:
            found.append(place)
    return found


def netlist_nets(netlist: Netlist) -> Nets:
    """Groups of terminals that are one node of the netlist; leads left off are left out."""
    nodes: dict[str, set[tuple[str, str]]] = {}
    for part in netlist.parts:
        for field in part.NODES:
            if node := getattr(part, field):
                nodes.setdefault(node, set()).add((part.name, field))
    return frozenset(frozenset(group) for group in nodes.values())
