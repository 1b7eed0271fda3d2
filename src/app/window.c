#include "app/window.h"

#include <SDL.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "app/display.h"
#include "app/fingers.h"
#include "app/session.h"
#include "base/clock.h"
#include "base/err.h"
#include "base/files.h"
#include "base/mem.h"
#include "base/text.h"
#include "ui/ui_render.h"

struct window {
    SDL_Window *sdl;
    SDL_Renderer *renderer;
    struct ui_render *render;
    struct ui *ui;
    struct session *session;
    Uint32 wake_event;
    int width, height;      /* logical */
    float scale;            /* real px for a logical one */
    float wanted_scale;     /* the script player's, 0: as the screen says */
    float desktop_scale;    /* what the desktop asks for beside the pixels it tells of */
    int scaled_percent;     /* the setting that was last measured by */
    bool dirty, quit, drawing, text_input;
    bool closing; /* the desktop asks: what is typed is kept first */
    struct window_counts counts;
    size_t counts_room;
    struct fingers fingers;
};

static void wake(void *ctx)
{
    struct window *w = ctx;
    SDL_Event ev;

    SDL_zero(ev);
    ev.type = w->wake_event;
    SDL_PushEvent(&ev);
}

static bool has_picture(void *ctx, uint64_t key)
{
    return ui_render_has_image(((struct window *)ctx)->render, key);
}

static bool put_picture(void *ctx, uint64_t key, const uint8_t *rgba, int w, int h)
{
    ((struct window *)ctx)->dirty = true;
    return ui_render_put_image(((struct window *)ctx)->render, key, rgba, w, h);
}

static char *clipboard_get(void *ctx)
{
    char *s = SDL_GetClipboardText(), *own;

    (void)ctx;
    own = mem_copy_text(s);
    SDL_free(s);
    return own;
}

static void clipboard_set(void *ctx, const char *text)
{
    (void)ctx;
    SDL_SetClipboardText(text);
}

/* Its least size as large as things are drawn, but no larger than the screen. */
static void set_least_size(struct window *w, float units)
{
    SDL_Rect screen = {0, 0, LEAST_WIDTH, LEAST_HEIGHT};
    int least_w = (int)lrintf(LEAST_WIDTH * units), least_h = (int)lrintf(LEAST_HEIGHT * units), index = SDL_GetWindowDisplayIndex(w->sdl);

    if (index >= 0 && SDL_GetDisplayUsableBounds(index, &screen) == 0) {
        least_w = least_w < screen.w ? least_w : screen.w;
        least_h = least_h < screen.h ? least_h : screen.h;
    }
    SDL_SetWindowMinimumSize(w->sdl, least_w, least_h);
}

static void measure_window(struct window *w)
{
    struct model *m = session_model(w->session);
    int ww = 0, wh = 0, pw = 0, ph = 0;
    float screen;

    SDL_GetWindowSize(w->sdl, &ww, &wh);
    SDL_GetRendererOutputSize(w->renderer, &pw, &ph);
    screen = ww > 0 ? (float)pw / (float)ww : 1;
    w->scale = m->scale_percent > 0 ? (float)m->scale_percent / 100 : w->wanted_scale > 0 ? w->wanted_scale : fmaxf(screen, w->desktop_scale);
    if (m->scale_percent > 0 || w->wanted_scale <= 0)
        w->scale = fmaxf(fminf(w->scale, fminf((float)pw / LEAST_WIDTH, (float)ph / LEAST_HEIGHT)), 1);
    w->scaled_percent = m->scale_percent;
    w->width = (int)lrintf((float)pw / w->scale);
    w->height = (int)lrintf((float)ph / w->scale);
    ui_render_set_scale(w->render, w->scale);
    m->px_scale = w->scale;
    w->dirty = true;
}

struct window *window_create(const struct window_options *o, struct err *e)
{
    struct window *w = mem_alloc(1, sizeof *w);
    Uint32 flags = SDL_WINDOW_RESIZABLE | SDL_WINDOW_ALLOW_HIGHDPI;
    SDL_Rect screen;
    int set, width, height;
    float units; /* of the window for a logical pixel */

