#include "base/assets.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/csv.h"
#include "base/err.h"

/* Written by src/make/assets.sh from the files of assets/. */
extern const struct asset_place asset_places[];
extern const size_t asset_n_places;

bool asset_find(const char *name, struct asset *out)
{
    for (size_t i = 0; i < asset_n_places; i++) {
        const struct asset_place *p = &asset_places[i];

        if (strcmp(p->name, name) == 0) {
            *out = (struct asset){p->name, p->data, (size_t)(p->end - p->data)};
            return true;
        }
    }
    return false;
}

bool asset_table(const char *name, struct csv *out, struct err *e)
{
    struct asset a;

    if (!asset_find(name, &a))
        return err_set(e, ERR_NOTFOUND, "the built-in table %s is missing; build Sootbook again", name);
    return csv_parse((const char *)a.data, a.n_bytes, ',', out, e) || err_wrap(e, "%s", name);
}

void asset_table_must(const char *name, size_t most_rows, struct csv *out)
{
    struct err e = {0};

    if (asset_table(name, out, &e) && out->n_rows <= most_rows)
        return;
    fprintf(stderr, "sootbook: %s cannot be used: %s\n", name, e.code != ERR_NONE ? e.text : "it has more rows than there is room for");
    abort();
}
