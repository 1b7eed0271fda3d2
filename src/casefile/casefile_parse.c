/* casefile_parse.c - a case in: strict, every complaint names the place. */
#include "casefile/casefile.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/clock.h"
#include "base/err.h"
#include "base/text.h"
#include "base/units.h"
#include "casefile/casefile_json.h"

/* ---- engine ---- */

static bool parse_banks(struct engine *en, const cJSON *object, const struct case_place *p, struct err *e)
{
    static const char *const known[] = {"name", "cylinders", NULL};
    const cJSON *banks, *bank;
    int b = 0;

    if (!case_get_array(object, "banks", &banks, ENGINE_MAX_BANKS, p, e))
        return false;
    if (banks == NULL)
        return err_set(e, ERR_FORMAT, "engine.banks is missing.");
    cJSON_ArrayForEach(bank, banks)
    {
        struct case_place list = case_inside(p, "banks"), q = case_item(&list, b), r;
        const cJSON *cylinders, *cylinder;
        char name[64] = "", labels[ENGINE_MAX_CYLINDERS][ENGINE_LABEL_BYTES * 2];
        const char *pointers[ENGINE_MAX_CYLINDERS];
        int n = 0;

        text_format(name, sizeof name, "%d", b + 1);
        if (!case_check_keys(bank, known, &q, e) || !case_get_text(bank, "name", name, sizeof name, &q, e) ||
            !case_get_array(bank, "cylinders", &cylinders, ENGINE_MAX_CYLINDERS, &q, e))
            return false;
        if (cylinders == NULL)
            return err_set(e, ERR_FORMAT, "%s.cylinders is missing.", q.path);
        r = case_inside(&q, "cylinders");
        cJSON_ArrayForEach(cylinder, cylinders)
        {
            struct case_place s = case_item(&r, n);

            if (!case_to_label(cylinder, labels[n], &s, e))
                return false;
            pointers[n] = labels[n];
            n++;
        }
        if (!engine_add_bank(en, name, pointers, n, e))
            return err_wrap(e, "%s", q.path);
        b++;
    }
    return true;
}

static bool parse_firing(struct engine *en, const cJSON *object, const struct case_place *p, struct err *e)
{
    const cJSON *order, *v;
    struct case_place q = case_inside(p, "firing_order");
    struct text t = {0};
    int n = 0;
    bool fine = true;

    if (!case_get_array(object, "firing_order", &order, ENGINE_MAX_CYLINDERS, p, e))
        return false;
    if (order == NULL)
        return err_set(e, ERR_FORMAT, "engine.firing_order is missing.");
    cJSON_ArrayForEach(v, order)
    {
        char label[ENGINE_LABEL_BYTES * 2];
        struct case_place r = case_item(&q, n++);

        if (!case_to_label(v, label, &r, e)) {
            fine = false;
            break;
        }
        text_addf(&t, "%s ", label);
    }
    if (fine && !engine_parse_firing(en, text_get(&t), e))
        fine = err_wrap(e, "%s", q.path);
    text_release(&t);
    return fine;
}

static bool parse_groups(struct engine *en, const cJSON *object, const char *key,
                         engine_set *groups, int *n_groups, const struct case_place *p, struct err *e)
{
    const cJSON *list, *group, *v;
    struct case_place q = case_inside(p, key);
    engine_set used = 0;
    int g = 0;

    if (!case_get_array(object, key, &list, ENGINE_MAX_CYLINDERS, p, e))
        return false;
    if (list == NULL)
        return true;
    cJSON_ArrayForEach(group, list)
    {
        struct case_place r = case_item(&q, g);
        int i = 0;

        groups[g] = 0;
        if (!cJSON_IsArray(group) || cJSON_GetArraySize(group) == 0)
            return err_set(e, ERR_FORMAT, "%s must be a list of cylinders.", r.path);
        cJSON_ArrayForEach(v, group)
        {
            struct case_place s = case_item(&r, i++);
            int c;

            if (!case_to_cylinder(v, en, &c, &s, e))
                return false;
            if ((used >> c & 1u) != 0)
                return err_set(e, ERR_BADARG, "%s: cylinder %s stands in two groups.", s.path,
                               en->cylinders[c].label);
            used |= (engine_set)1 << c;
            groups[g] |= (engine_set)1 << c;
        }
        g++;
    }
    *n_groups = g;
    return true;
}

