# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""The numbers of a joint between two sheets, before anything has a place: sizes and formulas."""
