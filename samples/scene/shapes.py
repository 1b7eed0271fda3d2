"""Shapes of a spark plug and of what surrounds it, in millimetres.

The plug's axis is z; z = 0 is the shoulder the gasket rests on, the firing end points to +z.
The thread is a true right-handed helix, so a picture of it can be measured.
"""
import math

import bmesh
import bpy
import numpy as np


def mesh_object(name, verts, faces, material, smooth_deg=35.0):
    mesh = bpy.data.meshes.new(name)
    mesh.from_pydata([tuple(v) for v in verts], [], faces)
    mesh.validate()
    bm = bmesh.new()
    bm.from_mesh(mesh)
    bmesh.ops.recalc_face_normals(bm, faces=bm.faces)
    bm.to_mesh(mesh)
    bm.free()
    mesh.polygons.foreach_set("use_smooth", [True] * len(mesh.polygons))
    mesh.use_auto_smooth = True
    mesh.auto_smooth_angle = math.radians(smooth_deg)
    obj = bpy.data.objects.new(name, mesh)
    bpy.context.collection.objects.link(obj)
    if material is not None:
        mesh.materials.append(material)
    return obj


def grid(name, rings, material, close_ends=False, smooth_deg=35.0):
    """rings: array [n_rows, n_around, 3]; a tube of quads."""
    rows, around = rings.shape[:2]
    verts = rings.reshape(-1, 3)
    faces = []
    for i in range(rows - 1):
        for j in range(around):
            k = (j + 1) % around
            faces.append((i * around + j, i * around + k, (i + 1) * around + k, (i + 1) * around + j))
    if close_ends:
        faces.append(tuple(range(around)))
        faces.append(tuple(range((rows - 1) * around, rows * around)))
    return mesh_object(name, verts, faces, material, smooth_deg)


def lathe(name, profile, material, around=96, smooth_deg=35.0, wobble=0.0, seed=1):
    """profile: list of (radius, z). wobble makes the surface uneven, as worn metal is."""
    rng = np.random.default_rng(seed)
    t = np.arange(around) * 2 * math.pi / around
    prof = np.array(profile, float)
    r = np.repeat(prof[:, :1], around, 1)
    z = np.repeat(prof[:, 1:], around, 1)
    if wobble > 0:
        for k in range(2, 7):
            a, b = rng.normal(0, wobble / k, 2)
            z += (a * np.cos(k * t) + b * np.sin(k * t))[None, :] * (r / max(r.max(), 1e-6))
    rings = np.stack([r * np.cos(t), r * np.sin(t), z], -1)
    return grid(name, rings, material, smooth_deg=smooth_deg)


def rounded(profile, radius, steps=5):
    """Rounds every inner corner of a (r, z) polyline by a circle-like curve."""
    out = [profile[0]]
    for a, b, c in zip(profile, profile[1:], profile[2:]):
        a, b, c = (np.array(p, float) for p in (a, b, c))
        u, v = a - b, c - b
        lu, lv = np.linalg.norm(u), np.linalg.norm(v)
        rad = min(radius, lu * 0.45, lv * 0.45)
        p, q = b + u / lu * rad, b + v / lv * rad
        for s in np.linspace(0, 1, steps):
            out.append(tuple((1 - s) ** 2 * p + 2 * s * (1 - s) * b + s * s * q))
    out.append(profile[-1])
    return out


def thread(name, major, pitch, z0, z1, material, around=128, per_pitch=14):
    """A 60 degree external thread, crest flat pitch/8, rounded root, run out at both ends."""
    depth = 0.6134 * pitch
    n = int((z1 - z0) / pitch * per_pitch) + 1
    z = np.linspace(z0, z1, n)[:, None]
    t = (np.arange(around) * 2 * math.pi / around)[None, :]
    phase = np.mod((z - z0) / pitch - t / (2 * math.pi), 1.0)
    flank = np.abs(phase - 0.5) * 2            # 0 at the crest, 1 at the root
    f = np.clip((flank - 0.125) / (0.875 - 0.16), 0, 1)
    f = f - 0.06 * np.sin(np.pi * f) * f       # root a little round
    r = major / 2 - depth * f
    chamfer = major / 2 - depth + np.minimum(z1 - z, (z - z0) * 1.4) * 0.9
    r = np.minimum(r, np.maximum(chamfer, major / 2 - depth))
    zz = np.broadcast_to(z, r.shape)
    rings = np.stack([r * np.cos(t), r * np.sin(t), zz], -1)
    return grid(name, rings, material, smooth_deg=60)


