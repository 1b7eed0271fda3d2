#!/bin/sh
# The odds of every shape, counted again by a short Python program that knows only what
# docs/how-it-computes.md says. check_shapes.sh SEED does one day's engines again.
set -eu
seed=${1:-$(date +%Y%m%d)}
SOOTBOOK=${SOOTBOOK:-$(pwd)/build/sootbook}
export SOOTBOOK
echo "seed $seed"
/usr/bin/python3 tests/check/shapes.py "$seed"