    /* The session first: its helper processes start before SDL opens anything. The events they send
     * until then are only lost wake-ups; the first turn asks anyway. */
    w->wake_event = SDL_USEREVENT;
    w->session = session_create(o->folder, o->apart, wake, w, e);
    if (w->session == NULL) {
        free(w);
        return NULL;
    }
    SDL_SetHint(SDL_HINT_IME_SHOW_UI, "1");
    SDL_SetHint(SDL_HINT_VIDEO_ALLOW_SCREENSAVER, "1");
    SDL_SetHint(SDL_HINT_IME_SUPPORT_EXTENDED_TEXT, "1");
    if (o->software)
        SDL_SetHint(SDL_HINT_RENDER_DRIVER, "software");
    if (SDL_Init(SDL_INIT_VIDEO) != 0) {
        err_set(e, ERR_IO, "The window cannot be opened: %s. Without a screen, use the verbs: sootbook --help", SDL_GetError());
        window_destroy(w);
        return NULL;
    }
    /* What the software renderer drew would else go to the screen by way of OpenGL, where there is no graphics
     * card by an emulated one: twice the time of a frame and 70 MB. Only X11 has another way. */
    if (strcmp(SDL_GetCurrentVideoDriver(), "x11") == 0)
        SDL_SetHint(SDL_HINT_FRAMEBUFFER_ACCELERATION, "0");
    w->wanted_scale = o->scale;
    w->desktop_scale = display_scale();
    set = session_model(w->session)->scale_percent;
    units = o->scale > 0 ? o->scale : set > 0 ? (float)set / 100 : w->desktop_scale;
    width = (int)((float)(o->width > 0 ? o->width : 1440) * units);
    height = (int)((float)(o->height > 0 ? o->height : 900) * units);
    if (o->width <= 0 && SDL_GetDisplayUsableBounds(0, &screen) == 0) { /* a usual size no larger than the screen */
        width = width < screen.w ? width : screen.w;
        height = height < screen.h ? height : screen.h;
    }
    w->sdl = SDL_CreateWindow("Sootbook", SDL_WINDOWPOS_UNDEFINED, SDL_WINDOWPOS_UNDEFINED, width, height, flags);
    if (w->sdl != NULL)
        w->renderer = SDL_CreateRenderer(w->sdl, -1, o->software ? SDL_RENDERER_SOFTWARE : 0);
    if (w->sdl != NULL && w->renderer == NULL)
        w->renderer = SDL_CreateRenderer(w->sdl, -1, SDL_RENDERER_SOFTWARE);
    if (w->renderer == NULL) {
        err_set(e, ERR_IO, "The window cannot be opened: %s", SDL_GetError());
        window_destroy(w);
        return NULL;
    }
    set_least_size(w, units);
    w->render = ui_render_create(w->renderer, 1, e);
    if (w->render == NULL) {
        window_destroy(w);
        return NULL;
    }
    w->ui = ui_create(ui_render_measure(w->render));
    ui_set_still(w->ui, o->hidden_caret);
    ui_set_clipboard(w->ui, (struct ui_clipboard){clipboard_get, clipboard_set, w});
    session_set_pictures(w->session, (struct session_pictures){has_picture, put_picture, w});
    SDL_EventState(SDL_DROPFILE, SDL_ENABLE);
    SDL_EventState(SDL_DROPTEXT, SDL_ENABLE);
    SDL_StopTextInput();
    measure_window(w);
    return w;
}

void window_destroy(struct window *w)
{
    if (w == NULL)
        return;
    session_destroy(w->session);
    ui_destroy(w->ui);
    ui_render_destroy(w->render);
    if (w->renderer != NULL)
        SDL_DestroyRenderer(w->renderer);
    if (w->sdl != NULL)
        SDL_DestroyWindow(w->sdl);
    if (SDL_WasInit(SDL_INIT_VIDEO))
        SDL_Quit();
    free(w->counts.frame_s);
    free(w);
}

struct ui *window_ui(struct window *w)
{
    return w->ui;
}

struct ui_render *window_render(struct window *w)
{
    return w->render;
}

/* ---- SDL's events as the kit's ---- */

