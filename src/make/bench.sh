#!/bin/sh
# Runs the bench programs one after the other. Each prints its figures with units and, in the same
# run, the ratio to a named outside reference. Nothing here passes or fails: figures are to be read.
# Where there is no display but Xvfb, a virtual one is started; SOOTBOOK_BENCH_DUMMY=1 keeps to SDL's
# dummy driver.
set -u
echo "machine: $(nproc) cores, $(grep -m1 'model name' /proc/cpuinfo | cut -d: -f2-)"
xserver=
if [ -z "${DISPLAY:-}" ] && [ -z "${SOOTBOOK_BENCH_DUMMY:-}" ] && command -v Xvfb >/dev/null 2>&1; then
    Xvfb :77 -screen 0 1600x1000x24 -nolisten tcp >/dev/null 2>&1 &
    xserver=$!
    trap 'kill $xserver 2>/dev/null' EXIT
    sleep 1
    export DISPLAY=:77
fi
for b in "$@"; do
    echo
    echo "== ${b##*/}"
    "$b" || echo "(${b##*/} ended with status $?)"
done
for s in tests/bench/bench_*.sh; do
    [ -e "$s" ] || continue
    echo
    echo "== ${s##*/}"
    sh "$s" || echo "(${s##*/} ended with status $?)"
done
