#include "app/driver.h"

#include <SDL.h>
#include <cjson/cJSON.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>

#include "app/fits.h"
#include "app/session.h"
#include "app/window.h"
#include "base/clock.h"
#include "base/err.h"
#include "base/files.h"
#include "base/mem.h"
#include "base/text.h"
#include "cli/cli.h"
#include "ui/ui_render.h"

struct driver {
    struct window *w;
    int line;
    float scale;
    int width, height;
    long keys, clicks, drags, drops, fields, typed;
    long frames_from;
};

static bool settle(struct driver *d, double most_s)
{
    double from = clock_monotonic_s();

    do {
        if (!window_turn(d->w, 0.01))
            return true;
        if (window_settled(d->w))
            return true;
    } while (clock_monotonic_s() - from < most_s);
    return false;
}

/* Frames until what was fed is worked through and drawn; jobs may go on. */
static void run_through(struct driver *d)
{
    for (int i = 0; i < 50; i++) {
        if (!window_turn(d->w, 0))
            return;
        double due_s = ui_wake_in_s(window_ui(d->w), clock_monotonic_s());

        if (!ui_pending(window_ui(d->w)) && (due_s > 0 || due_s < 0))
            return;
    }
}

/* Everything goes in as the system's own events, so that a script runs through the same translation
 * of keys, places and dropped addresses as a person's hands. */
static void push(SDL_Event ev)
{
    SDL_PushEvent(&ev);
}

static void push_text(const char *text)
{
    SDL_Event ev = {.type = SDL_TEXTINPUT};

    if (SDL_IsTextInputActive()) { /* else the system sends none */
        text_copy(ev.text.text, sizeof ev.text.text, text);
        push(ev);
    }
}

static void push_mouse(const struct driver *d, Uint32 type, float x, float y)
{
    SDL_Event ev = {.type = type};
    int px = (int)lroundf(x * d->scale), py = (int)lroundf(y * d->scale);

    if (type == SDL_MOUSEMOTION) {
        ev.motion.x = px;
        ev.motion.y = py;
    } else {
        ev.button.button = SDL_BUTTON_LEFT;
        ev.button.x = px;
        ev.button.y = py;
    }
    push(ev);
}

/* "Ctrl+Shift+Z", "n", "+", "F4" as a key of the keyboard; false when there is no such key. */
static bool key_of(const char *name, SDL_Keysym *k)
{
    static const struct {
        const char *prefix;
        SDL_Keymod mod;
    } mods[] = {{"Ctrl+", KMOD_LCTRL}, {"Shift+", KMOD_LSHIFT}, {"Alt+", KMOD_LALT}};
    static const struct {
        const char *name, *sdl; /* where SDL names it otherwise */
    } names[] = {{"Enter", "Return"}};

    for (size_t i = 0; i < sizeof mods / sizeof mods[0]; i++)
        if (text_starts(name, mods[i].prefix) && strlen(name) > strlen(mods[i].prefix)) {
            k->mod |= (Uint16)mods[i].mod;
            name += strlen(mods[i].prefix);
        }
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++)
        if (strcmp(name, names[i].name) == 0)
            name = names[i].sdl;
    k->sym = SDL_GetKeyFromName(name);
    if (strcmp(name, "+") == 0) { /* on the key of "=" */
        k->sym = SDLK_EQUALS;
        k->mod |= KMOD_LSHIFT;
    }
    k->scancode = SDL_GetScancodeFromKey(k->sym);
    return k->sym != SDLK_UNKNOWN;
}

static bool press(struct driver *d, const char *key, struct err *e)
{
    SDL_Event ev = {.type = SDL_KEYDOWN};

    if (!key_of(key, &ev.key.keysym))
        return err_set(e, ERR_BADARG, "there is no key “%s”", TEXT_SHORT(key, 20));
    push(ev);
    /* a sign typed without a modifier is text as well */
    if (strlen(key) == 1 || strcmp(key, "Space") == 0)
        push_text(strcmp(key, "Space") == 0 ? " " : key);
    else if (text_starts(key, "Shift+") && strlen(key) == 7 && SDL_IsTextInputActive()) /* a capital, where a field is written in */
        push_text(key + 6);
    run_through(d);
    return true;
}