static bool parse_plug(struct engine *en, const cJSON *object, const struct case_place *p, struct err *e)
{
    static const char *const known[] = {"thread",     "seat",       "electrode",    "gap_min_mm",
                                        "gap_max_mm", "gap_limit_mm", "heat_steps", "type", NULL};
    const cJSON *plug = case_get(object, "plug");
    struct case_place q = case_inside(p, "plug");
    struct engine_plug_spec *spec = &en->plug;
    struct maybe low = {0}, high = {0}, limit = {0};
    int seat = 0, electrode = 0, heat = 0;

    if (plug == NULL)
        return true;
    if (!case_check_keys(plug, known, &q, e) ||
        !case_get_text(plug, "type", spec->type, sizeof spec->type, &q, e) ||
        !case_get_text(plug, "thread", spec->thread, sizeof spec->thread, &q, e) ||
        !case_get_engine_word(plug, "seat", engine_seat_find, "gasket, taper", &seat, &q, e) ||
        !case_get_engine_word(plug, "electrode", engine_electrode_find, "nickel, platinum, iridium",
                         &electrode, &q, e) ||
        !case_get_number(plug, "gap_min_mm", 0.05, 5, &low, &q, e) ||
        !case_get_number(plug, "gap_max_mm", 0.05, 5, &high, &q, e) ||
        !case_get_number(plug, "gap_limit_mm", 0.05, 5, &limit, &q, e) ||
        !case_get_whole(plug, "heat_steps", -9, 9, &heat, &q, e))
        return false;
    spec->seat = (enum engine_seat)seat;
    spec->electrode = (enum engine_electrode)electrode;
    spec->gap_min_mm = low.value;
    spec->gap_max_mm = high.value;
    spec->gap_limit_mm = limit.value;
    spec->heat_steps = heat;
    spec->heat_given = case_get(plug, "heat_steps") != NULL;
    return true;
}

static bool parse_engine(struct engine *en, const cJSON *object, struct err *e)
{
    static const char *const known[] = {"name", "layout", "banks", "strokes", "firing_order",
                                        "intervals_deg", "ignition", "coil_groups", "mixture_groups",
                                        "breather_near", "plugs_per_cylinder", "plug_access", "head",
                                        "plug", NULL};
    struct case_place p = {"engine"}, q;
    const cJSON *list, *v;
    int layout = -1, ignition = 0, access = 0, head = 0, n = 0;

    engine_init(en);
    if (object == NULL)
        return err_set(e, ERR_FORMAT, "The case has no engine.");
    if (!case_check_keys(object, known, &p, e) || !case_get_text(object, "name", en->name, sizeof en->name, &p, e))
        return false;
    if (case_get(object, "layout") == NULL)
        return err_set(e, ERR_FORMAT, "engine.layout is missing.");
    if (!case_get_engine_word(object, "layout", engine_layout_find,
                         "inline, v, flat, narrow-v, w, single, twin, radial", &layout, &p, e) ||
        !case_get_engine_word(object, "ignition", engine_ignition_find,
                         "coil-per-plug, shared-coil, distributor, magneto", &ignition, &p, e) ||
        !case_get_engine_word(object, "plug_access", engine_access_find, "well, open", &access, &p, e) ||
        !case_get_engine_word(object, "head", engine_head_find, "aluminium, cast-iron", &head, &p, e) ||
        !case_get_whole(object, "strokes", 2, 4, &en->strokes, &p, e) ||
        !case_get_whole(object, "plugs_per_cylinder", 1, ENGINE_MAX_POSITIONS, &en->n_positions, &p, e))
        return false;
    en->layout = (enum engine_layout)layout;
    en->ignition = (enum engine_ignition)ignition;
    en->access = (enum engine_access)access;
    en->head = (enum engine_head)head;
    if (!parse_banks(en, object, &p, e) || !parse_firing(en, object, &p, e))
        return false;
    if (!case_get_array(object, "intervals_deg", &list, ENGINE_MAX_CYLINDERS, &p, e))
        return false;
    if (list != NULL) {
        q = case_inside(&p, "intervals_deg");
        if (cJSON_GetArraySize(list) != en->n_cylinders)
            return err_set(e, ERR_FORMAT, "engine.intervals_deg has %d entries for %d cylinders.",
                           cJSON_GetArraySize(list), en->n_cylinders);
        cJSON_ArrayForEach(v, list)
        {
            struct case_place r = case_item(&q, n);

            if (!case_check_number(v, 0, 720, &r, e))
                return false;
            en->interval_deg[n++] = v->valuedouble;
        }
        en->intervals_given = true;
    }
    en->coil_groups_given = case_get(object, "coil_groups") != NULL;
    if (!parse_groups(en, object, "coil_groups", en->coil_groups, &en->n_coil_groups, &p, e) ||
        !parse_groups(en, object, "mixture_groups", en->mixture_groups, &en->n_mixture_groups, &p, e) ||
        !case_get_array(object, "breather_near", &list, ENGINE_MAX_CYLINDERS, &p, e))
        return false;
    if (list != NULL) {
        q = case_inside(&p, "breather_near");
        n = 0;
        cJSON_ArrayForEach(v, list)
        {
            struct case_place r = case_item(&q, n++);
            int c;

            if (!case_to_cylinder(v, en, &c, &r, e))
                return false;
            en->breather_near |= (engine_set)1 << c;
        }
    }
    if (!parse_plug(en, object, &p, e))
        return false;
    if (!engine_finish(en, e))
        return err_wrap(e, "engine");
    return true;
}

