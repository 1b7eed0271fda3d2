"""Light, camera, rendering and what a phone does to a picture afterwards."""
import math
import os
import subprocess
import tempfile

import bpy
import numpy as np
from mathutils import Matrix, Vector

import looks

SENSOR_MM = 6.4      # width of the imagined phone's sensor
PUPIL_MM = 2.0       # its opening: what blurs with distance


def clear():
    bpy.ops.wm.read_factory_settings(use_empty=True)
    s = bpy.context.scene
    s.render.engine = "CYCLES"
    s.cycles.device = "CPU"
    s.view_settings.view_transform = "Raw"
    s.cycles.max_bounces = 3
    s.cycles.diffuse_bounces = 1
    s.cycles.glossy_bounces = 2
    s.cycles.transparent_max_bounces = 6
    s.cycles.caustics_reflective = False
    s.cycles.caustics_refractive = False
    s.cycles.sample_clamp_indirect = 2.0
    s.cycles.sample_clamp_direct = 8.0
    s.cycles.blur_glossy = 1.0
    s.cycles.use_denoising = False
    s.cycles.use_adaptive_sampling = True
    s.cycles.adaptive_threshold = 0.06
    s.cycles.adaptive_min_samples = 12
    s.render.threads_mode = "FIXED"
    s.render.threads = 2
    return s


def area(at, size, power, colour=(1, 1, 1), look=(0, 0, 0), shape="RECTANGLE", size_y=None):
    d = bpy.data.lights.new("area", "AREA")
    d.shape = shape
    d.size = size
    if shape == "RECTANGLE":
        d.size_y = size_y or size
    d.energy = power
    d.color = colour
    o = bpy.data.objects.new("area", d)
    o.location = at
    o.rotation_euler = (Vector(look) - Vector(at)).to_track_quat("-Z", "Y").to_euler()
    bpy.context.collection.objects.link(o)
    return o


LIGHTS = {  # name: world colour and strength, then area lights (place, size, size_y, power, colour)
    "window": ((0.55, 0.65, 0.8), 0.25, [((-420, 250, 380), 340, 420, 1.9e6, (0.86, 0.93, 1.0)), ((350, -200, 500), 260, 120, 2.2e5, (1.0, 0.86, 0.70))]),
    "bench": ((0.9, 0.8, 0.65), 0.16, [((60, 160, 420), 420, 60, 9.0e5, (1.0, 0.94, 0.84)), ((-330, -220, 260), 240, 240, 3.2e5, (0.85, 0.92, 1.0))]),
    "warm": ((1.0, 0.75, 0.5), 0.14, [((220, 240, 330), 150, 150, 1.0e6, (1.0, 0.74, 0.46)), ((-380, 50, 300), 320, 320, 2.6e5, (1.0, 0.85, 0.7))]),
    "overcast": ((0.85, 0.92, 1.0), 0.55, [((0, 120, 700), 900, 700, 3.0e6, (0.93, 0.97, 1.0)), ((-400, -100, 200), 250, 250, 2.0e5, (1, 1, 1))]),
    "torch": ((0.5, 0.55, 0.65), 0.10, [((25, 28, 170), 9, 9, 4.5e4, (1.0, 0.97, 0.92)), ((-400, 200, 420), 300, 300, 5.0e5, (0.85, 0.92, 1.0))]),
}


