# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Graphs cut into modules: against all cuts of small ones, and networkx on larger ones."""

from __future__ import annotations

import math
from collections.abc import Iterator

import networkx as nx
import numpy as np
import pytest

from pinwright.core.assembly.partition import Limits, Pieces, cut, partition, span


def pieces_of(graph: nx.Graph, spread: float = 100.0) -> Pieces:
    """Return plates for the nodes 0, 1 ... of a graph, at its drawing or anywhere."""
    rng = np.random.default_rng(len(graph))
    ends = np.array(graph.edges, dtype=np.intp).reshape(-1, 2)
    places = [graph.nodes[p].get("at") for p in sorted(graph)]
    centres = rng.normal(size=(len(graph), 3)) * spread if None in places else np.array(places)
    out = np.tile([0.0, 0.0, 1.0], (len(ends), 1))
    return Pieces(ends, centres, np.full(len(graph), 20.0), np.full(len(graph), 0.5), out)


def all_cuts(count: int, modules: int) -> Iterator[list[int]]:
    """Yield every way of putting `count` things into `modules` boxes, each once."""

    def grown(labels: list[int], used: int) -> Iterator[list[int]]:
        if len(labels) == count:
            if used == modules:
                yield labels
            return
        for box in range(min(used + 1, modules)):
            yield from grown([*labels, box], max(used, box + 1))

    return grown([], 0)


def least_cut(graph: nx.Graph, modules: int, limits: Limits) -> int | None:
    """Return the fewest edges between connected modules within the limits, by trying all."""
    best = None
    for labels in all_cuts(len(graph), modules):
        sizes = np.bincount(labels, minlength=modules)
        if sizes.min() < limits.least or sizes.max() > limits.most:
            continue
        between = sum(labels[a] != labels[b] for a, b in graph.edges)
        if best is not None and between >= best:
            continue
        boxes = [[p for p in graph if labels[p] == m] for m in range(modules)]
        if all(nx.is_connected(graph.subgraph(box)) for box in boxes):
            best = between
    return best


@pytest.mark.parametrize("seed", range(24))
def test_small_graphs_are_cut_at_their_thinnest(seed: int) -> None:
    rng = np.random.default_rng(seed)
    count, modules = int(rng.integers(5, 9)), int(rng.integers(2, 4))
    graph = nx.gnm_random_graph(count, int(rng.integers(count, 2 * count)), seed=seed)
    if not nx.is_connected(graph):
        graph = nx.path_graph(count)
    limits = Limits.even(count, modules)
    found = partition(pieces_of(graph), modules, limits)
    expected = least_cut(graph, modules, limits)
    assert (found is None) == (expected is None)
    if found is not None:
        assert cut(np.array(graph.edges), found) == expected
        assert np.bincount(found).tolist() == [
            len(box) for box in ([p for p in graph if found[p] == m] for m in range(modules))
        ]


def test_a_ring_of_cliques_falls_into_its_cliques() -> None:
    # networkx's ring of cliques: known communities; one edge between neighbours.
    graph = nx.ring_of_cliques(6, 5)
    found = partition(pieces_of(graph), 6, Limits.even(30, 6))
    assert found is not None
    assert cut(np.array(graph.edges), found) == 6
    assert all(len(set(found[5 * k : 5 * k + 5].tolist())) == 1 for k in range(6))


@pytest.mark.parametrize("seed", range(3))
def test_halves_are_no_worse_than_a_general_librarys(seed: int) -> None:
    # networkx.community.kernighan_lin_bisection, halves of equal size.
    graph = nx.random_geometric_graph(60, 0.22, seed=seed + 3)
    graph = nx.convert_node_labels_to_integers(
        graph.subgraph(max(nx.connected_components(graph), key=len)), ordering="sorted"
    )
    size = len(graph)
    one, two = nx.community.kernighan_lin_bisection(graph, seed=0)
    theirs = nx.cut_size(graph, one, two)
    found = partition(pieces_of(graph), 2, Limits(size // 2, -(-size // 2)))
    assert found is not None
    assert cut(np.array(graph.edges), found) <= theirs
    assert all(nx.is_connected(graph.subgraph(np.flatnonzero(found == m))) for m in (0, 1))


def test_modules_keep_size_and_weight() -> None:
    graph = nx.grid_2d_graph(8, 8)
    for x, y in graph:
        graph.nodes[x, y]["at"] = (100.0 * x, 100.0 * y, 0.0)
    graph = nx.convert_node_labels_to_integers(graph, ordering="sorted")
    pieces = pieces_of(graph)
    # By hand: 2 x 2 plates are sqrt(2) x 100 + 2 x 20 = 181.4 mm across, 3 x 2 are 263.6 mm.
    found = partition(pieces, 16, Limits(1, 64, size=182.0, weight=2.0))
    assert found is not None
    assert np.bincount(found).tolist() == [4] * 16
    assert span(pieces, np.flatnonzero(found == 0).tolist()) == pytest.approx(
        100.0 * math.sqrt(2.0) + 40.0
    )
    assert partition(pieces, 15, Limits(1, 64, weight=2.0)) is None  # 64 x 0.5 kg = 16 x 2 kg


def test_loose_pieces_are_modules_of_their_own() -> None:
    graph = nx.disjoint_union(nx.cycle_graph(4), nx.cycle_graph(5))
    found = partition(pieces_of(graph), 1, Limits(1, 9))
    assert found is not None
    assert found.tolist() == [0] * 4 + [1] * 5


def test_of_equal_cuts_the_one_that_can_be_moved_in_is_taken() -> None:
    # A ring of six: every cut into three and three goes through two joints. The joints 0-1 and 3-4
    # open the same way, all others each another way.
    graph = nx.cycle_graph(6)
    pieces = pieces_of(graph)
    ends = pieces.ends.tolist()
    for k, ends_of in enumerate(ends):
        angle = 0.7 * (k + 1)
        pieces.out[k] = (math.cos(angle), math.sin(angle), 0.0)
        if ends_of == [0, 1]:
            pieces.out[k] = (0.0, 0.0, 1.0)
        if ends_of == [3, 4]:
            pieces.out[k] = (0.0, 0.0, -1.0)
    found = partition(pieces, 2, Limits(3, 3))
    assert found is not None
    assert len(set(found[[1, 2, 3]].tolist())) == 1
    assert len(set(found[[4, 5, 0]].tolist())) == 1
