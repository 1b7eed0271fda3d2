"""Renders the sample photos: one row of pictures.csv each.

blender -b -P samples/scene/plug.py -- --out samples/photos [--table FILE] [--only NAME,NAME]
        [--scale 0.3] [--samples 64] [--png FOLDER]

Pictures that are there already are left alone. Units are millimetres.
"""
import argparse
import csv
import math
import os
import subprocess
import sys

import bpy
import numpy as np
from mathutils import Matrix

sys.path.insert(0, os.path.dirname(os.path.abspath(__file__)))
import looks  # noqa: E402
import measure  # noqa: E402
import shapes  # noqa: E402
import stage  # noqa: E402


def number(row, key, default=0.0):
    v = (row.get(key) or "").strip()
    return float(v) if v else default


def materials(row, seed):
    """The looks of one plug from its table row."""
    soot, oil, rust = number(row, "soot"), number(row, "oil_end"), number(row, "rust")
    oil_thread, wear = number(row, "oil_thread"), number(row, "wear")
    carbon = 0.35 + 0.6 * min(1.0, soot + 0.4 * number(row, "used", 1.0))
    base = (0.50, 0.48, 0.44) if row.get("plating", "") != "zinc" else (0.55, 0.50, 0.36)
    tip = shapes.SIZES[row.get("thread") or "M14x1.25"]["reach"] + number(row, "project", 2.3)
    return dict(
        steel=looks.steel("steel", seed, base, 0.30, 0.55, rust, oil_thread, carbon * 0.75, tip - 5),
        face=looks.steel("face", seed + 3, (0.30, 0.27, 0.24), 0.5, 0.8, 0.0, oil, 0.55 + 0.4 * soot, tip - 6),
        nose=looks.porcelain("nose", row.get("nose") or "tan", seed, soot, oil, number(row, "blister"), number(row, "ash"), tip - 1.0),
        centre=looks.electrode("centre", seed + 5, soot=soot * 0.9, oil=oil * 0.8, wear=wear),
        strap=looks.electrode("strap", seed + 8, (0.40, 0.37, 0.34), 0.45, soot * 0.8, oil * 0.8, 0.5, wear),
        gasket=looks.steel("gasket", seed + 9, (0.58, 0.50, 0.40), 0.32, 0.3, rust * 0.5, oil_thread * 0.8),
        glaze=looks.simple("glaze", (0.76, 0.75, 0.72), 0.14, grain=0.35, scale=0.35, coat=0.7, seed=seed, dark=0.62),
        terminal=looks.steel("terminal", seed + 11, (0.56, 0.53, 0.47), 0.28, 0.2, rust * 0.4))


def ground(kind, seed, z=0.0, size=1200.0):
    mats = {
        "cloth-blue": lambda: looks.cloth("cloth", (0.085, 0.125, 0.21), seed),
        "cloth-red": lambda: looks.cloth("cloth", (0.34, 0.055, 0.045), seed),
        "cloth-grey": lambda: looks.cloth("cloth", (0.30, 0.29, 0.27), seed),
        "paper": lambda: looks.cloth("cloth", (0.72, 0.71, 0.68), seed, 0.15),
        "wood": lambda: looks.wood("bench", seed=seed),
        "steel": lambda: looks.steel("sheet", seed, (0.36, 0.36, 0.36), 0.42, 0.4, 0.15),
        "rubber": lambda: looks.simple("mat", (0.035, 0.036, 0.038), 0.75, grain=0.6, scale=1.2, seed=seed),
        "board": lambda: looks.simple("board", (0.36, 0.25, 0.15), 0.85, grain=0.45, scale=0.5, seed=seed, dark=0.75, specular=0.1),
    }
    bpy.ops.mesh.primitive_plane_add(size=size, location=(0, 0, z))
    o = bpy.context.object
    o.data.materials.append(mats[kind]())
    if kind.startswith("cloth") or kind == "paper":      # cloth does not lie flat
        bpy.ops.object.mode_set(mode="EDIT")
        bpy.ops.mesh.subdivide(number_cuts=90)
        bpy.ops.mesh.subdivide(number_cuts=1)
        bpy.ops.object.mode_set(mode="OBJECT")
        rng = np.random.default_rng(seed)
        v = np.empty(len(o.data.vertices) * 3, np.float32)
        o.data.vertices.foreach_get("co", v)
        v = v.reshape(-1, 3)
        for _ in range(9):
            a, k, ph = rng.uniform(0, math.pi), rng.uniform(0.01, 0.045), rng.uniform(0, 6.28)
            c = np.sin((v[:, 0] * math.cos(a) + v[:, 1] * math.sin(a)) * k + ph)
            v[:, 2] -= rng.uniform(0.2, 0.9) * (1 - c)
        v[:, 2] -= v[:, 2].max()
        o.data.vertices.foreach_set("co", v.reshape(-1))
        o.data.polygons.foreach_set("use_smooth", [True] * len(o.data.polygons))
    return o


