/* session_lineup.c - what the Line-up, the report and the bores of the plan show of visits in view: their photos, how these show their plugs, the
 * pictures cut out of them. */
#include "app/session_work.h"

#include "base/mem.h"

/* Photos, marks and frames of a visit: how each plug is shown in each view. */
static void look_up(struct session *s, int visit)
{
    const struct engine *en = &s->record.engine;
    struct visit_photos *p = &s->lineup[visit];
    const char *id = s->record.visits[visit].id;
    struct logbook_photo *photos;
    struct logbook_mark *marks;
    struct logbook_crop *crops;
    struct plug_cut *cuts;
    size_t n_marks, n_crops;
    char done[300];

    visit_done_short(&s->record.visits[visit], done, sizeof done);
    p->done = arena_text(s->engine_arena, done);
    p->known = true;
    p->n = 0;
    if (!logbook_list_photos(s->lb, id, s->engine_arena, &photos, &p->n, NULL)) {
        p->n = 0;
        return;
    }
    p->photos = photos;
    if (p->n == 0 || !logbook_list_marks(s->lb, id, s->engine_arena, &marks, &n_marks, NULL) || !logbook_list_crops(s->lb, id, s->engine_arena, &crops, &n_crops, NULL))
        return;
    cuts = arena_alloc(s->engine_arena, (size_t)record_plug_count(en) * CROP_VIEW_COUNT, sizeof *cuts);
    for (int i = 0; i < record_plug_count(en) * CROP_VIEW_COUNT; i++) {
        struct lineup_plan plan;
        int plug = i / CROP_VIEW_COUNT;
        enum crop_view view = (enum crop_view)(i % CROP_VIEW_COUNT);

        cuts[i].photo = lineup_pick(photos, p->n, marks, n_marks, crops, n_crops, plug / en->n_positions, plug % en->n_positions, view, en->plug.thread, &plan);
        if (cuts[i].photo == NULL)
            continue;
        cuts[i].plan = arena_alloc(s->engine_arena, 1, sizeof plan);
        *cuts[i].plan = plan;
        cuts[i].key = plug_cut_key(&plan);
    }
    p->cuts = cuts;
    p->n_cuts = (size_t)record_plug_count(en) * CROP_VIEW_COUNT;
}

/* A plug that is not cut out is shown by the middle of its photo. */
static void ask_for_middle(struct session *s, const struct visit_photos *p, int plug)
{
    const struct engine *en = &s->record.engine;
    const struct logbook_photo *photo = logbook_bore_photo(p->photos, p->n, plug / en->n_positions, plug % en->n_positions);

    if (photo != NULL)
        intake_pictures(s->intake, photo, 1, -1);
}

/* Asks for what is lacking of a visit, and learns what has come. True when something is new. */
static bool keep_up(struct session *s, struct visit_photos *p)
{
    enum crop_view view = s->st.screen == SCREEN_LINEUP ? s->st.lineup_view : CROP_TIP;
    bool news = false;

    for (size_t i = 0; i < p->n_cuts; i++) {
        struct plug_cut *c = &p->cuts[i];
        struct cut_facts was = c->facts;

        if ((int)(i % CROP_VIEW_COUNT) != (int)view)
            continue;
        if (view == CROP_TIP && (c->plan == NULL || c->facts.failed))
            ask_for_middle(s, p, (int)i / CROP_VIEW_COUNT);
        if (c->plan == NULL)
            continue;
        c->asked = true;
        c->facts = intake_cut(s->intake, c->key, c->plan);
        news = news || c->facts.known != was.known;
    }
    if (s->st.screen == SCREEN_REPORT) /* it draws photos by their middles */
        intake_pictures(s->intake, p->photos, p->n, -1);
    p->asked = true;
    return news;
}

static bool show_visit(struct session *s, int visit, bool *looked)
{
    struct visit_photos *p;

    if (visit < 0 || visit >= s->record.n_visits)
        return false;
    p = &s->lineup[visit];
    if (p->known)
        return keep_up(s, p);
    if (*looked) /* one for each frame: it goes through all photos and marks of a visit */
        return true;
    *looked = true;
    look_up(s, visit);
    return true;
}

/* Visits whose plugs are cut out: from .. to (exclusive). On the plan the one shown, which is the record's last. */
static bool in_view(const struct session *s, int *from, int *to)
{
    *from = s->st.screen == SCREEN_PLAN ? s->record.n_visits - 1 : s->st.lineup_from;
    *to = s->st.screen == SCREEN_PLAN ? s->record.n_visits : s->st.lineup_to;
    return s->m.record != NULL && (s->st.screen == SCREEN_LINEUP || s->st.screen == SCREEN_REPORT || s->st.screen == SCREEN_PLAN);
}

bool session_lineup_asked(const struct session *s)
{
    int from, to;

    if (!in_view(s, &from, &to))
        return true;
    for (int v = from < 0 ? 0 : from; v < to && v < s->record.n_visits; v++)
        if (!s->lineup[v].asked)
            return false;
    return true;
}

bool session_show_lineup(struct session *s)
{
    bool news = false, looked = false;
    int from, to;

    if (!in_view(s, &from, &to))
        return false;
    for (int v = to - 1; v >= from; v--)
        news = show_visit(s, v, &looked) || news;
    if (s->st.screen == SCREEN_LINEUP && s->st.lineup_laid != LINEUP_APART) {
        news = show_visit(s, s->st.lineup_over, &looked) || news;
        news = show_visit(s, s->st.lineup_under, &looked) || news;
    }
    return news;
}
