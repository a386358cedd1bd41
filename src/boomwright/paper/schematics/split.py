"""Layout of a band split: the woofer's filter above the common lead, the tweeter's below it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from boomwright.circuit.netlist import GROUND, Netlist
from boomwright.circuit.parts import Part, Resistor, VoltageSource
from boomwright.paper.schematics.layout import Layout
from boomwright.paper.schematics.sheet import Sheet
from boomwright.paper.schematics.symbols import Symbol, two_leads

__all__ = ["SPLIT_LAYOUTS"]

_SERIES, _ACROSS, _START = 3.0, 3.0, 3.25
"""Room for a part in the line, for one across with its words, and for the amplifier."""

_PART, _LEAST = 2.25, 3.25
"""Height of one part of a chain across, and of a row."""

_SPEAKER_WORDS = 1.1

_FIRST = "LS1"
_FEED = "amp"
"""Node of the amplifier's output."""


@dataclass(frozen=True)
class _Rung:
    """One step: parts in the line, or a chain from the line to the common lead."""

    parts: tuple[str, ...]
    across: bool


@dataclass(frozen=True)
class _Row:
    """One driver with the steps of its filter."""

    rungs: tuple[_Rung, ...]
    speaker: str

    @property
    def height(self) -> float:
        chains = [len(rung.parts) for rung in self.rungs if rung.across]
        return max([_LEAST, *(_PART * count + 0.25 for count in chains)])


def _rows(netlist: Netlist) -> list[_Row]:
    """Rows in the order of the loudspeakers; each loudspeaker stands behind its filter."""
    rows: list[_Row] = []
    waiting: list[Part] = []
    for part in netlist.parts:
        if isinstance(part, VoltageSource):
            continue
        if part.name.startswith("LS"):
            rows.append(_Row(tuple(_rungs(waiting, netlist)), part.name))
            waiting = []
        else:
            waiting.append(part)
    return rows


def _rungs(parts: Sequence[Part], netlist: Netlist) -> list[_Rung]:
    touching = [node for part in netlist.parts for node in part.nodes]
    rungs: list[_Rung] = []
    chain: list[str] = []
    for place, part in enumerate(parts):
        chain.append(part.name)
        end = part.nodes[-1]
        if end == GROUND:
            rungs.append(_Rung(tuple(chain), across=True))
            chain = []
            continue
        # Between the parts of a chain nothing else is joined.
        follows = place + 1 < len(parts) and parts[place + 1].nodes[0] == end
        if follows and touching.count(end) == 2 and _ends_across(parts[place:], netlist):
            continue
        rungs.append(_Rung(tuple(chain), across=False))
        chain = []
    return rungs


def _ends_across(parts: Sequence[Part], netlist: Netlist) -> bool:
    """Whether parts that follow one another lead to the common lead with nothing joined between."""
    touching = [node for part in netlist.parts for node in part.nodes]
    for place, part in enumerate(parts):
        end = part.nodes[-1]
        if end == GROUND:
            return place > 0
        if touching.count(end) != 2:
            return False
    return False


def _draw_split(sheet: Sheet) -> None:
    rows = _rows(sheet.netlist)
    if not rows:
        # The netlist's own refusal: there is nothing here to draw.
        sheet.part(_FIRST)
    levels = [row.height if at == 0 else -row.height for at, row in enumerate(rows)]
    sheet.two("V1", (0.0, levels[0]), (0.0, 0.0), "right", say="amplifier", signal=True)
    sheet.node(_FEED, (0.0, levels[0]))
    ends = [_draw_row(sheet, row, level) for row, level in zip(rows, levels, strict=True)]
    if len(rows) > 1:
        sheet.wire((0.0, levels[0]), (-1.25, levels[0]), (-1.25, levels[1]), (0.0, levels[1]))
    sheet.wire((0.0, 0.0), (max(ends), 0.0))
    sheet.note(
        "The common lead goes to the minus of this amplifier output and nowhere else: on a bridge "
        "amplifier it is driven, and is not ground. Coils are drawn with their wire in them."
    )


def _draw_row(sheet: Sheet, row: _Row, level: float) -> float:
    """Filter and loudspeaker from the amplifier to the right; gives the loudspeaker's place."""
    up = level > 0.0
    x = _START
    sheet.wire((0.0, level), (x, level))
    for rung in row.rungs:
        if rung.across:
            step = level / len(rung.parts)
            for place, name in enumerate(rung.parts):
                upper, lower = level - place * step, level - (place + 1) * step
                sheet.two(name, (x, upper), (x, lower), "right")
            sheet.wire((x, level), (x + _ACROSS, level))
            x += _ACROSS
        else:
            for name in rung.parts:
                sheet.two(name, (x, level), (x + _SERIES, level), "above" if up else "below")
                x += _SERIES
            if rung is row.rungs[-1]:
                sheet.wire((x, level), (x + 0.75, level))
                x += 0.75
    _draw_speaker(sheet, row.speaker, x, level)
    return x


def _draw_speaker(sheet: Sheet, name: str, x: float, level: float) -> None:
    part = sheet.device(name, Resistor)
    top, bottom = (x, max(level, 0.0)), (x, min(level, 0.0))
    strokes = two_leads(part, top, bottom).strokes
    line, common = (x, level), (x, 0.0)
    turned = part.a == GROUND
    plus, minus = (common, line) if turned else (line, common)
    node = part.b if turned else part.a
    driver = "driver" if node == _FEED else node
    symbol = Symbol(strokes, {"a": plus, "b": minus})
    sheet.place(name, symbol, (x + _SPEAKER_WORDS, level / 2.0), "right", say=driver)
    inward = 0.35 if plus[1] <= min(level, 0.0) else -0.35
    sheet.caption("+", (x - 0.3, plus[1] + 1.6 * inward), "middle")


SPLIT_LAYOUTS: dict[str, Layout] = {
    "split": Layout(
        _draw_split,
        {"V1": VoltageSource},
        "Coils keep the treble from the woofer and capacitors keep the bass from the tweeter; "
        "what lies across a driver takes what is left of the wrong band past it.",
    )
}
"""Layout of a band split, for one driver or two."""