/* "file:///home/a%20b.jpg" and plain paths; CR behind is dropped. */
static char *path_of(const char *dropped)
{
    struct text t = {0};
    const char *s = dropped;

    if (text_starts(s, "file://"))
        s += text_starts(s, "file://localhost/") ? 16 : 7;
    else
        return mem_copy_text(dropped);
    for (; *s != '\0' && *s != '\r' && *s != '\n'; s++) {
        unsigned v;

        if (*s == '%' && sscanf(s + 1, "%2x", &v) == 1 && v != 0) {
            text_add_char(&t, (char)v);
            s += 2;
        } else {
            text_add_char(&t, *s);
        }
    }
    return t.s != NULL ? t.s : mem_copy_text("");
}

static bool key_text(const SDL_Keysym *k, char *to, size_t n_room)
{
    static const struct {
        SDL_Keycode code;
        const char *name;
    } names[] = {{SDLK_RETURN, "Enter"}, {SDLK_KP_ENTER, "Enter"}, {SDLK_ESCAPE, "Escape"}, {SDLK_TAB, "Tab"},
                 {SDLK_BACKSPACE, "Backspace"}, {SDLK_DELETE, "Delete"}, {SDLK_INSERT, "Insert"}, {SDLK_LEFT, "Left"},
                 {SDLK_RIGHT, "Right"}, {SDLK_UP, "Up"}, {SDLK_DOWN, "Down"}, {SDLK_HOME, "Home"}, {SDLK_END, "End"},
                 {SDLK_PAGEUP, "PageUp"}, {SDLK_PAGEDOWN, "PageDown"}, {SDLK_SPACE, "Space"},
                 {SDLK_KP_PLUS, "+"}, {SDLK_KP_MINUS, "-"}, {SDLK_KP_PERIOD, "."}};
    bool ctrl = (k->mod & (KMOD_CTRL | KMOD_GUI)) != 0, shift = (k->mod & KMOD_SHIFT) != 0;
    char base[16] = "";

    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++)
        if (names[i].code == k->sym)
            text_copy(base, sizeof base, names[i].name);
    if (k->sym >= SDLK_F1 && k->sym <= SDLK_F12)
        text_format(base, sizeof base, "F%d", (int)(k->sym - SDLK_F1) + 1);
    if (k->sym >= SDLK_KP_1 && k->sym <= SDLK_KP_9)
        text_format(base, sizeof base, "%d", (int)(k->sym - SDLK_KP_1) + 1);
    if (k->sym == SDLK_KP_0)
        text_copy(base, sizeof base, "0");
    if (base[0] == '\0' && k->sym > 32 && k->sym < 127) {
        base[0] = (char)k->sym;
        if ((ctrl || shift) && base[0] >= 'a' && base[0] <= 'z')
            base[0] = (char)(base[0] - 'a' + 'A');
        if (shift && (!ctrl || base[0] == '=') && !(base[0] >= 'A' && base[0] <= 'Z')) {
            /* "+" and the like: the typed sign, not the key */
            if (base[0] == '=')
                base[0] = '+';
            shift = false;
        }
    }
    if (base[0] == '\0')
        return false;
    text_format(to, n_room, "%s%s%s", ctrl ? "Ctrl+" : "", shift ? "Shift+" : "", base);
    return true;
}

/* What a key types, as far as its name tells: of signs with Shift only letters, whose capital is the same everywhere. NULL: nothing, or
 * it is not known. */
static char *typed_by(const SDL_Keysym *k)
{
    const bool shift = ((k->mod & KMOD_SHIFT) != 0) != ((k->mod & KMOD_CAPS) != 0), letter = (k->sym >= 'a' && k->sym <= 'z') || (k->sym >= 0xe0 && k->sym <= 0xfe && k->sym != 0xf7);
    SDL_Keycode sign = k->sym;
    struct text t = {0};
    char *text;

    if (k->sym >= SDLK_KP_1 && k->sym <= SDLK_KP_9 && (k->mod & KMOD_NUM) != 0)
        sign = '1' + (k->sym - SDLK_KP_1);
    else if (k->sym == SDLK_KP_0 && (k->mod & KMOD_NUM) != 0)
        sign = '0';
    if ((k->mod & (KMOD_CTRL | KMOD_ALT | KMOD_GUI | KMOD_MODE)) != 0 || sign < 32 || sign == 127 || sign > 0xfe || (sign > 126 && sign < 0xa0))
        return NULL;
    if (letter && shift)
        sign -= 32;
    else if (!letter && (k->mod & KMOD_SHIFT) != 0 && sign != ' ')
        return NULL;
    text_add_codepoint(&t, (uint32_t)sign);
    text = mem_copy_text(text_get(&t));
    text_release(&t);
    return text;
}

