"""Builds as somebody who knows what he does might write them, by chance but not at random.

Parts come from the drawer by what fits: a charger of the pack's chemistry and size, a cutoff of its
cells, a board whose window holds the pack's volts, drivers of ohms enough, wire for the fuse and a
fuse for the peaks, air enough for the drivers, and a wish that leaves some room. Nothing here asks
Boomwright: sizes come from rules of thumb, so that a false alarm shows.
"""

from __future__ import annotations

import math
import random
from dataclasses import dataclass


@dataclass(frozen=True)
class Pack:
    """A source with all that belongs to it."""

    source: str
    volts: float
    top: float
    watt_hours: float
    charger: str = ""
    cutoffs: tuple[str, ...] = ()
    lead: bool = False


def _lead(amp_hours: str, size: float, charger: str) -> Pack:
    cutoffs = (
        'part = "lead-12v-latching"',
        'part = "lead-12v-transistor"',
        'part = "lead-12v-latching"\noff = "11.8 V (measured)"',
    )
    return Pack(f"agm-12v-{amp_hours}", 12.4, 14.8, 12 * size * 0.55, charger, cutoffs, lead=True)


def _iron(size: float, name: str, charger: str) -> Pack:
    cutoffs = ('part = "lfp-4s-latching"', 'part = "lfp-4s-transistor"')
    return Pack(name, 13.0, 14.6, 12.8 * size * 0.8, charger, cutoffs)


_IRON_8 = (
    'off = "24.4 V ±1.5 % (measured)"\nlatching = true\nrating = "20 A"\ndelay = "10 s"\n'
    'resistance = "15 mΩ [5 to 30]"\ndrain_on = "8 mA [2 to 20]"\ndrain_off = "0.2 mA [0 to 1]"'
)

PACKS = (
    _lead("5ah", 5, "lead-12v-0a8"),
    _lead("7ah", 7, "lead-12v-0a8"),
    _lead("9ah", 9, "lead-12v-2a"),
    _lead("12ah", 12, "lead-12v-2a"),
    _lead("18ah", 18, "lead-12v-4a"),
    _iron(6, "lfp-4s-6ah", "lfp-4s-2a"),
    _iron(10, "lfp-4s-10ah", "lfp-4s-2a"),
    _iron(20, "lfp-4s-20ah", "lfp-4s-5a"),
    Pack("lfp-8s-6ah", 26.0, 29.2, 25.6 * 6 * 0.8, "lfp-8s-2a", (_IRON_8,)),
    Pack("li-ion-3s2p-6ah", 10.8, 12.6, 11 * 6 * 0.8, "li-ion-3s-2a",
         ('part = "li-ion-3s-latching"',)),
    Pack("li-ion-3s4p-12ah", 10.8, 12.6, 11 * 12 * 0.8, "li-ion-3s-2a",
         ('part = "li-ion-3s-latching"',)),
    Pack("li-ion-4s2p-6ah", 14.4, 16.8, 14.6 * 6 * 0.8, "li-ion-4s-2a",
         ('part = "li-ion-4s-latching"',)),
    Pack("li-ion-4s4p-12ah", 14.4, 16.8, 14.6 * 12 * 0.8, "li-ion-4s-2a",
         ('part = "li-ion-4s-latching"',)),
    Pack("nimh-10s-4ah5", 12.0, 14.5, 12 * 4.5 * 0.75, "nimh-10s-1a",
         ('part = "nimh-10s-latching"',)),
    Pack("nimh-10s-9ah", 12.0, 14.5, 12 * 9 * 0.75, "nimh-10s-1a",
         ('part = "nimh-10s-latching"',)),
    Pack("brick-12v-5a", 12.0, 12.6, math.inf),
    Pack("lab-13v8-10a", 13.8, 14.0, math.inf),
    Pack("laptop-19v-4a7", 19.0, 20.0, math.inf),
)  # fmt: skip


@dataclass(frozen=True)
class Board:
    """An amplifier board of the drawer: its window, channels, watts in silence, gain."""

    part: str
    least: float
    most: float
    channels: int
    idle: float
    gain: float
    loss: float
    linear: bool = False


