# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""The linear programmes behind the motions, on sparse matrices; solved by HiGHS through scipy.

Columns are the velocities of the bodies, three each; rows are the links (joints, then contacts).
Relative velocity is always that of the first body less that of the second.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy import optimize, sparse
from scipy.sparse import csgraph

from .blocking import Links

__all__ = ["Freedom", "balance", "components", "freedom", "least_motion", "slide"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]
Bools = npt.NDArray[np.bool_]

#: HiGHS solves to 1e-7; what is smaller than this share of the largest number is its rounding.
ROUNDING = 1e-6


@dataclass(frozen=True, slots=True, eq=False)
class Freedom:
    """Which links can open in some motion, and the proof for those that cannot.

    opens : (j,) bool, joints; parts : (c,) bool, contacts
    force : (j, 3); force . insertion is at least 1 at joints that cannot open, 0 at those that can
    pressure : (c,); at least 1 at contacts that cannot part, 0 at those that can
    """

    opens: Bools
    parts: Bools
    force: Floats
    pressure: Floats


def components(links: Links, joints_only: bool = False) -> Ints:
    """Return the number (n,) of the connected piece that each body is in."""
    ends = links.pairs if joints_only else links.ends
    n = links.body_count
    graph = sparse.coo_array((np.ones(len(ends)), (ends[:, 0], ends[:, 1])), shape=(n, n))
    return np.asarray(csgraph.connected_components(graph, directed=False)[1], dtype=np.intp)


def freedom(links: Links) -> Freedom:
    """Find all joints and contacts that can open, in one linear programme.

    Maximise the sum of y, 0 <= y <= 1, rate = y + z, z >= 0: since a motion may be run as fast as
    one likes, and two motions added, y is 1 at every link that can open and 0 at all others. The
    dual solution at those others is the proof.
    """
    j, c, n = len(links.joints), len(links.contacts), links.body_count
    if j + c == 0:
        none = np.zeros(0, dtype=bool)
        return Freedom(none, none, np.zeros((0, 3)), np.zeros(0))
    rates = _rate_columns(links)
    matrix = sparse.hstack([_relative(links), rates, rates], format="csc")
    low, high = np.full(3 * n, -np.inf), np.full(3 * n, np.inf)
    still = 3 * np.unique(components(links), return_index=True)[1][:, None] + np.arange(3)
    low[still] = high[still] = 0.0  # one body of each piece: a common motion opens nothing
    cost = np.concatenate([np.zeros(3 * n), -np.ones(j + c), np.zeros(j + c)])
    lower = np.concatenate([low, np.zeros(2 * (j + c))])
    upper = np.concatenate([high, np.ones(j + c), np.full(j + c, np.inf)])
    solved = _solve(cost, matrix, np.zeros(matrix.shape[0]), lower, upper)
    opens = solved.x[3 * n : 3 * n + j + c] > 0.5
    dual = -np.asarray(solved.eqlin.marginals)
    return Freedom(opens[:j], opens[j:], dual[: 3 * j].reshape(-1, 3), -dual[3 * j :])


def least_motion(links: Links, found: Freedom, weight: Floats) -> Floats:
    """Return velocities (n, 3), the fastest at 1, that open something and move little.

    weight : (n,) of the bodies. The sum of weight x (|vx| + |vy| + |vz|) is least for the rates of
    all joints (without any: of all contacts) adding up to 1.
    """
    j, c, n = len(links.joints), len(links.contacts), links.body_count
    relative = _relative(links)
    matrix = sparse.hstack([relative, -relative, _rate_columns(links)], format="csr")
    wanted = np.concatenate([found.opens, np.zeros(c, dtype=bool)])
    if not found.opens.any():
        wanted = np.concatenate([np.zeros(j, dtype=bool), found.parts])
    total = sparse.csr_array(np.concatenate([np.zeros(6 * n), wanted.astype(float)])[None, :])
    can = np.concatenate([found.opens, found.parts])
    upper = np.concatenate([np.full(6 * n, np.inf), np.where(can, np.inf, 0.0)])
    cost = np.concatenate([np.repeat(weight, 3), np.repeat(weight, 3), np.zeros(j + c)])
    right = np.append(np.zeros(matrix.shape[0]), 1.0)
    rows = sparse.vstack([matrix, total], format="csc")
    solved = _solve(cost, rows, right, np.zeros(len(cost)), upper)
    moved = (solved.x[: 3 * n] - solved.x[3 * n : 6 * n]).reshape(-1, 3)
    return _at_full_speed(moved)


def slide(links: Links) -> Floats | None:
    """Return velocities (n, 3) under which bodies slide along their contacts, or None.

    Asked only where no joint opens and no contact parts: then what joints hold together moves as
    one, and the motions left are those along which every contact's normal velocity is 0.
    """
    if len(links.contacts) == 0:
        return None
    lump = components(links, joints_only=True)
    count = int(lump.max()) + 1
    ends = lump[links.touching]
    rows = np.arange(len(ends))
    matrix = np.zeros((len(ends), count, 3))
    np.add.at(matrix, (rows, ends[:, 0]), links.normal)
    np.add.at(matrix, (rows, ends[:, 1]), -links.normal)
    piece = components(links)
    still = np.unique(lump[np.unique(piece, return_index=True)[1]])
    free = np.setdiff1d(np.arange(count), still)
    if len(free) == 0:
        return None
    _, size, axes = np.linalg.svd(matrix[:, free].reshape(len(ends), -1))
    if np.count_nonzero(size > ROUNDING) == 3 * len(free):
        return None
    moved = np.zeros((count, 3))
    moved[free] = axes[-1].reshape(-1, 3)
    velocities: Floats = _at_full_speed(moved)[lump]
    return velocities


