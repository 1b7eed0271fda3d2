#include "takeover/field_work.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#include "base/clock.h"
#include "base/err.h"
#include "base/text.h"
#include "record/record.h"

#define SIGNS(id, label, zone, words) {id, label, TAKE_IS_SIGNS, zone, NULL, {NULL}, 0, 0, 0, false, words}
#define WORD(id, label, list, column, words) {id, label, TAKE_IS_WORD, list, column, {NULL}, 0, 0, 0, false, words}

/* Headings are how people title such columns, in English and German: common practice, no source. */
/* clang-format off */
static const struct take_field fields[TAKE_FIELD_COUNT] = {
    [TAKE_NOTHING] = {"-", "not taken", TAKE_IS_NOTHING, 0, NULL, {NULL}, 0, 0, 0, false, ""},
    [TAKE_ENGINE] = {"engine", "Engine", TAKE_IS_PLACE, 0, NULL, {NULL}, 0, 0, 0, false, "engine|car|vehicle|motor|fahrzeug"},
    [TAKE_DATE] = {"date", "Date", TAKE_IS_PLACE, 0, NULL, {NULL}, 0, 0, 0, false, "date|visit|day|read on|datum|tag"},
    [TAKE_ODOMETER] = {"odometer", "Odometer", TAKE_IS_PLACE, 0, NULL, {"km", "mi", "h"}, 1, 0, 2e10, false,
                       "odometer|odo|mileage|distance|km|miles|hours|engine hours|tach time|km stand|kilometerstand|tachostand|kilometer|betriebsstunden"},
    [TAKE_CYLINDER] = {"cylinder", "Cylinder", TAKE_IS_PLACE, 0, NULL, {NULL}, 0, 0, 0, false, "cylinder|cyl|hole|pot|cylinder no|cyl no|zylinder|zyl"},
    [TAKE_POSITION] = {"position", "Plug of the cylinder", TAKE_IS_PLACE, 0, NULL, {NULL}, 0, 0, 0, false, "position|plug position|pos|lage"},
    [TAKE_BANK] = {"bank", "Bank", TAKE_IS_PLACE, 0, NULL, {NULL}, 0, 0, 0, false, "bank|bench|zylinderbank"},
    [TAKE_FIRING_END] = SIGNS("firing_end", "Firing end", ZONE_FIRING_END, "firing end|deposit|deposits|tip|looks|kerzenbild|belag"),
    [TAKE_THREADS] = SIGNS("threads", "Threads", ZONE_THREADS, "threads|thread|gewinde"),
    [TAKE_BODY] = SIGNS("body", "Body", ZONE_BODY, "body|shell|porcelain"),
    [TAKE_WELL] = SIGNS("well", "Well", ZONE_WELL, "well|plug well|tube|schacht|kerzenschacht"),
    [TAKE_BOOT] = SIGNS("boot", "Boot", ZONE_BOOT, "boot|cap|plug cap|kerzenstecker"),
    [TAKE_COIL] = SIGNS("coil", "Coil", ZONE_COIL, "coil|zündspule"),
    [TAKE_LEAD] = SIGNS("lead", "Lead", ZONE_LEAD, "lead|ht lead|zündkabel"),
    [TAKE_CONNECTOR] = SIGNS("connector", "Connector", ZONE_CONNECTOR, "connector|stecker"),
    [TAKE_GAP] = {"gap", "Gap as found", TAKE_IS_GAP, 0, "gap_um", {"mm", "in"}, 1000, 0, 25000, false,
                  "gap|plug gap|spark plug gap|electrode gap|gap measured|gap found|gap as found|gap before|as found|elektrodenabstand|kerzenabstand|abstand"},
    [TAKE_GAP_FROM] = {"gap_from", "Gap taken by", TAKE_IS_PLACE, 0, NULL, {NULL}, 0, 0, 0, false, "gap from"},
    [TAKE_GAP_PHOTO] = {"gap_photo", "Gap in a photo", TAKE_IS_GAP, 0, "gap_photo_um", {"mm", "in"}, 1000, 0, 25000, false, "gap photo|gap in photo"},
    [TAKE_GAP_PHOTO_PM] = {"gap_photo_pm", "Gap in a photo, ±", TAKE_IS_WHOLE, 0, "gap_photo_pm_um", {"mm", "in"}, 1000, 0, 5000, false, "gap photo pm"},
    [TAKE_PHOTO_MARKS] = {"photo_marks", "Marks on its photos", TAKE_IS_PLACE, 0, NULL, {NULL}, 0, 0, 0, false, "photo marks"}, /* they belong to photos: not taken */
    [TAKE_PLUG_COUNTED] = {"plug_run_counted", "Run by the plug, counted", TAKE_IS_PLACE, 0, NULL, {"km", "mi"}, 1, 0, 2e10, false, "plug run counted|plug run counted h"}, /* counted anew from the visits: not taken */
    [TAKE_COPIES_DIFFER] = {"copies_differ", "What merged copies say differently", TAKE_IS_PLACE, 0, NULL, {NULL}, 0, 0, 0, false, "copies differ"}, /* still to be chosen there: not taken */
    [TAKE_GAP_LEFT] = {"gap_left", "Gap as left", TAKE_IS_GAP, 0, "gap_left_um", {"mm", "in"}, 1000, 0, 25000, false,
                       "gap left|gap as left|gap after|gap set|as left|plug gap after|plug gap left|abstand eingestellt|abstand neu"},
    [TAKE_ELECTRODE] = WORD("electrode", "Electrode", WORDS_ELECTRODE, "electrode", "electrode|electrodes|elektrode"),
    [TAKE_WEAR_ON] = WORD("wear_on", "Wear on", WORDS_WEAR_ON, "wear_on", "wear on|wear"),
    [TAKE_INSULATOR] = WORD("insulator", "Insulator", WORDS_INSULATOR, "insulator", "insulator|isolator"),
    [TAKE_HEAVIER_SIDE] = WORD("heavier_side", "Heavier side", WORDS_SIDE, "heavier_side", "heavier side|side"),
    [TAKE_TURNS] = WORD("threads_turns", "Oil on turns", WORDS_TURNS, "threads_turns", "threads turns|turns"),
    [TAKE_DRIES] = {"dries", "Dries", TAKE_IS_YES_NO, 0, "dries", {NULL}, 0, 0, 0, false, "dries"},
    [TAKE_MARK] = {"mark_clock", "Side electrode at", TAKE_IS_WHOLE, 0, "mark_clock", {NULL}, 1, 1, 12, false, "mark clock|clock"},
    [TAKE_NOSE_L] = {"nose_L", "Nose L*", TAKE_IS_REAL, 0, "nose_L", {NULL}, 1, 0, 100, false, "nose l"},
    [TAKE_NOSE_A] = {"nose_a", "Nose a*", TAKE_IS_REAL, 0, "nose_a", {NULL}, 1, -128, 128, false, "nose a"},
    [TAKE_NOSE_B] = {"nose_b", "Nose b*", TAKE_IS_REAL, 0, "nose_b", {NULL}, 1, -128, 128, false, "nose b"},
    [TAKE_COMPRESSION] = {"compression", "Compression", TAKE_IS_WHOLE, 0, "compression_pa", {"kPa", "bar", "psi", "kgf/cm2"}, 1, 0, 4e6, true,
                          "compression|compression dry|dry compression|dry|comp|kompression|kompression trocken"},
    [TAKE_COMPRESSION_WET] = {"compression_wet", "Compression, wet", TAKE_IS_WHOLE, 0, "compression_wet_pa", {"kPa", "bar", "psi", "kgf/cm2"}, 1, 0, 4e6, true,
                              "compression wet|wet compression|wet|kompression nass|kompression mit öl"},
    [TAKE_LEAK] = {"leak_percent", "Leak-down, %", TAKE_IS_REAL, 0, "leak_percent", {NULL}, 1, 0, 100, true, "leak percent|leak|leak down|leakdown|druckverlust"},
    [TAKE_DIFFERENTIAL] = {"differential", "Differential, of 80", TAKE_IS_REAL, 0, "differential_over_80", {NULL}, 1, 0, 80, true,
                           "differential|differential over 80|over 80|differential compression"},
    [TAKE_PLUG] = {"plug", "Which plug", TAKE_IS_PART, 0, "plug", {NULL}, 0, 0, 0, false, "plug|plug name|plug id|spark plug|kerze|zündkerze"},
    [TAKE_PLUG_TYPE] = {"plug_type", "Plug of the book", TAKE_IS_PLACE, 0, NULL, {NULL}, 0, 0, 0, false, "plug type|type of plug|plug number|kerzentyp"}, /* of the engine's card */
    [TAKE_PLUG_DISTANCE] = {"plug_distance", "Run by the plug", TAKE_IS_WHOLE, 0, "plug_distance_m", {"km", "mi", "m"}, 1, 0, 2e10, false,
                            "plug distance|plug run|run|run by plug|laufleistung"},
    [TAKE_AS_BOOK] = {"as_book", "As in the book", TAKE_IS_YES_NO, 0, "as_book", {NULL}, 0, 0, 0, false, "as book|as in the book"},
    [TAKE_TIGHTNESS] = WORD("tightness", "How tight", WORDS_TIGHTNESS, "tightness", "tightness|how tight"),
    [TAKE_REFIT] = WORD("refit", "Refitted", WORDS_REFIT, "refit", "refit|refitted"),
    [TAKE_WASHER] = WORD("washer", "Washer", WORDS_WASHER, "washer", "washer|gasket|dichtring"),
    [TAKE_THREAD_STATE] = WORD("thread_state", "Thread was", WORDS_THREAD_STATE, "thread_state", "thread state|thread was"),
    [TAKE_TORQUE] = {"torque", "Torque", TAKE_IS_WHOLE, 0, "torque_mnm", {"Nm", "lbf.ft", "lbf.in", "kgf.m"}, 1000, 0, 200000, false, "torque|tightened to|drehmoment"},
    [TAKE_CODES] = {"codes", "Trouble codes", TAKE_IS_VISIT, 0, NULL, {NULL}, 0, 0, 0, false, "codes|code|trouble codes|dtc|fehlercodes"},
    [TAKE_COMPLAINT] = {"complaint", "Complaint", TAKE_IS_VISIT, 0, NULL, {NULL}, 0, 0, 0, false, "complaint|complaints|symptom|symptoms|beanstandung|beanstandungen"},
    [TAKE_NOTES] = {"notes", "Notes", TAKE_IS_VISIT, 0, NULL, {NULL}, 0, 0, 0, false, "notes|note|remarks|remark|comment|comments|notiz|notizen|bemerkung|bemerkungen"},
};

