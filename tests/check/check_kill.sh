#!/bin/sh
# kill -9 of the real window (Xvfb, xdotool) a good second after typing paused, without Return: what was
# typed counts as noted and is found again on the disk, and the logbook is whole. SOOTBOOK_KILLS rounds.
set -eu
program=${SOOTBOOK:-build/sootbook}
rounds=${SOOTBOOK_KILLS:-4}
work=$(mktemp -d /tmp/sootbook-kill-XXXXXX)
export XDG_CONFIG_HOME="$work/config" XDG_DATA_HOME="$work/data" SOOTBOOK_TODAY=2026-06-14
app=
trap 'kill $app 2>/dev/null || true; kill $xserver 2>/dev/null || true; rm -rf "$work"' EXIT
. "$(dirname "$0")/display.sh"
display_start
open_window() {
    "$program" "$work/log" 2>>"$work/err" &
    app=$!
    display_window '^Sootbook$' "$work/err"
    xdotool windowsize --sync "$window" 1440 900 || true
    xdotool windowfocus "$window" || true
    sleep 0.5
}
keys() { for k in "$@"; do xdotool key --clearmodifiers "$k"; sleep 0.06; done; }
click() { xdotool mousemove --window "$window" "$1" "$2"; sleep 0.05; xdotool click 1; sleep 0.15; }
open_window
click 1010 176 # the name
xdotool type --delay 25 'Ember straight four'
sleep 0.3
click 968 876 # add and open first visit
sleep 0.6
keys Escape
n=0
while [ "$n" -lt "$rounds" ]; do
    n=$((n + 1))
    keys F4
    sleep 0.2
    keys n x ctrl+a
    xdotool type --delay 25 "1.1$n"
    sleep 1.2
    kill -9 "$app"
    wait "$app" 2>/dev/null || true
    "$program" verify "$work/log" >/dev/null
    "$program" report "$work/log" -o "$work/case.json"
    python3 - "$work/case.json" "1.1$n" <<'PY' || exit 1
import json, sys
gaps = [r.get("gap_mm") for r in json.load(open(sys.argv[1]))["readings"]]
if float(sys.argv[2]) not in gaps:
    sys.exit(f"{sys.argv[2]} was typed, paused over and killed; on the disk are {gaps}")
PY
    rm "$work/case.json"
    open_window
    keys Return # the engine's last visit
    sleep 0.4
done
keys ctrl+q
echo "$rounds times killed a second after typing: all that was typed is on the disk"
