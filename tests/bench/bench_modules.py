# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Sculptures without symmetry cut into modules, beside recursive halving by networkx.

    python tests/bench/bench_modules.py

Both cut the same graphs of plates and joints into eight modules. Halving by Kernighan and Lin's
moves (networkx.community.kernighan_lin_bisection) asks neither that modules hang together nor that
they can be carried: `whole` says how many of its modules do.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Sequence
from pathlib import Path

import networkx as nx
import numpy as np
from scipy.spatial import ConvexHull

sys.path.insert(0, str(Path(__file__).resolve().parent.parent.parent))

from pinwright.core.assembly.partition import Limits, Pieces, cut, partition

MODULES = 8


def shells() -> list[tuple[str, nx.Graph]]:
    """Return graphs like those of edge rotors: the edges of a polyhedron, joined at its corners."""
    found = []
    for count in (60, 170, 300):
        points = np.random.default_rng(count).normal(size=(count // 3, 3))
        hull = nx.Graph()
        unit = points / np.linalg.norm(points, axis=1)[:, None]
        for a, b, c in ConvexHull(unit).simplices.tolist():
            hull.add_edges_from(((a, b), (b, c), (c, a)))
        strips = [tuple(sorted(edge)) for edge in hull.edges]
        graph: nx.Graph = nx.Graph()
        for corner in hull:
            round_it = [k for k, edge in enumerate(strips) if corner in edge]
            middles = {k: unit[strips[k][0]] + unit[strips[k][1]] for k in round_it}
            axis = unit[corner]
            side = np.cross(axis, [0.3, 0.5, 0.8])
            other = np.cross(axis, side)
            order = sorted(
                round_it, key=lambda k: np.arctan2(middles[k] @ other, middles[k] @ side)
            )
            graph.add_edges_from(zip(order, [*order[1:], order[0]], strict=True))
        found.append((f"shell of {len(strips)} strips", graph))
    return found


def halved(graph: nx.Graph, times: int) -> list[set[int]]:
    """Return the parts that halving makes, again and again."""
    parts: list[set[int]] = [set(graph)]
    for _ in range(times):
        halves: list[Sequence[set[int]]] = [
            nx.community.kernighan_lin_bisection(graph.subgraph(part), seed=0) for part in parts
        ]
        parts = [set(half) for pair in halves for half in pair]
    return parts


def main() -> None:
    """Print a row for each graph."""
    print(f"{'graph':24}{'ours':>6}{'halved':>8}{'whole':>7}{'time, share of halving':>26}")
    for name, graph in shells():
        graph = nx.convert_node_labels_to_integers(graph, ordering="sorted")
        ends = np.array(graph.edges, dtype=np.intp)
        count = len(graph)
        out = np.tile([0.0, 0.0, 1.0], (len(ends), 1))
        pieces = Pieces(ends, np.zeros((count, 3)), np.ones(count), np.ones(count), out)
        start = time.process_time()
        module = partition(pieces, MODULES, Limits.even(count, MODULES))
        mine = time.process_time() - start
        start = time.process_time()
        parts = halved(graph, 3)
        theirs = time.process_time() - start
        assert module is not None
        home = {p: k for k, part in enumerate(parts) for p in part}
        other = sum(home[a] != home[b] for a, b in graph.edges)
        whole = sum(nx.is_connected(graph.subgraph(part)) for part in parts)
        print(
            f"{name:24}{cut(ends, module):6}{other:8}{whole:5}/8{mine / theirs:26.1f}", flush=True
        )


if __name__ == "__main__":
    main()
