#!/bin/sh
# Plan of an engine of twelve cylinders with two plugs each, all read: how long frames take at 1440 x 900 by SDL's
# software renderer while the pointer goes over its plugs and presses them, while one plug is dragged onto another, and
# while it is drawn anew in full (aim: under 16 ms).
set -eu
program=${SOOTBOOK:-build/sootbook}
work=$(mktemp -d /tmp/sootbook-bench-XXXXXX)
trap 'rm -rf "$work"' EXIT
export XDG_CONFIG_HOME="$work" XDG_DATA_HOME="$work" SOOTBOOK_TODAY=2026-06-14
[ -n "${DISPLAY:-}" ] || export SDL_VIDEODRIVER=dummy
/usr/bin/python3 - "$work" <<'P'
import json, sys
readings = [{"cylinder": c, "position": p, "firing_end": [{"deposit": "dry-carbon" if c % 3 == 0 else "normal", "amount": 2}],
             "well": [{"sign": "oil", "amount": 2}] if c in (4, 5) else [], "gap_mm": round(0.4 + c * 0.01, 2)}
            for c in range(1, 13) for p in ("top", "bottom")]
case = {"format": 1, "engine": {"name": "Twelve", "layout": "v", "firing_order": [1, 12, 5, 8, 3, 10, 6, 7, 2, 11, 4, 9], "plugs_per_cylinder": 2,
                                "banks": [{"name": "left", "cylinders": [1, 3, 5, 7, 9, 11]}, {"name": "right", "cylinders": [2, 4, 6, 8, 10, 12]}]},
        "visit": {"date": "2026-06-01", "odometer": 100, "odometer_unit": "h"}, "readings": readings}
json.dump(case, open(sys.argv[1] + "/twelve.json", "w"))
plugs = ["plan.plug.%d %s" % (c, p) for c in range(1, 13) for p in ("top", "bottom")]
with open(sys.argv[1] + "/script", "w") as f:
    f.write("size 1440 900\nwait\nkey Enter\nwait\nframes opened,\n")
    for plug in plugs:
        f.write('stroke "%s" 0.2 0.2 0.8 0.8\n' % plug)
    f.write("frames pointer over 24 plugs,\n")
    for plug in plugs[:12]:
        f.write('drag "%s" "%s"\n' % (plug, plugs[-1]))
    f.write("frames plug dragged onto another,\nredraw 200\nframes drawn in full,\n")
P
"$program" take "$work/log" "$work/twelve.json" >/dev/null
"$program" drive "$work/log" --script "$work/script" | grep ', frames'