BOARDS = (
    Board("class-ab-bridge-2x20", 9.5, 17.5, 2, 1.1, 26, 1.8, linear=True),
    Board("class-ab-bridge-mono-20", 9.5, 17.5, 1, 0.8, 32, 1.8, linear=True),
    Board("class-d-bridge-2x30", 9.5, 23.5, 2, 0.7, 26, 0.3),
    Board("class-d-bridge-2x50", 9.0, 23.5, 2, 0.8, 26, 0.3),
    Board("class-d-bridge-2x50-36db", 9.0, 23.5, 2, 0.8, 36, 0.3),
    Board("class-d-bridge-mono-60", 9.5, 23.5, 1, 0.5, 26, 0.3),
    Board("class-d-bridge-2x150-36v", 22.0, 35.5, 2, 4.0, 28, 0.5),
)
"""Windows a little inside what the drawer says, as a careful builder keeps them."""

_LEAST_VOLTS = {"agm": 11.0, "lfp-4": 11.8, "lfp-8": 24.0, "li-ion-3": 9.5, "li-ion-4": 12.6}


@dataclass(frozen=True)
class Speaker:
    """A driver of the drawer: its rated ohms, level, watts and the litres one wants."""

    part: str
    ohms: float
    level: float
    watts: float
    litres: float


SPEAKERS = (
    Speaker("driver-4in-8ohm", 8, 85.5, 15, 4),
    Speaker("driver-4in-4ohm", 4, 85.5, 15, 4),
    Speaker("driver-5in-8ohm", 8, 87.5, 25, 8),
    Speaker("driver-5in-4ohm", 4, 87.5, 25, 8),
    Speaker("driver-6in5-8ohm", 8, 88.5, 30, 14),
    Speaker("pa-8in-8ohm", 8, 95.0, 100, 12),
)

FUSES = (1, 2, 3, 4, 5, 7.5, 10, 15, 20)
WIRES = {3: 1.0, 4: 1.0, 5: 1.5, 7.5: 1.5, 10: 1.5, 15: 2.5, 20: 2.5}
"""Copper [mm²] behind a blade fuse of so many amperes."""


def _table(kind: str, **values: object) -> str:
    lines = [f"[{kind}]"]
    for key, value in values.items():
        if key == "more":
            lines.append(str(value))
        elif isinstance(value, bool | int):
            lines.append(f"{key} = {str(value).lower()}")
        else:
            lines.append(f'{key} = "{value}"')
    return "\n".join(lines) + "\n"