/* How units stand in headings and behind figures. */
static const struct {
    const char *word, *unit;
} unit_words[] = {
    {"mm", "mm"}, {"in", "in"}, {"inch", "in"}, {"inches", "in"}, {"thou", "in"}, {"km", "km"}, {"kms", "km"}, {"mi", "mi"}, {"mile", "mi"},
    {"miles", "mi"}, {"h", "h"}, {"hr", "h"}, {"hrs", "h"}, {"hours", "h"}, {"std", "h"}, {"m", "m"}, {"kpa", "kPa"}, {"bar", "bar"}, {"psi", "psi"},
    {"kg cm2", "kgf/cm2"}, {"kgf cm2", "kgf/cm2"}, {"nm", "Nm"}, {"n m", "Nm"}, {"lb ft", "lbf.ft"}, {"lbf ft", "lbf.ft"}, {"ft lb", "lbf.ft"},
    {"lb in", "lbf.in"}, {"lbf in", "lbf.in"}, {"in lb", "lbf.in"}, {"kgf m", "kgf.m"}, {"mkg", "kgf.m"},
};
/* clang-format on */

const struct take_field *take_field(enum take_field_id id)
{
    return &fields[id];
}

int take_field_find(const char *id)
{
    for (int i = 0; i < TAKE_FIELD_COUNT; i++)
        if (strcmp(fields[i].id, id) == 0)
            return i;
    return -1;
}

