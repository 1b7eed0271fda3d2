/* settings.h - the few things a person sets for all logbooks, in XDG_CONFIG_HOME/sootbook/settings. */
#ifndef APP_SETTINGS_H
#define APP_SETTINGS_H

#include <stdbool.h>

struct settings {
    bool inches;
    bool large_targets;
    char watched[1024]; /* folder whose new photos are taken in, "" none */
};
void settings_load(struct settings *s);       /* what is missing or wrong keeps its default */
void settings_save(const struct settings *s); /* silently nothing where it cannot be written */

/* One row a setting: the file, the help and the checks come from it. */
struct setting_row {
    const char *key, *help;
    double low, high, standard; /* 0 and 1 for yes or no */
};
const struct setting_row *setting_rows(int *n);

#endif
