#!/bin/sh
# Opens the window on the sample logbook in run/sample, which is written first when it is missing.
# Without a display it does the same job headless: report, data and pictures into run/, and says
# which files it wrote. Usage: run.sh PROGRAM
set -eu
program=$1
logbook=run/sample
visit=2026-06-14

mkdir -p run
if [ ! -e "$logbook/logbook.db" ]; then
    "$program" sample "$logbook"
    echo "wrote the sample logbook into $logbook"
fi
if [ -n "${DISPLAY:-}${WAYLAND_DISPLAY:-}" ]; then
    exec "$program" "$logbook"
fi

echo "no display: working without the window"
"$program" verify "$logbook"
wrote=
for kind in html csv json; do
    file=run/report.$kind
    "$program" report "$logbook" --engine "Merrow 4.2 V8" --visit "$visit" -o "$file"
    wrote="$wrote $file"
done
script=run/pictures.drive
cat >"$script" <<'SCRIPT'
size 1440 900
wait
picture run/engines.png
key Enter
wait
picture run/plan.png
SCRIPT
SDL_VIDEODRIVER=dummy "$program" drive "$logbook" --script "$script"
wrote="$wrote run/engines.png run/plan.png"
echo "wrote:"
for file in $wrote; do
    echo "  $file ($(wc -c <"$file") bytes)"
done
