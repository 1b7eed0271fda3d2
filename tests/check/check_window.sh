#!/bin/sh
# The window itself, in a real X server (Xvfb), driven by xdotool: an engine is written down, a visit
# opened, plugs read with keys, and what was typed is found again on the disk by the command line.
set -eu
program=${SOOTBOOK:-build/sootbook}
work=$(mktemp -d /tmp/sootbook-window-XXXXXX)
export XDG_CONFIG_HOME="$work/config" XDG_DATA_HOME="$work/data" SOOTBOOK_TODAY=2026-06-14
app=
trap 'kill $app 2>/dev/null || true; kill $xserver 2>/dev/null || true; rm -rf "$work"' EXIT
. "$(dirname "$0")/display.sh"
display_start
"$program" "$work/log" 2>"$work/err" &
app=$!
display_window '^Sootbook$' "$work/err"
xdotool windowsize --sync "$window" 1440 900 || true
xdotool windowfocus "$window" || true
sleep 0.5
keys() { for k in "$@"; do xdotool key --clearmodifiers "$k"; sleep 0.06; done; }
click() { xdotool mousemove --window "$window" "$1" "$2"; sleep 0.05; xdotool click 1; sleep 0.15; }
click 1010 176 # the name
xdotool type --delay 25 'Ember straight four'
sleep 0.3
click 968 876 # add and open first visit
sleep 0.6
keys Escape
sleep 0.2
keys F4
keys n x
xdotool type --delay 25 '1.10'
keys Return
keys c y
xdotool type --delay 25 '108'
keys Return
keys n x
xdotool type --delay 25 '1,11'
keys Return
keys n x
xdotool type --delay 25 '1.32'
keys Return
sleep 0.8
keys Escape 2
sleep 0.3
kill -STOP "$app" # busy: the key that opens a field, and what is typed into it, are there at once when it goes on
keys F7
xdotool type --delay 25 '1.29'
keys Return
kill -CONT "$app"
sleep 0.5
keys Escape # out of the field, whose caret blinks
sleep 1
if command -v import >/dev/null 2>&1; then import -window root "${SOOTBOOK_PICTURE:-$work/window.png}" 2>/dev/null || true; fi
before=$(awk '{print $14 + $15}' "/proc/$app/stat")
sleep 10
after=$(awk '{print $14 + $15}' "/proc/$app/stat")
idle=$(( (after - before) * 1000 / $(getconf CLK_TCK) ))
"$program" report "$work/log" -o "$work/case.json"
"$program" verify "$work/log" >/dev/null
python3 - "$work/case.json" <<'PY'
import json, sys
case = json.load(open(sys.argv[1]))
assert case["engine"]["name"] == "Ember straight four", case["engine"]["name"]
read = {r["cylinder"]: r for r in case["readings"]}
assert [read[c].get("gap_mm") for c in (1, 2, 3, 4)] == [1.1, 1.29, 1.11, 1.32], read
assert read[2]["firing_end"] == [{"deposit": "dry-carbon", "amount": 2}], read[2]
assert read[2]["well"] == [{"sign": "oil", "amount": 2}] and read[1]["well"] == [], read
PY
keys ctrl+q
sleep 0.5
kill -0 "$app" 2>/dev/null && { echo "Ctrl+Q did not close the window"; exit 1; }
[ "$idle" -lt 50 ] || { echo "idle for 10 s took $idle ms of CPU"; exit 1; }
echo "typed into a real window and found on disk; ten idle seconds took $idle ms of CPU"
