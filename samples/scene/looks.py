"""Materials: plated steel, porcelain, soot, oil, rust, cloth, wood, paint, plastic.

Each is a node tree built from a few numbers, so that one table row describes a plug."""
import bpy


class Tree:
    """A thin helper: n(type, inputs...) adds a node, links or sets its inputs, returns it."""

    def __init__(self, name):
        self.mat = bpy.data.materials.new(name)
        self.mat.use_nodes = True
        self.t = self.mat.node_tree
        self.t.nodes.clear()
        self.coord = self.t.nodes.new("ShaderNodeTexCoord").outputs["Object"]

    def n(self, kind, attrs=None, **inputs):
        node = self.t.nodes.new("ShaderNode" + kind)
        for k, v in (attrs or {}).items():
            setattr(node, k, v)
        for k, v in inputs.items():
            key = int(k[1:]) if k[0] == "i" and k[1:].isdigit() else k.replace("_", " ")
            self.feed(node.inputs[key], v)
        return node

    def feed(self, socket, v):
        if isinstance(v, bpy.types.NodeSocket):
            self.t.links.new(v, socket)
        elif isinstance(v, tuple) and len(v) == 3 and socket.type == "RGBA":
            socket.default_value = (*v, 1)
        else:
            socket.default_value = v

    def noise(self, scale, detail=3.0, rough=0.6, seed=0.0, stretch=None):
        m = self.n("Mapping", Vector=self.coord, Location=(seed * 3.1, seed * 7.7, seed * 1.3), Scale=stretch or (1, 1, 1))
        return self.n("TexNoise", Vector=m.outputs[0], Scale=scale, Detail=min(detail, 3.0), Roughness=rough).outputs["Fac"]

    def ramp(self, fac, lo, hi):
        """0 below lo, 1 above hi (hi may be below lo)."""
        return self.n("MapRange", {"interpolation_type": "SMOOTHSTEP"} if hasattr(bpy.types.ShaderNodeMapRange, "interpolation_type") else None,
                      i0=fac, i1=lo, i2=hi, i3=0.0, i4=1.0).outputs[0]

    def math(self, op, a, b=0.0, clamp=False):
        return self.n("Math", {"operation": op, "use_clamp": clamp}, i0=a, i1=b).outputs[0]

    def mix(self, fac, a, b):
        return self.n("MixRGB", Fac=fac, Color1=a, Color2=b).outputs[0]

    def axis(self, i):
        return self.n("SeparateXYZ", Vector=self.coord).outputs[i]

    def bump(self, height, strength, distance=0.1):
        return self.n("Bump", Strength=strength, Distance=distance, Height=height).outputs[0]

    def crevice(self, lo=0.52, hi=0.44):
        p = self.n("NewGeometry").outputs["Pointiness"]
        return self.ramp(p, lo, hi)

    def principled(self, **k):
        return self.n("BsdfPrincipled", **k)

    def blend(self, fac, a, b):
        return self.n("MixShader", i0=fac, i1=a, i2=b).outputs[0]

    def oil(self, shader, amount, fac, tint=(0.20, 0.095, 0.025), normal=None):
        """A wet film: its own glossy coat, IOR 1.47, over a surface that it darkens."""
        k = dict(Roughness=0.045, Color=(1, 1, 1))
        if normal is not None:
            k["Normal"] = normal
        coat = self.n("BsdfGlossy", **k).outputs[0]
        fres = self.n("Fresnel", IOR=1.47, **({"Normal": normal} if normal is not None else {})).outputs[0]
        wet = self.blend(self.math("MULTIPLY", fres, 1.0), shader, coat)
        return self.blend(fac, shader, wet)

    def done(self, shader):
        self.t.links.new(shader, self.t.nodes.new("ShaderNodeOutputMaterial").inputs["Surface"])
        return self.mat


