"""Volts and amps everywhere in the power tree at one moment, solved together.

The tree is swept from the leaves up for currents and from the source down for volts until both
agree, as load flow is solved in branching supply networks. Every array is (versions, scenarios).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from boomwright.outcome.plan import AmplifierNumbers, NodeNumbers, Plan
from boomwright.physics.amplifier import supply_power, swing_peak
from boomwright.physics.arrays import Floats
from boomwright.physics.clipped_programme import clipped_means
from boomwright.physics.linear import linear_input_current, stepped_down_output
from boomwright.physics.programme import Programme

__all__ = ["Drive", "Moment", "collapsed", "solve_moment"]

_SWEEPS = 90
_SETTLED = 1e-9
_LEAST_VOLTS = 0.3
# A sweep that leaves less than this of the way shrinks steadily.
_STEADY = 1 / 3
# Louder than this over the clip point nobody listens; it bounds what a wish can draw.
_OVERDRIVE = 2.0

Mode = Literal["music", "peak", "beat", "silent"]


@dataclass(frozen=True)
class Drive:
    """What the amplifiers are asked for.

    Parameters
    ----------
    volts : array (versions, scenarios)
        Volts rms that each output is asked for.
    flat_out : array (scenarios,) of bool
        Where the peaks just reach the clip point instead, whatever ``volts`` says.
    phone : array (scenarios,) of float
        1 where a phone is on charge.
    mode : str
        ``music`` for averages, ``peak`` for the moment at which every output swings to its limit,
        ``beat`` for a bass note as loud as the peaks of what is asked, averaged over its swings,
        ``silent`` for no signal.
    """

    volts: Floats
    flat_out: np.ndarray[tuple[int], np.dtype[np.bool_]]
    phone: Floats
    mode: Mode = "music"


@dataclass(frozen=True)
class Moment:
    """The tree at one moment; lists run over the plan's nodes, arrays over versions × scenarios.

    Parameters
    ----------
    terminal : array
        Volts at the source's terminals.
    current : array
        Amps from the source.
    inputs, outputs : tuple of array
        Volts into and out of each node.
    currents : tuple of array
        Amps into each node.
    volts : array
        Volts rms asked of the outputs after the limit of what can be asked.
    mean_squares : tuple of array
        Mean square volts of each amplifier output, in the plan's order.
    peaks : tuple of array
        Greatest clean peak volts of each amplifier output.
    settled : bool
        Whether the sweeps came to rest everywhere, and nowhere at the floor of the search.
    """

    terminal: Floats
    current: Floats
    inputs: tuple[Floats, ...]
    outputs: tuple[Floats, ...]
    currents: tuple[Floats, ...]
    volts: Floats
    mean_squares: tuple[Floats, ...]
    peaks: tuple[Floats, ...]
    settled: bool


@dataclass
class _Sound:
    """What the amplifiers do at the volts of a sweep."""

    volts: Floats
    mean_squares: list[Floats]
    peaks: list[Floats]
    # Volts rms at which the first output to clip just does not: one volume knob serves them all.
    knob: Floats


def solve_moment(
    plan: Plan, *, emf: Floats, resistance: Floats, drive: Drive, guess: Moment | None = None
) -> Moment:
    """Volts and amps of every part at one moment.

    Parameters
    ----------
    plan : Plan
        The build in numbers.
    emf : array (versions, scenarios)
        Volts behind the source's resistance.
    resistance : array, broadcastable
        The source's resistance [Ω].
    drive : Drive
        What is asked of the amplifiers.
    guess : Moment or None
        A moment close by, to start from.

    Returns
    -------
    Moment
        Where a load asks for more than the source can give, volts fall to the floor of the
        search and the amplifiers stop; ``settled`` tells.
    """
    count = len(plan.nodes)
    currents: list[Floats] = list(guess.currents) if guess else [np.zeros_like(emf)] * count
    inputs: list[Floats] = [emf] * count
    outputs: list[Floats] = [emf] * count
    knob = np.full_like(emf, np.inf)
    terminal, sound, settled = emf, _Sound(drive.volts, [], [], knob), False
    total = _sum_of(plan.children[-1], currents, emf)
    if guess:
        # The guess's currents meet this moment's volts first: its own volts would tell the first
        # sweep that nothing has moved, and the second that everything rings.
        terminal = np.maximum(emf - total * resistance, _LEAST_VOLTS)
        inputs, outputs = _sweep_down(plan, terminal, currents)
    share, last = np.ones_like(emf), np.zeros_like(emf)
    for sweep in range(_SWEEPS):
        sound = _Sound(drive.volts, [], [], sound.knob)
        wanted, total_wanted = _sweep_up(plan, inputs, outputs, drive, sound)
        move = total_wanted - total
        share = _step_share(share, move, last, terminal=terminal, resistance=resistance)
        last = move
        before = currents
        currents = [old + share * (new - old) for old, new in zip(before, wanted, strict=True)]
        total = _sum_of(plan.children[-1], currents, emf)
        terminal_new = np.maximum(emf - total * resistance, _LEAST_VOLTS)
        inputs_new, outputs = _sweep_down(plan, terminal_new, currents)
        at_rest = sweep > 0 and _still(terminal_new, terminal)
        settled = (
            at_rest and all(map(_still, inputs_new, inputs)) and all(map(_still, currents, before))
        )
        inputs, terminal = inputs_new, terminal_new
        if settled:
            break
    found = Moment(
        terminal=terminal,
        current=total,
        inputs=tuple(inputs),
        outputs=tuple(outputs),
        currents=tuple(currents),
        volts=sound.volts,
        mean_squares=tuple(sound.mean_squares),
        peaks=tuple(sound.peaks),
        settled=settled,
    )
    return replace(found, settled=False) if np.any(collapsed(found)) else found


def collapsed(moment: Moment) -> np.ndarray[tuple[int, ...], np.dtype[np.bool_]]:
    """Where a load asks for more than the source can give, (versions, scenarios) of bool."""
    return np.asarray(moment.terminal <= _LEAST_VOLTS)


def _still(new: Floats, old: Floats) -> bool:
    return bool(np.abs(new - old).max() < _SETTLED)


def _step_share(
    share: Floats, move: Floats, last: Floats, *, terminal: Floats, resistance: Floats
) -> Floats:
    """Share of the way to the wanted currents that a sweep goes.

    Where sweeps shrink steadily, as far as the secant through the two last ones points. Less where
    the currents swing to and fro without dying out, and never so far that a weak source loses more
    than half of its volts at once: what a board takes at full volts would knock it out, though it
    settles lower down.
    """
    size, before = np.abs(move), np.abs(last)
    rings = (move * last < 0) & (size > 0.5 * before)
    onward = np.where(rings, 0.5 * share, np.minimum(1.3 * share, 1.0))
    steady = size < _STEADY * before
    share = np.where(steady, share * last / np.where(steady, last - move, 1.0), onward)
    most = 0.5 * terminal / np.maximum(resistance * move, 1e-12)
    return np.where(terminal > _LEAST_VOLTS, np.minimum(share, most), 1.0)


def _sum_of(places: tuple[int, ...], currents: list[Floats], like: Floats) -> Floats:
    if not places:
        return np.zeros_like(like)
    total = currents[places[0]]
    for place in places[1:]:
        total = total + currents[place]
    return total


def _sweep_up(
    plan: Plan, inputs: list[Floats], outputs: list[Floats], drive: Drive, sound: _Sound
) -> tuple[list[Floats], Floats]:
    """Current that each node wants at the volts it has, leaves first."""
    wanted: list[Floats] = [np.zeros_like(inputs[0])] * len(plan.nodes) if inputs else []
    heard: dict[int, _Sound] = {}
    for place in range(len(plan.nodes) - 1, -1, -1):
        node = plan.nodes[place]
        if node.amplifier is not None:
            heard[place] = _Sound(drive.volts, [], [], sound.knob)
            wanted[place] = _amplifier_current(
                node.amplifier, inputs[place], drive, plan.programme, heard[place]
            )
        elif node.rail is not None:
            fed = _sum_of(plan.children[place], wanted, inputs[place])
            wanted[place] = _rail_current(node, inputs[place], outputs[place], fed)
        elif node.kind == "usb":
            wanted[place] = np.broadcast_to(node.current * drive.phone, inputs[place].shape)
        else:
            wanted[place] = node.current + _sum_of(plan.children[place], wanted, inputs[place])
    sound.volts, sound.knob = np.full((2, *drive.volts.shape), np.inf)
    for place in sorted(heard):
        # A board alone is its own first to clip, and knows it from this sweep, not from the last.
        if len(heard) > 1:
            sound.knob = np.minimum(sound.knob, heard[place].knob)
        sound.mean_squares += heard[place].mean_squares
        sound.peaks += heard[place].peaks
        sound.volts = np.minimum(sound.volts, heard[place].volts)
    return wanted, _sum_of(plan.children[-1], wanted, drive.volts)


def _sweep_down(
    plan: Plan, terminal: Floats, currents: list[Floats]
) -> tuple[list[Floats], list[Floats]]:
    """Volts into and out of each node at the currents it has, source first."""
    inputs: list[Floats] = []
    outputs: list[Floats] = []
    for place, node in enumerate(plan.nodes):
        feed = terminal if node.node.parent < 0 else outputs[node.node.parent]
        volts = np.maximum(feed - currents[place] * node.lead, _LEAST_VOLTS)
        inputs.append(volts)
        if node.lossless:
            outputs.append(volts)
            continue
        if node.rail is None:
            given = volts - currents[place] * node.series - node.drop
        elif node.rail.boost:
            given = np.broadcast_to(node.rail.voltage, volts.shape)
        else:
            given = stepped_down_output(
                volts, voltage_set=node.rail.voltage, dropout=node.rail.dropout
            )
        outputs.append(np.maximum(given, _LEAST_VOLTS))
    return inputs, outputs


def _rail_current(node: NodeNumbers, volts: Floats, output: Floats, fed: Floats) -> Floats:
    rail = node.rail
    if rail is None:
        raise ValueError(f"{node.name} is no rail")
    if rail.linear:
        return linear_input_current(fed, current_ground=rail.ground_current)
    return rail.loss.input_power(output * fed) / volts


def _amplifier_current(
    amplifier: AmplifierNumbers, volts: Floats, drive: Drive, programme: Programme, sound: _Sound
) -> Floats:
    """Amps that a board takes, and what its outputs give, noted in ``sound``.

    The board is taken to play at any volts: whether it locks out is for the run to judge, since a
    board that drops out and comes back within a sweep has no settled moment.
    """
    crest = 10 ** (programme.crest_factor_db / 20)
    twins = amplifier.twins
    peaks: list[Floats] = []
    for place, output in enumerate(amplifier.outputs):
        peaks.append(
            peaks[twins[place]]
            if twins[place] < place
            else swing_peak(
                volts,
                rail_share=amplifier.rail_share,
                voltage_loss=amplifier.voltage_loss,
                resistance_output=amplifier.output_resistance,
                load=output.load,
                current_limit=amplifier.current_max,
            )
        )
    power = amplifier.idle_power + np.zeros_like(volts)
    if peaks:
        lowest = np.minimum.reduce(peaks)
        asked = np.where(drive.flat_out, np.minimum(lowest / crest, sound.knob), drive.volts)
        sound.knob = lowest / crest
        sound.volts = np.minimum(asked, _OVERDRIVE * lowest / crest)
    drawn: list[Floats] = []
    for place, (output, peak) in enumerate(zip(amplifier.outputs, peaks, strict=True)):
        sound.peaks.append(peak)
        if twins[place] < place:
            sound.mean_squares.append(sound.mean_squares[twins[place]])
            drawn.append(drawn[twins[place]])
            continue
        if drive.mode == "silent":
            mean_abs = mean_square = np.zeros_like(volts)
        elif drive.mode == "peak":
            mean_abs, mean_square = peak, peak**2
        elif drive.mode == "beat":
            swing = np.minimum(peak, sound.volts * crest)
            mean_abs, mean_square = 2.0 / np.pi * swing, 0.5 * swing**2
        else:
            # Silence has no crest; any clip level will do for it.
            rms = np.maximum(sound.volts, 1e-12)
            mean_abs, mean_square = clipped_means(programme, peak / rms)
            mean_abs = rms * mean_abs * np.sqrt(output.share)
            mean_square = rms**2 * mean_square
        sound.mean_squares.append(mean_square)
        share = 1.0 if drive.mode == "peak" else amplifier.rail_share
        drawn.append(
            supply_power(
                supply_voltage=volts,
                rail_share=share,
                switching=amplifier.switching,
                load=output.load,
                resistance_output=amplifier.output_resistance,
                mean_abs=mean_abs,
                mean_square=mean_square * (output.share if drive.mode == "music" else 1.0),
                power_idle=0.0,
                loss_switching=amplifier.loss_switching,
            )
        )
    return sum(drawn, power) / volts
