/* places.c - plugs as people name them ("3", "3 top", "3T"): the order they were drawn in, and which goes
 * into which hole. */
#include "record/record.h"

#include <stdio.h>
#include <string.h>
#include <strings.h>

#include "base/err.h"
#include "base/text.h"

static const char stops[] = " ,;-\n\t";

static bool ends_here(const char *text)
{
    return *text == '\0' || strchr(stops, *text) != NULL;
}

/* Bytes of `word` at the start of text, letters of either case; 0: it does not stand there. */
static size_t starts_with(const char *text, const char *word)
{
    size_t n = strlen(word);

    return n > 0 && strncasecmp(text, word, n) == 0 ? n : 0;
}

static bool letter_is_enough(const struct engine *en, int position)
{
    for (int p = 0; p < en->n_positions; p++)
        if (p != position && strncasecmp(en->position_names[p], en->position_names[position], 1) == 0)
            return false;
    return true;
}

/* Bytes of a plug's name at the start of text: "3", "3 top", "3T"; 0: another one's or none. */
static size_t named_here(const struct engine *en, int cylinder, int position, const char *text)
{
    size_t n = starts_with(text, en->cylinders[cylinder].label), more;

    if (n == 0 || en->n_positions == 1)
        return n > 0 && ends_here(text + n) ? n : 0;
    n += strspn(text + n, " ");
    more = starts_with(text + n, en->position_names[position]);
    if (more > 0 && ends_here(text + n + more))
        return n + more;
    if (!letter_is_enough(en, position) || strncasecmp(text + n, en->position_names[position], 1) != 0 || !ends_here(text + n + 1))
        return 0;
    return n + 1;
}

/* The plug with the longest name at the start of text, -1 none. */
static int plug_here(const struct engine *en, const char *text, size_t *longest)
{
    int best = -1;

    *longest = 0;
    for (int i = 0; i < record_plug_count(en); i++) {
        size_t here = named_here(en, i / en->n_positions, i % en->n_positions, text);

        if (here > *longest) {
            *longest = here;
            best = i;
        }
    }
    return best;
}

static struct plug_place place_at(const struct engine *en, int plug)
{
    return (struct plug_place){plug / en->n_positions, plug % en->n_positions};
}

/* ---- the order they were drawn in ---- */

/* "1-6" and nothing else means all from one to the other, either way; with more hyphens they only part the names.
 * Writes the plugs between and the last one behind the first; 0 when text is no such row or a number is missing. */
static int row_of(const struct engine *en, const char *text, int16_t order[ENGINE_MAX_PLUGS])
{
    int from, to, used = 0, n = 0;

    if (en->n_positions > 1 || sscanf(text, "%2d -%2d %n", &from, &to, &used) != 2 || text[used] != '\0' || from < 0 || to < 0)
        return 0;
    for (int at = from; n < ENGINE_MAX_PLUGS; at += from < to ? 1 : -1) {
        char label[16];
        int cylinder;

        text_format(label, sizeof label, "%d", at);
        cylinder = engine_find_cylinder(en, label);
        if (cylinder < 0)
            return 0;
        order[n++] = (int16_t)(cylinder * ENGINE_MAX_POSITIONS);
        if (at == to)
            break;
    }
    return n;
}

bool visit_parse_removal(const struct engine *en, struct visit *v, const char *text, struct err *e)
{
    int16_t order[ENGINE_MAX_PLUGS] = {0};
    bool seen[ENGINE_MAX_PLUGS] = {false};
    const int n_row = row_of(en, text + strspn(text, stops), order);
    int n = n_row;

    for (text += strspn(text, stops); n_row == 0 && *text != '\0'; text += strspn(text, stops)) {
        size_t longest;
        int best = plug_here(en, text, &longest);

        if (best < 0) {
            if (en->n_positions == 1)
                return err_set(e, ERR_BADARG, "Removal order: there is no plug “%.*s”.", (int)strcspn(text, stops), text);
            return err_set(e, ERR_BADARG, "Removal order: “%.*s” names no plug. Write cylinder and position, like %s %s, %s %s%s.", (int)strcspn(text, stops), text,
                           en->cylinders[0].label, en->position_names[0], en->cylinders[0].label, en->position_names[1],
                           letter_is_enough(en, 0) && letter_is_enough(en, 1) ? ", or their first letters" : "");
        }
        if (seen[best])
            return err_set(e, ERR_BADARG, "Removal order: %.*s comes twice.", (int)longest, text);
        seen[best] = true;
        order[n++] = (int16_t)(best / en->n_positions * ENGINE_MAX_POSITIONS + best % en->n_positions);
        text += longest;
    }
    memcpy(v->removal, order, (size_t)n * sizeof order[0]);
    v->n_removal = n;
    return true;
}

