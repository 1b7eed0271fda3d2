#include "casefile/casefile_json.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/err.h"
#include "base/text.h"

struct case_place case_inside(const struct case_place *p, const char *key)
{
    struct case_place q = {""};

    text_format(q.path, sizeof q.path, "%s%s%s", p->path, p->path[0] ? "." : "", key);
    return q;
}

struct case_place case_item(const struct case_place *p, int i)
{
    struct case_place q = {""};

    text_format(q.path, sizeof q.path, "%s[%d]", p->path, i);
    return q;
}

static const char *shown(const struct case_place *p)
{
    return p->path[0] ? p->path : "the case";
}

/* Refuses keys that are not in the NULL-ended list, and keys that come twice. */
bool case_check_keys(const cJSON *object, const char *const *known, const struct case_place *p,
                       struct err *e)
{
    const cJSON *child;

    if (!cJSON_IsObject(object))
        return err_set(e, ERR_FORMAT, "%s must be an object { … }.", shown(p));
    cJSON_ArrayForEach(child, object)
    {
        bool found = false;

        for (int i = 0; known[i] != NULL; i++)
            found = found || strcmp(known[i], child->string) == 0;
        if (!found) {
            struct text list = {0};

            for (int i = 0; known[i] != NULL; i++)
                text_addf(&list, "%s%s", i ? ", " : "", known[i]);
            err_set(e, ERR_FORMAT, "%s: unknown key “%s”. Known here: %s.", shown(p),
                    TEXT_SHORT(child->string, 40), TEXT_SHORT(text_get(&list), 400));
            text_release(&list);
            return false;
        }
        for (const cJSON *other = child->next; other != NULL; other = other->next)
            if (strcmp(other->string, child->string) == 0)
                return err_set(e, ERR_FORMAT, "%s: the key “%s” comes twice.", shown(p),
                               TEXT_SHORT(child->string, 40));
    }
    return true;
}

const cJSON *case_get(const cJSON *object, const char *key)
{
    return cJSON_GetObjectItemCaseSensitive(object, key);
}

/* Optional text; leaves `to` alone when absent. */
bool case_get_text(const cJSON *object, const char *key, char *to, size_t n_room,
                     const struct case_place *p, struct err *e)
{
    const cJSON *v = case_get(object, key);
    struct case_place q = case_inside(p, key);

    if (v == NULL)
        return true;
    if (!cJSON_IsString(v))
        return err_set(e, ERR_FORMAT, "%s must be text.", q.path);
    if (!text_is_utf8(v->valuestring, strlen(v->valuestring)))
        return err_set(e, ERR_FORMAT, "%s is no valid UTF-8.", q.path);
    if (!text_copy(to, n_room, v->valuestring))
        return err_set(e, ERR_LIMIT, "%s is longer than %zu bytes.", q.path, n_room - 1);
    return true;
}

bool case_check_number(const cJSON *v, double low, double high, const struct case_place *q,
                         struct err *e)
{
    if (!cJSON_IsNumber(v))
        return err_set(e, ERR_FORMAT, "%s must be a number.", q->path);
    if (!(v->valuedouble >= low && v->valuedouble <= high))
        return err_set(e, ERR_BADARG, "%s is %g; it must lie between %g and %g.", q->path,
                       v->valuedouble, low, high);
    return true;
}

bool case_get_number(const cJSON *object, const char *key, double low, double high,
                       struct maybe *to, const struct case_place *p, struct err *e)
{
    const cJSON *v = case_get(object, key);
    struct case_place q = case_inside(p, key);

    if (v == NULL)
        return true;
    if (!case_check_number(v, low, high, &q, e))
        return false;
    *to = MAYBE(v->valuedouble);
    return true;
}

bool case_check_whole(const cJSON *v, int low, int high, int *to, const struct case_place *q,
                        struct err *e)
{
    if (!case_check_number(v, low, high, q, e))
        return false;
    if (v->valuedouble != floor(v->valuedouble))
        return err_set(e, ERR_FORMAT, "%s must be a whole number.", q->path);
    *to = (int)v->valuedouble;
    return true;
}

bool case_get_whole(const cJSON *object, const char *key, int low, int high, int *to,
                      const struct case_place *p, struct err *e)
{
    const cJSON *v = case_get(object, key);
    struct case_place q = case_inside(p, key);

    return v == NULL || case_check_whole(v, low, high, to, &q, e);
}

