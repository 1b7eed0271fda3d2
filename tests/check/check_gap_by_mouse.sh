#!/bin/sh
# From a side view that is dropped to its gap, by a real mouse alone: an X server (Xvfb), xdotool's pointer, files
# dragged out of another window. Six inputs, counted as they are made: the drop, Photos, the tool, a rough line along the
# thread, a rough one over the gap, the button that takes it. What then stands in the logbook is held against the gap
# the scene was made with (tests/photos/truth.csv). SOOTBOOK_PHOTOS names others, SOOTBOOK_PICTURES a folder for a
# picture of each state.
set -eu
photos=${SOOTBOOK_PHOTOS:-p10 p02 p14}
program=${SOOTBOOK:-build/sootbook}
work=$(mktemp -d /tmp/sootbook-mouse-XXXXXX)
export XDG_CONFIG_HOME="$work/config" XDG_DATA_HOME="$work/data" SOOTBOOK_TODAY=2026-06-14
make -s build
cc -std=c11 -O2 -D_XOPEN_SOURCE=700 tests/check/drag_files.c -lX11 -o "$work/drag_files"

app='' source=''
trap 'kill $app $source 2>/dev/null || true; kill $xserver 2>/dev/null || true; rm -rf "$work"' EXIT
. "$(dirname "$0")/display.sh"
display_start 1600

at() { # FILE ID: the middle of a control, in pixels
    python3 - "$work/$1.json" "$2" <<'P'
import json, sys
for w in json.load(open(sys.argv[1])):
    if w["id"] == sys.argv[2]:
        x, y, width, height = w["bounds"]
        print(round(x + width / 2), round(y + height / 2))
        sys.exit()
sys.exit("there is no " + sys.argv[2] + " in the window")
P
}
inputs=0
input() { inputs=$((inputs + 1)); }
go() { # X Y: there, the last bit slowly as a hand does
    xdotool mousemove $(($1 - 6)) $(($2 - 4)) && sleep 0.03 && xdotool mousemove "$1" "$2" && sleep 0.03
}
click() { # X Y
    input
    go "$1" "$2"
    xdotool click 1
    sleep 0.2
}
drag() { # X Y X Y
    input
    go "$1" "$2"
    xdotool mousedown 1
    sleep 0.05
    for k in 1 2 3 4 5 6 7 8; do
        xdotool mousemove $(($1 + ($3 - $1) * k / 8)) $(($2 + ($4 - $2) * k / 8))
        sleep 0.03
    done
    xdotool mouseup 1
    sleep 0.2
}
shot() { # NAME
    if [ -n "${SOOTBOOK_PICTURES:-}" ]; then import -window root "$SOOTBOOK_PICTURES/$photo-$1.png"; fi
}
busy_for() { # what the program and its picture helpers have worked, in ticks
    for p in "$app" $(pgrep -P "$app"); do
        cat "/proc/$p/stat" 2>/dev/null || true
    done | awk '{n += $14 + $15 + $16 + $17} END {print n + 0}'
}
settled() { # until they have done nothing for more than a second
    quiet=0 was=-1 tries=0
    while [ "$quiet" -lt 7 ] && [ "$tries" -lt 150 ]; do
        sleep 0.2
        now=$(busy_for)
        if [ "$now" -le $((was + 1)) ]; then quiet=$((quiet + 1)); else quiet=0; fi
        was=$now tries=$((tries + 1))
    done
}

