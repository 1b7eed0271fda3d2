#include "report/paper.h"

#include <math.h>
#include <string.h>

#include "base/mem.h"
#include "base/text.h"
#include "report/report.h"

#define BODY_PX 13
#define SMALL_PX 11
#define CELL_X 8.0  /* between columns */
#define CELL_Y 4.0  /* above and below a cell's text */
#define WORD_MOST 110.0 /* px a column is kept wide for a long word: addresses are broken */
#define CARD_X 14.0 /* inside a card */
#define CARD_Y 8.0
#define PHOTO_GAP 12.0
#define PHOTO_LEAST 150.0 /* px a photo is wide at least */

static const struct paper_style body = {BODY_PX, false, false, INK_TEXT, DRAW_LEFT};

static struct paper_style heading_style(int depth)
{
    struct paper_style s = body;

    s.size_px = depth == 1 ? 26 : depth == 2 ? 18 : depth == 3 ? 14 : BODY_PX;
    s.bold = true;
    return s;
}

static struct paper_style toned(enum content_tone tone)
{
    struct paper_style s = body;

    s.rgb = tone == TONE_SOFT ? INK_SOFT : INK_TEXT;
    s.bold = tone == TONE_STRONG;
    return s;
}

static struct paper_style cell_style(const struct content_block *b, int column, enum content_tone tone)
{
    struct paper_style s = toned(column == b->head_column ? TONE_STRONG : tone);

    s.tabular = true;
    if ((b->numbers >> column & 1) != 0)
        s.align = DRAW_RIGHT;
    return s;
}

static struct paper_style head_style(const struct content_block *b, int column)
{
    return (struct paper_style){SMALL_PX, true, false, INK_SOFT, (b->numbers >> column & 1) != 0 ? DRAW_RIGHT : DRAW_LEFT};
}

/* ---- columns ---- */

static double longest_word(const struct paper_pen *pen, const char *s, const struct paper_style *style)
{
    double most = 0;
    char word[128];

    while (*s != '\0') {
        size_t n = strcspn(s, " \n");

        text_format(word, sizeof word, "%.*s", (int)(n < 100 ? n : 100), s);
        most = fmax(most, pen->text_width(pen->ctx, word, style));
        s += n + (s[n] != '\0');
    }
    return most;
}

/* Each column gets an even share, but no more than it would like and no less than its longest word; the share is
 * the one that fills the room. w: wanted, becomes what each gets. */
static void share_out(int n, double *w, const double *least, double room)
{
    double low = 0, high = room;

    for (int i = 0; i < 40; i++) { /* halved until it is nothing of a pixel */
        double share = (low + high) / 2, sum = 0;

        for (int k = 0; k < n; k++)
            sum += fmin(w[k], fmax(least[k], share));
        if (sum > room)
            high = share;
        else
            low = share;
    }
    for (int k = 0; k < n; k++)
        w[k] = fmin(w[k], fmax(least[k], low));
}

/* As wide as their longest line where all fit, else see above. */
static double *columns_of(const struct paper_pen *pen, const struct content_block *b, double width, struct arena *a)
{
    double *w = arena_alloc(a, (size_t)b->n_columns, sizeof *w), *least = arena_alloc(a, (size_t)b->n_columns, sizeof *least), sum = 0, sum_least = 0, room;

    for (int k = 0; k < b->n_columns; k++) {
        if (b->heads != NULL) {
            struct paper_style style = head_style(b, k);

            w[k] = pen->text_width(pen->ctx, b->heads[k], &style);
            least[k] = longest_word(pen, b->heads[k], &style);
        }
        for (size_t i = (size_t)k; i < b->n_lines; i += (size_t)b->n_columns) {
            struct paper_style style = cell_style(b, k, b->lines[i].tone);

            w[k] = fmax(w[k], pen->text_width(pen->ctx, b->lines[i].text, &style));
            least[k] = fmax(least[k], (b->whole >> k & 1) != 0 ? pen->text_width(pen->ctx, b->lines[i].text, &style) : longest_word(pen, b->lines[i].text, &style));
        }
        w[k] = ceil(w[k]) + 1;
        least[k] = fmin(ceil(least[k]) + 1, (b->whole >> k & 1) != 0 ? width / 2 : WORD_MOST);
        sum += w[k];
        sum_least += least[k];
    }
    room = width - CELL_X * (b->n_columns - 1);
    if (sum <= room) {
        if (b->kind == CONTENT_TABLE)
            w[b->n_columns - 1] += (b->numbers >> (b->n_columns - 1) & 1) != 0 ? 0 : room - sum;
        return w;
    }
    if (sum_least >= room) {
        for (int k = 0; k < b->n_columns; k++)
            w[k] = least[k] * room / sum_least;
        return w;
    }
    share_out(b->n_columns, w, least, room);
    return w;
}