def light(name, turn_deg=0.0, offset=(0, 0, 0)):
    colour, strength, areas = LIGHTS[name]
    w = bpy.data.worlds.new("room")
    bpy.context.scene.world = w
    w.use_nodes = True
    # A room, not an even sky: brighter above, with a lit doorway, so that bent metal has something to show.
    t = w.node_tree
    bg = t.nodes["Background"]
    co = t.nodes.new("ShaderNodeTexCoord")
    sep = t.nodes.new("ShaderNodeSeparateXYZ")
    t.links.new(co.outputs["Generated"], sep.inputs[0])
    up = t.nodes.new("ShaderNodeMapRange")
    t.links.new(sep.outputs[2], up.inputs[0])
    up.inputs[1].default_value, up.inputs[2].default_value = -0.2, 0.9
    up.inputs[3].default_value, up.inputs[4].default_value = 0.15, 1.0
    n = t.nodes.new("ShaderNodeTexNoise")
    n.inputs["Scale"].default_value = 2.2
    n.inputs["Detail"].default_value = 1.0
    t.links.new(co.outputs["Generated"], n.inputs["Vector"])
    m = t.nodes.new("ShaderNodeMath")
    m.operation = "MULTIPLY"
    t.links.new(up.outputs[0], m.inputs[0])
    t.links.new(n.outputs["Fac"], m.inputs[1])
    k = t.nodes.new("ShaderNodeMath")
    k.operation = "MULTIPLY"
    t.links.new(m.outputs[0], k.inputs[0])
    k.inputs[1].default_value = strength * 2
    t.links.new(k.outputs[0], bg.inputs["Strength"])
    bg.inputs["Color"].default_value = (*colour, 1)
    rot = Matrix.Rotation(math.radians(turn_deg), 3, "Z")
    for at, sx, sy, power, col in areas:
        area(tuple(rot @ Vector(at) + Vector(offset)), sx, power, col, look=offset, size_y=sy)


def camera(target, distance, field_mm, tilt_deg=0.0, tilt_to_deg=-90.0, turn_deg=0.0, focus=None, pupil_mm=PUPIL_MM, down=(0, 0, -1)):
    """Looks at target from above; tilt leans it to the side tilt_to_deg (in the plane), turn rolls it.
    field_mm is the width seen at the target's distance. Returns the camera and its focal length in mm."""
    d = Vector((math.sin(math.radians(tilt_deg)) * math.cos(math.radians(tilt_to_deg)),
                math.sin(math.radians(tilt_deg)) * math.sin(math.radians(tilt_to_deg)), math.cos(math.radians(tilt_deg))))
    at = Vector(target) + d * distance
    c = bpy.data.cameras.new("phone")
    c.sensor_width = SENSOR_MM
    c.sensor_fit = "HORIZONTAL"
    c.lens = SENSOR_MM * distance / field_mm
    c.clip_start, c.clip_end = 1.0, 5000.0
    o = bpy.data.objects.new("phone", c)
    bpy.context.collection.objects.link(o)
    fwd = (-d).normalized()
    up = Vector((0, 1, 0))
    right = fwd.cross(up).normalized()
    up = right.cross(fwd).normalized()
    r = Matrix.Rotation(math.radians(turn_deg), 3, fwd)
    right, up = r @ right, r @ up
    o.matrix_world = Matrix(((right.x, up.x, -fwd.x, at.x), (right.y, up.y, -fwd.y, at.y), (right.z, up.z, -fwd.z, at.z), (0, 0, 0, 1)))
    if pupil_mm > 0:
        c.dof.use_dof = True
        f = Vector(focus if focus is not None else target)
        c.dof.focus_distance = (f - at).dot(fwd)
        c.dof.aperture_fstop = c.lens / pupil_mm / 1000.0
    bpy.context.scene.camera = o
    return o, c.lens


def render(width, height, samples, seed=0):
    """Renders the scene; returns linear RGB [height, width, 3], row 0 at the top."""
    s = bpy.context.scene
    s.render.resolution_x, s.render.resolution_y, s.render.resolution_percentage = width, height, 100
    s.cycles.samples = samples
    s.cycles.seed = seed
    s.render.image_settings.file_format = "OPEN_EXR"
    s.render.image_settings.color_depth = "32"
    fd, path = tempfile.mkstemp(suffix=".exr")
    os.close(fd)
    s.render.filepath = path
    bpy.ops.render.render(write_still=True)
    img = bpy.data.images.load(path)
    img.colorspace_settings.name = "Raw"
    px = np.empty(width * height * 4, np.float32)
    img.pixels.foreach_get(px)
    bpy.data.images.remove(img)
    os.unlink(path)
    return px.reshape(height, width, 4)[::-1, :, :3].copy()