/* Two fingers pinch. SDL makes the first one the pointer as well: what it had begun is let go of. */
static void feed_finger(struct window *w, const SDL_TouchFingerEvent *t)
{
    struct fingers_pinch p = {0};
    struct ui_event u = {.type = UI_EVENT_PINCH}, up = {.type = UI_EVENT_UP, .button = 1, .x = -1, .y = -1};
    float x = t->x * (float)w->width, y = t->y * (float)w->height;

    if (t->type == SDL_FINGERUP) {
        fingers_up(&w->fingers, t->fingerId);
    } else if (t->type == SDL_FINGERMOTION ? fingers_move(&w->fingers, t->fingerId, x, y, &p) : fingers_down(&w->fingers, t->fingerId, x, y)) {
        if (t->type == SDL_FINGERDOWN) {
            p.x = (w->fingers.x[0] + w->fingers.x[1]) / 2;
            p.y = (w->fingers.y[0] + w->fingers.y[1]) / 2;
        }
        u.x = p.x;
        u.y = p.y;
        u.dx = p.dx;
        u.dy = p.dy;
        u.spread = p.by;
        ui_feed(w->ui, &u);
        if (t->type == SDL_FINGERDOWN)
            ui_feed(w->ui, &up);
    }
}

static void feed(struct window *w, const SDL_Event *ev)
{
    struct ui_event u = {0};
    int ww = 1, wh = 1;
    float k;

    SDL_GetWindowSize(w->sdl, &ww, &wh);
    k = ww > 0 ? (float)w->width / (float)ww : 1; /* pointer places are in window units */
    if (w->fingers.pinching && ((ev->type == SDL_MOUSEMOTION && ev->motion.which == SDL_TOUCH_MOUSEID) ||
                                ((ev->type == SDL_MOUSEBUTTONDOWN || ev->type == SDL_MOUSEBUTTONUP) && ev->button.which == SDL_TOUCH_MOUSEID)))
        return;
    switch (ev->type) {
    case SDL_QUIT: w->closing = true; return;
    case SDL_WINDOWEVENT:
        if (ev->window.event == SDL_WINDOWEVENT_SIZE_CHANGED || ev->window.event == SDL_WINDOWEVENT_DISPLAY_CHANGED)
            measure_window(w);
        if (ev->window.event == SDL_WINDOWEVENT_EXPOSED || ev->window.event == SDL_WINDOWEVENT_SHOWN)
            w->dirty = true;
        if (ev->window.event == SDL_WINDOWEVENT_LEAVE) {
            u.type = UI_EVENT_LEAVE;
            ui_feed(w->ui, &u);
        }
        return;
    case SDL_RENDER_TARGETS_RESET:
    case SDL_RENDER_DEVICE_RESET:
        ui_render_drop_textures(w->render);
        w->dirty = true;
        return;
    case SDL_MOUSEMOTION:
        u.type = UI_EVENT_MOVE;
        u.x = (float)ev->motion.x * k;
        u.y = (float)ev->motion.y * k;
        break;
    case SDL_MOUSEBUTTONDOWN:
    case SDL_MOUSEBUTTONUP:
        u.type = ev->type == SDL_MOUSEBUTTONDOWN ? UI_EVENT_DOWN : UI_EVENT_UP;
        u.button = ev->button.button;
        u.x = (float)ev->button.x * k;
        u.y = (float)ev->button.y * k;
        u.shift = (SDL_GetModState() & KMOD_SHIFT) != 0;
        break;
    case SDL_MOUSEWHEEL:
        u.type = UI_EVENT_WHEEL;
        u.dx = ev->wheel.preciseX;
        u.dy = ev->wheel.direction == SDL_MOUSEWHEEL_FLIPPED ? -ev->wheel.preciseY : ev->wheel.preciseY;
        u.ctrl = (SDL_GetModState() & KMOD_CTRL) != 0;
        break;
    case SDL_FINGERDOWN:
    case SDL_FINGERMOTION:
    case SDL_FINGERUP: feed_finger(w, &ev->tfinger); return;
    case SDL_KEYDOWN:
        u.type = UI_EVENT_KEY;
        if (!SDL_IsTextInputActive()) /* no text will follow */
            u.text = typed_by(&ev->key.keysym);
        if (!key_text(&ev->key.keysym, u.key, sizeof u.key) && u.text == NULL)
            return;
        break;
    case SDL_TEXTINPUT:
        u.type = UI_EVENT_TEXT;
        u.text = mem_copy_text(ev->text.text);
        break;
    case SDL_TEXTEDITING:
        u.type = UI_EVENT_COMPOSE;
        u.text = mem_copy_text(ev->edit.text);
        break;
    case SDL_TEXTEDITING_EXT:
        u.type = UI_EVENT_COMPOSE;
        u.text = mem_copy_text(ev->editExt.text);
        SDL_free(ev->editExt.text);
        break;
    case SDL_DROPFILE:
    case SDL_DROPTEXT:
        u.type = UI_EVENT_DROP;
        u.x = u.y = -1;
        u.text = path_of(ev->drop.file);
        SDL_free(ev->drop.file);
        break;
    default: return;
    }
    ui_feed(w->ui, &u);
}

