/* casefile_format.c - a record out as a case, findings out as JSON, and the comparison of two records. */
#include "casefile/casefile.h"

#include <cjson/cJSON.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/text.h"
#include "base/units.h"
#include "reading/findings.h"

/* Numbers as people wrote them: 1.1, not 1.1000000000000001. */
static cJSON *number(double v, int n_decimals)
{
    char s[64];

    text_from_double(s, sizeof s, v, n_decimals);
    if (strchr(s, '.') != NULL) {
        while (text_ends(s, "0"))
            s[strlen(s) - 1] = '\0';
        if (text_ends(s, "."))
            s[strlen(s) - 1] = '\0';
    }
    return cJSON_CreateRaw(s);
}

static void add_number(cJSON *o, const char *key, const struct maybe *m, int n_decimals)
{
    if (m->given)
        cJSON_AddItemToObject(o, key, number(m->value, n_decimals));
}

static void add_text(cJSON *o, const char *key, const char *s)
{
    if (s[0] != '\0')
        cJSON_AddStringToObject(o, key, s);
}

static void add_word(cJSON *o, const char *key, enum words list, int value)
{
    add_text(o, key, words_id(list, value));
}

static void add_yes_no(cJSON *o, const char *key, int value)
{
    if (value != 0)
        cJSON_AddBoolToObject(o, key, value == 1);
}

/* "6" as the number 6, "A3" as text. */
static cJSON *label_item(const char *label)
{
    long n;

    if (text_to_long(label, &n) && n >= 0 && label[0] != '+' && (label[0] != '0' || label[1] == '\0'))
        return cJSON_CreateNumber((double)n);
    return cJSON_CreateString(label);
}

static cJSON *set_item(const struct engine *en, engine_set set)
{
    cJSON *list = cJSON_CreateArray();

    for (int i = 0; i < en->n_cylinders; i++)
        if ((set >> i & 1u) != 0)
            cJSON_AddItemToArray(list, label_item(en->cylinders[i].label));
    return list;
}

static void add_groups(cJSON *o, const char *key, const struct engine *en, const engine_set *groups,
                       int n)
{
    cJSON *list = cJSON_AddArrayToObject(o, key);

    for (int i = 0; i < n; i++)
        cJSON_AddItemToArray(list, set_item(en, groups[i]));
}

static void add_gap(cJSON *o, const char *key, double mm)
{
    if (mm > 0)
        cJSON_AddItemToObject(o, key, number(mm, 4));
}

static cJSON *engine_item(const struct engine *en)
{
    cJSON *o = cJSON_CreateObject(), *list, *plug;

    add_text(o, "name", en->name);
    cJSON_AddStringToObject(o, "layout", engine_layout_id(en->layout));
    list = cJSON_AddArrayToObject(o, "banks");
    for (int b = 0; b < en->n_banks; b++) {
        cJSON *bank = cJSON_CreateObject(), *cylinders;

        cJSON_AddStringToObject(bank, "name", en->banks[b].name);
        cylinders = cJSON_AddArrayToObject(bank, "cylinders");
        for (int i = 0; i < en->banks[b].n_cylinders; i++)
            cJSON_AddItemToArray(cylinders, label_item(en->cylinders[en->banks[b].first + i].label));
        cJSON_AddItemToArray(list, bank);
    }
    cJSON_AddNumberToObject(o, "strokes", en->strokes);
    list = cJSON_AddArrayToObject(o, "firing_order");
    for (int i = 0; i < en->n_cylinders; i++)
        cJSON_AddItemToArray(list, label_item(en->cylinders[en->firing[i]].label));
    if (en->intervals_given) {
        list = cJSON_AddArrayToObject(o, "intervals_deg");
        for (int i = 0; i < en->n_cylinders; i++)
            cJSON_AddItemToArray(list, number(en->interval_deg[i], 4));
    }
    add_text(o, "ignition", engine_ignition_id(en->ignition));
    if (en->coil_groups_given)
        add_groups(o, "coil_groups", en, en->coil_groups, en->n_coil_groups);
    if (en->n_mixture_groups > 0)
        add_groups(o, "mixture_groups", en, en->mixture_groups, en->n_mixture_groups);
    if (en->breather_near != 0)
        cJSON_AddItemToObject(o, "breather_near", set_item(en, en->breather_near));
    cJSON_AddNumberToObject(o, "plugs_per_cylinder", en->n_positions);
    add_text(o, "plug_access", engine_access_id(en->access));
    add_text(o, "head", engine_head_id(en->head));
    plug = cJSON_CreateObject();
    add_text(plug, "type", en->plug.type);
    add_text(plug, "thread", en->plug.thread);
    add_text(plug, "seat", engine_seat_id(en->plug.seat));
    add_text(plug, "electrode", engine_electrode_id(en->plug.electrode));
    add_gap(plug, "gap_min_mm", en->plug.gap_min_mm);
    add_gap(plug, "gap_max_mm", en->plug.gap_max_mm);
    add_gap(plug, "gap_limit_mm", en->plug.gap_limit_mm);
    if (en->plug.heat_given)
        cJSON_AddNumberToObject(plug, "heat_steps", en->plug.heat_steps);
    if (plug->child != NULL)
        cJSON_AddItemToObject(o, "plug", plug);
    else
        cJSON_Delete(plug);
    return o;
}

