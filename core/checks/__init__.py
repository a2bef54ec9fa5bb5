# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Is it sound? Exact tests of solids, joints and material; each gives a finding, never an error."""
