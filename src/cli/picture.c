#include "cli/picture.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/err.h"
#include "base/files.h"
#include "base/text.h"

bool cli_picture_load(const char *path, struct photo_pixels *out, struct photo_info *info, struct err *e)
{
    char *data;
    size_t n_bytes;
    bool fine;

    if (!files_read(path, PHOTO_MAX_FILE_BYTES, &data, &n_bytes, e))
        return false;
    fine = photo_decode((const uint8_t *)data, n_bytes, 0, NULL, out, info, e);
    free(data);
    return fine || err_wrap(e, "%s", path);
}

/* Numbers set apart by one of `separators`, and blanks around them; -1 something else, or more than `most`. */
static int read_list(const char *s, const char *separators, int most, double *out)
{
    for (int n = 0;; n++) {
        size_t length;
        char one[32];

        s += strspn(s, " ");
        if (*s == '\0' && n > 0)
            return n;
        length = strcspn(s, separators);
        if (n == most || length == 0 || length >= sizeof one)
            return -1;
        text_format(one, sizeof one, "%.*s", (int)length, s);
        if (!text_to_double(one, &out[n]) || !isfinite(out[n]) || fabs(out[n]) > 1e6)
            return -1;
        s += length;
        s += strspn(s, " ");
        if (*s != '\0' && strchr(separators, *s) != NULL && s[1] == '\0')
            return -1; /* nothing behind the last */
        s += *s != '\0' && strchr(separators, *s) != NULL;
    }
}

/* "100,5,200,5,30,0,40,5": every second part is the fraction of the one before, written with a comma. */
static int join_fractions(const char *s, int most, double *out)
{
    struct text joined = {0};
    int n_commas = 0, n = -1;

    if (strspn(s, "+-0123456789,") == strlen(s)) {
        for (; *s != '\0'; s++)
            text_add_char(&joined, *s != ',' ? *s : n_commas++ % 2 == 0 ? '.' : ';');
        if (n_commas % 2 == 1)
            n = read_list(text_get(&joined), ";", most, out);
    }
    text_release(&joined);
    return n;
}

static bool is_count(int n, const struct cli_list *l)
{
    return n >= l->least && n <= l->most && (n - l->least) % l->step == 0;
}

int cli_numbers(const char *s, const struct cli_list *l, double *out)
{
    int n = read_list(s, ",;", l->most, out);
    size_t whole = strlen(s), tail;

    if (is_count(n, l))
        return n;
    n = read_list(s, "; ", l->most, out); /* else a comma within a number is its decimal comma */
    if (is_count(n, l))
        return n;
    n = join_fractions(s, l->most, out);
    if (is_count(n, l))
        return n;
    for (tail = whole; tail > 0 && s[tail - 1] != ',';)
        tail--;
    if (l->fraction_last && tail >= 3 && strncmp(s + tail - 3, ",0,", 3) == 0 && strspn(s + tail, "0123456789") == whole - tail) { /* "10,20,30,40,0,9" */
        struct text joined = {0};

        text_addf(&joined, "%.*s.%s", (int)tail - 1, s, s + tail);
        n = read_list(text_get(&joined), ",", l->most, out);
        text_release(&joined);
        if (n == l->most)
            return n;
    }
    return -1;
}
