/* photo_gif.c - the first frame of a GIF (GIF89a specification, 1990; its LZW is in appendix F).
 *
 * Read here and not by SDL_image: version 2.6.3 of that frees memory that is not its own on some
 * damaged files (found by tests/fuzz/fuzz_picture). One frame needs little. */
#include "photo/photo_work.h"

#include <assert.h>
#include <stdlib.h>
#include <string.h>

#include "base/err.h"
#include "base/mem.h"

struct parts {
    const uint8_t *palette; /* 3 bytes a colour */
    int n_colours, clear;   /* clear: index that is see-through, -1 none */
    int width, height;
    bool interlaced;
    unsigned first_bits;
    size_t blocks;          /* where the picture's data blocks begin */
};

static int le16(const uint8_t *p)
{
    return p[1] << 8 | p[0];
}

static bool ends_early(struct err *e)
{
    return err_set(e, ERR_FORMAT, "The file ends in the middle of the picture. Copy it from the phone or camera again.");
}

static bool damaged(struct err *e)
{
    return err_set(e, ERR_FORMAT, "The GIF picture is damaged: part of its data makes no sense. Copy it again.");
}

static size_t palette_bytes(unsigned flags)
{
    return flags & 0x80 ? (size_t)3 << ((flags & 7) + 1) : 0;
}

/* Behind the data blocks that begin at `at`; beyond n when the file ends in them. */
static size_t skip_blocks(const uint8_t *data, size_t n, size_t at)
{
    while (at < n && data[at])
        at += (size_t)data[at] + 1;
    return at + 1;
}

/* Finds the first frame; all of its data must be there. */
static bool find_parts(const uint8_t *data, size_t n, struct parts *p, struct err *e)
{
    size_t at;

    memset(p, 0, sizeof *p);
    p->clear = -1;
    if (n < 13)
        return ends_early(e);
    if (!photo_check_size((uint64_t)le16(data + 6), (uint64_t)le16(data + 8), e))
        return false;
    p->palette = data + 13;
    p->n_colours = (int)(palette_bytes(data[10]) / 3);
    at = 13 + palette_bytes(data[10]);
    while (at < n && data[at] == 0x21) {
        size_t next = skip_blocks(data, n, at + 2);

        if (next > n)
            return ends_early(e);
        if (data[at + 1] == 0xf9 && data[at + 2] == 4 && (data[at + 3] & 1))
            p->clear = data[at + 6];
        at = next;
    }
    if (at < n && data[at] == 0x3b)
        return err_set(e, ERR_FORMAT, "This GIF file holds no picture.");
    if (at < n && data[at] != 0x2c)
        return damaged(e);
    if (at >= n || n - at < 11)
        return ends_early(e);
    p->width = le16(data + at + 5);
    p->height = le16(data + at + 7);
    p->interlaced = data[at + 9] & 0x40;
    if (data[at + 9] & 0x80) {
        p->palette = data + at + 10;
        p->n_colours = (int)(palette_bytes(data[at + 9]) / 3);
    }
    at += 10 + palette_bytes(data[at + 9]);
    if (at >= n || skip_blocks(data, n, at + 1) > n)
        return ends_early(e);
    p->first_bits = data[at];
    p->blocks = at + 1;
    return (p->first_bits >= 1 && p->first_bits <= 8 && p->n_colours > 0) || damaged(e);
}

bool photo_gif_info(const uint8_t *data, size_t n_bytes, struct photo_info *out, struct err *e)
{
    struct parts p;

    if (!find_parts(data, n_bytes, &p, e) || !photo_check_size((uint64_t)p.width, (uint64_t)p.height, e))
        return false;
    out->stored_width = p.width;
    out->stored_height = p.height;
    return true;
}

/* Codes of growing width, lowest bit first, through blocks of up to 255 bytes. */
struct bits {
    const uint8_t *data;
    size_t at, left; /* next byte, bytes left in this block */
    uint32_t held;
    unsigned n_held;
};

/* -1 behind the last block. find_parts() has seen that all blocks are there. */
static int next_code(struct bits *b, unsigned width)
{
    int code;

    while (b->n_held < width) {
        if (b->left == 0) {
            b->left = b->data[b->at];
            if (b->left == 0)
                return -1;
            b->at++;
        }
        b->held |= (uint32_t)b->data[b->at++] << b->n_held;
        b->n_held += 8;
        b->left--;
    }
    code = (int)(b->held & ((1u << width) - 1));
    b->held >>= width;
    b->n_held -= width;
    return code;
}

