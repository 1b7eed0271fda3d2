/* commands.h - everything a key does, as one table: the handling of keys, the list F9 shows and the
 * menu are made from it. What a screen or the kit handles itself is listed here too (no action), so
 * that the list is whole. */
#ifndef SCREEN_COMMANDS_H
#define SCREEN_COMMANDS_H

#include "screen/model.h"

enum command_place { /* bits: where a command is to be had */
    COMMAND_ENGINES = 1, COMMAND_PLAN = 2, COMMAND_PULLING = 4, COMMAND_PHOTOS = 8, COMMAND_TRENDS = 16, COMMAND_LINEUP = 32, COMMAND_JOB = 64, COMMAND_REPORT = 128,
    COMMAND_ENGINE = COMMAND_PLAN | COMMAND_PULLING | COMMAND_PHOTOS | COMMAND_TRENDS | COMMAND_LINEUP | COMMAND_JOB | COMMAND_REPORT, COMMAND_EVERYWHERE = COMMAND_ENGINES | COMMAND_ENGINE
};
struct command {
    const char *id;
    const char *shown;    /* the key as the list names it */
    const char *words;    /* what it does */
    const char *menu;     /* its line in the menu, NULL: not there */
    const char *keys[3];  /* each of them, NULL behind the last */
    unsigned places;
    bool over_panels;     /* also while a panel is open */
    bool elsewhere;       /* the window's own: no screen sees the key */
    void (*run)(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out); /* NULL: a screen or the kit does it */
};
const struct command *commands(int *n);
/* The key of a command as it is shown beside its button. */
const char *command_key(const char *id);
/* Runs the command whose key was pressed; false: there was none. Letters and figures are a field's while one is typed in. */
bool commands_keys(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out);
/* The menu at the state's menu place, until it is closed. */
void commands_menu(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out);
/* "Plan, Photos": the places in words. */
void commands_places(unsigned places, char *to, size_t n_room);
enum command_place commands_here(const struct screen_state *st);

#endif