static const struct ui_widget *find(struct driver *d, const char *id, struct err *e)
{
    const struct ui_widget *w;
    size_t n;
    const struct ui_widget *all;

    run_through(d);
    w = ui_find_widget(window_ui(d->w), id);
    if (w != NULL && w->bounds.w > 0 && w->bounds.h > 0)
        return w;
    /* "visit.*" finds the first with that beginning: ids of records differ from run to run */
    if (text_ends(id, "*")) {
        all = ui_widgets(window_ui(d->w), &n);
        for (size_t i = 0; i < n; i++)
            if (strncmp(all[i].id, id, strlen(id) - 1) == 0 && all[i].bounds.w > 0)
                return &all[i];
    }
    if (w != NULL)
        err_set(e, ERR_NOTFOUND, "%s is there, but scrolled out of view", id);
    else
        err_set(e, ERR_NOTFOUND, "there is no %s on the screen now", id);
    return NULL;
}

static bool click(struct driver *d, const char *id, int times, struct err *e)
{
    const struct ui_widget *w = find(d, id, e);
    float x, y;

    if (w == NULL)
        return false;
    x = w->bounds.x + w->bounds.w / 2;
    y = w->bounds.y + w->bounds.h / 2;
    push_mouse(d, SDL_MOUSEMOTION, x, y);
    run_through(d);
    for (int i = 0; i < times; i++) {
        push_mouse(d, SDL_MOUSEBUTTONDOWN, x, y);
        push_mouse(d, SDL_MOUSEBUTTONUP, x, y);
        run_through(d);
    }
    return true;
}

static bool drag(struct driver *d, const char *from, const char *to, struct err *e)
{
    const struct ui_widget *a = find(d, from, e), *b;
    float x0, y0, x1, y1;

    if (a == NULL)
        return false;
    x0 = a->bounds.x + a->bounds.w / 2;
    y0 = a->bounds.y + a->bounds.h / 2;
    b = find(d, to, e);
    if (b == NULL)
        return false;
    x1 = b->bounds.x + b->bounds.w / 2;
    y1 = b->bounds.y + b->bounds.h / 2;
    push_mouse(d, SDL_MOUSEMOTION, x0, y0);
    run_through(d);
    push_mouse(d, SDL_MOUSEBUTTONDOWN, x0, y0);
    run_through(d);
    for (int i = 1; i <= 8; i++) {
        push_mouse(d, SDL_MOUSEMOTION, x0 + (x1 - x0) * (float)i / 8, y0 + (y1 - y0) * (float)i / 8);
        run_through(d);
    }
    push_mouse(d, SDL_MOUSEBUTTONUP, x1, y1);
    run_through(d);
    return true;
}

static bool outline(struct driver *d, const char *path, struct err *e)
{
    cJSON *list = cJSON_CreateArray();
    size_t n;
    const struct ui_widget *w;
    char *json;
    bool fine;

    run_through(d);
    w = ui_widgets(window_ui(d->w), &n);
    for (size_t i = 0; i < n; i++) {
        cJSON *o = cJSON_CreateObject();
        double bounds[4] = {(double)w[i].bounds.x, (double)w[i].bounds.y, (double)w[i].bounds.w, (double)w[i].bounds.h};

        cJSON_AddStringToObject(o, "id", w[i].id);
        cJSON_AddStringToObject(o, "role", ui_role_id(w[i].role));
        cJSON_AddStringToObject(o, "name", w[i].name);
        cJSON_AddStringToObject(o, "value", w[i].value);
        cJSON_AddItemToObject(o, "bounds", cJSON_CreateDoubleArray(bounds, 4));
        cJSON_AddBoolToObject(o, "focus", w[i].focused);
        cJSON_AddBoolToObject(o, "enabled", w[i].enabled);
        cJSON_AddItemToArray(list, o);
    }
    json = cJSON_Print(list);
    fine = files_write(path, json, strlen(json), e);
    free(json);
    cJSON_Delete(list);
    return fine;
}

