#include "base/text.h"

#include <locale.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"

/* ---- growing text ---- */

static void reserve(struct text *t, size_t n_more)
{
    size_t need = t->n_bytes + n_more + 1;

    if (need > t->n_room) {
        size_t room = t->n_room ? t->n_room : 64;

        while (room < need)
            room *= 2;
        t->s = mem_resize(t->s, room, 1);
        t->n_room = room;
    }
}

void text_add_bytes(struct text *t, const void *s, size_t n_bytes)
{
    reserve(t, n_bytes);
    if (n_bytes != 0)
        memcpy(t->s + t->n_bytes, s, n_bytes);
    t->n_bytes += n_bytes;
    t->s[t->n_bytes] = '\0';
}

void text_add(struct text *t, const char *s)
{
    text_add_bytes(t, s, strlen(s));
}

void text_add_char(struct text *t, char c)
{
    text_add_bytes(t, &c, 1);
}

void text_add_codepoint(struct text *t, uint32_t c)
{
    if (c < 0x80) {
        text_add_char(t, (char)c);
        return;
    }
    if (c >= 0x800) {
        text_add_char(t, (char)(0xE0 | c >> 12));
        text_add_char(t, (char)(0x80 | (c >> 6 & 0x3F)));
    } else {
        text_add_char(t, (char)(0xC0 | c >> 6));
    }
    text_add_char(t, (char)(0x80 | (c & 0x3F)));
}

void text_addf(struct text *t, const char *fmt, ...)
{
    va_list args, again;
    int n;

    va_start(args, fmt);
    va_copy(again, args);
    n = vsnprintf(NULL, 0, fmt, args);
    va_end(args);
    if (n > 0) {
        reserve(t, (size_t)n);
        vsnprintf(t->s + t->n_bytes, (size_t)n + 1, fmt, again);
        t->n_bytes += (size_t)n;
    }
    va_end(again);
}

const char *text_get(const struct text *t)
{
    return t->s != NULL ? t->s : "";
}

void text_clear(struct text *t)
{
    t->n_bytes = 0;
    if (t->s != NULL)
        t->s[0] = '\0';
}

void text_release(struct text *t)
{
    free(t->s);
    *t = (struct text){0};
}

/* ---- fixed buffers ---- */

size_t text_whole(const char *s, size_t n_max)
{
    size_t n = n_max;

    while (n > 0 && ((unsigned char)s[n] & 0xC0) == 0x80)
        n--;
    return n;
}

bool text_copy(char *to, size_t n_room, const char *from)
{
    size_t n = strlen(from);
    bool fits = n < n_room;

    if (!fits)
        n = text_whole(from, n_room - 1);
    memmove(to, from, n);
    to[n] = '\0';
    return fits;
}

const char *text_short(const char *s, size_t n_most, char *to, size_t n_room)
{
    static const char ellipsis[] = "\xE2\x80\xA6";
    size_t at = 0, kept = 0;

    for (size_t i = 0; i < n_most; i++) {
        if (s[at] == '\0')
            return s;
        if (i + 1 == n_most)
            kept = at;
        at = text_next(s, at);
    }
    if (s[at] == '\0')
        return s;
    while (kept > 0 && s[kept - 1] == ' ')
        kept--;
    if (kept + sizeof ellipsis > n_room)
        kept = text_whole(s, n_room - sizeof ellipsis);
    memcpy(to, s, kept);
    memcpy(to + kept, ellipsis, sizeof ellipsis);
    return to;
}

bool text_format(char *to, size_t n_room, const char *fmt, ...)
{
    va_list args;
    int n;

    va_start(args, fmt);
    n = vsnprintf(to, n_room, fmt, args);
    va_end(args);
    if (n >= 0 && (size_t)n < n_room)
        return true;
    if (n >= 0) { /* cut: drop the beginning of a character that did not fit whole */
        size_t at = strlen(to), start = at;

        while (start > 0 && ((unsigned char)to[start - 1] & 0xC0) == 0x80)
            start--;
        if (start > 0 && (unsigned char)to[start - 1] >= 0xC0 && !text_is_utf8(to + start - 1, at - start + 1))
            to[start - 1] = '\0';
    }
    return false;
}

void text_put_for(char *text, size_t n_room, const char *of, const char *words)
{
    const char *at = strstr(text, of);
    struct text t = {0};

    if (at == NULL)
        return;
    text_addf(&t, "%.*s%s%s", (int)(at - text), text, words, at + strlen(of));
    text_copy(text, n_room, text_get(&t));
    text_release(&t);
}

bool text_equal(const char *a, const char *b)
{
    if (a == NULL || b == NULL)
        return a == b;
    return strcmp(a, b) == 0;
}

bool text_starts(const char *s, const char *beginning)
{
    return strncmp(s, beginning, strlen(beginning)) == 0;
}

bool text_ends(const char *s, const char *ending)
{
    size_t n = strlen(s), m = strlen(ending);

    return n >= m && strcmp(s + n - m, ending) == 0;
}

