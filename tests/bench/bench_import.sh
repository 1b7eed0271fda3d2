#!/bin/sh
# 40 photos of 12 megapixels taken in while the window is used: the worst frame, and the time as a ratio
# to `vipsthumbnail -s 256` (libvips) on the same files in the same run, although ours also copies,
# hashes, records and makes previews. The files are sample photos enlarged with ImageMagick.
set -eu
program=${SOOTBOOK:-build/sootbook}
convert=/usr/bin/convert
command -v vipsthumbnail >/dev/null && [ -x "$convert" ] || { echo "vipsthumbnail or ImageMagick is missing"; exit 1; }
work=$(mktemp -d /tmp/sootbook-import-XXXXXX)
trap 'rm -rf "$work"' EXIT
export XDG_CONFIG_HOME="$work" XDG_DATA_HOME="$work" SOOTBOOK_TODAY=2026-06-14
[ -n "${DISPLAY:-}" ] || export SDL_VIDEODRIVER=dummy
i=0
for f in samples/photos/v8-?-end.jpg; do
    "$convert" "$f" -auto-orient -resize '4000x3000!' -quality 92 "$work/base.jpg"
    for k in 1 2 3 4 5; do
        i=$((i + 1))
        # the same picture under another comment: another file, another hash
        "$convert" "$work/base.jpg" -set comment "$i" -quality 92 "$work/p$i.jpg"
    done
    [ $i -ge 40 ] && break
done
files=$(ls "$work"/p*.jpg)
cat >"$work/first" <<EOF
size 1440 900
click new.name
type Bench
click new.add-open
wait
key Escape
EOF
"$program" drive "$work/log" --script "$work/first" >/dev/null
cp -r "$work/log" "$work/log2"
cp -r "$work/log" "$work/log3"
{ echo "size 1440 900"; echo "key Enter"; echo "wait"; } >"$work/none"
{ cat "$work/none"; printf 'drop'; for f in $files; do printf ' %s' "$f"; done; echo
  # meanwhile: pick cylinders, note deposits, type gaps
  for k in 1 2 3 4 1 2 3 4; do echo "key $k"; echo "key n"; echo "key F7"; echo "type 110"; echo "key Enter"; echo "key Escape"; echo "pause 0.2"; done
  echo wait; } >"$work/script"
now() { date +%s.%N; }
{ cat "$work/none"; printf 'drop'; for f in $files; do printf ' %s' "$f"; done; echo; echo wait; } >"$work/only"
"$program" drive "$work/log" --script "$work/script" >"$work/out"
a=$(now); "$program" drive "$work/log2" --script "$work/none" >/dev/null; b=$(now)
"$program" drive "$work/log3" --script "$work/only" >/dev/null; c=$(now)
vipsthumbnail -s 256 -o "$work/t-%s.jpg" $files; d=$(now)
tail -1 "$work/out" | sed 's/^/40 photos of 12 MP while typing: /'
echo "$a $b $c $d" | awk '{printf "taken in (copied, hashed, thumbnail, preview, recorded): %.2f s; vipsthumbnail -s 256: %.2f s; ratio %.2f\n", ($3-$2)-($2-$1), $4-$3, (($3-$2)-($2-$1))/($4-$3)}'
"$program" verify "$work/log"