void take_field_list(char *to, size_t n_room)
{
    struct text t = {0};

    for (int i = 0; i < TAKE_FIELD_COUNT; i++)
        text_addf(&t, "%s%s", i ? ", " : "", fields[i].id);
    text_copy(to, n_room, text_get(&t));
    text_release(&t);
}

/* ---- headings ---- */

void take_plain_words(const char *s, bool split, char *to, size_t n_room)
{
    size_t n = 0;

    for (; *s != '\0' && n + 3 < n_room; s++) {
        unsigned char c = (unsigned char)*s;

        if (isalnum(c) || c >= 0x80) {
            if (split && n > 0 && to[n - 1] != ' ' && (isdigit(c) != 0) != (isdigit((unsigned char)to[n - 1]) != 0))
                to[n++] = ' ';
            if (n > 0 && (unsigned char)to[n - 1] == 0xC3 && c >= 0x80 && c <= 0x9E && c != 0x97)
                c = (unsigned char)(c + 0x20); /* "Ö": the capitals of Latin-1 stand 32 before their small letters */
            to[n++] = (char)(c < 0x80 ? tolower(c) : c);
        } else if (n > 0 && to[n - 1] != ' ') {
            to[n++] = ' ';
        }
    }
    while (n > 0 && to[n - 1] == ' ')
        n--;
    to[n] = '\0';
}

