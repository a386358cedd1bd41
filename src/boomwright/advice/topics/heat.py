"""How hot: the amplifier's chip, the air in the box, what hands touch, what softens."""

from __future__ import annotations

from collections.abc import Iterator

from boomwright.advice.finding import Change, Figure, Fix
from boomwright.advice.rules import Case, Says, rule
from boomwright.build.audio import Amplifier
from boomwright.build.quantities import format_quantity as shown
from boomwright.outcome.data import PartOutcome, ScenarioOutcome
from boomwright.physics.heatsink import sink_resistance_needed
from boomwright.physics.nature import kelvin
from boomwright.physics.touch import burn_limit, touch_limit

__all__: list[str] = []

_JUNCTION_MARGIN = 15.0
_DESIGN_MARGIN = 25.0
_SMALLEST_SINK = 0.3
_AIR_WARM, _AIR_HOT = float(kelvin(50.0)), float(kelvin(60.0))
_PLASTIC_SOFT, _PLASTIC_GIVES = float(kelvin(60.0)), float(kelvin(75.0))
_MUCH_OF_IT = 0.4
_SCALDS = float(kelvin(90.0))
_TOUCH = 5.0
_TOUCH_MARGIN = 10.0
_BRUSH = 1.0


def _hottest_use(case: Case, name: str) -> ScenarioOutcome:
    """The way of using the box in which a part gets hottest."""
    uses = [use for use in case.outcome.scenarios if not use.key.startswith("background")]
    return max(uses, key=lambda use: use.part(name).junction.likely)


def _warmest_use(case: Case) -> ScenarioOutcome:
    """The way of using the box that warms its air most; background never does."""
    uses = [use for use in case.outcome.scenarios if not use.key.startswith("background")]
    return max(uses, key=lambda use: use.air.likely)


@rule(
    "amplifier-cooks",
    "hot",
    title="Junction of the amplifier's chip",
    source="heat times the thermal resistances from junction to air",
)
def amplifier_cooks(case: Case) -> Iterator[Says]:
    """Junction of each board in its hottest use against its limit."""
    for board in case.build.amplifier if case.outcome.settled else ():
        use = _hottest_use(case, board.name)
        part, limit = use.part(board.name), board.junction_max.likely
        hot = part.junction
        over = hot.likely > limit
        close = hot.likely > limit - _JUNCTION_MARGIN
        if not close and hot.high <= limit:
            continue
        air = hot.likely - part.loss.likely * (board.junction_case.likely + board.sink.likely)
        needed = float(
            sink_resistance_needed(
                part.loss.likely,
                ambient=air,
                junction_max=limit - _DESIGN_MARGIN,
                junction_case=board.junction_case.likely,
                case_sink=0.0,
            )
        )
        fits = needed >= _SMALLEST_SINK
        written = shown(needed, "thermal", digits=2)
        do = (
            f"Fit a heat sink of {written} or less"
            + ("." if board.sink_outside else ", its fins in the outside air.")
            if fits
            else "No sink is enough: use a switching (class D) board or more ohms."
        )
        yield Says(
            "stop" if over else "mind",
            board.name,
            f"Played {use.title}, the chip makes {shown(part.loss.likely, 'power', digits=2)} of "
            f"heat and reaches {shown(hot.likely if close else hot.high, 'temperature')}"
            f"{'' if close else ' in the worst case'}; its limit is {shown(limit, 'temperature')}.",
            "A chip at its limit switches off in the middle of the music, and each time ages it.",
            do,
            numbers=(
                Figure("heat", part.loss.likely, "power"),
                Figure("junction, likely", hot.likely, "temperature"),
                Figure("junction, worst", hot.high, "temperature"),
                Figure("limit", limit, "temperature"),
                Figure("sink needed", needed, "thermal"),
            ),
            fix=(
                Fix(f"a sink of {written}", (Change(board.name, "sink", f"{written} (standard)"),))
                if fits
                else None
            ),
        )


