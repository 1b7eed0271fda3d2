#!/bin/sh
# The Line-up with 24 plugs and 20 visits, a photo of each plug at each visit: how long frames take while it is
# scrolled by the wheel and by keys, by the software renderer, at 1440 x 900 (aim: worst 16 ms, one frame of a 60 Hz
# screen). First until all plugs are cut out, then out of the cache. The photos are sample photos made to differ by
# bytes behind their end; their rows are written straight into the tables.
set -eu
program=${SOOTBOOK:-build/sootbook}
work=$(mktemp -d /tmp/sootbook-bench-XXXXXX)
trap 'rm -rf "$work"' EXIT
export XDG_CONFIG_HOME="$work" XDG_DATA_HOME="$work" SDL_VIDEODRIVER=dummy SOOTBOOK_TODAY=2026-06-14
/usr/bin/python3 - "$work" <<'P'
import json, sys
def visit(k):
    return {"date": "%04d-%02d-01" % (2006 + k, k % 12 + 1), "odometer": 10000 + 5000 * k, "odometer_unit": "km"}
def readings(k):
    return [{"cylinder": c, "firing_end": [{"deposit": ["normal", "dry-carbon", "oil-wet"][(c + k) % 3], "amount": 2}],
             "well": [{"sign": "oil", "amount": 2}] if (c + k) % 5 == 0 else [], "gap_mm": 1.0 + 0.01 * c} for c in range(1, 25)]
case = {"format": 1, "engine": {"name": "Twenty-four", "layout": "v", "firing_order": list(range(1, 25)),
        "banks": [{"name": "1", "cylinders": list(range(1, 25, 2))}, {"name": "2", "cylinders": list(range(2, 25, 2))}]},
        "visit": visit(19), "readings": readings(19), "earlier": [{"visit": visit(k), "readings": readings(k), "done": []} for k in range(19)]}
json.dump(case, open(sys.argv[1] + "/case.json", "w"))
P
"$program" take "$work/log" "$work/case.json" >/dev/null
/usr/bin/python3 - "$work/log" <<'P'
import csv, hashlib, os, sqlite3, sys, uuid
log = sys.argv[1]
db = sqlite3.connect(log + "/logbook.db")
marks = {}
for row in csv.DictReader(open("samples/photos/marks.csv")):
    if row["file"].endswith("-end.jpg"):
        points = [[float(v) for v in pair.split(",")] for pair in row["points"].split(";")]
        marks.setdefault(row["file"], []).append(("nose" if row["kind"] == "area" else "patch", points))
files = sorted(marks)
os.makedirs(log + "/photos", exist_ok=True)
n = 0
for visit, in db.execute("SELECT id FROM visit ORDER BY date").fetchall():
    for cylinder in range(24):
        name = files[n % len(files)]
        data = open("samples/photos/" + name, "rb").read() + b"%d" % n
        sha, photo = hashlib.sha256(data).hexdigest(), str(uuid.uuid4())
        n += 1
        open("%s/photos/%s.jpg" % (log, sha), "wb").write(data)
        db.execute("INSERT INTO photo (id, gone, visit, sha256, name, format, cylinder, position, zone, width, height, sort) VALUES (?, 0, ?, ?, ?, 'jpg', ?, 0, 'firing_end', ?, ?, ?)",
                   (photo, visit, sha, name, cylinder, 1632, 1224, n))
        for kind, points in marks[name]:
            db.execute("INSERT INTO mark (id, gone, photo, kind, points, sort) VALUES (?, 0, ?, ?, ?, 1)", (str(uuid.uuid4()), photo, kind, repr(points)))
db.commit()
P
scroll() {
    echo "size 1440 900"; echo wait; echo "key Enter"; echo wait; echo "key F12"; echo wait; echo "frames $1 opened, all in view there"
    i=0
    while [ $i -lt 30 ]; do echo "wheel lineup.visit.* -1"; i=$((i + 1)); done
    echo "frames $1 scrolled by the wheel"
    echo wait; echo "frames $1 what came into view there"
    i=0
    while [ $i -lt 30 ]; do echo "wheel lineup.visit.* 1"; i=$((i + 1)); done
    echo "frames $1 scrolled back"
    echo "key PageDown"; echo "key PageDown"; echo "key PageUp"; echo "frames $1 by pages"
    echo wait; echo "key o"; echo wait; echo "frames $1 two visits laid over"
}
scroll "first time:" >"$work/first"
scroll "from the cache:" >"$work/again"
"$program" drive "$work/log" --script "$work/first" 2>/dev/null | grep drawn
"$program" drive "$work/log" --script "$work/again" 2>/dev/null | grep drawn