def steel(name, seed=0, base=(0.52, 0.50, 0.46), rough=0.30, dirt=0.3, rust=0.0, oil=0.0, carbon=0.0, z_carbon=15.0):
    """Plated steel: brushed, dirt in the roots, optional rust, oil film and carbon near the firing end."""
    t = Tree(name)
    fine = t.noise(9.0, 5, 0.7, seed)
    wide = t.noise(0.35, 4, 0.6, seed + 1)
    streak = t.noise(1.2, 4, 0.6, seed + 2, (1, 1, 9))
    col = t.mix(t.math("MULTIPLY", t.ramp(wide, 0.35, 0.75), 0.55), base, tuple(c * 0.55 for c in base))
    r = t.math("ADD", t.math("MULTIPLY", fine, 0.25), rough - 0.10)
    r = t.math("ADD", r, t.math("MULTIPLY", wide, 0.15))
    metal = 1.0
    grime = t.math("MULTIPLY", t.crevice(), dirt, True)
    blot = t.math("MULTIPLY", t.ramp(t.math("ADD", t.math("MULTIPLY", streak, 0.5), t.math("MULTIPLY", wide, 0.6)), 0.62, 0.75), dirt, True)
    grime = t.math("MAXIMUM", grime, blot)
    if carbon > 0:
        z = t.ramp(t.math("ADD", t.axis(2), t.math("MULTIPLY", wide, 3.0)), z_carbon, z_carbon + 4.0)
        grime = t.math("MAXIMUM", grime, t.math("MULTIPLY", z, carbon))
    col = t.mix(grime, col, (0.028, 0.022, 0.016))
    metal = t.math("SUBTRACT", 1.0, t.math("MULTIPLY", grime, 0.95))
    r = t.math("ADD", r, t.math("MULTIPLY", grime, 0.35), True)
    height = t.math("ADD", t.math("MULTIPLY", fine, 0.3), t.math("MULTIPLY", streak, 0.3))
    if rust > 0:
        mask = t.ramp(t.math("ADD", t.math("MULTIPLY", wide, 0.8), t.math("ADD", t.math("MULTIPLY", fine, 0.3), t.math("MULTIPLY", t.noise(1.6, 3, 0.7, seed + 5), 0.45))),
                      0.96 - 0.34 * rust, 1.12 - 0.30 * rust)
        rcol = t.mix(t.noise(3.0, 5, 0.7, seed + 4), (0.16, 0.045, 0.012), (0.34, 0.14, 0.05))
        col = t.mix(mask, col, rcol)
        metal = t.math("MULTIPLY", metal, t.math("SUBTRACT", 1.0, mask))
        r = t.math("ADD", r, t.math("MULTIPLY", mask, 0.5), True)
        height = t.math("ADD", height, t.math("MULTIPLY", t.math("MULTIPLY", mask, t.noise(12, 5, 0.8, seed)), 3.0))
    fac = None
    if oil > 0:
        fac = t.ramp(t.math("ADD", wide, t.math("MULTIPLY", t.crevice(), 0.25)), 0.66 - 0.55 * oil, 0.84 - 0.55 * oil)
        col = t.n("MixRGB", {"blend_type": "MULTIPLY"}, Fac=t.math("MULTIPLY", fac, 0.9), Color1=col, Color2=(0.42, 0.27, 0.13)).outputs[0]
        r = t.math("MULTIPLY", r, t.math("SUBTRACT", 1.0, t.math("MULTIPLY", fac, 0.55)))
    nor = t.bump(height, 0.22, 0.05)
    s = t.principled(Base_Color=col, Metallic=metal, Roughness=r, Normal=nor).outputs[0]
    if oil > 0:
        wave = t.bump(t.noise(0.9, 2, 0.4, seed + 6), 0.25, 0.3)
        s = t.oil(s, oil, fac, normal=wave)
    return t.done(s)


NOSES = {  # linear base colours: lit side, and the tint that lies over it in patches
    "white": ((0.78, 0.76, 0.72), (0.60, 0.54, 0.46)),
    "cream": ((0.66, 0.56, 0.42), (0.48, 0.36, 0.23)),
    "tan": ((0.46, 0.31, 0.18), (0.30, 0.17, 0.085)),
    "brown": ((0.22, 0.125, 0.065), (0.11, 0.06, 0.03)),
    "grey": ((0.42, 0.39, 0.35), (0.24, 0.22, 0.19)),
    "soot": ((0.022, 0.020, 0.019), (0.05, 0.046, 0.043)),
    "ash": ((0.55, 0.46, 0.34), (0.24, 0.16, 0.10)),
}