static bool expect(struct driver *d, const char *id, const char *field, const char *value, struct err *e)
{
    const struct ui_widget *w;
    const char *found;

    run_through(d);
    w = ui_find_widget(window_ui(d->w), id);
    if (w == NULL && text_ends(id, "*")) {
        size_t n;
        const struct ui_widget *all = ui_widgets(window_ui(d->w), &n);

        for (size_t i = 0; w == NULL && i < n; i++)
            if (strncmp(all[i].id, id, strlen(id) - 1) == 0)
                w = &all[i];
    }
    if (strcmp(field, "absent") == 0)
        return w == NULL || err_set(e, ERR_BADARG, "%s is there", id);
    if (w == NULL)
        return err_set(e, ERR_NOTFOUND, "there is no %s on the screen now", id);
    if (strcmp(field, "there") == 0)
        return true;
    found = strcmp(field, "name") == 0 ? w->name : strcmp(field, "value") == 0 ? w->value : strcmp(field, "role") == 0 ? ui_role_id(w->role) : strcmp(field, "focus") == 0 ? (w->focused ? "yes" : "no") : strcmp(field, "enabled") == 0 ? (w->enabled ? "yes" : "no") : strcmp(field, "seen") == 0 ? (w->whole.h - w->bounds.h < 0.5f && w->bounds.h > 0 ? "yes" : "no") : NULL;
    if (found == NULL)
        return err_set(e, ERR_BADARG, "expect knows name, value, role, focus, enabled, seen, there and absent, not “%s”", field);
    if (text_starts(value, "~"))
        return strstr(found, value + 1) != NULL || err_set(e, ERR_BADARG, "%s %s is “%s”, which does not hold “%s”", id, field, found, value + 1);
    return strcmp(found, value) == 0 || err_set(e, ERR_BADARG, "%s %s is “%s”, not “%s”", id, field, found, value);
}

/* Every text of the frame against what it stands on: the last opaque area drawn below its middle.
 * What lies on a photo or a painted plug, or below the shade of a dialog, is passed over. */
static bool contrast(struct driver *d, struct err *e)
{
    const struct ui_draw *all;
    struct rect clip = ui_screen(window_ui(d->w));
    size_t n, from = 0;

    run_through(d);
    window_draw(d->w);
    all = ui_draws(window_ui(d->w), &n);
    for (size_t i = 0; i < n; i++)
        if (all[i].type == UI_DRAW_FILL && all[i].colour.a == ui_rgba(UI_SHADE).a && all[i].r.w >= clip.w)
            from = i;
    for (size_t i = from; i < n; i++) {
        float x = all[i].r.x + fminf(all[i].r.w / 2, 6), y = all[i].r.y + all[i].r.h / 2;

        if (all[i].type == UI_DRAW_CLIP)
            clip = all[i].r;
        if (all[i].type != UI_DRAW_TEXT || !ui_inside(clip, x, y))
            continue;
        for (size_t k = i; k-- > 0;) {
            bool area = all[k].type == UI_DRAW_FILL || all[k].type == UI_DRAW_ROUND || all[k].type == UI_DRAW_DISC;
            double c;

            if (!ui_inside(all[k].r, x, y) || (area && all[k].colour.a < 255))
                continue;
            if (all[k].type == UI_DRAW_IMAGE || all[k].type == UI_DRAW_PAINTING)
                break;
            if (!area)
                continue;
            c = ui_contrast(all[i].colour, all[k].colour);
            if (c < 4.5)
                return err_set(e, ERR_BADARG, "“%s” stands out from its surface by only %.2f:1", TEXT_SHORT(all[i].text, 40), c);
            break;
        }
    }
    return true;
}

