"""Helps check_report.sh: reads the page and the table with Python's own parsers, writes a case of ten visits."""
import csv
import json
import re
import sqlite3
import sys
import uuid
import xml.etree.ElementTree as tree
from html.parser import HTMLParser


class Page(HTMLParser):
    def __init__(self):
        super().__init__()
        self.levels, self.outside, self.wordless, self.images = [], [], 0, 0

    def handle_starttag(self, tag, attrs):
        attrs = dict(attrs)
        if re.fullmatch(r"h[1-6]", tag):
            self.levels.append(int(tag[1]))
        if tag in ("img", "svg"):
            self.images += 1
            words = attrs.get("alt") if tag == "img" else attrs.get("aria-label") or attrs.get("aria-hidden")
            self.wordless += not words
        for name in ("src", "href", "action", "poster", "data"):
            value = attrs.get(name) or ""
            if re.match(r"(https?:)?//", value):
                self.outside.append(value)


def page(path):
    p = Page()
    text = open(path, encoding="utf-8").read()
    p.feed(text)
    assert p.levels and p.levels[0] == 1 and p.levels.count(1) == 1, f"headings begin {p.levels[:3]}"
    for a, b in zip(p.levels, p.levels[1:]):
        assert b <= a + 1, f"a heading of level {b} follows one of level {a}"
    assert not p.outside, p.outside
    assert not re.search(r"url\(\s*['\"]?https?:|@import", text), "the style asks for something outside"
    assert p.wordless == 0, f"{p.wordless} of {p.images} pictures have no words"
    print(f"page: {len(p.levels)} headings in order, {p.images} pictures with words, nothing from outside")


class Names(HTMLParser):
    """Headings and row names of the page, as text."""

    def __init__(self):
        super().__init__()
        self.names, self.open = [], False

    def handle_starttag(self, tag, attrs):
        if re.fullmatch(r"h[1-6]", tag) or (tag == "th" and dict(attrs).get("scope") == "row"):
            self.names.append("")
            self.open = True

    def handle_endtag(self, tag):
        if re.fullmatch(r"h[1-6]|th|span", tag):
            if tag == "span" and self.open:
                self.names[-1] = ""  # "Act": on paper it is a mark
            else:
                self.open = False

    def handle_data(self, data):
        if self.open:
            self.names[-1] += data


def paper(page_path, words_path):
    p = Names()
    p.feed(open(page_path, encoding="utf-8").read())
    words = re.sub(r"\s+", "", open(words_path, encoding="utf-8").read())
    missing = [n for n in p.names if re.sub(r"\s+", "", n) not in words]
    assert not missing, f"on the page and not on paper: {missing[:5]}"
    assert len(p.names) > 30, len(p.names)


OFFICE = "{urn:oasis:names:tc:opendocument:xmlns:office:1.0}"
TABLE = "{urn:oasis:names:tc:opendocument:xmlns:table:1.0}"
TEXT = "{urn:oasis:names:tc:opendocument:xmlns:text:1.0}"


def cells(row):
    out = []
    for c in row:
        if c.tag != TABLE + "table-cell":
            continue
        text = "\n".join("".join(p.itertext()) for p in c.iter(TEXT + "p"))
        assert c.get(TABLE + "formula") is None, f"a formula: {c.get(TABLE + 'formula')}"
        cell = (c.get(OFFICE + "value-type"), c.get(OFFICE + "value") or c.get(OFFICE + "date-value"), text)
        out += [cell] * min(int(c.get(TABLE + "number-columns-repeated") or 1), 400)
    return out


def table(path, opened):
    rows = list(csv.reader(open(path, encoding="utf-8-sig", newline="")))
    seen = []
    for r in tree.parse(opened).getroot().iter(TABLE + "table-row"):
        seen += [cells(r)] * min(int(r.get(TABLE + "number-rows-repeated") or 1), 2000)
    numbers = dates = 0
    for i, row in enumerate(rows):
        for k, want in enumerate(row):
            kind, value, text = seen[i][k] if i < len(seen) and k < len(seen[i]) else (None, None, "")
            if re.fullmatch(r"-?\d+(\.\d+)?", want):
                assert kind == "float" and abs(float(value) - float(want)) < 1e-9, f"{want} opened as {kind} {value} {text}"
                numbers += 1
            elif re.fullmatch(r"\d{4}-\d\d-\d\d", want):
                assert kind == "date" and value[:10] == want, f"{want} opened as {kind} {value}"
                dates += 1
    assert numbers > 3 and dates > 0, (numbers, dates)
    print(f"table {path.rsplit('/', 1)[-1]}: {numbers} numbers and {dates} dates as they were written, no formula")


def asked(path):
    """Addresses a page asked for, by Chromium's own log of its network; the browser's own errands, which belong
    to no page, are left out."""
    for line in open(path, encoding="utf-8", errors="replace"):
        if '"network_isolation_key":"file://' in line:
            for url in re.findall(r'"url":"(https?:[^"]*)"', line):
                print(url)


def visits():
    def visit(month):
        return {"date": f"2025-{month:02d}-01", "odometer": 90000 + 900 * month, "odometer_unit": "km",
                "removal_order": [1, 2, 3, 4, 5, 6]}

    def readings(month):
        return [{"cylinder": c, "firing_end": [{"deposit": "normal", "amount": 2}], "well": [],
                 "gap_mm": round(1.0 + 0.011 * month + 0.01 * c, 2)} for c in range(1, 7)]

    json.dump({"format": 1,
               "engine": {"name": "Ten visits", "layout": "inline", "strokes": 4,
                          "banks": [{"name": "1", "cylinders": [1, 2, 3, 4, 5, 6]}], "firing_order": [1, 5, 3, 6, 2, 4]},
               "visit": visit(10), "readings": readings(10),
               "earlier": [{"visit": visit(m), "readings": readings(m)} for m in range(1, 10)]}, sys.stdout)


def placed(folder, sources):
    """Photos onto plugs, each with the nose and the grey patch of the sample it was made from, so that all of them are cut
    out and their light corrected: what a person does in the window, written into the tables."""
    marks = {}
    for row in csv.DictReader(open("samples/photos/marks.csv", encoding="utf-8")):
        points = [[float(v) for v in p.split(",")] for p in row["points"].split(";")]
        marks.setdefault(row["file"], []).append(("nose" if row["kind"] == "area" else "patch", json.dumps(points)))
    of = dict(line.split() for line in open(sources, encoding="utf-8"))
    book, seen = sqlite3.connect(folder + "/logbook.db"), {}
    for photo, visit, name in book.execute("select id, visit, name from photo order by visit, name").fetchall():
        k = seen[visit] = seen.get(visit, -1) + 1
        book.execute("update photo set cylinder = ?, position = 0, zone = 'firing_end' where id = ?", (k % 6, photo))
        for kind, points in marks.get(of[name], []):
            book.execute("insert into mark (id, gone, photo, kind, points, style, sort) values (?, 0, ?, ?, ?, '{\"colour\":\"white\",\"width\":2}', 1)", (str(uuid.uuid4()), photo, kind, points))
    book.commit()


{"page": page, "paper": paper, "asked": asked, "table": table, "visits": visits, "placed": placed}[sys.argv[1]](*sys.argv[2:])