static double row_height(const struct paper_pen *pen, const struct paper_piece *p)
{
    const struct content_block *b = p->block;
    double h = 0;

    for (int k = 0; k < b->n_columns; k++) {
        struct paper_style style = p->n == 0 ? head_style(b, k) : cell_style(b, k, b->lines[p->first + (size_t)k].tone);

        h = fmax(h, pen->text(pen->ctx, 0, 0, p->columns[k], p->n == 0 ? b->heads[k] : b->lines[p->first + (size_t)k].text, &style, false));
    }
    return h + (b->kind == CONTENT_TABLE ? 2 * CELL_Y + 1 : 3);
}

/* ---- pieces ---- */

static double card_height(const struct paper_pen *pen, const struct content_block *b, double width)
{
    struct paper_style style = heading_style(4);
    double h = 2 * CARD_Y + pen->text(pen->ctx, 0, 0, width - 2 * CARD_X - 24, b->text, &style, false);

    for (size_t i = 0; i < b->n_lines; i++) {
        style = toned(b->lines[i].tone);
        h += 3 + pen->text(pen->ctx, 0, 0, width - 2 * CARD_X, b->lines[i].text, &style, false);
    }
    return h;
}

static int photos_in_row(double width)
{
    int n = (int)((width + PHOTO_GAP) / (PHOTO_LEAST + PHOTO_GAP));

    return n < 1 ? 1 : n > 4 ? 4 : n;
}

static double photo_width(double width)
{
    int n = photos_in_row(width);

    return (width - PHOTO_GAP * (n - 1)) / n;
}

static double photo_height(const struct report_picture *p, double w)
{
    return !p->fine || p->width <= 0 ? w * 0.4 : fmin(w * p->height / p->width, w * 1.34);
}

static double photos_height(const struct paper_pen *pen, const struct paper_piece *p, double width)
{
    struct paper_style caption = {SMALL_PX, false, false, INK_TEXT, DRAW_LEFT};
    double w = photo_width(width), h = 0, words = 0;

    for (size_t i = p->first; i < p->first + p->n; i++) {
        h = fmax(h, photo_height(p->block->pictures[i], w));
        words = fmax(words, pen->text(pen->ctx, 0, 0, w, p->block->lines[i].text, &caption, false));
    }
    return h + 4 + words;
}

static struct paper_piece *add(struct paper *out, struct arena *a, const struct content_block *b, size_t first, size_t n, double before)
{
    struct paper_piece *p = arena_push(a, (void **)&out->pieces, &out->n_pieces, &out->n_room, sizeof *p);

    *p = (struct paper_piece){.block = b, .first = first, .n = n, .before = before, .scale = 1};
    return p;
}

static void lay_rows(const struct paper_pen *pen, struct paper *out, const struct content_block *b, struct arena *a)
{
    double *columns = columns_of(pen, b, out->width, a);
    struct paper_piece *p;

    if (b->heads != NULL) {
        p = add(out, a, b, 0, 0, 4);
        p->columns = columns;
        p->keep = true;
        p->height = row_height(pen, p);
    }
    for (size_t i = 0; i + (size_t)b->n_columns <= b->n_lines; i += (size_t)b->n_columns) {
        p = add(out, a, b, i, (size_t)b->n_columns, i == 0 && b->heads == NULL ? 4 : 0);
        p->columns = columns;
        p->height = row_height(pen, p);
    }
}

