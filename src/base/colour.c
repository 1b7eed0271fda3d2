#include "base/colour.h"

#include <math.h>

void colour_from_lab(double L, double a, double b, uint8_t rgb[3])
{
    static const double white[3] = {0.95047, 1.0, 1.08883};
    double y = (L + 16) / 116, f[3] = {y + a / 500, y, y - b / 200}, linear[3];

    for (int i = 0; i < 3; i++)
        f[i] = white[i] * (f[i] > 6.0 / 29 ? f[i] * f[i] * f[i] : (f[i] - 4.0 / 29) * 108 / 841);
    linear[0] = 3.2404542 * f[0] - 1.5371385 * f[1] - 0.4985314 * f[2];
    linear[1] = -0.9692660 * f[0] + 1.8760108 * f[1] + 0.0415560 * f[2];
    linear[2] = 0.0556434 * f[0] - 0.2040259 * f[1] + 1.0572252 * f[2];
    for (int i = 0; i < 3; i++) {
        double c = fmin(fmax(linear[i], 0), 1);

        rgb[i] = (uint8_t)lround(255 * (c <= 0.0031308 ? 12.92 * c : 1.055 * pow(c, 1 / 2.4) - 0.055));
    }
}
