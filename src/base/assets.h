/* assets.h - the files of assets/ built into the program. */
#ifndef BASE_ASSETS_H
#define BASE_ASSETS_H

#include <stdbool.h>
#include <stddef.h>

struct csv;
struct err;

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
/* A built-in table of commas; csv_release() it. Fails only in a build that is not sound. */
bool asset_table(const char *name, struct csv *out, struct err *e);
/* The same of a table the program does not run without: says why and aborts where it cannot be read or has more rows than there is room
 * for, the heading counted. */
void asset_table_must(const char *name, size_t most_rows, struct csv *out);

#endif
