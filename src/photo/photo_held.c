/* photo_held.c - parts cut out of a picture that is held whole: rows as R, G, B, averaged, turned upright, in sRGB.
 *
 * Of a JPEG the lightness and the two colour differences are held. Between them and R, G, B lies what libjpeg does
 * when it decodes: each difference is spread over the pixels that share it by a triangle filter, three quarters of the
 * nearest and one of the next in each direction, then the three are added up (ITU-T T.871, as libjpeg rounds). */
#include "photo/photo_view.h"

#include <assert.h>
#include <stdlib.h>
#include <string.h>

#include "base/err.h"
#include "base/mem.h"
#include "photo/photo_work.h"

bool photo_planes_begin(struct photo_held *h, int width, int height, int across, int down, int room_width, int room_height, struct err *e)
{
    h->stored_width = width;
    h->stored_height = height;
    h->across = across;
    h->down = down;
    for (int i = 0; i < 3; i++) {
        struct photo_plane *p = &h->planes[i];
        int x = i == 0 ? 1 : across, y = i == 0 ? 1 : down;

        *p = (struct photo_plane){.width = (width + x - 1) / x, .height = (height + y - 1) / y, .pitch = room_width / x};
        p->at = mem_try((size_t)p->pitch * (size_t)(room_height / y), 1);
        if (p->at == NULL)
            return err_set(e, ERR_LIMIT, "There is not enough memory for a picture of %d × %d pixels. Close other programs.", width, height);
    }
    return true;
}

/* ---- rows ---- */

/* Where rows are worked out; each has room for the widest. */
struct row_room {
    uint8_t *rgb, *blue, *red;
    int16_t *columns; /* of a row of differences, one more at each end */
    uint16_t *sums;
};

/* Differences of row y for the pixels x .. x + n. */
static const uint8_t *spread_row(const struct photo_held *h, const struct photo_plane *p, int y, int x, int n, int16_t *columns, uint8_t *to)
{
    int row = y / h->down, next = h->down == 1 ? row : y % 2 ? row + 1 : row - 1, from = x / 2, last = (x + n - 1) / 2;
    const uint8_t *a = p->at + (size_t)row * (size_t)p->pitch, *b;
    /* weighed 3 to 1 in both directions sixteenths, in one quarters; libjpeg rounds left and right differently */
    const int shift = h->down == 2 ? 4 : 2, left = h->down == 2 ? 8 : 1, right = h->down == 2 ? 7 : 2;
    const int16_t *c = columns + 1;

    if (h->across == 1)
        return a + x;
    next = next < 0 ? 0 : next >= p->height ? p->height - 1 : next;
    b = p->at + (size_t)next * (size_t)p->pitch;
    for (int i = from - 1; i <= last + 1; i++) {
        int at = i < 0 ? 0 : i >= p->width ? p->width - 1 : i;

        columns[i - from + 1] = (int16_t)(h->down == 2 ? 3 * a[at] + b[at] : a[at]);
    }
    if (x % 2 != 0)
        *to++ = (uint8_t)((3 * c[0] + c[1] + right) >> shift);
    for (int i = x % 2, k = i; i + 1 < n; i += 2, k++, to += 2) {
        to[0] = (uint8_t)((3 * c[k] + c[k - 1] + left) >> shift);
        to[1] = (uint8_t)((3 * c[k] + c[k + 1] + right) >> shift);
    }
    if ((x + n) % 2 != 0)
        *to = (uint8_t)((3 * c[last - from] + c[last - from - 1] + left) >> shift);
    return NULL;
}

static uint8_t clamped(int v)
{
    return (uint8_t)(v < 0 ? 0 : v > 255 ? 255 : v);
}

/* Shares of the differences in 65536ths: 1.402, 1.772, 0.344136, 0.714136. */
static void add_up(int y, int cb, int cr, uint8_t rgb[3])
{
    cb -= 128;
    cr -= 128;
    rgb[0] = clamped(y + ((91881 * cr + 32768) >> 16));
    rgb[1] = clamped(y + ((-22554 * cb - 46802 * cr + 32768) >> 16));
    rgb[2] = clamped(y + ((116130 * cb + 32768) >> 16));
}

