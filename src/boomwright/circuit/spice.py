"""A netlist as text that general-purpose circuit simulators of the Berkeley SPICE family run.

Each part's law is written so that the simulator computes with the same curve as
:mod:`boomwright.circuit.laws`. Junction diodes and bipolar transistors follow ``.temp`` by the
simulator's own models; everything else is stated at the temperature the file is made for.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence

from boomwright.circuit.netlist import GROUND, Netlist
from boomwright.circuit.spice_parts import PartLines
from boomwright.circuit.spice_text import number, plain
from boomwright.circuit.values import NOMINAL_TEMPERATURE
from boomwright.errors import NetlistError, Problem

__all__ = ["spice_netlist", "spice_nodes"]

_KELVIN = 273.15
# Names that simulators read as ground or as quantities of their own.
_RESERVED = frozenset({"gnd", "time", "temper", "hertz"})


def spice_nodes(netlist: Netlist) -> dict[str, str]:
    """Name in SPICE of every node, ground included.

    Parameters
    ----------
    netlist : Netlist
        The circuit.

    Returns
    -------
    dict of str to str
        Name in SPICE by name in the netlist: letters, digits and underscores are kept, and all
        other characters become underscores, except a plus or minus at the end, which becomes a
        word.

    Raises
    ------
    NetlistError
        If SPICE, which reads capitals and small letters as the same, could not tell two apart.

    Examples
    --------
    >>> from boomwright.circuit.parts import Resistor
    >>> bridge = Netlist("load", (Resistor(name="R1", a="out+", b="0", resistance=8.0),))
    >>> spice_nodes(bridge)
    {'0': '0', 'out+': 'out_plus'}
    """
    found = {GROUND: GROUND}
    taken = {GROUND: GROUND}
    problems = []
    for node in netlist.nodes:
        name = plain(re.sub(r"\+$", "_plus", re.sub(r"[-−]$", "_minus", node)))
        if name.lower() in _RESERVED or not name.strip("0"):
            name = f"node_{name}"
        if name.lower() in taken:
            problems.append(
                Problem(
                    "SPICE could not tell two nodes of the circuit apart",
                    got=f"{taken[name.lower()]!r} and {node!r}",
                    expected="names that differ in a letter or digit, not only in capitals",
                    key=netlist.title,
                )
            )
        found[node] = name
        taken[name.lower()] = node
    if problems:
        raise NetlistError(problems)
    return found


def spice_netlist(
    netlist: Netlist,
    *,
    temperature: float = NOMINAL_TEMPERATURE,
    analyses: Sequence[str] = (),
    states: Mapping[str, bool] | None = None,
    sample: int = 0,
) -> str:
    """A circuit as a text that simulators of the Berkeley SPICE family run unchanged.

    Every part keeps its designator; where its first letter means another kind of part in SPICE,
    the letter of its own kind stands before it. The curves are those of this package: the
    simulator's models for diodes and transistors, sources with our smooth laws for references and
    regulators.

    Parameters
    ----------
    netlist : Netlist
        The circuit.
    temperature : float
        Temperature of all parts [K].
    analyses : sequence of str
        Lines that ask for results, such as ``".op"`` or ``".ac dec 20 10 20k"``.
    states : mapping of str to bool, or None
        Relays that start pulled in and comparators that start conducting; all others do not.
    sample : int
        Which sample of the batch, where values are arrays.

    Returns
    -------
    str
        The text, with a line end after each line.

    Raises
    ------
    NetlistError
        If SPICE could not tell two nodes apart, or a waveform is of a kind it does not have.

    Notes
    -----
    ``.temp`` moves diodes and bipolar transistors alone. Resistors, coils, zeners and MOS
    transistors are stated at ``temperature``: make the file again for another.

    References
    ----------
    .. [1] T. Quarles, A. R. Newton, D. O. Pederson and A. Sangiovanni-Vincentelli, SPICE3 version
       3f3 user's manual, University of California, Berkeley, 1993 (from memory).

    Examples
    --------
    >>> from boomwright.circuit.parts import Resistor, VoltageSource
    >>> divider = Netlist(
    ...     "divider",
    ...     (
    ...         VoltageSource(name="BT1", a="in", b="0", voltage=12.0),
    ...         Resistor(name="R1", a="in", b="mid", resistance=3e3),
    ...         Resistor(name="R2", a="mid", b="0", resistance=1e3),
    ...     ),
    ... )
    >>> print(spice_netlist(divider, analyses=[".op"]), end="")
    divider
    * All values hold at 25 degrees Celsius.
    .options tnom=25
    .temp 25
    * BT1 is called VBT1: the first letter tells SPICE what a part is.
    VBT1 in 0 DC 12
    R1 in mid 3000
    R2 mid 0 1000
    .op
    .end
    """
    nodes = spice_nodes(netlist)
    writer = PartLines(netlist, nodes, float(temperature), states or {}, sample)
    for part in netlist.parts:
        writer.add(part)
    degrees = number(temperature - _KELVIN)
    title = re.sub(r"[^\x20-\x7e]", " ", netlist.title)
    head = [title, f"* All values hold at {degrees} degrees Celsius."]
    if temperature != NOMINAL_TEMPERATURE:
        head[1:] = [
            f"* For {degrees} degrees Celsius: the diodes and transistors D and Q are stated at 25",
            "* and follow .temp; all other parts are stated at the temperature itself.",
        ]
    lines = [*head, ".options tnom=25", f".temp {degrees}", *writer.lines, *analyses, ".end"]
    return "\n".join(lines) + "\n"
