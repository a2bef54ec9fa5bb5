# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""What the laser sees: finished outlines, congruent ones gathered as parts, marks."""
