/* engine_text.c - numbering, firing order, intervals and groups as people write them, and back. */
#include "engine/engine.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/err.h"
#include "base/text.h"

#define MAX_TOKENS (ENGINE_MAX_CYLINDERS + 1)

static bool is_separator(const char *s, size_t *n_bytes)
{
    *n_bytes = 1;
    if (*s == '/' || *s == '|' || *s == ';' || *s == '\n')
        return true;
    if ((unsigned char)s[0] == 0xC2 && (unsigned char)s[1] == 0xB7) { /* middle dot */
        *n_bytes = 2;
        return true;
    }
    return false;
}

static bool is_blank(char c)
{
    return c == ' ' || c == '\t' || c == ',' || c == '\r';
}

/* Next run of signs that are neither blank nor in `stops`; false at the end. */
static bool next_token(const char **s, const char *stops, char *to, size_t n_room)
{
    size_t n = 0;

    while (is_blank(**s) || (**s != '\0' && strchr(stops, **s) != NULL))
        (*s)++;
    if (**s == '\0')
        return false;
    while (**s != '\0' && !is_blank(**s) && strchr(stops, **s) == NULL) {
        if (n + 1 < n_room)
            to[n++] = **s;
        (*s)++;
    }
    to[n] = '\0';
    return true;
}

/* "bank 2: 2 4 6 8" -> name "2"; no colon: the number of the bank. Gives what stands behind it. */
static const char *bank_name(const char *part, int number, char *name, size_t n_room)
{
    const char *colon = strchr(part, ':');
    size_t n;

    if (colon == NULL) {
        text_format(name, n_room, "%d", number);
        return part;
    }
    for (;;) { /* "bank" in front is no part of the name, however often it is written */
        while (is_blank(*part))
            part++;
        if (strncasecmp(part, "bank", 4) != 0 || !is_blank(part[4]))
            break;
        part += 4;
    }
    n = (size_t)(colon - part);
    while (n > 0 && is_blank(part[n - 1]))
        n--;
    if (n >= n_room)
        n = n_room - 1;
    memcpy(name, part, n);
    name[n] = '\0';
    return colon + 1;
}

bool engine_parse_banks(struct engine *en, const char *text, struct err *e)
{
    struct engine fresh = *en;
    int number = 0;

    fresh.n_banks = 0;
    fresh.n_cylinders = 0;
    memset(fresh.banks, 0, sizeof fresh.banks);
    memset(fresh.cylinders, 0, sizeof fresh.cylinders);
    while (*text != '\0') {
        char part[512], name[64], tokens[MAX_TOKENS][ENGINE_LABEL_BYTES * 4];
        const char *labels[MAX_TOKENS];
        const char *at;
        size_t n = 0, n_separator = 0;
        int n_tokens = 0;

        while (text[n] != '\0' && !is_separator(text + n, &n_separator))
            n++;
        if (n >= sizeof part)
            return err_set(e, ERR_BADARG, "The numbering is too long.");
        memcpy(part, text, n);
        part[n] = '\0';
        text += n + (text[n] != '\0' ? n_separator : 0);
        if (part[strspn(part, " \t,\r")] == '\0')
            continue;
        at = bank_name(part, ++number, name, sizeof name);
        while (n_tokens < MAX_TOKENS && next_token(&at, "-", tokens[n_tokens], sizeof tokens[0])) {
            labels[n_tokens] = tokens[n_tokens];
            n_tokens++;
        }
        if (!engine_add_bank(&fresh, name, labels, n_tokens, e))
            return false;
    }
    if (fresh.n_cylinders == 0)
        return err_set(e, ERR_BADARG, fresh.layout == ENGINE_RADIAL ? "Write the cylinders clockwise from the top, seen from the front: 1 2 3 4 5 6 7 8 9." : "Write the cylinders of each bank, front to rear: 1 3 5 7 / 2 4 6 8.");
    *en = fresh;
    return true;
}

bool engine_parse_firing(struct engine *en, const char *text, struct err *e)
{
    int order[ENGINE_MAX_CYLINDERS], n = 0;
    char token[32];

    while (next_token(&text, "->/;", token, sizeof token)) {
        int c = engine_find_cylinder(en, token);

        if (c < 0)
            return err_set(e, ERR_BADARG, "Firing order: no bank has a cylinder %s.", token);
        if (n == ENGINE_MAX_CYLINDERS)
            return err_set(e, ERR_BADARG, "Firing order: more entries than cylinders.");
        order[n++] = c;
    }
    if (!engine_check_order(en, order, n, e))
        return false;
    memcpy(en->firing, order, (size_t)n * sizeof order[0]);
    return true;
}

bool engine_parse_intervals(struct engine *en, const char *text, struct err *e)
{
    double deg[ENGINE_MAX_CYLINDERS];
    char token[32];
    int n = 0;

    while (next_token(&text, "/;", token, sizeof token)) {
        size_t len = strlen(token);

        if (len >= 2 && strcmp(token + len - 2, "\xC2\xB0") == 0) /* a degree sign may stand behind */
            token[len - 2] = '\0';
        if (n == ENGINE_MAX_CYLINDERS || !text_to_double(token, &deg[n]))
            return err_set(e, ERR_BADARG, "Intervals: “%s” is no number of degrees.", token);
        n++;
    }
    if (n == 0) {
        en->intervals_given = false;
        return true;
    }
    if (en->n_cylinders % n != 0) /* a repeating group may be written once: 90 150 */
        return err_set(e, ERR_BADARG, "Intervals: %d are written for %d cylinders.", n,
                       en->n_cylinders);
    for (int i = 0; i < en->n_cylinders; i++)
        en->interval_deg[i] = deg[i % n];
    en->intervals_given = true;
    return true;
}

