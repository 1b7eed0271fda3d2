/* settings.h - the few things a person sets for all logbooks, in XDG_CONFIG_HOME/sootbook/settings. */
#ifndef APP_SETTINGS_H
#define APP_SETTINGS_H

#include <stdbool.h>
#include <stddef.h>
#include "base/units.h"

#define SETTINGS_SCALE_LEAST 100
#define SETTINGS_SCALE_MOST 300

struct settings {
    bool inches;
    bool large_targets;
    char scale[8];       /* how large things are drawn: per cent, "screen" as it says */
    char watched[1024]; /* folder whose new photos are taken in, "" none */
    char photos_here[800]; /* ids of visits to which photos of another day belong, the latest said first */
    char compression_rule[24]; /* id of the published rule compression is judged by */
    char pressure[8];    /* unit compression is typed and shown in: kPa, bar, psi */
    char report_without[400]; /* parts of a report that are left out: report_parts_parse() */
    char report_visits[8];    /* how many are told: report_visits_parse() */
    char report_paper[8];     /* a4, letter */
    bool apart;          /* a script's own: never written to the person's file */
};
void settings_load(struct settings *s);       /* what is missing or wrong keeps its default */
void settings_apart(struct settings *s);      /* the defaults, whatever the person has set; nothing is kept */
struct unit_choice settings_units(const struct settings *s); /* those figures are told in */
int settings_scale_percent(const struct settings *s); /* SETTINGS_SCALE_LEAST to SETTINGS_SCALE_MOST, 0: as the screen says */
void settings_set_scale(struct settings *s, int percent); /* 0: as the screen says */
void settings_photos_here(struct settings *s, const char *visit, bool belong); /* says it of a visit, or takes it back; the oldest make room */
void settings_save(const struct settings *s); /* silently nothing where it cannot be written, or apart */

/* One row a setting: the file, the help and the checks come from it. */
struct setting_row {
    const char *key, *help;
    size_t at;                         /* where it lies in struct settings */
    size_t n_room;                     /* bytes of a text; 0: yes or no, written 1 and 0 */
    const char *standard;
    bool (*knows)(const char *value);  /* of a text: which are taken; NULL any */
};
const struct setting_row *setting_rows(int *n);

#endif