/* ---- visit ---- */

static bool parse_removal(const struct engine *en, struct visit *v, const cJSON *object,
                          const struct case_place *p, struct err *e)
{
    const cJSON *list, *entry;
    struct case_place q = case_inside(p, "removal_order");
    struct text t = {0};
    int n = 0;
    bool fine = true;

    if (!case_get_array(object, "removal_order", &list, ENGINE_MAX_PLUGS, p, e))
        return false;
    if (list == NULL)
        return true;
    cJSON_ArrayForEach(entry, list)
    {
        struct case_place r = case_item(&q, n++);

        if (cJSON_IsNumber(entry) && entry->valuedouble == floor(entry->valuedouble) &&
            fabs(entry->valuedouble) < 1000) {
            text_addf(&t, "%d,", (int)entry->valuedouble);
        } else if (cJSON_IsString(entry)) {
            text_addf(&t, "%s,", entry->valuestring);
        } else {
            fine = err_set(e, ERR_FORMAT, "%s must be a cylinder.", r.path);
            break;
        }
    }
    if (fine && !visit_parse_removal(en, v, text_get(&t), e))
        fine = err_wrap(e, "%s", q.path);
    text_release(&t);
    return fine;
}

static bool parse_tests(const struct engine *en, struct visit *v, const cJSON *object,
                        const struct case_place *p, struct err *e)
{
    static const char *const known[] = {"test", "cylinder", "result", NULL};
    const cJSON *list, *entry;
    struct case_place q = case_inside(p, "tests");

    if (!case_get_array(object, "tests", &list, VISIT_MAX_TESTS, p, e))
        return false;
    if (list == NULL)
        return true;
    cJSON_ArrayForEach(entry, list)
    {
        struct case_place r = case_item(&q, v->n_tests), s;
        struct visit_test *t = &v->tests[v->n_tests++];

        if (!case_check_keys(entry, known, &r, e))
            return false;
        for (int i = 0; known[i] != NULL; i++)
            if (case_get(entry, known[i]) == NULL)
                return err_set(e, ERR_FORMAT, "%s.%s is missing.", r.path, known[i]);
        s = case_inside(&r, "cylinder");
        if (!case_get_word(entry, "test", WORDS_TEST, &t->test, &r, e) ||
            !case_get_word(entry, "result", WORDS_TEST_RESULT, &t->result, &r, e) ||
            !case_to_cylinder(case_get(entry, "cylinder"), en, &t->cylinder, &s, e))
            return false;
    }
    return true;
}

static bool parse_outside(const struct engine *en, struct visit *v, const cJSON *object,
                          const struct case_place *p, struct err *e)
{
    static const char *const known[] = {"bank", "sign", "amount", NULL};
    const cJSON *list, *entry;
    struct case_place q = case_inside(p, "outside");

    if (!case_get_array(object, "outside", &list, ENGINE_MAX_BANKS, p, e))
        return false;
    v->outside_seen = list != NULL;
    if (list == NULL)
        return true;
    cJSON_ArrayForEach(entry, list)
    {
        struct case_place r = case_item(&q, v->n_outside);
        struct visit_outside *o = &v->outside[v->n_outside++];
        char bank[64] = "", sign[32] = "";

        o->amount = 2;
        if (!case_check_keys(entry, known, &r, e) || !case_get_text(entry, "bank", bank, sizeof bank, &r, e) ||
            !case_get_text(entry, "sign", sign, sizeof sign, &r, e) ||
            !case_get_whole(entry, "amount", 0, 3, &o->amount, &r, e))
            return false;
        o->bank = engine_find_bank(en, bank);
        if (o->bank < 0)
            return err_set(e, ERR_BADARG, "%s.bank: there is no bank “%s”.", r.path, TEXT_SHORT(bank, 40));
        if (strcmp(sign, "oil") != 0) {
            r = case_inside(&r, "sign");
            return case_unknown_word(sign, &r, "oil", e);
        }
    }
    return true;
}

