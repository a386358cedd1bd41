"""Amplifier boards: what they really give, what feeds them, how their outputs are wired."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from boomwright.advice.finding import Change, Figure, Fix
from boomwright.advice.rules import Case, Says, rule
from boomwright.build.audio import Amplifier
from boomwright.build.quantities import format_quantity as shown
from boomwright.outcome.data import AmplifierOutcome
from boomwright.physics.amplifier import RAIL_SHARE
from boomwright.physics.claims import claimed_voltage
from boomwright.physics.impedance import first_order_capacitor, first_order_corner
from boomwright.physics.preferred import preferred_at_least
from boomwright.physics.smoothing import holdup_time

__all__: list[str] = []

_CLAIM_DISTORTION = 0.1
_CLAIM_VOLTS_MARGIN = 1.2
"""How far the volts a claim needs may lie above those it names before it counts as hollow."""
_CLAIM_SHARE_LEAST = 0.6

_BURST = 40e-6
_BURST_DIP = 0.1
_ROOM_FOR_BURSTS = 4.0
_STOUT_LEAD = 1.4e-6
_CAPACITOR_RATINGS = (16.0, 25.0, 35.0, 50.0, 63.0, 100.0)


def _boards(case: Case) -> Iterator[tuple[Amplifier, AmplifierOutcome]]:
    by_name = {outcome.name: outcome for outcome in case.outcome.amplifiers}
    for amplifier in case.build.amplifier:
        outcome = by_name.get(amplifier.name)
        if outcome is not None and outcome.outputs:
            yield amplifier, outcome


def _capacitor_rating(case: Case, board: Amplifier) -> str:
    """Usual rated voltage of an electrolytic at a board, charging of the battery included."""
    volts = case.outcome.wanted.part(board.name).volts_in.likely
    if not case.has_upstream(board.name, "rail"):
        volts = max(volts, case.outcome.source.volts_charging)
    return shown(next((v for v in _CAPACITOR_RATINGS if v >= 1.5 * volts), 100.0), "voltage")


def _peak_amps(case: Case, board: Amplifier) -> float:
    """Amps into a board when every output swings to its limit, full battery."""
    return case.outcome.scenario("flat-out").part(board.name).amps_peak.likely


@rule(
    "claim-hollow",
    "loud",
    title="Seller's watts that the supply volts cannot make",
    source="swing of an output stage on its supply; ten per cent distortion as sellers measure",
)
def claim_hollow(case: Case) -> Iterator[Says]:
    """A claim that its own volts cannot make, or that the wish counts on in vain."""
    wanted = case.outcome.wanted
    short = wanted.clean_start.likely < wanted.level_asked
    for board, outcome in _boards(case):
        if board.claim is None or np.isnan(outcome.claim_share.likely):
            continue
        claim, share = board.claim.likely, outcome.claim_share.likely
        needed = float(
            claimed_voltage(
                claim / board.channels,
                board.load_min.likely,
                rail_share=RAIL_SHARE[board.topology],
                voltage_loss=board.voltage_loss.likely,
                resistance_output=board.output_resistance.likely,
                distortion=_CLAIM_DISTORTION,
            )
        )
        named = board.claim_voltage
        hollow = named is not None and needed > _CLAIM_VOLTS_MARGIN * named.likely
        if share > _CLAIM_SHARE_LEAST or not (hollow or short):
            continue
        real = sum(output.ten_percent_full.likely for output in outcome.outputs)
        idle = board.use == "as-built" and len(outcome.outputs) < board.channels
        used = f" on {board.channels} outputs, {len(outcome.outputs)} in use" if idle else ""
        clean = sum(output.clean_full.likely for output in outcome.outputs)
        volts = case.outcome.wanted.part(board.name).volts_in.likely
        yield Says(
            "mind",
            board.name,
            f"Sold as {shown(claim, 'power')}{used}, the board gives "
            f"{shown(real, 'power', digits=2)} here, {share * 100:.0f} % of the claim, which would "
            f"need {shown(outcome.volts_for_claim, 'voltage', digits=2)} on this load; there are "
            f"{shown(volts, 'voltage')}.",
            "Supply volts set how far the output can swing, and watts go with the square of that.",
            f"Count on {shown(clean, 'power', digits=2)} of clean sound with a full battery; "
            "for more, raise the volts with a step-up board or take drivers of higher sensitivity.",
            numbers=(
                Figure("claimed", claim, "power"),
                Figure("at ten per cent distortion here", real, "power"),
                Figure("clean here", clean, "power"),
                Figure("share of the claim", share, "share"),
                Figure("volts the claim needs on this load", outcome.volts_for_claim, "voltage"),
            ),
        )


@rule(
    "bridge-negatives-joined",
    "safe",
    title="Speaker minus leads of a bridge amplifier joined",
    source="how a bridge output works: both of its leads are driven",
)
def bridge_negatives_joined(case: Case) -> Iterator[Says]:
    """Joined or earthed speaker leads on outputs that drive both leads."""
    for board in case.build.amplifier:
        bridge = board.topology == "bridge" or board.use == "bridged"
        if not bridge or board.speaker_negatives == "separate":
            continue
        chassis = board.speaker_negatives == "chassis"
        joined = "tied to the chassis" if chassis else "joined with each other"
        volts = case.outcome.wanted.part(board.name).volts_in.likely / 2
        yield Says(
            "stop",
            board.name,
            f"The speaker minus leads are {joined}, but on this bridge board each of them is "
            f"driven and rests near {shown(volts, 'voltage', digits=2)}.",
            "Joining them shorts driven outputs: the chip dies, often at the first loud note.",
            f"Give every driver two wires of its own; measured to battery minus, both must read "
            f"near {shown(volts, 'voltage', digits=2)}.",
            numbers=(Figure("each speaker lead to battery minus", volts, "voltage"),),
            fix=Fix(
                "keep the speaker minus leads apart",
                (Change(board.name, "speaker_negatives", "separate"),),
            ),
        )


@rule(
    "outputs-joined",
    "safe",
    title="Amplifier outputs joined that are not made for it",
    source="common practice, no source: only as the board's data sheet shows it",
)
def outputs_joined(case: Case) -> Iterator[Says]:
    """Paralleled or bridged outputs without a documented mono mode."""
    for board in case.build.amplifier:
        again = board.use == "bridged" and board.topology == "bridge"
        if board.use == "as-built" or (board.mono_mode and not again):
            continue
        if again:
            says = (
                f"The {board.channels} outputs are bridged, but each of them is a bridge already."
            )
            why = "Both leads of each output are driven; there is no second half left to add."
        else:
            says = (
                f"The {board.channels} outputs are {board.use}, and no data sheet is named that "
                "shows such a mono mode."
            )
            why = "Two outputs that differ by a little drive current into each other and burn."
        yield Says(
            "stop",
            board.name,
            says,
            why,
            "Join left and right at the input instead, through two equal 1 kΩ resistors, and hang "
            "one driver on each output.",
            numbers=(Figure("outputs", float(board.channels), "ratio"),),
            fix=Fix("use the outputs as built", (Change(board.name, "use", "as-built"),)),
        )


@rule(
    "output-capacitor",
    "safe",
    title="Output capacitor of a single-ended amplifier",
    source="first-order high-pass of capacitor and load",
)
def output_capacitor(case: Case) -> Iterator[Says]:
    """A single-ended output without its capacitor, or with one that takes the bass."""
    low_ends = {driver.name: driver.low_end for driver in case.outcome.drivers}
    for board, outcome in _boards(case):
        if board.topology != "single-ended" or board.use == "bridged":
            continue
        volts = case.outcome.wanted.part(board.name).volts_in.likely / 2
        for output in outcome.outputs:
            lowest = min(low_ends[name] for name in output.drivers if name in low_ends)
            needed = float(preferred_at_least(first_order_capacitor(lowest, output.load), "E6"))
            written = shown(needed, "capacitance")
            if board.output_capacitor is None:
                yield Says(
                    "stop",
                    board.name,
                    f"No output capacitor: {shown(volts, 'voltage', digits=2)} of direct voltage "
                    f"stands on the driver of channel {output.channel + 1}.",
                    "A single-ended output rests at half of the supply; without a capacitor that "
                    "pushes the cone out and burns the coil.",
                    f"Put {written} in series with each driver, plus towards the amplifier, rated "
                    f"{_capacitor_rating(case, board)} or more.",
                    numbers=(Figure("direct voltage on the driver", volts, "voltage"),),
                    fix=Fix(
                        f"fit {written} in each output",
                        (Change(board.name, "output_capacitor", written),),
                    ),
                )
                break
            fitted = board.output_capacitor.likely
            corner = float(first_order_corner(fitted, output.load))
            if corner > lowest:
                yield Says(
                    "mind",
                    board.name,
                    f"{shown(fitted, 'capacitance')} into {shown(output.load, 'resistance')} "
                    f"cuts the bass below {shown(corner, 'frequency')}; the driver goes down to "
                    f"{shown(lowest, 'frequency')}.",
                    "Below that corner the capacitor takes most of the volts from the driver.",
                    f"Fit {written} or more in each output.",
                    numbers=(
                        Figure("corner of the capacitor", corner, "frequency"),
                        Figure("bass end of the driver", lowest, "frequency"),
                        Figure("capacitor needed", needed, "capacitance"),
                    ),
                    fix=Fix(
                        f"fit {written} in each output",
                        (Change(board.name, "output_capacitor", written),),
                    ),
                )
                break


@rule(
    "supply-capacitor-small",
    "loud",
    title="Capacitor at the amplifier's supply pins",
    source=f"charge of a capacitor; {_BURST * 1e6:.0f} µs at full current for "
    f"{_BURST_DIP * 100:.0f} % of dip is common practice, no source",
)
def supply_capacitor_small(case: Case) -> Iterator[Says]:
    """Time for which the capacitor alone carries the peak current of every output."""
    for board, outcome in _boards(case):
        volts = outcome.volts_peak_full.likely
        amps = _peak_amps(case, board)
        fitted = board.supply_capacitor.likely
        holds = float(
            holdup_time(
                amps,
                capacitance=fitted,
                voltage_start=volts,
                voltage_end=(1 - _BURST_DIP) * volts,
            )
        )
        if holds >= _BURST:
            continue
        needed = _ROOM_FOR_BURSTS * amps * _BURST / (_BURST_DIP * volts)
        better = max(float(preferred_at_least(needed, "E6")), 470e-6)
        written = shown(better, "capacitance")
        rating = _capacitor_rating(case, board)
        yield Says(
            "mind",
            board.name,
            f"{shown(fitted, 'capacitance')} at the supply pins carries a peak of "
            f"{shown(amps, 'current', digits=2)} for {holds * 1e6:.0f} µs only.",
            "For the first instant of a peak the capacitor is the supply, until the battery's "
            "current has come along the lead; a small one lets loud peaks dip and rasp.",
            f"Solder {written}, {rating} or more, across the board's supply pins, plus to plus: "
            "the wrong way round it bursts.",
            numbers=(
                Figure("capacitor", fitted, "capacitance"),
                Figure("peak current", amps, "current"),
                Figure("better", better, "capacitance"),
            ),
            fix=Fix(
                f"fit {written} at the supply pins",
                (Change(board.name, "supply_capacitor", written),),
            ),
        )


@rule(
    "supply-dip",
    "loud",
    title="Supply of the amplifier on a bass peak",
    source="the coupled run: every output at its limit at once",
)
def supply_dip(case: Case) -> Iterator[Says]:
    """Supply volts at the pins on a peak against the board's least."""
    for board, outcome in _boards(case):
        least = board.supply_min.likely
        full, empty = outcome.volts_peak_full, outcome.volts_peak_empty
        if case.outcome.wanted.part(board.name).volts_in.likely < least:
            continue
        always = full.likely < least
        if not always and empty.likely >= least:
            continue
        worst = full.likely if always else empty.likely
        when = "even with a full battery" if always else "near the end of the run"
        thin = board.lead.area.likely < _STOUT_LEAD
        first = "Feed it through 1.5 mm² or more by the shortest way, and use" if thin else "Use"
        amps = _peak_amps(case, board)
        yield Says(
            "stop" if always else "mind",
            board.name,
            f"On a loud bass peak the supply at the board falls to {shown(worst, 'voltage')} "
            f"{when}; it works from {shown(least, 'voltage')}.",
            f"Peaks of {shown(amps, 'current', digits=2)} through battery, leads and contacts drop "
            "volts, and below its least the board cuts out until it is switched again.",
            f"{first} drivers of more ohms, or a board that works from "
            f"{shown(0.95 * worst, 'voltage', digits=2)}.",
            numbers=(
                Figure("volts on a peak, full battery", full.likely, "voltage"),
                Figure("volts on a peak, at the end", empty.likely, "voltage"),
                Figure("works from", least, "voltage"),
                Figure("peak current", amps, "current"),
            ),
        )


