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
"$work/gauge" "${1:-4}" ${2+"$2"}
[ $# -gt 1 ] || "$work/find"
