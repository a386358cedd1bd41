"""The Outcome: everything physics has to say about a build, as plain frozen data.

Every number is in SI units; temperatures are in kelvin, levels in dB(A). A :class:`Range` holds
the likely value and the ends between which nine in ten versions of the build lie.
"""

from __future__ import annotations

import html
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING

import numpy as np

from boomwright.physics.arrays import Floats

if TYPE_CHECKING:
    from pydantic import TypeAdapter

__all__ = [
    "AmplifierOutcome",
    "Curve",
    "DriverOutcome",
    "Influence",
    "Outcome",
    "OutputOutcome",
    "ParkedOutcome",
    "PartOutcome",
    "Range",
    "ScenarioOutcome",
    "SourceOutcome",
    "range_of",
]

_LOW, _HIGH = 5.0, 95.0


@dataclass(frozen=True)
class Range:
    """A likely value and the ends of its range."""

    likely: float
    low: float
    high: float

    @property
    def certain(self) -> bool:
        """True where the range has no width."""
        return self.low == self.high


def range_of(values: Floats) -> Range:
    """Likely value (version 0) and the ends that hold nine in ten versions.

    Parameters
    ----------
    values : array (versions,)
        One value per version.

    Returns
    -------
    Range

    Examples
    --------
    >>> range_of(np.linspace(0.0, 100.0, 101))
    Range(likely=0.0, low=0.0, high=95.0)
    """
    likely = float(values[0])
    if np.all(np.isinf(values)):
        return Range(likely, likely, likely)
    low, high = np.percentile(values, [_LOW, _HIGH], method="inverted_cdf")
    return Range(likely, min(float(low), likely), max(float(high), likely))


@dataclass(frozen=True)
class PartOutcome:
    """A part in one scenario, at the start of the run.

    ``amps`` is the average, ``amps_peak`` the moment at which every output swings to its limit;
    ``own`` is the power it keeps for its use or turns to heat, ``loss`` the heat alone.
    ``junction`` is the hottest spot after hours of it, ``nan`` where there is none to name.
    """

    name: str
    kind: str
    volts_in: Range
    volts_out: Range
    amps: Range
    amps_peak: Range
    own: Range
    loss: Range
    junction: Range


@dataclass(frozen=True)
class Curve:
    """The likely version's run through time: seconds, volts, amps, state of charge, dB(A)."""

    time: tuple[float, ...]
    volts: tuple[float, ...]
    amps: tuple[float, ...]
    charge: tuple[float, ...]
    level: tuple[float, ...]


@dataclass(frozen=True)
class ScenarioOutcome:
    """One way of using the box, from full battery to the end.

    Parameters
    ----------
    key, title : str
        Its name in data and in words.
    level_asked : float
        Level asked for at the listener [dB(A)]; ``nan`` for flat out.
    level_start, level_end : Range
        Level there at the first moment and the last [dB(A)].
    clean_start, clean_end : Range
        Level there at which peaks just reach the clip point [dB(A)].
    duration : Range
        Time to the end [s].
    ending : str
        What ends the likely version.
    endings : dict of str to float
        Share of the versions that each ending stops.
    amps, watts : Range
        Current and power from the source at the start.
    amps_peak : Range
        Source current at the moment when every output swings to its limit, at the start [A].
    volts_end : Range
        Volts of the source at the end, under load [V].
    charge_left : Range
        Share of the label's charge that is not used at the end, 0 to 1.
    rebound : Range
        Volts an hour after the load has gone [V].
    rebound_soon : Range
        Volts a minute after [V].
    air : Range
        Air in the box after hours of it [K].
    heat : Range
        Heat made in the box [W].
    parts : tuple of PartOutcome
        Every part of the power tree.
    energy : dict of str to float
        Where the likely version's energy went, by part, then ``leads`` and ``battery itself`` [J].
    curve : Curve
        The likely version through time.
    """

    key: str
    title: str
    level_asked: float
    level_start: Range
    level_end: Range
    clean_start: Range
    clean_end: Range
    duration: Range
    ending: str
    endings: dict[str, float]
    amps: Range
    watts: Range
    amps_peak: Range
    volts_end: Range
    charge_left: Range
    rebound: Range
    rebound_soon: Range
    air: Range
    heat: Range
    parts: tuple[PartOutcome, ...]
    energy: dict[str, float]
    curve: Curve

    def part(self, name: str) -> PartOutcome:
        """A part by its name; KeyError if there is none."""
        for part in self.parts:
            if part.name == name:
                return part
        raise KeyError(name)


@dataclass(frozen=True)
class OutputOutcome:
    """One amplifier output: its load and what it can give.

    Powers are into the rated load with every output driven, at the start (full battery) and at
    the end of the run as wanted.
    """

    channel: int
    drivers: tuple[str, ...]
    load: float
    load_least: float
    clean_full: Range
    clean_empty: Range
    ten_percent_full: Range


@dataclass(frozen=True)
class AmplifierOutcome:
    """An amplifier board held against its claim, its source and its limits.

    ``claim_share`` is what the board really gives over what is claimed, ``nan`` without a claim;
    ``volts_for_claim`` the supply it would need; ``gain_excess`` how far the receiver's full
    output lies above what makes it clip [dB]; ``volts_peak`` the supply at its pins at the moment
    when every output swings to its limit, full battery and nearly empty.
    """

    name: str
    outputs: tuple[OutputOutcome, ...]
    clip_input: Range
    gain_excess: Range
    claim_share: Range
    volts_for_claim: float
    volts_peak_full: Range
    volts_peak_empty: Range