/* Every text can be read, and what takes the focus comes into view when it has it. */
static bool fits(struct driver *d, struct err *e)
{
    struct ui *ui = window_ui(d->w);
    struct text why = {0};
    const struct ui_widget *w;
    char had[160];
    bool fine;

    run_through(d);
    window_draw(d->w);
    fine = fits_read(ui, &why);
    text_copy(had, sizeof had, ui_focused(ui));
    for (int at = 0; (w = fits_hidden(ui, &at)) != NULL;) {
        char id[160];

        text_copy(id, sizeof id, w->id);
        ui_focus(ui, id);
        window_draw(d->w);
        window_draw(d->w);
        w = ui_find_widget(ui, id);
        if (w != NULL && !fits_seen(w)) {
            text_addf(&why, "%s%s is not to be seen in full", fine ? "" : "; ", TEXT_SHORT(id, 60));
            fine = false;
        }
    }
    ui_focus(ui, had[0] != '\0' ? had : NULL);
    run_through(d);
    if (!fine)
        err_set(e, ERR_BADARG, "%s", text_get(&why));
    text_release(&why);
    return fine;
}

/* A press, a way in steps as a hand makes it, a release. */
static void stroke(struct driver *d, struct rect r, const double at[4])
{
    for (int i = 0; i <= 10; i++) {
        float x = r.x + r.w * (float)(at[0] + (at[2] - at[0]) * i / 10), y = r.y + r.h * (float)(at[1] + (at[3] - at[1]) * i / 10);

        push_mouse(d, SDL_MOUSEMOTION, x, y);
        run_through(d);
        if (i == 0)
            push_mouse(d, SDL_MOUSEBUTTONDOWN, x, y);
        if (i == 10)
            push_mouse(d, SDL_MOUSEBUTTONUP, x, y);
        run_through(d);
    }
    d->drags++;
}

static void turn_wheel(struct driver *d, float x, float y, float notches)
{
    push_mouse(d, SDL_MOUSEMOTION, x, y);
    run_through(d);
    push((SDL_Event){.wheel = {.type = SDL_MOUSEWHEEL, .y = (Sint32)notches, .preciseY = notches}});
    run_through(d);
}

static void push_finger(const struct driver *d, Uint32 type, SDL_FingerID id, float x, float y)
{
    push((SDL_Event){.tfinger = {.type = type, .touchId = 1, .fingerId = id, .x = x / (float)d->width, .y = y / (float)d->height, .pressure = 1}});
}

/* Two fingers, first 80 px apart, in ten steps `wider` times as far about x, y; SDL makes the first one the
 * pointer besides, as it does of real ones. */
static void pinch(struct driver *d, float x, float y, float wider)
{
    for (int i = 0; i <= 10; i++) {
        float half = 40 * powf(wider, (float)i / 10);
        Uint32 type = i == 0 ? SDL_FINGERDOWN : SDL_FINGERMOTION;

        for (int k = 0; k < 2; k++) {
            float at = k == 0 ? x - half : x + half;

            if (k == 0) {
                SDL_Event ev = {.motion = {.type = SDL_MOUSEMOTION, .which = SDL_TOUCH_MOUSEID, .x = (Sint32)lroundf(at * d->scale), .y = (Sint32)lroundf(y * d->scale)}};

                push(ev);
                if (i == 0)
                    push((SDL_Event){.button = {.type = SDL_MOUSEBUTTONDOWN, .which = SDL_TOUCH_MOUSEID, .button = SDL_BUTTON_LEFT, .x = ev.motion.x, .y = ev.motion.y}});
            }
            push_finger(d, type, k + 1, at, y);
            run_through(d);
        }
    }
    push((SDL_Event){.button = {.type = SDL_MOUSEBUTTONUP, .which = SDL_TOUCH_MOUSEID, .button = SDL_BUTTON_LEFT}});
    for (int k = 0; k < 2; k++)
        push_finger(d, SDL_FINGERUP, k + 1, x, y);
    run_through(d);
}

static int ascending(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;

    return (x > y) - (x < y);
}