/* ---- UTF-8 ---- */

/* Reads one character of at most n_bytes; gives its length, 0 when malformed (RFC 3629). */
static size_t decode(const unsigned char *s, size_t n_bytes, uint32_t *cp)
{
    size_t n;
    uint32_t v, least;

    if (n_bytes == 0)
        return 0;
    if (s[0] < 0x80) {
        *cp = s[0];
        return 1;
    }
    if (s[0] >= 0xC2 && s[0] <= 0xDF) {
        n = 2, v = s[0] & 0x1Fu, least = 0x80;
    } else if (s[0] >= 0xE0 && s[0] <= 0xEF) {
        n = 3, v = s[0] & 0x0Fu, least = 0x800;
    } else if (s[0] >= 0xF0 && s[0] <= 0xF4) {
        n = 4, v = s[0] & 0x07u, least = 0x10000;
    } else {
        return 0;
    }
    if (n > n_bytes)
        return 0;
    for (size_t i = 1; i < n; i++) {
        if ((s[i] & 0xC0) != 0x80)
            return 0;
        v = v << 6 | (s[i] & 0x3Fu);
    }
    if (v < least || v > 0x10FFFF || (v >= 0xD800 && v <= 0xDFFF))
        return 0;
    *cp = v;
    return n;
}

bool text_is_utf8(const char *s, size_t n_bytes)
{
    uint32_t cp;

    for (size_t i = 0; i < n_bytes;) {
        size_t n = decode((const unsigned char *)s + i, n_bytes - i, &cp);

        if (n == 0)
            return false;
        i += n;
    }
    return true;
}

size_t text_next(const char *s, size_t at)
{
    if (s[at] == '\0')
        return at;
    at++;
    while (((unsigned char)s[at] & 0xC0) == 0x80)
        at++;
    return at;
}

size_t text_prev(const char *s, size_t at)
{
    if (at == 0)
        return 0;
    at--;
    while (at > 0 && ((unsigned char)s[at] & 0xC0) == 0x80)
        at--;
    return at;
}

uint32_t text_codepoint(const char *s, size_t at)
{
    uint32_t cp;

    if (decode((const unsigned char *)s + at, strnlen(s + at, 4), &cp) == 0)
        return s[at] == '\0' ? 0 : 0xFFFD;
    return cp;
}

size_t text_count(const char *s)
{
    size_t n = 0;

    for (size_t i = 0; s[i] != '\0'; i = text_next(s, i))
        n++;
    return n;
}

void text_sanitize(char *s, size_t n_room)
{
    struct text clean = {0};
    size_t n_bytes = strnlen(s, n_room);

    for (size_t i = 0; i < n_bytes;) {
        uint32_t cp;
        size_t n = decode((const unsigned char *)s + i, n_bytes - i, &cp);

        if (n == 0) {
            text_add(&clean, "\xEF\xBF\xBD");
            i++;
        } else {
            bool control = cp < 0x20 ? cp != '\t' && cp != '\n' : cp == 0x7F;

            if (!control)
                text_add_bytes(&clean, s + i, n);
            i += n;
        }
    }
    text_copy(s, n_room, text_get(&clean));
    text_release(&clean);
}

/* ---- numbers ---- */

/* Copies s without blanks around it; false when empty or too long for a number. */
static bool trim(const char *s, char *to, size_t n_room)
{
    size_t n;

    while (*s == ' ' || *s == '\t' || *s == '\n' || *s == '\r')
        s++;
    n = strlen(s);
    while (n > 0 && (s[n - 1] == ' ' || s[n - 1] == '\t' || s[n - 1] == '\n' || s[n - 1] == '\r'))
        n--;
    if (n == 0 || n >= n_room)
        return false;
    memcpy(to, s, n);
    to[n] = '\0';
    return true;
}

bool text_to_double(const char *s, double *out)
{
    char number[64];
    const char *point = localeconv()->decimal_point;
    struct text local = {0};
    char *end;
    double v;
    bool fine, digit = false, separator = false;

    if (!trim(s, number, sizeof number))
        return false;
    for (const char *c = number; *c != '\0'; c++) { /* no hex, no nan, no inf, one separator */
        if (*c >= '0' && *c <= '9') {
            digit = true;
        } else if (*c == '.' || *c == ',') {
            if (separator)
                return false;
            separator = true;
        } else if (strchr("+-eE", *c) == NULL) {
            return false;
        }
    }
    if (!digit)
        return false;
    for (const char *c = number; *c != '\0'; c++) {
        if (*c == '.' || *c == ',')
            text_add(&local, point); /* strtod wants the locale's own */
        else
            text_add_char(&local, *c);
    }
    v = strtod(text_get(&local), &end);
    fine = *end == '\0' && isfinite(v);
    text_release(&local);
    if (fine)
        *out = v;
    return fine;
}

static size_t digits(const char *s)
{
    return strspn(s, "0123456789");
}