static bool parse_codes(struct visit *v, const cJSON *object, const struct case_place *p, struct err *e)
{
    const cJSON *list, *entry;
    struct case_place q = case_inside(p, "codes");

    if (!case_get_array(object, "codes", &list, VISIT_MAX_CODES, p, e))
        return false;
    if (list == NULL)
        return true;
    cJSON_ArrayForEach(entry, list)
    {
        struct case_place r = case_item(&q, v->n_codes);
        const char *code = cJSON_IsString(entry) ? entry->valuestring : "";

        if (!visit_add_code(v, code, e)) {
            if (e != NULL)
                e->code = ERR_FORMAT;
            return err_wrap(e, "%s", r.path);
        }
    }
    return true;
}

static const struct unit *odometer_unit(int value)
{
    return unit_find(words_id(WORDS_ODOMETER_UNIT, value));
}

static bool parse_visit(const struct engine *en, struct visit *v, const cJSON *object,
                        const struct case_place *p, struct err *e)
{
    static const char *const known[] = {"date", "odometer", "odometer_unit", "removal_order", "socket",
                                        "complaints", "codes", "last_run", "tests", "fuel",
                                        "oil_in_intake", "outside", "notes", "complaint_words", NULL};
    const cJSON *list, *entry;
    struct maybe odometer = {0};
    char date[32] = "";
    int y, m, d;

    if (object == NULL)
        return err_set(e, ERR_FORMAT, "%s is missing.", p->path);
    if (!case_check_keys(object, known, p, e) || !case_get_text(object, "date", date, sizeof date, p, e))
        return false;
    if (date[0] != '\0' && !clock_parse_date(date, &y, &m, &d))
        return err_set(e, ERR_FORMAT, "%s.date: “%s” is no date like 2026-06-14.", p->path, date);
    text_copy(v->date, sizeof v->date, date);
    if (!case_get_number(object, "odometer", 0, 1e8, &odometer, p, e) ||
        !case_get_word(object, "odometer_unit", WORDS_ODOMETER_UNIT, &v->odometer_unit, p, e))
        return false;
    if (odometer.given) {
        if (v->odometer_unit == 0)
            return err_set(e, ERR_FORMAT, "%s.odometer has no odometer_unit; say km, mi or h.", p->path);
        v->odometer_m = MAYBE(odometer.value * odometer_unit(v->odometer_unit)->factor);
    }
    if (!case_get_word(object, "socket", WORDS_SOCKET, &v->socket, p, e) ||
        !case_get_word(object, "last_run", WORDS_LAST_RUN, &v->last_run, p, e) ||
        !case_get_word(object, "fuel", WORDS_FUEL, &v->fuel, p, e) ||
        !case_get_yes_no(object, "oil_in_intake", &v->oil_in_intake, p, e) ||
        !case_get_text(object, "complaint_words", v->complaint_words, sizeof v->complaint_words, p, e) ||
        !case_get_text(object, "notes", v->notes, sizeof v->notes, p, e) ||
        !parse_removal(en, v, object, p, e) || !parse_tests(en, v, object, p, e) ||
        !parse_outside(en, v, object, p, e) || !parse_codes(v, object, p, e) ||
        !case_get_array(object, "complaints", &list, VISIT_MAX_COMPLAINTS, p, e))
        return false;
    if (list != NULL) {
        struct case_place q = case_inside(p, "complaints");

        v->complaints_given = true;
        cJSON_ArrayForEach(entry, list)
        {
            struct case_place r = case_item(&q, v->n_complaints);

            if (!case_to_word(entry, WORDS_COMPLAINT, &v->complaints[v->n_complaints], &r, e))
                return false;
            v->n_complaints++;
        }
        for (int i = 0; i < v->n_complaints && v->n_complaints > 1; i++)
            if (strcmp(words_id(WORDS_COMPLAINT, v->complaints[i]), "none") == 0)
                return err_set(e, ERR_BADARG, "%s: “none” stands beside other complaints; leave one or the other out.", q.path);
    }
    return true;
}

