/* photo_log.h - a logbook with one photo, for the tests of what is kept of a photo. Behind cmocka.h. */
#ifndef TESTS_LOGBOOK_PHOTO_LOG_H
#define TESTS_LOGBOOK_PHOTO_LOG_H

#include <stdlib.h>
#include <string.h>

#include "base/err.h"
#include "base/mem.h"
#include "base/text.h"
#include "logbook/logbook.h"
#include "../help/help.h"

static char visit[UUID_BYTES], engine[UUID_BYTES], photo[UUID_BYTES];

static bool four(struct engine *en, const char *banks, const char *firing)
{
    struct err e = {0};

    engine_init(en);
    return engine_parse_banks(en, banks, &e) && engine_parse_firing(en, firing, &e) && engine_finish(en, &e);
}

/* In `folder`, of a straight four with one visit; the photo is of the cylinder with this index. */
static struct logbook *begun(int cylinder)
{
    struct engine en;
    struct visit *v = mem_alloc(1, sizeof *v);
    struct logbook_photo p = {.name = "a.jpg", .format = "jpg", .cylinder = cylinder, .width = 4000, .height = 3000};
    struct err e = {0};
    struct logbook *lb;

    assert_true(logbook_create(folder, &e));
    lb = logbook_open(folder, LOGBOOK_WRITE, &e);
    assert_non_null(lb);
    assert_true(four(&en, "1 2 3 4", "1 3 4 2"));
    visit_init(v, &en);
    uuid_make(engine);
    uuid_make(visit);
    uuid_make(photo);
    memset(p.sha256, 'a', 64);
    text_copy(p.id, sizeof p.id, photo);
    text_copy(p.visit, sizeof p.visit, visit);
    if (!logbook_begin(lb, "All", &e) || !logbook_put_engine(lb, engine, &en, &e) || !logbook_put_visit(lb, visit, engine, &en, v, &e) ||
        !logbook_put_photo(lb, &p, &e) || !logbook_commit(lb, &e))
        fail_msg("%s", e.text);
    free(v);
    return lb;
}

#endif