static void lay_block(const struct paper_pen *pen, struct paper *out, const struct content_block *b, double highest, struct arena *a)
{
    struct paper_style style;
    struct paper_piece *p;
    size_t per;

    switch (b->kind) {
    case CONTENT_HEADING:
        style = heading_style(b->depth);
        p = add(out, a, b, 0, 0, b->depth == 1 ? 0 : b->depth == 2 ? 24 : 14);
        p->keep = true;
        p->height = pen->text(pen->ctx, 0, 0, out->width, b->text, &style, false) + (b->depth == 2 ? 8 : 3);
        break;
    case CONTENT_TEXT:
        style = toned(b->tone);
        p = add(out, a, b, 0, 0, 4);
        p->height = pen->text(pen->ctx, 0, 0, out->width, b->text, &style, false);
        break;
    case CONTENT_ALERT:
        style = toned(TONE_STRONG);
        p = add(out, a, b, 0, 0, 8);
        p->height = pen->text(pen->ctx, 0, 0, out->width - 2 * CARD_X - 24, b->text, &style, false) + 2 * CARD_Y;
        break;
    case CONTENT_CARD:
        p = add(out, a, b, 0, 0, 8);
        p->height = card_height(pen, b, out->width);
        break;
    case CONTENT_LIST:
        for (size_t i = 0; i < b->n_lines; i++) {
            p = add(out, a, b, i, 1, 4);
            p->height = pen->text(pen->ctx, 0, 0, out->width - 16, b->lines[i].text, &body, false);
        }
        break;
    case CONTENT_FACTS:
    case CONTENT_TABLE: lay_rows(pen, out, b, a); break;
    case CONTENT_DRAWING:
        p = add(out, a, b, 0, 0, 8);
        p->scale = fmin(1, out->width / b->drawing->width);
        if (highest > 0)
            p->scale = fmin(p->scale, (highest - 60) / b->drawing->height);
        p->height = b->drawing->height * p->scale;
        break;
    case CONTENT_PHOTOS:
        per = (size_t)photos_in_row(out->width);
        for (size_t i = 0; i < b->n_lines; i += per) {
            p = add(out, a, b, i, b->n_lines - i < per ? b->n_lines - i : per, i == 0 ? 8 : 14);
            p->height = photos_height(pen, p, out->width);
        }
        break;
    }
}

static bool is_picture(const struct paper_piece *p)
{
    return p->block->kind == CONTENT_DRAWING || p->block->kind == CONTENT_PHOTOS;
}

static void scale_to(struct paper_piece *p, double scale)
{
    p->scale = scale;
    p->height = p->block->drawing->height * scale;
}

/* What is said of a picture between its heading and it goes to no other page than the picture. */
static void keep_with_picture(struct paper *p, double highest)
{
    for (size_t i = 1; i + 1 < p->n_pieces; i++) {
        struct paper_piece *said = &p->pieces[i], *picture = &p->pieces[i + 1];
        double h;

        if (!said[-1].keep || said->block->kind != CONTENT_TEXT || !is_picture(picture))
            continue;
        said->keep = true;
        h = said[-1].height + said->before + said->height + picture->before;
        if (highest > 0 && picture->block->kind == CONTENT_DRAWING && h + picture->height > highest)
            scale_to(picture, (highest - h) / picture->block->drawing->height);
    }
}

void paper_lay(const struct paper_pen *pen, const struct content *c, double width, double highest, struct arena *a, struct paper *out)
{
    *out = (struct paper){.width = width};
    for (size_t i = 0; i < c->n_blocks; i++)
        lay_block(pen, out, &c->blocks[i], highest, a);
    keep_with_picture(out, highest);
    for (size_t i = 0; i < out->n_pieces; i++) {
        struct paper_piece *p = &out->pieces[i];

        p->y = out->height + p->before;
        out->height = p->y + p->height;
    }
}

#define FOOT_PX 56.0  /* of a part that begins at the foot of a page, at least */
#define LINES_PX 60.0 /* what is higher is no line, and may begin a page */

double paper_together(const struct paper *p, size_t piece)
{
    const bool heading = p->pieces[piece].keep;
    double h = p->pieces[piece].height, behind = 0;

    while (p->pieces[piece].keep && piece + 1 < p->n_pieces) {
        piece++;
        behind = p->pieces[piece].height;
        h += p->pieces[piece].before + behind;
    }
    /* lines, up to another heading; a table's head with the row below it */
    while (heading && (behind < FOOT_PX || p->pieces[piece].keep) && piece + 1 < p->n_pieces) {
        const struct paper_piece *next = &p->pieces[piece + 1];

        if (next->keep ? next->columns == NULL : next->height >= LINES_PX && !p->pieces[piece].keep)
            break;
        piece++;
        behind += p->pieces[piece].before + p->pieces[piece].height;
        h += p->pieces[piece].before + p->pieces[piece].height;
    }
    return h;
}

#define LEAST_SCALE 0.73 /* of a drawing: its words of 11 px are 6 pt then */