def grey_card(at, turn_deg, reflectance=0.18, size=(16, 11), rim=4.0):
    o = shapes.box("card", (size[0], size[1], 0.4), at, looks.card("grey", reflectance), bevel=0.1)
    o.rotation_euler[2] = math.radians(turn_deg)
    rim = shapes.box("rim", (size[0] + rim, size[1] + rim, 0.3), (at[0], at[1], at[2] - 0.15), looks.card("rim", 0.78), bevel=0.1)
    rim.rotation_euler[2] = math.radians(turn_deg)
    return o


def copies(parent, places):
    """The same plug again, elsewhere: shares its meshes."""
    for x, y, turn in places:
        e = bpy.data.objects.new("also", None)
        bpy.context.collection.objects.link(e)
        e.location, e.rotation_euler = (x, y, 0), (0, 0, math.radians(turn))
        for c in parent.children:
            o = c.copy()
            bpy.context.collection.objects.link(o)
            o.parent = e


def view_end(row, seed):
    """Firing end up, standing in a drilled block, seen by a phone held above it."""
    mats = materials(row, seed)
    p = dict(thread=row.get("thread") or "M14x1.25", gap=number(row, "gap", 1.0), strap=number(row, "strap"), wear=number(row, "wear"), seed=seed, tilt=number(row, "slant"))
    parent, info = shapes.plug(p, mats)
    tip = info["tip_z"]
    rng = np.random.default_rng(seed)
    if row.get("bench") == "block":
        top = -10.5
        block = shapes.box("block", (520, 66, 40), (0, 0, top - 20), looks.wood("block", (0.42, 0.29, 0.16), seed, 0.55), bevel=1.2)
        block.rotation_euler[2] = math.radians(rng.uniform(-4, 4))
        ground("rubber", seed, top - 40)
        hole = looks.simple("hole", (0.03, 0.02, 0.012), 0.9)
        for k in (-2, -1, 0, 1, 2):
            ring = shapes.lathe("hole", [(0.1, top + 0.06), (11.8, top + 0.06), (12.3, top - 0.1)], hole)
            ring.location = (k * 36.0, 0, 0)
        sides = [s for s in (-1, 1) if rng.random() < 0.75] or [1]
        copies(parent, [(36.0 * s, rng.uniform(-0.6, 0.6), rng.uniform(0, 360)) for s in sides])
    else:
        ground(row.get("bench") or "cloth-blue", seed, -17.0)
        shapes.box("nut", (26, 26, 16), (0, 0, -10), looks.steel("nut", seed, (0.25, 0.25, 0.26), 0.4, 0.4, 0.2), bevel=0.6)
    if number(row, "card"):
        tall = int(number(row, "orientation", 1)) in (6, 8)
        sx, sy = ((4.5, 16.5) if tall else (15.5, 8.5))
        sx *= 1 if rng.random() < 0.5 else -1
        grey_card((sx, sy, tip - 14.0), rng.uniform(-14, 14), size=(7.5, 5.5), rim=1.8)
        shapes.box("stand", (7, 5, 40), (sx, sy, tip - 34.6), looks.wood("stand", seed=seed + 4), bevel=0.4)
    stage.light(row.get("light") or "window", number(row, "light_turn"), (0, 0, tip))
    cam, lens = stage.camera((number(row, "shift_x"), number(row, "shift_y"), tip), number(row, "distance", 140), number(row, "field", 46),
                             number(row, "tilt", 6), number(row, "tilt_to", -90), number(row, "turn"), focus=(0, 0, tip - 1.5))
    return cam, lens, parent, info