/* How long the frames took since this was asked last. */
static void print_frames(struct driver *d, const char *name)
{
    const struct window_counts *c = window_count(d->w);
    long n = c->n_frames - d->frames_from;
    double *t = mem_alloc((size_t)n + 1, sizeof *t);

    memcpy(t, c->frame_s + d->frames_from, (size_t)n * sizeof *t);
    qsort(t, (size_t)n, sizeof *t, ascending);
    printf("%s%sframes: %ld drawn", name, name[0] ? " " : "", n);
    if (n > 0)
        printf("; median %.2f ms, 95 %% %.2f ms, worst %.2f ms", t[n / 2] * 1e3, t[(size_t)((double)n * 0.95)] * 1e3, t[n - 1] * 1e3);
    if (c->answer_s > 0)
        printf("; from an input to its picture at most %.2f ms", c->answer_s * 1e3);
    printf("\n");
    d->frames_from = c->n_frames;
    window_count_answers(d->w);
    free(t);
}

/* The next word; quotes hold blanks together. */
static char *word(char **at)
{
    char *s = *at, *start;

    s += strspn(s, " \t");
    if (*s == '\0') {
        *at = s;
        return s;
    }
    if (*s == '"') {
        start = ++s;
        s += strcspn(s, "\"");
    } else {
        start = s;
        s += strcspn(s, " \t");
    }
    if (*s != '\0')
        *s++ = '\0';
    *at = s;
    return start;
}