bool paper_shrink(struct paper *p, size_t piece, double room)
{
    const double over = paper_together(p, piece) - room;
    size_t last = piece;
    double scale;

    while (p->pieces[last].keep && last + 1 < p->n_pieces)
        last++;
    if (p->pieces[last].block->kind != CONTENT_DRAWING)
        return false;
    scale = (p->pieces[last].height - over) / p->pieces[last].block->drawing->height;
    if (scale < LEAST_SCALE || scale > p->pieces[last].scale)
        return false;
    scale_to(&p->pieces[last], scale);
    return true;
}

const struct paper_piece *paper_head_of(const struct paper *p, size_t piece)
{
    const struct content_block *b = p->pieces[piece].block;

    if (b->kind != CONTENT_TABLE || b->heads == NULL || p->pieces[piece].n == 0)
        return NULL;
    while (p->pieces[piece].n != 0)
        piece--;
    return &p->pieces[piece];
}

/* ---- drawing ---- */

static void mark(const struct paper_pen *pen, double x, double y, enum level level, uint32_t rgb)
{
    double triangle[] = {x, y - 6, x + 7, y + 6, x - 7, y + 6}, diamond[] = {x, y - 7, x + 7, y, x, y + 7, x - 7, y};

    if (level >= LEVEL_ACT)
        pen->polygon(pen->ctx, triangle, 3, rgb);
    else if (level == LEVEL_WATCH)
        pen->polygon(pen->ctx, diamond, 4, rgb);
    else if (level == LEVEL_NOTE)
        pen->disc(pen->ctx, x, y, 5, rgb);
}

static uint32_t level_rgb(enum level level)
{
    return level >= LEVEL_ACT ? INK_ACT : level == LEVEL_WATCH ? INK_WATCH : level == LEVEL_NOTE ? INK_NOTE : 0xb8b8b8;
}

static void draw_card(const struct paper_pen *pen, const struct paper_piece *p, double width, double x, double y)
{
    const struct content_block *b = p->block;
    struct paper_style style = heading_style(4);
    double in = x + CARD_X + (b->level != LEVEL_NONE ? 22 : 0);

    pen->box(pen->ctx, x, y, width, p->height, 0, INK_CARD);
    pen->box(pen->ctx, x, y, 5, p->height, 0, level_rgb(b->level));
    y += CARD_Y;
    mark(pen, x + CARD_X + 7, y + 9, b->level, level_rgb(b->level));
    y += pen->text(pen->ctx, in, y, width - 2 * CARD_X - 24, b->text, &style, true);
    for (size_t i = 0; i < b->n_lines; i++) {
        style = toned(b->lines[i].tone);
        y += 3 + pen->text(pen->ctx, x + CARD_X, y + 3, width - 2 * CARD_X, b->lines[i].text, &style, true);
    }
}

static void draw_row(const struct paper_pen *pen, const struct paper_piece *p, double width, double x, double y)
{
    const struct content_block *b = p->block;
    double top = y + (b->kind == CONTENT_TABLE ? CELL_Y : 0), at = x;

    for (int k = 0; k < b->n_columns; k++) {
        struct paper_style style = p->n == 0 ? head_style(b, k) : cell_style(b, k, b->lines[p->first + (size_t)k].tone);

        pen->text(pen->ctx, at, top, p->columns[k], p->n == 0 ? b->heads[k] : b->lines[p->first + (size_t)k].text, &style, true);
        at += p->columns[k] + CELL_X;
    }
    if (b->kind == CONTENT_TABLE)
        pen->line(pen->ctx, x, y + p->height - 0.5, x + width, y + p->height - 0.5, 1, false, INK_LINE);
}

