#!/bin/sh
# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
#
# Run a command on a virtual screen of its own, and take the screen away again.
#
#     tests/gui/screen.sh WIDTHxHEIGHT COMMAND...
set -eu
size=$1
shift
notes=$(mktemp -d)
Xvfb -displayfd 3 -nolisten tcp -screen 0 "${size}x24" 3>"$notes/display" >"$notes/log" 2>&1 &
screen=$!
trap 'kill "$screen" 2>/dev/null || true; rm -rf "$notes"' EXIT
for _ in $(seq 100); do
    [ -s "$notes/display" ] && break
    sleep 0.1
done
[ -s "$notes/display" ] || { cat "$notes/log" >&2; echo "the virtual screen did not start" >&2; exit 3; }
DISPLAY=:$(cat "$notes/display")
export DISPLAY
status=0
# No sound, no Wayland, and drawing by the processor: the same pictures on every machine.
env -u WAYLAND_DISPLAY LIBGL_ALWAYS_SOFTWARE=1 "$@" || status=$?
exit "$status"
