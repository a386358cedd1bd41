"""The two-well kinetic battery model: why a heavy load gets less out, and why rest brings it back.

Charge stands in two wells. The load draws from the available one; the bound one refills it
through a narrow pipe. Empty is when the available well is empty, whatever the bound one holds.

Two papers use the letter k for two things. Here ``rate`` is the rate constant in 1/s at which the
wells even out (Manwell's k). A conductance k' is turned into it by rate = k' / (c (1 - c)).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from boomwright.physics.arrays import Floats, FloatsLike, floats

__all__ = ["KibamFit", "evened_out", "fit_kibam", "kibam_capacity", "kibam_lifetime", "kibam_step"]

_FRACTION_ASSUMED = 0.4
_MISFIT_ALLOWED_TWO_RATES = 0.01


def evened_out(rate: Floats, duration: Floats) -> tuple[Floats, Floats]:
    """Share of a difference left after a time, and its mean over that time.

    Exponential decay, exact for a rate of zero and for an infinite rate.

    Parameters
    ----------
    rate : array, broadcastable
        Rate constant [1/s].
    duration : array, broadcastable
        Time [s].

    Returns
    -------
    left, mean : tuple of array
        exp(-k t) [1] and (1 - exp(-k t)) / (k t) [1].

    Notes
    -----
    Both are 1 at k t = 0; for k t -> infinity both go to 0, the mean as 1 / (k t).

    References
    ----------
    .. [1] J. F. Manwell and J. G. McGowan, Solar Energy 50 (1993) 399-405 (from memory).

    Examples
    --------
    >>> left, mean = evened_out(np.array(1e-4), np.array([0.0, 1e4]))
    >>> [round(float(share), 3) for share in (*left, *mean)]
    [1.0, 0.368, 1.0, 0.632]
    """
    rate, duration = np.broadcast_arrays(rate, duration)
    product = np.multiply(rate, duration, out=np.zeros(rate.shape), where=duration > 0.0)
    left = np.exp(-product)
    mean = np.divide(-np.expm1(-product), product, out=np.ones(rate.shape), where=product > 0.0)
    return left, mean


def kibam_step(
    available: FloatsLike,
    bound: FloatsLike,
    *,
    current: FloatsLike,
    duration: FloatsLike,
    fraction: FloatsLike,
    rate: FloatsLike,
) -> tuple[Floats, Floats]:
    """Charge in both wells after a constant current has flowed for a time.

    Closed-form solution of the two-well kinetic model [1]_; exact for any step length. The wells
    may leave their physical range (negative, overfull): stopping there is the caller's business.

    Parameters
    ----------
    available, bound : float or array, broadcastable
        Charge in the two wells at the start [C].
    current : float or array, broadcastable
        Current out of the battery [A]; negative charges it.
    duration : float or array, broadcastable
        Length of the step, not negative [s].
    fraction : float or array, broadcastable
        Share c of the whole charge that the available well holds at rest, above 0, up to 1 [1].
    rate : float or array, broadcastable
        Rate constant k at which the wells even out, 0 to infinity [1/s].

    Returns
    -------
    available, bound : tuple of array, broadcast shape
        Charge in the two wells at the end [C]; their sum falls by exactly I t.

    Notes
    -----
    With q0 = q1 + q2, e = exp(-k t) and g = (1 - e) / (k t):
    q1' = q1 e + c q0 (1 - e) - I t (g + c (1 - g));
    q2' = q2 e + (1 - c) q0 (1 - e) - I t (1 - c) (1 - g).
    k -> 0: the load draws from q1 alone. k -> infinity or c = 1: one well. Temperature and age
    are left out; `battery_pack` puts them into the capacity.

    References
    ----------
    .. [1] J. F. Manwell and J. G. McGowan, "Lead acid battery storage model for hybrid energy
       systems", Solar Energy 50 (1993) 399-405 (from memory).

    Examples
    --------
    10 Ah, c = 0.3, k = 0.5 /h, 2 A for one hour (computed from the equations of [1]_).

    >>> q1, q2 = kibam_step(3 * 3600.0, 7 * 3600.0, current=2.0, duration=3600.0,
    ...                     fraction=0.3, rate=0.5 / 3600)
    >>> round(float(q1) / 3600, 4), round(float(q2) / 3600, 4)
    (1.2983, 6.7017)
    """
    available, bound, current = floats(available), floats(bound), floats(current)
    fraction, duration = floats(fraction), floats(duration)
    left, mean = evened_out(floats(rate), duration)
    total = available + bound
    drawn = current * duration
    available_after = (
        available * left
        + fraction * total * (1.0 - left)
        - drawn * (mean + fraction * (1.0 - mean))
    )
    return available_after, total - drawn - available_after


def kibam_capacity(
    *, capacity: FloatsLike, fraction: FloatsLike, rate: FloatsLike, duration: FloatsLike
) -> Floats:
    """Charge a full battery gives at the constant current that empties it in a set time.

    Two-well kinetic model [1]_; empty means the available well is empty. Holds for a full, rested
    start and a steady current.

    Parameters
    ----------
    capacity : float or array, broadcastable
        Charge of both wells when full: what an infinitely slow discharge gives [C].
    fraction, rate : float or array, broadcastable
        Available share c [1] and rate constant k [1/s], as in `kibam_step`.
    duration : float or array, broadcastable
        Time of the discharge [s].

    Returns
    -------
    array, broadcast shape
        Charge given [C]; divide by `duration` for the current.

    Notes
    -----
    F(T) = C c k T / (1 - exp(-k T) + c (k T - 1 + exp(-k T))). T -> 0: c C. T -> infinity: C.

    References
    ----------
    .. [1] J. F. Manwell and J. G. McGowan, Solar Energy 50 (1993) 399-405 (from memory).

    Examples
    --------
    >>> round(float(kibam_capacity(capacity=36e3, fraction=0.3, rate=0.5 / 3600,
    ...                            duration=20 * 3600.0)) / 3600, 4)
    8.1082
    """
    fraction = floats(fraction)
    _, mean = evened_out(floats(rate), floats(duration))
    return floats(capacity) * fraction / (fraction + (1.0 - fraction) * mean)


def kibam_lifetime(
    available: FloatsLike,
    bound: FloatsLike,
    *,
    current: FloatsLike,
    fraction: FloatsLike,
    rate: FloatsLike,
) -> Floats:
    """Time until the available well is empty under a constant current.

    Two-well kinetic model [1]_ from any start, rested or not. The root is unique and is found by
    halving the interval from 0 to (q1 + q2) / I.

    Parameters
    ----------
    available, bound : float or array, broadcastable
        Charge in the two wells at the start [C].
    current : float or array, broadcastable
        Current out of the battery [A].
    fraction, rate : float or array, broadcastable
        Available share c [1] and rate constant k [1/s], as in `kibam_step`.

    Returns
    -------
    array, broadcast shape
        Time [s]; 0 where the well is empty already, infinite where no current is drawn.

    Notes
    -----
    `kibam_step` with q1' = 0. k -> infinity: (q1 + q2) / I. k -> 0: q1 / I.

    References
    ----------
    .. [1] M. Jongerden, B. Haverkort, H. Bohnenkamp and J.-P. Katoen, "Maximizing system lifetime
       by battery scheduling", DSN 2009, lifetime table (from memory).

    Examples
    --------
    5.5 A min with c = 0.166 and k = 0.122 /min lasts 4.53 min at 250 mA [1]_.

    >>> round(float(kibam_lifetime(0.166 * 330, 0.834 * 330, current=0.25, fraction=0.166,
    ...                            rate=0.122 / 60)) / 60, 2)
    4.53
    """
    available, bound, current, fraction, rate = np.broadcast_arrays(
        floats(available), floats(bound), floats(current), floats(fraction), floats(rate)
    )
    drawing = current > 0.0
    filled = available > 0.0
    total = np.maximum(available + bound, 0.0)
    late = np.divide(total, current, out=np.zeros(current.shape), where=drawing & filled)
    early = np.zeros_like(late)
    # Sixty halvings leave less of the interval than a double can tell apart.
    for _ in range(60):
        middle = 0.5 * (early + late)
        left_over, _ = kibam_step(
            available, bound, current=current, duration=middle, fraction=fraction, rate=rate
        )
        alive = left_over > 0.0
        early = np.where(alive, middle, early)
        late = np.where(alive, late, middle)
    return np.where(filled, np.where(drawing, 0.5 * (early + late), np.inf), 0.0)


@dataclass(frozen=True)
class KibamFit:
    """Two wells that reproduce a table of capacity against rate.

    Parameters
    ----------
    capacity : float
        Charge of an infinitely slow discharge [C].
    fraction : float
        Available share c [1].
    rate : float
        Rate constant k [1/s].
    misfit : float
        Largest relative difference between the table and the model [1].
    assumption : str
        What was taken for granted because the table could not tell; empty if nothing.
    """

    capacity: float
    fraction: float
    rate: float
    misfit: float
    assumption: str


def fit_kibam(
    durations: FloatsLike, capacities: FloatsLike, *, fraction: float | None = None
) -> KibamFit:
    """Two wells fitted to a table of capacity against discharge time.

    Least squares of the relative misfit. Three or more rates settle all three parameters; two
    rates settle only two, so the available share is then assumed (0.4, typical of sealed lead)
    unless `fraction` gives it, and the fit says so in `assumption`.

    Parameters
    ----------
    durations : array, shape (n,), n >= 2
        Discharge times, all different [s].
    capacities : array, shape (n,)
        Charge given in each of them [C].
    fraction : float, optional
        Available share c to hold fixed, above 0, up to 1 [1].

    Returns
    -------
    KibamFit
        Capacity, fraction, rate, misfit and assumption.

    Raises
    ------
    ValueError
        Fewer than two different times, values not above zero, a slower discharge that gives
        less than the fastest, or two rates that the assumed share cannot meet within 1 %.

    Notes
    -----
    1 / F(T) = a + b g(k T) with g(x) = (1 - exp(-x)) / x, a = 1 / C, b = a (1 - c) / c: straight
    in a and b, so only k is searched. The table's end volts are left out: it should be taken to
    the end volts usual at each rate. Where two rates allow two solutions, the faster k is taken,
    which claims the least charge beyond what was measured.

    References
    ----------
    .. [1] J. F. Manwell and J. G. McGowan, Solar Energy 50 (1993) 399-405 (from memory).

    Examples
    --------
    >>> hours = np.array([0.5, 1.0, 10.0, 20.0])
    >>> table = kibam_capacity(capacity=36e3, fraction=0.3, rate=0.5 / 3600,
    ...                        duration=hours * 3600)
    >>> fit = fit_kibam(hours * 3600, table)
    >>> round(fit.capacity), round(fit.fraction, 3), round(fit.rate * 3600, 3)
    (36000, 0.3, 0.5)
    """
    times, charges = _checked_table(durations, capacities)
    held = fraction
    assumption = ""
    if held is None and times.size == 2:
        held = _FRACTION_ASSUMED
        assumption = (
            f"two rates cannot settle three parameters: available share taken as {held:g}, "
            "typical of sealed lead-acid"
        )
    if held is not None and not 0.0 < held <= 1.0:
        msg = f"fraction: got {held:g}, allowed above 0 and up to 1"
        raise ValueError(msg)

    rate = _best_rate(times, charges, held)
    flat, bend = _line(rate, times, charges, held)
    misfit = float(np.max(np.abs(_misfit(rate, times, charges, held))))
    if times.size == 2 and misfit > _MISFIT_ALLOWED_TWO_RATES:
        share = held if held is not None else _FRACTION_ASSUMED
        msg = (
            f"capacities: got a fast discharge of {charges[0] / charges[1]:.3g} of the slow one, "
            f"which an available share of {share:g} cannot give; pass a smaller fraction"
        )
        raise ValueError(msg)
    return KibamFit(1.0 / flat, flat / (flat + bend), rate, misfit, assumption)


def _checked_table(durations: FloatsLike, capacities: FloatsLike) -> tuple[Floats, Floats]:
    times, charges = floats(durations).ravel(), floats(capacities).ravel()
    if times.size != charges.size:
        msg = f"capacities: got {charges.size} values for {times.size} durations, allowed as many"
        raise ValueError(msg)
    if np.unique(times).size != times.size or times.size < 2:
        msg = f"durations: got {times.tolist()} s, allowed two or more different times"
        raise ValueError(msg)
    for name, unit, values in (("durations", "s", times), ("capacities", "C", charges)):
        if not np.all(np.isfinite(values) & (values > 0.0)):
            msg = f"{name}: got {values.tolist()} {unit}, allowed finite values above 0 {unit}"
            raise ValueError(msg)
    order = np.argsort(times)
    times, charges = times[order], charges[order]
    if charges[-1] < charges[0]:
        msg = (
            f"capacities: got {charges[-1]:g} C in the slowest discharge and {charges[0]:g} C in "
            "the fastest, allowed: the slower one gives at least as much"
        )
        raise ValueError(msg)
    return times, charges


def _line(rate: float, times: Floats, charges: Floats, held: float | None) -> tuple[float, float]:
    """Best a and b of 1/F = a + b g(k T), weighted for relative misfit, both kept physical."""
    _, mean = evened_out(floats(rate), times)
    if held is None:
        both = np.linalg.lstsq(
            charges[:, None] * np.stack([np.ones_like(mean), mean], axis=-1),
            np.ones_like(mean),
            rcond=None,
        )[0]
        if both[0] > 0.0 and both[1] >= 0.0:
            return float(both[0]), float(both[1])
    tilt = 0.0 if held is None else (1.0 - held) / held
    basis = charges * (1.0 + tilt * mean)
    flat = float(basis.sum() / np.square(basis).sum())
    return flat, flat * tilt


def _misfit(rate: float, times: Floats, charges: Floats, held: float | None) -> Floats:
    flat, bend = _line(rate, times, charges, held)
    _, mean = evened_out(floats(rate), times)
    return charges * (flat + bend * mean) - 1.0


def _best_rate(times: Floats, charges: Floats, held: float | None) -> float:
    """Rate constant of least misfit; the fastest one where several fit alike."""
    from scipy.optimize import minimize_scalar

    def cost(log_rate: float) -> float:
        return float(np.square(_misfit(float(np.exp(log_rate)), times, charges, held)).sum())

    grid = np.linspace(np.log(0.01 / times[-1]), np.log(100.0 / times[0]), 181)
    costs = np.array([cost(point) for point in grid])
    lows = [
        index
        for index in range(grid.size)
        if costs[index] == costs[max(index - 1, 0) : index + 2].min()
    ]
    refined = [
        minimize_scalar(
            cost,
            bounds=(grid[max(index - 1, 0)], grid[min(index + 1, grid.size - 1)]),
            method="bounded",
            options={"xatol": 1e-10},
        )
        for index in lows
    ]
    least = min(found.fun for found in refined)
    return float(np.exp(max(found.x for found in refined if found.fun <= least + 1e-10)))