/* ---- readings ---- */

/* Zones of which only what is listed was said. */
static bool parse_partly(struct reading *r, const cJSON *object, const struct case_place *p, struct err *e)
{
    const cJSON *list, *entry;
    struct case_place q = case_inside(p, "partly");
    int n = 0;

    if (!case_get_array(object, "partly", &list, ZONE_COUNT, p, e))
        return false;
    cJSON_ArrayForEach(entry, list)
    {
        struct case_place s = case_item(&q, n++);
        int z = cJSON_IsString(entry) ? zone_find(entry->valuestring) : -1;
        const cJSON *said = z >= 0 ? case_get(object, zone_row((enum zone)z)->id) : NULL;

        if (said == NULL || cJSON_GetArraySize(said) == 0)
            return err_set(e, ERR_FORMAT, "%s must name a zone of this reading in which something is listed.", s.path);
        r->zone_seen[z] = false;
        for (int k = (int)sign_first((enum zone)z); k < (int)sign_first((enum zone)z) + sign_count((enum zone)z); k++) {
            const cJSON *one;
            bool listed = false;

            cJSON_ArrayForEach(one, said)
            {
                const cJSON *word = case_get(one, z == ZONE_FIRING_END ? "deposit" : "sign");

                listed = listed || strcmp(word->valuestring, sign_row((enum sign)k)->id) == 0; /* text: parse_zone() saw to it */
            }
            if (!listed)
                r->amount[k] = AMOUNT_UNSEEN;
        }
    }
    return true;
}

static bool parse_zone(struct reading *reading, enum zone z, const cJSON *object,
                       const struct case_place *p, struct err *e)
{
    static const char *const known_firing[] = {"deposit", "amount", NULL};
    static const char *const known_threads[] = {"sign", "amount", "turns", NULL};
    static const char *const known_other[] = {"sign", "amount", NULL};
    const char *key = zone_row(z)->id, *word_key = z == ZONE_FIRING_END ? "deposit" : "sign";
    const cJSON *list, *entry;
    struct case_place q = case_inside(p, key);
    int n = 0;

    if (!case_get_array(object, key, &list, 16, p, e))
        return false;
    if (list == NULL)
        return true;
    reading_see_zone(reading, z);
    cJSON_ArrayForEach(entry, list)
    {
        struct case_place r = case_item(&q, n++), s;
        const cJSON *word;
        int sign, amount = 2, turns = 0;

        if (!case_check_keys(entry,
                        z == ZONE_FIRING_END ? known_firing
                        : z == ZONE_THREADS  ? known_threads
                                             : known_other,
                        &r, e))
            return false;
        word = case_get(entry, word_key);
        s = case_inside(&r, word_key);
        if (word == NULL)
            return err_set(e, ERR_FORMAT, "%s is missing.", s.path);
        if (!cJSON_IsString(word))
            return err_set(e, ERR_FORMAT, "%s must be text.", s.path);
        sign = sign_find(z, word->valuestring);
        if (sign < 0) {
            struct text all = {0};

            for (int i = 0; i < sign_count(z); i++)
                text_addf(&all, "%s%s", i ? ", " : "",
                          sign_row((enum sign)((int)sign_first(z) + i))->id);
            case_unknown_word(word->valuestring, &s, text_get(&all), e);
            text_release(&all);
            return false;
        }
        if (!case_get_whole(entry, "amount", 0, 3, &amount, &r, e))
            return false;
        for (const cJSON *other = entry->next; other != NULL; other = other->next) {
            const cJSON *w = case_get(other, word_key);

            if (cJSON_IsString(w) && strcmp(w->valuestring, word->valuestring) == 0)
                return err_set(e, ERR_FORMAT, "%s: “%s” comes twice.", q.path, w->valuestring);
        }
        reading_note(reading, (enum sign)sign, amount);
        if (z == ZONE_THREADS && !case_get_word(entry, "turns", WORDS_TURNS, &turns, &r, e))
            return false;
        if (sign == SIGN_THREADS_OIL) /* only for oil does it matter which turns */
            reading->threads_turns = turns;
    }
    return true;
}