def hexagon(name, flats, z0, z1, material, around=180):
    """Hexagonal prism with the turned chamfers of a shell; a flat faces +x."""
    t = np.arange(around) * 2 * math.pi / around
    a = np.mod(t + math.pi / 6, math.pi / 3) - math.pi / 6
    hexr = flats / 2 / np.cos(a)
    inner = flats / 2 * 0.985
    rings = []
    for z, lim in [(z0, inner * 0.93), (z0, inner), (z0 + 0.35, inner + 0.62), (z0 + 0.8, inner + 1.4),
                   (z1 - 0.8, inner + 1.4), (z1 - 0.35, inner + 0.62), (z1, inner), (z1, inner * 0.9)]:
        r = np.minimum(hexr, lim)
        rings.append(np.stack([r * np.cos(t), r * np.sin(t), np.full_like(t, z)], -1))
    return grid(name, np.array(rings), material, smooth_deg=20)


def strap(name, width, thick, base_r, base_z, under_z, reach_over, material, tilt_deg=0.0, wear=0.0,
          bend_r=2.4, corner=0.22, seed=1):
    """The side electrode: welded at (base_r, base_z), its underside at under_z over the axis,
    its end reach_over beyond the axis (towards -x)."""
    rng = np.random.default_rng(seed)
    mid_z = under_z + thick / 2
    slope = math.tan(math.radians(tilt_deg))
    pts = [(base_r, base_z - 0.5), (base_r, mid_z - bend_r + base_r * slope)]
    for s in np.linspace(0, 1, 12)[1:]:
        ang = s * (math.pi / 2)
        x = base_r - bend_r + bend_r * math.cos(ang)
        pts.append((x, mid_z + x * slope - bend_r + bend_r * math.sin(ang)))
    x_last = pts[-1][0]
    for x in np.linspace(x_last, -reach_over, 16)[1:]:
        pts.append((x, mid_z + x * slope))
    pts = np.array(pts)
    tan = np.gradient(pts, axis=0)
    tan /= np.linalg.norm(tan, axis=1)[:, None]
    nor = np.stack([-tan[:, 1], tan[:, 0]], -1)      # points to the inside of the bend / underside
    w, h, c = width / 2, thick / 2, corner
    section = []
    for cx, cy, a0 in [(w - c, h - c, 0), (-w + c, h - c, 90), (-w + c, -h + c, 180), (w - c, -h + c, 270)]:
        for k in range(6):
            a = math.radians(a0 + k * 18)
            section.append((cx + c * math.cos(a), cy + c * math.sin(a)))
    section = np.array(section)
    rings = []
    n = len(pts)
    ends = [(0, 1.0)] + [(i, 1.0) for i in range(1, n)]
    for i, _ in ends:
        p = np.zeros((len(section), 3))
        grow = 1.0
        off = nor[i][None, :] * section[:, 1:2] * grow
        p[:, 0] = pts[i, 0] + off[:, 0]
        p[:, 2] = pts[i, 1] + off[:, 1]
        p[:, 1] = section[:, 0] * grow
        rings.append(p)
    last, t_last = rings[-1], tan[-1]
    for push, shrink in [(0.10, 0.985), (0.17, 0.94), (0.2, 0.86)]:
        q = last.copy()
        centre = np.array([pts[-1, 0], 0, pts[-1, 1]])
        q = centre + (q - centre) * shrink
        q[:, 0] += t_last[0] * push
        q[:, 2] += t_last[1] * push
        rings.append(q)
    rings = np.array(rings)
    if wear > 0:                                     # edges eaten and rounded where the spark strikes
        x = rings[:, :, 0]
        edge = np.abs(rings[:, :, 1]) / w
        rings[:, :, 1] *= 1 - 0.16 * wear * np.clip((1.5 - x) / 2.5, 0, 1) * edge ** 6
        rings += rng.normal(0, 0.012 * wear, rings.shape) * (np.abs(x) < 3)[:, :, None]
    return grid(name, rings, material, close_ends=True, smooth_deg=40)


