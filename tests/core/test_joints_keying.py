# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""The choice of keys is exact: as few widths, then as few shifts, as trying everything finds."""

from __future__ import annotations

from itertools import product

import networkx as nx
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pinwright.core.joints.keying import Conflict, Key, choose_keys

WIDTHS = (24.0, 21.0, 18.0, 15.0)


def _differ(a: int, b: int) -> Conflict:
    """Two classes whose tabs must not be of one width."""
    return Conflict((a, b), lambda keys: keys[0].width == keys[1].width)


def _graph(nodes: int, edges: list[tuple[int, int]]) -> dict[int, Key] | None:
    options = {node: [Key(width) for width in WIDTHS] for node in range(nodes)}
    return choose_keys(options, [_differ(min(e), max(e)) for e in edges])


# Chromatic numbers are from memory, textbook graph theory; the graphs come from networkx.
@pytest.mark.parametrize(
    ("graph", "colours"),
    [
        (nx.path_graph(5), 2),
        (nx.cycle_graph(6), 2),
        (nx.cycle_graph(5), 3),
        (nx.petersen_graph(), 3),
        (nx.complete_graph(4), 4),
        (nx.wheel_graph(6), 4),
        (nx.mycielski_graph(4), 4),  # the triangle-free graph of Grotzsch
    ],
)
def test_unequal_widths_are_a_colouring_with_the_fewest_colours(
    graph: nx.Graph, colours: int
) -> None:
    keys = _graph(graph.number_of_nodes(), list(graph.edges))
    assert keys is not None
    assert len({key.width for key in keys.values()}) == colours
    assert all(keys[a].width != keys[b].width for a, b in graph.edges)


def test_no_keys_where_there_are_too_few_widths() -> None:
    assert _graph(5, list(nx.complete_graph(5).edges)) is None


def test_without_conflicts_nothing_changes() -> None:
    assert choose_keys({}, []) == {}


keys_of_a_class = st.lists(
    st.builds(Key, st.sampled_from([20.0, 17.0]), st.sampled_from([0.0, 3.0, -3.0])),
    min_size=1,
    max_size=4,
    unique=True,
)


@given(st.data())
def test_random_problems_are_solved_as_well_as_by_trying_everything(data: st.DataObject) -> None:
    count = data.draw(st.integers(1, 4))
    options = {c: data.draw(keys_of_a_class) for c in range(count)}
    conflicts = []
    for _ in range(data.draw(st.integers(0, 4))):
        classes = tuple(sorted(data.draw(st.sets(st.integers(0, count - 1), min_size=1))))
        every = list(product(*(options[c] for c in classes)))
        bad = frozenset(data.draw(st.sets(st.sampled_from(every))))
        conflicts.append(Conflict(classes, bad.__contains__))
    best = None
    for chosen in product(*options.values()):
        if any(one.goes_in(tuple(chosen[c] for c in one.classes)) for one in conflicts):
            continue
        cost = len({key.width for key in chosen}), sum(key.shift != 0.0 for key in chosen)
        best = cost if best is None else min(best, cost)
    found = choose_keys(options, conflicts)
    if best is None:
        assert found is None
        return
    assert found is not None
    assert not any(one.goes_in(tuple(found[c] for c in one.classes)) for one in conflicts)
    widths = {key.width for key in found.values()}
    assert (len(widths), sum(key.shift != 0.0 for key in found.values())) == best
