"""Parameters fitted to sweeps by least squares, all sweeps at once, with their covariance.

Misses are those of the logarithm of the magnitude, and of the phase where there is one. What was
not measured but taken as known (the resistor, the mass, the box, the ruler) enters as an unknown
of its own, held to its nominal value as firmly as its tolerance says: so every parameter's
uncertainty has all of them in it, with the right sign.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from boomwright.bench.driver.asked import (
    Asked,
    coils_borne_out,
    doubts_of,
    readings_in,
    unknown_names,
)
from boomwright.bench.driver.guesses import AREA_GUESS, VOLUME_GUESS, first_guesses
from boomwright.bench.driver.model import LIMITS, SCALES, Model, Setup
from boomwright.bench.driver.solve import (
    LEAST_ERROR,
    blocks_of,
    covariance_of,
    first_errors,
    least_squares_row,
    residuals,
    scattered_errors,
    score_of,
    slopes_of,
    spare_readings,
)
from boomwright.build.quantities import format_quantity
from boomwright.design.sheet import Remark
from boomwright.errors import InputError, Problem
from boomwright.physics.arrays import Floats

__all__ = ["Fitted", "fit_driver"]

_FIRST_LOOK = 60
_FAR, _NEIGHBOURS = 6.0, 9
_LONGEST_RUN, _AROUND, _STILL = 4, 8, 3.0
_MOST_OUT = 0.05
_LINE, _SKIRT = 0.035, 0.1
_GAIN, _PLAINER = 6.0, 3.0
_HIGHEST, _DECADE_AND_MORE = 5e3, 25.0
_WIDER = 2.0
_TREBLE, _TREBLE_POINTS, _LOWEST_TOP, _CUT = 3.0, 12, 8.0, 1.5
_BEND, _BEND_SHARE = 2.5, 0.004

_BENT_DOUBTS = {"re": 0.01, "qms": 0.015, "qes": 0.025}
"""What a coil that rises with a power of frequency, 0.5 to 0.75, does to a fit of lumped parts at
most, as shares; worked out with coils of a few ohms at 1 kHz."""

Flags = NDArray[np.bool_]


@dataclass(frozen=True, eq=False)
class Fitted:
    """What the sweeps say.

    Parameters
    ----------
    model : Model
        What was fitted, its sweeps without the points left out.
    row : array (unknowns,)
        Most likely unknowns.
    covariance : array (unknowns, unknowns)
        Of the unknowns.
    coil : str
        Key of `COILS`.
    scatter : tuple of float
        Standard error of the magnitudes of each sweep, as a share [1].
    score : float
        Akaike's criterion: lower is better, between fits to the same points.
    bent : bool
        Whether the coil follows its law only up to where the sweeps were cut.
    remarks : tuple of Remark
        What the fit found to mind.
    """

    model: Model
    row: Floats
    covariance: Floats
    coil: str
    scatter: tuple[float, ...]
    score: float
    bent: bool
    remarks: tuple[Remark, ...]

    def value(self, name: str) -> float:
        """Most likely value of a parameter, SI units."""
        return float(self.model.values(self.row)[name])


def fit_driver(asked: Asked) -> Fitted:
    """Parameters of a driver by the sweeps made of it.

    Parameters
    ----------
    asked : Asked
        Sweeps and what is known beside them.

    Returns
    -------
    Fitted

    Raises
    ------
    InputError
        If there are fewer readings than unknowns, or what fits best is no driver.
    """
    highest = max(_HIGHEST, _DECADE_AND_MORE * asked.humps[-1].frequency)
    asked = _below(asked, highest)
    in_cabinet = asked.setups[0].place == "box"
    coils = [asked.coil] if asked.coil else coils_borne_out(asked)
    asked, richest, cut = _below_bend(asked, coils[-1], leaky=in_cabinet)
    asked, spikes = _without_spikes(asked, richest)
    if spikes:
        richest = _solved(asked, coils[-1], leaky=in_cabinet)
    tries = [richest, *(_solved(asked, coil, leaky=in_cabinet) for coil in coils[:-1])]
    # A plainer coil must be clearly better: one that is a little too plain bends Re and Q.
    plainer = min(tries, key=lambda found: found.score)
    best = plainer if plainer.score < richest.score - _PLAINER else richest
    if not in_cabinet and any(setup.place == "box" for setup in asked.setups):
        leaky = _solved(asked, best.coil, leaky=True)
        if leaky.score < best.score - _GAIN:
            best = leaky
    fitted = _weighed(best, [*cut, *spikes])
    if asked.doubts.match and any(np.isfinite(one.sweep.resistor) for one in asked.setups):
        fitted = _unmatched(asked, best, fitted)
    if cut:
        fitted = _doubted(asked, fitted, leaky="ql" in best.model.names)
    _refuse_impossible(fitted)
    return fitted


@dataclass(frozen=True, eq=False)
class _Try:
    model: Model
    row: Floats
    coil: str
    score: float


def _below(asked: Asked, top: float) -> Asked:
    """Sweeps without what lies above a frequency."""
    cut = tuple(
        replace(setup, sweep=setup.sweep.without(setup.sweep.frequency > top))
        for setup in asked.setups
    )
    return replace(asked, setups=cut)


def _below_bend(asked: Asked, coil: str, *, leaky: bool) -> tuple[Asked, _Try, list[Remark]]:
    """Sweeps up to where the coil follows its lumped law, the fit to them, and where that was."""
    found = _solved(asked, coil, leaky=leaky)
    least = _LOWEST_TOP * asked.humps[-1].frequency
    top = max(float(setup.sweep.frequency[-1]) for setup in asked.setups)
    lowered = False
    while top > least and _bends(found, _TREBLE * asked.humps[-1].frequency):
        top, lowered = max(top / _CUT, least), True
        asked = _below(asked, top)
        found = _solved(asked, coil, leaky=leaky)
    if not lowered:
        return asked, found, []
    says = (
        f"Above {format_quantity(top, 'frequency', digits=2)} the curve follows no simple law, as "
        "with iron in the coil or a cone that bends; those points were left out."
    )
    return asked, found, [Remark("fine", says)]


def _doubted(asked: Asked, fitted: Fitted, *, leaky: bool) -> Fitted:
    """Fit whose ranges allow for what the coil's law does to the rest.

    Where the law is only nearly right, the answer hangs on how far up it is fitted: what a lower
    end would change counts as a doubt, and what the law's own fault leaves even there.
    """
    top = max(float(setup.sweep.frequency[-1]) for setup in asked.setups)
    lower = _solved(_below(asked, top / _CUT), fitted.coil, leaky=leaky)
    shift = lower.row - fitted.row
    own = np.array([_BENT_DOUBTS.get(name, 0.0) for name in fitted.model.names])
    covariance = fitted.covariance + np.outer(shift, shift) + np.diag(own**2)
    return replace(fitted, covariance=covariance, bent=True)


def _unmatched(asked: Asked, best: _Try, fitted: Fitted) -> Fitted:
    """Fit whose ranges allow for two inputs that differ.

    Not an unknown of the fit: a coil that follows its law only nearly would draw it far off.
    """
    ratio = 1.0 + asked.doubts.match
    setups = tuple(replace(one, sweep=one.sweep.rematched(ratio)) for one in asked.setups)
    other = _solved(replace(asked, setups=setups), best.coil, leaky="ql" in best.model.names)
    shift = other.row - best.row
    return replace(fitted, covariance=fitted.covariance + np.outer(shift, shift))


def _bends(found: _Try, treble: float) -> bool:
    """Whether the fit misses the treble by much more than neighbouring points differ."""
    for setup, miss in zip(found.model.setups, found.model.misses(found.row), strict=True):
        if setup.sweep.error is not None:
            continue
        high = setup.sweep.frequency > treble
        if np.count_nonzero(high) < _TREBLE_POINTS:
            continue
        for block in blocks_of(setup, miss):
            # A second difference holds six times the variance of one point's noise.
            noise = 1.4826 * float(np.median(np.abs(np.diff(block[high], 2)))) / np.sqrt(6.0)
            off = 1.4826 * float(np.median(np.abs(block[high])))
            if off > _BEND * noise + _BEND_SHARE:
                return True
    return False


def _solved(asked: Asked, coil: str, *, leaky: bool) -> _Try:
    """The best unknowns for one kind of coil, by a robust fit with equal weights."""
    names = unknown_names(asked, coil, leaky)
    sought = len(names) - sum(name in SCALES for name in names)
    readings = readings_in(asked)
    if readings < sought:
        problem = Problem(
            f"{readings} readings for {sought} unknowns",
            expected=f"{sought} or more",
            file=asked.setups[0].sweep.source,
            hint="Read volts at more frequencies, the peak and its sides first.",
        )
        raise InputError([problem])
    known = {"sd": AREA_GUESS if asked.sd is None else asked.sd, "vas": VOLUME_GUESS}
    model = Model(
        names=names,
        known={name: value for name, value in known.items() if name not in names},
        setups=asked.setups,
        peaks=asked.peaks,
        re=asked.re,
        doubts=doubts_of(asked),
        area_known=asked.sd is not None,
        volume_known=asked.volume_known,
        temperature=asked.temperature,
    )
    # Where to go is seen by some of the points; all of them tell where it is.
    some = replace(model, setups=tuple(_thinned(setup) for setup in model.setups))
    tries = [
        least_squares_row(some, some.row(guess), first_errors(some), robust=True)
        for guess in first_guesses(asked, model)
    ]
    nearest, _ = min(tries, key=lambda tried: tried[1])
    row, _ = least_squares_row(model, nearest, first_errors(model), robust=True)
    return _Try(model, row, coil, score_of(model, row, sought))


def _thinned(setup: Setup) -> Setup:
    """A setup with no more points than a first look needs."""
    size = setup.sweep.frequency.size
    out = np.ones(size, dtype=bool)
    out[np.linspace(0, size - 1, min(size, _FIRST_LOOK)).astype(int)] = False
    return replace(setup, sweep=setup.sweep.without(out))


def _without_spikes(asked: Asked, found: _Try) -> tuple[Asked, list[Remark]]:
    """Sweeps without the few single points that stand far out, and which these were."""
    from scipy.ndimage import median_filter

    setups, remarks = [], []
    for setup, miss in zip(asked.setups, found.model.misses(found.row), strict=True):
        out = np.zeros(setup.sweep.frequency.size, dtype=bool)
        if setup.sweep.error is None:
            for block in blocks_of(setup, miss):
                # Out of line with its neighbours, not with a law that may be wrong there.
                apart = block - median_filter(block, size=_NEIGHBOURS, mode="nearest")
                wide = 1.4826 * np.median(np.abs(block - np.median(block))) + LEAST_ERROR
                out |= _alone(block, apart, _FAR * wide)
        if out.any() and out.mean() < _MOST_OUT:
            lines = _mains_lines(setup.sweep.frequency, out)
            remarks.append(_spike_remark(setup.sweep.frequency[out], lines))
            if np.count_nonzero(out) > 2 * lines.size:
                # A line that is wide enough to show has skirts that bend the fit as well.
                near = np.log(setup.sweep.frequency[:, None] / lines)
                out |= (np.abs(near) < _SKIRT).any(axis=-1)
            setup = replace(setup, sweep=setup.sweep.without(out))
        setups.append(setup)
    return replace(asked, setups=tuple(setups)), remarks


def _alone(block: Floats, apart: Floats, limit: float) -> Flags:
    """Points out of line by more than a limit where their neighbours lie still: no dent."""
    far = np.abs(apart) > limit
    steps = np.abs(np.diff(block))
    edges = np.flatnonzero(np.diff(np.concatenate(([False], far, [False])).astype(np.int8)))
    for start, end in zip(edges[::2], edges[1::2], strict=True):
        before, after = steps[max(start - _AROUND, 0) : max(start - 1, 0)], steps[end:][1:_AROUND]
        beside = np.concatenate((before, after))
        still = (
            beside.size == 0 or float(np.median(beside)) * _STILL < np.abs(apart[start:end]).max()
        )
        if end - start > _LONGEST_RUN or not still:
            far[start:end] = False
    return far


def _mains_lines(frequency: Floats, out: Flags) -> Floats:
    """Multiples of the mains frequency that the marked points lie at; none if one does not."""
    at = frequency[out]
    spacing = float(np.median(np.diff(np.log(frequency))))
    for mains in (50.0, 60.0):
        nearest = mains * np.maximum(np.round(at / mains), 1.0)
        if np.all(np.abs(np.log(at / nearest)) < max(_LINE, spacing)) and at.max() < 11.0 * mains:
            return np.unique(nearest)
    return np.zeros(0)


def _spike_remark(at: Floats, lines: Floats) -> Remark:
    if lines.size:
        named = ", ".join(f"{value:.0f}" for value in lines)
        return Remark(
            "mind",
            f"Mains hum at {named} Hz; the points there were left out.",
            "Move the leads away from mains cables and transformers; run from a battery.",
        )
    named = ", ".join(f"{value:.4g}" for value in at[:5]) + (", …" if at.size > 5 else "")
    says = f"{at.size} single points stand" if at.size > 1 else "A single point stands"
    left = "were" if at.size > 1 else "was"
    return Remark("mind", f"{says} far out and {left} left out: {named} Hz.")


def _weighed(best: _Try, remarks: list[Remark]) -> Fitted:
    """Fit with the weight that its own scatter gives to each sweep, and the covariance."""
    model, row = best.model, best.row
    sigmas = first_errors(model)
    for _ in range(3):
        sigmas = scattered_errors(model, row, sigmas, alike=False)
        row, _ = least_squares_row(model, row, sigmas)
    scatter = tuple(
        float(np.median(sigma[: setup.sweep.frequency.size]))
        for setup, sigma in zip(model.setups, sigmas, strict=True)
    )
    sigmas = scattered_errors(model, row, sigmas, alike=True)
    slopes = slopes_of(model, row, sigmas)
    covariance = covariance_of(slopes.T @ slopes)
    spare = spare_readings(model)
    known = [setup.sweep.error is not None for setup in model.setups]
    if all(known) and spare >= 3:
        miss = residuals(model, row, sigmas)
        wider = float(miss @ miss) / spare
        if wider > _WIDER:
            covariance = covariance * wider
            says = (
                f"The readings scatter {np.sqrt(wider):.1f} times as much as the meter's error "
                "explains; the ranges were widened to suit."
            )
            remarks = [*remarks, Remark("mind", says, "Read the worst points once more.")]
    return Fitted(model, row, covariance, best.coil, scatter, best.score, False, tuple(remarks))


def _refuse_impossible(fitted: Fitted) -> None:
    """Refuse what fits best only at the edge of what can be."""
    values = fitted.model.values(fitted.row)
    problems = []
    for name in ("re", "fs", "qms", "qes", "vas", "fb"):
        if name not in fitted.model.names:
            continue
        value = float(values[name])
        low, high = LIMITS[name]
        if value < low * 1.01 or value > high * 0.99:
            problems.append(
                Problem(
                    f"{name} comes out as no driver's can be",
                    got=f"{value:.3g}",
                    expected=f"between {low:g} and {high:g} in SI units",
                    file=fitted.model.setups[0].sweep.source,
                    hint="Check that the sweeps are of the same driver, and which is which.",
                )
            )
    if problems:
        raise InputError(problems)
