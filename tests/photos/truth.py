"""Renders the truth set: side views of plugs whose gap, thread, axis and nose colour are known.

nice -n 19 blender -b -P tests/photos/truth.py -- [--only ID,ID] [--samples 20] [--large]

Reads tests/photos/scenes.csv, writes tests/photos/ID.jpg and one row of tests/photos/truth.csv each.
With --large the plug alone, as large as a phone shows it, to tests/photos/large and the table there.
Pictures that are there with their row are left alone. Every figure of the truth comes from the
scene's geometry by the camera's matrix, or, for colour, from the linear render before exposure, blur,
noise and JPEG. Pixels count from the picture's top left corner; the middle of the first pixel is 0.5, 0.5.
"""
import argparse
import csv
import os
import subprocess
import sys

import bpy
import numpy as np

HERE = os.path.dirname(os.path.abspath(__file__))
sys.path.insert(0, os.path.join(HERE, "..", "..", "samples", "scene"))
import measure  # noqa: E402
import plug  # noqa: E402
import stage  # noqa: E402

REFLECTANCE = 0.18
LARGE_WIDTH = 2700      # 32 to 52 px in a mm: a plug in a phone's picture
LARGE_BLUR = 1.5        # of the small picture's, in px: a phone's lens does not resolve each of its pixels
COLUMNS = ("file,width,height,thread,major_mm,pitch_mm,gap_mm,gap_axis_mm,square_off_deg,distance_mm,focal_mm,focal_35mm,axis_deg,px_per_mm_gap,"
           "pitch_px_outline,pitch_px_middle,gap_x1,gap_y1,gap_x2,gap_y2,outline_x1,outline_y1,outline_x2,outline_y2,outline2_x1,outline2_y1,"
           "outline2_x2,outline2_y2,middle_x1,middle_y1,middle_x2,middle_y2,threads,nose_polygon,patch_x,patch_y,patch_w,patch_h,patch_reflectance,"
           "nose_L,nose_a,nose_b,nose_median_L,nose_median_a,nose_median_b,gloss_share,hex_mm,electrode,condition,light,noise,blur_px,jpeg").split(",")


def lab(rgb):
    """Linear sRGB to CIELAB, D65, 2 degrees (IEC 61966-2-1, CIE 15)."""
    m = np.array([[0.4124564, 0.3575761, 0.1804375], [0.2126729, 0.7151522, 0.0721750], [0.0193339, 0.1191920, 0.9503041]])
    t = m @ np.asarray(rgb, float) / np.array([0.95047, 1.0, 1.08883])
    f = np.where(t > 216 / 24389, np.cbrt(np.maximum(t, 0)), (24389 / 27 * t + 16) / 116)
    return 116 * f[1] - 16, 500 * (f[0] - f[1]), 200 * (f[1] - f[2])


def inside(poly, w, h):
    """Mask of the pixels whose middle lies in the polygon."""
    yy, xx = np.mgrid[0:h, 0:w] + 0.5
    m = np.zeros((h, w), bool)
    for (x1, y1), (x2, y2) in zip(poly, poly[1:] + poly[:1]):
        if y1 == y2:
            continue
        m ^= ((y1 > yy) != (y2 > yy)) & (xx < (x2 - x1) * (yy - y1) / (y2 - y1) + x1)
    return m


def blur(img, sigma):
    if sigma <= 0:
        return img
    n = max(1, int(3 * sigma + 0.5))
    k = np.exp(-0.5 * (np.arange(-n, n + 1) / sigma) ** 2)
    k /= k.sum()
    for axis in (0, 1):
        pad = [(0, 0)] * 3
        pad[axis] = (n, n)
        p = np.pad(img, pad, "edge")
        img = sum(k[i] * np.take(p, range(i, i + img.shape[axis]), axis) for i in range(2 * n + 1))
    return img.astype(np.float32)


