#!/bin/sh
# The statistics against a second reference: random inputs, another seed each day, worked out again by
# SciPy. The seed is printed: check_statistics.sh SEED does the same again.
set -eu
seed=${1:-$(date +%Y%m%d)}
work=$(mktemp -d /tmp/sootbook-statistics-XXXXXX)
trap 'rm -rf "$work"' EXIT
make -s build/libreading.a build/librecord.a build/libengine.a build/libbase.a
# shellcheck disable=SC2046
cc -std=c11 -O1 -Isrc -D_POSIX_C_SOURCE=200809L tests/check/statistics.c build/libreading.a build/librecord.a \
    build/libengine.a build/libbase.a $(pkg-config --libs zlib libcrypto) -lm -o "$work/statistics"
echo "seed $seed"
"$work/statistics" "$seed" | /usr/bin/python3 tests/check/statistics.py
