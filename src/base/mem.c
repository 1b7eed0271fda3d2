#include "base/mem.h"

#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static void stop(size_t n_items, size_t n_bytes_each)
{
    fprintf(stderr,
            "sootbook: out of memory (%zu × %zu bytes). Everything acknowledged is on disk.\n",
            n_items, n_bytes_each);
    abort();
}

void *mem_try(size_t n_items, size_t n_bytes_each)
{
    if (n_bytes_each != 0 && n_items > SIZE_MAX / n_bytes_each)
        return NULL;
    return calloc(n_items ? n_items : 1, n_bytes_each ? n_bytes_each : 1);
}

void *mem_alloc(size_t n_items, size_t n_bytes_each)
{
    void *p = mem_try(n_items, n_bytes_each);

    if (p == NULL)
        stop(n_items, n_bytes_each);
    return p;
}

void *mem_resize(void *p, size_t n_items, size_t n_bytes_each)
{
    size_t n_bytes;
    void *q;

    if (n_bytes_each != 0 && n_items > SIZE_MAX / n_bytes_each)
        stop(n_items, n_bytes_each);
    n_bytes = n_items * n_bytes_each;
    q = realloc(p, n_bytes ? n_bytes : 1);
    if (q == NULL)
        stop(n_items, n_bytes_each);
    return q;
}

char *mem_copy_text(const char *text)
{
    size_t n_bytes;
    char *copy;

    if (text == NULL)
        return NULL;
    n_bytes = strlen(text) + 1;
    copy = mem_alloc(n_bytes, 1);
    memcpy(copy, text, n_bytes);
    return copy;
}

/* ---- arena ---- */

#define BLOCK_BYTES ((size_t)32 * 1024)
#define ALIGN _Alignof(max_align_t)

struct block {
    struct block *next;
    size_t n_bytes, used;
    _Alignas(max_align_t) unsigned char data[];
};

struct arena {
    struct block *first; /* the one being filled */
};

static struct block *block_create(size_t n_bytes)
{
    struct block *b;

    if (n_bytes > SIZE_MAX - sizeof *b)
        stop(1, n_bytes);
    b = malloc(sizeof *b + n_bytes);
    if (b == NULL)
        stop(1, n_bytes);
    b->next = NULL;
    b->n_bytes = n_bytes;
    b->used = 0;
    return b;
}

struct arena *arena_create(void)
{
    struct arena *a = mem_alloc(1, sizeof *a);

    a->first = block_create(BLOCK_BYTES);
    return a;
}

void arena_destroy(struct arena *a)
{
    if (a == NULL)
        return;
    for (struct block *b = a->first; b != NULL;) {
        struct block *next = b->next;

        free(b);
        b = next;
    }
    free(a);
}

void arena_reset(struct arena *a)
{
    struct block *keep = NULL;

    for (struct block *b = a->first; b != NULL;) {
        struct block *next = b->next;

        if (keep == NULL && b->n_bytes == BLOCK_BYTES) {
            keep = b;
            keep->next = NULL;
            keep->used = 0;
        } else {
            free(b);
        }
        b = next;
    }
    a->first = keep != NULL ? keep : block_create(BLOCK_BYTES);
}

void *arena_alloc(struct arena *a, size_t n_items, size_t n_bytes_each)
{
    size_t n_bytes;
    struct block *b = a->first;
    void *p;

    if (n_bytes_each != 0 && n_items > (SIZE_MAX - ALIGN) / n_bytes_each)
        stop(n_items, n_bytes_each);
    n_bytes = (n_items * n_bytes_each + ALIGN - 1) / ALIGN * ALIGN;
    if (n_bytes > b->n_bytes - b->used) {
        struct block *fresh = block_create(n_bytes > BLOCK_BYTES / 4 ? n_bytes : BLOCK_BYTES);

        if (n_bytes > BLOCK_BYTES / 4) { /* large: a block of its own behind the one being filled */
            fresh->next = b->next;
            b->next = fresh;
        } else {
            fresh->next = b;
            a->first = fresh;
        }
        b = fresh;
    }
    p = b->data + b->used;
    b->used += n_bytes;
    memset(p, 0, n_bytes);
    return p;
}

void *arena_push(struct arena *a, void **items, size_t *n, size_t *n_room, size_t n_bytes_each)
{
    if (*n == *n_room) {
        size_t more = *n_room ? *n_room * 2 : 16;
        void *bigger = arena_alloc(a, more, n_bytes_each);

        if (*n > 0)
            memcpy(bigger, *items, *n * n_bytes_each);
        *n_room = more;
        *items = bigger;
    }
    return (char *)*items + (*n)++ * n_bytes_each;
}

void *arena_join(struct arena *a, const void *first, size_t n_first, const void *second, size_t n_second, size_t n_bytes_each)
{
    char *all = arena_alloc(a, n_first + n_second + 1, n_bytes_each);

    if (n_first > 0)
        memcpy(all, first, n_first * n_bytes_each);
    if (n_second > 0)
        memcpy(all + n_first * n_bytes_each, second, n_second * n_bytes_each);
    return all;
}

char *arena_text(struct arena *a, const char *text)
{
    size_t n_bytes;
    char *copy;

    if (text == NULL)
        return NULL;
    n_bytes = strlen(text) + 1;
    copy = arena_alloc(a, n_bytes, 1);
    memcpy(copy, text, n_bytes);
    return copy;
}

char *arena_format(struct arena *a, const char *fmt, ...)
{
    va_list args, again;
    int n;
    char *s;

    va_start(args, fmt);
    va_copy(again, args);
    n = vsnprintf(NULL, 0, fmt, args);
    va_end(args);
    s = arena_alloc(a, (size_t)(n < 0 ? 0 : n) + 1, 1);
    if (n >= 0)
        vsnprintf(s, (size_t)n + 1, fmt, again);
    va_end(again);
    return s;
}
