#include "base/units.h"

#include <assert.h>
#include <ctype.h>
#include <math.h>
#include <string.h>

#include "base/err.h"
#include "base/text.h"

/* Exact definitions: see units.h. Each factor is written so that it shows what it is made of. */
#define INCH_M 0.0254
#define POUND_N (0.45359237 * 9.80665)

static const struct unit rows[] = {
    {"mm", "mm", UNIT_LENGTH, 1.0, 2},
    {"um", "µm", UNIT_LENGTH, 0.001, 0},
    {"in", "in", UNIT_LENGTH, MM_PER_INCH, 3},
    {"thou", "thou", UNIT_LENGTH, 0.0254, 0},
    {"m", "m", UNIT_DISTANCE, 1.0, 0},
    {"km", "km", UNIT_DISTANCE, 1000.0, 0},
    {"mi", "mi", UNIT_DISTANCE, 1609.344, 0},
    {"Pa", "Pa", UNIT_PRESSURE, 1.0, 0},
    {"kPa", "kPa", UNIT_PRESSURE, 1000.0, 0},
    {"bar", "bar", UNIT_PRESSURE, 100000.0, 1},
    {"psi", "psi", UNIT_PRESSURE, POUND_N / (INCH_M * INCH_M), 0},
    {"kgf/cm2", "kgf/cm²", UNIT_PRESSURE, 98066.5, 1},
    {"Nm", "N·m", UNIT_TORQUE, 1.0, 0},
    {"lbf.ft", "lbf·ft", UNIT_TORQUE, POUND_N * 12 * INCH_M, 0},
    {"lbf.in", "lbf·in", UNIT_TORQUE, POUND_N * INCH_M, 0},
    {"kgf.m", "kgf·m", UNIT_TORQUE, 9.80665, 1},
    {"l", "l", UNIT_VOLUME, 1.0, 1},
    {"ml", "ml", UNIT_VOLUME, 0.001, 0},
    {"US qt", "US qt", UNIT_VOLUME, 231.0 / 4 * 16.387064 / 1000, 1},
    {"US gal", "US gal", UNIT_VOLUME, 231.0 * 16.387064 / 1000, 1},
    {"imp gal", "imp gal", UNIT_VOLUME, 4.54609, 1},
    {"imp pt", "imp pt", UNIT_VOLUME, 4.54609 / 8, 1},
    {"s", "s", UNIT_TIME, 1.0, 0},
    {"h", "h", UNIT_TIME, 3600.0, 0},
    {"deg", "°", UNIT_ANGLE, 1.0, 0},
    {"turn", "turn", UNIT_ANGLE, 360.0, 2},
};

const struct unit *unit_rows(size_t *n_rows)
{
    *n_rows = sizeof rows / sizeof rows[0];
    return rows;
}

const struct unit *unit_find(const char *id)
{
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        if (strcmp(rows[i].id, id) == 0)
            return &rows[i];
    return NULL;
}

double unit_convert(double value, const struct unit *from, const struct unit *to)
{
    assert(from->kind == to->kind);
    if (from == to)
        return value;
    return value * from->factor / to->factor;
}

const struct unit *unit_choice_length(const struct unit_choice *c)
{
    return unit_find(c->inches ? "in" : "mm");
}

const struct unit *unit_choice_pressure(const struct unit_choice *c)
{
    return c->pressure != NULL ? c->pressure : unit_find("kPa");
}

static const char *const told_lengths[] = {"mm", "in"}, *const told_pressures[] = {"kPa", "bar", "psi"};

bool unit_choice_parse(const char *list, struct unit_choice *out, struct err *e)
{
    struct unit_choice c = *out;

    for (const char *at = list; *at != '\0';) {
        size_t n = strcspn(at, ", ");
        bool known = n == 0;

        for (size_t i = 0; i < sizeof told_lengths / sizeof told_lengths[0]; i++)
            if (strlen(told_lengths[i]) == n && strncmp(told_lengths[i], at, n) == 0)
                c.inches = i == 1, known = true;
        for (size_t i = 0; i < sizeof told_pressures / sizeof told_pressures[0]; i++)
            if (strlen(told_pressures[i]) == n && strncmp(told_pressures[i], at, n) == 0)
                c.pressure = unit_find(told_pressures[i]), known = true;
        if (!known)
            return err_set(e, ERR_BADARG, "“%.*s” is none of the units to choose from: mm or in for gaps, kPa, bar or psi for compression. Distances stand in miles or kilometres as each visit's odometer has them.", (int)text_whole(at, n < 40 ? n : 40), at);
        at += n + (at[n] != '\0');
    }
    *out = c;
    return true;
}