def view_side(row, seed, mats=None, ideal_pupil=None):
    """Lying on the bench, axis along x, firing end to +x; strap at 90 shows the gap, which is measured."""
    mats = mats or materials(row, seed)
    p = dict(thread=row.get("thread") or "M14x1.25", gap=number(row, "gap", 1.0), strap=number(row, "strap", 90), wear=number(row, "wear"), seed=seed,
             tilt=number(row, "slant"), exact=True, fine=number(row, "fine"), project=number(row, "project", 2.3))
    parent, info = shapes.plug(p, mats)
    parent.rotation_euler = (0, math.pi / 2, 0)
    flats = info["flats"]
    ground(row.get("bench") or "cloth-grey", seed, -max(flats / 2, info["shoulder"]) - 0.05)
    low = -max(flats / 2, info["shoulder"])
    if number(row, "card"):
        grey_card((number(row, "card_x", 6.0), number(row, "card_y", -20.5), low + 0.55), number(row, "card_turn", 4.0),
                  size=(number(row, "card_w", 16), number(row, "card_h", 11)), rim=number(row, "card_rim", 4))
    stage.light(row.get("light") or "bench", number(row, "light_turn"), (0, 0, 0))
    x = number(row, "shift_x", (info["tip_z"] + info["bottom_z"]) / 2 + 6)
    cam, lens = stage.camera((x, number(row, "shift_y", -3.0), 0), number(row, "distance", 260), number(row, "field", 88),
                             number(row, "tilt", 4), number(row, "tilt_to", -90), number(row, "turn"), focus=(info["tip_z"] - 8, 0, 2.0),
                             pupil_mm=stage.PUPIL_MM if ideal_pupil is None else ideal_pupil)
    return cam, lens, parent, info


def view_well(row, seed):
    """Down a plug well in a cast cover: plug at the bottom, dry or standing in oil."""
    mats = materials(row, seed)
    parent, info = shapes.plug(dict(thread="M14x1.25", gap=1.0, seed=seed), mats)
    parent.rotation_euler = (math.pi, 0, 0)
    depth, oil = 66.0, number(row, "well_oil")
    parent.location = (0, 0, -depth - 3.0)
    wet = number(row, "well_oil") > 0
    cover = looks.casting("cover", (0.33, 0.335, 0.34), seed, 0.85 if wet else 0.3)
    wall = looks.casting("wall", (0.26, 0.25, 0.24), seed + 2, 0.9 if wet else 0.35)
    shapes.lathe("tube", shapes.rounded([(150, 0.0), (20.5, 0.0), (20.5, 3.2), (15.6, 3.2), (13.2, 1.0), (12.8, -4), (12.6, -depth), (9.0, -depth - 1.5), (0.1, -depth - 1.5)], 0.9, 6), cover, around=128)
    shapes.lathe("bore", [(12.55, -6), (12.4, -depth + 0.2)], wall, around=96)
    seal = looks.simple("seal", (0.02, 0.02, 0.022), 0.35 if wet else 0.6, grain=0.3)
    shapes.lathe("seal", shapes.rounded([(13.6, 0.5), (14.6, 4.2), (17.2, 4.4), (17.8, 3.0)], 0.7), seal)
    steel = looks.steel("bolt", seed + 20, (0.42, 0.41, 0.38), 0.35, 0.5, 0.35)
    for sx, sy in ((34, 16), (-38, -14)):
        h = shapes.hexagon("bolt", 10, 1.5, 8.5, steel)
        h.location = (sx, sy, 0)
        w = shapes.lathe("flange", shapes.rounded([(0.1, 8.4), (4.6, 8.4), (4.6, 2.4), (8.2, 2.0), (8.6, 0.9), (8.6, 0)], 0.4), steel)
        w.location = (sx, sy, 0)
        shapes.lathe("boss", shapes.rounded([(8.4, 0.6), (11.5, 0.4), (13.5, -0.5)], 0.5), cover).location = (sx, sy, 0)
    for y in (-52, 52):
        shapes.box("rib", (300, 5, 7), (0, y, 2), cover, bevel=2.0)
    if wet:
        bpy.ops.mesh.primitive_circle_add(vertices=96, radius=12.5, fill_type="NGON", location=(0, 0, -depth + oil))
        bpy.context.object.data.materials.append(looks.pool("pool"))
    stage.light(row.get("light") or "torch", number(row, "light_turn"), (0, 0, 0))
    stage.area((9, 14, 150), 7, 2.6e5, (1.0, 0.97, 0.92), look=(0, 0, -depth), size_y=7)
    return stage.camera((number(row, "shift_x"), number(row, "shift_y"), 0), number(row, "distance", 150), number(row, "field", 92),
                        number(row, "tilt", 5), number(row, "tilt_to", -90), number(row, "turn"), focus=(0, 0, -18), pupil_mm=1.4)


