"""Regulators and converters: heat, headroom, current, input range, and what they feed."""

from __future__ import annotations

from collections.abc import Iterator

from boomwright.advice.feeds import loudest_use, lowest_volts
from boomwright.advice.finding import Change, Figure, Fix
from boomwright.advice.rules import Case, Says, rule
from boomwright.advice.swaps import FIVE_VOLTS, rail_for, swap
from boomwright.build.power import Rail
from boomwright.build.quantities import format_quantity as shown
from boomwright.outcome.data import Range
from boomwright.physics.linear import linear_current_limit

__all__: list[str] = []

_JUNCTION_MARGIN = 15.0
_WASTE_LEAST = 0.5
_STEADY_BUCKS = ((0.7, "buck-1a-small"), (1.8, "buck-3a-synchronous"), (2.4, "buck-car-usb-3a"))
"""Drawer boards for 5 V by the current that each stands for ever."""
_OVER, _UNDER = 1.1, 0.9
_NO_VOLTS = 1.0
_CLEARLY = 1.03


def _delivered(case: Case, rail: Rail) -> Range:
    """Amps out of a rail in the loudest use, the average of its loads."""
    place, loudest = case.place(rail.name), loudest_use(case)
    parts = [loudest.part(node.part.name).amps for node in case.tree if node.parent == place]
    return Range(
        sum(amps.likely for amps in parts),
        sum(amps.low for amps in parts),
        sum(amps.high for amps in parts),
    )


def _peaks(case: Case, rail: Rail) -> float:
    """Amps out of a rail when every amplifier on it swings to its limit."""
    place, loudest = case.place(rail.name), loudest_use(case)
    fed = [loudest.part(node.part.name) for node in case.tree if node.parent == place]
    return sum(max(part.amps.likely, part.amps_peak.likely) for part in fed)


def _highest_volts(case: Case, name: str) -> float:
    """Highest volts a part meets: from its rail, a full battery, or a charger that reaches it."""
    for node in case.upstream(name):
        if isinstance(node.part, Rail):
            return node.part.voltage.likely
    full, charger = case.outcome.source.volts_full.likely, case.build.charger
    if charger is None or (case.has_upstream(name, "switch") and not charger.while_playing):
        return full
    return max(full, charger.voltage.likely)


def _buck_instead(case: Case, rail: Rail) -> Fix | None:
    """A step-down board from the drawer in a linear regulator's place."""
    part = _steady_buck(case, rail, _delivered(case, rail).likely)
    if part is None:
        return None
    return Fix("use a step-down board instead", (Change(rail.name, "part", part),))


def _steady_buck(case: Case, rail: Rail, amps: float) -> str | None:
    """Step-down board of the drawer for 5 V that stands a current and the volts it gets."""
    if not FIVE_VOLTS[0] <= rail.voltage.likely <= FIVE_VOLTS[1]:
        return None
    start, end = lowest_volts(case, rail)
    for limit, name in _STEADY_BUCKS:
        part = case.drawer.part("rail", name)
        if amps > limit or name == rail.part or not isinstance(part, Rail):
            continue
        least, most = part.input_min, part.input_max
        if (least is None or end >= least.high) and (most is None or start <= most.low):
            return name
    return None


def _stronger(case: Case, rail: Rail) -> Fix | None:
    """A step-down board that stands all that is drawn, peaks included."""
    amps = max(_delivered(case, rail).high, 0.8 * _peaks(case, rail))
    part = _steady_buck(case, rail, amps)
    return swap(rail.name, part) if part else None


@rule(
    "linear-cooks",
    "hot",
    title="Linear regulator's junction",
    source="heat = (volts in - volts out) x current, times the thermal resistance to the air",
)
def linear_cooks(case: Case) -> Iterator[Says]:
    """Junction of each linear regulator in the loudest use against its limit."""
    for rail in case.build.rail:
        part, limit = case.loudest(rail.name), rail.junction_max.likely
        hot = part.junction
        over, close = hot.likely > limit, hot.likely > limit - _JUNCTION_MARGIN
        if rail.type != "linear" or not (close or hot.high > limit):
            continue
        chain = rail.junction_ambient.likely
        if rail.sink is not None:
            chain = rail.junction_case.likely + rail.sink.likely
        amps = float(
            linear_current_limit(
                part.volts_in.likely,
                voltage_out=rail.voltage.likely,
                current_ground=rail.ground_current.likely,
                junction_max=limit - _JUNCTION_MARGIN,
                ambient=max(loudest_use(case).air.likely, case.outcome.wanted.air.likely),
                resistance_thermal=chain,
            )
        )
        amps = min(amps, rail.current_limit.likely)
        drawn, fix = _delivered(case, rail).likely, _buck_instead(case, rail)
        shows = hot.likely if close else hot.high
        sink = "on its heat sink" if rail.sink else "without a heat sink"
        says = (
            f"It turns {shown(part.loss.likely, 'power', digits=2)} into heat {sink} and would "
            f"reach {shown(shows, 'temperature')}{'' if close else ' in the worst case'} if "
            f"nothing shut it down; its limit is {shown(limit, 'temperature')}."
        )
        yield Says(
            "stop" if over else "mind",
            rail.name,
            says,
            f"It drops {shown(part.volts_in.likely - rail.voltage.likely, 'voltage', digits=2)} at "
            f"{shown(drawn, 'current', digits=2)}, and all of that is heat: it shuts down, comes "
            "back, and is hot enough to burn a finger.",
            "Use a step-down board for this current, and keep the linear regulator below "
            f"{shown(amps, 'current', digits=2)}.",
            numbers=(
                Figure("heat", part.loss.likely, "power"),
                Figure("junction, likely", hot.likely, "temperature"),
                Figure("junction, worst", hot.high, "temperature"),
                Figure("limit", limit, "temperature"),
                Figure("current it stands like this", amps, "current"),
            ),
            fix=fix,
        )


