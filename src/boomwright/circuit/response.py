"""The AC response: what small sines do around the operating point."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from boomwright.circuit.equations import Equations
from boomwright.circuit.netlist import GROUND, Netlist
from boomwright.circuit.newton import stamp
from boomwright.circuit.operating import OperatingPoint, operating_point
from boomwright.circuit.parts import CurrentSource, VoltageSource
from boomwright.circuit.values import NOMINAL_TEMPERATURE, Floats, Truths, Value
from boomwright.errors import ConvergenceError, NetlistError, Problem

__all__ = ["AcResponse", "Phasors", "ac_response"]

Phasors: TypeAlias = NDArray[np.complex128]
"""Array of sines as complex numbers: size is the amplitude, angle the phase."""

# Numbers in the matrices that are solved in one go: what stays in the processor's own memory.
_AT_ONCE = 200_000


@dataclass(frozen=True)
class AcResponse:
    """Sines in a circuit around its operating point.

    Parameters
    ----------
    frequencies : array, shape (frequencies,)
        Frequencies [Hz].
    point : OperatingPoint
        What they ride on.
    phasors : array of complex, shape (size, frequencies, samples)
        Node voltages, then the currents through sources and coils.
    """

    frequencies: Floats
    point: OperatingPoint
    phasors: Phasors

    def _view(self) -> tuple[OperatingPoint, OperatingPoint]:
        """Real and imaginary part, each as if it were an operating point of one long batch."""
        flat = self.phasors.reshape(len(self.phasors), -1)
        equations = self.point.equations
        return OperatingPoint(equations, flat.real, {}), OperatingPoint(equations, flat.imag, {})

    def voltage(self, node: str, against: str = GROUND) -> Phasors:
        """Voltage of a node against another [V], shape (frequencies, samples).

        Parameters
        ----------
        node, against : str
            Names of nodes.

        Returns
        -------
        array of complex

        Raises
        ------
        NetlistError
            If there is no such node.
        """
        real, imaginary = (view.voltage(node, against) for view in self._view())
        return (real + 1j * imaginary).reshape(self.phasors.shape[1:])

    def branch_current(self, name: str) -> Phasors:
        """Current from ``a`` to ``b`` through a source or coil [A], shape (frequencies, samples).

        Parameters
        ----------
        name : str
            Designator of a voltage source, an inductor or a relay.

        Returns
        -------
        array of complex

        Raises
        ------
        NetlistError
            If there is no current by this name.
        """
        real, imaginary = (view.branch_current(name) for view in self._view())
        return (real + 1j * imaginary).reshape(self.phasors.shape[1:])

    def gain_db(self, node: str, against: str) -> Floats:
        """Level of a node's voltage relative to another node's [dB], shape (frequencies, samples).

        Parameters
        ----------
        node, against : str
            Node listened at and node that counts as 0 dB, both against ground.

        Returns
        -------
        array
            20 log10 |V(node) / V(against)|; minus infinity where the node is silent.

        Raises
        ------
        NetlistError
            If there is no such node, or nothing to compare with at ``against``.
        """
        heard, whole = np.abs(self.voltage(node)), np.abs(self.voltage(against))
        if not np.all(whole > 0.0):
            raise NetlistError(
                [
                    Problem(
                        "no sine at the node that gain is measured from",
                        got=repr(against),
                        hint="Give the source that feeds it an ac amplitude above 0",
                    )
                ]
            )
        ratio = heard / whole
        sounding = ratio > 0.0
        return np.asarray(
            np.where(sounding, 20.0 * np.log10(np.where(sounding, ratio, 1.0)), -np.inf)
        )


def ac_response(
    netlist: Netlist,
    frequencies: Floats,
    *,
    temperature: Value = NOMINAL_TEMPERATURE,
    levels: Mapping[str, Value] | None = None,
    states: Mapping[str, Truths] | None = None,
) -> AcResponse:
    """Response of a circuit to small sines from its sources' ``ac`` amplitudes.

    Every curved part counts as its slopes at the operating point, so the answer holds for sines
    small enough not to bend them. Contacts stay as they are at the operating point.

    Parameters
    ----------
    netlist : Netlist
        The circuit.
    frequencies : array, shape (frequencies,)
        Frequencies above 0 [Hz].
    temperature : float or array
        Temperature of all parts [K].
    levels : mapping or None
        Sources at another level at rest than their part says [V or A].
    states : mapping or None
        States to look for the operating point from, by name.

    Returns
    -------
    AcResponse

    Raises
    ------
    NetlistError
        If there is no frequency, one is not above 0, or a level names no source.
    ConvergenceError
        If there is no operating point, or a lossless resonance is met exactly.

    Notes
    -----
    (G + j 2π f C) x = e, with G the proportional parts and slopes, C the capacitors and coils.

    References
    ----------
    .. [1] L. W. Nagel, SPICE2: A computer program to simulate semiconductor circuits, University
       of California, Berkeley, 1975 (small-signal analysis, from memory).

    Examples
    --------
    A capacitor behind a resistor is 3.01 dB down at 1 / (2π R C) = 1592 Hz:

    >>> from boomwright.circuit.parts import Capacitor, Resistor, VoltageSource
    >>> low_pass = Netlist(
    ...     "low pass",
    ...     (
    ...         VoltageSource(name="V1", a="in", b="0", voltage=0.0, ac=1.0),
    ...         Resistor(name="R1", a="in", b="out", resistance=1e3),
    ...         Capacitor(name="C1", a="out", b="0", capacitance=100e-9),
    ...     ),
    ... )
    >>> response = ac_response(low_pass, np.array([1591.549]))
    >>> round(float(response.gain_db("out", "in")[0, 0]), 2)
    -3.01
    """
    wanted = np.atleast_1d(np.asarray(frequencies, dtype=np.float64))
    bad = ~(np.isfinite(wanted) & (wanted > 0.0))
    if wanted.ndim != 1 or wanted.size == 0 or np.any(bad):
        got = f"{wanted[bad].flat[0]:g} Hz" if np.any(bad) else f"shape {wanted.shape}"
        raise NetlistError(
            [
                Problem(
                    "frequencies of an AC response",
                    got=got,
                    expected="at least one, in a row, all above 0 Hz",
                    key=netlist.title,
                )
            ]
        )
    point = operating_point(netlist, temperature=temperature, levels=levels, states=states)
    equations = point.equations
    slopes = _slopes(equations, point)
    amplitudes = {
        part.name: part.ac
        for part in netlist.parts
        if isinstance(part, VoltageSource | CurrentSource)
    }
    sines = equations.excitation(amplitudes).T[:, :, None].astype(np.complex128)
    conductance, charge = (np.moveaxis(each, -1, 0) for each in (slopes, equations.charge))
    phasors = np.empty((equations.size, wanted.size, equations.samples), dtype=np.complex128)
    block = max(1, _AT_ONCE // max(1, conductance.size))
    for begin in range(0, wanted.size, block):
        part = slice(begin, begin + block)
        omega = 2.0 * np.pi * wanted[part, None, None, None]
        try:
            solved = np.linalg.solve(conductance + 1j * omega * charge, sines)
        except np.linalg.LinAlgError as error:
            raise ConvergenceError(
                f"{netlist.title}: no voltages and currents were found between "
                f"{wanted[part].min():g} and {wanted[part].max():g} Hz; a coil and a capacitor "
                "without any loss meet there. Give the coil the resistance of its winding"
            ) from error
        phasors[:, part] = np.moveaxis(solved[..., 0], -1, 0)
    return AcResponse(wanted, point, phasors)


def _slopes(equations: Equations, point: OperatingPoint) -> Floats:
    """Matrix of the proportional parts, and of the curved ones as their slopes at a point."""
    linear = equations.linear(point.states)
    matrix = np.array(np.broadcast_to(linear, (*linear.shape[:2], equations.samples)))
    aside = np.zeros_like(point.unknowns)
    for part in equations.curved:
        stamp(part, part.volts(point.unknowns), matrix, aside)
    return matrix