const char *text_read_grouped(const char *s, double *out)
{
    const size_t lead = digits(s);
    size_t n = lead, n_point = 0, n_comma = 0, n_apart = 0, k = 0;
    char number[64], point = '\0';
    bool whole_groups = lead > 0 && lead <= 3;

    while (s[n] != '\0' && strchr(".,' ", s[n]) != NULL) {
        size_t behind = digits(s + n + 1);

        if (behind == 0 || ((s[n] == ' ' || s[n] == '\'') && behind != 3))
            break;
        n_point += s[n] == '.';
        n_comma += s[n] == ',';
        n_apart += s[n] == ' ' || s[n] == '\'';
        if (s[n] == '.' || s[n] == ',')
            point = s[n]; /* the last one */
        n += 1 + behind;
    }
    if (n + 1 > sizeof number)
        return NULL;
    if (point != '\0') { /* it parts decimals: beside another sign, or where it cannot part thousands */
        const size_t n_same = point == '.' ? n_point : n_comma, n_other = point == '.' ? n_comma : n_point;
        const char *last = s + n - 1;

        while (*last != point)
            last--;
        if (n_same == 1 && (n_other + n_apart > 0 || digits(last + 1) != 3 || !whole_groups || s[0] == '0'))
            whole_groups = whole_groups || n_other + n_apart == 0;
        else
            point = '\0';
    }
    for (size_t i = 0; i < n; i++) {
        const bool parts = digits(s + i) == 0;

        if (!parts || s[i] == point)
            number[k++] = parts ? '.' : s[i];
        else if (digits(s + i + 1) != 3 || !whole_groups)
            return NULL;
    }
    number[k] = '\0';
    return text_to_double(number, out) ? s + n + strspn(s + n, " ") : NULL;
}

bool text_to_long(const char *s, long *out)
{
    char number[32];
    size_t i = 0;
    long v = 0;
    bool minus;

    if (!trim(s, number, sizeof number))
        return false;
    minus = number[0] == '-';
    if (number[0] == '-' || number[0] == '+')
        i++;
    if (number[i] == '\0')
        return false;
    for (; number[i] != '\0'; i++) {
        if (number[i] < '0' || number[i] > '9')
            return false;
        if (__builtin_mul_overflow(v, 10L, &v) ||
            __builtin_add_overflow(v, minus ? -(long)(number[i] - '0') : (long)(number[i] - '0'), &v))
            return false;
    }
    *out = v;
    return true;
}

void text_from_double(char *to, size_t n_room, double value, int n_decimals)
{
    const char *point = localeconv()->decimal_point;
    char number[400];
    char *at;
    bool zero = true;

    snprintf(number, sizeof number, "%.*f", n_decimals, value);
    at = strstr(number, point);
    if (at != NULL && strcmp(point, ".") != 0) {
        at[0] = '.';
        memmove(at + 1, at + strlen(point), strlen(at + strlen(point)) + 1);
    }
    for (const char *c = number; *c != '\0'; c++)
        zero = zero && (*c == '-' || *c == '0' || *c == '.');
    text_copy(to, n_room, number[0] == '-' && zero ? number + 1 : number);
}

void text_from_count(char *to, size_t n_room, long value)
{
    char digits[32];
    struct text t = {0};
    size_t n;

    snprintf(digits, sizeof digits, "%ld", value);
    n = strlen(digits);
    for (size_t i = 0; i < n; i++) {
        text_add_char(&t, digits[i]);
        if (digits[i] != '-' && i + 1 < n && (n - 1 - i) % 3 == 0)
            text_add_char(&t, ',');
    }
    text_copy(to, n_room, text_get(&t));
    text_release(&t);
}

bool text_has_rtl(const char *s)
{
    static const uint32_t blocks[][2] = {{0x0590, 0x08FF}, {0xFB1D, 0xFDFF}, {0xFE70, 0xFEFC}, {0x10800, 0x10FFF}, {0x1E800, 0x1EFFF}};

    for (size_t at = 0; s[at] != '\0'; at = text_next(s, at)) {
        uint32_t c = (unsigned char)s[at] < 0x80 ? 0 : text_codepoint(s, at);

        for (size_t i = 0; c != 0 && i < sizeof blocks / sizeof blocks[0]; i++)
            if (c >= blocks[i][0] && c <= blocks[i][1])
                return true;
    }
    return false;
}

#define APART "\xE2\x81\xA8"
#define APART_END "\xE2\x81\xA9"

const char *text_apart(const char *s, char *to, size_t n_room)
{
    if (!text_has_rtl(s))
        return s;
    text_copy(to, n_room - strlen(APART_END), APART);
    text_copy(to + strlen(to), n_room - strlen(APART_END) - strlen(to), s);
    text_copy(to + strlen(to), n_room - strlen(to), APART_END);
    return to;
}

bool text_is_apart(const char *s)
{
    return strstr(s, APART) != NULL;
}