static bool one_line(struct driver *d, char *line, struct err *e)
{
    char *rest = line, *verb = word(&rest);

    if (verb[0] == '\0' || verb[0] == '#')
        return true;
    if (strcmp(verb, "size") == 0 || strcmp(verb, "scale") == 0) {
        double a = 0, b = 0;

        if (!text_to_double(word(&rest), &a) || (verb[1] == 'i' && !text_to_double(word(&rest), &b)))
            return err_set(e, ERR_BADARG, "size takes width and height, scale a number");
        if (verb[1] == 'i') {
            d->width = (int)a;
            d->height = (int)b;
        } else {
            d->scale = (float)a;
        }
        if (!window_set_size(d->w, d->width, d->height, d->scale, e))
            return false;
        run_through(d);
        return true;
    }
    if (strcmp(verb, "key") == 0) {
        char *key = word(&rest);

        if (key[0] == '\0')
            return err_set(e, ERR_BADARG, "key takes the name of a key: n, 4, Enter, Ctrl+Z");
        d->keys++;
        return press(d, key, e);
    }
    if (strcmp(verb, "type") == 0) {
        rest += strspn(rest, " \t");
        d->fields++;
        for (size_t i = 0; rest[i] != '\0';) { /* sign by sign, as fingers do */
            char one[8], key[16];
            size_t next = text_next(rest, i);

            memcpy(one, rest + i, next - i);
            one[next - i] = '\0';
            i = next;
            d->typed++;
            text_format(key, sizeof key, "%s%s", one[0] >= 'A' && one[0] <= 'Z' ? "Shift+" : "", one[0] == ' ' ? "Space" : one);
            if (strlen(one) > 1 || (text_starts(key, "Shift+") && !SDL_IsTextInputActive()) || !press(d, key, NULL)) {
                push_text(one); /* no key of its own: the text alone, as from an input method */
                run_through(d);
            }
        }
        return true;
    }
    if (strcmp(verb, "click") == 0 || strcmp(verb, "double") == 0) {
        d->clicks++;
        return click(d, word(&rest), verb[0] == 'd' ? 2 : 1, e);
    }
    if (strcmp(verb, "drag") == 0) {
        char *from = word(&rest), *to = word(&rest);

        d->drags++;
        return drag(d, from, to, e);
    }
    if (strcmp(verb, "stroke") == 0) {
        const struct ui_widget *w = find(d, word(&rest), e);
        double at[4];

        if (w == NULL)
            return false;
        for (int i = 0; i < 4; i++)
            if (!text_to_double(word(&rest), &at[i]))
                return err_set(e, ERR_BADARG, "stroke takes an id and two places in it, each x y from 0 to 1");
        stroke(d, w->bounds, at);
        return true;
    }
    if (strcmp(verb, "drop") == 0) {
        char *file = word(&rest);
        int n = 0;

        for (; file[0] != '\0'; file = word(&rest), n++) {
            SDL_Event ev = {.type = SDL_DROPFILE};
            char full[4096];

            ev.drop.file = SDL_strdup(text_starts(file, "file:") || realpath(file, full) == NULL ? file : full);
            push(ev);
        }
        if (n == 0)
            return err_set(e, ERR_BADARG, "drop takes files");
        d->drops++;
        run_through(d);
        return true;
    }
    if (strcmp(verb, "clipboard") == 0) {
        struct text lines = {0};

        for (char *one = word(&rest); one[0] != '\0'; one = word(&rest))
            text_addf(&lines, "%s%s", lines.n_bytes > 0 ? "\n" : "", one);
        SDL_SetClipboardText(text_get(&lines));
        text_release(&lines);
        return true;
    }
    if (strcmp(verb, "wheel") == 0 || strcmp(verb, "pinch") == 0) {
        const struct ui_widget *w = find(d, word(&rest), e);
        double by = 0, at[2] = {0.5, 0.5};
        char *x;

        if (w == NULL)
            return false;
        if (!text_to_double(word(&rest), &by) || (verb[0] == 'p' && !(by > 0.01 && by < 100)))
            return err_set(e, ERR_BADARG, "wheel takes an id and notches, pinch an id and how many times wider");
        x = word(&rest);
        if (x[0] != '\0' && (!text_to_double(x, &at[0]) || !text_to_double(word(&rest), &at[1])))
            return err_set(e, ERR_BADARG, "the place in the widget is x y from 0 to 1");
        d->drags += verb[0] == 'p';
        (verb[0] == 'p' ? pinch : turn_wheel)(d, w->bounds.x + w->bounds.w * (float)at[0], w->bounds.y + w->bounds.h * (float)at[1], (float)by);
        return true;
    }
    if (strcmp(verb, "frames") == 0) {
        print_frames(d, rest + strspn(rest, " \t"));
        return true;
    }
    if (strcmp(verb, "today") == 0) {
        char date[11];

        if (!clock_read_date(word(&rest), date) || setenv("SOOTBOOK_TODAY", date, 1) != 0)
            return err_set(e, ERR_BADARG, "today takes a date: 2026-06-14");
        return true;
    }
    if (strcmp(verb, "offers") == 0) {
        const char *how = word(&rest);

        if (strcmp(how, "on") != 0 && strcmp(how, "off") != 0)
            return err_set(e, ERR_BADARG, "offers takes on or off");
        window_offer_lines(d->w, how[1] == 'n');
        return true;
    }
    if (strcmp(verb, "wait") == 0) /* a busy machine takes as long as it takes */
        return settle(d, 600) || err_set(e, ERR_BUSY, "not settled after ten minutes");
    if (strcmp(verb, "pause") == 0) {
        double s = 0, until;

        if (!text_to_double(word(&rest), &s) || s < 0 || s > 60)
            return err_set(e, ERR_BADARG, "pause takes seconds");
        until = clock_monotonic_s() + s;
        while (clock_monotonic_s() < until)
            window_turn(d->w, until - clock_monotonic_s());
        return true;
    }
    if (strcmp(verb, "picture") == 0) {
        run_through(d);
        window_draw(d->w);
        return ui_render_save_png(window_render(d->w), word(&rest), e);
    }
    if (strcmp(verb, "contrast") == 0)
        return contrast(d, e);
    if (strcmp(verb, "fits") == 0)
        return fits(d, e);
    if (strcmp(verb, "outline") == 0)
        return outline(d, word(&rest), e);
    if (strcmp(verb, "redraw") == 0) { /* full frames, for measuring */
        long n = 0;

        if (!text_to_long(word(&rest), &n) || n < 1 || n > 10000)
            return err_set(e, ERR_BADARG, "redraw takes a number of frames");
        for (long i = 0; i < n; i++)
            window_draw(d->w);
        return true;
    }
    if (strcmp(verb, "idle") == 0) { /* seconds in which nothing should happen */
        struct rusage a, b;
        long frames = window_count(d->w)->n_frames;
        double s = 0, until, cpu;

        if (!text_to_double(word(&rest), &s) || s <= 0 || s > 60)
            return err_set(e, ERR_BADARG, "idle takes seconds");
        settle(d, 20);
        frames = window_count(d->w)->n_frames;
        getrusage(RUSAGE_SELF, &a);
        until = clock_monotonic_s() + s;
        while (clock_monotonic_s() < until)
            window_turn(d->w, fmin(2, until - clock_monotonic_s()));
        getrusage(RUSAGE_SELF, &b);
        cpu = (double)(b.ru_utime.tv_sec - a.ru_utime.tv_sec + b.ru_stime.tv_sec - a.ru_stime.tv_sec) * 1e3 +
              (double)(b.ru_utime.tv_usec - a.ru_utime.tv_usec + b.ru_stime.tv_usec - a.ru_stime.tv_usec) / 1e3;
        printf("idle %.0f s: %ld frames, %.1f ms of CPU\n", s, window_count(d->w)->n_frames - frames, cpu);
        return true;
    }
    if (strcmp(verb, "expect") == 0) {
        char *id = word(&rest), *field = word(&rest);

        rest += strspn(rest, " \t");
        if (rest[0] == '"' && text_ends(rest, "\"")) {
            rest++;
            rest[strlen(rest) - 1] = '\0';
        }
        return expect(d, id, field, rest, e);
    }
    return err_set(e, ERR_BADARG, "unknown “%s”; known: size scale key type click double drag stroke drop wheel pinch today wait pause picture contrast fits outline redraw frames idle expect", TEXT_SHORT(verb, 40));
}

