#!/bin/sh
# A whole job by real input: the V8 whose coil is convicted over three visits, its engine written down, visits
# opened, plugs read, coils swapped and renewed, by xdotool in a real X server (Xvfb). What is on the disk then
# equals what the script player left; the reports of the visits are looked into by the command line.
set -eu
program=$(realpath "${SOOTBOOK:-build/sootbook}")
work=$(mktemp -d /tmp/sootbook-journey-XXXXXX)
export XDG_CONFIG_HOME="$work/config" XDG_DATA_HOME="$work/data" SOOTBOOK_TODAY=2026-06-14
trap 'kill $xserver 2>/dev/null || true; rm -rf "$work"' EXIT
. "$(dirname "$0")/display.sh"
display_start
python3 tests/check/real_input.py "$program" tests/journeys/v8-coil.script "$work/log" >"$work/out"
"$program" verify "$work/log" >/dev/null
for visit in 2026-06-14 2026-06-21 2026-09-01; do
    for log in log log.played; do
        "$program" report "$work/$log" --visit "$visit" -o "$work/$log.$visit.json" >/dev/null
    done
    cmp "$work/log.$visit.json" "$work/log.played.$visit.json" || { diff "$work/log.$visit.json" "$work/log.played.$visit.json" | head; exit 1; }
done
grep -q '"replaced:coil:cylinder 1"' "$work/log.2026-09-01.json"
ls "$work"/log/report-*.html >/dev/null
echo "three visits by real keys and pointer, $(cat "$work/out"), equal on disk to the script's"