static void draw_shape(const struct paper_pen *pen, const struct drawing_shape *s, double x, double y, double k)
{
    struct paper_style style = {s->size_px * k, s->bold, true, s->rgb, s->align};
    double points[64];

    switch (s->kind) {
    case DRAW_BOX: pen->box(pen->ctx, x + s->x * k, y + s->y * k, s->w * k, s->h * k, s->radius * k, s->rgb); break;
    case DRAW_DISC: pen->disc(pen->ctx, x + s->x * k, y + s->y * k, s->radius * k, s->rgb); break;
    case DRAW_RING: pen->ring(pen->ctx, x + s->x * k, y + s->y * k, s->radius * k, s->width * k, s->from_deg, s->to_deg, s->rgb); break;
    case DRAW_LINE: pen->line(pen->ctx, x + s->x * k, y + s->y * k, x + s->w * k, y + s->h * k, s->width * k, s->dashed, s->rgb); break;
    case DRAW_POLYGON:
        for (int i = 0; i < s->n_points && i < 32; i++) {
            points[2 * i] = x + s->points[2 * i] * k;
            points[2 * i + 1] = y + s->points[2 * i + 1] * k;
        }
        pen->polygon(pen->ctx, points, s->n_points < 32 ? s->n_points : 32, s->rgb);
        break;
    case DRAW_TEXT: pen->words(pen->ctx, x + s->x * k, y + s->y * k, s->text, &style); break;
    case DRAW_PHOTO:
        pen->picture(pen->ctx, x + (s->x - s->radius) * k, y + (s->y - s->radius) * k, 2 * s->radius * k, 2 * s->radius * k, s->photo, true);
        break;
    case DRAW_LAYER:
    case DRAW_LAYER_END:
        if (pen->layer != NULL)
            pen->layer(pen->ctx, s->share);
        break;
    }
}

static void draw_drawing(const struct paper_pen *pen, const struct paper_piece *p, double x, double y)
{
    const struct drawing *d = p->block->drawing;

    if (d->desk)
        pen->box(pen->ctx, x, y, d->width * p->scale, d->height * p->scale, 8, INK_DESK);
    for (size_t i = 0; i < d->n_shapes; i++)
        draw_shape(pen, &d->shapes[i], x, y, p->scale);
}

static void draw_photos(const struct paper_pen *pen, const struct paper_piece *p, double width, double x, double y)
{
    struct paper_style caption = {SMALL_PX, false, false, INK_TEXT, DRAW_LEFT}, soft = toned(TONE_SOFT);
    double w = photo_width(width), highest = 0;

    for (size_t i = p->first; i < p->first + p->n; i++)
        highest = fmax(highest, photo_height(p->block->pictures[i], w));
    for (size_t i = p->first; i < p->first + p->n; i++) {
        const struct report_picture *q = p->block->pictures[i];
        double h = photo_height(q, w), wide = q->fine && q->width > 0 ? fmin(w, h * q->width / q->height) : w;

        if (q->fine)
            pen->picture(pen->ctx, x + (w - wide) / 2, y + highest - h, wide, h, q, false);
        else
            pen->text(pen->ctx, x, y + highest - h, w, "This photo cannot be shown.", &soft, true);
        pen->text(pen->ctx, x, y + highest + 4, w, p->block->lines[i].text, &caption, true);
        x += w + PHOTO_GAP;
    }
}

void paper_draw(const struct paper_pen *pen, const struct paper *paper, const struct paper_piece *p, double x, double y)
{
    const struct content_block *b = p->block;
    struct paper_style style;

    switch (b->kind) {
    case CONTENT_HEADING:
        style = heading_style(b->depth);
        pen->text(pen->ctx, x, y, paper->width, b->text, &style, true);
        if (b->depth == 2)
            pen->line(pen->ctx, x, y + p->height - 3, x + paper->width, y + p->height - 3, 1, false, INK_LINE);
        break;
    case CONTENT_TEXT:
        style = toned(b->tone);
        pen->text(pen->ctx, x, y, paper->width, b->text, &style, true);
        break;
    case CONTENT_ALERT:
        style = toned(TONE_STRONG);
        style.rgb = b->level >= LEVEL_ACT ? INK_WHITE : INK_TEXT;
        pen->box(pen->ctx, x, y, paper->width, p->height, 6, level_rgb(b->level));
        mark(pen, x + CARD_X + 5, y + p->height / 2, b->level, style.rgb);
        pen->text(pen->ctx, x + CARD_X + 22, y + CARD_Y, paper->width - 2 * CARD_X - 24, b->text, &style, true);
        break;
    case CONTENT_CARD: draw_card(pen, p, paper->width, x, y); break;
    case CONTENT_LIST:
        pen->disc(pen->ctx, x + 5, y + 9, 2, INK_TEXT);
        pen->text(pen->ctx, x + 16, y, paper->width - 16, b->lines[p->first].text, &body, true);
        break;
    case CONTENT_FACTS:
    case CONTENT_TABLE: draw_row(pen, p, paper->width, x, y); break;
    case CONTENT_DRAWING: draw_drawing(pen, p, x, y); break;
    case CONTENT_PHOTOS: draw_photos(pen, p, paper->width, x, y); break;
    }
}