SIZES = {  # thread major, pitch -> reach, hex, shell bore radius, nose tip radius, centre electrode radius, strap
    "M10x1.0": dict(major=10, pitch=1.0, reach=19.0, flats=16.0, bore=3.3, nose=1.75, centre=1.05, sw=2.1, st=1.15),
    "M12x1.25": dict(major=12, pitch=1.25, reach=19.0, flats=16.0, bore=4.2, nose=2.05, centre=1.15, sw=2.4, st=1.25),
    "M14x1.25": dict(major=14, pitch=1.25, reach=19.0, flats=16.0, bore=5.25, nose=2.45, centre=1.25, sw=2.7, st=1.4),
    "M18x1.5": dict(major=18, pitch=1.5, reach=12.7, flats=20.8, bore=6.6, nose=3.1, centre=1.35, sw=2.9, st=1.5),
}


def plug(p, mats):
    """Builds one plug from a dictionary of parameters; returns its parent and the points that matter.

    p: thread, gap, strap (degrees about z), wear 0..1, tilt (slant of the strap), fine (thin centre wire),
    exact (smooth electrodes with the edges of a measured plug)
    mats: steel, face, nose, centre, strap, gasket, glaze, terminal
    """
    s = SIZES[p.get("thread", "M14x1.25")]
    major, pitch, reach, flats = s["major"], s["pitch"], p.get("reach") or s["reach"], s["flats"]
    minor_r = major / 2 - 0.6134 * pitch
    wear = p.get("wear", 0.0)
    seed = int(p.get("seed", 1))
    z_start, z_end = 2.9, reach
    face_r = min(minor_r + 0.05, major / 2 - 0.3)
    bore, nose_r = s["bore"], s["nose"]
    centre_r = 0.4 if p.get("fine") else s["centre"]
    tip_z = reach + p.get("project", 2.3)
    nose_z = tip_z - (1.0 if not p.get("fine") else 1.2)
    made = []

    def add(o):
        made.append(o)
        return o

    add(lathe("neck", [(minor_r - 0.15, 0), (minor_r - 0.15, z_start - 0.1), (minor_r, z_start + 0.15)], mats["steel"]))
    add(thread("thread", major, pitch, z_start, z_end, mats["steel"]))
    add(lathe("face", rounded([(face_r - 0.6, reach - 0.35), (face_r, reach - 0.2), (face_r - 0.25, reach + 0.15), (bore + 0.25, reach + 0.15),
                               (bore, reach - 0.15), (bore - 0.1, reach - 4.0), (bore - 0.9, reach - 11.0), (0.5, reach - 11.3)], 0.18),
              mats["face"], wobble=0.02, seed=seed))
    # Nose: a cone that stands free in the bore, rounded at the tip.
    fr = nose_r
    cone = [(bore - 1.1, reach - 10.5), (bore - 1.2, reach - 9.0), (fr + 0.62, reach - 3.0), (fr + 0.12, nose_z - 0.75),
            (fr - 0.02, nose_z - 0.3), (fr - 0.22, nose_z - 0.05), (fr - 0.6, nose_z), (centre_r + 0.06, nose_z - 0.03), (centre_r + 0.03, nose_z - 0.8)]
    dense = []
    for (r0, z0), (r1, z1) in zip(cone, cone[1:]):
        for k in range(6):
            dense.append((r0 + (r1 - r0) * k / 6, z0 + (z1 - z0) * k / 6))
    dense.append(cone[-1])
    add(lathe("nose", dense, mats["nose"], around=128, smooth_deg=70))
    edge = (0.015 if p.get("exact") else 0.05) + 0.1 * wear if p.get("fine") else 0.008 + 0.05 * wear if p.get("exact") else 0.08 + 0.42 * wear
    top = rounded([(centre_r, nose_z - 1.0), (centre_r, tip_z), (0.001, tip_z)], edge * 2, 7)
    add(lathe("centre", top, mats["centre"], around=72, wobble=0.0 if p.get("exact") else 0.05 * wear, seed=seed))
    weld_r = (face_r + bore) / 2 + 0.05
    add(strap("strap", s["sw"], s["st"], weld_r, reach + 0.1, tip_z + p["gap"], centre_r * 0.9 + 0.25 if not p.get("fine") else 1.1,
              mats["strap"], tilt_deg=p.get("tilt", 0.0), wear=0.0 if p.get("exact") else wear, seed=seed,
              bend_r=min(2.4, (tip_z + p["gap"] - reach) * 0.7), corner=0.03 if p.get("exact") else 0.22))
    # Shell: shoulder, groove, hexagon, crimp.
    shoulder = max(flats / 2 * 1.14, major / 2 + 1.5)
    add(lathe("shoulder", rounded([(minor_r - 0.3, 0), (shoulder, 0), (shoulder, -2.6), (shoulder - 1.0, -3.2), (flats / 2 - 0.6, -3.3), (flats / 2 - 0.6, -4.0)], 0.3), mats["steel"]))
    add(hexagon("hex", flats, -13.5, -4.0, mats["steel"]))
    add(lathe("crimp", rounded([(flats / 2 - 0.5, -13.4), (flats / 2 - 0.9, -15.3), (flats / 2 - 1.6, -16.2), (5.2, -16.4), (5.0, -16.0)], 0.5), mats["steel"]))
    gr = shoulder - 0.35
    add(lathe("gasket", rounded([(minor_r + 0.1, 0.02), (gr - 0.2, 0.02), (gr, 0.5), (gr - 0.05, 1.1), (gr - 0.45, 1.55), (minor_r + 0.5, 1.5), (minor_r + 0.1, 1.2)], 0.4), mats["gasket"]))
    ribs = [(5.0, -15.8), (4.95, -18.5)]
    z = -19.5
    for _ in range(5):
        ribs += [(4.7, z), (4.7, z - 1.5), (5.35, z - 2.2), (5.35, z - 2.9), (4.7, z - 3.6)]
        z -= 3.9
    ribs += [(4.5, z - 0.5), (4.2, z - 4.0), (3.6, z - 5.0), (2.2, z - 5.1)]
    add(lathe("glaze", rounded(ribs, 0.5), mats["glaze"]))
    add(lathe("terminal", rounded([(2.1, z - 4.9), (2.1, z - 5.8), (3.1, z - 6.0), (3.2, z - 8.4), (2.4, z - 9.6), (3.05, z - 11.4), (2.7, z - 13.0), (0.01, z - 13.3)], 0.5), mats["terminal"]))

    parent = bpy.data.objects.new("plug", None)
    bpy.context.collection.objects.link(parent)
    for o in made:
        o.parent = parent
        if o.name.startswith("strap"):
            o.rotation_euler[2] = math.radians(p.get("strap", 0.0))
    info = dict(s, reach=reach, tip_z=tip_z, nose_z=nose_z, centre_r=centre_r, z_start=z_start, z_end=z_end, minor_r=minor_r,
                bottom_z=z - 13.3, face_r=face_r, shoulder=shoulder, cone=cone, edge=edge, tip_profile=top)
    return parent, info


