"""Amplifier boards and drivers held against their load, their feed and what is claimed of them."""

from __future__ import annotations

import numpy as np

from boomwright.build.audio import Amplifier
from boomwright.outcome.boxes import box_of
from boomwright.outcome.data import (
    AmplifierOutcome,
    DriverOutcome,
    OutputOutcome,
    Range,
    range_of,
)
from boomwright.outcome.discharge import Run
from boomwright.outcome.network import Moment
from boomwright.outcome.plan import AmplifierNumbers, NodeNumbers, Plan
from boomwright.outcome.voices import BASS_BANDS
from boomwright.physics.amplifier import clean_power, gain_excess_db, input_sensitivity
from boomwright.physics.arrays import Floats
from boomwright.physics.claims import claimed_voltage
from boomwright.physics.clipping import clipped_power_factor

__all__ = ["amplifier_outcomes", "driver_outcomes"]

_NAN = Range(np.nan, np.nan, np.nan)
_CLAIM_DISTORTION = 0.1
_LEAST_INPUT = 1e-4


def amplifier_outcomes(
    plan: Plan, run: Run, peaks: tuple[Moment, Moment], *, wanted: int, loudest: int
) -> tuple[AmplifierOutcome, ...]:
    """Every amplifier board.

    Parameters
    ----------
    plan : Plan
        The build in numbers.
    run : Run
        The run down.
    peaks : tuple of Moment
        First and last moment with every output at its limit.
    wanted, loudest : int
        Columns of the scenarios as wanted and flat out.

    Returns
    -------
    tuple of AmplifierOutcome
    """
    found, first = [], 0
    for place, node in enumerate(plan.nodes):
        if node.amplifier is not None and isinstance(node.node.part, Amplifier):
            last = first + len(node.amplifier.outputs)
            found.append(
                _amplifier(plan, run, peaks, place, node, slice(first, last), wanted, loudest)
            )
            first = last
    return tuple(found)


def _amplifier(
    plan: Plan,
    run: Run,
    peaks: tuple[Moment, Moment],
    place: int,
    node: NodeNumbers,
    mine: slice,
    wanted: int,
    loudest: int,
) -> AmplifierOutcome:
    part, numbers = node.node.part, node.amplifier
    if not isinstance(part, Amplifier) or numbers is None:
        raise ValueError(f"{node.name} is no amplifier")
    outputs = []
    total: Floats = np.zeros((plan.draws.versions,))
    for output, full, empty in zip(
        numbers.outputs, run.start.peaks[mine], run.end.peaks[mine], strict=True
    ):
        at_full = clean_power(full[:, loudest : loudest + 1], output.load)[:, 0]
        at_empty = clean_power(empty[:, wanted : wanted + 1], output.load)[:, 0]
        ten_percent = at_full * float(clipped_power_factor(_CLAIM_DISTORTION))
        total = total + ten_percent
        outputs.append(
            OutputOutcome(
                channel=output.channel,
                drivers=tuple(group.driver.name for group in output.groups),
                load=float(output.load[0, 0]),
                load_least=output.load_least,
                clean_full=range_of(at_full),
                clean_empty=range_of(at_empty),
                ten_percent_full=range_of(ten_percent),
            )
        )
    clip_input, excess = _input(plan, part, run, mine, loudest)
    return AmplifierOutcome(
        name=part.name,
        outputs=tuple(outputs),
        clip_input=clip_input,
        gain_excess=excess,
        claim_share=range_of(total / _claimed(part, numbers)) if part.claim and outputs else _NAN,
        volts_for_claim=_volts_for_claim(part, node),
        volts_peak_full=range_of(peaks[0].inputs[place][:, loudest]),
        volts_peak_empty=range_of(peaks[1].inputs[place][:, loudest]),
    )


def _input(plan: Plan, part: Amplifier, run: Run, mine: slice, loudest: int) -> tuple[Range, Range]:
    """Volts rms at the input that just clip the board, and the receiver's excess over them."""
    peaks = run.start.peaks[mine]
    if not peaks:
        return _NAN, _NAN
    peak = np.minimum.reduce(peaks)[:, loudest]
    gain = plan.take(part.name, "gain", part.gain) - plan.take(
        part.name, "input_pad", part.input_pad
    )
    limit = input_sensitivity(peak, gain_db=gain[:, 0])
    # A board whose supply gives way swings nowhere, and then no input is too much or too little.
    if not plan.build.receiver or limit[0] <= 0:
        return range_of(limit), _NAN
    limit = np.maximum(limit, _LEAST_INPUT)
    receiver = plan.build.receiver[0]
    output = plan.take(receiver.name, "output", receiver.output)[:, 0]
    return range_of(limit), range_of(gain_excess_db(output, limit) + np.zeros_like(peak))


def _claimed(part: Amplifier, numbers: AmplifierNumbers) -> float:
    """Watts claimed for those outputs that have drivers; a claim is for the whole board."""
    outputs = part.channels if part.use == "as-built" else 1
    return part.claim.likely * len(numbers.outputs) / outputs if part.claim else float("nan")


def _volts_for_claim(part: Amplifier, node: NodeNumbers) -> float:
    numbers = node.amplifier
    if part.claim is None or numbers is None or not numbers.outputs:
        return float("nan")
    share = _claimed(part, numbers) / len(numbers.outputs)
    return float(
        claimed_voltage(
            share,
            float(numbers.outputs[0].load[0, 0]),
            rail_share=numbers.rail_share,
            voltage_loss=part.voltage_loss.likely,
            resistance_output=float(numbers.output_resistance[0, 0]),
            distortion=_CLAIM_DISTORTION,
        )
    )


def driver_outcomes(plan: Plan, run: Run, *, loudest: int) -> tuple[DriverOutcome, ...]:
    """Every kind of driver, in the order of the file.

    Parameters
    ----------
    plan : Plan
        The build in numbers.
    run : Run
        The run down.
    loudest : int
        Column of the scenario flat out.

    Returns
    -------
    tuple of DriverOutcome
    """
    found = []
    for driver in plan.build.driver:
        powers, clipped, group = [], [], None
        for output, peak in zip(plan.outputs, run.start.peaks, strict=True):
            for candidate in output.groups:
                if candidate.driver is driver:
                    group = candidate
                    share = candidate.power_share
                    top = peak[:, loudest : loudest + 1] * candidate.drive
                    crest = 10 ** (plan.programme.crest_factor_db / 20)
                    powers.append(((top / crest) ** 2 / candidate.impedance * share)[:, 0])
                    clipped.append((top**2 / 2 / candidate.impedance * share)[:, 0])
        if group is None:
            continue
        box = box_of(plan.build, group) if driver.band in BASS_BANDS else None
        found.append(
            DriverOutcome(
                name=driver.name,
                low_end=float(group.low_end[0, 0]),
                high_end=float(group.high_end[0, 0]),
                sensitivity=range_of(group.sensitivity[:, 0]),
                power_flat_out=range_of(np.maximum.reduce(powers)),
                power_clipped=range_of(np.maximum.reduce(clipped)),
                box_fc=box.fc if box else float("nan"),
                box_qtc=box.qtc if box else float("nan"),
            )
        )
    return tuple(found)
