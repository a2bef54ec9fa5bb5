# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Where the plates stand: planes, centre paths, motifs, recipes and orbits."""
