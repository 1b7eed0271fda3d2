#!/bin/sh
# What is handed over, against programs of other people: the page by HTML Tidy and headless Chromium without
# a network, the table by LibreOffice, the case by taking it over again, ten visits with 120 photos by size.
set -eu
export LC_ALL=C.UTF-8
make -s build/sootbook
program=$PWD/build/sootbook
work=$(mktemp -d /tmp/sootbook-report-XXXXXX)
trap 'rm -rf "$work"' EXIT
export HOME="$work/home" XDG_CONFIG_HOME="$work/config" XDG_CACHE_HOME="$work/cache"
mkdir -p "$HOME"
say() { echo "$*"; }
fail() { echo "FAILED: $*"; exit 1; }

"$program" sample "$work/log" >/dev/null
"$program" report "$work/log" --engine "Merrow 4.2 V8" -o "$work/v8.html"

# ---- a page that is HTML, with headings in order, words for every picture, and nothing from outside ----
check_page() { # NAME
    tidy -quiet -errors --drop-empty-elements no --mute PROPRIETARY_ATTRIBUTE "$work/$1.html" >"$work/tidy" 2>&1 || true
    grep -E '(Error|Warning):' "$work/tidy" >"$work/tidy.said" || true
    [ ! -s "$work/tidy.said" ] || { head -10 "$work/tidy.said"; fail "HTML Tidy finds fault with the page $1"; }
    /usr/bin/python3 tests/check/report.py page "$work/$1.html"
}
check_page v8

# ---- opened on a phone and printed on both papers, without a network: what it asks for stands in the net log ----
chrome() { # NAME ARGUMENTS: the page's requests go to NAME.net, what it says to NAME.log
    name=$1
    shift
    chromium --headless --no-sandbox --disable-gpu --no-first-run --user-data-dir="$work/chromium" \
        --host-resolver-rules='MAP * ~NOTFOUND' --enable-logging=stderr --v=0 --log-net-log="$work/$name.net" "$@" 2>"$work/$name.log"
}
quiet() { # NAME: nothing asked for, no complaint
    if grep -q CONSOLE "$work/$1.log"; then grep CONSOLE "$work/$1.log" | head -3; fail "the page complains ($1)"; fi
    /usr/bin/python3 tests/check/report.py asked "$work/$1.net" >"$work/$1.asked"
    [ ! -s "$work/$1.asked" ] || { head -3 "$work/$1.asked"; fail "the page asks for something outside ($1)"; }
}
paper() { # NAME CSS-SIZE WIDTH HEIGHT: the page printed, and its size in points
    sed "s/@page{margin:16mm}/@page{margin:16mm;size:$2}/" "$work/v8.html" >"$work/$1.html"
    chrome "$1" --print-to-pdf="$work/$1.pdf" --no-pdf-header-footer "file://$work/$1.html"
    grep -aqE "MediaBox \[0 0 $3[.0-9]* $4[.0-9]*\]" "$work/$1.pdf" || fail "no page of $2 is printed"
    quiet "$1"
}
chrome phone --window-size=390,900 --screenshot="$work/phone.png" "file://$work/v8.html"
[ -s "$work/phone.png" ] || fail "Chromium shows no page"
quiet phone
paper a4 A4 59[45] 84[12]
paper letter letter 612 792
# the same looks find what is planted: they can fail
sed 's#</main>#<img src="http://outside.example/x.png" alt="planted"><script>console.error("planted")</script></main>#' "$work/v8.html" >"$work/planted.html"
chrome planted --screenshot="$work/planted.png" "file://$work/planted.html"
/usr/bin/python3 tests/check/report.py asked "$work/planted.net" | grep -q outside.example || fail "a planted request is not found"
grep -q CONSOLE "$work/planted.log" || fail "a planted complaint is not found"
say "page: HTML Tidy finds nothing, Chromium asks for nothing, shows it on a phone, prints A4 and Letter"

# ---- the same on paper, straight from the program: sound, of its size, its words to be found, no place in it ----
for size in a4 letter; do
    "$program" report "$work/log" --engine "Merrow 4.2 V8" --paper $size -o "$work/$size-own.pdf"
    qpdf --check "$work/$size-own.pdf" >"$work/qpdf" 2>&1 || { cat "$work/qpdf"; fail "qpdf finds fault with the PDF on $size"; }
    pdfinfo "$work/$size-own.pdf" >"$work/info"
    case $size in a4) want='595\.2[0-9]* x 841\.[89]' ;; letter) want='612 x 792' ;; esac
    grep -qE "Page size: *$want" "$work/info" || { cat "$work/info"; fail "the PDF is not on $size"; }
    grep -q 'Title: *Merrow 4.2 V8' "$work/info" || fail "the PDF has no title"
    pdftotext "$work/$size-own.pdf" "$work/words"
    /usr/bin/python3 tests/check/report.py paper "$work/v8.html" "$work/words"
