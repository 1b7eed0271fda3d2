/* casefile_json.h - values of a case, each checked and each complaint naming its place. What is absent
 * leaves its target alone. Not for callers. */
#ifndef CASEFILE_CASEFILE_JSON_H
#define CASEFILE_CASEFILE_JSON_H

#include <cjson/cJSON.h>
#include <stdbool.h>
#include <stddef.h>
#include "record/record.h"

struct err;

/* Where we are, for messages: "readings[3].well[0].sign". */
struct case_place {
    char path[160];
};

struct case_place case_inside(const struct case_place *p, const char *key);
struct case_place case_item(const struct case_place *p, int i);
/* Refuses keys that are not in the NULL-ended list, and keys that come twice. */
bool case_check_keys(const cJSON *object, const char *const *known, const struct case_place *p, struct err *e);
const cJSON *case_get(const cJSON *object, const char *key);
/* Optional text; leaves `to` alone when absent. */
bool case_get_text(const cJSON *object, const char *key, char *to, size_t n_room, const struct case_place *p, struct err *e);
bool case_check_number(const cJSON *v, double low, double high, const struct case_place *q, struct err *e);
bool case_get_number(const cJSON *object, const char *key, double low, double high, struct maybe *to, const struct case_place *p, struct err *e);
bool case_check_whole(const cJSON *v, int low, int high, int *to, const struct case_place *q, struct err *e);
bool case_get_whole(const cJSON *object, const char *key, int low, int high, int *to, const struct case_place *p, struct err *e);
/* 0 not said, 1 yes, 2 no */
bool case_get_yes_no(const cJSON *object, const char *key, int *to, const struct case_place *p, struct err *e);
bool case_unknown_word(const char *word, const struct case_place *q, const char *all, struct err *e);
bool case_to_word(const cJSON *v, enum words list, int *to, const struct case_place *q, struct err *e);
bool case_get_word(const cJSON *object, const char *key, enum words list, int *to, const struct case_place *p, struct err *e);
/* A word of one of the engine's small lists, through its find function. */
bool case_get_engine_word(const cJSON *object, const char *key, int (*find)(const char *), const char *all, int *to, const struct case_place *p, struct err *e);
/* A cylinder as people call it, number or text, as label. */
bool case_to_label(const cJSON *v, char label[ENGINE_LABEL_BYTES * 2], const struct case_place *q, struct err *e);
bool case_to_cylinder(const cJSON *v, const struct engine *en, int *to, const struct case_place *q, struct err *e);
bool case_get_array(const cJSON *object, const char *key, const cJSON **to, int n_max, const struct case_place *p, struct err *e);

#endif
