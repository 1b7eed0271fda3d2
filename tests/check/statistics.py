"""Works out again, with SciPy, what statistics.c printed; ends with status 1 at the first disagreement."""
import collections
import json
import math
import sys

import numpy as np
from scipy import stats

count = collections.Counter()
RISE_MM = 0.0424  # two readings of 0.03 mm doubt, in quadrature: less is no growth


def same(row, name, got, want, tolerance=1e-9):
    if not math.isclose(got, want, rel_tol=tolerance, abs_tol=1e-12):
        sys.exit("%s %s: the program says %.15g, SciPy %.15g\n%s" % (row["what"], name, got, want, row))


def three(row, test):
    for key, side in (("less", "less"), ("greater", "greater"), ("two", "two-sided")):
        same(row, key, row[key], test(side))


for line in sys.stdin:
    row = json.loads(line)
    what = row["what"]
    count[what] += 1
    x = np.array(row.get("x", []))
    y = np.array(row.get("y", []))
    if what == "fisher":
        a, b, c, d = row["t"]
        three(row, lambda side: stats.fisher_exact([[a, b], [c, d]], side)[1])
    elif what == "mannwhitney":
        three(row, lambda side: stats.mannwhitneyu(x, y, method="exact", alternative=side).pvalue)
        same(row, "u", row["u"], stats.mannwhitneyu(x, y).statistic)
    elif what == "kendall":
        three(row, lambda side: stats.kendalltau(x, y, method="exact", alternative=side).pvalue)
        same(row, "tau", row["tau"], stats.kendalltau(x, y).statistic)
    elif what == "lines":
        t = stats.theilslopes(y, x, 0.9)
        f = stats.linregress(x, y)
        for name, want in (("slope", t[0]), ("low", t[2]), ("high", t[3]), ("b0", f.intercept), ("b1", f.slope), ("sd", f.stderr), ("r2", f.rvalue ** 2)):
            same(row, name, row[name], want, 1e-8)
    elif what == "growth":
        x, y = np.array(row["points"]).T
        slope = stats.theilslopes(y, x, 0.95)[0]
        told = slope * (x[-1] - x[0]) > RISE_MM
        if row["known"] != told:
            sys.exit("growth: told is %s, and should be %s: %s" % (row["known"], told, row))
        count["growth told"] += told
        same(row, "rate", row["rate"], slope, 1e-8)
        if told:
            same(row, "left", row["left"], max(0, row["limit"] - y[-1]) / slope, 1e-8)
        elif row["left"] is not None:
            sys.exit("growth: a distance is left though none is told: %s" % row)
    elif what == "grubbs":
        n = len(x)
        g = np.max(np.abs(x - x.mean())) / x.std(ddof=1)
        below = (n - 1) ** 2 - n * g * g
        p = 0.0 if below < 1e-9 else min(1.0, 2 * n * stats.t.sf(math.sqrt(n * (n - 2) * g * g / below), n - 2))
        t = stats.t.isf(0.05 / (2 * n), n - 2)
        same(row, "median", row["median"], np.median(x))
        same(row, "mad", row["mad"], stats.median_abs_deviation(x))
        same(row, "g", row["g"], g)
        same(row, "p", row["p"], p, 1e-6)
        same(row, "crit", row["crit"], (n - 1) / math.sqrt(n) * math.sqrt(t * t / (n - 2 + t * t)), 1e-8)  # isf itself is good to 1e-9
    elif what == "permutation":
        r = stats.permutation_test((x, y), lambda u, v, axis: np.abs(np.mean(u, axis=axis) - np.mean(v, axis=axis)),
                                   vectorized=True, n_resamples=np.inf, alternative="greater")
        same(row, "p", row["p"], r.pvalue)
if min(count[k] for k in ("fisher", "mannwhitney", "kendall", "lines", "grubbs", "permutation")) < 50:
    sys.exit("too few were compared: %s" % dict(count))
if count["growth told"] < 200:
    sys.exit("only %d series of growth were compared" % count["growth told"])
print("SciPy agrees: " + ", ".join("%s %d" % (k, count[k]) for k in sorted(count)))
