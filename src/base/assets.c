#include "base/assets.h"

#include <string.h>

/* Written by src/make/assets.sh from the files of assets/. */
extern const struct asset_place asset_places[];
extern const size_t asset_n_places;

size_t asset_count(void)
{
    return asset_n_places;
}

struct asset asset_at(size_t i)
{
    const struct asset_place *p = &asset_places[i];

    return (struct asset){p->name, p->data, (size_t)(p->end - p->data)};
}

bool asset_find(const char *name, struct asset *out)
{
    for (size_t i = 0; i < asset_n_places; i++) {
        if (strcmp(asset_places[i].name, name) == 0) {
            *out = asset_at(i);
            return true;
        }
    }
    return false;
}
