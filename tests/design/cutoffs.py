"""Designed cutoffs for the tests, each worked out once."""

from __future__ import annotations

from functools import cache

import numpy as np

from boomwright.build.circuits import CutoffCircuit
from boomwright.build.devices import cutoff_values
from boomwright.build.drawer import load_drawer
from boomwright.build.words import battery_of_words
from boomwright.circuit.blocks.cutoff import CUTOFF_FAMILIES, cutoff_netlist
from boomwright.circuit.thresholds import find_thresholds
from boomwright.design.cutoff.design import design_cutoff
from boomwright.design.cutoff.spread import corner_of
from boomwright.design.cutoff.values import chosen_circuit
from boomwright.design.cutoff.wish import cutoff_wish

DRAWER = load_drawer()
SEALED = "12 V 9 Ah AGM"
BATTERIES = (SEALED, "4S 10 Ah LiFePO4", "3S 5 Ah Li-ion", "24 V 12 Ah AGM")
FAMILIES = tuple(CUTOFF_FAMILIES)
GAPPED = tuple(
    name for name, kind in CUTOFF_FAMILIES.items() if name != "zener-relay" and not kind.holding
)
"""Families whose gap can be chosen."""

VERSIONS = 300


@cache
def wish_of(words=SEALED, **wanted):
    return cutoff_wish(battery_of_words(words), **wanted)


@cache
def circuit_of(family, words=SEALED):
    return chosen_circuit(family, wish_of(words), DRAWER)


@cache
def design_of(family):
    circuit = circuit_of(family)
    return design_cutoff(family, wish_of(), DRAWER, circuit=circuit, versions=VERSIONS)


def likely_of(circuit, wish):
    """Values with every part as its label says."""
    load = wish.highest / wish.load_current
    return cutoff_values(circuit, DRAWER, corner_of({}, 1), load_resistance=load)


def solved(family, values, wish):
    """Off and on voltages of values that need not be those of any circuit."""
    netlist = cutoff_netlist(family, values, voltage=wish.highest)
    watch = CUTOFF_FAMILIES[family].watch
    return find_thresholds(netlist, watch, lowest=1.0, highest=wish.highest)


def soldered(family, **parts):
    """A circuit as a build file would have it."""
    return CutoffCircuit.model_validate({"family": family, **parts})


def share_between(values, low, high):
    return float(np.mean((values >= low) & (values <= high)))