def view_coil(row, seed):
    """A stick coil on the bench with a hairline crack across its head."""
    ground(row.get("bench") or "wood", seed, 0)
    plastic = looks.simple("plastic", (0.018, 0.018, 0.019), 0.42, grain=0.5, scale=5.0, seed=seed)
    rubber = looks.simple("boot", (0.03, 0.03, 0.032), 0.6, grain=0.5, scale=2.0, seed=seed + 1)
    brass = looks.steel("bush", seed, (0.60, 0.50, 0.30), 0.3, 0.3)
    h = shapes.box("head", (46, 30, 22), (-30, 0, 13.2), plastic, bevel=3.0)
    shapes.box("lid", (36, 22, 1.4), (-30, 0, 24.6), plastic, bevel=0.6)
    shapes.box("ear", (20, 17, 7), (-62, 0, 10), plastic, bevel=3.0)
    shapes.lathe("bush", shapes.rounded([(3.3, 6), (3.3, 14.2), (5.4, 14.2), (5.6, 6)], 0.3), brass).location = (-63, 0, 0)
    shapes.lathe("bolt-hole", [(0.1, 13.4), (3.3, 13.4)], looks.simple("deep", (0.004, 0.004, 0.004), 0.9)).location = (-63, 0, 0)
    shapes.box("socket", (20, 17, 14), (-34, 21, 13), plastic, bevel=2.0)
    shapes.box("latch", (7, 14, 2.4), (-34, 23, 21), plastic, bevel=0.8)
    prof = [(0.1, -6), (12.0, -6), (12.0, 14), (10.6, 16), (10.6, 34), (9.6, 36)]
    z = 36
    for _ in range(6):
        prof += [(9.6, z + 2), (10.9, z + 3.5), (10.9, z + 6.5), (9.6, z + 8)]
        z += 8.0
    prof += [(9.4, z + 6), (8.4, z + 9), (6.3, z + 9), (6.2, z + 2)]
    stem = shapes.lathe("stem", shapes.rounded(prof, 0.8), rubber)
    stem.rotation_euler = (0, math.pi / 2, 0)
    stem.location = (-12, 0, 12.2)
    rng = np.random.default_rng(seed)
    pts, y = [], -11.2
    x = -40.0
    while y < 11.0:
        pts.append((x, y, 25.31))
        y += 0.35
        x += rng.normal(0.16, 0.33)
    crack = looks.simple("crack", (0.22, 0.205, 0.19), 0.9)
    dark = looks.simple("split", (0.001, 0.001, 0.001), 1.0, specular=0.0)
    shapes.polyline("split", pts, 0.13, dark)
    shapes.polyline("edge", [(a + 0.2, b + 0.03, c - 0.02) for a, b, c in pts], 0.12, crack)
    if number(row, "card"):
        grey_card((4, -33, 0.4), -6)
    stage.light(row.get("light") or "bench", number(row, "light_turn"), (0, 0, 10))
    return stage.camera((number(row, "shift_x", -6), number(row, "shift_y", -2), 12), number(row, "distance", 240), number(row, "field", 132),
                        number(row, "tilt", 24), number(row, "tilt_to", -100), number(row, "turn"), focus=(-36, 0, 24))


