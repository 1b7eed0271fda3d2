#!/bin/sh
# Pictures for the documents, by the script player on the sample logbook. Usage: pictures.sh PROGRAM
set -eu
program=$1
work=$(mktemp -d /tmp/sootbook-pictures-XXXXXX)
trap 'rm -rf "$work"' EXIT
mkdir -p docs/pictures
"$program" sample "$work/Barn"
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
key F4
wait
picture docs/pictures/plug-by-plug-$name.png
key Escape
key F3
wait
picture docs/pictures/photos-$name.png
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
        "$program" drive "$work/Barn" --script "$work/script"
done
ls -l docs/pictures
