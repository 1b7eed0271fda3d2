/* assets.h - the files of assets/ built into the program. */
#ifndef BASE_ASSETS_H
#define BASE_ASSETS_H

#include <stdbool.h>
#include <stddef.h>

struct asset {
    const char *name;          /* path below assets/: "torque.csv" */
    const unsigned char *data; /* a NUL stands behind the last byte */
    size_t n_bytes;
};

/* One row of the table that src/make/assets.sh writes. */
struct asset_place {
    const char *name;
    const unsigned char *data, *end;
};

bool asset_find(const char *name, struct asset *out); /* false, *out untouched, when there is none */
size_t asset_count(void);
struct asset asset_at(size_t i); /* i < asset_count() */

#endif
