/* photo_exif.c - the few fields of a TIFF structure that matter here: size, orientation, when the
 * picture was taken, focal lengths.
 *
 * EXIF 2.32 (JEITA CP-3451E) sections 4.6.2 (structure), 4.6.4 and 4.6.5 (tags). Every offset and count
 * is outside data: each is checked against the end before it is followed, the tree is walked to a fixed
 * depth, and text is parsed by shape, never copied. A TIFF file and the EXIF part of the other formats
 * are the same structure, so one reader serves both. */
#include "photo/photo_work.h"

#include <stdio.h>
#include <string.h>

#include "base/clock.h"
#include "base/text.h"

struct tiff {
    const uint8_t *data;
    size_t n_bytes;
    bool big_endian;
};

static unsigned get16(const struct tiff *t, size_t at)
{
    const uint8_t *p = t->data + at;

    return t->big_endian ? (unsigned)(p[0] << 8 | p[1]) : (unsigned)(p[1] << 8 | p[0]);
}

static uint32_t get32(const struct tiff *t, size_t at)
{
    uint32_t first = get16(t, at), second = get16(t, at + 2);

    return t->big_endian ? first << 16 | second : second << 16 | first;
}

enum { TYPE_ASCII = 2, TYPE_SHORT = 3, TYPE_LONG = 4, TYPE_RATIONAL = 5 };

struct entry {
    unsigned tag, type;
    uint32_t count;
    size_t at; /* of the value, inside the data */
};

/* Entry number i of the directory at `ifd`; false when its value lies outside or its type is none of
 * those that are read here. */
static bool read_entry(const struct tiff *t, size_t ifd, unsigned i, struct entry *en)
{
    static const uint8_t type_bytes[6] = {0, 1, 1, 2, 4, 8};
    size_t at = ifd + 2 + (size_t)i * 12;
    uint64_t n;

    if (at + 12 > t->n_bytes)
        return false;
    en->tag = get16(t, at);
    en->type = get16(t, at + 2);
    en->count = get32(t, at + 4);
    if (en->type < TYPE_ASCII || en->type > TYPE_RATIONAL || en->count == 0)
        return false;
    n = (uint64_t)en->count * type_bytes[en->type];
    en->at = n <= 4 ? at + 8 : get32(t, at + 8);
    return en->at < t->n_bytes && n <= t->n_bytes - en->at;
}

static bool entry_number(const struct tiff *t, const struct entry *en, uint32_t *out)
{
    if (en->type == TYPE_SHORT)
        *out = get16(t, en->at);
    else if (en->type == TYPE_LONG)
        *out = get32(t, en->at);
    else
        return false;
    return true;
}

static void entry_text(const struct tiff *t, const struct entry *en, char *to, size_t n_room)
{
    size_t n = en->count < n_room - 1 ? en->count : n_room - 1;

    to[0] = '\0';
    if (en->type != TYPE_ASCII)
        return;
    memcpy(to, t->data + en->at, n);
    to[n] = '\0';
}

static bool all_digits(const char *s, size_t n)
{
    for (size_t i = 0; i < n; i++)
        if (s[i] < '0' || s[i] > '9')
            return false;
    return true;
}

static int two_digits(const char *s)
{
    return (s[0] - '0') * 10 + (s[1] - '0');
}

/* "2024:05:06 07:08:09" to "2024-05-06T07:08:09"; false for blanks, zeros and what no calendar has. */
static bool parse_time(const char *s, char to[20])
{
    char iso[11];
    int year, month, day;

    if (strlen(s) < 19 || s[4] != ':' || s[7] != ':' || (s[10] != ' ' && s[10] != 'T') || s[13] != ':' || s[16] != ':')
        return false;
    if (!all_digits(s, 4) || !all_digits(s + 5, 2) || !all_digits(s + 8, 2) || !all_digits(s + 11, 2) ||
        !all_digits(s + 14, 2) || !all_digits(s + 17, 2))
        return false;
    memcpy(iso, s, 10);
    iso[4] = iso[7] = '-';
    iso[10] = '\0';
    if (!clock_parse_date(iso, &year, &month, &day) || year < 1900)
        return false;
    if (two_digits(s + 11) > 23 || two_digits(s + 14) > 59 || two_digits(s + 17) > 59)
        return false;
    memcpy(to, iso, 10);
    to[10] = 'T';
    memcpy(to + 11, s + 11, 8);
    to[19] = '\0';
    return true;
}

/* "+02:00"; the farthest offsets in use are -12 and +14 hours. */
static bool parse_offset(const char *s, int *minutes)
{
    int m;

    if ((s[0] != '+' && s[0] != '-') || strlen(s) < 6 || s[3] != ':' || !all_digits(s + 1, 2) || !all_digits(s + 4, 2))
        return false;
    m = two_digits(s + 1) * 60 + two_digits(s + 4);
    if (m > 14 * 60 || two_digits(s + 4) > 59)
        return false;
    *minutes = s[0] == '-' ? -m : m;
    return true;
}

