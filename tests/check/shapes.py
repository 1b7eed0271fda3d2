"""The odds of every shape of small engines, counted again by going through all arrangements in plain
Python, against `sootbook read`. Argument: seed. Statistics as docs/how-it-computes.md has them."""
import itertools
import json
import math
import os
import random
import subprocess
import sys
import tempfile

ENGINES = [
    ("inline", [[1, 2, 3, 4]], [1, 3, 4, 2], None),
    ("inline", [[1, 2, 3, 4, 5]], [1, 2, 4, 5, 3], None),
    ("inline", [[1, 2, 3, 4, 5, 6]], [1, 5, 3, 6, 2, 4], [[1, 2, 3], [4, 5, 6]]),
    ("v", [[1, 2, 3], [4, 5, 6]], [1, 4, 2, 5, 3, 6], [[1, 4], [2, 5], [3, 6]]),
    ("v", [[1, 3, 5, 7], [2, 4, 6, 8]], [1, 8, 4, 3, 6, 5, 7, 2], None),
    ("flat", [[1, 3], [2, 4]], [1, 3, 2, 4], [[1, 3], [2, 4]]),
]


def profiles(engine, seen, order):
    """shape -> profiles over the cylinders seen; worse is up, and front-rear goes both ways."""
    _, banks, firing, mixture = engine
    n = len(firing)
    sets = {"one-cylinder": [{c} for c in firing], "adjacent-pair": [], "companion-pair": [], "firing-neighbours": []}
    if len(banks) > 1:
        sets["one-bank"] = [set(b) for b in banks]
    if mixture:
        sets["mixture-group"] = [set(g) for g in mixture]
    for bank in banks:
        sets["adjacent-pair"] += [{a, b} for a, b in zip(bank, bank[1:])]
    for i, c in enumerate(firing):
        if n % 2 == 0 and i < n // 2:
            sets["companion-pair"].append({c, firing[i + n // 2]})
        sets["firing-neighbours"].append({c, firing[(i + 1) % n]})
    found = {k: [[1.0 if c in s else 0.0 for c in seen] for s in v] for k, v in sets.items()}
    place = {c: i for bank in banks for i, c in enumerate(bank)}
    if max(map(len, banks)) > 2:
        found["front-rear"] = [[w * place[c] for c in seen] for w in (1, -1)]
    if order:
        found["removal-order"] = [[-order.index(c) for c in seen]]
    return found


def centred(profile):
    mean = sum(profile) / len(profile)
    size = math.sqrt(sum((x - mean) ** 2 for x in profile))
    return [(x - mean) / size for x in profile] if size > 1e-9 else None


def odds(engine, seen, values, order):
    weights = {k: [p for p in map(centred, v) if p] for k, v in profiles(engine, seen, order).items()}
    weights = {k: v for k, v in weights.items() if v}
    ways = sorted(set(itertools.permutations(values)))
    stat = {k: [max(sum(a * b for a, b in zip(w, x)) for w in v) for x in ways] for k, v in weights.items()}
    seen_at = ways.index(tuple(values))
    z = {}
    for k, t in stat.items():
        mean = sum(t) / len(t)
        sd = math.sqrt(sum((x - mean) ** 2 for x in t) / len(t))
        z[k] = [(x - mean) / sd if sd > 1e-8 else 0.0 for x in t]
    top = [max(v) for v in zip(*z.values())]
    out = {}
    for k, t in stat.items():
        if t[seen_at] > 1e-9:
            out[k] = (sum(x >= t[seen_at] - 1e-9 for x in t) / len(ways), sum(x >= z[k][seen_at] - 1e-9 for x in top) / len(ways), len(ways))
    return out


def main():
    random.seed(int(sys.argv[1]) if len(sys.argv) > 1 else 1)
    compared = 0
    shapes = set()
    with tempfile.TemporaryDirectory() as folder:
        path = os.path.join(folder, "case.json")
        for _ in range(60):
            engine = random.choice(ENGINES)
            layout, banks, firing, mixture = engine
            in_order = [c for b in banks for c in b]
            seen = [c for c in in_order if random.random() < 0.85]
            most = 2 if len(seen) > 6 else 3
            values = [random.choice([0, 0] + list(range(1, most + 1))) for _ in seen]
            if len(set(values)) < 2:
                continue
            order = random.sample(in_order, len(in_order)) if random.random() < 0.5 else None
            case = {"engine": {"layout": layout, "banks": [{"name": str(i + 1), "cylinders": b} for i, b in enumerate(banks)], "firing_order": firing},
                    "visit": {"socket": "wiped"},
                    "readings": [{"cylinder": c, "firing_end": [{"deposit": "dry-carbon", "amount": v}] if v else []} for c, v in zip(seen, values)]}
            if mixture:
                case["engine"]["mixture_groups"] = mixture
            if order:
                case["visit"]["removal_order"] = order
            with open(path, "w") as f:
                json.dump(case, f)
            run = subprocess.run([os.environ["SOOTBOOK"], "read", path], capture_output=True, text=True, check=True)
            got = {p["shape"]: p for p in json.loads(run.stdout)["patterns"] if p["measure"] == "firing_end.dry-carbon"}
            want = odds(engine, seen, values, order)
            if set(got) - {"scattered", "all"} != set(want):
                sys.exit("shapes %s, counted here %s\n%s" % (sorted(got), sorted(want), json.dumps(case)))
            for shape, (chance, chance_any, ways) in want.items():
                p = got[shape]
                if abs(p["chance"] - chance) > 1e-9 or abs(p["chance_any"] - chance_any) > 1e-9 or not p["exact"] or p["arrangements"] != ways:
                    sys.exit("%s: %s, counted here %s\n%s" % (shape, p, (chance, chance_any, ways), json.dumps(case)))
                compared += 1
                shapes.add(shape)
    if compared < 200 or len(shapes) < 8:
        sys.exit("too few were compared: %d of %s" % (compared, sorted(shapes)))
    print("%d odds of %d shapes agree with counting in Python" % (compared, len(shapes)))


main()