static cJSON *visit_item(const struct engine *en, const struct visit *v)
{
    cJSON *o = cJSON_CreateObject(), *list;

    add_text(o, "date", v->date);
    if (v->odometer_m.given)
        cJSON_AddItemToObject(o, "odometer",
                              number(v->odometer_m.value / visit_odometer_unit(v->odometer_unit)->factor, 3));
    add_word(o, "odometer_unit", WORDS_ODOMETER_UNIT, v->odometer_unit);
    if (v->n_removal > 0) {
        list = cJSON_AddArrayToObject(o, "removal_order");
        for (int i = 0; i < v->n_removal; i++) {
            struct plug_place at = visit_drawn(v, i);
            char label[48];

            engine_plug_label(en, at.cylinder, at.position, label, sizeof label);
            cJSON_AddItemToArray(list, label_item(label));
        }
    }
    add_word(o, "socket", WORDS_SOCKET, v->socket);
    if (v->complaints_given) {
        list = cJSON_AddArrayToObject(o, "complaints");
        for (int i = 0; i < v->n_complaints; i++)
            cJSON_AddItemToArray(list,
                                 cJSON_CreateString(words_id(WORDS_COMPLAINT, v->complaints[i])));
    }
    add_text(o, "complaint_words", v->complaint_words);
    if (v->n_codes > 0) {
        list = cJSON_AddArrayToObject(o, "codes");
        for (int i = 0; i < v->n_codes; i++)
            cJSON_AddItemToArray(list, cJSON_CreateString(v->codes[i]));
    }
    add_word(o, "last_run", WORDS_LAST_RUN, v->last_run);
    if (v->n_tests > 0) {
        list = cJSON_AddArrayToObject(o, "tests");
        for (int i = 0; i < v->n_tests; i++) {
            cJSON *t = cJSON_CreateObject();

            add_word(t, "test", WORDS_TEST, v->tests[i].test);
            cJSON_AddItemToObject(t, "cylinder",
                                  label_item(en->cylinders[v->tests[i].cylinder].label));
            add_word(t, "result", WORDS_TEST_RESULT, v->tests[i].result);
            cJSON_AddItemToArray(list, t);
        }
    }
    add_word(o, "fuel", WORDS_FUEL, v->fuel);
    add_yes_no(o, "oil_in_intake", v->oil_in_intake);
    if (v->outside_seen) {
        list = cJSON_AddArrayToObject(o, "outside");
        for (int i = 0; i < v->n_outside; i++) {
            cJSON *t = cJSON_CreateObject();

            cJSON_AddStringToObject(t, "bank", en->banks[v->outside[i].bank].name);
            cJSON_AddStringToObject(t, "sign", "oil");
            cJSON_AddNumberToObject(t, "amount", v->outside[i].amount);
            cJSON_AddItemToArray(list, t);
        }
    }
    add_text(o, "notes", v->notes);
    return o;
}

