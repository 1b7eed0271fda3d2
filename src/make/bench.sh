#!/bin/sh
# Runs the bench programs one after the other. Each prints its figures with units and, in the same
# run, the ratio to a named outside reference. Nothing here passes or fails: figures are to be read.
set -u
echo "machine: $(nproc) cores, $(grep -m1 'model name' /proc/cpuinfo | cut -d: -f2-)"
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