@dataclass(frozen=True)
class DriverOutcome:
    """A kind of driver: its band, its power flat out and the box it meets.

    ``box_fc`` and ``box_qtc`` are the closed-box resonance and Q, ``nan`` where unknown.
    """

    name: str
    low_end: float
    high_end: float
    sensitivity: Range
    power_flat_out: Range
    power_clipped: Range
    box_fc: float
    box_qtc: float


@dataclass(frozen=True)
class SourceOutcome:
    """The battery or supply as a source of current.

    ``short_circuit`` is its current into a short [A]; ``volts_full`` and ``volts_floor`` the
    rested full battery and the chemistry's floor [V]; ``energy_full`` what its label charge holds
    at nominal volts [J].
    """

    name: str
    volts_full: Range
    volts_floor: float
    volts_charging: float
    resistance: Range
    short_circuit: Range
    energy_full: Range


@dataclass(frozen=True)
class ParkedOutcome:
    """The box switched off on a shelf.

    ``drain`` is what still flows [A], by part in ``drains``; ``shelf`` the time until a full
    battery is ruined [s]; ``shelf_after_cutoff`` the same from the end of a run.
    """

    drain: Range
    drains: dict[str, float]
    shelf: Range
    shelf_after_cutoff: Range


@dataclass(frozen=True)
class Influence:
    """How far what is not known of one input widens the answers.

    Parameters
    ----------
    part, field : str
        Name of the part and of its field.
    kind, basis : str
        Kind of quantity, and what its value rests on.
    low, likely, high : str
        Its range, as printed.
    spread : float
        Width of the range over the likely value; over one unit for decibels and temperatures.
    shares : dict of str to float
        Share of the spread of each answer that follows it, 0 to 1: ``long`` (time as wanted),
        ``loud`` (clean level), ``hot`` (hottest part flat out). Shares in the noise are left out.
    """

    part: str
    field: str
    kind: str
    basis: str
    low: str
    likely: str
    high: str
    spread: float
    shares: dict[str, float]

    @property
    def greatest(self) -> float:
        """Its share of the answer that it widens most."""
        return max(self.shares.values(), default=0.0)


@dataclass(frozen=True)
class Outcome:
    """A build after physics.

    Parameters
    ----------
    name : str
        Name of the build.
    versions : int
        Versions of it that the ranges rest on.
    scenarios : tuple of ScenarioOutcome
        Ways of using it.
    amplifiers, drivers : tuple
        One entry per table of the file.
    source : SourceOutcome
        The battery or supply.
    parked : ParkedOutcome
        On the shelf.
    volume_net : Range
        Air left in the cabinet [m³]; ``nan`` without one.
    settled : bool
        Whether every moment had a solution; where not, a load asks more than its feed can give.
    influences : tuple of Influence
        Inputs that are not known for certain and widen an answer, the greatest share first.
    """

    name: str
    versions: int
    scenarios: tuple[ScenarioOutcome, ...]
    amplifiers: tuple[AmplifierOutcome, ...]
    drivers: tuple[DriverOutcome, ...]
    source: SourceOutcome
    parked: ParkedOutcome
    volume_net: Range
    settled: bool
    influences: tuple[Influence, ...] = ()

    def scenario(self, key: str) -> ScenarioOutcome:
        """A scenario by its key; KeyError if it does not apply to this build."""
        for scenario in self.scenarios:
            if scenario.key == key:
                return scenario
        raise KeyError(key)

    @property
    def wanted(self) -> ScenarioOutcome:
        """The run as wanted, without a phone."""
        return self.scenario("wanted")

    def to_json(self) -> str:
        """Whole outcome as JSON text; :meth:`from_json` gives it back without loss."""
        return _adapter().dump_json(self).decode()

    @classmethod
    def from_json(cls, text: str) -> Outcome:
        """Outcome read back from :meth:`to_json`; pydantic.ValidationError if it is none."""
        return _adapter().validate_json(text)

    def _repr_html_(self) -> str:
        """Table of the scenarios for a notebook."""
        head = "<tr><th>use</th><th>hours</th><th>dB(A) at the listener</th><th>box air</th></tr>"
        rows = "".join(
            f"<tr><td>{html.escape(scenario.title)}</td>"
            f"<td>{_hours(scenario.duration)}</td>"
            f"<td>{scenario.level_start.likely:.0f}</td>"
            f"<td>{scenario.air.likely - 273.15:.0f} °C</td></tr>"
            for scenario in self.scenarios
        )
        return f"<table><caption>{html.escape(self.name)}</caption>{head}{rows}</table>"


@cache
def _adapter() -> TypeAdapter[Outcome]:
    from pydantic import ConfigDict, TypeAdapter

    # JSON has no infinity; it is written as the text "Infinity", which reads back as the number.
    Outcome.__pydantic_config__ = ConfigDict(ser_json_inf_nan="strings")  # type: ignore[attr-defined]
    return TypeAdapter(Outcome)


def _hours(duration: Range) -> str:
    if np.isinf(duration.likely):
        return "no limit"
    low, likely, high = (value / 3600 for value in (duration.low, duration.likely, duration.high))
    return f"{likely:.1f} ({low:.1f} to {high:.1f})"
