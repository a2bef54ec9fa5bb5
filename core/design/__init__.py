# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""What the user chose: frozen records, the TOML file that holds them, the library of sheets."""
