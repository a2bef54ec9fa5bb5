# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Can hands build it? Modules, and the offsets that show how they come together."""
