# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""The pure-Python core: designs in, fitted plates and cut files out; knows nothing of Blender.

Lengths are millimetres everywhere. Angles are degrees at every boundary (files, command line,
results); radians live only in local variables.
"""
