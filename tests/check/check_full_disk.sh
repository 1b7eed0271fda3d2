#!/bin/sh
# A full disk (a small file system in memory; root alone may make one): the sample, a photo taken in and
# a backup each end with a sentence and status 1, and what was there before is whole and can be added to.
set -eu
program=${SOOTBOOK:-build/sootbook}
work=$(mktemp -d /tmp/sootbook-full-XXXXXX)
disk="$work/disk"
mkdir "$disk"
trap 'umount "$disk" 2>/dev/null || true; rm -rf "$work"' EXIT
if ! mount -t tmpfs -o size=4m none "$disk" 2>/dev/null; then
    echo "left out: no right to mount a small file system"
    exit 0
fi
refused() { # what was tried, then the command: status 1 and the reason
    what=$1
    shift
    status=0
    "$@" >"$work/out" 2>"$work/err" || status=$?
    [ "$status" -eq 1 ] || { echo "$what: status $status instead of 1"; cat "$work/err"; exit 1; }
    grep -qiE 'full|room' "$work/err" || { echo "$what: does not say that the disk is full"; cat "$work/err"; exit 1; }
}
refused "sample" "$program" sample "$disk/log"
mount -o remount,size=32m "$disk"
rm -rf "$disk/log"
"$program" sample "$disk/log" >/dev/null
"$program" verify "$disk/log" >/dev/null
engine=$(sqlite3 "$disk/log/logbook.db" "SELECT name FROM engine WHERE gone = 0 ORDER BY id LIMIT 1" 2>/dev/null || true)
visit=$(sqlite3 "$disk/log/logbook.db" "SELECT v.date FROM visit v JOIN engine e ON e.id = v.engine WHERE e.name = '$engine' AND v.gone = 0 ORDER BY v.date DESC LIMIT 1")
photo=$(ls samples/photos/*.jpg | head -1)
cp "$photo" "$work/new.jpg"
printf 'x' >>"$work/new.jpg" # bytes of its own: a picture not taken in yet
dd if=/dev/zero of="$disk/filler" bs=4k 2>/dev/null || true
refused "backup" "$program" backup "$disk/log" "$disk/copy.db"
[ ! -e "$disk/copy.db" ]
refused "place" "$program" place "$disk/log" --engine "$engine" --visit "$visit" --accept "$work/new.jpg"
"$program" verify "$disk/log" >"$work/out" || { cat "$work/out"; exit 1; }
rm "$disk/filler"
"$program" verify "$disk/log" >/dev/null
"$program" backup "$disk/log" "$disk/copy.db" >/dev/null
"$program" place "$disk/log" --engine "$engine" --visit "$visit" --accept "$work/new.jpg" >/dev/null
"$program" verify "$disk/log" >/dev/null
echo "sample, photo and backup on a full disk: each refused with a sentence, nothing lost"
