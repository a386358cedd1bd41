"""A circuit followed in time: charge, decay, ringing, and every moment at which a contact moves.

Each step has two stages, and both become points of the answer. Steps end at corners of waveforms,
at scheduled switches, and at the moments at which a control quantity passes its threshold; after
each of them two very short steps carry charge and flux over and let all else jump.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from boomwright.circuit.equations import Equations
from boomwright.circuit.march import Event, March
from boomwright.circuit.netlist import GROUND, Netlist
from boomwright.circuit.operating import OperatingPoint
from boomwright.circuit.parts import Capacitor, CurrentSource, VoltageSource
from boomwright.circuit.values import NOMINAL_TEMPERATURE, Floats, Truths, Value
from boomwright.errors import NetlistError, Problem

__all__ = ["Transient", "transient"]


@dataclass(frozen=True)
class Transient:
    """A circuit over time.

    Parameters
    ----------
    equations : Equations
        The circuit.
    times : array, shape (steps,)
        Rising moments from 0 [s]: two for each step taken, or those that were asked for.
    unknowns : array, shape (size, steps, samples)
        Node voltages, then the currents through sources and coils.
    states : dict of str to array of bool, shape (steps, samples)
        Relays pulled in and comparators conducting; at the moment of an event still the old state.
    events : tuple of (float, str, array of bool)
        Every flip: moment [s], designator, state of all samples after it.
    """

    equations: Equations
    times: Floats
    unknowns: Floats
    states: dict[str, Truths]
    events: tuple[Event, ...]

    def _view(self) -> OperatingPoint:
        """All moments as one long batch."""
        return OperatingPoint(self.equations, self.unknowns.reshape(len(self.unknowns), -1), {})

    def voltage(self, node: str, against: str = GROUND) -> Floats:
        """Voltage of a node against another [V], shape (steps, samples).

        Parameters
        ----------
        node, against : str
            Names of nodes.

        Returns
        -------
        array

        Raises
        ------
        NetlistError
            If there is no such node.
        """
        return self._view().voltage(node, against).reshape(self.unknowns.shape[1:])

    def branch_current(self, name: str) -> Floats:
        """Current from ``a`` to ``b`` through a source or coil [A], shape (steps, samples).

        Parameters
        ----------
        name : str
            Designator of a voltage source, an inductor or a relay.

        Returns
        -------
        array

        Raises
        ------
        NetlistError
            If there is no current by this name.
        """
        return self._view().branch_current(name).reshape(self.unknowns.shape[1:])

    def at(self, times: Value) -> Transient:
        """The same at other moments, on curves that swing over no jump.

        Parameters
        ----------
        times : float or array
            Rising moments within the time that was followed [s].

        Returns
        -------
        Transient
            With the same events.

        Raises
        ------
        NetlistError
            If a moment lies outside.

        References
        ----------
        .. [1] F. N. Fritsch and J. Butland, A method for constructing local monotone piecewise
           cubic interpolants, SIAM J. Sci. Stat. Comput. 5, 1984 (from memory).
        """
        title = self.equations.netlist.title
        wanted = _checked_times(times, float(self.times[0]), float(self.times[-1]), title)
        if len(self.times) < 2:
            place = np.zeros(wanted.size, dtype=np.intp)
            unknowns = self.unknowns[:, place]
        else:
            place = np.clip(
                np.searchsorted(self.times, wanted, side="left"), 1, len(self.times) - 1
            )
            unknowns = self._curve(wanted, place)
        states = {name: state[place] for name, state in self.states.items()}
        first = wanted <= self.times[0]
        for name, state in states.items():
            state[first] = self.states[name][0]
        return Transient(self.equations, wanted, unknowns, states, self.events)

    def _curve(self, wanted: Floats, place: np.ndarray[tuple[int], np.dtype[np.intp]]) -> Floats:
        """Cubics between the points, monotone where the points are."""
        spans = np.diff(self.times)[:, None]
        rises = np.diff(self.unknowns, axis=1) / spans
        early, late = rises[:, :-1], rises[:, 1:]
        first, second = spans[1:] * 2.0 + spans[:-1], spans[1:] + 2.0 * spans[:-1]
        same = early * late > 0.0
        down = np.where(same, first / np.where(same, early, 1.0), 1.0)
        down = down + np.where(same, second / np.where(same, late, 1.0), 0.0)
        slopes = np.empty_like(self.unknowns)
        slopes[:, 1:-1] = np.where(same, (first + second) / np.where(same, down, 1.0), 0.0)
        slopes[:, 0], slopes[:, -1] = rises[:, 0], rises[:, -1]
        span = spans[place - 1]
        share = (wanted[:, None] - self.times[place - 1][:, None]) / span
        left, right = self.unknowns[:, place - 1], self.unknowns[:, place]
        rise = right - left
        begin, end = slopes[:, place - 1] * span - rise, rise - slopes[:, place] * span
        return np.asarray(
            left + share * (rise + (1.0 - share) * ((1.0 - share) * begin + share * end))
        )


def transient(
    netlist: Netlist,
    end: float,
    *,
    temperature: Value = NOMINAL_TEMPERATURE,
    levels: Mapping[str, Value] | None = None,
    states: Mapping[str, Truths] | None = None,
    at_rest: bool = True,
    initial_volts: Mapping[str, Value] | None = None,
    most_step: float | None = None,
    accuracy: float = 1e-4,
    times: Floats | None = None,
) -> Transient:
    """A circuit from time 0 to an end, with every flip of a contact found in time.

    Steps are implicit, of second order, damp what is faster than they are, and follow the error
    of their own estimate. The whole batch takes the same steps: samples that flip at unlike moments
    each cost steps to all.

    Parameters
    ----------
    netlist : Netlist
        The circuit.
    end : float
        Time to follow it for [s].
    temperature : float or array
        Temperature of all parts [K].
    levels : mapping or None
        Sources held at a level, whatever their part or waveform says [V or A].
    states : mapping or None
        States to start from, by name.
    at_rest : bool, default True
        Start from the operating point with the waveforms as at time 0; otherwise without current
        in any coil and with the capacitors as ``initial_volts`` says. A switch scheduled for time 0
        moves just after that.
    initial_volts : mapping or None
        Volts of capacitors by name, from ``a`` to ``b``; 0 for those not named. Not with
        ``at_rest``.
    most_step : float or None
        Greatest step [s]; a fiftieth of the time if None.
    accuracy : float, default 1e-4
        Error relative to the size of each voltage and coil current; each step may add a fifth of
        it, and where they add up (ringing with little loss) a run of many steps strays further.
    times : array or None
        Moments to keep, rising [s]; the points of all steps if None.

    Returns
    -------
    Transient

    Raises
    ------
    NetlistError
        If a time, level, accuracy or capacitor is none that can be used.
    ConvergenceError
        If a step finds no solution however short, contacts find no rest at one moment, or the
        steps become too many; names node or part and the time reached.

    Notes
    -----
    Charge C(x_m - x_n) = d h (z_n + z_m) to the middle stage at 2 d h, then
    C(x_e - x_n) = h (w z_n + w z_m + d z_e), with z what flows in, d = 1 - 1/√2, w = √2/4. The
    error is that against the embedded third order, carried through the same matrix; what has no
    charge of its own is held to how far its curve may bulge between the points.

    References
    ----------
    .. [1] R. E. Bank et al., Transient simulation of silicon devices and circuits, IEEE Trans.
       Electron Devices 32, 1985 (from memory).
    .. [2] M. E. Hosea and L. F. Shampine, Analysis and implementation of TR-BDF2, Appl. Numer.
       Math. 20, 1996 (coefficients and error, from memory).

    Examples
    --------
    A capacitor reaches 1 - 1/e of the source after R C = 1 ms:

    >>> from boomwright.circuit.parts import Resistor
    >>> charging = Netlist(
    ...     "charging",
    ...     (
    ...         VoltageSource(name="V1", a="in", b="0", voltage=10.0),
    ...         Resistor(name="R1", a="in", b="out", resistance=1e3),
    ...         Capacitor(name="C1", a="out", b="0", capacitance=1e-6),
    ...     ),
    ... )
    >>> run = transient(charging, 5e-3, at_rest=False, times=np.array([1e-3]))
    >>> round(float(run.voltage("out")[0, 0]), 2)
    6.32
    """
    _check(netlist, end, levels, at_rest, initial_volts, most_step, accuracy)
    keep = None if times is None else _checked_times(times, 0.0, end, netlist.title)
    march = March(netlist, end, temperature, levels, accuracy, keep)
    if at_rest:
        march.start_at_rest(states)
    else:
        march.start_from_charge(states, initial_volts or {})
    march.on(end / 50.0 if most_step is None else most_step)
    times, unknowns, kept = march.record.arrays()
    return Transient(march.equations, times, unknowns, kept, tuple(march.events))


def _check(
    netlist: Netlist,
    end: float,
    levels: Mapping[str, Value] | None,
    at_rest: bool,
    initial_volts: Mapping[str, Value] | None,
    most_step: float | None,
    accuracy: float,
) -> None:
    problems = []
    for says, value, most in (
        ("time to follow a circuit for", end, np.inf),
        ("greatest step [s]", 1.0 if most_step is None else most_step, np.inf),
        ("accuracy of a step", accuracy, 0.1),
    ):
        if not (0.0 < value <= most and np.isfinite(value)):
            problems.append(
                Problem(
                    says,
                    got=f"{value:g}",
                    expected="above 0" + (f", at most {most:g}" if np.isfinite(most) else ""),
                    key=netlist.title,
                )
            )
    known = [part.name for part in netlist.parts if isinstance(part, Capacitor)]
    problems += [
        Problem(
            "initial volts are for capacitors",
            got=repr(name),
            expected=f"one of {', '.join(known) or 'none: this circuit has no capacitor'}",
            key=netlist.title,
        )
        for name in initial_volts or {}
        if name not in known
    ]
    sources = [
        part.name for part in netlist.parts if isinstance(part, VoltageSource | CurrentSource)
    ]
    problems += [
        Problem("no such source", got=repr(name), expected=f"one of {', '.join(sources)}")
        for name in levels or {}
        if name not in sources
    ]
    if at_rest and initial_volts:
        problems.append(
            Problem(
                "initial volts with a start at rest",
                got=", ".join(initial_volts),
                expected="one of the two",
                key=netlist.title,
                hint="Give at_rest=False to start from them",
            )
        )
    if problems:
        raise NetlistError(problems)


def _checked_times(times: Value, first: float, last: float, title: str) -> Floats:
    """Moments in a row, if they rise and lie within the time."""
    wanted = np.atleast_1d(np.asarray(times, dtype=np.float64))
    if wanted.ndim == 1 and wanted.size and np.all(np.isfinite(wanted)):
        outside = (wanted < first) | (wanted > last)
        if not np.any(outside) and np.all(np.diff(wanted) > 0.0):
            return wanted
        got = f"{wanted[outside][0]:g} s" if np.any(outside) else "times that do not rise"
    else:
        got = "none" if wanted.size == 0 else f"{wanted.flat[0]:g}, shape {wanted.shape}"
    raise NetlistError(
        [
            Problem(
                "moments to see a circuit at",
                got=got,
                expected=f"rising, from {first:g} to {last:g} s",
                key=title,
            )
        ]
    )