def view_connector(row, seed):
    """A coil connector with its wires: the insulation of one is gone over a finger's width."""
    ground(row.get("bench") or "rubber", seed, 0)
    plastic = looks.simple("plastic", (0.035, 0.035, 0.038), 0.40, grain=0.5, scale=4.0, seed=seed)
    grey = looks.simple("grey", (0.20, 0.20, 0.205), 0.45, grain=0.4, scale=4.0, seed=seed)
    shapes.box("shell", (26, 21, 15), (-16, 0, 8.2), plastic, bevel=2.0)
    shapes.box("collar", (6, 24, 17.5), (-29, 0, 9), plastic, bevel=1.6)
    shapes.box("latch", (17, 8, 2.2), (-19, 0, 17.0), grey, bevel=0.7)
    shapes.box("thumb", (4, 11, 3.2), (-9, 0, 17.2), grey, bevel=0.8)
    seals = looks.simple("seals", (0.42, 0.10, 0.05), 0.5, grain=0.3)
    shapes.box("seal", (5, 16, 10), (-2.4, 0, 8), seals, bevel=1.5)
    colours = [(0.16, 0.065, 0.028), (0.35, 0.028, 0.022), (0.012, 0.012, 0.013)]
    copper = looks.steel("copper", seed, (0.62, 0.30, 0.16), 0.32, 0.45)
    for i, (y, c) in enumerate(zip((-5.0, 0.0, 5.0), colours)):
        mat = looks.simple("wire%d" % i, c, 0.38, grain=0.5, scale=1.5, seed=seed + i)
        path = [(-2, y, 8), (12, y * 1.1, 8.5), (28, y * 1.3 + 2, 5.0), (46, y * 1.2 + 7, 2.2), (80, y + 16, 1.6), (140, y + 20, 1.6)]
        if i != 1:
            shapes.cable("wire", path, 1.25, mat)
            continue
        path = [np.array(q, float) for q in path]

        def at(s):                                  # smooth point along the bare wire's path
            k = min(int(s), len(path) - 2)
            f = s - k
            p0, p1, p2, p3 = path[max(k - 1, 0)], path[k], path[k + 1], path[min(k + 2, len(path) - 1)]
            return 0.5 * ((2 * p1) + (p2 - p0) * f + (2 * p0 - 5 * p1 + 4 * p2 - p3) * f * f + (3 * p1 - p0 - 3 * p2 + p3) * f ** 3) + np.array((0, 0, 1.5 * math.exp(-((s - 1.9) ** 2) * 2)))
        cut0, cut1 = 1.38, 2.30
        shapes.cable("in", [tuple(at(s)) for s in np.linspace(0, cut0, 12)], 1.3, mat, 6)
        shapes.cable("out", [tuple(at(s)) for s in np.linspace(cut1, 4.99, 30)], 1.3, mat, 6)
        for s0, s1, g in ((cut0 + 0.10, cut0 + 0.19, 1.28), (cut1 - 0.2, cut1 - 0.13, 1.25)):   # crumbs of old insulation
            shapes.cable("crumb", [tuple(at(s)) for s in np.linspace(s0, s1, 4)], g, mat, 6)
        for k in range(9):                          # strands
            pts = []
            for s in np.linspace(cut0 - 0.1, cut1 + 0.1, 60):
                a = k * 2 * math.pi / 8 + s * 7.0
                rad = (0.62 if k < 8 else 0.0) * (1 + (0.5 if k in (2, 5) else 0.06) * math.sin((s - cut0) / (cut1 - cut0) * math.pi))
                q = at(s)
                pts.append((q[0], q[1] + rad * math.cos(a), q[2] + rad * math.sin(a)))
            shapes.polyline("strand", pts, 0.25, copper)
    crumb = looks.simple("flake", colours[1], 0.5)
    rng = np.random.default_rng(seed)
    for _ in range(9):
        o = shapes.box("flake", (rng.uniform(0.6, 2.2), rng.uniform(0.5, 1.4), 0.4), (rng.uniform(14, 44), rng.uniform(-8, 14), 0.25), crumb, bevel=0.12, segments=2)
        o.rotation_euler[2] = rng.uniform(0, 3)
    stage.light(row.get("light") or "bench", number(row, "light_turn"), (0, 0, 0))
    return stage.camera((number(row, "shift_x", 10), number(row, "shift_y", 2), 6), number(row, "distance", 190), number(row, "field", 88),
                        number(row, "tilt", 22), number(row, "tilt_to", -80), number(row, "turn"), focus=(26, 2, 6))