static const uint8_t *rgb_row(const struct photo_held *h, int y, int x, int n, const struct row_room *room)
{
    const uint8_t *light, *blue, *red;

    if (h->rgb != NULL)
        return h->rgb + ((size_t)y * (size_t)h->stored_width + (size_t)x) * 3;
    light = h->planes[0].at + (size_t)y * (size_t)h->planes[0].pitch + x;
    blue = spread_row(h, &h->planes[1], y, x, n, room->columns, room->blue);
    red = spread_row(h, &h->planes[2], y, x, n, room->columns, room->red);
    blue = blue != NULL ? blue : room->blue;
    red = red != NULL ? red : room->red;
    for (int i = 0; i < n; i++)
        add_up(light[i], blue[i], red[i], room->rgb + 3 * i);
    return room->rgb;
}

/* ---- averages ---- */

/* How a side of n pixels falls into squares of `side`: the one that is not whole lies at the end, as displayed. */
struct squares {
    int n, first, side, length; /* pixels of the first square; the others but the last have `side`; of all */
};

static struct squares squares_of(int n, int side, bool backwards)
{
    struct squares s = {(n + side - 1) / side, side, side, n};

    if (backwards && n % side != 0)
        s.first = n % side;
    s.first = s.first < n ? s.first : n;
    return s;
}

/* The same squares where `share` pixels have one value. */
static struct squares shared_squares(const struct squares *s, int share)
{
    return (struct squares){s->n, (s->first + share - 1) / share, s->side / share, (s->length + share - 1) / share};
}

static int square_end(const struct squares *s, int i)
{
    int end = s->first + i * s->side;

    return end < s->length ? end : s->length;
}

/* In blocks of 16 so that the compiler makes vector code of it. A square is 32 values high at the most. */
static void add_values(uint16_t *restrict sums, const uint8_t *restrict from, size_t n)
{
    size_t i = 0;

    for (; i + 16 <= n; i += 16)
        for (size_t k = 0; k < 16; k++)
            sums[i + k] = (uint16_t)(sums[i + k] + from[i + k]);
    for (; i < n; i++)
        sums[i] = (uint16_t)(sums[i] + from[i]);
}

/* Of `high` rows added up: the means of squares, every `step`-th value of which is of one channel, to every 4th byte. */
static void average(const uint16_t *sums, int step, const struct squares *across, int high, uint8_t *to)
{
    for (int i = 0, x = 0; i < across->n; i++, to += 4) {
        int end = square_end(across, i), n = (end - x) * high, sum = n / 2, shift = 0;

        for (; x < end; x++)
            sum += sums[x * step];
        while (1 << shift < n)
            shift++;
        *to = (uint8_t)(1 << shift == n ? sum >> shift : sum / n); /* nearly all squares are whole: a power of two */
    }
}

/* A row of squares out of rows from .. to of the part. */
static void average_rows(const struct photo_held *h, const struct photo_region *s, int from, int to, const struct squares *across, const struct row_room *room, uint8_t *out)
{
    size_t n = (size_t)s->width * 3;

    memset(room->sums, 0, n * sizeof *room->sums);
    for (int y = from; y < to; y++)
        add_values(room->sums, rgb_row(h, s->y + y, s->x, s->width, room), n);
    for (int k = 0; k < 3; k++)
        average(room->sums + k, 3, across, to - from, out + k);
    for (int i = 0; i < across->n; i++)
        out[4 * i + 3] = 255;
}

