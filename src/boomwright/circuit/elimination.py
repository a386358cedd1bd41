"""Many small systems of linear equations solved at once."""

from __future__ import annotations

import numpy as np

from boomwright.circuit.values import Floats

__all__ = ["solve_each"]

# Below this many systems a library call for each costs less than our steps over all of them.
_MANY = 160


def solve_each(matrix: Floats, right: Floats, *, checked: bool = True) -> Floats:
    """Solution of each system of a batch; nan where a system is singular.

    Gaussian elimination with one order of pivots for the whole batch, so that every step is one
    operation over all systems; the few that this order does not suit are solved one by one with
    an order of their own.

    Parameters
    ----------
    matrix : array, shape (n, n, samples)
        Coefficients.
    right : array, shape (n, samples)
        Right-hand sides.
    checked : bool
        Hold each solution against its own equations, and solve it again where it misses. Not
        needed within an iteration that corrects itself.

    Returns
    -------
    array, shape (n, samples)
        Solutions.

    References
    ----------
    .. [1] G. H. Golub and C. F. Van Loan, Matrix Computations, 4th ed., Johns Hopkins, 2013,
       section 3.4 (from memory).

    Examples
    --------
    >>> both = np.array([[[2.0, 4.0], [0.0, 1.0]], [[1.0, 0.0], [1.0, 2.0]]])
    >>> solve_each(both, np.array([[2.0, 6.0], [3.0, 4.0]])).round(12).tolist()
    [[1.0, 1.0], [2.0, 2.0]]
    """
    if matrix.shape[-1] < _MANY:
        return _one_by_one(matrix, right)
    found = _together(matrix, right)
    if not checked:
        return found
    # Pivots that suit the batch may be poor for a sample: its own residual tells.
    left = np.abs(np.einsum("ijs,js->is", matrix, found) - right)
    size = np.einsum("ijs,js->is", np.abs(matrix), np.abs(found)) + np.abs(right)
    wrong = ~np.all(left <= 1e-9 * size + 1e-300, axis=0)
    if np.any(wrong):
        found[:, wrong] = _one_by_one(matrix[:, :, wrong], right[:, wrong])
    return found


def _one_by_one(matrix: Floats, right: Floats) -> Floats:
    stacked, sides = np.moveaxis(matrix, -1, 0), right.T[..., None]
    try:
        return np.ascontiguousarray(np.linalg.solve(stacked, sides)[..., 0].T)
    except np.linalg.LinAlgError:
        found = np.full(right.shape, np.nan)
        for sample in range(right.shape[1]):
            try:
                found[:, sample] = np.linalg.solve(stacked[sample], right[:, sample])
            except np.linalg.LinAlgError:
                continue
        return found


def _together(matrix: Floats, right: Floats) -> Floats:
    size = len(right)
    rows = [list(row) for row in matrix]
    sides = list(right)
    # What is zero in every sample stays out of the sums: a circuit touches few of its nodes.
    filled = [[bool(np.any(value)) for value in row] for row in rows]
    with np.errstate(all="ignore"):
        for step in range(size):
            best = max(
                range(step, size),
                key=lambda row: float(np.abs(rows[row][step]).min()) if filled[row][step] else -1.0,
            )
            for table in (rows, sides, filled):
                table[step], table[best] = table[best], table[step]
            top = rows[step]
            for row in range(step + 1, size):
                if not filled[row][step]:
                    continue
                factor = rows[row][step] / top[step]
                for column in range(step + 1, size):
                    if filled[step][column]:
                        rows[row][column] = rows[row][column] - factor * top[column]
                        filled[row][column] = True
                sides[row] = sides[row] - factor * sides[step]
        for step in range(size - 1, -1, -1):
            total = sides[step]
            for column in range(step + 1, size):
                if filled[step][column]:
                    total = total - rows[step][column] * sides[column]
            sides[step] = total / rows[step][step]
    return np.stack(sides)