@rule(
    "rail-drops-out",
    "long",
    title="Headroom of a regulator or step-down board",
    source="the part's dropout voltage",
)
def rail_drops_out(case: Case) -> Iterator[Says]:
    """Input volts at the start and the end of the run against output plus dropout."""
    for rail in case.build.rail:
        if rail.type not in {"linear", "buck"}:
            continue
        needed = rail.voltage.likely + rail.dropout.likely
        start, end = lowest_volts(case, rail)
        if end >= needed or (rail.input_min and end < rail.input_min.likely):
            continue
        at_once = start < needed
        volts = start if at_once else end
        made = shown(rail.voltage.likely, "voltage")
        yield Says(
            "stop" if at_once else "mind",
            rail.name,
            f"It gets {shown(volts, 'voltage')} {'from the start' if at_once else 'by the end'} "
            f"and needs {shown(needed, 'voltage')} to hold {made}.",
            "Below that its output sinks with the battery, and what hangs on it resets or hums.",
            f"Use a low-dropout part or a step-down board that works from {shown(end, 'voltage')}, "
            "or a step-up board if the output is as high as the battery.",
            numbers=(
                Figure("volts in at the start", start, "voltage"),
                Figure("volts in at the end", end, "voltage"),
                Figure("needed", needed, "voltage"),
            ),
        )


@rule(
    "rail-overloaded",
    "safe",
    title="Current of a regulator or converter",
    source="the part's label, and what a bare board stands for ever",
)
def rail_overloaded(case: Case) -> Iterator[Says]:
    """Average and peak output current against the label and the bare-board limit."""
    for rail in case.build.rail:
        drawn, peak = _delivered(case, rail), _peaks(case, rail)
        label, bare = rail.current_limit, None if rail.sink else rail.bare_limit
        figures = (
            Figure("average drawn, loudest use", drawn.likely, "current"),
            Figure("on a peak", peak, "current"),
            Figure("label", label.likely, "current"),
        )
        if drawn.likely > label.likely:
            yield Says(
                "stop" if drawn.likely > label.high else "mind",
                rail.name,
                f"{shown(drawn.likely, 'current', digits=3)} is drawn from it on average, and its "
                f"label says {shown(label.likely, 'current')}.",
                "Past its limit the voltage collapses: the phone stops charging, the music stops.",
                f"Use one made for {shown(1.5 * drawn.likely, 'current', digits=2)} or more, or a "
                "second one for the larger load.",
                numbers=figures,
                fix=_stronger(case, rail),
            )
        elif bare is not None and drawn.high > _CLEARLY * bare.likely:
            sure = drawn.likely > bare.high
            worst = drawn.likely if drawn.likely > bare.likely else drawn.high
            yield Says(
                "stop" if sure else "mind",
                rail.name,
                f"{shown(worst, 'current')} is drawn from it for hours, and a bare board of its "
                f"kind stands {shown(bare.likely, 'current')}.",
                "The amperes on the label are for moments or for a heat sink; a board that runs "
                "too hot shuts down, or lets the battery's volts through as it dies.",
                f"Use a board with {shown(2.5 * worst, 'current', digits=2)} on its label, or glue "
                "a heat sink to it and leave it free air.",
                numbers=(*figures, Figure("bare board, for ever", bare.likely, "current")),
                fix=_stronger(case, rail),
            )
        elif peak > label.likely:
            yield Says(
                "mind",
                rail.name,
                f"A loud peak asks it for {shown(peak, 'current', digits=2)}, and its label says "
                f"{shown(label.likely, 'current')}.",
                "On such a peak it limits, and the sound cuts or pumps.",
                "Put 4700 µF at the amplifier's supply pins, or use a converter for "
                f"{shown(1.2 * peak, 'current', digits=2)}.",
                numbers=figures,
                fix=_stronger(case, rail),
            )