def porcelain(name, nose="tan", seed=0, soot=0.0, oil=0.0, blister=0.0, ash=0.0, tip_z=20.0, plain=False):
    """The insulator nose. soot: share covered by dry carbon; ash: crusted; blister: burnt white with bubbles."""
    t = Tree(name)
    a, b = NOSES[nose]
    fine = t.noise(14.0, 4, 0.65, seed)
    wide = t.noise(0.8, 5, 0.6, seed + 1)
    z = t.axis(2)
    deep = t.ramp(t.math("ADD", z, t.math("MULTIPLY", wide, 2.2)), tip_z + 0.6, tip_z - 3.2)
    mott = t.math("MULTIPLY", t.ramp(wide, 0.30, 0.72), 0.25 if plain else 0.75)
    col = t.mix(mott, a, b)
    col = t.mix(t.math("MULTIPLY", deep, 0.15 if plain else 0.5), col, tuple(c * 0.55 for c in b))
    speck = t.math("MULTIPLY", t.ramp(t.noise(6.0, 3, 0.8, seed + 3), 0.66, 0.72), 0.0 if plain else 0.55)
    col = t.mix(speck, col, (0.06, 0.042, 0.03))
    rough = t.math("ADD", t.math("MULTIPLY", fine, 0.25), 0.42)
    height = t.math("MULTIPLY", fine, 0.4)
    strength = 0.15
    if ash > 0:
        crust = t.ramp(t.math("ADD", t.math("MULTIPLY", wide, 0.75), t.math("MULTIPLY", fine, 0.35)), 0.68 - 0.3 * ash, 0.74 - 0.3 * ash)
        col = t.mix(crust, col, t.mix(fine, (0.50, 0.40, 0.28), (0.20, 0.13, 0.08)))
        height = t.math("ADD", height, t.math("MULTIPLY", crust, t.math("ADD", fine, 0.6)))
        rough = t.math("ADD", rough, t.math("MULTIPLY", crust, 0.3), True)
        strength = 0.6
    if blister > 0:
        m = t.n("Mapping", Vector=t.coord, Location=(seed * 1.7, seed, 0)).outputs[0]
        vor = t.n("TexVoronoi", Vector=m, Scale=1.7).outputs["Distance"]
        bub = t.math("MULTIPLY", t.ramp(vor, 0.36, 0.16), t.ramp(wide, 0.62 - 0.3 * blister, 0.70 - 0.3 * blister))
        col = t.mix(t.math("MULTIPLY", bub, 0.8), col, (0.62, 0.58, 0.50))
        dots = t.ramp(t.n("TexVoronoi", Vector=m, Scale=3.4).outputs["Distance"], 0.14, 0.10)
        col = t.mix(t.math("MULTIPLY", dots, 0.8), col, (0.045, 0.035, 0.03))
        height = t.math("ADD", height, t.math("MULTIPLY", bub, 3.0))
        rough = t.math("SUBTRACT", rough, t.math("MULTIPLY", bub, 0.28))
        strength = 0.9
    if soot > 0:
        if soot >= 0.97:
            cover = 0.97
        else:
            cover = t.ramp(t.math("ADD", t.math("MULTIPLY", wide, 0.85), t.math("ADD", t.math("MULTIPLY", fine, 0.2), t.math("MULTIPLY", deep, 0.22))),
                           0.90 - 0.55 * soot, 0.98 - 0.55 * soot)
        col = t.mix(cover, col, t.mix(fine, (0.012, 0.011, 0.010), (0.030, 0.027, 0.025)))
        rough = t.math("ADD", rough, t.math("MULTIPLY", cover, 0.4), True)
        height = t.math("ADD", height, t.math("MULTIPLY", cover, fine))
        strength = max(strength, 0.5)
    fac = None
    if oil > 0:
        fac = t.ramp(wide, 0.62 - 0.45 * oil, 0.70 - 0.45 * oil)
        col = t.n("MixRGB", {"blend_type": "MULTIPLY"}, Fac=t.math("MULTIPLY", fac, 0.92), Color1=col, Color2=(0.16, 0.085, 0.03)).outputs[0]
    s = t.principled(Base_Color=col, Roughness=rough, Specular=0.35, Normal=t.bump(height, strength, 0.06)).outputs[0]
    if oil > 0:
        s = t.oil(s, oil, fac, normal=t.bump(t.noise(1.6, 2, 0.4, seed + 6), 0.3, 0.3))
    return t.done(s)


