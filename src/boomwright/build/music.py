"""The builder's own music as a build file keeps it: how amplitude and spectrum are spread."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import Annotated, Any

import numpy as np
from pydantic import BeforeValidator, Field, ValidationInfo, field_validator

from boomwright.build.fields import Q, Table, value_error
from boomwright.build.quantities import Quantity
from boomwright.errors import Problem
from boomwright.physics.programme import Programme, programme_from_table

__all__ = ["Music"]

_MOST = 1000
_MEASURE = "'boomwright programme FILES... --put' writes this table anew."
_CREST_APART_DB, _GREATEST_CREST_DB = 0.5, 60.0
_LEAST_PEAK, _GREATEST_PEAK, _FINEST = 1e-6, 1e6, 1e-9
_LOWEST_BAND, _HIGHEST_BAND = 10.0, 40e3
_DEEPEST_DB, _HIGHEST_DB = -200.0, 200.0


def _read_numbers(value: object) -> tuple[float, ...]:
    """A list of numbers; whatever else stands there is told with its place."""
    if not isinstance(value, list | tuple):
        got = repr(value) if len(repr(value)) < 60 else f"a {type(value).__name__}"
        raise value_error(
            Problem("not a list of numbers", got, "a list such as [0.0, 0.5, 1.0]", hint=_MEASURE)
        )
    if not 1 <= len(value) <= _MOST:
        says = "a list of the wrong length"
        raise value_error(Problem(says, f"{len(value)} numbers", f"1 to {_MOST} of them"))
    for place, item in enumerate(value, start=1):
        if isinstance(item, bool) or not isinstance(item, int | float):
            _refuse_item(item, place)
        if not math.isfinite(item):
            raise value_error(
                Problem(f"number {place} is no number", repr(item), "a finite number")
            )
    return tuple(float(item) for item in value)


def _refuse_item(item: object, place: int) -> None:
    got = repr(item) if len(repr(item)) < 60 else f"a {type(item).__name__}"
    hint = _MEASURE
    if isinstance(item, str) and "," in item:
        hint = f"Numbers have a decimal point and no quotes: {item.replace(',', '.')}."
    elif isinstance(item, str):
        hint = "Numbers stand without quotes here."
    raise value_error(
        Problem(f"item {place} is no number", got, "a number such as 0.25", hint=hint)
    )


def _refuse(says: str, got: str, expected: str) -> None:
    raise value_error(Problem(says, got, expected, hint=_MEASURE))


Numbers = Annotated[tuple[float, ...], BeforeValidator(_read_numbers)]


class Music(Table):
    """Music of your own, measured by `boomwright programme`; the build then runs on it."""

    title: str = Field(description="What it is, in your own words.", min_length=1, max_length=200)
    files: tuple[str, ...] = Field((), description="Files it was measured from.", max_length=10_000)
    duration: Annotated[Quantity, Q("time", "0.4 s", "10000 h")] | None = Field(
        None, description="How long they play, one after the other."
    )
    loudness: Annotated[Quantity, Q("decibel", "-70 dB", "10 dB")] | None = Field(
        None, description="Integrated loudness over full scale, which meters write as LUFS."
    )
    loudness_range: Annotated[Quantity, Q("decibel", "0 dB", "70 dB")] | None = Field(
        None, description="How far quiet passages lie below loud ones."
    )
    mono_loss: Annotated[Quantity, Q("decibel", "0 dB", "100 dB")] | None = Field(
        None, description="What is lost where left and right are added into one."
    )
    clipped: Annotated[Quantity, Q("share", "0 %", "100 %")] | None = Field(
        None, description="Share of time that is clipped in the files already."
    )
    crest_factor: Annotated[Quantity, Q("decibel", "0 dB", "60 dB")] | None = Field(
        None, description="Peak over root mean square; follows from `levels` if left out."
    )
    levels: Numbers = Field(
        description="Rising amplitudes from 0 to the peak, over the root mean square."
    )
    time_above: Numbers = Field(description="Share of time beyond each of `levels`, 0 to 1.")
    bands: Numbers = Field(description="Third-octave bands in hertz.")
    spectrum_db: Numbers = Field(description="Level of each of `bands` in dB, any common zero.")

    @field_validator("levels")
    @classmethod
    def _levels_rise(cls, levels: tuple[float, ...]) -> tuple[float, ...]:
        if len(levels) < 2:
            _refuse("too few levels", f"{len(levels)}", "2 or more")
        if levels[0] != 0.0:
            _refuse("levels that do not start at 0", f"{levels[0]:g}", "0 first")
        if not _LEAST_PEAK <= levels[-1] <= _GREATEST_PEAK:
            expected = f"{_LEAST_PEAK:g} to {_GREATEST_PEAK:g}"
            _refuse("a peak that cannot be", f"{levels[-1]:g} last", expected)
        place = _first_not(np.diff(levels) > _FINEST * levels[-1])
        if place is not None:
            got = f"{levels[place]:g}, then {levels[place + 1]:g}"
            _refuse("levels that do not rise", got, "each greater than the one before")
        return levels

    @field_validator("time_above")
    @classmethod
    def _time_falls(cls, shares: tuple[float, ...], info: ValidationInfo) -> tuple[float, ...]:
        outside = [share for share in shares if not 0.0 <= share <= 1.0]
        if outside:
            _refuse("a share of time that cannot be", f"{outside[0]:g}", "0 to 1")
        place = _first_not(np.diff(shares) <= 0.0)
        if place is not None:
            got = f"{shares[place]:g}, then {shares[place + 1]:g}"
            _refuse("shares of time that do not fall", got, "none greater than the one before")
        if shares[0] == 0.0:
            _refuse("silence", "no time above 0", "a share of time above 0 first")
        _same_length("time_above", shares, "levels", info)
        return shares

    @field_validator("bands")
    @classmethod
    def _bands_rise(cls, bands: tuple[float, ...]) -> tuple[float, ...]:
        outside = [band for band in bands if not _LOWEST_BAND <= band <= _HIGHEST_BAND]
        if outside:
            _refuse("a band that cannot be heard", f"{outside[0]:g} Hz", "10 Hz to 40 kHz")
        place = _first_not(np.diff(bands) > 0.0)
        if place is not None:
            got = f"{bands[place]:g} Hz, then {bands[place + 1]:g} Hz"
            _refuse("bands that do not rise", got, "each higher than the one before")
        return bands

    @field_validator("spectrum_db")
    @classmethod
    def _spectrum_fits(cls, levels: tuple[float, ...], info: ValidationInfo) -> tuple[float, ...]:
        outside = [level for level in levels if not _DEEPEST_DB <= level <= _HIGHEST_DB]
        if outside:
            _refuse("a level that cannot be", f"{outside[0]:g} dB", "-200 to 200 dB")
        _same_length("spectrum_db", levels, "bands", info)
        return levels

    @field_validator("time_above")
    @classmethod
    def _crest_agrees(cls, shares: tuple[float, ...], info: ValidationInfo) -> tuple[float, ...]:
        said, levels = info.data.get("crest_factor"), info.data.get("levels")
        if levels is None or len(levels) != len(shares):
            return shares
        found = _programme("music", levels, shares, (1000.0,), (0.0,)).crest_factor_db
        if found > _GREATEST_CREST_DB:
            expected = f"{_GREATEST_CREST_DB:g} dB at most"
            _refuse("a peak too far above the average", f"{found:.0f} dB by the lists", expected)
        if said is not None and abs(found - said.likely) > _CREST_APART_DB:
            got = f"crest_factor {said.likely:g} dB, {found:.1f} dB by the lists"
            _refuse("levels and time_above that give another crest factor", got, "the same")
        return shares

    @property
    def programme(self) -> Programme:
        """The programme that a run plays."""
        return _programme(self.title, self.levels, self.time_above, self.bands, self.spectrum_db)


def _programme(
    title: str,
    levels: Sequence[float],
    time_above: Sequence[float],
    bands: Sequence[float],
    spectrum_db: Sequence[float],
) -> Programme:
    made = programme_from_table(
        "music",
        title=title,
        crest_factor_range_db=(0.0, 0.0),
        amplitudes=levels,
        exceedance=time_above,
        frequencies=bands,
        spectrum_db=spectrum_db,
        status="measured",
        source="the build's own music",
    )
    crest_db = made.crest_factor_db
    return replace(made, crest_factor_range_db=(crest_db, crest_db))


def _first_not(right: np.ndarray[Any, np.dtype[np.bool_]]) -> int | None:
    """Place of the first step that is wrong, None if all are right."""
    wrong = np.flatnonzero(~right)
    return int(wrong[0]) if wrong.size else None


def _same_length(key: str, values: Sequence[float], other: str, info: ValidationInfo) -> None:
    against = info.data.get(other)
    if against is not None and len(values) != len(against):
        got = f"{len(values)} in {key}, {len(against)} in {other}"
        problem = Problem("lists of unequal length", got, "one for each", hint=_comma_hint(values))
        raise value_error(problem)


def _comma_hint(values: Sequence[float]) -> str:
    """Where a comma in place of a point has cut numbers in two, all of them are whole."""
    if len(values) > 2 and all(value == int(value) for value in values):
        return "Numbers have a decimal point: 0.5, not 0,5."
    return _MEASURE
