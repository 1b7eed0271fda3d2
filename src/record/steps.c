#include "record/steps.h"

#include <pthread.h>
#include <string.h>

#include "base/assets.h"
#include "base/csv.h"
#include "base/text.h"

#define MOST_ROWS 64

struct carried {
    char key[24], words[120];
    enum step_carry carry;
    bool runs;
};

static pthread_once_t once = PTHREAD_ONCE_INIT;
static struct carried rows[MOST_ROWS];
static int n_rows;

const char *step_carry_id(enum step_carry c)
{
    static const char *const ids[] = {"stays", "until-run", "over"};

    _Static_assert(sizeof ids / sizeof ids[0] == STEP_CARRY_COUNT, "one word for each");
    return ids[c];
}

static void load(void)
{
    struct csv c;

    asset_table_must("job-steps.csv", MOST_ROWS, &c);
    for (size_t i = 1; i < c.n_rows; i++) {
        struct carried *r = &rows[n_rows++];

        text_copy(r->key, sizeof r->key, csv_named(&c, i, "key"));
        text_copy(r->words, sizeof r->words, csv_named(&c, i, "carry_words"));
        r->runs = strcmp(csv_named(&c, i, "does"), "run") == 0;
        for (int k = 0; k < STEP_CARRY_COUNT; k++)
            if (strcmp(csv_named(&c, i, "carry"), step_carry_id((enum step_carry)k)) == 0)
                r->carry = (enum step_carry)k;
    }
    csv_release(&c);
}

static const struct carried *row_of(const char *source)
{
    size_t n = strcspn(source, "@");

    pthread_once(&once, load);
    for (int i = 0; n > 0 && i < n_rows; i++)
        if (strlen(rows[i].key) == n && strncmp(rows[i].key, source, n) == 0)
            return &rows[i];
    return NULL;
}

enum step_carry step_carry(const char *source)
{
    const struct carried *r = row_of(source);

    return r != NULL ? r->carry : STEP_STAYS;
}

const char *step_carry_words(const char *source)
{
    const struct carried *r = row_of(source);

    return r != NULL ? r->words : "";
}

bool step_runs(const char *source)
{
    const struct carried *r = row_of(source);

    return r != NULL && r->runs;
}
