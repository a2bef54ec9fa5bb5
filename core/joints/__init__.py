# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""How plates hold each other: sizes, tenon with pin, cross-lap, and every joint of the whole."""
