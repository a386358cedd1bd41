"""The lines that one part of a circuit becomes in a netlist for simulators of the SPICE family."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from boomwright.circuit.chip_laws import (
    REFERENCE_KNEE,
    REFERENCE_RAMP,
    REFERENCE_WAKES,
    REFERENCE_WAKING,
    REGULATOR_KNEE,
    REGULATOR_RAMP,
)
from boomwright.circuit.equations import coil_resistance_at
from boomwright.circuit.laws import junction_saturation_current
from boomwright.circuit.netlist import GROUND, Netlist
from boomwright.circuit.parts import (
    Bipolar,
    Capacitor,
    Comparator,
    Coupling,
    CurrentSource,
    Diode,
    Fuse,
    Inductor,
    Mosfet,
    Part,
    Regulator,
    Relay,
    Resistor,
    ShuntReference,
    Switch,
    VoltageSource,
    Zener,
)
from boomwright.circuit.spice_text import number, plain, settings_text, waveform_text
from boomwright.circuit.values import NOMINAL_TEMPERATURE, Value, thermal_voltage

__all__ = ["PartLines"]

_FLANK = 1e-6
# A body diode is a part of its own here, so the one inside the simulator's model must not conduct.
_NO_BODY_DIODE = 0.0
_LETTERS: dict[type, str] = {
    Resistor: "R",
    Fuse: "R",
    Capacitor: "C",
    Inductor: "L",
    Coupling: "K",
    VoltageSource: "V",
    CurrentSource: "I",
    Diode: "D",
    Zener: "D",
    Bipolar: "Q",
    Mosfet: "M",
    Comparator: "S",
    Switch: "S",
}


def _series(resistance: float) -> float:
    """Resistance in series with a junction, with the same floor as in the equations."""
    return max(resistance, 1e-6) if resistance > 0.0 else 0.0


class PartLines:
    """The lines of the parts, one kind of part after the other kind's own rules."""

    def __init__(
        self,
        netlist: Netlist,
        nodes: Mapping[str, str],
        temperature: float,
        states: Mapping[str, bool],
        sample: int,
    ) -> None:
        self.nodes = nodes
        self.temperature = temperature
        self.states = states
        self.sample = sample
        self.lines: list[str] = []
        self._taken = {name.lower() for name in self.nodes.values()}
        # Designators of parts that keep them must be free for those, wherever they stand.
        self._named: dict[tuple[str, str], str] = {}
        for part in netlist.parts:
            if (letter := _LETTERS.get(type(part), "")) == part.name[0].upper():
                self._name(letter, part.name)

    def add(self, part: Part) -> None:
        """Lines of a part added."""
        if isinstance(part, Resistor):
            rise = self.temperature - NOMINAL_TEMPERATURE
            factor = 1.0 + part.temperature_coefficient * rise
            self._two_ends(part, number(self._at(part.resistance) * factor))
        elif isinstance(part, Fuse):
            self._two_ends(part, number(self._at(part.resistance)))
        elif isinstance(part, Capacitor):
            self._two_ends(part, number(self._at(part.capacitance)))
        elif isinstance(part, Inductor):
            self._inductor(part)
        elif isinstance(part, Coupling):
            pair = (self._name("L", part.first), self._name("L", part.second))
            coefficient = number(self._at(part.coefficient))
            self._line(self._titled("K", part), *pair, coefficient)
        elif isinstance(part, VoltageSource | CurrentSource):
            self._source(part)
        elif isinstance(part, Diode):
            self._diode(part)
        elif isinstance(part, Zener):
            self._zener(part)
        elif isinstance(part, Bipolar):
            self._bipolar(part)
        elif isinstance(part, Mosfet):
            self._mosfet(part)
        elif isinstance(part, ShuntReference):
            self._reference(part)
        elif isinstance(part, Regulator):
            self._regulator(part)
        elif isinstance(part, Relay):
            self._relay(part)
        elif isinstance(part, Comparator):
            self._comparator(part)
        else:
            self._switch(part)

    def _at(self, value: Value) -> float:
        """Value of the wanted sample."""
        array = np.atleast_1d(np.asarray(value, dtype=np.float64))
        return float(array[self.sample if array.size > 1 else 0])

    def _line(self, *words: str) -> None:
        self.lines.append(" ".join(word for word in words if word))

    def _say(self, words: str) -> None:
        self.lines.append(f"* {words}")

    def _free(self, name: str) -> str:
        """The name itself, or with a number if it is taken."""
        wanted, turn = name, 1
        while wanted.lower() in self._taken:
            turn += 1
            wanted = f"{name}_{turn}"
        self._taken.add(wanted.lower())
        return wanted

    def _name(self, letter: str, name: str) -> str:
        """Designator in SPICE of (a piece of) a part, the same each time it is asked for."""
        if (letter, name) not in self._named:
            own = plain(name)
            wanted = own if own[0].upper() == letter else letter + own
            self._named[letter, name] = self._free(wanted)
        return self._named[letter, name]

    def _titled(self, letter: str, part: Part) -> str:
        """Designator of a part that is one line, with a word if it is not the part's own."""
        name = self._name(letter, part.name)
        if name != part.name:
            self._say(f"{part.name} is called {name}: the first letter tells SPICE what a part is.")
        return name

    def _model(self, part: Part, kind: str, settings: str) -> str:
        model = self._free(f"{plain(part.name)}_law")
        self.lines.append(f".model {model} {kind}({settings})")
        return model

    def _ends(self, part: Part) -> list[str]:
        return [self.nodes[node] for node in part.nodes]

    def _two_ends(self, part: Part, value: str) -> None:
        self._line(self._titled(_LETTERS[type(part)], part), *self._ends(part), value)

    def _inductor(self, part: Inductor) -> None:
        a, b = self._ends(part)
        name = self._titled("L", part)
        resistance = self._at(part.resistance)
        if resistance > 0.0:
            inside = self._free(f"{name}_inside")
            self._line(self._free(f"R{name}"), inside, b, number(resistance))
            b = inside
        self._line(name, a, b, number(self._at(part.inductance)))

    def _source(self, part: VoltageSource | CurrentSource) -> None:
        value = part.voltage if isinstance(part, VoltageSource) else part.current
        words = [f"DC {number(self._at(value))}"]
        if part.ac:
            words.append(f"AC {number(part.ac)}")
        if part.waveform is not None:
            words.append(waveform_text(part.waveform, part.name))
        self._two_ends(part, " ".join(words))

    def _diode(self, part: Diode) -> None:
        settings = settings_text(
            **{"is": self._at(part.saturation_current), "n": self._at(part.emission)},
            rs=_series(self._at(part.resistance)),
            eg=part.energy_gap,
            xti=part.current_exponent,
        )
        name = self._titled("D", part)
        self._line(name, *self._ends(part), self._model(part, "D", settings))

    def _zener(self, part: Zener) -> None:
        here = self.temperature
        saturation = self._at(
            junction_saturation_current(
                self._at(part.saturation_current), temperature=here, energy_gap=1.11, exponent=3.0
            )
        )
        test, knee, slope = (self._at(v) for v in (part.test_current, part.knee, part.slope))
        moved = self._at(part.temperature_coefficient) * (here - NOMINAL_TEMPERATURE)
        breakdown = self._at(part.voltage) + moved - slope * test
        anode, cathode = self._ends(part)
        name = self._titled("D", part)
        emission = here / NOMINAL_TEMPERATURE
        steep = knee / float(thermal_voltage())
        # Its knee does not stretch with heat as a junction's does: the curve is worked out here
        # and the diode kept at 25 degrees, where the model leaves it alone.
        pinned = "temp=25"
        tail = test * np.exp(-breakdown / knee)
        if tail < saturation:
            settings = settings_text(**{"is": saturation, "n": emission, "rs": _series(slope)})
            settings += " " + settings_text(bv=breakdown, ibv=test, nbv=steep)
            self._line(name, anode, cathode, self._model(part, "D", settings), pinned)
            return
        self._say(f"{part.name} has so soft a knee that its reverse branch is a diode of its own.")
        inside = self._free(f"{name}_inside")
        self._line(self._free(f"R{name}"), anode, inside, number(_series(slope) or 1e-6))
        forward = self._model(part, "D", settings_text(**{"is": saturation, "n": emission}))
        self._line(name, inside, cathode, forward, pinned)
        reverse = self._model(part, "D", settings_text(**{"is": tail, "n": steep}))
        self._line(self._free(f"{name}_reverse"), cathode, inside, reverse, pinned)

    def _bipolar(self, part: Bipolar) -> None:
        settings = settings_text(
            **{"is": self._at(part.saturation_current)},
            bf=self._at(part.gain),
            br=self._at(part.gain_reverse),
            eg=part.energy_gap,
            xti=part.current_exponent,
            xtb=part.gain_exponent,
        )
        name = self._titled("Q", part)
        self._line(name, *self._ends(part), self._model(part, part.polarity.upper(), settings))

    def _mosfet(self, part: Mosfet) -> None:
        rise = self.temperature - NOMINAL_TEMPERATURE
        size = self._at(part.threshold) + self._at(part.threshold_coefficient) * rise
        heat = (self.temperature / NOMINAL_TEMPERATURE) ** -1.5
        sign = 1.0 if part.polarity == "n" else -1.0
        settings = settings_text(
            level=1.0,
            vto=sign * size,
            kp=self._at(part.transconductance) * heat,
            **{"is": _NO_BODY_DIODE},
        )
        drain, gate, source = self._ends(part)
        name = self._titled("M", part)
        model = self._model(part, f"{part.polarity.upper()}MOS", settings)
        self._line(name, drain, gate, source, source, model, "L=100u W=100u temp=25")

    def _volts(self, high: str, low: str) -> str:
        return f"v({high})" if low == GROUND else f"v({high},{low})"

    def _ramp(self, value: str, width: float) -> str:
        return f"0.5*({value}+sqrt(({value})*({value})+{number(width * width)}))"

    def _tanh(self, value: str) -> str:
        # Simulators differentiate this through hyperbolic cosines, which overflow far out.
        return f"tanh(max(-20,min(20,{value})))"

    def _reference(self, part: ShuntReference) -> None:
        # The law's tanh between its pin's wish and its cathode is what two junctions do that share
        # a current; a simulator steps along junctions with care, along a formula without.
        self._say(f"{part.name}, a shunt reference: its pin asks for a current, which two")
        self._say("junctions share between the cathode and a source of its least volts.")
        cathode, pin, anode = self._ends(part)
        name, at_pin = plain(part.name), self._volts(pin, anode)
        share, least = (self._free(f"{name}_{node}") for node in ("share", "least"))
        over = self._ramp(f"({at_pin}-{number(self._at(part.voltage))})", REFERENCE_RAMP)
        gain = number(self._at(part.transconductance))
        voltage, idle = (
            number(self._at(part.voltage)),
            number(0.5 * self._at(part.idle_current)),
        )
        waking = f"(({at_pin}/{voltage}-{number(REFERENCE_WAKES)})/{number(REFERENCE_WAKING)})"
        wish = f"I={gain}*{over}+{idle}*(1+{self._tanh(waking)})"
        self._line(self._name("B", part.name), share, anode, wish)
        emission = 0.5 * REFERENCE_KNEE / float(thermal_voltage())
        model = self._model(part, "D", settings_text(**{"is": 1e-14, "n": emission}))
        for start in (cathode, least):
            self._line(self._free(f"D{name}_{start}"), start, share, model, "temp=25")
        self._line(self._free(f"V{name}"), least, anode, number(self._at(part.cathode_least)))
        leakage = self._at(part.leakage)
        if leakage > 0.0:
            self._line(self._free(f"R{name}"), cathode, anode, number(12.0 / leakage))
        small = f"{number(self._at(part.reference_current))}*{self._tanh(f'2*{at_pin}')}"
        self._line(self._free(f"B{name}_pin"), pin, anode, f"I={small}")

    def _regulator(self, part: Regulator) -> None:
        source, out, ground = self._ends(part)
        above, given = self._volts(source, ground), self._volts(out, ground)
        volts = number(self._at(part.voltage))
        # One bracket for each difference: a simulator works out the text as it stands.
        room = f"({volts}-{above}+{number(self._at(part.dropout))})"
        short = self._ramp(room, REGULATOR_KNEE)
        current = self._ramp(f"({volts}-{short}-{given})", REGULATOR_RAMP)
        self._say(f"{part.name}, a linear regulator: what it passes, and what it takes itself.")
        resistance = number(self._at(part.resistance))
        self._line(self._name("B", part.name), source, out, f"I=({current})/{resistance}")
        own = number(self._at(part.quiescent))
        self._line(self._free(f"B{part.name}_own"), source, ground, f"I={own}*{self._tanh(above)}")

    def _relay(self, part: Relay) -> None:
        self._say(f"{part.name}, a relay: its contacts feel the current by the coil's own volts.")
        a, b = self.nodes[part.coil_a], self.nodes[part.coil_b]
        inside = self._free(f"{plain(part.name)}_inside")
        resistance = float(coil_resistance_at(self._at(part.coil_resistance), self.temperature))
        self._line(self._name("L", part.name), a, inside, number(self._at(part.coil_inductance)))
        self._line(self._name("R", part.name), inside, b, number(resistance))
        operate, release = self._at(part.operate), self._at(part.release)
        middle, half = (0.5 * resistance * i for i in (operate + release, operate - release))
        contact = {"ron": self._at(part.contact_resistance), "roff": part.open_resistance}
        pulled = self.states.get(part.name, False)
        # The broken contact feels the coil the other way round, so that less of it is more.
        for end, felt, sign, on in (
            (part.made, (inside, b), 1.0, pulled),
            (part.broken, (b, inside), -1.0, not pulled),
        ):
            if part.common and end:
                model = self._model(part, "SW", settings_text(vt=sign * middle, vh=half, **contact))
                name = self._name("S", part.name if sign > 0.0 else f"{part.name}_broken")
                ends = (self.nodes[part.common], self.nodes[end])
                self._line(name, *ends, *felt, model, "ON" if on else "OFF")

    def _comparator(self, part: Comparator) -> None:
        self._say(f"{part.name}, a comparator with an open collector: a switch with hysteresis.")
        settings = settings_text(
            vt=self._at(part.offset),
            vh=self._at(part.gap),
            ron=self._at(part.on_resistance),
            roff=part.open_resistance,
        )
        plus, minus, output, ground = self._ends(part)
        model = self._model(part, "SW", settings)
        start = "ON" if self.states.get(part.name, False) else "OFF"
        self._line(self._name("S", part.name), output, ground, minus, plus, model, start)

    def _switch(self, part: Switch) -> None:
        closed = bool(self._at(np.asarray(part.closed, dtype=np.float64)))
        on, off = self._at(part.on_resistance), part.open_resistance
        if not part.schedule:
            self._say(f"{part.name}, {'closed' if closed else 'open'}.")
            resistance = number(on if closed else off)
            self._line(self._name("R", part.name), *self._ends(part), resistance)
            return
        self._say(f"{part.name} closes and opens as a source of 0 and 1 V tells it to.")
        drive = self._free(f"{part.name}_drive")
        for _, state in (moment for moment in part.schedule if moment[0] <= 0.0):
            closed = state
        points, level = [(0.0, float(closed))], float(closed)
        for time, state in (moment for moment in part.schedule if moment[0] > 0.0):
            points += [(time, level), (time + _FLANK, float(state))]
            level = float(state)
        told = " ".join(f"{number(time)} {number(value)}" for time, value in points)
        self._line(self._free(f"V{part.name}"), drive, GROUND, f"DC {number(closed)} PWL({told})")
        model = self._model(part, "SW", settings_text(vt=0.5, vh=0.0, ron=on, roff=off))
        start = "ON" if closed else "OFF"
        self._line(self._name("S", part.name), *self._ends(part), drive, GROUND, model, start)
