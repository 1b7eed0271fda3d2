#include "reading/codes.h"

#include <assert.h>
#include <pthread.h>
#include <stdint.h>
#include <string.h>

#include "base/assets.h"
#include "base/csv.h"
#include "base/text.h"

#define COUNT(a) (sizeof(a) / sizeof((a)[0]))
#define BIT(i) ((engine_set)1 << (i))

static const char *const kinds[] = {"", "misfire", "misfire-any", "coil", "coil-any", "injector", "lean", "rich", "idle-high"};
_Static_assert(COUNT(kinds) == CODE_KIND_COUNT, "an id for each kind");

static struct csv table;
static pthread_once_t once = PTHREAD_ONCE_INIT;

static void load(void)
{
    asset_table_must("codes.csv", SIZE_MAX, &table);
}

const char *code_kind_id(enum code_kind k)
{
    return kinds[k];
}

int code_kind_find(const char *id)
{
    for (size_t i = 1; i < COUNT(kinds); i++)
        if (strcmp(kinds[i], id) == 0)
            return (int)i;
    return -1;
}

static engine_set cylinder_set(const struct engine *en, const char *label)
{
    int c = engine_find_cylinder(en, label);

    return c >= 0 ? BIT(c) : 0;
}

/* Coil A is cylinder 1's, or the first shared coil. */
static engine_set coil_set(const struct engine *en, char letter)
{
    int n = letter - 'A';
    char label[8];

    if (en->n_coil_groups > 0)
        return n < en->n_coil_groups ? en->coil_groups[n] : 0;
    text_format(label, sizeof label, "%d", n + 1);
    return cylinder_set(en, label);
}

/* Bank 1 is the one with cylinder 1; on an engine of one bank there is no other. */
static engine_set bank_set(const struct engine *en, char number)
{
    int one = engine_find_cylinder(en, "1");

    if (one < 0 || en->n_banks > 2)
        return 0;
    if (number == '1')
        return engine_bank_set(en, en->cylinders[one].bank);
    return en->n_banks == 2 ? engine_bank_set(en, 1 - en->cylinders[one].bank) : 0;
}

struct code code_read(const struct engine *en, const char *code)
{
    struct code out = {0};

    pthread_once(&once, load);
    for (size_t row = 1; row < table.n_rows; row++) {
        const char *place = csv_named(&table, row, "place");
        int kind;

        if (strcmp(csv_named(&table, row, "code"), code) != 0)
            continue;
        kind = code_kind_find(csv_named(&table, row, "kind"));
        assert(kind > 0);
        out.kind = (enum code_kind)kind;
        text_copy(out.meaning, sizeof out.meaning, csv_named(&table, row, "meaning"));
        if (out.kind == CODE_COIL)
            out.cylinders = coil_set(en, place[0]);
        else if (out.kind == CODE_LEAN || out.kind == CODE_RICH)
            out.cylinders = bank_set(en, place[0]);
        else if (place[0] != '\0')
            out.cylinders = cylinder_set(en, place);
        break;
    }
    return out;
}