done
# the same looks find a PDF that is cut off, and a page left out
head -c 60000 "$work/a4-own.pdf" >"$work/cut.pdf"
if qpdf --check "$work/cut.pdf" >/dev/null 2>&1; then fail "qpdf takes a PDF that is cut off for sound"; fi
"$program" report "$work/log" --engine "Merrow 4.2 V8" --without causes -o "$work/less.pdf"
pdftotext "$work/less.pdf" "$work/words"
if /usr/bin/python3 tests/check/report.py paper "$work/v8.html" "$work/words" >/dev/null 2>&1; then fail "missing causes are not missed"; fi
for f in a4-own.pdf v8.html; do
    if exiftool -G -a "$work/$f" | grep -iE 'gps|latitude|longitude'; then fail "$f says where a photo was taken"; fi
done
say "paper: A4 and Letter sound by qpdf, with title and every heading and row name of the page"

# ---- the table in LibreOffice: the same numbers and dates, and no formula ----
cat >"$work/wild.json" <<'J'
{"format": 1, "engine": {"name": "=2+5", "layout": "inline", "strokes": 4, "banks": [{"name": "1", "cylinders": [1, 2]}], "firing_order": [1, 2]},
 "visit": {"date": "2026-06-14", "odometer": 1234, "odometer_unit": "km", "notes": "@SUM(1+1)"},
 "readings": [{"cylinder": 1, "gap_mm": 1.1, "compression_kpa": 1180.5, "nose_lab": [71, -4.5, 15]}, {"cylinder": 2, "gap_mm": 0.95, "plug_id": "+1+1"}],
 "earlier": [{"visit": {"date": "2025-06-14", "odometer": 34, "odometer_unit": "km", "notes": "-2+3"}, "readings": [{"cylinder": 1, "gap_mm": 1.0, "tightness": "tight", "plug_id": "@A1"}]},
             {"visit": {"date": "2025-07-14", "odometer": 340, "odometer_unit": "km", "notes": "=HYPERLINK(\"http://outside.example\")"}, "readings": []}]}
J
"$program" take "$work/wild" "$work/wild.json" >/dev/null
"$program" report "$work/wild" --all-visits -o "$work/wild.csv"
"$program" report "$work/log" --engine "Merrow 4.2 V8" --all-visits -o "$work/v8.csv"
[ "$(grep -c '^' "$work/wild.csv")" = 5 ] || { cat "$work/wild.csv"; fail "three visits with three plugs read make not four rows below the head"; }
for f in v8 wild; do
    (cd "$work" && soffice --headless --convert-to fods "$f.csv" >/dev/null 2>&1)
    [ -s "$work/$f.fods" ] || fail "LibreOffice opens no $f.csv"
    /usr/bin/python3 tests/check/report.py table "$work/$f.csv" "$work/$f.fods"
done

# ---- a case out, in again, out again ----
n=0
for name in "Merrow 4.2 V8" "Harrow 2.9 straight six" "Tarn flat four"; do
    "$program" report "$work/log" --engine "$name" -o "$work/a.json"
    rm -rf "$work/again"
    "$program" take "$work/again" "$work/a.json" >/dev/null
    "$program" report "$work/again" -o "$work/b.json"
    cmp -s "$work/a.json" "$work/b.json" || { diff "$work/a.json" "$work/b.json" | head; fail "the case of $name comes back changed"; }
    n=$((n + 1))
done
say "cases: $n engines out, in and out again, byte for byte"

# ---- ten visits, 120 photos ----
/usr/bin/python3 tests/check/report.py visits >"$work/ten.json"
"$program" take "$work/ten" "$work/ten.json" >/dev/null
i=0
for day in 01 02 03 04 05 06 07 08 09 10; do
    set --
    for k in 1 2 3 4 5 6 7 8 9 10 11 12; do
        i=$((i + 1))
        src=$(ls samples/photos/*.jpg | sed -n "$((i % 20 + 1))p")
        convert "$src" -modulate "$((90 + i % 21)),100,$((99 + i % 3))" -quality 90 -set comment "$i" "$work/p$i.jpg"
        set -- "$@" "$work/p$i.jpg"
        echo "p$i.jpg ${src##*/}" >>"$work/sources"
    done
    "$program" place "$work/ten" --visit "2025-$day-01" --accept "$@" >/dev/null
done
/usr/bin/python3 tests/check/report.py placed "$work/ten" "$work/sources"
start=$(date +%s%N)
"$program" report "$work/ten" --all-visits -o "$work/ten.html"
took=$(( ($(date +%s%N) - start) / 1000000 ))
size=$(stat -c %s "$work/ten.html")
[ "$size" -lt 12000000 ] || fail "ten visits with 120 photos make $size bytes, 12 MB are allowed"
n=$(grep -c '<img ' "$work/ten.html")
[ "$n" = 120 ] || fail "ten visits with 120 photos: $n of them are on the page"
n=$(grep -o 'style="clip-path' "$work/ten.html" | wc -l)
[ "$n" -ge 90 ] || fail "of 60 plugs on plans and 36 in the line-up $n show their photo"
check_page ten
say "report of 10 visits with $i photos: $size bytes in $took ms (aim 3000)"
echo "page, table, cases and size: all as they should be; 120 photos $((size / 1000)) kB in $took ms"