VIEWS = dict(end=view_end, side=view_side, well=view_well, coil=view_coil, connector=view_connector)


def exif(path, row, lens):
    """Time, offset, orientation and focal length as a phone writes them; no make, no model, no place."""
    taken = row["taken"].replace("-", ":")
    args = ["exiftool", "-q", "-overwrite_original", "-n", "-DateTimeOriginal=" + taken, "-CreateDate=" + taken, "-ModifyDate=" + taken,
            "-Orientation=%d" % int(number(row, "orientation", 1)), "-FocalLength=%.2f" % lens, "-FocalLengthIn35mmFormat=%d" % round(lens * 36.0 / stage.SENSOR_MM),
            "-FNumber=%.1f" % (lens / stage.PUPIL_MM), "-ColorSpace=1"]
    if row.get("subsec"):
        args += ["-SubSecTimeOriginal=" + row["subsec"], "-SubSecTimeDigitized=" + row["subsec"]]
    if row.get("offset"):
        args += ["-OffsetTimeOriginal=" + row["offset"], "-OffsetTime=" + row["offset"]]
    subprocess.run(args + [path], check=True)


def write_places(rows, path):
    """Which photo belongs where, with time and size as displayed: what the sample logbook is filled from."""
    columns = "file,case,visit,cylinder,zone,taken,offset_min,width,height".split(",")
    table = []
    for row in rows:
        w_h = (1224, 1632) if int(number(row, "orientation", 1)) in (5, 6, 7, 8) else (1632, 1224)
        taken = row["taken"].replace(" ", "T") + ("." + (row["subsec"] + "000")[:3] if row["subsec"] else "")
        minutes = (int(row["offset"][1:3]) * 60 + int(row["offset"][4:6])) * (-1 if row["offset"][0] == "-" else 1) if row["offset"] else ""
        table.append([row["file"], row["engine"].split()[0].lower(), row["visit"], row["cylinder"], row["zone"].replace("-", "_"), taken, minutes, *w_h])
    write_table(path, columns, table)


def points(row, made, w, h):
    """The lines and areas a person would draw on this picture, and the crops of the line-up: rows of marks.csv
    and crops.csv. Nothing for pictures that show no firing end."""
    if len(made) < 4:
        return [], []
    cam, _, parent, info = made
    show = lambda ps: ";".join("%.1f,%.1f" % q for q in ps)
    card_h = 5.5 if row["view"] == "end" else number(row, "card_h", 11)
    x_y_w_h = measure.patch(measure.projector(cam, w, h), card_h)
    marks, turn = [], 0.0
    if row["view"] == "side":
        m = measure.side(cam, parent, info, number(row, "gap", 1.0), number(row, "slant"), w, h)
        line = min(("outline", "outline2"), key=lambda k: sum(q[1] for q in m["lines"][k]))     # the lit one, uppermost
        marks += [("scale", show(m["lines"][line])), ("gap", show(m["gap_line"]))]
        if m["nose"]:
            marks.append(("area", show(m["nose"])))
        mid = m["gap_line"][0]
        crop, turn = ("side", *mid, m["px_per_mm"]), -90 - m["axis_deg"]            # firing end up
    else:
        m = measure.end(cam, info, number(row, "strap"), w, h)
        marks.append(("area", show(m["nose"])))
        crop = ("tip", *m["middle"], m["px_per_mm"])
    if x_y_w_h and number(row, "card"):
        x, y, cw, ch = x_y_w_h
        marks.append(("patch", show([(x, y), (x + cw, y + ch)])))
    return [(row["file"], *q) for q in marks], [(row["file"], crop[0], "%.1f" % crop[1], "%.1f" % crop[2], "%.3f" % crop[3], "%.1f" % ((turn + 180) % 360 - 180))]


