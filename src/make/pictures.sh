#!/bin/sh
# Pictures for the documents, by the script player on the sample logbook. Usage: pictures.sh PROGRAM
set -eu
program=$1
work=$(mktemp -d /tmp/sootbook-pictures-XXXXXX)
trap 'rm -rf "$work"' EXIT
mkdir -p docs/pictures
# The logbook lies where a user's would, in a home folder made for it: that is shown.
home=$work/home
mkdir -p "$home/Logbooks"
HOME=$home
export HOME
"$program" sample "$home/Logbooks/Barn"
for size in "1280 720 1" "1440 900 1" "1920 1080 2"; do
    set -- $size
    name="$(($1 * $3))x$(($2 * $3))"
    cat >"$work/script" <<EOF
scale $3
size $1 $2
wait
picture docs/pictures/engines-$name.png
key Enter
wait
picture docs/pictures/plan-$name.png
key Shift+M
wait
picture docs/pictures/compression-$name.png
click panel.close
key Shift+D
wait
picture docs/pictures/particulars-$name.png
click panel.close
wait
key F4
wait
picture docs/pictures/plug-by-plug-$name.png
key Escape
key F3
wait
picture docs/pictures/photos-$name.png
key F12
wait
picture docs/pictures/line-up-$name.png
key F11
wait
picture docs/pictures/trends-$name.png
key Ctrl+R
wait
picture docs/pictures/report-$name.png
key Escape
wait
key Ctrl+J
wait
picture docs/pictures/job-$name.png
key a
wait
key t
wait
key Right
key Right
key Down
key Down
key Down
key Down
key Down
wait
key u
key u
key g
wait
wheel job.steps -30
wait
picture docs/pictures/job-refit-$name.png
EOF
    SDL_VIDEODRIVER=dummy SOOTBOOK_TODAY=2026-06-20 XDG_CONFIG_HOME="$work/config" XDG_DATA_HOME="$work/data" \
        "$program" drive "$home/Logbooks/Barn" --script "$work/script"
done

# The photo bench: from a dropped side view to its gap, on a logbook of its own since it writes in it; then
# the colour of a nose, and two photos side by side. The strokes are those of tests/journeys.
play() {
    SDL_VIDEODRIVER=dummy SOOTBOOK_TODAY=2026-06-20 XDG_CONFIG_HOME="$work/config" XDG_DATA_HOME="$work/data" \
        "$program" drive "$home/Logbooks/$1" --script "$work/script"
}
"$program" sample "$home/Logbooks/Bench"
cat >"$work/script" <<EOF
size 1280 720
key Enter
wait
drop tests/photos/p10.jpg
wait
key F3
wait
picture docs/pictures/bench-dropped-1280x720.png
key s
stroke photo.view 0.2797 0.4246 0.4035 0.4980
wait
picture docs/pictures/bench-scale-1280x720.png
stroke photo.view 0.5000 0.4413 0.5152 0.4472
wait
picture docs/pictures/bench-gap-1280x720.png
key Enter
wait
picture docs/pictures/bench-taken-1280x720.png
size 1440 900
wait
picture docs/pictures/bench-gap-1440x900.png
EOF
play Bench
cat >"$work/script" <<EOF
size 1440 900
key Enter
wait
click plan.cylinder.2
key F3
wait
picture docs/pictures/bench-nose-1440x900.png
key c
key c
key c
key c
key c
key c
wait
picture docs/pictures/bench-compare-1440x900.png
key j
wait
picture docs/pictures/bench-blend-1440x900.png
EOF
play Barn
ls -l docs/pictures

# Lines found without drawing: offered, used, turned down. Photos that come in: the order drawn, what is proposed, what
# comes later. Each at both sizes, on a logbook of its own.
for size in "1280 720" "1440 900"; do
    set -- $size
    name="$1x$2"
    cat >"$work/script" <<EOF
size $1 $2
key Enter
wait
drop tests/photos/p10.jpg
wait
key F3
wait
picture docs/pictures/offer-shown-$name.png
key Enter
wait
picture docs/pictures/offer-used-$name.png
key Ctrl+Z
wait
key Escape
wait
picture docs/pictures/offer-turned-down-$name.png
EOF
    "$program" sample "$home/Logbooks/Offer$1"
    play "Offer$1"
    cat >"$work/script" <<EOF
size $1 $2
key Enter
wait
key Ctrl+N
wait
key Escape
key Shift+R
key 2
key 4
key 6
wait
picture docs/pictures/order-drawn-$name.png
key 8
key 1
key 3
key 5
key 7
key Enter
wait
drop $(echo samples/photos/v8-?-end.jpg)
wait
picture docs/pictures/tray-proposed-$name.png
key Enter
wait
drop $(echo samples/photos/v8-?-side.jpg samples/photos/v8-well-?.jpg)
wait
picture docs/pictures/tray-later-$name.png
EOF
    "$program" sample "$home/Logbooks/Tray$1"
    play "Tray$1"
done

# How the journeys of tests/journeys end, before their report; of the six also while it waits for parts.
for j in six-two-days v8-coil twin-rotation; do
    { echo "today 2026-06-14"; sed '/^key Ctrl+R/,$d' "tests/journeys/$j.script"; echo "picture docs/pictures/journey-$j-1440x900.png"; } |
        sed '/do-not-start value "1 plug not torqued"/a picture docs/pictures/journey-six-waits-1440x900.png' >"$work/script"
    play "$j"
done

# An engine as it is written down, drawn beside the fields.
cat >"$work/script" <<EOF
size 1280 720
click new.name
type Rook 2.6
click new.shape.v
click new.preset.v6-90-odd
wait
picture docs/pictures/new-engine-1280x720.png
size 1440 900
wheel new.firing -20
wait
click new.ignition.2
click new.mixture
type 1+3+5 2+4+6
wait
picture docs/pictures/new-engine-1440x900.png
EOF
play New

# A table on its way in.
cat >"$work/script" <<EOF
size 1280 720
drop tests/journeys/take-table.csv
wait
key d
wait
click take.layout.i4
wait
picture docs/pictures/take-over-1280x720.png
size 1440 900
wait
picture docs/pictures/take-over-1440x900.png
scale 2
size 1920 1080
wait
picture docs/pictures/take-over-3840x2160.png
EOF
play Table