char *take_find_words(char *s, const char *part)
{
    size_t n = strlen(part);

    for (char *at = s; n > 0 && (at = strstr(at, part)) != NULL; at++)
        if ((at == s || at[-1] == ' ') && (at[n] == '\0' || at[n] == ' '))
            return at;
    return NULL;
}

static void cut_words(char *s, char *at, size_t n)
{
    size_t end = (size_t)(at - s) + n;

    end += s[end] == ' ';
    memmove(at, s + end, strlen(s + end) + 1);
    n = strlen(s);
    if (n > 0 && s[n - 1] == ' ')
        s[n - 1] = '\0';
}

/* The field one of whose headings is `s`; with `within`, one whose heading stands in it, the longest. */
static enum take_field_id find_field(const char *s, bool within)
{
    enum take_field_id best = TAKE_NOTHING;
    size_t n_best = 0;

    for (int i = 1; i < TAKE_FIELD_COUNT; i++)
        for (const char *w = fields[i].words; *w != '\0';) {
            char word[64], whole[200];
            size_t n = strcspn(w, "|");

            text_format(word, sizeof word, "%.*s", (int)n, w);
            text_copy(whole, sizeof whole, s);
            if (within ? n > n_best && take_find_words(whole, word) != NULL : strcmp(whole, word) == 0) {
                best = (enum take_field_id)i;
                n_best = n;
            }
            w += n + (w[n] == '|');
        }
    return best;
}

static bool may_have(const struct take_field *f, const char *unit)
{
    for (int i = 0; i < 5 && f->units[i] != NULL; i++)
        if (strcmp(f->units[i], unit) == 0)
            return true;
    return false;
}

/* Takes the last words of `s` that are a unit off it; "" none. */
static const char *cut_unit(char *s)
{
    for (size_t i = 0; i < sizeof unit_words / sizeof unit_words[0]; i++) {
        size_t n = strlen(unit_words[i].word), all = strlen(s);

        if (all > n && s[all - n - 1] == ' ' && strcmp(s + all - n, unit_words[i].word) == 0) {
            s[all - n - 1] = '\0';
            return unit_words[i].unit;
        }
    }
    return "";
}

/* Takes the longest label named in `s` out of it, with the word cylinder before it. */
static bool cut_plug(char *s, const char *const *plugs, size_t n_plugs, char *to, size_t n_room)
{
    static const char *const before[] = {"cylinder ", "cyl ", "zylinder ", "zyl ", "no ", "nr ", "plug ", "kerze "};
    const char *best = NULL;
    char *at_best = NULL, word[40];
    size_t n_best = 0;

    for (size_t i = 0; i < n_plugs; i++) {
        char *at;

        take_plain_words(plugs[i], false, word, sizeof word);
        at = take_find_words(s, word);
        if (at == NULL) { /* "a 3" of "a3" was set apart */
            take_plain_words(plugs[i], true, word, sizeof word);
            at = take_find_words(s, word);
        }
        if (at != NULL && strlen(word) > n_best) {
            best = plugs[i];
            at_best = at;
            n_best = strlen(word);
        }
    }
    if (best == NULL)
        return false;
    text_copy(to, n_room, best);
    for (size_t i = 0; i < sizeof before / sizeof before[0]; i++) {
        size_t n = strlen(before[i]);

        if ((size_t)(at_best - s) >= n && strncmp(at_best - n, before[i], n) == 0 && (at_best - n == s || at_best[-(long)n - 1] == ' ')) {
            at_best -= n;
            n_best += n;
            break;
        }
    }
    cut_words(s, at_best, n_best);
    return true;
}