def about_plug(m, width, height):
    """Part of the picture with thread and gap and some bench, in whole blocks of JPEG: x0, y0, x1, y1."""
    at = [q for line in m["lines"].values() for q in line] + list(m["gap_line"])
    room = 2.2 * m["px_per_mm"]
    lo = [max(0, int(min(q[i] for q in at) - room)) // 16 * 16 for i in (0, 1)]
    hi = [min((width, height)[i] // 16, int(max(q[i] for q in at) + room) // 16) * 16 for i in (0, 1)]
    return lo[0], lo[1], hi[0], hi[1]


def render_part(width, height, samples, seed, part):
    """The whole scene at a sixth of the size, the part as large as asked."""
    small = stage.render(width // 6, height // 6, 2 * samples, seed)
    lin = np.repeat(np.repeat(small, 6, 0), 6, 1)
    lin = np.pad(lin, ((0, height - lin.shape[0]), (0, width - lin.shape[1]), (0, 0)), "edge")
    x0, y0, x1, y1 = part
    r = bpy.context.scene.render
    r.use_border, r.use_crop_to_border = True, False
    r.border_min_x, r.border_max_x, r.border_min_y, r.border_max_y = x0 / width, x1 / width, 1 - y1 / height, 1 - y0 / height
    lin[y0:y1, x0:x1] = stage.render(width, height, samples, seed)[y0:y1, x0:x1]
    r.use_border = False
    return lin


def cut(out, rgb, part):
    """The row of a part of the picture: positions from its corner; seen through a longer lens."""
    x0, y0, x1, y1 = part
    for k in list(out):
        if k[-2:] in ("x1", "x2"):
            out[k] = "%.3f" % (float(out[k]) - x0)
        if k[-2:] in ("y1", "y2"):
            out[k] = "%.3f" % (float(out[k]) - y0)
    out["focal_35mm"] = round(out["focal_35mm"] * out["width"] / max(x1 - x0, y1 - y0))
    out.update(width=x1 - x0, height=y1 - y0)
    for k in out:
        if k.startswith(("nose_", "patch_", "gloss_")): # the card is off the part
            out[k] = ""
    return rgb[y0:y1, x0:x1]


def one(row, width, height, samples, large):
    n = plug.number
    seed = int(n(row, "seed"))
    stage.clear()
    cam, lens, parent, info = plug.view_side(row, seed)
    m = measure.side(cam, parent, info, n(row, "gap"), n(row, "slant"), width, height)
    px = measure.projector(cam, width, height)
    patch, poly = measure.patch(px, n(row, "card_h", 11)), m["nose"]
    g1, g2 = m["gap_line"]

    part = about_plug(m, width, height)
    lin = render_part(width, height, samples, seed, part) if large else stage.render(width, height, samples, seed)
    x, y, w, h = patch
    if x < 0 or y < 0 or x + w > width or y + h > height or not all(0 < q[0] < width and 0 < q[1] < height for q in poly + [g1, g2]):
        raise SystemExit("%s: patch, nose or gap outside the picture" % row["id"])
    grey = lin[y:y + h, x:x + w].reshape(-1, 3).astype(float).mean(0)
    nose = lin[inside(poly, width, height)].astype(float)
    mean, median = nose.mean(0) / grey * REFLECTANCE, np.median(nose, 0) / grey * REFLECTANCE
    lum = nose @ np.array([0.2126, 0.7152, 0.0722])
    gloss = float((lum > 3 * np.median(lum) + 0.15 * grey.mean()).mean())

    shown = blur(stage.smooth(lin, 0.8), (LARGE_BLUR if large else 1) * n(row, "blur"))
    gain = REFLECTANCE * n(row, "exposure", 1.0) / float(grey @ np.array([0.2126, 0.7152, 0.0722]))
    rgb = stage.develop(shown, gain, n(row, "noise"), seed, vignette=n(row, "vignette", 0.08), shoulder=False, sharpen=n(row, "sharpen", 0.2))
    f = lambda v: "%.3f" % v
    out = dict(file=row["id"] + ".jpg", width=width, height=height, thread=row["thread"], major_mm=info["major"], pitch_mm=info["pitch"], gap_mm="%.4f" % m["gap"],
               gap_axis_mm="%.4f" % m["gap_axis"], square_off_deg=f(m["square_off"]), distance_mm=f(m["distance"]), focal_mm="%.2f" % lens, focal_35mm=round(lens * 36 / stage.SENSOR_MM),
               axis_deg=f(m["axis_deg"]), px_per_mm_gap=f(m["px_per_mm"]),
               pitch_px_outline="%.4f" % m["pitch"]["outline"], pitch_px_middle="%.4f" % m["pitch"]["middle"], gap_x1=f(g1[0]), gap_y1=f(g1[1]), gap_x2=f(g2[0]), gap_y2=f(g2[1]),
               threads=m["threads"], nose_polygon=";".join("%.1f,%.1f" % q for q in poly), patch_x=x, patch_y=y, patch_w=w, patch_h=h, patch_reflectance=REFLECTANCE,
               gloss_share=f(gloss), hex_mm=info["flats"], electrode="fine" if n(row, "fine") else "slanted" if n(row, "slant") else "rounded" if n(row, "wear") > 0.5 else "plain",
               condition=row["condition"], light=row["light"], noise=row["noise"], blur_px="%.3g" % ((LARGE_BLUR if large else 1) * n(row, "blur")), jpeg=row["jpeg"])
    for k, (p, q) in m["lines"].items():
        out.update({k + "_x1": f(p[0]), k + "_y1": f(p[1]), k + "_x2": f(q[0]), k + "_y2": f(q[1])})
    for k, v in (("nose_", lab(mean)), ("nose_median_", lab(median))):
        out.update({k + c: "%.2f" % t for c, t in zip("Lab", v)})
    if large:
        rgb = cut(out, rgb, part)
    path = os.path.join(HERE, "large" if large else "", row["id"] + ".jpg")
    stage.save_jpeg(rgb, path, int(n(row, "jpeg", 88)))
    subprocess.run(["exiftool", "-q", "-overwrite_original", "-n", "-FocalLength=%.2f" % lens, "-FocalLengthIn35mmFormat=%d" % out["focal_35mm"],
                    "-Orientation=1", "-ColorSpace=1", path], check=True)
    return out


def main():
    ap = argparse.ArgumentParser()
    ap.add_argument("--only", default="")
    ap.add_argument("--samples", type=int, default=16)
    ap.add_argument("--width", type=int, default=1200)
    ap.add_argument("--large", action="store_true")
    a = ap.parse_args(sys.argv[sys.argv.index("--") + 1:] if "--" in sys.argv else [])
    only = [s for s in a.only.split(",") if s]
    if a.large:
        a.width = LARGE_WIDTH
        os.makedirs(os.path.join(HERE, "large"), exist_ok=True)
    table = os.path.join(HERE, "large" if a.large else "", "truth.csv")
    known = {}
    if os.path.exists(table):
        with open(table, newline="") as f:
            known = {r["file"]: r for r in csv.DictReader(f)}
    with open(os.path.join(HERE, "scenes.csv"), newline="") as f:
        rows = list(csv.DictReader(f))
    for row in rows:
        name = row["id"] + ".jpg"
        if (only and row["id"] not in only) or (name in known and os.path.exists(os.path.join(os.path.dirname(table), name))):
            continue
        known[name] = one(row, a.width, a.width * 2 // 3, a.samples, a.large)
        with open(table + ".new", "w", newline="") as f:
            w = csv.DictWriter(f, COLUMNS, lineterminator="\n")
            w.writeheader()
            w.writerows(known[r["id"] + ".jpg"] for r in rows if r["id"] + ".jpg" in known)
        os.replace(table + ".new", table)
        print("wrote", name, flush=True)


if __name__ == "__main__":
    main()