/* 0 not said, 1 yes, 2 no */
bool case_get_yes_no(const cJSON *object, const char *key, int *to, const struct case_place *p,
                       struct err *e)
{
    const cJSON *v = case_get(object, key);
    struct case_place q = case_inside(p, key);

    if (v == NULL)
        return true;
    if (!cJSON_IsBool(v))
        return err_set(e, ERR_FORMAT, "%s must be true or false.", q.path);
    *to = cJSON_IsTrue(v) ? 1 : 2;
    return true;
}

bool case_unknown_word(const char *word, const struct case_place *q, const char *all, struct err *e)
{
    return err_set(e, ERR_FORMAT, "%s: unknown word “%s”. Known: %s.", q->path, TEXT_SHORT(word, 40), TEXT_SHORT(all, 420));
}

bool case_to_word(const cJSON *v, enum words list, int *to, const struct case_place *q, struct err *e)
{
    char all[600];
    int found;

    if (!cJSON_IsString(v))
        return err_set(e, ERR_FORMAT, "%s must be text.", q->path);
    found = words_find(list, v->valuestring);
    if (found > 0) {
        *to = found;
        return true;
    }
    words_list(list, all, sizeof all);
    case_unknown_word(v->valuestring, q, all, e);
    return false;
}

bool case_get_word(const cJSON *object, const char *key, enum words list, int *to,
                     const struct case_place *p, struct err *e)
{
    const cJSON *v = case_get(object, key);
    struct case_place q = case_inside(p, key);

    return v == NULL || case_to_word(v, list, to, &q, e);
}

/* A word of one of the engine's small lists, through its find function. */
bool case_get_engine_word(const cJSON *object, const char *key, int (*find)(const char *),
                            const char *all, int *to, const struct case_place *p, struct err *e)
{
    const cJSON *v = case_get(object, key);
    struct case_place q = case_inside(p, key);
    int found;

    if (v == NULL)
        return true;
    if (!cJSON_IsString(v))
        return err_set(e, ERR_FORMAT, "%s must be text.", q.path);
    found = v->valuestring[0] ? find(v->valuestring) : -1;
    if (found < 0)
        return case_unknown_word(v->valuestring, &q, all, e);
    *to = found;
    return true;
}

/* A cylinder as people call it, number or text, as label. */
bool case_to_label(const cJSON *v, char label[ENGINE_LABEL_BYTES * 2], const struct case_place *q,
                     struct err *e)
{
    if (cJSON_IsNumber(v)) {
        if (v->valuedouble != floor(v->valuedouble) || v->valuedouble < 0 || v->valuedouble > 999)
            return err_set(e, ERR_FORMAT, "%s: %g is no cylinder number.", q->path, v->valuedouble);
        snprintf(label, ENGINE_LABEL_BYTES * 2, "%d", (int)v->valuedouble);
        return true;
    }
    if (cJSON_IsString(v) && text_copy(label, ENGINE_LABEL_BYTES * 2, v->valuestring))
        return true;
    return err_set(e, ERR_FORMAT, "%s must be a cylinder: a number or a short text like A1.",
                   q->path);
}

bool case_to_cylinder(const cJSON *v, const struct engine *en, int *to, const struct case_place *q,
                        struct err *e)
{
    char label[ENGINE_LABEL_BYTES * 2];

    if (!case_to_label(v, label, q, e))
        return false;
    *to = engine_find_cylinder(en, label);
    if (*to < 0)
        return err_set(e, ERR_BADARG, "%s: the engine has no cylinder %s.", q->path, label);
    return true;
}

bool case_get_array(const cJSON *object, const char *key, const cJSON **to, int n_max,
                      const struct case_place *p, struct err *e)
{
    struct case_place q = case_inside(p, key);

    *to = case_get(object, key);
    if (*to == NULL)
        return true;
    if (!cJSON_IsArray(*to))
        return err_set(e, ERR_FORMAT, "%s must be a list [ … ].", q.path);
    if (cJSON_GetArraySize(*to) > n_max)
        return err_set(e, ERR_LIMIT, "%s has more than %d entries.", q.path, n_max);
    return true;
}