/* "hours", "Kilometerstand": the heading of an odometer names its unit itself. */
static const char *unit_within(const char *s)
{
    static const struct {
        const char *part, *unit;
    } rows[] = {{"hours", "h"}, {"stunden", "h"}, {"tach time", "h"}, {"km", "km"}, {"kilometer", "km"}, {"miles", "mi"}};

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        if (strncmp(s, rows[i].part, strlen(rows[i].part)) == 0 || text_ends(s, rows[i].part))
            return rows[i].unit;
    return "";
}

/* "Mileage (mi, approx.)", "odometer in miles, roughly": a unit of the field as a word anywhere; what is a word of the
 * language too only in brackets. */
static const char *unit_anywhere(const char *text, const struct take_field *f)
{
    const char *from = strpbrk(text, "([");
    char all[200], inside[200] = "", part[200];

    if (from != NULL) {
        text_format(part, sizeof part, "%.*s", (int)strcspn(from + 1, ")]"), from + 1);
        take_plain_words(part, false, inside, sizeof inside);
    }
    take_plain_words(text, false, all, sizeof all);
    for (size_t i = 0; i < sizeof unit_words / sizeof unit_words[0]; i++)
        if (may_have(f, unit_words[i].unit) && take_find_words(inside, unit_words[i].word) != NULL)
            return unit_words[i].unit;
    for (size_t i = 0; i < sizeof unit_words / sizeof unit_words[0]; i++)
        if (may_have(f, unit_words[i].unit) && strlen(unit_words[i].word) > 1 && strcmp(unit_words[i].word, "in") != 0 && take_find_words(all, unit_words[i].word) != NULL)
            return unit_words[i].unit;
    return "";
}

void take_heading_read(const char *text, const char *const *plugs, size_t n_plugs, struct take_heading *out)
{
    char s[200], whole[200];

    *out = (struct take_heading){.field = TAKE_NOTHING, .unit = "", .sign = -1};
    take_plain_words(text, false, s, sizeof s);
    out->field = find_field(s, false); /* "nose_L" of an engine with a cylinder L, "over 80" */
    out->sure = out->field != TAKE_NOTHING;
    if (out->sure) {
        out->unit = unit_within(s);
        return;
    }
    text_copy(whole, sizeof whole, s);
    out->unit = cut_unit(s);
    out->field = find_field(s, false);
    if (out->field == TAKE_NOTHING) {
        take_plain_words(text, true, s, sizeof s);
        if (cut_plug(s, plugs, n_plugs, out->plug, sizeof out->plug)) {
            const char *unit = cut_unit(s);

            out->unit = unit[0] ? unit : out->unit;
        } else {
            text_copy(s, sizeof s, whole);
            out->unit = cut_unit(s);
        }
        out->field = find_field(s, false);
    }
    out->sure = out->field != TAKE_NOTHING;
    if (!out->sure) {
        out->field = find_field(s, true);
        if (fields[out->field].kind == TAKE_IS_SIGNS)
            out->sign = take_sign_within((enum zone)fields[out->field].list, s);
        out->sure = out->sign >= 0;
    }
    if (out->field == TAKE_CYLINDER && out->plug[0] != '\0')
        out->field = TAKE_NOTHING; /* "Cylinder 3": the column is the cylinder's; of what, its figures say */
    if (out->field != TAKE_NOTHING && !may_have(&fields[out->field], out->unit))
        out->unit = unit_anywhere(text, &fields[out->field]);
}

/* ---- cells ---- */