/* ---- frames ---- */

static void take_drops(struct window *w, struct actions *out)
{
    float x, y;
    const char *const *files = ui_dropped(w->ui, &x, &y);
    struct text t = {0};

    if (files == NULL)
        return;
    for (; *files != NULL; files++)
        text_addf(&t, "%s\n", *files);
    actions_add(out, ACT_ADD_FILES)->files = arena_text(ui_arena(w->ui), text_get(&t));
    text_release(&t);
}

/* Pasted paths or file: addresses are photos, when no field wants the text. What is not there is told with what else was not taken
 * in. */
static void take_paste(struct window *w, struct actions *out)
{
    char *s;
    struct text t = {0};

    if (ui_typing(w->ui) || session_model(w->session)->record == NULL || !ui_key(w->ui, "Ctrl+V"))
        return;
    s = clipboard_get(NULL);
    for (char *line = s; line != NULL && *line != '\0';) {
        char *end = strpbrk(line, "\r\n"), *path;

        if (end != NULL)
            *end++ = '\0';
        path = path_of(line);
        if (path[0] == '/')
            text_addf(&t, "%s\n", path);
        free(path);
        line = end;
    }
    free(s);
    if (t.n_bytes > 0)
        actions_add(out, ACT_ADD_FILES)->files = arena_text(ui_arena(w->ui), text_get(&t));
    else
        ui_toast(w->ui, "The clipboard names no file. Copy photos in a file browser and paste them here, or drop them.", NULL);
    text_release(&t);
}

static void frame(struct window *w)
{
    struct actions actions = {.n = 0};
    struct rect caret;

    ui_begin(w->ui, (float)w->width, (float)w->height, clock_monotonic_s());
    take_drops(w, &actions);
    screen_all(w->ui, session_model(w->session), session_state(w->session), &actions);
    take_paste(w, &actions);
    ui_end(w->ui);
    if (actions.n > 0 && session_apply(w->session, w->ui, &actions))
        w->quit = true;
    session_keep_draft(w->session, w->ui);
    if (session_model(w->session)->scale_percent != w->scaled_percent)
        measure_window(w);
    /* Text input is on only while a field has the focus: input methods stay away from shortcuts. A
     * digit in the pulling state opens the gap field and is its first sign, so text must flow there; so do the signs of
     * a path in the file browser. */
    bool want = ui_caret(w->ui, &caret) || session_state(w->session)->pulling || session_state(w->session)->panel == PANEL_FILES;

    if (want != w->text_input) {
        if (want)
            SDL_StartTextInput();
        else
            SDL_StopTextInput();
        w->text_input = want;
    }
    if (want && ui_caret(w->ui, &caret)) {
        SDL_Rect r = {(int)caret.x, (int)caret.y, (int)caret.w + 1, (int)caret.h};

        SDL_SetTextInputRect(&r);
    }
}