static bool parse_leak_heard(struct reading *r, const cJSON *object, const struct case_place *p,
                             struct err *e)
{
    const cJSON *list, *entry;
    struct case_place q = case_inside(p, "leak_heard");
    int n = 0;

    if (!case_get_array(object, "leak_heard", &list, 8, p, e))
        return false;
    if (list == NULL)
        return true;
    r->leak_heard_given = true;
    cJSON_ArrayForEach(entry, list)
    {
        struct case_place s = case_item(&q, n++);
        int word = 0;

        if (!case_to_word(entry, WORDS_LEAK_HEARD, &word, &s, e))
            return false;
        r->leak_heard |= 1u << (word - 1);
    }
    return true;
}

static bool parse_nose(struct reading *r, const cJSON *object, const struct case_place *p, struct err *e)
{
    static const double low[] = {0, -128, -128}, high[] = {100, 128, 128};
    struct maybe *to[] = {&r->nose_L, &r->nose_a, &r->nose_b};
    const cJSON *list, *v;
    struct case_place q = case_inside(p, "nose_lab");
    int n = 0;

    if (!case_get_array(object, "nose_lab", &list, 3, p, e))
        return false;
    if (list == NULL)
        return true;
    if (cJSON_GetArraySize(list) != 3)
        return err_set(e, ERR_FORMAT, "%s must hold three numbers: L*, a*, b*.", q.path);
    cJSON_ArrayForEach(v, list)
    {
        struct case_place s = case_item(&q, n);

        if (!case_check_number(v, low[n], high[n], &s, e))
            return false;
        *to[n++] = MAYBE(v->valuedouble);
    }
    return true;
}

static bool find_position(const struct engine *en, const char *name, int *to, const struct case_place *p,
                          struct err *e)
{
    struct text all = {0};

    *to = 0;
    if (en->n_positions == 1) {
        if (name[0] == '\0')
            return true;
        return err_set(e, ERR_BADARG, "%s.position: the engine has one plug per cylinder.", p->path);
    }
    for (int i = 0; i < en->n_positions; i++)
        if (strcmp(en->position_names[i], name) == 0) {
            *to = i;
            return true;
        }
    for (int i = 0; i < en->n_positions; i++)
        text_addf(&all, "%s%s", i ? ", " : "", en->position_names[i]);
    err_set(e, ERR_BADARG, "%s.position: “%s” is none of the plugs of a cylinder (%s).", p->path,
            TEXT_SHORT(name, 30), text_get(&all));
    text_release(&all);
    return false;
}