# Where the controls are in a window of this size, and how rough lines run over this photo: asked of the script player,
# on a logbook of its own.
look_up() { # PHOTO
    rm -rf "$work/plan"
    "$program" sample "$work/plan" >/dev/null
    python3 - tests/photos/truth.csv "$1.jpg" >"$work/rough" <<'P'
import csv, sys
row = next(r for r in csv.DictReader(open(sys.argv[1])) if r["file"] == sys.argv[2])
w, h, view_w, view_h = float(row["width"]), float(row["height"]), 904.0, 768.0 # of Photos at 1440 x 900
zoom = min((view_w - 32) / w, (view_h - 32) / h) # the photo whole, 16 px clear of the view's edge
def line(name, off): # ends some pixels of the picture off, either way
    for end, (dx, dy) in zip("12", off):
        x, y = float(row[name + "_x" + end]) + dx, float(row[name + "_y" + end]) + dy
        yield round(view_w / 2 + (x - w / 2) * zoom)
        yield round(view_h / 2 + (y - h / 2) * zoom)
for name, off in (("outline", ((5, 3), (-4, 4))), ("gap", ((-3, 2), (3, 2)))):
    px = list(line(name, off))
    print("%.5f %.5f %.5f %.5f" % (px[0] / view_w, px[1] / view_h, px[2] / view_w, px[3] / view_h))
    print(px[0] + 196, px[1] + 96, px[2] + 196, px[3] + 96) # the view's corner
P
    cat >"$work/plan.script" <<S
size 1440 900
outline $work/engines.json
key Enter
wait
outline $work/plan.json
drop tests/photos/$1.jpg
wait
key F3
wait
outline $work/photos.json
key s
stroke photo.view $(sed -n 1p "$work/rough")
stroke photo.view $(sed -n 3p "$work/rough")
wait
outline $work/gap.json
S
    SDL_VIDEODRIVER=dummy "$program" drive "$work/plan" --script "$work/plan.script" >/dev/null
    thread=$(sed -n 2p "$work/rough") gap=$(sed -n 4p "$work/rough")
}

worst=0
# shellcheck disable=SC2046,SC2086 # places are two words
for photo in $photos; do
  for try in 1 2; do # on a busy machine an event may come before the window is where it was looked up: once more, and said
    look_up "$photo"
    rm -rf "$work/log"
    "$program" sample "$work/log" >/dev/null
    "$program" "$work/log" 2>"$work/err" &
    app=$!
    display_window '^Sootbook' "$work/err"
    xdotool windowmove "$window" 0 0 windowsize --sync "$window" 1440 900 || true
    xdotool windowfocus "$window" || true
    settled
    go $(at engines engine.open) && xdotool click 1 # the engine is opened; the job begins behind it
    settled
    "$work/drag_files" 1500 20 "tests/photos/$photo.jpg" &
    source=$!
    sleep 0.4
    inputs=0

    {
        drag 1530 45 800 420
        settled
        shot dropped
        click $(at plan tab.photos)
        settled
        click $(at photos bench.tool.scale)
        drag $thread
        shot scale
        drag $gap
        settled
        shot gap
        wait "$source" || { echo "$photo: the window would not take the file"; exit 1; }
        source=''
        click $(at gap bench.use-gap)
    }
    settled
    shot taken
    xdotool key ctrl+q
    wait "$app" || { cat "$work/err"; exit 1; }
    app=''
    "$program" verify "$work/log" >/dev/null
    "$program" report "$work/log" --engine "Merrow 4.2 V8" -o "$work/read.csv"
    if python3 - tests/photos/truth.csv "$work/read.csv" "$photo" "$inputs" <<'P'
import csv, sys
truth = float(next(r for r in csv.DictReader(open(sys.argv[1])) if r["file"] == sys.argv[3] + ".jpg")["gap_mm"])
row = next(r for r in csv.DictReader(open(sys.argv[2])) if r["cylinder"] == "1")
if not row["gap_photo_mm"]:
    sys.exit(sys.argv[3] + ": no gap was taken")
gap, pm = float(row["gap_photo_mm"]), float(row["gap_photo_pm_mm"])
print("%s: %s inputs, %.2f ± %.2f mm, truly %.2f" % (sys.argv[3], sys.argv[4], gap, pm, truth))
if abs(gap - truth) > pm + 0.005:
    sys.exit(sys.argv[3] + ": not within what is stated")
if row["gap_mm"] != "1.10" or row["gap_from"] != "gauge":
    sys.exit("the feeler gauge's gap did not stay: " + row["gap_mm"])
P
    then break; fi
    [ "$try" = 1 ] || exit 1
    echo "$photo: tried once more"
  done
  [ "$inputs" -gt "$worst" ] && worst=$inputs
done
[ "$worst" -le 6 ] || { echo "$worst inputs, more than six"; exit 1; }
echo "a gap by real mouse events, $worst inputs from the dropped photo"