def balance(links: Links, row: int) -> Floats | None:
    """Return forces (j + c, 3) in balance that prove the joint in `row` locked, or None.

    force . insertion is 1 at that joint and nowhere below 0; contacts only press. The sum of all
    components is least, so that few joints bear a force.
    """
    j, c, n = len(links.joints), len(links.contacts), links.body_count
    ends = links.pairs
    columns = np.arange(3 * j)
    at = np.repeat(3 * ends, 3, axis=0).reshape(j, 3, 2) + np.arange(3)[None, :, None]
    at = at.reshape(-1, 2)
    ones = np.ones(3 * j)
    shape = (3 * n, 3 * j)
    pull = sparse.coo_array((ones, (at[:, 0], columns)), shape=shape)
    pull = (pull - sparse.coo_array((ones, (at[:, 1], columns)), shape=shape)).tocsc()
    press = -_contact_rows(links).T
    even = sparse.hstack([pull, -pull, press], format="csr")
    along = sparse.csr_array(
        (links.insertion.ravel(), (np.repeat(np.arange(j), 3), columns)), shape=(j, 3 * j)
    )
    along = sparse.hstack([along, -along, sparse.csr_array((j, c))], format="csr")
    others = np.delete(np.arange(j), row)
    cost = np.ones(6 * j + c)
    solved = optimize.linprog(
        cost,
        A_ub=-along[others],
        b_ub=np.zeros(j - 1),
        A_eq=sparse.vstack([even, along[[row]]], format="csc"),
        b_eq=np.append(np.zeros(3 * n), 1.0),
        bounds=(0.0, None),
        method="highs",
    )
    if solved.status != 0:
        return None
    force = (solved.x[: 3 * j] - solved.x[3 * j : 6 * j]).reshape(-1, 3)
    forces: Floats = np.concatenate([force, -solved.x[6 * j :, None] * links.normal])
    return forces


def _relative(links: Links) -> sparse.csr_array:
    """Return (3 j + c, 3 n): relative velocities of the joints, normal ones of the contacts."""
    j, n = len(links.joints), links.body_count
    rows = np.arange(3 * j)
    shape = (3 * j, 3 * n)
    column = (3 * links.pairs[:, None, :] + np.arange(3)[None, :, None]).reshape(-1, 2)
    ones = np.ones(3 * j)
    joint = sparse.coo_array((ones, (rows, column[:, 0])), shape=shape)
    joint = joint - sparse.coo_array((ones, (rows, column[:, 1])), shape=shape)
    return sparse.vstack([joint, _contact_rows(links)], format="csr")


def _contact_rows(links: Links) -> sparse.csr_array:
    """Return (c, 3 n): the relative velocity of each contact along its normal."""
    c, n = len(links.contacts), links.body_count
    rows = np.repeat(np.arange(c), 3)
    column = (3 * links.touching[:, None, :] + np.arange(3)[None, :, None]).reshape(-1, 2)
    part = links.normal.ravel()
    shape = (c, 3 * n)
    first = sparse.coo_array((part, (rows, column[:, 0])), shape=shape)
    return (first - sparse.coo_array((part, (rows, column[:, 1])), shape=shape)).tocsr()


def _rate_columns(links: Links) -> sparse.csc_array:
    """Return (3 j + c, j + c): insertion of each joint, and -1 for each contact."""
    j, c = len(links.joints), len(links.contacts)
    rows = np.arange(3 * j + c)
    columns = np.concatenate([np.repeat(np.arange(j), 3), j + np.arange(c)])
    values = np.concatenate([links.insertion.ravel(), -np.ones(c)])
    return sparse.csc_array((values, (rows, columns)), shape=(3 * j + c, j + c))


def _solve(
    cost: Floats, matrix: sparse.csc_array, right: Floats, lower: Floats, upper: Floats
) -> optimize.OptimizeResult:
    """Minimise cost . x; the programmes of this module are feasible and bounded by their making."""
    solved = optimize.linprog(
        cost, A_eq=matrix, b_eq=right, bounds=np.column_stack([lower, upper]), method="highs"
    )
    if solved.status != 0:
        raise ArithmeticError(f"the linear programme was not solved: {solved.message}")
    return solved


def _at_full_speed(moved: Floats) -> Floats:
    """Return velocities with the fastest at 1, rounding errors at 0."""
    speed = np.linalg.norm(moved, axis=1)
    fastest = speed.max()
    moved = np.where((speed > ROUNDING * fastest)[:, None], moved / fastest, 0.0)
    clean: Floats = np.where(np.abs(moved) > ROUNDING, moved, 0.0)
    return clean