static bool parse_reading(const struct engine *en, struct visit *v, const cJSON *object,
                          const struct case_place *p, struct err *e)
{
    static const char *const known[] = {
        "cylinder", "position", "firing_end", "dries", "heavier_side", "electrode", "wear_on",
        "insulator", "gap_mm", "gap_left_mm", "torque_nm", "plug_id", "plug_distance", "mark_clock", "refit",
        "as_book", "threads", "body", "well", "boot", "coil", "lead", "connector", "tightness",
        "partly", "nose_lab", "compression_kpa", "compression_wet_kpa", "leak_percent",
        "differential_over_80", "leak_heard", NULL};
    struct case_place q = case_inside(p, "cylinder");
    struct maybe distance = {0};
    struct reading *r;
    char position[24] = "";
    int cylinder, at;

    if (!case_check_keys(object, known, p, e))
        return false;
    if (case_get(object, "cylinder") == NULL)
        return err_set(e, ERR_FORMAT, "%s is missing.", q.path);
    if (!case_to_cylinder(case_get(object, "cylinder"), en, &cylinder, &q, e) ||
        !case_get_text(object, "position", position, sizeof position, p, e) ||
        !find_position(en, position, &at, p, e))
        return false;
    r = visit_reading(v, en, cylinder, at);
    if (r->present)
        return err_set(e, ERR_BADARG, "%s: cylinder %s%s%s is read twice.", p->path,
                       en->cylinders[cylinder].label, position[0] ? " " : "", position);
    r->present = true;
    for (int z = 0; z < ZONE_COUNT; z++)
        if (!parse_zone(r, (enum zone)z, object, p, e))
            return false;
    if (!parse_partly(r, object, p, e))
        return false;
    if (!case_get_yes_no(object, "dries", &r->dries, p, e) ||
        !case_get_yes_no(object, "as_book", &r->as_book, p, e) ||
        !case_get_word(object, "heavier_side", WORDS_SIDE, &r->heavier_side, p, e) ||
        !case_get_word(object, "electrode", WORDS_ELECTRODE, &r->electrode, p, e) ||
        !case_get_word(object, "wear_on", WORDS_WEAR_ON, &r->wear_on, p, e) ||
        !case_get_word(object, "insulator", WORDS_INSULATOR, &r->insulator, p, e) ||
        !case_get_word(object, "tightness", WORDS_TIGHTNESS, &r->tightness, p, e) ||
        !case_get_word(object, "refit", WORDS_REFIT, &r->refit, p, e) ||
        !case_get_number(object, "gap_mm", 0, 25, &r->gap_mm, p, e) ||
        !case_get_number(object, "gap_left_mm", 0, 25, &r->gap_left_mm, p, e) ||
        !case_get_number(object, "torque_nm", 0, 200, &r->torque_nm, p, e) ||
        !case_get_text(object, "plug_id", r->plug_id, sizeof r->plug_id, p, e) ||
        !case_get_number(object, "plug_distance", 0, 1e8, &distance, p, e) ||
        !case_get_whole(object, "mark_clock", 1, 12, &r->mark_clock, p, e) ||
        !case_get_number(object, "compression_kpa", 0, 10000, &r->compression_kpa, p, e) ||
        !case_get_number(object, "compression_wet_kpa", 0, 10000, &r->compression_wet_kpa, p, e) ||
        !case_get_number(object, "leak_percent", 0, 100, &r->leak_percent, p, e) ||
        !case_get_number(object, "differential_over_80", 0, 80, &r->differential_over_80, p, e) ||
        !parse_nose(r, object, p, e) || !parse_leak_heard(r, object, p, e))
        return false;
    text_copy(r->plug_name, sizeof r->plug_name, r->plug_id);
    if (distance.given) {
        int unit = v->odometer_unit != 0 ? v->odometer_unit : words_find(WORDS_ODOMETER_UNIT, "km");

        r->plug_distance_m = MAYBE(distance.value * odometer_unit(unit)->factor);
        v->odometer_unit = unit;
    }
    return true;
}

static bool parse_readings(const struct engine *en, struct visit *v, const cJSON *object,
                           const struct case_place *p, struct err *e)
{
    const cJSON *list, *entry;
    struct case_place q = case_inside(p, "readings");
    int n = 0;

    if (!case_get_array(object, "readings", &list, ENGINE_MAX_PLUGS, p, e))
        return false;
    if (list != NULL)
        cJSON_ArrayForEach(entry, list)
        {
            struct case_place r = case_item(&q, n++);

            if (!parse_reading(en, v, entry, &r, e))
                return false;
        }
    return true;
}

static bool parse_done(const struct engine *en, struct visit *v, const cJSON *object,
                       const struct case_place *p, struct err *e)
{
    const cJSON *list, *entry;
    struct case_place q = case_inside(p, "done");

    if (!case_get_array(object, "done", &list, VISIT_MAX_DONE, p, e))
        return false;
    if (list != NULL)
        cJSON_ArrayForEach(entry, list)
        {
            struct case_place r = case_item(&q, v->n_done);

            if (!cJSON_IsString(entry))
                return err_set(e, ERR_FORMAT, "%s must be text.", r.path);
            if (!visit_parse_done(en, entry->valuestring, &v->done[v->n_done], e))
                return err_wrap(e, "%s", r.path);
            v->n_done++;
        }
    return true;
}

/* Positions of a several-plug engine are named by the readings, in the order they come. */
static bool name_positions(struct engine *en, const cJSON *root, struct err *e)
{
    const cJSON *readings = case_get(root, "readings"), *entry;
    int n = 0;

    if (en->n_positions == 1)
        return true;
    cJSON_ArrayForEach(entry, readings)
    {
        const cJSON *v = cJSON_IsObject(entry) ? case_get(entry, "position") : NULL;
        bool known = false;

        if (!cJSON_IsString(v) || v->valuestring[0] == '\0')
            continue;
        for (int i = 0; i < n; i++)
            known = known || strcmp(en->position_names[i], v->valuestring) == 0;
        if (known)
            continue;
        if (n == en->n_positions)
            return err_set(e, ERR_BADARG,
                           "readings: “%s” is one position too many for %d plugs per cylinder.",
                           TEXT_SHORT(v->valuestring, 20), en->n_positions);
        if (!text_copy(en->position_names[n++], sizeof en->position_names[0], v->valuestring))
            return err_set(e, ERR_LIMIT, "readings: a position name is too long.");
    }
    for (; n < en->n_positions; n++) /* those nobody read yet keep a usual name that is still free */
        for (int k = 0; k < ENGINE_MAX_POSITIONS; k++) {
            static const char *const usual[] = {"top", "bottom", "third", "fourth"};
            bool used = false;

            for (int i = 0; i < n; i++)
                used = used || strcmp(en->position_names[i], usual[k]) == 0;
            if (!used) {
                text_copy(en->position_names[n], sizeof en->position_names[n], usual[k]);
                break;
            }
        }
    return true;
}