/* What was found; the first of several wins, as readers do that stop at the first. */
struct found {
    uint32_t width, height, orientation, sub_ifd, focal_as_35mm;
    char original[24], digitized[24];
    char original_subsec[12], digitized_subsec[12];
    char original_offset[12], digitized_offset[12];
    double focal_mm;
};

static void take_entry(const struct tiff *t, const struct entry *en, struct found *f)
{
    static const struct {
        unsigned tag;
        size_t offset, n_room;
    } texts[] = {
        {0x9003, offsetof(struct found, original), sizeof(((struct found *)0)->original)},
        {0x9004, offsetof(struct found, digitized), sizeof(((struct found *)0)->digitized)},
        {0x9291, offsetof(struct found, original_subsec), sizeof(((struct found *)0)->original_subsec)},
        {0x9292, offsetof(struct found, digitized_subsec), sizeof(((struct found *)0)->digitized_subsec)},
        {0x9011, offsetof(struct found, original_offset), sizeof(((struct found *)0)->original_offset)},
        {0x9012, offsetof(struct found, digitized_offset), sizeof(((struct found *)0)->digitized_offset)},
    };
    static const struct {
        unsigned tag;
        size_t offset;
    } numbers[] = {
        {0x0100, offsetof(struct found, width)},
        {0x0101, offsetof(struct found, height)},
        {0x0112, offsetof(struct found, orientation)},
        {0x8769, offsetof(struct found, sub_ifd)},
        {0xa405, offsetof(struct found, focal_as_35mm)}, /* whole mm; 0 says unknown */
    };

    for (size_t i = 0; i < sizeof texts / sizeof *texts; i++) {
        char *to = (char *)f + texts[i].offset;

        if (en->tag == texts[i].tag && !*to)
            entry_text(t, en, to, texts[i].n_room);
    }
    for (size_t i = 0; i < sizeof numbers / sizeof *numbers; i++) {
        uint32_t value, old;

        memcpy(&old, (char *)f + numbers[i].offset, sizeof old);
        if (en->tag == numbers[i].tag && old == 0 && entry_number(t, en, &value))
            memcpy((char *)f + numbers[i].offset, &value, sizeof value);
    }
    if (en->tag == 0x920a && en->type == TYPE_RATIONAL && f->focal_mm <= 0) {
        uint32_t over = get32(t, en->at), under = get32(t, en->at + 4);

        if (under != 0)
            f->focal_mm = (double)over / under;
    }
}

static void read_directory(const struct tiff *t, size_t ifd, struct found *f)
{
    unsigned n;

    if (ifd < 8 || ifd + 2 > t->n_bytes)
        return;
    n = get16(t, ifd);
    for (unsigned i = 0; i < n && ifd + 2 + (size_t)i * 12 + 12 <= t->n_bytes; i++) {
        struct entry en;

        if (read_entry(t, ifd, i, &en))
            take_entry(t, &en, f);
    }
}

static bool take_time(const char *when, const char *subsec, const char *offset, struct photo_info *out)
{
    char iso[20];
    size_t n = 0;

    if (!parse_time(when, iso))
        return false;
    while (n < 9 && subsec[n] >= '0' && subsec[n] <= '9')
        n++;
    if (n > 0) {
        char thousandths[4] = "000";

        memcpy(thousandths, subsec, n < 3 ? n : 3);
        snprintf(out->taken, sizeof out->taken, "%s.%s", iso, thousandths);
    } else {
        snprintf(out->taken, sizeof out->taken, "%s", iso);
    }
    out->offset_given = parse_offset(offset, &out->offset_min);
    return true;
}

static bool read_found(const uint8_t *data, size_t n_bytes, struct found *f)
{
    struct tiff t = {data, n_bytes, false};

    memset(f, 0, sizeof *f);
    if (n_bytes < 8)
        return false;
    if (data[0] == 'M' && data[1] == 'M')
        t.big_endian = true;
    else if (data[0] != 'I' || data[1] != 'I')
        return false;
    if (get16(&t, 2) != 42)
        return false;
    read_directory(&t, get32(&t, 4), f);
    if (f->sub_ifd != 0)
        read_directory(&t, f->sub_ifd, f);
    return true;
}

void photo_read_exif(const uint8_t *tiff, size_t n_bytes, struct photo_info *out)
{
    struct found f;

    if (!read_found(tiff, n_bytes, &f))
        return;
    if (f.orientation >= 1 && f.orientation <= 8)
        out->orientation = (int)f.orientation;
    if (!take_time(f.original, f.original_subsec, f.original_offset, out))
        take_time(f.digitized, f.digitized_subsec, f.digitized_offset, out);
    if (f.focal_mm > 0 && f.focal_mm < 10000)
        out->focal_mm = f.focal_mm;
    if (f.focal_as_35mm < 10000)
        out->focal_as_35mm_mm = f.focal_as_35mm;
}

bool photo_read_tiff_size(const uint8_t *data, size_t n_bytes, uint32_t *width, uint32_t *height)
{
    struct found f;

    if (!read_found(data, n_bytes, &f))
        return false;
    *width = f.width;
    *height = f.height;
    return f.width != 0 && f.height != 0;
}