static cJSON *reading_item(const struct engine *en, const struct visit *v, const struct reading *r)
{
    cJSON *o = cJSON_CreateObject(), *list, *partly = NULL;

    cJSON_AddItemToObject(o, "cylinder", label_item(en->cylinders[r->cylinder].label));
    if (en->n_positions > 1)
        cJSON_AddStringToObject(o, "position", en->position_names[r->position]);
    for (int z = 0; z < ZONE_COUNT; z++) {
        if (!reading_zone_looked(r, (enum zone)z))
            continue;
        if (!r->zone_seen[z]) {
            partly = partly != NULL ? partly : cJSON_AddArrayToObject(o, "partly");
            cJSON_AddItemToArray(partly, cJSON_CreateString(zone_row((enum zone)z)->id));
        }
        list = cJSON_AddArrayToObject(o, zone_row((enum zone)z)->id);
        for (int s = 0; s < SIGN_COUNT; s++)
            if (sign_row((enum sign)s)->zone == (enum zone)z && (r->amount[s] > 0 || (r->amount[s] == 0 && !r->zone_seen[z]))) {
                cJSON *entry = cJSON_CreateObject();

                cJSON_AddStringToObject(entry, z == ZONE_FIRING_END ? "deposit" : "sign",
                                        sign_row((enum sign)s)->id);
                cJSON_AddNumberToObject(entry, "amount", r->amount[s]);
                if (s == SIGN_THREADS_OIL)
                    add_word(entry, "turns", WORDS_TURNS, r->threads_turns);
                cJSON_AddItemToArray(list, entry);
            }
    }
    add_yes_no(o, "dries", r->dries);
    add_word(o, "heavier_side", WORDS_SIDE, r->heavier_side);
    add_word(o, "electrode", WORDS_ELECTRODE, r->electrode);
    add_word(o, "wear_on", WORDS_WEAR_ON, r->wear_on);
    add_word(o, "insulator", WORDS_INSULATOR, r->insulator);
    add_number(o, "gap_mm", &r->gap_mm, 4);
    add_number(o, "gap_left_mm", &r->gap_left_mm, 4);
    add_number(o, "torque_nm", &r->torque_nm, 3);
    add_text(o, "plug_id", r->plug_name[0] ? r->plug_name : r->plug_id);
    if (r->plug_distance_m.given)
        cJSON_AddItemToObject(o, "plug_distance",
                              number(r->plug_distance_m.value / visit_odometer_unit(v->odometer_unit)->factor, 3));
    if (r->mark_clock != 0)
        cJSON_AddNumberToObject(o, "mark_clock", r->mark_clock);
    add_word(o, "refit", WORDS_REFIT, r->refit);
    add_yes_no(o, "as_book", r->as_book);
    add_word(o, "tightness", WORDS_TIGHTNESS, r->tightness);
    if (r->nose_L.given) {
        list = cJSON_AddArrayToObject(o, "nose_lab");
        cJSON_AddItemToArray(list, number(r->nose_L.value, 4));
        cJSON_AddItemToArray(list, number(r->nose_a.value, 4));
        cJSON_AddItemToArray(list, number(r->nose_b.value, 4));
    }
    add_number(o, "compression_kpa", &r->compression_kpa, 3);
    add_number(o, "compression_wet_kpa", &r->compression_wet_kpa, 3);
    add_number(o, "leak_percent", &r->leak_percent, 3);
    add_number(o, "differential_over_80", &r->differential_over_80, 3);
    if (r->leak_heard_given) {
        int n;
        const struct word *words = words_rows(WORDS_LEAK_HEARD, &n);

        list = cJSON_AddArrayToObject(o, "leak_heard");
        for (int i = 0; i < n; i++)
            if ((r->leak_heard >> i & 1u) != 0)
                cJSON_AddItemToArray(list, cJSON_CreateString(words[i].id));
    }
    return o;
}

