"""What one cell of each battery chemistry is like, read from chemistries.toml."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from types import MappingProxyType
from typing import Any

import numpy as np

from boomwright.physics.arrays import Floats, FloatsLike, floats
from boomwright.physics.nature import kelvin

__all__ = ["CHARGE_GRID", "Chemistry", "chemistry_from_table", "end_voltage", "load_chemistries"]

CHARGE_GRID: Floats = np.linspace(0.0, 1.0, 101)
"""State of charge at the points of every volts table [1]."""

_SECONDS_PER_HOUR = 3600.0

_STATUSES = ("standard", "typical", "measured", "invented")

# Every fact a chemistry must state, with the one unit it may be stated in.
_UNITS = {
    "emf": "V",
    "emf_temperature": "V/K",
    "voltage_nominal": "V",
    "full_charge_temperature": "V/K",
    "float_temperature": "V/K",
    "end_voltage": "V",
    "voltage_floor": "V",
    "rated_hours": "h",
    "kibam_fraction": "1",
    "kibam_rate": "1/h",
    "capacity": "1",
    "resistance": "ohm Ah",
    "ohmic_share": "1",
    "relaxation_time": "s",
    "resistance_temperature": "K",
    "capacity_temperature": "1",
    "self_discharge": "1/month",
    "self_discharge_doubling": "K",
    "depth_advised": "1",
    "cycle_life": "1",
    "specific_energy": "Wh/kg",
}

# Facts that a chemistry may lack: no float voltage, or no charging at all.
_UNITS_OPTIONAL = {
    "voltage_full_charge": "V",
    "voltage_float": "V",
    "charge_temperature": "degC",
    "charge_current": "1/h",
}


@dataclass(frozen=True, eq=False)
class Chemistry:
    """Facts about one cell of a chemistry; volts and ohms are per cell, at 25 °C.

    Parameters
    ----------
    name, title : str
        Short name used in build files, and name in plain words.
    ocv_table : array, shape (101,)
        Volts against the head of the available charge (at rest: the state of charge) on
        `CHARGE_GRID`; always rising [V].
    ocv_temperature : float
        Change of those volts with temperature [V/K].
    ocv_spread : float
        Half width of the range between sound cells [V].
    voltage_nominal : float
        Nominal volts [V].
    voltage_full_charge : float or None
        Where charging in cycles ends at 25 °C [V]; None: not rechargeable.
    voltage_float : float or None
        Volts it may be held at for ever at 25 °C [V]; None: must not be floated.
    full_charge_temperature, float_temperature : float
        Change of the two charging volts with temperature [V/K].
    end_durations, end_volts : array, shape (n,)
        Customary end volts of a discharge [V] against its length [s]; see `end_voltage`.
    voltage_rated_end : float
        End volts of the rated discharge [V].
    voltage_floor : float
        Below this, under any load, the cell is being ruined [V].
    duration_rated : float
        Length of the discharge that the label's capacity belongs to, where not stated [s].
    kibam_fraction, kibam_rate : float
        Available share [1] and rate constant [1/s] of the two-well model.
    capacity_low, capacity_high : float
        Range of the share of the label that a sound battery gives [1].
    resistance, resistance_low, resistance_high : float
        Settled direct-current resistance times rated capacity, and its range [Ω Ah].
    ohmic_share : float
        Part of `resistance` that acts at once; the rest builds up over `relaxation_time` [1].
    relaxation_time : float
        Time constant of the slower part [s].
    resistance_temperature : float
        B in R(T) = R exp(B (1/T - 1/298.15 K)) [K].
    capacity_temperatures, capacity_shares : array, shape (n,)
        Share of the 25 °C capacity [1] against temperature [K].
    self_discharge, self_discharge_low, self_discharge_high : float
        Loss at 20 °C and its range [1/month].
    self_discharge_doubling : float
        Warming that doubles the loss [K].
    charge_temperature_low, charge_temperature_high : float or None
        Window for charging [K].
    charge_current, charge_current_high : float or None
        Recommended and greatest charge current, as a multiple of rated capacity per hour [1/h].
    depth_advised : float
        Depth of discharge to plan for in daily use [1].
    cycle_depths, cycle_lives : array, shape (n,)
        Cycles to the end of life [1] against depth of discharge [1].
    specific_energy, specific_energy_low, specific_energy_high : float
        Rated energy per weight of a whole battery [Wh/kg].
    gas : bool
        Gives off hydrogen in ordinary charging or light overcharge.
    cautions : tuple of str
        What can hurt a person or ruin the battery.
    sources : mapping of str to str
        Status and source of every fact, by its key in the data file.
    """

    name: str
    title: str
    ocv_table: Floats
    ocv_temperature: float
    ocv_spread: float
    voltage_nominal: float
    voltage_full_charge: float | None
    voltage_float: float | None
    full_charge_temperature: float
    float_temperature: float
    end_durations: Floats
    end_volts: Floats
    voltage_rated_end: float
    voltage_floor: float
    duration_rated: float
    kibam_fraction: float
    kibam_rate: float
    capacity_low: float
    capacity_high: float
    resistance: float
    resistance_low: float
    resistance_high: float
    ohmic_share: float
    relaxation_time: float
    resistance_temperature: float
    capacity_temperatures: Floats
    capacity_shares: Floats
    self_discharge: float
    self_discharge_low: float
    self_discharge_high: float
    self_discharge_doubling: float
    charge_temperature_low: float | None
    charge_temperature_high: float | None
    charge_current: float | None
    charge_current_high: float | None
    depth_advised: float
    cycle_depths: Floats
    cycle_lives: Floats
    specific_energy: float
    specific_energy_low: float
    specific_energy_high: float
    gas: bool
    cautions: tuple[str, ...]
    sources: Mapping[str, str]


def end_voltage(chemistry: Chemistry, *, duration: FloatsLike) -> Floats:
    """Customary end volts of one cell for a discharge of a given length.

    Shorter discharges are run to lower volts, because more of the drop is only resistance.
    Between the published rates it follows the logarithm of the time; beyond them it stays.

    Parameters
    ----------
    chemistry : Chemistry
        The cell.
    duration : float or array, any shape
        Length of the discharge, above 0 [s].

    Returns
    -------
    array, same shape
        End volts [V].

    Notes
    -----
    A single entry in the data means one end for every rate.

    References
    ----------
    .. [1] IEC 61056-1 (1.75 V/cell at 20 h) and IEC 60896-21 (1.60 V/cell at 1 h), from memory.

    Examples
    --------
    >>> agm = load_chemistries()["lead-agm"]
    >>> 6 * float(end_voltage(agm, duration=20 * 3600.0))
    10.5
    """
    return np.interp(np.log(floats(duration)), np.log(chemistry.end_durations), chemistry.end_volts)


def load_chemistries() -> dict[str, Chemistry]:
    """All chemistries of the data file, by name.

    Read once and kept; the tables inside are read-only. Values are as good as the source that
    each one names in `Chemistry.sources`.

    Returns
    -------
    dict of str to Chemistry
        lead-flooded, lead-agm, lifepo4, li-ion-nmc, nimh, alkaline.

    Raises
    ------
    ValueError
        A fact is missing, or has a wrong unit or status, or volts that do not rise with charge.

    Examples
    --------
    >>> sorted(load_chemistries())
    ['alkaline', 'lead-agm', 'lead-flooded', 'li-ion-nmc', 'lifepo4', 'nimh']
    """
    return dict(_chemistries())


@cache
def _chemistries() -> Mapping[str, Chemistry]:
    text = (files("boomwright.physics") / "data" / "chemistries.toml").read_text(encoding="utf-8")
    return MappingProxyType(
        {name: chemistry_from_table(name, raw) for name, raw in tomllib.loads(text).items()}
    )


def chemistry_from_table(name: str, raw: Mapping[str, Any]) -> Chemistry:
    """Chemistry from one table of the data file, checked.

    Parameters
    ----------
    name : str
        Name of the table.
    raw : mapping
        The table as TOML gives it.

    Returns
    -------
    Chemistry
        The same facts in SI units.

    Raises
    ------
    ValueError
        As `load_chemistries`.

    Examples
    --------
    >>> chemistry_from_table("mine", {})  # doctest: +ELLIPSIS
    Traceback (most recent call last):
    ValueError: mine: got no emf, emf_temperature, voltage_nominal, ...
    """
    _check_facts(name, raw)
    charge_temperature = raw.get("charge_temperature", {})
    charge_current = raw.get("charge_current", {})
    end, emf, warmth = raw["end_voltage"], raw["emf"], raw["capacity_temperature"]
    ocv_table = np.interp(CHARGE_GRID, emf["charge"], emf["volts"])
    if np.any(np.diff(ocv_table) <= 0.0):
        msg = f"{name}.emf: got volts {emf['volts']} V, allowed only volts that rise with charge"
        raise ValueError(msg)
    end_durations = _frozen(_SECONDS_PER_HOUR * np.array(end["hours"]))
    end_volts = _frozen(end["volts"])
    duration_rated = _SECONDS_PER_HOUR * float(raw["rated_hours"]["value"])
    return Chemistry(
        name=name,
        title=raw["title"],
        ocv_table=_frozen(ocv_table),
        ocv_temperature=raw["emf_temperature"]["value"],
        ocv_spread=emf["spread"],
        voltage_nominal=raw["voltage_nominal"]["value"],
        voltage_full_charge=raw.get("voltage_full_charge", {}).get("value"),
        voltage_float=raw.get("voltage_float", {}).get("value"),
        full_charge_temperature=raw["full_charge_temperature"]["value"],
        float_temperature=raw["float_temperature"]["value"],
        end_durations=end_durations,
        end_volts=end_volts,
        voltage_rated_end=float(
            np.interp(np.log(duration_rated), np.log(end_durations), end_volts)
        ),
        voltage_floor=raw["voltage_floor"]["value"],
        duration_rated=duration_rated,
        kibam_fraction=raw["kibam_fraction"]["value"],
        kibam_rate=raw["kibam_rate"]["value"] / _SECONDS_PER_HOUR,
        capacity_low=raw["capacity"]["low"],
        capacity_high=raw["capacity"]["high"],
        resistance=raw["resistance"]["value"],
        resistance_low=raw["resistance"]["low"],
        resistance_high=raw["resistance"]["high"],
        ohmic_share=raw["ohmic_share"]["value"],
        relaxation_time=raw["relaxation_time"]["value"],
        resistance_temperature=raw["resistance_temperature"]["value"],
        capacity_temperatures=_frozen(kelvin(np.array(warmth["degc"]))),
        capacity_shares=_frozen(warmth["share"]),
        self_discharge=raw["self_discharge"]["value"],
        self_discharge_low=raw["self_discharge"]["low"],
        self_discharge_high=raw["self_discharge"]["high"],
        self_discharge_doubling=raw["self_discharge_doubling"]["value"],
        charge_temperature_low=_kelvin_or_none(charge_temperature.get("low")),
        charge_temperature_high=_kelvin_or_none(charge_temperature.get("high")),
        charge_current=charge_current.get("value"),
        charge_current_high=charge_current.get("high"),
        depth_advised=raw["depth_advised"]["value"],
        cycle_depths=_frozen(raw["cycle_life"]["depth"]),
        cycle_lives=_frozen(raw["cycle_life"]["cycles"]),
        specific_energy=raw["specific_energy"]["value"],
        specific_energy_low=raw["specific_energy"]["low"],
        specific_energy_high=raw["specific_energy"]["high"],
        gas=raw["gas"],
        cautions=tuple(raw["cautions"]),
        sources=MappingProxyType(
            {key: f"{raw[key]['status']}: {raw[key]['source']}" for key in _facts(raw)}
        ),
    )


def _facts(raw: Mapping[str, Any]) -> list[str]:
    return [key for key, value in raw.items() if isinstance(value, Mapping)]


def _check_facts(name: str, raw: Mapping[str, Any]) -> None:
    missing = [key for key in _UNITS if key not in raw]
    if missing:
        msg = f"{name}: got no {', '.join(missing)}; every chemistry must state it"
        raise ValueError(msg)
    units = _UNITS | _UNITS_OPTIONAL
    for key in _facts(raw):
        fact = raw[key]
        if fact.get("unit") != units.get(key):
            msg = f"{name}.{key}: got unit {fact.get('unit')}, allowed {units.get(key)}"
            raise ValueError(msg)
        if fact.get("status") not in _STATUSES or not fact.get("source"):
            msg = (
                f"{name}.{key}: got status {fact.get('status')} and source {fact.get('source')}, "
                f"allowed a source and a status of {', '.join(_STATUSES)}"
            )
            raise ValueError(msg)


def _frozen(values: FloatsLike) -> Floats:
    array = np.array(values, dtype=np.float64)
    array.setflags(write=False)
    return array


def _kelvin_or_none(temperature_degc: float | None) -> float | None:
    return None if temperature_degc is None else float(kelvin(temperature_degc))