void visit_format_removal(const struct engine *en, const struct visit *v, char *to, size_t n_room)
{
    struct text t = {0};

    for (int i = 0; i < v->n_removal; i++) {
        char label[48];
        struct plug_place at = visit_drawn(v, i);

        engine_plug_label(en, at.cylinder, at.position, label, sizeof label);
        text_addf(&t, "%s%s", i == 0 ? "" : en->n_positions > 1 ? ", " : " ", label);
    }
    text_copy(to, n_room, text_get(&t));
    text_release(&t);
}

/* ---- moves from hole to hole ---- */

bool record_parse_moves(const struct engine *en, const char *text, struct plug_move *moves, int *n, struct err *e)
{
    int before = -1;

    *n = 0;
    while (*text != '\0') {
        size_t longest, skip = strspn(text, " \n\t");
        bool then = false;
        int plug;

        text += skip;
        for (;; text += strspn(text, " \n\t")) { /* what stands between two names */
            if (strncmp(text, "→", strlen("→")) == 0)
                text += strlen("→");
            else if (*text == '>')
                text++;
            else
                break;
            then = true;
        }
        if (*text == ',' || *text == ';') {
            before = -1;
            text++;
            continue;
        }
        if (*text == '\0')
            break;
        plug = plug_here(en, text, &longest);
        if (plug < 0)
            return err_set(e, ERR_BADARG, "“%.*s” names no plug. Write holes with > between them: %s", (int)strcspn(text, ",;>"), text,
                           en->n_positions > 1 ? "1 top > 3 bottom, with the names of this engine." : "1 > 3 > 1.");
        if (before >= 0 && !then)
            return err_set(e, ERR_BADARG, "“%.*s”: write > before it, or a comma.", (int)longest, text);
        if (before >= 0 && *n == ENGINE_MAX_PLUGS)
            return err_set(e, ERR_BADARG, "More moves than there are plugs.");
        if (before >= 0 && before != plug)
            moves[(*n)++] = (struct plug_move){place_at(en, before), place_at(en, plug)};
        before = plug;
        text += longest;
    }
    return true;
}

void record_format_moves(const struct engine *en, const struct plug_move *moves, int n, char *to, size_t n_room)
{
    bool told[ENGINE_MAX_PLUGS] = {false};
    struct text t = {0};
    char label[48];

    for (int i = 0; i < n; i++) {
        int k = i;

        if (told[i])
            continue;
        engine_plug_label(en, moves[i].from.cylinder, moves[i].from.position, label, sizeof label);
        text_addf(&t, "%s%s", i > 0 ? ", " : "", label);
        while (k < n && !told[k]) { /* along the chain until it closes or ends */
            struct plug_place at = moves[k].to;

            told[k] = true;
            engine_plug_label(en, at.cylinder, at.position, label, sizeof label);
            text_addf(&t, " > %s", label);
            for (k = 0; k < n && (moves[k].from.cylinder != at.cylinder || moves[k].from.position != at.position); k++)
                ;
        }
    }
    text_copy(to, n_room, text_get(&t));
    text_release(&t);
}

/* ---- places as findings word them ---- */

void record_done_place(const char *place, char *to, size_t n_room)
{
    if (text_starts(place, "group "))
        text_format(to, n_room, "cylinders %s", place + 6);
    else
        text_copy(to, n_room, strcmp(place, "engine") == 0 || place[0] == '\0' ? "all" : place);
}

engine_set record_place(const struct engine *en, const char *place)
{
    char line[160], where[100];
    struct visit_done d;
    struct err ignored;

    record_done_place(place, where, sizeof where);
    text_format(line, sizeof line, "replaced:plug:%s", where);
    return visit_parse_done(en, line, &d, &ignored) ? d.cylinders : 0;
}