bool engine_parse_groups(const struct engine *en, const char *text, engine_set *groups,
                         int *n_groups, struct err *e)
{
    engine_set all[ENGINE_MAX_CYLINDERS];
    engine_set used = 0, now = 0;
    int n = 0;
    bool slashes = strpbrk(text, "/|;") != NULL;
    bool joined = strchr(text, '+') != NULL;

    /* "1+6 5+2": blanks end a group. "1 6 / 5 2": slashes do. "1 2 3": one group of all three. */
    while (true) {
        char token[16];
        size_t k = 0;
        int c;

        while (is_blank(*text) || *text == '+')
            text++;
        if (*text == '\0' || strchr("/|;", *text) != NULL) {
            if (now != 0)
                all[n++] = now;
            now = 0;
            if (*text == '\0')
                break;
            text++;
            continue;
        }
        while (*text != '\0' && !is_blank(*text) && strchr("+/|;", *text) == NULL) {
            if (k + 1 < sizeof token)
                token[k++] = *text;
            text++;
        }
        token[k] = '\0';
        c = engine_find_cylinder(en, token);
        if (c < 0)
            return err_set(e, ERR_BADARG, "there is no cylinder %s.", token);
        if ((used >> c & 1u) != 0)
            return err_set(e, ERR_BADARG, "%s stands in two groups.", token);
        used |= (engine_set)1 << c;
        now |= (engine_set)1 << c;
        if (joined && !slashes && *text != '+' && now != 0) {
            const char *ahead = text;

            while (is_blank(*ahead))
                ahead++;
            if (*ahead != '+') {
                all[n++] = now;
                now = 0;
            }
        }
    }
    memcpy(groups, all, (size_t)n * sizeof all[0]);
    *n_groups = n;
    return true;
}

/* ---- back to text ---- */

static void put(char *to, size_t n_room, struct text *t)
{
    text_copy(to, n_room, text_get(t));
    text_release(t);
}

void engine_format_banks(const struct engine *en, char *to, size_t n_room)
{
    struct text t = {0};

    for (int b = 0; b < en->n_banks; b++) {
        const struct engine_bank *bank = &en->banks[b];
        char number[16];

        text_add(&t, b ? " / " : "");
        text_format(number, sizeof number, "%d", b + 1);
        if (strcmp(bank->name, number) != 0)
            text_addf(&t, "%s: ", bank->name);
        for (int i = 0; i < bank->n_cylinders; i++)
            text_addf(&t, "%s%s", i ? " " : "", en->cylinders[bank->first + i].label);
    }
    put(to, n_room, &t);
}

void engine_format_firing(const struct engine *en, char *to, size_t n_room)
{
    struct text t = {0};

    for (int i = 0; i < en->n_cylinders; i++)
        text_addf(&t, "%s%s", i ? " " : "", en->cylinders[en->firing[i]].label);
    put(to, n_room, &t);
}

void engine_format_intervals(const struct engine *en, char *to, size_t n_room)
{
    struct text t = {0};

    if (en->intervals_given)
        for (int i = 0; i < en->n_cylinders; i++) {
            char number[40];

            text_from_double(number, sizeof number, en->interval_deg[i], 3);
            while (strchr(number, '.') != NULL && text_ends(number, "0"))
                number[strlen(number) - 1] = '\0';
            if (text_ends(number, "."))
                number[strlen(number) - 1] = '\0';
            text_addf(&t, "%s%s", i ? " " : "", number);
        }
    put(to, n_room, &t);
}

void engine_format_groups(const struct engine *en, const engine_set *groups, int n, char *to,
                          size_t n_room)
{
    struct text t = {0};

    for (int g = 0; g < n; g++) {
        bool first = true;

        text_add(&t, g ? " / " : "");
        for (int i = 0; i < en->n_cylinders; i++)
            if ((groups[g] >> i & 1u) != 0) {
                text_addf(&t, "%s%s", first ? "" : " ", en->cylinders[i].label);
                first = false;
            }
    }
    put(to, n_room, &t);
}

/* "7/8in-18": a part of an inch over the crests, turns to the inch. */
static bool inch_thread(const char *thread, double *major_mm, double *pitch_mm)
{
    int over, under, turns, end = 0;

    if (sscanf(thread, "%2d/%2din-%2d%n", &over, &under, &turns, &end) != 3 || thread[end] != '\0' || over < 1 || under < 1 || turns < 4)
        return false;
    *major_mm = 25.4 * over / under;
    *pitch_mm = 25.4 / turns;
    return true;
}

void engine_thread_size(const char *thread, double *major_mm, double *pitch_mm)
{
    const char *x = strchr(thread, 'x');
    char major[16];
    double mm;

    *major_mm = 14;
    *pitch_mm = 1.25;
    if (inch_thread(thread, major_mm, pitch_mm))
        return;
    if (x != NULL && text_to_double(x + 1, &mm) && mm > 0.2 && mm < 4)
        *pitch_mm = mm;
    if (thread[0] == 'M' && x != NULL && (size_t)(x - thread) < sizeof major) {
        memcpy(major, thread + 1, (size_t)(x - thread) - 1);
        major[x - thread - 1] = '\0';
        if (text_to_double(major, &mm) && mm >= 5 && mm <= 40)
            *major_mm = mm;
    }
}