static void add_readings(cJSON *o, const struct engine *en, const struct visit *v)
{
    cJSON *list = cJSON_AddArrayToObject(o, "readings");

    for (int i = 0; i < record_plug_count(en); i++)
        if (v->readings[i].present)
            cJSON_AddItemToArray(list, reading_item(en, v, &v->readings[i]));
}

static char *print(cJSON *root)
{
    char *s = cJSON_Print(root);
    struct text t = {0};

    cJSON_Delete(root);
    text_add(&t, s);
    text_add(&t, "\n");
    free(s);
    return t.s;
}

bool casefile_left_out(const struct engine *en, char *to, size_t n_room)
{
    const struct {
        bool said;
        const char *words;
    } rows[] = {{en->fuel != ENGINE_FUEL_UNKNOWN, "how the fuel comes in"}, {en->plug.maker_torque_nm > 0, "the maker's torque"}, {en->plug.hex_mm > 0, "the plug's hex"}};
    bool any = false;

    text_copy(to, n_room, "steps, parts, repairs");
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        if (rows[i].said) {
            text_format(to + strlen(to), n_room - strlen(to), ", %s", rows[i].words);
            any = true;
        }
    return any;
}

char *casefile_format(const struct record *r)
{
    const struct engine *en = &r->engine;
    cJSON *root = cJSON_CreateObject(), *list;

    cJSON_AddNumberToObject(root, "format", 1);
    cJSON_AddItemToObject(root, "engine", engine_item(en));
    if (r->n_visits > 0) {
        cJSON_AddItemToObject(root, "visit", visit_item(en, record_current(r)));
        add_readings(root, en, record_current(r));
    } else {
        cJSON_AddItemToObject(root, "visit", cJSON_CreateObject());
        cJSON_AddArrayToObject(root, "readings");
    }
    if (r->n_visits > 1) {
        list = cJSON_AddArrayToObject(root, "earlier");
        for (int i = 0; i + 1 < r->n_visits; i++) {
            const struct visit *v = &r->visits[i];
            cJSON *o = cJSON_CreateObject(), *done;

            cJSON_AddItemToObject(o, "visit", visit_item(en, v));
            add_readings(o, en, v);
            done = cJSON_AddArrayToObject(o, "done");
            for (int k = 0; k < v->n_done; k++) {
                char line[200];

                visit_format_done(en, &v->done[k], line, sizeof line);
                cJSON_AddItemToArray(done, cJSON_CreateString(line));
            }
            cJSON_AddItemToArray(list, o);
        }
    }
    return print(root);
}

/* ---- findings ---- */

static void add_lines(cJSON *o, const char *key, const struct lines *lines)
{
    cJSON *list = cJSON_AddArrayToObject(o, key);

    for (int i = 0; i < lines->n; i++)
        cJSON_AddItemToArray(list, cJSON_CreateString(lines->text[i]));
}

static void add_maybe(cJSON *o, const char *key, const struct maybe *m)
{
    if (m->given)
        cJSON_AddItemToObject(o, key, number(m->value, 4));
    else
        cJSON_AddNullToObject(o, key);
}