def sensible_build(number: int, *, seed: int = 7) -> str:
    """Text of a sensible build; the same for the same number and seed."""
    chance = random.Random(f"{seed}/{number}")
    pack = chance.choice(PACKS)
    low = next((v for name, v in _LEAST_VOLTS.items() if pack.source.startswith(name)), 0.9)
    low = low if low > 1 else pack.volts * 0.87
    boost = pack.source.startswith("li-ion-3s") and chance.random() < 0.5
    rail_volts = chance.choice([15, 16, 18])
    volts, top, least = (rail_volts,) * 3 if boost else (pack.volts, pack.top, low)
    boards = [item for item in BOARDS if item.least <= least and top <= item.most]
    boards = [item for item in boards if not (boost and item.linear)]
    board = chance.choice(boards)
    swing = volts - board.loss
    # A driver that stands twice the clean watts stands a clipping board as well.
    speakers = [item for item in SPEAKERS if swing**2 / (2 * item.ohms) * 1.25 <= item.watts]
    speaker = chance.choice(speakers)
    each = 2 if speaker.ohms == 8 and board.channels == 1 and chance.random() < 0.3 else 1
    if swing**2 / (2 * speaker.ohms) * 1.25 > speaker.watts or board.linear:
        each = 1
    count, load = board.channels * each, speaker.ohms / each
    amps = board.channels * swing / load * (volts / pack.volts if boost else 1.0) / 0.9
    rating = next(item for item in FUSES if item >= max(amps / 1.1, 3))
    copper = f"{WIRES[rating]:g} mm²"

    phone = chance.random() < 0.3 and pack.charger and "nimh" not in pack.source
    music = 0.6 * board.channels * (2.5 if board.linear else 1.0)
    watts = board.idle + 0.6 + music + (1.5 if board.linear else 0)
    hours = chance.uniform(0.25, 0.6) * (pack.watt_hours if pack.charger else 60) / watts
    hours = min(max(round(hours * 2) / 2, 0.5), 12)
    programme = chance.choice(["speech", "acoustic", "pop", "dance", "background"])
    place = chance.choice(["open", "floor", "floor", "floor-wall", "corner"])
    distance = chance.choice([1, 1.5, 2, 3])
    clean = speaker.level + 10 * math.log10(swing**2 / (2 * load) * board.channels)
    spare = {"speech": 22, "acoustic": 21, "pop": 17, "dance": 15, "background": 17}[programme]
    level = clean - spare - 20 * math.log10(distance) - chance.uniform(1, 8)
    level = round(min(level, 82))
    cold = chance.random() < 0.3
    low_outside = chance.randint(3, 10)

    text = [f'name = "Sensible {number}"\n']
    text.append(
        _table(
            "want",
            level=f"{level} dB(A) at {distance:g} m",
            hours=f"{hours:g} h",
            programme=programme,
            place=place,
            outside=f"{low_outside + 10} °C [{low_outside} to {low_outside + 16}]",
            shelf=f"{chance.choice([7, 14, 30, 45])} d",
            **({"coldest": f"{low_outside} °C"} if cold else {}),
        )
    )
    if pack.charger:
        extra = {"vented_bay": True} if pack.lead else {}
        text.append(_table("battery", part=pack.source, **extra))
        text.append(_table("charger", part=pack.charger, through="main"))
    else:
        text.append(_table("supply", part=pack.source))
    head = "[fuse]" if phone else "fuse"
    text.append(
        _table(
            head, name="main", rating=f"{rating:g} A", distance="10 cm",
            lead=f"{copper}, 0.1 m, genderless-30a",
        )
    )  # fmt: skip
    if phone:
        text.append(
            _table(head, name="phone fuse", part="blade-2a", fed_by="cutoff",
                   lead="1 mm², 0.1 m")
        )  # fmt: skip
    guard = "p-mosfet-20a" if amps > 6 else chance.choice(["p-mosfet-10a", "p-mosfet-20a"])
    text.append(_table("polarity", part=guard, lead=f"{copper}, 0.1 m"))
    text.append(_table("switch", part="rocker-automotive", lead=f"{copper}, 0.2 m"))
    if pack.cutoffs:
        own = chance.choice(pack.cutoffs)
        text.append(_table("cutoff", more=own, lead=f"{copper}, 0.2 m"))
    thin = "1 mm²" if rating > 7.5 else "0.75 mm²" if rating > 5 else "0.5 mm²"
    rails, receiver = [], chance.choice(["bt-receiver-5v", "bt-receiver-5v-isolated"])
    if boost:
        rails.append(
            _table("[rail]", name="high", part="boost-5a-sink",
                   voltage=f"{rail_volts} V ±3 % (standard)", lead=f"{copper}, 0.15 m")
        )  # fmt: skip
    high = pack.top > 22
    five = "buck-5a-sink" if high else "buck-1a-small"
    rails.append(_table("[rail]", name="five", part=five, lead=f"{thin}, 0.2 m"))
    if phone:
        strong = "buck-5a-sink" if high else "buck-car-usb-3a"
        rails.append(
            _table("[rail]", name="phone", part=strong, fed_by="phone fuse", lead="1 mm², 0.2 m")
        )
    text += rails
    text.append(_table("receiver", part=receiver, lead=f"{thin}, 0.2 m"))
    if phone:
        text.append(_table("usb", part="usb-a-shorted", fed_by="phone", lead="0.75 mm², 0.2 m"))
    output = 0.7 if receiver == "bt-receiver-5v" else 0.6
    pad = 20 * math.log10(output / (swing / math.sqrt(2) / 10 ** (board.gain / 20)))
    text.append(
        _table(
            "amplifier",
            part=board.part,
            fed_by="high" if boost else "",
            input="sum",
            input_pad=f"{max(round(pad), 0)} dB (standard)",
            lead=f"{copper}, 0.3 m",
            **({"sink": "3 K/W", "sink_outside": True} if board.linear else {}),
        )
    )
    text.append(
        _table("driver", part=speaker.part, count=count, lead_area="0.75 mm²",
               lead_length="0.4 m")
    )  # fmt: skip
    litres = count * speaker.litres * chance.uniform(0.9, 1.5) + 1
    text.append(
        _table("cabinet", volume=f"{litres:.1f} L", wall="12 mm", material="wood", leaks="tight",
               taken="0.5 L", electronics_apart=True, air_holes=True)
    )  # fmt: skip
    return "\n".join(text)