@rule(
    "amplifier-rail-volts",
    "safe",
    title="Rail that feeds an amplifier outside what the board takes",
    source="the board's own limits",
)
def amplifier_rail_volts(case: Case) -> Iterator[Says]:
    """Volts that a rail gives to a board against the board's limits."""
    for board in case.build.amplifier:
        rail = next((n.part for n in case.upstream(board.name) if n.kind == "rail"), None)
        if rail is None:
            continue
        volts = case.outcome.wanted.part(board.name).volts_in.likely
        most, least = board.supply_max.likely, board.supply_min.likely
        if least <= volts <= most:
            continue
        over = volts > most
        middle = shown(most - (most - least) / 4, "voltage", digits=2)
        yield Says(
            "stop",
            board.name,
            f"Its rail gives {shown(volts, 'voltage')}, and the board "
            + (
                f"survives {shown(most, 'voltage')}."
                if over
                else f"works from {shown(least, 'voltage')}."
            ),
            "Above its limit the chip breaks down at once." if over else "It will not start.",
            f"Set the rail to {middle} on the bench, before the board is connected.",
            numbers=(
                Figure("volts from the rail", volts, "voltage"),
                Figure("works from", least, "voltage"),
                Figure("survives", most, "voltage"),
            ),
            fix=Fix(f"set it to {middle}", (Change(rail.name, "voltage", middle),)),
        )


@rule(
    "mute-missing",
    "loud",
    title="Pop when a single-ended amplifier is switched on",
    source="common practice, no source",
)
def mute_missing(case: Case) -> Iterator[Says]:
    """Single-ended boards without a mute while their output capacitor charges."""
    for board in case.build.amplifier:
        if board.topology != "single-ended" or board.use == "bridged":
            continue
        if board.output_capacitor is None or board.mute_delay is not None:
            continue
        volts = case.outcome.wanted.part(board.name).volts_in.likely / 2
        fitted = board.output_capacitor.likely
        yield Says(
            "mind",
            board.name,
            f"At switch-on {shown(fitted, 'capacitance')} charges to "
            f"{shown(volts, 'voltage', digits=2)} through the driver with a thump.",
            "The cone takes the whole jump; a large one is hard on small drivers.",
            "Hold the board's mute pin for 1 s after switch-on ('boomwright design mute' names the "
            "parts), or put 1 kΩ across each output ahead of its driver and live with a small pop.",
            numbers=(
                Figure("output capacitor", fitted, "capacitance"),
                Figure("jump at switch-on", volts, "voltage"),
            ),
            fix=Fix("mute it for 1 s", (Change(board.name, "mute_delay", "1 s"),)),
        )