def electrode(name, seed=0, base=(0.42, 0.40, 0.37), rough=0.42, soot=0.0, oil=0.0, burnt=0.35, wear=0.0):
    """Nickel alloy that has been hot: brown oxide, bright where the spark walks."""
    t = Tree(name)
    fine = t.noise(11.0, 5, 0.7, seed)
    wide = t.noise(0.7, 4, 0.6, seed + 1)
    col = t.mix(t.math("MULTIPLY", t.ramp(wide, 0.3, 0.7), burnt), base, (0.20, 0.155, 0.12))
    lime = t.math("MULTIPLY", t.ramp(t.math("ADD", wide, t.math("MULTIPLY", fine, 0.4)), 0.72, 0.82), 0.6 * burnt)
    col = t.mix(lime, col, (0.42, 0.35, 0.27))
    metal = t.math("SUBTRACT", 0.95, t.math("MULTIPLY", lime, 0.8))
    r = t.math("ADD", t.math("MULTIPLY", fine, 0.3), rough - 0.1)
    if soot > 0:
        cover = t.ramp(t.math("ADD", t.math("MULTIPLY", wide, 0.85), t.math("MULTIPLY", fine, 0.25)), 0.86 - 0.55 * soot, 0.94 - 0.55 * soot)
        col = t.mix(cover, col, (0.016, 0.015, 0.014))
        metal = t.math("MULTIPLY", metal, t.math("SUBTRACT", 1.0, cover))
        r = t.math("ADD", r, t.math("MULTIPLY", cover, 0.4), True)
    fac = None
    if oil > 0:
        fac = t.ramp(wide, 0.62 - 0.45 * oil, 0.70 - 0.45 * oil)
        col = t.n("MixRGB", {"blend_type": "MULTIPLY"}, Fac=t.math("MULTIPLY", fac, 0.85), Color1=col, Color2=(0.26, 0.15, 0.06)).outputs[0]
    s = t.principled(Base_Color=col, Metallic=metal, Roughness=r, Normal=t.bump(fine, 0.25 + 0.5 * wear, 0.06)).outputs[0]
    if oil > 0:
        s = t.oil(s, oil, fac)
    return t.done(s)


def simple(name, colour, rough=0.5, metallic=0.0, grain=0.0, scale=8.0, coat=0.0, seed=0, dark=0.6, specular=0.5):
    """One colour with a little unevenness."""
    t = Tree(name)
    f = t.noise(scale, 5, 0.65, seed)
    col = t.mix(t.math("MULTIPLY", t.ramp(f, 0.35, 0.7), min(1.0, grain)), colour, tuple(c * dark for c in colour))
    r = t.math("ADD", t.math("MULTIPLY", f, 0.2 * min(1, grain + 0.3)), rough - 0.08)
    s = t.principled(Base_Color=col, Roughness=r, Metallic=metallic, Clearcoat=coat, Clearcoat_Roughness=0.06, Specular=specular,
                     Normal=t.bump(f, 0.15 + 0.3 * grain, 0.05)).outputs[0]
    return t.done(s)


def cloth(name, colour, seed=0, stains=0.4):
    """Woven shop cloth with oil stains."""
    t = Tree(name)
    m = t.n("Mapping", Vector=t.coord, Rotation=(0, 0, 0.4)).outputs[0]
    wx = t.n("TexWave", {"bands_direction": "X"}, Vector=m, Scale=0.24, Distortion=0.8, Detail=1.0).outputs["Fac"]
    wy = t.n("TexWave", {"bands_direction": "Y"}, Vector=m, Scale=0.24, Distortion=0.8, Detail=1.0).outputs["Fac"]
    weave = t.math("MULTIPLY", wx, wy)
    fuzz = t.noise(3.0, 6, 0.8, seed)
    stain = t.math("MULTIPLY", t.ramp(t.noise(0.035, 5, 0.6, seed + 2), 0.52, 0.62), stains)
    col = t.mix(t.math("MULTIPLY", fuzz, 0.5), colour, tuple(c * 0.5 for c in colour))
    col = t.mix(t.math("MULTIPLY", t.math("SUBTRACT", 1.0, weave), 0.45), col, tuple(c * 0.35 for c in colour))
    col = t.mix(stain, col, (0.035, 0.024, 0.014))
    h = t.math("ADD", weave, t.math("MULTIPLY", fuzz, 0.6))
    s = t.principled(Base_Color=col, Roughness=0.95, Specular=0.08, Sheen=0.4, Normal=t.bump(h, 0.8, 0.35)).outputs[0]
    return t.done(s)


