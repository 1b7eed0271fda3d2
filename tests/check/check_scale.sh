#!/bin/sh
# How large things are drawn on a fine screen: in a real X server of 2560 × 1600 the window follows the desktop's dots per
# inch and the toolkits' factor, and what a person sets by key is kept for the next run. A window of 1440 × 900 logical
# pixels tells by its size how it is drawn.
set -eu
program=${SOOTBOOK:-build/sootbook}
work=$(mktemp -d /tmp/sootbook-scale-XXXXXX)
export XDG_CONFIG_HOME="$work/config" XDG_DATA_HOME="$work/data" SOOTBOOK_TODAY=2026-06-14
unset GDK_SCALE || true
app=
trap 'kill $app 2>/dev/null || true; kill $xserver 2>/dev/null || true; rm -rf "$work"' EXIT
. "$(dirname "$0")/display.sh"
display_start 2560 1600
size() { # of the window that a start gives; $1 is pressed before it is closed
    "$program" "$work/log" 2>"$work/err" &
    app=$!
    display_window '^Sootbook$' "$work/err"
    sleep 0.5
    xdotool getwindowgeometry --shell "$window" | sed -n 's/^WIDTH=//p;s/^HEIGHT=//p' | tr '\n' ' ' >"$work/size"
    xdotool windowfocus "$window" || true
    for k in ${1:-} ctrl+q; do xdotool key --clearmodifiers "$k"; sleep 0.3; done
    wait "$app" || true
    app=
}
is() { [ "$(cat "$work/size")" = "$1" ] || { echo "$2: the window is $(cat "$work/size"), not $1"; exit 1; }; }
size; is '1440 900 ' 'nothing said'
GDK_SCALE=2; export GDK_SCALE; size; is '2560 1600 ' 'GDK_SCALE=2'; unset GDK_SCALE
xprop -root -f RESOURCE_MANAGER 8s -set RESOURCE_MANAGER 'Xft.dpi:	144'
size ctrl+minus; is '2160 1350 ' 'Xft.dpi 144'
grep -qx 'scale=125' "$XDG_CONFIG_HOME/sootbook/settings" || { echo "Ctrl+minus at 150 % did not set 125 %"; exit 1; }
size ctrl+0; is '1800 1125 ' '125 % set by hand'
size; is '2160 1350 ' 'as the screen says again'
echo "100 % where nothing is said, 200 % by GDK_SCALE, 150 % by Xft.dpi, 125 % as set and kept"