double window_draw(struct window *w)
{
    double from = clock_monotonic_s(), took;

    if (w->drawing)
        return 0;
    w->drawing = true;
    frame(w);
    ui_render_frame(w->render, w->ui);
    SDL_RenderPresent(w->renderer);
    w->drawing = false;
    w->dirty = false;
    took = clock_monotonic_s() - from;
    if ((size_t)w->counts.n_frames == w->counts_room) {
        w->counts_room = w->counts_room ? w->counts_room * 2 : 256;
        w->counts.frame_s = mem_resize(w->counts.frame_s, w->counts_room, sizeof *w->counts.frame_s);
    }
    w->counts.frame_s[w->counts.n_frames++] = took;
    if (took > w->counts.worst_s)
        w->counts.worst_s = took;
    return took;
}

/* Without a window system SDL looks a thousand times a second whether something came; this, fifty
 * times. */
static bool wait_event(SDL_Event *ev, double wait_s)
{
    double until = clock_monotonic_s() + wait_s, left = wait_s;
    const char *driver = SDL_GetCurrentVideoDriver();

    if (driver == NULL || strcmp(driver, "dummy") != 0)
        return SDL_WaitEventTimeout(ev, (int)ceil(wait_s * 1000));
    while (!SDL_PollEvent(ev)) {
        if (left <= 0)
            return false;
        SDL_Delay((Uint32)ceil(fmin(left, 0.02) * 1000));
        left = until - clock_monotonic_s();
    }
    return true;
}

bool window_turn(struct window *w, double wait_s)
{
    SDL_Event ev;
    double until = ui_wake_in_s(w->ui, clock_monotonic_s()), from;
    bool got, fed;

    if (w->dirty || ui_pending(w->ui))
        wait_s = 0;
    else if (until >= 0 && until < wait_s)
        wait_s = until;
    got = wait_s > 0 ? wait_event(&ev, wait_s) : SDL_PollEvent(&ev);
    from = clock_monotonic_s();
    while (got) {
        feed(w, &ev);
        got = SDL_PollEvent(&ev);
    }
    fed = ui_pending(w->ui);
    if (session_poll(w->session, w->ui))
        w->dirty = true;
    /* All that waits is worked through; only the last frame is drawn. */
    while (ui_pending(w->ui) && !w->quit) {
        frame(w);
        w->dirty = true;
    }
    if (w->closing && !w->quit) {
        ui_commit_typing(w->ui);
        frame(w);
        w->quit = true;
    }
    until = ui_wake_in_s(w->ui, clock_monotonic_s());
    if (!w->quit && (w->dirty || (until >= 0 && until <= 0))) {
        window_draw(w);
        if (fed)
            w->counts.answer_s = fmax(w->counts.answer_s, clock_monotonic_s() - from);
    }
    return !w->quit;
}

void window_run(struct window *w)
{
    w->dirty = true;
    /* Every two seconds a look at the database's change counter: commands may write beside the
     * window. Nothing is drawn for it. */
    while (window_turn(w, 2)) {
    }
}

bool window_settled(struct window *w)
{
    double until = ui_wake_in_s(w->ui, clock_monotonic_s());

    return session_settled(w->session) && !ui_pending(w->ui) && !w->dirty && !(until >= 0 && until <= 0);
}

bool window_set_size(struct window *w, int width, int height, float scale, struct err *e)
{
    if (width < 640 || height < 400 || width > 8192 || height > 8192 || scale < 0.5f || scale > 4)
        return err_set(e, ERR_BADARG, "A window of %d × %d at %g cannot be.", width, height, (double)scale);
    w->wanted_scale = scale;
    SDL_SetWindowMinimumSize(w->sdl, 1, 1);
    SDL_SetWindowSize(w->sdl, (int)((float)width * scale), (int)((float)height * scale));
    SDL_PumpEvents();
    measure_window(w);
    return true;
}

void window_offer_lines(struct window *w, bool on)
{
    session_model(w->session)->offers_off = !on;
}

const struct window_counts *window_count(const struct window *w)
{
    return &w->counts;
}

void window_count_answers(struct window *w)
{
    w->counts.answer_s = 0;
}
