"""Least squares for a model: misses over their errors, the errors by scatter, the covariance."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from boomwright.bench.driver.model import SCALES, Model, Setup
from boomwright.physics.arrays import Floats

__all__ = [
    "LEAST_ERROR",
    "blocks_of",
    "covariance_of",
    "first_errors",
    "least_squares_row",
    "residuals",
    "scattered_errors",
    "score_of",
    "slopes_of",
    "spare_readings",
]

LEAST_ERROR = 1e-6
"""Least standard error of a reading, as a share: no scatter at all would weigh without end."""

_FIRST_ERROR = 0.02
_STEP = 1e-5
_MANY = 30
_TRIES, _STEPS = 50, 5
_TALL = 400
_DAMPED = 1e-9


def first_errors(model: Model) -> list[Floats]:
    """First standard error of every miss."""
    found = []
    for setup in model.setups:
        size = setup.sweep.frequency.size
        error = setup.sweep.error
        own = np.full(size, _FIRST_ERROR) if error is None else error
        found.append(own if setup.sweep.phase is None else np.concatenate((own, own)))
    return found


def least_squares_row(
    model: Model, start: Floats, sigmas: Sequence[Floats], *, robust: bool = False
) -> tuple[Floats, float]:
    """Row of unknowns that misses least, and its cost.

    ``robust``: single wild points count for less, and near is near enough.
    """
    from scipy.optimize import least_squares

    low, high = model.bounds()
    edge = 1e-6 * (high - low)
    begin = np.clip(start, low + edge, high - edge)
    tall = sum(sigma.size for sigma in sigmas) > _TALL
    found = least_squares(
        lambda row: residuals(model, row, sigmas),
        begin,
        jac=lambda row: slopes_of(model, row, sigmas),
        bounds=(low, high),
        loss="soft_l1" if robust else "linear",
        x_scale="jac",
        # A singular value decomposition of a tall matrix runs in threads that wait for each other
        # on a busy machine: twenty times as long. The other way is less exact, hence the polish.
        tr_solver="lsmr" if tall else "exact",
        xtol=1e-6 if robust else 1e-8,
        ftol=1e-7 if robust else 1e-9,
        gtol=1e-10,
        max_nfev=_TRIES,
    )
    row = np.asarray(found.x, dtype=np.float64)
    return (row if robust else _polished(model, row, sigmas)), float(found.cost)


def _polished(model: Model, row: Floats, sigmas: Sequence[Floats]) -> Floats:
    """Row after a few plain Gauss-Newton steps, each taken only where it misses less."""
    low, high = model.bounds()
    miss = residuals(model, row, sigmas)
    for _ in range(_STEPS):
        slopes = slopes_of(model, row, sigmas)
        size = np.sqrt(np.maximum(np.sum(slopes**2, axis=0), 1e-12))
        normal = (slopes / size).T @ (slopes / size) + _DAMPED * np.eye(row.size)
        step = np.linalg.solve(normal, (slopes / size).T @ miss) / size
        tried = np.clip(row - step, low, high)
        after = residuals(model, tried, sigmas)
        if not after @ after < miss @ miss:
            break
        row, miss = tried, after
    return row


def residuals(model: Model, row: Floats, sigmas: Sequence[Floats]) -> Floats:
    """Misses of the sweeps and of the anchors, each over its standard error."""
    misses = [miss / sigma for miss, sigma in zip(model.misses(row), sigmas, strict=True)]
    return np.concatenate((*misses, model.anchors(row)), axis=-1)


def slopes_of(model: Model, row: Floats, sigmas: Sequence[Floats]) -> Floats:
    """Slopes by central differences, every unknown moved in one pass."""
    moves = _STEP * np.eye(row.size)
    both = residuals(model, row + np.concatenate((moves, -moves)), sigmas)
    slopes: Floats = (both[: row.size] - both[row.size :]).T / (2.0 * _STEP)
    return slopes


def score_of(model: Model, row: Floats, sought: int) -> float:
    """Akaike's criterion for small samples: lower is better."""
    total, count = 0.0, 0
    for setup, miss in zip(model.setups, model.misses(row), strict=True):
        for block in blocks_of(setup, miss):
            if setup.sweep.error is not None:
                total += float(np.sum((block / setup.sweep.error) ** 2))
            else:
                total += block.size * float(np.log(np.mean(block**2) + LEAST_ERROR**2))
        count += miss.size
    anchors = model.anchors(row)
    return (
        total
        + float(anchors @ anchors)
        + 2.0 * sought
        + 2.0 * sought * (sought + 1) / max(count + anchors.size - sought - 1, 1)
    )


def blocks_of(setup: Setup, miss: Floats) -> list[Floats]:
    """Misses of the magnitudes, and of the phases where there are any."""
    size = setup.sweep.frequency.size
    return [miss[:size]] if setup.sweep.phase is None else [miss[:size], miss[size:]]


def scattered_errors(
    model: Model, row: Floats, sigmas: Sequence[Floats], *, alike: bool
) -> list[Floats]:
    """Standard errors by the scatter of each sweep's own misses.

    ``alike``: neighbouring misses that are alike count for fewer, as they do where the model is
    a little wrong and not the meter.
    """
    total = sum(sigma.size for sigma in sigmas)
    free = max(1.0 - len(model.names) / total, 1.0 / total)
    found = []
    for setup, miss, before in zip(model.setups, model.misses(row), sigmas, strict=True):
        if setup.sweep.error is not None:
            found.append(before)
            continue
        parts = []
        for block in blocks_of(setup, miss):
            sigma = np.sqrt(float(block @ block) / block.size / free) + LEAST_ERROR
            if alike:
                sigma *= np.sqrt(_alike(block))
            parts.append(np.full(block.size, sigma))
        found.append(np.concatenate(parts))
    return found


def _alike(block: Floats) -> float:
    """How many neighbouring misses tell no more than one."""
    if block.size < _MANY:
        return 1.0
    power = float(block @ block)
    if power == 0.0:
        return 1.0
    near = float(block[1:] @ block[:-1]) / power
    if near < 2.0 / np.sqrt(block.size):
        return 1.0
    return (1.0 + near) / (1.0 - min(near, 0.95))


def covariance_of(matrix: Floats) -> Floats:
    """Covariance of a matrix of information, unknowns that nothing tells left very wide."""
    size = np.sqrt(np.maximum(np.diag(matrix), 1e-12))
    scaled = matrix / np.outer(size, size)
    inverse = np.linalg.pinv(scaled, rcond=1e-12, hermitian=True)
    return np.asarray(inverse / np.outer(size, size), dtype=np.float64)


def spare_readings(model: Model) -> int:
    """Readings beyond the unknowns."""
    count = sum(
        setup.sweep.frequency.size * (1 if setup.sweep.phase is None else 2)
        for setup in model.setups
    )
    scales = sum(name in SCALES for name in model.names)
    return count + len(model.peaks) + (model.re is not None) - (len(model.names) - scales)
