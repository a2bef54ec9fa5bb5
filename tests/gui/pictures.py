# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""The pictures taken on the walk show something, and what should differ differs.

The figures are decisions of our own, no published source: a black or empty picture has one value
everywhere, and one changed number in the sidebar changes some dozens of pixels.
"""

from __future__ import annotations

from tests.gui.hands import Wait, pixels
from tests.gui.steps import Notes

LEAST_SPREAD = 0.02  # of brightness, standard deviation
LEAST_CHANGED = 30  # pixels
VISIBLE = 0.1  # a change of brightness that is seen


def all_show_something(notes: Notes) -> Wait:
    """every picture shows something"""
    for name in notes.shots:
        seen = pixels(notes.out / f"{name}.png")[..., :3]
        assert seen.mean() > 0.05, f"{name} is black"
        assert seen.std() > LEAST_SPREAD, f"{name} is empty"
    notes.say(f"{len(notes.shots)} pictures")
    yield 0.0


def changes_are_seen(notes: Notes) -> Wait:
    """what changed between two pictures is seen in them"""
    for before, after in notes.differ:
        first, second = (pixels(notes.out / f"{name}.png")[..., :3] for name in (before, after))
        assert first.shape == second.shape, (before, after)
        changed = int((abs(first - second).max(axis=2) > VISIBLE).sum())
        assert changed >= LEAST_CHANGED, f"{before} and {after} look the same"
    yield 0.0


STEPS = (all_show_something, changes_are_seen)
