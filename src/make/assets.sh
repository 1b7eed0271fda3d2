#!/bin/sh
# Writes C that holds the files named on the command line, byte for byte, and a table of them.
# (The assembler's .incbin reads the file: no tool of our own, and large files cost nothing.)
set -eu
i=0
echo '/* made by src/make/assets.sh */'
echo '#include "base/assets.h"'
for f in "$@"; do
    cat <<EOF
__asm__(".section .rodata\n.balign 16\nasset_$i:\n.incbin \"$f\"\nasset_end_$i:\n.byte 0\n.previous\n");
extern const unsigned char asset_$i[];
extern const unsigned char asset_end_$i[];
EOF
    i=$((i + 1))
done
echo 'extern const struct asset_place asset_places[];'
echo 'extern const size_t asset_n_places;'
echo 'const struct asset_place asset_places[] = {'
i=0
for f in "$@"; do
    echo "    {\"${f#assets/}\", asset_$i, asset_end_$i},"
    i=$((i + 1))
done
echo '    {0, 0, 0}};'
echo "const size_t asset_n_places = $i;"