static bool parse_root(const cJSON *root, struct record *out, struct err *e)
{
    static const char *const known[] = {"format", "engine", "visit", "readings", "earlier", NULL};
    static const char *const known_earlier[] = {"visit", "readings", "done", NULL};
    struct case_place p = {""}, q = {"earlier"}, now = {"visit"};
    const cJSON *list, *entry;
    int format = 1, n = 0;

    if (!case_check_keys(root, known, &p, e))
        return false;
    if (case_get(root, "format") != NULL) {
        struct case_place f = {"format"};

        if (!case_check_whole(case_get(root, "format"), 1, 1000, &format, &f, e))
            return false;
        if (format != 1)
            return err_set(e, ERR_VERSION,
                           "The case has format %d; this Sootbook reads format 1. A newer Sootbook can "
                           "read it.",
                           format);
    }
    if (!parse_engine(&out->engine, case_get(root, "engine"), e) || !name_positions(&out->engine, root, e))
        return false;
    if (!case_get_array(root, "earlier", &list, RECORD_MAX_VISITS - 1, &p, e))
        return false;
    if (list != NULL)
        cJSON_ArrayForEach(entry, list)
        {
            struct case_place r = case_item(&q, n++), s = case_inside(&r, "visit");
            struct visit *v = record_add_visit(out);

            if (!case_check_keys(entry, known_earlier, &r, e) ||
                !parse_visit(&out->engine, v, case_get(entry, "visit"), &s, e) ||
                !parse_readings(&out->engine, v, entry, &r, e) ||
                !parse_done(&out->engine, v, entry, &r, e))
                return false;
        }
    if (case_get(root, "visit") == NULL)
        return err_set(e, ERR_FORMAT, "The case has no visit.");
    struct visit *v = record_add_visit(out);

    return parse_visit(&out->engine, v, case_get(root, "visit"), &now, e) &&
           parse_readings(&out->engine, v, root, &p, e);
}

bool casefile_parse(const char *json, size_t n_bytes, struct record *out, struct err *e)
{
    const char *end = NULL;
    size_t n_blank = 0;
    cJSON *root;
    bool fine;

    record_init(out);
    if (n_bytes > CASEFILE_MAX_BYTES)
        return err_set(e, ERR_LIMIT, "The case is larger than %u MB.", CASEFILE_MAX_BYTES >> 20);
    while (n_blank < n_bytes && json[n_blank] != '\0' && strchr(" \t\r\n", json[n_blank]) != NULL)
        n_blank++;
    if (n_blank == n_bytes)
        return err_set(e, ERR_FORMAT, "The case is empty.");
    if (!text_is_utf8(json, n_bytes))
        return err_set(e, ERR_FORMAT, "The case is not UTF-8 text.");
    if (memchr(json, 0, n_bytes) != NULL)
        return err_set(e, ERR_FORMAT, "The case holds a zero byte: it is no JSON text.");
    root = cJSON_ParseWithLengthOpts(json, n_bytes, &end, 0);
    if (root != NULL && end != NULL)
        while (end < json + n_bytes && strchr(" \t\r\n", *end) != NULL)
            end++;
    if (root == NULL || (end != NULL && end < json + n_bytes)) {
        size_t line = 1;

        for (const char *s = json; end != NULL && s < end && s < json + n_bytes; s++)
            line += *s == '\n';
        cJSON_Delete(root);
        return err_set(e, ERR_FORMAT, "The case is no valid JSON; the trouble starts in line %zu.",
                       line);
    }
    fine = parse_root(root, out, e);
    cJSON_Delete(root);
    if (!fine)
        record_release(out);
    return fine;
}
