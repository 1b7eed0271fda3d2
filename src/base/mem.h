/* mem.h - allocation. Small allocations that fail end the program with the size asked for:
 * committed records are safe on disk, and callers stay free of branches nobody can test. Pixel
 * buffers and whole files use mem_try(), which may give NULL. */
#ifndef BASE_MEM_H
#define BASE_MEM_H

#include <stddef.h>

void *mem_alloc(size_t n_items, size_t n_bytes_each); /* zeroed; never NULL */
void *mem_resize(void *p, size_t n_items, size_t n_bytes_each); /* new part not zeroed */
void *mem_try(size_t n_items, size_t n_bytes_each); /* zeroed, or NULL (also when the product overflows) */
char *mem_copy_text(const char *text); /* text may be NULL: gives NULL */

/* An arena: everything in it is freed at once. The parameter shows the lifetime: a function that
 * takes a struct arena * gives back memory that lives as long as that arena. */
struct arena;
struct arena *arena_create(void);
void arena_destroy(struct arena *a); /* NULL is fine */
void arena_reset(struct arena *a);   /* frees what was allocated, keeps one block */
void *arena_alloc(struct arena *a, size_t n_items, size_t n_bytes_each); /* zeroed, aligned for anything */
/* Adds one zeroed item to an array in the arena and gives it; *items, *n and *n_room start as NULL, 0, 0. */
void *arena_push(struct arena *a, void **items, size_t *n, size_t *n_room, size_t n_bytes_each);
/* Two arrays one behind the other, as one. */
void *arena_join(struct arena *a, const void *first, size_t n_first, const void *second, size_t n_second, size_t n_bytes_each);
char *arena_text(struct arena *a, const char *text); /* NULL gives NULL */
char *arena_format(struct arena *a, const char *fmt, ...) __attribute__((format(printf, 2, 3)));

#endif
