# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Finds designs whose every joint is square: normals, weaves, ranking, a sheet to choose from."""
