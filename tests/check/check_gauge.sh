#!/bin/sh
# Scale and gap from roughly drawn lines, over the whole truth set: check_gauge.sh [SEEDS [FILE-PART]]. Without a part of a
# file's name, plugs found without lines as well.
set -eu
work=$(mktemp -d /tmp/sootbook-gauge-XXXXXX)
trap 'rm -rf "$work"' EXIT
make -s build
for name in gauge find; do
    # shellcheck disable=SC2046
    cc -std=c11 -O2 -Isrc -D_POSIX_C_SOURCE=200809L "tests/check/$name.c" build/libcli.a build/libgauge.a build/libphoto.a build/libbase.a \
        $(pkg-config --libs sdl2 SDL2_image libjpeg libheif libexif lcms2 libcjson libcrypto zlib) -lm -lpthread -o "$work/$name"
done
if [ $# -gt 1 ]; then
    "$work/gauge" "$1" "$2"
    exit
fi
"$work/find" >"$work/found" 2>&1 & # minutes each: beside each other
found=$!
status=0
"$work/gauge" "${1:-4}" || status=$?
wait "$found" || status=$?
cat "$work/found"
exit "$status"