def wood(name, colour=(0.36, 0.22, 0.115), seed=0, dirt=0.4):
    t = Tree(name)
    m = t.n("Mapping", Vector=t.coord, Location=(seed * 5.0, 3.0, 11.0), Scale=(0.012, 0.16, 0.16)).outputs[0]
    n1 = t.n("TexNoise", Vector=m, Scale=2.5, Detail=8.0, Roughness=0.6, Distortion=1.2).outputs["Fac"]
    m2 = t.n("Mapping", Vector=t.coord, Scale=(0.08, 2.2, 2.2)).outputs[0]
    pore = t.n("TexNoise", Vector=m2, Scale=2.0, Detail=5.0, Roughness=0.7).outputs["Fac"]
    col = t.mix(t.ramp(n1, 0.38, 0.62), colour, tuple(c * 0.48 for c in colour))
    col = t.mix(t.math("MULTIPLY", t.ramp(pore, 0.56, 0.68), 0.65), col, tuple(c * 0.25 for c in colour))
    stain = t.math("MULTIPLY", t.ramp(t.noise(0.03, 5, 0.65, seed + 2), 0.50, 0.62), dirt)
    col = t.mix(stain, col, (0.04, 0.028, 0.018))
    s = t.principled(Base_Color=col, Roughness=t.math("ADD", 0.45, t.math("MULTIPLY", pore, 0.3)), Specular=0.25,
                     Normal=t.bump(t.math("ADD", pore, n1), 0.35, 0.2)).outputs[0]
    return t.done(s)


def casting(name, colour=(0.30, 0.30, 0.30), seed=0, oily=0.3):
    """Cast aluminium or painted cover, grimy."""
    t = Tree(name)
    f = t.noise(2.4, 6, 0.7, seed)
    w = t.noise(0.06, 5, 0.6, seed + 1)
    col = t.mix(t.math("MULTIPLY", f, 0.5), colour, tuple(c * 0.55 for c in colour))
    g = t.math("MULTIPLY", t.ramp(t.math("ADD", w, t.math("MULTIPLY", f, 0.2)), 0.56, 0.72), oily)
    col = t.mix(g, col, (0.022, 0.016, 0.011))
    s = t.principled(Base_Color=col, Metallic=t.math("SUBTRACT", 0.75, t.math("MULTIPLY", g, 0.7), True),
                     Roughness=t.math("SUBTRACT", 0.55, t.math("MULTIPLY", g, 0.25)), Normal=t.bump(f, 0.5, 0.25)).outputs[0]
    return t.done(s)


def pool(name):
    """Standing engine oil: dark amber below a mirror-smooth surface."""
    t = Tree(name)
    nor = t.bump(t.noise(0.12, 2, 0.4, 3), 0.12, 0.6)
    through = t.n("BsdfTransparent", Color=(0.30, 0.13, 0.03)).outputs[0]
    body = t.n("BsdfDiffuse", Color=(0.030, 0.014, 0.005)).outputs[0]
    deep = t.blend(0.45, through, body)
    coat = t.n("BsdfGlossy", Roughness=0.02, Normal=nor).outputs[0]
    return t.done(t.blend(t.n("Fresnel", IOR=1.47, Normal=nor).outputs[0], deep, coat))


def card(name, reflectance):
    t = Tree(name)
    return t.done(t.n("BsdfDiffuse", Color=(reflectance,) * 3).outputs[0])


def glow(name, colour, strength):
    t = Tree(name)
    return t.done(t.n("Emission", Color=colour, Strength=strength).outputs[0])