char *casefile_format_findings(const struct record *r, const struct findings *f)
{
    const struct engine *en = &r->engine;
    cJSON *root = cJSON_CreateObject(), *list = cJSON_AddArrayToObject(root, "stand_out");

    for (int i = 0; i < f->n_stand_outs; i++) {
        const struct stand_out *s = &f->stand_outs[i];
        cJSON *o = cJSON_CreateObject();
        struct text t = {0};

        cJSON_AddStringToObject(o, "kind", stand_out_kind_id(s->kind));
        cJSON_AddItemToObject(o, "cylinders", set_item(en, s->cylinders));
        cJSON_AddStringToObject(o, "where", s->where);
        cJSON_AddStringToObject(o, "measure", s->measure);
        cJSON_AddStringToObject(o, "level", level_id(s->level));
        add_maybe(o, "value", &s->value);
        add_maybe(o, "reference", &s->reference);
        cJSON_AddStringToObject(o, "unit", s->unit);
        text_addf(&t, "%s: %s%s%s", s->headline, s->text, s->odds[0] ? " " : "", s->odds);
        cJSON_AddStringToObject(o, "text", text_get(&t));
        text_release(&t);
        add_lines(o, "missing", &s->missing);
        cJSON_AddItemToArray(list, o);
    }
    list = cJSON_AddArrayToObject(root, "patterns");
    for (int i = 0; i < f->n_patterns; i++) {
        const struct pattern *p = &f->patterns[i];
        cJSON *o = cJSON_CreateObject();

        cJSON_AddStringToObject(o, "measure", p->measure);
        cJSON_AddStringToObject(o, "shape", pattern_shape_id(p->shape));
        cJSON_AddStringToObject(o, "where", p->where);
        cJSON_AddItemToObject(o, "cylinders", set_item(en, p->cylinders));
        cJSON_AddItemToObject(o, "strength", number(p->strength, 4));
        cJSON_AddItemToObject(o, "chance", number(p->chance, 10));
        cJSON_AddItemToObject(o, "chance_any", number(p->chance_any, 10));
        cJSON_AddBoolToObject(o, "exact", p->exact);
        cJSON_AddItemToObject(o, "arrangements", number(p->arrangements, 0));
        if (!p->exact)
            cJSON_AddItemToObject(o, "error", number(p->error, 8));
        if (p->how[0] != '\0')
            cJSON_AddStringToObject(o, "how", p->how);
        cJSON_AddItemToArray(list, o);
    }
    list = cJSON_AddArrayToObject(root, "causes");
    for (int i = 0; i < f->n_causes; i++) {
        const struct cause *c = &f->causes[i];
        cJSON *o = cJSON_CreateObject();

        cJSON_AddStringToObject(o, "cause", c->id);
        cJSON_AddStringToObject(o, "kind", c->ordinary ? "ordinary" : "fault");
        cJSON_AddStringToObject(o, "where", c->where);
        cJSON_AddItemToObject(o, "cylinders", set_item(en, c->cylinders));
        cJSON_AddItemToObject(o, "probability", number(c->probability, 4));
        add_lines(o, "for", &c->pro);
        add_lines(o, "against", &c->contra);
        cJSON_AddStringToObject(o, "settles", c->settles);
        add_lines(o, "missing", &c->missing);
        cJSON_AddStringToObject(o, "how", c->how);
        cJSON_AddItemToArray(list, o);
    }
    add_lines(root, "advice", &f->advice);
    add_lines(root, "notes", &f->notes);
    add_lines(root, "notes", &f->notes);
    return print(root);
}

/* ---- comparison: two records are equal when their cases are, line for line ---- */

bool casefile_equal(const struct record *a, const struct record *b, char *where, size_t n_room)
{
    char *sa = casefile_format(a), *sb = casefile_format(b);
    size_t i = 0, line = 0;
    bool equal;

    while (sa[i] != '\0' && sa[i] == sb[i]) {
        if (sa[i] == '\n')
            line = i + 1;
        i++;
    }
    equal = sa[i] == sb[i];
    if (where != NULL) {
        int n = (int)strcspn(sa + line, "\n"), m = (int)strcspn(sb + line, "\n");

        if (equal)
            text_copy(where, n_room, "");
        else
            text_format(where, n_room, "“%.*s” against “%.*s”", n > 50 ? (int)text_whole(sa + line, 50) : n, sa + line,
                        m > 50 ? (int)text_whole(sb + line, 50) : m, sb + line);
    }
    free(sa);
    free(sb);
    return equal;
}
