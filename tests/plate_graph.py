# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Which plates a pattern joins, as a graph of networkx: the judge of what holds together."""

from __future__ import annotations

import networkx as nx

from pinwright.core.frame.group import Group
from pinwright.core.search.patterns import Pattern

__all__ = ["derived_graph"]


def derived_graph(group: Group, pattern: Pattern) -> nx.Graph:
    """Return plates (motif, x) and joints (a, x) to (b, x g): a voltage graph's derived graph."""
    graph = nx.Graph()
    graph.add_nodes_from((m, x) for m in range(pattern.motifs) for x in range(group.order))
    for a, b, g in pattern.classes:
        graph.add_edges_from(((a, x), (b, int(group.product[x, g]))) for x in range(group.order))
    return graph
