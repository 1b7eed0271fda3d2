"""Helps check_numbers.sh: figures of the window's outline looked up in the page, on paper and in the table."""
import csv
import html
import json
import re
import sys

name, units, work = sys.argv[1:]
page = open(work + "/report.html", encoding="utf-8").read()
page = re.sub(r"data:image[^\"]*|<style>.*?</style>", "", page, flags=re.S)
labels = " ".join(re.findall(r'aria-label="([^"]*)"', page))
tidy = lambda s: re.sub(r"\s+", "", html.unescape(s))  # noqa: E731
page_words = tidy(re.sub(r"<[^>]+>", " ", page) + labels)
paper_words = tidy(open(work + "/report.txt", encoding="utf-8").read())
rows = list(csv.DictReader(open(work + "/report.csv", encoding="utf-8-sig", newline="")))
held = {"gap": ("gap_mm", 25.4 if units == "in" else 1, 3 if units == "in" else 2), "nose": ("nose_L", 1, 0), "compression": ("compression_kpa", 1, 0)}
counts = {"findings": 0, "readings": 0, "limits": 0, "left": 0, "torques": 0}


def outline(what):
    o = json.load(open(f"{work}/{what}.json", encoding="utf-8"))
    return o if isinstance(o, list) else o["widgets"]


def told(words, where, kind):
    """On the page in one piece; on paper, where lines and columns break words apart, by its figures and words in order."""
    assert tidy(words) in page_words, f"{name}, {units}: {where} says “{words}”, the page does not"
    pieces = [p for p in re.split(r"[\s–(),.;:]+", words) if re.search(r"\d", p)]
    for p in pieces:
        assert tidy(p) in paper_words, f"{name}, {units}: {where} says “{p}”, the paper does not"
    counts[kind] += 1


for w in outline("plan"):
    if re.fullmatch(r"found\.\d+", w["id"]):
        told(w["name"], "What stands out", "findings")
        told(w["value"], "What stands out", "findings")

heads = [html.unescape(h) for h in re.findall(r"<th scope=\"col\"[^>]*>([^<]*)</th>", page[page.index("<h2>Readings"):])]
for measure, (column, factor, decimals) in held.items():
    o = outline(measure)
    if not any(w["id"] == f"trends.{measure}" and w["value"] == "on" for w in o):
        continue
    for w in o:
        if w["id"].startswith("trends.plug."):
            if w["value"] == "not read":
                continue
            shown = w["value"].split(" ")[0].lstrip("≈").replace(",", "")
            row = next(r for r in rows if (r["cylinder"] + " " + r["position"]).strip() == w["name"])
            in_table = float(row[column]) / factor
            assert abs(in_table - float(shown)) <= 0.51 * 10 ** -decimals, f"{name}, {measure} of {w['name']}: {shown} in the window, {row[column]} in the table"
            told(w["value"].split(" ")[0].lstrip("≈"), f"Trends, {measure}", "readings")
        elif w["id"] == "trends.limit":
            told(w["value"], "Trends", "limits")
    left = [w["value"] for w in o if w["id"].startswith("trends.left.")]
    near = re.search(r"Nearest to the limit: [^,]*, ([^.<]* left(?: \([^)]*\))?|past the limit)", page)
    if left and measure == "gap":
        assert near and near.group(1) in left, f"{name}: the page says {near and near.group(1)}, Trends {left}"
        counts["left"] += len(left)
for w in outline("job"):
    if re.fullmatch(r"job\.torque\.\d+", w["id"]):
        told(w["value"], "Job", "torques")
assert counts["findings"] > 2 and counts["readings"] > 3 and counts["torques"] > 2, counts
print(name, units, counts)