/* The same out of planes, each by itself, where no square parts what pixels share: three times as quick. */
static void average_planes(const struct photo_held *h, const struct photo_region *s, int from, int to, const struct squares *across, const struct row_room *room, uint8_t *out)
{
    for (int k = 0; k < 3; k++) {
        const struct photo_plane *p = &h->planes[k];
        int share = k > 0 ? h->across : 1, down = k > 0 ? h->down : 1, first = (s->y + from) / down, end = (s->y + to + down - 1) / down;
        const struct squares mine = shared_squares(across, share);

        memset(room->sums, 0, (size_t)mine.length * sizeof *room->sums);
        for (int y = first; y < end; y++)
            add_values(room->sums, p->at + (size_t)y * (size_t)p->pitch + s->x / share, (size_t)mine.length);
        average(room->sums, 1, &mine, end - first, out + k);
    }
    for (int i = 0; i < across->n; i++, out += 4) {
        add_up(out[0], out[1], out[2], out);
        out[3] = 255;
    }
}

/* ---- parts ---- */

static void widen(const uint8_t *rgb, int n, uint8_t *to)
{
    for (int i = 0; i < n; i++, rgb += 3, to += 4) {
        memcpy(to, rgb, 3);
        to[3] = 255;
    }
}

/* Squares begin and end where differences do, but for the picture's own end. */
static bool fits_planes(const struct photo_held *h, const struct photo_region *s, int shrink, const struct squares *across, const struct squares *down)
{
    return h->rgb == NULL && shrink % 2 == 0 && s->x % h->across == 0 && s->y % h->down == 0 && across->first % h->across == 0 && down->first % h->down == 0 &&
           (s->width % h->across == 0 || s->x + s->width == h->stored_width) && (s->height % h->down == 0 || s->y + s->height == h->stored_height);
}

static bool make_row_room(const struct photo_region *s, struct row_room *room)
{
    const size_t n = (size_t)s->width;

    *room = (struct row_room){mem_try(n, 3), mem_try(n, 1), mem_try(n, 1), mem_try(n + 4, sizeof *room->columns), mem_try(n, 3 * sizeof *room->sums)};
    return room->rgb != NULL && room->blue != NULL && room->red != NULL && room->columns != NULL && room->sums != NULL;
}

static void release_row_room(struct row_room *room)
{
    free(room->rgb);
    free(room->blue);
    free(room->red);
    free(room->columns);
    free(room->sums);
}

bool photo_cut(const struct photo_held *h, const struct photo_region *part, int shrink, struct photo_pixels *out, struct err *e)
{
    /* the turns in which the stored picture's right, its lower end is the displayed one's left or upper */
    static const bool back_across[9] = {[2] = true, [3] = true, [7] = true, [8] = true}, back_down[9] = {[3] = true, [4] = true, [6] = true, [7] = true};
    const int turn = h->left_over > 1 ? h->left_over : 1;
    const struct photo_region s = turn == 1 ? *part : photo_region_stored(part, turn, h->stored_width, h->stored_height);
    struct squares across, down;
    struct row_room room;
    bool fine, planes;

    assert(shrink >= 1 && shrink <= 32 && part->width > 0 && part->height > 0 && photo_is_held(h));
    across = squares_of(s.width, shrink, back_across[turn]), down = squares_of(s.height, shrink, back_down[turn]);
    planes = fits_planes(h, &s, shrink, &across, &down);
    *out = (struct photo_pixels){across.n, down.n, mem_try((size_t)across.n * (size_t)down.n, 4)};
    fine = (make_row_room(&s, &room) && out->rgba != NULL) || err_set(e, ERR_LIMIT, "There is not enough memory to show the picture. Close other programs.");
    for (int i = 0, y = 0; fine && i < down.n; y = square_end(&down, i++)) {
        uint8_t *to = out->rgba + (size_t)i * (size_t)across.n * 4;

        if (shrink == 1)
            widen(rgb_row(h, s.y + y, s.x, s.width, &room), s.width, to);
        else
            (planes ? average_planes : average_rows)(h, &s, y, square_end(&down, i), &across, &room, to);
    }
    release_row_room(&room);
    fine = fine && photo_turn_upright(out, turn, e);
    if (!fine)
        photo_pixels_release(out);
    else if (h->icc != NULL)
        photo_to_srgb(out, h->icc, h->n_icc);
    return fine;
}