void unit_choice_format(const struct unit_choice *c, char *to, size_t n_room)
{
    text_format(to, n_room, "%s,%s", unit_choice_length(c)->id, unit_choice_pressure(c)->id);
}

static void tell(double value, const struct unit *u, bool with_unit, char *to, size_t n_room)
{
    char number[32];

    if (u->n_decimals == 0)
        text_from_count(number, sizeof number, lround(value));
    else
        text_from_double(number, sizeof number, value, u->n_decimals);
    text_format(to, n_room, "%s%s%s", number, with_unit ? " " : "", with_unit ? u->label : "");
}

void unit_tell_length(const struct unit_choice *c, double mm, bool with_unit, char *to, size_t n_room)
{
    const struct unit *u = unit_choice_length(c);

    tell(mm / u->factor, u, with_unit, to, n_room);
}

void unit_tell_pressure(const struct unit_choice *c, double kpa, bool with_unit, char *to, size_t n_room)
{
    const struct unit *u = unit_choice_pressure(c);

    tell(unit_convert(kpa, unit_find("kPa"), u), u, with_unit, to, n_room);
}

static bool tell_figure(const struct unit_choice *c, const char *figure, size_t n, char *to, size_t n_room)
{
    char number[24], unit[16];
    size_t digits = strspn(figure, "0123456789.");
    const struct unit *u;
    double value;

    if (digits == 0 || digits >= n || figure[digits] != ' ' || !text_format(number, sizeof number, "%.*s", (int)digits, figure) || !text_to_double(number, &value) ||
        !text_format(unit, sizeof unit, "%.*s", (int)(n - digits - 1), figure + digits + 1))
        return false;
    u = unit_find(unit);
    if (u == NULL || (u->kind != UNIT_LENGTH && u->kind != UNIT_PRESSURE))
        return false;
    if (u->kind == UNIT_PRESSURE) {
        unit_tell_pressure(c, unit_convert(value, u, unit_find("kPa")), true, to, n_room);
    } else if (c->inches && value * u->factor < 0.01 * unit_find("in")->factor) {
        text_from_double(number, sizeof number, value * u->factor / unit_find("in")->factor, 4);
        text_format(to, n_room, "%s in", number);
    } else {
        unit_tell_length(c, value * u->factor, true, to, n_room);
    }
    return true;
}

void unit_tell_words(const struct unit_choice *c, const char *words, char *to, size_t n_room)
{
    struct text t = {0};

    while (*words != '\0') {
        size_t n = strcspn(words, "{");
        char told[48];
        const char *end;

        text_add_bytes(&t, words, n);
        words += n;
        end = *words == '{' ? strchr(words, '}') : NULL;
        if (end != NULL && tell_figure(c, words + 1, (size_t)(end - words - 1), told, sizeof told)) {
            text_add(&t, told);
            words = end + 1;
        } else if (*words == '{') {
            text_add_char(&t, *words++);
        }
    }
    text_copy(to, n_room, text_get(&t));
    text_release(&t);
}

void unit_mark_length(double mm, char *to, size_t n_room)
{
    text_format(to, n_room, "{%.6g mm}", mm);
}

static void tell_range(const struct unit *u, double low_nm, double high_nm, char *to, size_t n_room)
{
    char low[24], high[24];

    tell(low_nm / u->factor, u, false, low, sizeof low);
    tell(high_nm / u->factor, u, false, high, sizeof high);
    if (strcmp(low, high) == 0)
        text_format(to, n_room, "%s %s", low, u->label);
    else
        text_format(to, n_room, "%s–%s %s", low, high, u->label);
}

