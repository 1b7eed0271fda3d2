/* cache.h - thumbnails, previews and plugs cut out of photos in cache.db beside the logbook. Everything in it can be made
 * again: a missing or damaged file is started afresh without a word. */
#ifndef LOGBOOK_CACHE_H
#define LOGBOOK_CACHE_H

#include <stdbool.h>
#include <stddef.h>

struct cache;

/* 256 px, 1280 px on the longer side; a plug cut out of the photo (lineup_cut_pack()) */
enum cache_kind { CACHE_THUMB, CACHE_PREVIEW, CACHE_TIP, CACHE_SIDE };

/* folder: the logbook's. Where it cannot be written (read-only medium), pictures are kept in memory
 * for this run. Never fails. One struct cache for each thread. */
struct cache *cache_open(const char *folder);
void cache_close(struct cache *c); /* NULL is fine */
/* JPEG bytes, malloc'd; false when it is not there. version: of the way pictures are made; others are
 * as good as absent. */
bool cache_get(struct cache *c, const char *sha256, enum cache_kind kind, int version, unsigned char **jpeg,
               size_t *n_bytes);
void cache_put(struct cache *c, const char *sha256, enum cache_kind kind, int version, const unsigned char *jpeg,
               size_t n_bytes);

#endif
