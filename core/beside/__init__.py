# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""What a program that works beside another one needs: answers to its job, and records in files.

Not part of the command line, which is left out of the Blender extension.
"""