bool take_read_number(const struct take_field *f, const char *cell, bool grouped, double *value, const struct unit **unit)
{
    char number[48] = "", rest[32];
    size_t n, k = 0;
    const char *point = NULL, *other = NULL;

    *unit = NULL;
    cell += strspn(cell, " \t");
    n = strspn(cell, "+-0123456789.,' ");
    while (n > 0 && cell[n - 1] == ' ')
        n--;
    if (n == 0 || n >= sizeof number)
        return false;
    for (size_t i = 0; i < n; i++) { /* the last of two different signs parts the decimals */
        if (cell[i] != '.' && cell[i] != ',')
            continue;
        if (point != NULL && *point != cell[i])
            other = point;
        point = &cell[i];
    }
    for (size_t i = 0; i < n; i++) {
        bool sign = cell[i] == '.' || cell[i] == ',';

        if (cell[i] == '\'' || cell[i] == ' ')
            continue; /* 97'655 and 97 655 */
        if (sign && (grouped || (other != NULL && &cell[i] != point)))
            continue;
        number[k++] = cell[i];
    }
    number[k] = '\0';
    if (!text_to_double(number, value))
        return false;
    take_plain_words(cell + n, false, rest, sizeof rest);
    if (strcmp(rest, "") == 0)
        return true;
    for (size_t i = 0; i < sizeof unit_words / sizeof unit_words[0]; i++)
        if (strcmp(unit_words[i].word, rest) == 0 && may_have(f, unit_words[i].unit)) {
            *unit = unit_find(unit_words[i].unit);
            return true;
        }
    return false;
}

bool take_make_date(int year, int month, int day, char iso[11])
{
    int y, m, d;

    if (year < 1 || year > 9999 || month < 1 || month > 99 || day < 1 || day > 99)
        return false;
    text_format(iso, 11, "%04d-%02d-%02d", year, month, day);
    return clock_parse_date(iso, &y, &m, &d);
}

enum take_date take_read_date(const char *cell, char iso[11], int *a, int *b, int *year)
{
    int x, y, z, used = 0;
    char one, two;
    const char *rest;

    cell += strspn(cell, " \t");
    if (clock_read_date(cell, iso) || take_read_word_date(cell, iso))
        return TAKE_DATE_SURE;
    if (strspn(cell, "0123456789") == 8 && cell[8 + strspn(cell + 8, " ")] == '\0') { /* 20260614 */
        long all = strtol(cell, NULL, 10);

        return take_make_date((int)(all / 10000), (int)(all / 100 % 100), (int)(all % 100), iso) && all / 10000 >= 1900 && all / 10000 <= 2199 ? TAKE_DATE_SURE : TAKE_DATE_NONE;
    }
    if (sscanf(cell, "%4d%c%4d%c%4d%n", &x, &one, &y, &two, &z, &used) != 5 || one != two || strchr("-./", one) == NULL || x < 0 || y < 0 || z < 0)
        return TAKE_DATE_NONE;
    rest = cell + used;
    if (*rest != '\0' && *rest != ' ' && *rest != 'T') /* a time of day may follow */
        return TAKE_DATE_NONE;
    if (strcspn(cell, "-./") == 4)
        return take_make_date(x, y, z, iso) ? TAKE_DATE_SURE : TAKE_DATE_NONE;
    z = take_full_year(z);
    if (one == '.') /* with points the day stands first */
        return take_make_date(z, y, x, iso) ? TAKE_DATE_SURE : TAKE_DATE_NONE;
    *a = x;
    *b = y;
    *year = z;
    return take_make_date(z, y, x, iso) || take_make_date(z, x, y, iso) ? TAKE_DATE_SLASH : TAKE_DATE_NONE;
}

bool take_typed_date(const char *typed, char iso[11], struct err *e)
{
    char day_first[11] = "", month_first[11] = "", words[2][32];
    int a = 0, b = 0, year = 0;
    bool one, other;

    switch (take_read_date(typed, iso, &a, &b, &year)) {
    case TAKE_DATE_SURE: return true;
    case TAKE_DATE_NONE: break;
    case TAKE_DATE_SLASH:
        one = take_make_date(year, b, a, day_first);
        other = take_make_date(year, a, b, month_first);
        if (one && other && a != b) {
            clock_date_words(day_first, words[0], sizeof words[0]);
            clock_date_words(month_first, words[1], sizeof words[1]);
            return err_set(e, ERR_BADARG, "“%s” is %s or %s: write one of them so.", TEXT_SHORT(typed, 40), words[0], words[1]);
        }
        text_copy(iso, 11, one ? day_first : month_first);
        return true;
    }
    return err_set(e, ERR_BADARG, "“%s” is no date: write 14 Jun 2026, 14.6.2026 or 2026-06-14.", TEXT_SHORT(typed, 40));
}
