# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Values to bytes: build.json, cut files, tables and the folder that holds them.

Every writer returns bytes and opens no file; only ``files.py`` touches the disk.
"""