def box(name, size, at, material, bevel=1.0, segments=4):
    bpy.ops.mesh.primitive_cube_add(size=1, location=at)
    o = bpy.context.object
    o.name = name
    o.scale = size
    bpy.ops.object.transform_apply(location=False, rotation=False, scale=True)
    if bevel > 0:
        m = o.modifiers.new("bevel", "BEVEL")
        m.width, m.segments = bevel, segments
    o.data.use_auto_smooth = True
    o.data.polygons.foreach_set("use_smooth", [True] * len(o.data.polygons))
    o.data.materials.append(material)
    return o


def cable(name, points, radius, material, resolution=24):
    """A smooth round wire through the points."""
    c = bpy.data.curves.new(name, "CURVE")
    c.dimensions = "3D"
    c.bevel_depth = radius
    c.bevel_resolution = 6
    c.resolution_u = resolution
    c.use_fill_caps = True
    sp = c.splines.new("BEZIER")
    sp.bezier_points.add(len(points) - 1)
    for bp, p in zip(sp.bezier_points, points):
        bp.co = p
        bp.handle_left_type = bp.handle_right_type = "AUTO"
    o = bpy.data.objects.new(name, c)
    bpy.context.collection.objects.link(o)
    c.materials.append(material)
    return o


def polyline(name, points, radius, material):
    c = bpy.data.curves.new(name, "CURVE")
    c.dimensions = "3D"
    c.bevel_depth = radius
    c.bevel_resolution = 1
    sp = c.splines.new("POLY")
    sp.points.add(len(points) - 1)
    for q, p in zip(sp.points, points):
        q.co = (*p, 1)
    o = bpy.data.objects.new(name, c)
    bpy.context.collection.objects.link(o)
    c.materials.append(material)
    return o