static void print_counts(struct driver *d)
{
    const struct window_counts *c = window_count(d->w);

    printf("inputs: %ld (%ld keys, %ld typed signs in %ld fields, %ld clicks, %ld drags, %ld drops)\n",
           d->keys + d->typed + d->clicks + d->drags + d->drops, d->keys, d->typed, d->fields, d->clicks, d->drags, d->drops);
    d->frames_from = 0;
    window_count_answers(d->w);
    if (c->n_frames > 0)
        print_frames(d, "");
}

int driver_main(int argc, char **argv)
{
    struct cli_option options[] = {{.name = "--script"}};
    const char *folder;
    char *data, *line;
    size_t n_bytes;
    int n, status = 0;
    struct err e = {0};
    struct driver d = {.scale = 1, .width = 1440, .height = 900};
    struct window_options o = {.hidden_caret = true, .apart = true, .scale = 1, .width = 1440, .height = 900};

    if (!cli_options(argc, argv, options, 1, &folder, 1, &n))
        return 2;
    if (n != 1)
        return cli_wrong("drive", "name the logbook");
    if (options[0].value == NULL)
        return cli_wrong("drive", "name the script behind --script");
    if (!files_read(options[0].value, 1 << 20, &data, &n_bytes, &e))
        return cli_failed(&e);
    o.folder = folder;
    o.software = getenv("SOOTBOOK_ACCELERATED") == NULL; /* the same pixels everywhere */
    d.w = window_create(&o, &e);
    if (d.w == NULL) {
        free(data);
        return cli_failed(&e);
    }
    window_draw(d.w);
    for (line = data; line != NULL && *line != '\0';) {
        char *end = strchr(line, '\n');

        if (end != NULL)
            *end++ = '\0';
        line[strcspn(line, "\r")] = '\0';
        d.line++;
        if (!one_line(&d, line, &e)) {
            fprintf(stderr, "sootbook: %s line %d: %s.\n", options[0].value, d.line, e.text);
            status = 1;
            break;
        }
        line = end;
    }
    print_counts(&d);
    window_destroy(d.w);
    free(data);
    return status;
}
