#!/bin/sh
# Displayed size, time taken, offset and focal length of every picture in the tree, against exiftool run here.
# The orientation shows in the displayed size, and its eight turns in the pixels (tests/photo). Where a file has no
# original time exiftool's CreateDate counts, as with us; times that are no times are none.
set -eu
work=$(mktemp -d /tmp/sootbook-exif-XXXXXX)
trap 'rm -rf "$work"' EXIT
make -s build
# shellcheck disable=SC2046
cc -std=c11 -O2 -Isrc -D_POSIX_C_SOURCE=200809L tests/check/exif.c build/libphoto.a build/libbase.a \
    $(pkg-config --libs sdl2 SDL2_image libjpeg libheif libexif lcms2 libcrypto zlib) -lm -lpthread -o "$work/exif"
find tests/outside/exif tests/outside/focal tests/outside/tiff tests/photos samples/photos -type f \
    \( -name '*.jpg' -o -name '*.png' -o -name '*.webp' -o -name '*.tif' -o -name '*.heic' \) | LC_ALL=C sort >"$work/files"
xargs "$work/exif" <"$work/files" >"$work/ours"
# -G1 -a would name each place a time may stand in; the EXIF ones are what a camera writes
xargs exiftool -q -n -j -EXIF:Orientation -ImageWidth -ImageHeight -EXIF:DateTimeOriginal -EXIF:CreateDate -EXIF:SubSecTimeOriginal \
    -EXIF:SubSecTimeDigitized -EXIF:OffsetTimeOriginal -EXIF:OffsetTimeDigitized -EXIF:FocalLength <"$work/files" >"$work/theirs"
python3 - "$work/ours" "$work/theirs" <<'P'
import csv, datetime, json, sys

def moment(text, subsec):
    try:
        when = datetime.datetime.strptime(text, "%Y:%m:%d %H:%M:%S")
    except (TypeError, ValueError):
        return None
    digits = "".join(c for c in str(subsec if subsec is not None else "") if c.isdigit())
    iso = when.strftime("%Y-%m-%dT%H:%M:%S")
    return iso + "." + (digits + "000")[:3] if digits else iso

def minutes(text):
    if not text or len(text) != 6 or text[0] not in "+-":
        return ""
    return str((1 if text[0] == "+" else -1) * (int(text[1:3]) * 60 + int(text[4:6])))

theirs = {t["SourceFile"]: t for t in json.load(open(sys.argv[2]))}
ours = list(csv.reader(open(sys.argv[1]), delimiter="\t", quoting=csv.QUOTE_NONE))
wrong = n_times = n_turned = n_focal = 0
for name, width, height, taken, offset, focal in ours:
    t = theirs[name]
    size = [t["ImageWidth"], t["ImageHeight"]]
    # libheif turns a HEIC itself; exiftool gives the size as stored there
    if t.get("Orientation", 1) in (5, 6, 7, 8) and not name.endswith(".heic"):
        size.reverse()
        n_turned += 1
    time, which = moment(t.get("DateTimeOriginal"), t.get("SubSecTimeOriginal")), "Original"
    if time is None:
        time, which = moment(t.get("CreateDate"), t.get("SubSecTimeDigitized")), "Digitized"
    want = [str(size[0]), str(size[1]), time or "", minutes(t.get("OffsetTime" + which)) if time else "", "%.0f" % (float(t.get("FocalLength", 0) or 0) * 10)]
    got = [width, height, taken, offset, focal]
    n_times += bool(time)
    n_focal += want[4] != "0"
    if got != want:
        wrong += 1
        print("%s: %s, exiftool %s" % (name, got, want))
if len(ours) < 80 or n_times < 40 or n_turned < 8 or n_focal < 30:
    sys.exit("only %d pictures, %d times, %d turned, %d focal lengths: too few to say anything" % (len(ours), n_times, n_turned, n_focal))
print("%d pictures, %d with a time, %d turned on their side, %d with a focal length: %d unlike exiftool" % (len(ours), n_times, n_turned, n_focal, wrong))
sys.exit(wrong != 0)
P