void unit_tell_torque(const struct unit_choice *c, double low_nm, double high_nm, char *to, size_t n_room)
{
    char first[64], other[64];

    tell_range(unit_find(c->inches ? "lbf.ft" : "Nm"), low_nm, high_nm, first, sizeof first);
    tell_range(unit_find(c->inches ? "Nm" : "lbf.ft"), low_nm, high_nm, other, sizeof other);
    text_format(to, n_room, "%s (%s)", first, other);
}

bool unit_parse_gap(const char *s, bool inches, int32_t *um)
{
    char number[48];
    double value, mm;
    size_t n;
    bool in_inches = inches, unit_named = false, thousandths = false, point;
    static const struct {
        const char *word;
        bool inches, thousandths;
    } named[] = {{"mm", false, false}, {"inches", true, false}, {"inch", true, false}, {"in", true, false}, {"\"", true, false}, {"thou", true, true}};

    while (isspace((unsigned char)*s))
        s++;
    if (!text_copy(number, sizeof number, s))
        return false;
    n = strlen(number);
    while (n > 0 && isspace((unsigned char)number[n - 1]))
        number[--n] = '\0';
    for (size_t i = 0; i < sizeof named / sizeof named[0] && !unit_named; i++) {
        size_t n_word = strlen(named[i].word);

        if (n < n_word || strcmp(number + n - n_word, named[i].word) != 0)
            continue;
        number[n - n_word] = '\0';
        in_inches = named[i].inches;
        thousandths = named[i].thousandths;
        unit_named = true;
    }
    if (!text_to_double(number, &value))
        return false;
    point = strpbrk(number, ".,") != NULL;
    if (thousandths || (in_inches && !unit_named && !point && value >= 10 && value <= 99))
        value /= 1000.0; /* "43": thousandths, as feeler gauges are marked */
    if (!in_inches && !unit_named && !point && value >= 20 && value <= 300)
        value /= 100.0; /* "110": hundredths, the quick way to type 1.10 */
    mm = in_inches ? value * MM_PER_INCH : value;
    if (!(mm >= 0.0 && mm <= 25.0))
        return false;
    *um = (int32_t)lround(mm * 1000.0);
    return true;
}

bool unit_parse_torque(const char *s, const struct unit *plain, double *nm, const struct unit **unit)
{
    /* as written without blanks, points, dots and hyphens, in small letters */
    static const struct {
        const char *written, *unit;
    } spellings[] = {{"nm", "Nm"}, {"lbfft", "lbf.ft"}, {"lbft", "lbf.ft"}, {"ftlb", "lbf.ft"}, {"ftlbs", "lbf.ft"}, {"ftlbf", "lbf.ft"},
                {"lbfin", "lbf.in"}, {"lbin", "lbf.in"}, {"inlb", "lbf.in"}, {"inlbs", "lbf.in"}, {"inlbf", "lbf.in"}, {"kgfm", "kgf.m"}, {"kgm", "kgf.m"}, {"mkg", "kgf.m"}};
    char number[24], word[24];
    size_t n, k = 0;
    double value;

    s += strspn(s, " ");
    n = strspn(s, "0123456789.,");
    if (n == 0 || n >= sizeof number)
        return false;
    text_format(number, sizeof number, "%.*s", (int)n, s);
    for (s += n; *s != '\0'; s++)
        if (isalpha((unsigned char)*s)) {
            if (k + 1 == sizeof word)
                return false;
            word[k++] = (char)tolower((unsigned char)*s);
        } else if ((unsigned char)*s < 0x80 && strchr(" .-*/", *s) == NULL) { /* 18': feet, or a slip */
            return false;
        }
    word[k] = '\0';
    *unit = k == 0 ? plain : NULL;
    for (size_t i = 0; i < sizeof spellings / sizeof spellings[0]; i++)
        if (strcmp(spellings[i].written, word) == 0)
            *unit = unit_find(spellings[i].unit);
    if (*unit == NULL || !text_to_double(number, &value))
        return false;
    *nm = unit_convert(value, *unit, unit_find("Nm"));
    return *nm >= 1 && *nm <= 100;
}