@rule(
    "box-hot",
    "hot",
    title="Air in the box",
    source="heat through the walls; cells age fast above 50 °C and must stay below 60 °C, "
    "typical of class, from memory",
)
def box_hot(case: Case) -> Iterator[Says]:
    """Air in the box after hours of its warmest use."""
    # Where volts and amps do not fit together the heat is no figure; `unsettled` says so.
    if not case.outcome.settled:
        return
    use = _warmest_use(case)
    air, battery = use.air.likely, case.build.battery
    worst = use.air.high
    cabinet = case.build.cabinet
    if battery is not None and air <= _AIR_WARM and worst <= _AIR_HOT:
        return
    if battery is None and air <= _AIR_HOT:
        return
    lithium = battery is not None and battery.chemistry in {"lifepo4", "li-ion-nmc"}
    hot = air > _AIR_HOT
    if not hot and air <= _AIR_WARM:
        air = worst
    source = max(use.parts, key=lambda part: part.loss.likely)
    yield Says(
        "stop" if hot and lithium else "mind",
        "cabinet" if cabinet is not None else case.build.source.name,
        f"Played {use.title} for hours, the air in the box reaches {shown(air, 'temperature')}: "
        f"{shown(use.heat.likely, 'power', digits=2)} of heat stay inside.",
        (
            "A lithium cell above 60 °C can go into a fire that feeds itself."
            if hot and lithium
            else "Warm cells age fast, and boards find no cool air."
        ),
        f"Begin with {source.name}, which makes {shown(source.loss.likely, 'power', digits=2)} of "
        "it; open holes low and high in the boards' compartment, and keep the battery away from "
        "hot parts. Never charge it while it is warm.",
        numbers=(
            Figure("air in the box", use.air.likely, "temperature"),
            Figure("air in the box, worst", worst, "temperature"),
            Figure("heat inside", use.heat.likely, "power"),
        ),
        fix=_sink_out(case, use),
    )


def _sink_out(case: Case, use: ScenarioOutcome) -> Fix | None:
    """Sinks moved outside, where they make much of the heat."""
    inside = [board for board in case.build.amplifier if not board.sink_outside]
    heat = sum(use.part(board.name).loss.likely for board in inside)
    if heat < _MUCH_OF_IT * use.heat.likely or not inside:
        return None
    changes = tuple(Change(board.name, "sink_outside", True) for board in inside)
    return Fix("put the amplifier's sink outside", changes)


def _surface(part: PartOutcome, board: Amplifier) -> float:
    """Temperature of a board's sink."""
    return part.junction.likely - part.loss.likely * board.junction_case.likely


@rule(
    "touch-hot",
    "hot",
    title="Heat sink that people can touch",
    source="IEC 62368-1, Table 38, partly from memory; burn times of the Shriners Burn Institute",
)
def touch_hot(case: Case) -> Iterator[Says]:
    """Surface of a sink in the outside air against limits for touching metal."""
    allowed = float(touch_limit("metal", duration=_TOUCH))
    burns = float(burn_limit("metal", duration=_BRUSH))
    for board in case.build.amplifier:
        if not board.sink_outside:
            continue
        use = _hottest_use(case, board.name)
        part = use.part(board.name)
        surface = _surface(part, board)
        if surface <= allowed:
            continue
        wanted = _surface(case.outcome.wanted.part(board.name), board)
        scald = wanted > burns or surface > _SCALDS
        ambient = surface - part.loss.likely * board.sink.likely
        better = max(allowed - _TOUCH_MARGIN - ambient, 1.0) / part.loss.likely
        yield Says(
            "stop" if scald else "mind",
            board.name,
            f"The sink outside reaches {shown(surface, 'temperature')}, played {use.title}; "
            f"metal that people touch should stay below {shown(allowed, 'temperature')}.",
            (
                f"Metal above {shown(burns, 'temperature')} burns skin in a second."
                if surface > burns
                else "Metal this hot burns skin within seconds."
            ),
            f"Fit a sink of {shown(better, 'thermal', digits=2)}, or a guard that fingers do not "
            "pass and a mark that it is hot.",
            numbers=(
                Figure("sink", surface, "temperature"),
                Figure("limit for a short touch", allowed, "temperature"),
                Figure("burns within a second", burns, "temperature"),
            ),
            fix=Fix(
                "a larger sink",
                (Change(board.name, "sink", f"{shown(better, 'thermal', digits=2)} (standard)"),),
            ),
        )


@rule(
    "plastic-soft",
    "hot",
    title="Plastic box and its heat",
    source="softening of common plastics begins at 60 °C to 80 °C, typical of class, from memory",
)
def plastic_soft(case: Case) -> Iterator[Says]:
    """Air in a plastic box against the temperature at which it gives way."""
    cabinet = case.build.cabinet
    if cabinet is None or cabinet.material != "plastic" or not case.outcome.settled:
        return
    use = _warmest_use(case)
    air = use.air.likely
    if use.air.high <= _PLASTIC_SOFT:
        return
    shows = air if air > _PLASTIC_SOFT else use.air.high
    yield Says(
        "stop" if air > _PLASTIC_GIVES else "mind",
        "cabinet",
        f"The air in the plastic box reaches {shown(shows, 'temperature')}, played {use.title}; "
        f"common plastics soften from {shown(_PLASTIC_SOFT, 'temperature')} on.",
        "Screws pull out, the battery shifts, and what stood apart touches.",
        "Put the sink outside on a metal plate, open holes low and high, or build in wood.",
        numbers=(
            Figure("air in the box", air, "temperature"),
            Figure("softens from", _PLASTIC_SOFT, "temperature"),
        ),
        fix=_sink_out(case, use),
    )
