# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""What everything hangs on: the polyhedron, its size and the rotations that keep it."""
