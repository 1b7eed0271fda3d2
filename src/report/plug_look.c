#include "report/plug_look.h"

#include <string.h>

#include "base/colour.h"

/* What each deposit does to the look of the nose at moderate amount (common practice, no source). */
static const struct {
    enum sign sign;
    double L, a, b;
} looks[] = {
    {SIGN_NORMAL, 76, 5, 20},     {SIGN_PALE, 92, 0, 4},     {SIGN_DRY_CARBON, 18, 0, 1},
    {SIGN_FUEL_WET, 52, 3, 10},   {SIGN_WASHED, 90, 0, 3},   {SIGN_OIL_WET, 16, 2, 4},
    {SIGN_OIL_ASH, 66, 4, 16},    {SIGN_FUEL_ASH, 84, 0, 12}, {SIGN_LEADED, 72, 1, 18},
    {SIGN_GLAZED, 62, 8, 34},     {SIGN_BLISTERED, 94, 0, 2}, {SIGN_COOLANT, 86, -4, 4},
    {SIGN_ADDITIVE_RED, 52, 30, 30}, {SIGN_BRIDGED, 40, 2, 6}, {SIGN_METAL_SPECKS, 70, 1, 6},
};

bool plug_nose_rgb(const struct reading *r, uint8_t rgb[3])
{
    int main = r != NULL ? reading_main_deposit(r) : -1;

    memset(rgb, 150, 3);
    if (r == NULL)
        return false;
    if (r->nose_L.given) {
        colour_from_lab(r->nose_L.value, r->nose_a.value, r->nose_b.value, rgb);
        return true;
    }
    for (size_t i = 0; i < sizeof looks / sizeof looks[0]; i++)
        if ((int)looks[i].sign == main)
            colour_from_lab(looks[i].L, looks[i].a, looks[i].b, rgb);
    if (r->zone_seen[ZONE_FIRING_END] && main < 0) /* looked at: nothing on it */
        colour_from_lab(90, 0, 4, rgb);
    return r->zone_seen[ZONE_FIRING_END];
}

int plug_strap_deg(const struct reading *r, int cylinder)
{
    return r != NULL && r->mark_clock > 0 ? r->mark_clock % 12 * 30 : 20 + cylinder * 67 % 140;
}

bool plug_well_rgb(const struct reading *r, uint8_t rgb[3])
{
    static const uint8_t oil[][3] = {{112, 86, 50}, {84, 60, 30}, {58, 38, 16}}, water[3] = {60, 84, 110};

    if (r == NULL || (r->amount[SIGN_WELL_OIL] <= 0 && r->amount[SIGN_WELL_WATER] <= 0))
        return false;
    memcpy(rgb, r->amount[SIGN_WELL_OIL] > 0 ? oil[r->amount[SIGN_WELL_OIL] - 1] : water, 3);
    return true;
}
