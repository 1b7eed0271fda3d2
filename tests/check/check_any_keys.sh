#!/bin/sh
# Any keys in any order, words where there may be no field, photos and files that are none, windows of
# any size, on the sample logbook in the program with sanitizers: it neither falls over nor leaves a
# logbook that verify finds fault with. SOOTBOOK_SEEDS scripts of 300 inputs, the same each time.
set -eu
seeds=${SOOTBOOK_SEEDS:-6}
program=build/san-address-undefined/sootbook
work=$(mktemp -d /tmp/sootbook-any-keys-XXXXXX)
trap 'rm -rf "$work"' EXIT
export XDG_CONFIG_HOME="$work/config" XDG_DATA_HOME="$work/data" SDL_VIDEODRIVER=dummy SOOTBOOK_TODAY=2026-06-14
export ASAN_OPTIONS=detect_leaks=0:handle_sigill=1 # what fontconfig and SDL keep
make -s SAN=address,undefined build
seed=1
while [ "$seed" -le "$seeds" ]; do
    rm -rf "$work/log"
    "$program" sample "$work/log" >/dev/null
    awk -v seed="$seed" 'BEGIN {
        srand(seed)
        n = split("F1 F2 F3 F4 F5 F6 F7 F8 F9 F10 F11 F12 Ctrl+J Ctrl+F Ctrl+K Ctrl+N Ctrl+Z Ctrl+Y Ctrl+PageUp Ctrl+PageDown " \
                  "Enter Escape Tab Shift+Tab Space Up Down Left Right Home End PageUp PageDown . , Delete Backspace + - " \
                  "Ctrl+A Ctrl+V Ctrl+C Ctrl+X Shift+W Shift+T Shift+B Shift+O Shift+C Shift+L Shift+N Shift+R Shift+P Shift+M Shift+D Shift+H Shift+V Ctrl+L Ctrl+R Ctrl++ Ctrl+- Ctrl+0 Ctrl+O Ctrl+Enter Shift+Enter " \
                  "a b c d e f g h i j k l m n o p q r s t u v w x y z 0 1 2 3 4 5 6 7 8 9", key, " ")
        n_words = split("1.1|99999|oil and more|P0301 P03|....|\303\251\346\274\242", words, "|")
        n_drops = split("samples/photos/v8-1-end.jpg|samples/photos/v8-3-end.jpg samples/photos/v8-5-end.jpg|samples/photos/six-2-end.jpg|README.md", drops, "|")
        n_sizes = split("1280 720|1440 900|960 600", sizes, "|")
        print "size " sizes[1 + int(rand() * n_sizes)] "\nwait\nkey Enter\nwait"
        for (i = 0; i < 300; i++) {
            what = rand()
            if (what < 0.82) print "key " key[1 + int(rand() * n)]
            else if (what < 0.92) print "type " words[1 + int(rand() * n_words)]
            else if (what < 0.96) print "drop " drops[1 + int(rand() * n_drops)]
            else print "size " sizes[1 + int(rand() * n_sizes)]
        }
        print "wait"
    }' >"$work/script"
    "$program" drive "$work/log" --script "$work/script" >"$work/out" 2>&1 || { cat "$work/out"; echo "seed $seed fell over"; exit 1; }
    "$program" verify "$work/log" >"$work/out" 2>&1 || { cat "$work/out"; echo "seed $seed left this"; exit 1; }
    seed=$((seed + 1))
done
echo "$seeds scripts of 300 inputs under ASan and UBSan, every logbook clean"