def write_table(path, columns, rows):
    with open(path, "w", newline="") as f:
        w = csv.writer(f, lineterminator="\n")
        w.writerow(columns)
        w.writerows(rows)


def main():
    ap = argparse.ArgumentParser()
    ap.add_argument("--table", default=os.path.join(os.path.dirname(os.path.abspath(__file__)), "pictures.csv"))
    ap.add_argument("--out", default="samples/photos")
    ap.add_argument("--only", default="")
    ap.add_argument("--scale", type=float, default=0.66)
    ap.add_argument("--samples", type=int, default=32)
    ap.add_argument("--tables", action="store_true", help="only marks.csv, crops.csv and places.csv: nothing is rendered")
    ap.add_argument("--quick", action="store_true", help="small PNG-like look check: no upscaling, no EXIF")
    a = ap.parse_args(sys.argv[sys.argv.index("--") + 1:] if "--" in sys.argv else [])
    only = [s for s in a.only.split(",") if s]
    os.makedirs(a.out, exist_ok=True)
    with open(a.table, newline="") as f:
        rows = list(csv.DictReader(f))
    if not a.quick:
        write_places(rows, os.path.join(a.out, "places.csv"))
    if a.tables:
        marks, crops = [], []
        for i, row in enumerate(rows):
            stage.clear()
            tall = int(number(row, "orientation", 1)) in (5, 6, 7, 8)
            made = VIEWS[row["view"]](row, int(number(row, "seed", i + 1)))
            if tall:
                bpy.context.scene.camera.data.lens *= 4.0 / 3.0
            m, c = points(row, made, *((1224, 1632) if tall else (1632, 1224)))
            marks += m
            crops += c
        write_table(os.path.join(a.out, "marks.csv"), ("file", "kind", "points"), marks)
        write_table(os.path.join(a.out, "crops.csv"), ("file", "view", "x", "y", "px_per_mm", "turn_deg"), crops)
        return
    for i, row in enumerate(rows):
        if only and row["file"] not in only:
            continue
        path = os.path.join(a.out, row["file"])
        if os.path.exists(path):
            continue
        seed = int(number(row, "seed", i + 1))
        orientation = int(number(row, "orientation", 1))
        tall = orientation in (5, 6, 7, 8)              # a phone held upright stores its picture lying
        w, h = (1224, 1632) if tall else (1632, 1224)
        stage.clear()
        made = VIEWS[row["view"]](row, seed)
        lens = made[1]
        if tall:
            bpy.context.scene.camera.data.lens *= 4.0 / 3.0     # keep the field's long side
        lin = stage.render(round(w * a.scale), round(h * a.scale), a.samples, seed)
        lin = stage.smooth(lin, 1.2)
        rgb = stage.develop(lin, stage.expose(lin, number(row, "key", 0.13)), 0.006, seed)
        if a.quick:
            stage.save_jpeg(rgb, path, 90)
            continue
        turn = {1: 0, 3: 180, 6: 270, 8: 90}[orientation]       # the stored pixels; the tag turns them back
        part = os.path.join(a.out, ".part-" + row["file"])
        stage.save_jpeg(rgb, part, 86, (w, h), turn)
        exif(part, row, lens)
        os.rename(part, path)
        print("wrote", path, flush=True)


if __name__ == "__main__":
    main()