def smooth(lin, strength=1.0, radius=2):
    """Takes Monte Carlo grain away as a phone does: a bilateral mean over a small window, in a space
    where grain is even (fourth root)."""
    v = np.power(np.maximum(lin, 0), 0.25)
    g = v.copy()
    for _ in range(1):                              # guide: 3x3 mean, so single bright dots do not guide themselves
        p = np.pad(g, ((1, 1), (1, 1), (0, 0)), "edge")
        g = sum(p[i:i + g.shape[0], j:j + g.shape[1]] for i in range(3) for j in range(3)) / 9
    out, wsum = np.zeros_like(v), np.zeros(v.shape[:2] + (1,), np.float32)
    sig = 0.035 * strength
    pv, pg = (np.pad(a, ((radius, radius), (radius, radius), (0, 0)), "edge") for a in (v, g))
    h, w = v.shape[:2]
    for i in range(2 * radius + 1):
        for j in range(2 * radius + 1):
            dv, dg = pv[i:i + h, j:j + w], pg[i:i + h, j:j + w]
            k = np.exp(-((dg - g) ** 2).sum(-1, keepdims=True) / (2 * sig * sig)) * math.exp(-((i - radius) ** 2 + (j - radius) ** 2) / (2 * (radius * 0.8) ** 2))
            out += dv * k
            wsum += k
    return np.power(out / wsum, 4)


def expose(lin, key=0.14, white=0.97, keep=99.0):
    """The gain a phone would choose: a mid key, unless too much would clip."""
    lum = lin @ np.array([0.2126, 0.7152, 0.0722], np.float32)
    g = key / max(float(np.exp(np.mean(np.log(lum + 1e-3)))), 1e-4)
    return min(g, 1.25 * white / max(float(np.percentile(lum, keep)), 1e-4))


def develop(lin, gain=1.0, noise=0.004, seed=1, vignette=0.12, shoulder=True, sharpen=0.35):
    """Linear light to 8-bit sRGB: gain, fall-off to the corners, noise, soft shoulder, sharpening."""
    rng = np.random.default_rng(seed)
    h, w = lin.shape[:2]
    x = lin * gain
    if vignette > 0:
        yy, xx = np.mgrid[0:h, 0:w]
        r2 = ((xx - w / 2) ** 2 + (yy - h / 2) ** 2) / (w * w / 4 + h * h / 4)
        x = x * (1 - vignette * r2)[:, :, None].astype(np.float32)
    if noise > 0:
        x = x + rng.normal(0, 1, x.shape).astype(np.float32) * np.sqrt(np.maximum(x, 0) * noise * noise * 8 + (noise * 0.5) ** 2)
    x = np.maximum(x, 0)
    if shoulder:                                     # above 0.7 roll off towards 1
        hi = x > 0.7
        x = np.where(hi, 0.7 + 0.3 * (1 - np.exp(-(x - 0.7) / 0.3)), x)
    x = np.clip(x, 0, 1)
    s = np.where(x <= 0.0031308, 12.92 * x, 1.055 * np.power(np.maximum(x, 1e-9), 1 / 2.4) - 0.055)
    if sharpen > 0:
        p = np.pad(s, ((1, 1), (1, 1), (0, 0)), "edge")
        m = sum(p[i:i + h, j:j + w] for i in range(3) for j in range(3)) / 9
        s = s + sharpen * (s - m)
    return np.clip(s * 255 + 0.5, 0, 255).astype(np.uint8)


def save_jpeg(rgb, path, quality=88, resize=None, rotate=0):
    """Writes through ImageMagick's convert; rotate is clockwise degrees applied to the pixels."""
    ppm = path + ".ppm"
    with open(ppm, "wb") as f:
        f.write(b"P6\n%d %d\n255\n" % (rgb.shape[1], rgb.shape[0]))
        f.write(np.ascontiguousarray(rgb).tobytes())
    cmd = ["convert", ppm]
    if resize:
        cmd += ["-filter", "Lanczos", "-resize", "%dx%d!" % resize]
    if rotate:
        cmd += ["-rotate", str(rotate)]
    subprocess.run(cmd + ["-strip", "-sampling-factor", "2x2" if quality < 93 else "1x1", "-quality", str(quality), path], check=True)
    os.unlink(ppm)