enum { MOST_CODES = 4096 };

struct strings { /* each code: a shorter one and one more index */
    uint16_t before[MOST_CODES], length[MOST_CODES];
    uint8_t last[MOST_CODES];
};

/* Writes the string of a code, at most n_room indices; the first of them to *first. */
static size_t put_string(const struct strings *s, int code, uint8_t *to, size_t n_room, uint8_t *first)
{
    size_t n = s->length[code];

    for (size_t i = n; i > 0; i--) {
        if (i <= n_room)
            to[i - 1] = s->last[code];
        *first = s->last[code];
        code = s->before[code];
    }
    return n < n_room ? n : n_room;
}

/* Palette indices of the frame in the order they are stored. False when they end early or make no
 * sense. */
static bool unpack(const uint8_t *data, const struct parts *p, uint8_t *indices, size_t n)
{
    struct strings *s = mem_alloc(1, sizeof *s);
    struct bits b = {.data = data, .at = p->blocks};
    int start_over = 1 << p->first_bits, end = start_over + 1, n_codes = end + 1, before = -1;
    unsigned width = p->first_bits + 1;
    size_t done = 0;

    for (int i = 0; i < start_over; i++) {
        s->last[i] = (uint8_t)i;
        s->length[i] = 1;
    }
    while (done < n) {
        int code = next_code(&b, width);
        uint8_t first = 0;

        if (code < 0 || code == end)
            break;
        if (code == start_over) {
            n_codes = end + 1;
            width = p->first_bits + 1;
            before = -1;
            continue;
        }
        if (before < 0) {
            if (code > end)
                break;
            done += put_string(s, code, indices + done, n - done, &first);
        } else {
            /* The code that is only just being made ends as it begins. */
            bool is_new = code == n_codes;

            if (code > n_codes || (is_new && n_codes == MOST_CODES))
                break;
            done += put_string(s, is_new ? before : code, indices + done, n - done, &first);
            if (is_new && done < n)
                indices[done++] = first;
            if (n_codes < MOST_CODES) {
                s->before[n_codes] = (uint16_t)before;
                s->length[n_codes] = (uint16_t)(s->length[before] + 1);
                s->last[n_codes++] = first;
                if (n_codes == 1 << width && width < 12)
                    width++;
            }
        }
        before = code;
    }
    free(s);
    return done == n;
}

/* Row of the stored data that is shown as row y: every 8th, the 4ths between, the 2nds, the rest. */
static int stored_row(int y, int height)
{
    int eighths = (height + 7) / 8, fourths = (height + 3) / 8, halves = (height + 1) / 4;

    if (y % 8 == 0)
        return y / 8;
    if (y % 8 == 4)
        return eighths + y / 8;
    if (y % 4 == 2)
        return eighths + fourths + y / 4;
    return eighths + fourths + halves + y / 2;
}

bool photo_decode_gif(const uint8_t *data, size_t n_bytes, const struct photo_info *info, struct photo_sink *sink,
                      struct err *e)
{
    struct parts p;
    uint8_t *indices = NULL, *row = NULL;
    size_t n = (size_t)info->stored_width * (size_t)info->stored_height;
    bool ok = false;

    if (!find_parts(data, n_bytes, &p, e))
        return false;
    assert(p.width == info->stored_width && p.height == info->stored_height);
    indices = mem_try(n, 1);
    row = mem_try((size_t)p.width, 4);
    if (!indices || !row) {
        err_set(e, ERR_LIMIT, "There is not enough memory to read the picture.");
        goto done;
    }
    if (!unpack(data, &p, indices, n)) {
        damaged(e);
        goto done;
    }
    if (!photo_sink_begin(sink, p.width, p.height, e))
        goto done;
    for (int y = 0; y < p.height && !photo_sink_full(sink); y++) {
        const uint8_t *from = indices + (size_t)(p.interlaced ? stored_row(y, p.height) : y) * (size_t)p.width;

        for (int x = 0; x < p.width; x++) {
            uint8_t *to = row + (size_t)x * 4;

            if (from[x] == p.clear)
                memset(to, 255, 3);
            else if (from[x] < p.n_colours)
                memcpy(to, p.palette + (size_t)from[x] * 3, 3);
            else
                memset(to, 0, 3);
            to[3] = 255;
        }
        photo_sink_row(sink, row);
    }
    ok = true;
done:
    free(indices);
    free(row);
    return ok;
}
