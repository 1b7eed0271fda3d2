"""Where the parts of a plug lie in a picture, by the camera's matrix: no picture is looked at.

Pixels count from the top left corner of the picture as displayed; the middle of the first is 0.5, 0.5."""
import math

import bpy
import numpy as np
from bpy_extras.object_utils import world_to_camera_view
from mathutils import Vector


def projector(cam, width, height):
    """A function from a point of the scene to pixels."""
    s = bpy.context.scene
    s.render.resolution_x, s.render.resolution_y, s.render.resolution_percentage = width, height, 100
    bpy.context.view_layer.update()

    def px(p):
        v = world_to_camera_view(s, cam, Vector(p))
        return v.x * width, (1 - v.y) * height
    return px


def clearance(info, gap, slant_deg):
    """The smallest distance between the centre electrode's tip and the strap, as a feeler finds it (the
    tip's own rounded profile against a slanted flat underside), and the underside's z on the axis."""
    slope = math.tan(math.radians(slant_deg))
    under = info["tip_z"] + gap + info["st"] / 2 - info["st"] / 2 / math.cos(math.radians(slant_deg))
    best = min(under + s * r * slope - z for r, z in info["tip_profile"] for s in (-1, 1))
    return best * math.cos(math.radians(slant_deg)), under


def patch(px, card_h_mm, share=0.60):
    """A square inside the grey card that holds whatever way the card is turned: x, y, w, h; None without a card."""
    card = bpy.data.objects.get("card")
    if card is None:
        return None
    centre = px(card.matrix_world @ Vector((0, 0, 0.2)))
    edge = px(card.matrix_world @ Vector((0, card_h_mm / 2, 0.2)))
    half = share * math.dist(centre, edge)
    return tuple(round(v) for v in (centre[0] - half, centre[1] - half, 2 * half, 2 * half))


def side(cam, parent, info, gap_mm, slant_deg, width, height):
    """A plug lying before the camera: gap, thread lines, axis and nose."""
    px = projector(cam, width, height)
    eye = cam.matrix_world.translation
    at = lambda z, off=Vector((0, 0, 0)): parent.matrix_world @ Vector((0, 0, z)) + off
    axis = (at(1) - at(0)).normalized()
    gap_mid = at(info["tip_z"] + gap_mm / 2)
    square_off = math.degrees(math.asin(max(-1, min(1, (gap_mid - eye).normalized().dot(axis)))))
    to_eye = (eye - gap_mid) - axis * (eye - gap_mid).dot(axis)
    dist = to_eye.length
    to_eye.normalize()
    across = axis.cross(to_eye).normalized()
    radius, pitch = info["major"] / 2, info["pitch"]
    count = int((info["z_end"] - info["z_start"]) / pitch - 2.2)
    z1 = info["z_start"] + 1.1 * pitch
    z2 = z1 + count * pitch
    sin = radius / dist                              # the outline is where the line of sight touches the crests
    cos = math.sqrt(1 - sin * sin)
    lines = {name: (px(at(z1, o * radius)), px(at(z2, o * radius))) for name, o in
             (("outline", across * cos + to_eye * sin), ("outline2", -across * cos + to_eye * sin), ("middle", to_eye))}
    gap, under = clearance(info, gap_mm, slant_deg)
    g1, g2 = px(at(info["tip_z"])), px(at(under))
    a1, a2 = px(at(0)), px(at(info["tip_z"]))
    za, zb = info["reach"] + 0.55, info["nose_z"] - 0.45     # the nose where it stands clear of the shell
    cone = sorted((z, r) for r, z in info["cone"][:5])
    up, down = [], []
    for z in (za, (za + zb) / 2, zb):
        r = float(np.interp(z, [c[0] for c in cone], [c[1] for c in cone]))
        up.append(px(at(z, (across * 0.72 + to_eye * 0.69) * r)))
        down.append(px(at(z, (-across * 0.72 + to_eye * 0.69) * r)))
    return dict(gap=gap, gap_axis=under - info["tip_z"], square_off=square_off, distance=dist, gap_line=(g1, g2), lines=lines, threads=count,
                pitch={k: math.dist(*v) / count for k, v in lines.items()}, axis_deg=math.degrees(math.atan2(a2[1] - a1[1], a2[0] - a1[0])),
                px_per_mm=math.dist(g1, g2) / (under - info["tip_z"]), nose=up + down[::-1] if zb > za else None)


def end(cam, info, strap_deg, width, height):
    """A plug seen from its firing end: middle of the shell's face, scale there, which way the strap points, a
    polygon on the nose beside the strap."""
    px = projector(cam, width, height)
    z, a = info["reach"] + 0.15, math.radians(strap_deg)
    mid, rim = px((0, 0, z)), px((info["face_r"] * math.cos(a), info["face_r"] * math.sin(a), z))
    rn, zn = info["nose"], info["nose_z"] - 0.3
    ring = [px((r * math.cos(a + t), r * math.sin(a + t), zn)) for r, ts in ((rn, np.linspace(1.1, 2.5, 7)), (rn * 0.70, np.linspace(2.3, 1.3, 5))) for t in ts]
    return dict(middle=mid, px_per_mm=math.dist(mid, rim) / info["face_r"], strap_deg=math.degrees(math.atan2(rim[1] - mid[1], rim[0] - mid[0])), nose=ring)