@rule(
    "rail-input-range",
    "safe",
    title="Input volts of a regulator or converter",
    source="the part's own limits",
)
def rail_input_range(case: Case) -> Iterator[Says]:
    """Volts from a rail ahead of it, and the least volts of a run, against the input range."""
    for rail in case.build.rail:
        start, end = lowest_volts(case, rail)
        most, least = rail.input_max, rail.input_min
        if most is not None and case.has_upstream(rail.name, "rail") and start > most.likely:
            yield Says(
                "stop",
                rail.name,
                f"The rail ahead gives it {shown(start, 'voltage')}, and it survives "
                f"{shown(most.likely, 'voltage')}.",
                "A converter that breaks down passes its input volts on to what it feeds.",
                f"Use one made for {shown(1.25 * start, 'voltage', digits=2)} or more, or feed it "
                "from the battery side.",
                numbers=(
                    Figure("volts in", start, "voltage"),
                    Figure("survives", most.likely, "voltage"),
                ),
            )
        pulled_down = not case.outcome.settled and start < _NO_VOLTS
        if least is not None and end < least.likely and not pulled_down:
            at_once = start < least.likely
            yield Says(
                "stop" if at_once else "mind",
                rail.name,
                f"It gets {shown(start if at_once else end, 'voltage')} "
                f"{'from the start' if at_once else 'by the end'} and works from "
                f"{shown(least.likely, 'voltage')}.",
                "Below that it switches off, and what it feeds goes with it.",
                f"Use one that works from {shown(0.9 * end, 'voltage', digits=2)}, or end the run "
                "earlier with a higher cutoff.",
                numbers=(
                    Figure("volts in at the end", end, "voltage"),
                    Figure("works from", least.likely, "voltage"),
                ),
            )


@rule(
    "rail-wasteful",
    "long",
    title="Linear regulator that loses more than it delivers",
    source=f"common practice, no source: over {_WASTE_LEAST} W lost",
)
def rail_wasteful(case: Case) -> Iterator[Says]:
    """Heat of a linear regulator, still cool enough, against what it delivers."""
    for rail in case.build.rail:
        part = case.loudest(rail.name)
        if rail.type != "linear" or part.junction.likely > rail.junction_max.likely:
            continue
        given = rail.voltage.likely * _delivered(case, rail).likely
        lost = part.loss.likely
        if lost <= max(given, _WASTE_LEAST):
            continue
        yield Says(
            "mind",
            rail.name,
            f"It delivers {shown(given, 'power', digits=2)} and turns "
            f"{shown(lost, 'power', digits=2)} into heat.",
            "That heat comes out of the hours of play.",
            f"Use a step-down board: it would lose about {shown(given * 0.15, 'power', digits=2)}.",
            numbers=(Figure("delivered", given, "power"), Figure("lost", lost, "power")),
            fix=_buck_instead(case, rail),
        )


@rule(
    "receiver-voltage",
    "safe",
    title="Volts that feed the receiver",
    source="the receiver's own supply voltage, a tenth of room either way",
)
def receiver_voltage(case: Case) -> Iterator[Says]:
    """Volts at each receiver against those it is made for."""
    for receiver in case.build.receiver:
        if receiver.current.likely == 0:
            continue
        made = receiver.voltage
        high = _highest_volts(case, receiver.name)
        low = case.loudest(receiver.name).volts_in.likely
        most = max(_OVER * made.likely, made.high)
        least = min(_UNDER * made.likely, made.low)
        if high > most:
            yield Says(
                "stop",
                receiver.name,
                f"The receiver is made for {shown(made.likely, 'voltage')} and can meet "
                f"{shown(high, 'voltage')}.",
                "A small board fed too high dies at once, often with smoke.",
                f"Feed it from a {shown(made.likely, 'voltage')} regulator or step-down board, set "
                "on the bench before it is connected.",
                numbers=(
                    Figure("made for", made.likely, "voltage"),
                    Figure("highest it meets", high, "voltage"),
                ),
                fix=rail_for(case, receiver),
            )
        elif low < least and (case.outcome.settled or low >= _NO_VOLTS):
            yield Says(
                "mind",
                receiver.name,
                f"The receiver is made for {shown(made.likely, 'voltage')} and gets "
                f"{shown(low, 'voltage')}.",
                "Fed too low it drops the connection or does not start.",
                f"Feed it with {shown(made.likely, 'voltage')}.",
                numbers=(
                    Figure("made for", made.likely, "voltage"),
                    Figure("it gets", low, "voltage"),
                ),
                fix=rail_for(case, receiver),
            )
