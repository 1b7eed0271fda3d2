#include "reading/pressure.h"

#include <string.h>

#include "base/err.h"
#include "base/text.h"
#include "base/units.h"

static bool is_usual(double kpa)
{
    return kpa == 0 || (kpa >= PRESSURE_LEAST_KPA && kpa <= PRESSURE_MOST_KPA);
}

static double in_kpa(double value, const struct unit *unit)
{
    return value * unit->factor / 1000;
}

/* The unit in which the figure would be a usual compression; NULL none. */
static const struct unit *meant(double value, const struct unit *unit)
{
    static const char *const ids[] = {"kPa", "psi", "bar"};

    for (size_t i = 0; i < sizeof ids / sizeof ids[0]; i++)
        if (strcmp(ids[i], unit->id) != 0 && value > 0 && is_usual(in_kpa(value, unit_find(ids[i]))))
            return unit_find(ids[i]);
    return NULL;
}

static void figure(double value, char *to, size_t n_room)
{
    text_from_double(to, n_room, value, value == (double)(long long)value ? 0 : 1);
}

void pressure_doubt(double value, const struct unit *unit, char *to, size_t n_room)
{
    const struct unit *other = meant(value, unit);
    char typed[24], would[24];

    to[0] = '\0';
    if (is_usual(in_kpa(value, unit)))
        return;
    figure(value, typed, sizeof typed);
    if (other == NULL) {
        text_format(to, n_room, "%s %s is hardly a compression.", typed, unit->label);
        return;
    }
    text_from_double(would, sizeof would, unit_convert(value, other, unit), unit->n_decimals);
    text_format(to, n_room, "%s %s is hardly a compression; %s %s would be %s %s.", typed, unit->label, typed, other->label, would, unit->label);
}

void pressure_wet_doubt(double dry_kpa, double wet_kpa, const struct unit *unit, char *to, size_t n_room)
{
    char dry[24], wet[24];

    to[0] = '\0';
    if (!(dry_kpa > 0) || wet_kpa >= PRESSURE_WET_LEAST * dry_kpa)
        return;
    text_from_double(dry, sizeof dry, unit_convert(dry_kpa, unit_find("kPa"), unit), unit->n_decimals);
    text_from_double(wet, sizeof wet, unit_convert(wet_kpa, unit_find("kPa"), unit), unit->n_decimals);
    text_format(to, n_room, "Wet %s lies below dry %s %s, and oil takes no pressure away: see whether they changed places or a digit is wrong, or take both again.", wet, dry, unit->label);
}

bool pressure_read(const char *typed, const struct unit *usual, double most_kpa, const struct unit **unit, double *pa, struct err *e)
{
    const struct unit *other, *own = usual != NULL ? usual : unit_find("kPa");
    char number[24], named[16] = "", doubt[200], would[24], as_typed[24];
    size_t n;
    double v;

    typed += strspn(typed, " ");
    n = strspn(typed, "0123456789.,-+");
    text_format(number, sizeof number, "%.*s", (int)(n < 23 ? n : 23), typed);
    text_copy(named, sizeof named, typed + n + strspn(typed + n, " "));
    for (size_t k = strlen(named); k > 0 && named[k - 1] == ' '; k--)
        named[k - 1] = '\0';
    *unit = named[0] == '\0' ? own : unit_find(named);
    if (n == 0 || !text_to_double(number, &v) || *unit == NULL || (*unit)->kind != UNIT_PRESSURE || v < 0)
        return err_set(e, ERR_BADARG, "“%s” is no compression pressure: write a figure in %s, or with its unit, as in 12 bar.", TEXT_SHORT(typed, 20), own->label);
    *pa = v * (*unit)->factor;
    if (named[0] == '\0') {
        pressure_doubt(v, own, doubt, sizeof doubt);
        other = meant(v, own);
        figure(v, as_typed, sizeof as_typed);
        if (doubt[0] != '\0' && other != NULL) {
            text_from_double(would, sizeof would, unit_convert(v, other, own), own->n_decimals);
            return err_set(e, ERR_BADARG, "%s %s is hardly a compression. Did you mean %s %s (%s %s)? Then type “%s %s”. If it is so, “%s %s”.", as_typed, own->label, as_typed,
                           other->label, would, own->label, as_typed, other->id, as_typed, own->id);
        }
        if (doubt[0] != '\0' && *pa / 1000 <= most_kpa)
            return err_set(e, ERR_BADARG, "%s If it is so, type “%s %s”.", doubt, as_typed, own->id);
    }
    if (*pa / 1000 > most_kpa)
        return err_set(e, ERR_BADARG, "“%s” is more than any compression in %s.", TEXT_SHORT(typed, 20), (*unit)->label);
    return true;
}
