#include "base/colour.h"

#include <math.h>
#include <stdbool.h>

double colour_encode(double linear)
{
    return linear <= 0.0031308 ? 12.92 * linear : 1.055 * pow(linear, 1 / 2.4) - 0.055;
}

void colour_from_lab(double L, double a, double b, uint8_t rgb[3])
{
    static const double white[3] = {0.95047, 1.0, 1.08883};
    double y = (L + 16) / 116, f[3] = {y + a / 500, y, y - b / 200}, linear[3];

    for (int i = 0; i < 3; i++)
        f[i] = white[i] * (f[i] > 6.0 / 29 ? f[i] * f[i] * f[i] : (f[i] - 4.0 / 29) * 108 / 841);
    linear[0] = 3.2404542 * f[0] - 1.5371385 * f[1] - 0.4985314 * f[2];
    linear[1] = -0.9692660 * f[0] + 1.8760108 * f[1] + 0.0415560 * f[2];
    linear[2] = 0.0556434 * f[0] - 0.2040259 * f[1] + 1.0572252 * f[2];
    for (int i = 0; i < 3; i++)
        rgb[i] = (uint8_t)lround(255 * colour_encode(fmin(fmax(linear[i], 0), 1)));
}

static double degrees(double radians)
{
    return radians * 180 / 3.14159265358979323846;
}

static double cosine(double angle_deg)
{
    return cos(angle_deg * 3.14159265358979323846 / 180);
}

static double hue_deg(double a, double b)
{
    double h = a * a + b * b > 0 ? degrees(atan2(b, a)) : 0;

    return h < 0 ? h + 360 : h;
}

static double seventh(double c)
{
    double p = c * c * c * c * c * c * c;

    return sqrt(p / (p + 6103515625.0)); /* 25 to the 7th */
}

double colour_difference(const double one[3], const double other[3])
{
    double g = 0.5 * (1 - seventh((hypot(one[1], one[2]) + hypot(other[1], other[2])) / 2));
    double a1 = (1 + g) * one[1], a2 = (1 + g) * other[1], c1 = hypot(a1, one[2]), c2 = hypot(a2, other[2]);
    double h1 = hue_deg(a1, one[2]), h2 = hue_deg(a2, other[2]);
    double apart = h2 - h1, hue = h1 + h2, L = (one[0] + other[0]) / 2, c = (c1 + c2) / 2;
    double t, turn, wide, sl, sc, sh, dL, dc, dh;

    if (!(c1 * c2 > 0)) {
        apart = 0;
    } else {
        /* 180 degrees exactly, but for the last bits of the arctangent, counts as not above 180 */
        bool far = fabs(apart) > 180 + 1e-9;

        if (far)
            hue = hue < 360 ? hue + 360 : hue - 360;
        hue /= 2;
        if (far)
            apart += apart > 0 ? -360 : 360;
    }
    t = 1 - 0.17 * cosine(hue - 30) + 0.24 * cosine(2 * hue) + 0.32 * cosine(3 * hue + 6) - 0.20 * cosine(4 * hue - 63);
    wide = (hue - 275) / 25;
    turn = 60 * exp(-wide * wide); /* twice 30 degrees: its sine is what is needed */
    sl = 1 + 0.015 * (L - 50) * (L - 50) / sqrt(20 + (L - 50) * (L - 50));
    sc = 1 + 0.045 * c;
    sh = 1 + 0.015 * c * t;
    dL = (other[0] - one[0]) / sl;
    dc = (c2 - c1) / sc;
    dh = 2 * sqrt(c1 * c2) * sin(apart / 2 * 3.14159265358979323846 / 180) / sh;
    return sqrt(fmax(0, dL * dL + dc * dc + dh * dh - 2 * seventh(c) * sin(turn * 3.14159265358979323846 / 180) * dc * dh));
}
