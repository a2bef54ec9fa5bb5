# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""The command line: `pinwright build`, `check`, `frames`, `new`, `materials`."""
