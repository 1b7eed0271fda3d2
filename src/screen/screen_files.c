/* screen_files.c - the program's own file browser: folders first, pictures marked, several at once. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#include "base/files.h"
#include "base/mem.h"
#include "base/text.h"
#include "screen/commands.h"
#include "screen/panels.h"
#include "takeover/table.h"
#include "takeover/takeover.h"

static bool is_picture(const char *name)
{
    static const char *const endings[] = {"jpg", "jpeg", "png", "webp", "bmp", "tif", "tiff", "gif", "heic", "heif"};
    const char *ext = files_extension(name);

    for (size_t i = 0; i < sizeof endings / sizeof endings[0]; i++)
        if (strcasecmp(ext, endings[i]) == 0)
            return true;
    return false;
}

/* What can be taken in: pictures, written cases, tables of readings. */
static bool can_be_taken(const char *name)
{
    return is_picture(name) || takeover_is_case(name) || take_is_table(name);
}

static void go_to(struct screen_state *st, const char *dir)
{
    text_copy(st->files_dir, sizeof st->files_dir, dir);
    st->n_files_chosen = 0;
    st->files_preview[0] = '\0';
    st->files_fresh = true;
}

static void go_up(struct screen_state *st)
{
    char dir[1024];
    char *slash;

    text_copy(dir, sizeof dir, st->files_dir);
    slash = strrchr(dir, '/');
    if (slash != NULL)
        slash[slash == dir ? 1 : 0] = '\0';
    go_to(st, dir);
}

static bool chosen(const struct screen_state *st, const char *name, int *at)
{
    for (int i = 0; i < st->n_files_chosen; i++)
        if (strcmp(st->files_chosen[i], name) == 0) {
            *at = i;
            return true;
        }
    return false;
}

static void toggle(struct screen_state *st, const char *name)
{
    int at, most = (int)(sizeof st->files_chosen / sizeof st->files_chosen[0]);

    if (chosen(st, name, &at)) {
        memmove(st->files_chosen[at], st->files_chosen[at + 1], (size_t)(st->n_files_chosen - at - 1) * sizeof st->files_chosen[0]);
        st->n_files_chosen--;
    } else if (st->n_files_chosen < most) {
        text_copy(st->files_chosen[st->n_files_chosen++], sizeof st->files_chosen[0], name);
    }
}

static void choose_all(struct ui *ui, struct screen_state *st, const struct files_entry *entries, size_t n)
{
    char said[120];
    size_t n_pictures = 0;

    st->n_files_chosen = 0;
    for (size_t i = 0; i < n; i++)
        if (!entries[i].is_folder && is_picture(entries[i].name) && n_pictures++ < FILES_MOST)
            text_copy(st->files_chosen[st->n_files_chosen++], sizeof st->files_chosen[0], entries[i].name);
    if (st->n_files_chosen > 0) /* one of them is seen */
        text_format(st->files_preview, sizeof st->files_preview, "%s/%s", st->files_dir, st->files_chosen[0]);
    if (n_pictures > FILES_MOST) {
        text_format(said, sizeof said, "The first %d of %zu are chosen: take these in, then the others.", FILES_MOST, n_pictures);
        ui_toast(ui, said, NULL);
    }
}

void screen_files_open(struct screen_state *st, enum files_purpose purpose)
{
    st->panel = PANEL_FILES;
    st->files_for = purpose;
    st->n_files_chosen = 0;
    st->files_fresh = true;
}

/* "/mnt/stick", "~/photos", "photos" of the folder shown. */
static bool path_typed(const struct screen_state *st, const char *typed, char *to, size_t n_room)
{
    char home[1024];

    typed += strspn(typed, " ");
    if (typed[0] == '/')
        return text_copy(to, n_room, typed);
    if (typed[0] == '~' && (typed[1] == '/' || typed[1] == '\0') && files_home_dir(home, sizeof home))
        return text_format(to, n_room, "%s%s", home, typed + 1);
    return files_join(to, n_room, st->files_dir, typed);
}

/* A copy of the logbook is a folder, and goes into one. */
static bool of_folders(const struct screen_state *st)
{
    return st->files_for == FILES_MERGE || st->files_for == FILES_COPY;
}

/* What may be taken in, by its purpose. */
static bool is_listed(const struct screen_state *st, const struct files_entry *e)
{
    return e->is_folder || (!of_folders(st) && can_be_taken(e->name));
}

static void row_id(const struct files_entry *e, char to[90])
{
    text_format(to, 90, "file.%.80s", e->name);
}

/* A list that just came has the focus on its first file, else its first folder: arrows and Space work at once. */
static void focus_first(struct ui *ui, struct screen_state *st, const struct files_entry *entries, size_t n)
{
    const struct files_entry *first = NULL;
    char id[90];

    for (size_t i = 0; i < n; i++)
        if (is_listed(st, &entries[i]) && (first == NULL || (first->is_folder && !entries[i].is_folder)))
            first = &entries[i];
    if (first != NULL && !ui_typing(ui)) {
        row_id(first, id);
        ui_focus(ui, id);
    }
    st->files_fresh = false;
}

/* The picture of the row the pointer or the focus came to last. */
static void preview(struct screen_state *st, const struct files_entry *e, struct ui_hit hit)
{
    const uint64_t this = ui_hash(e->name, strlen(e->name), 1);
    const bool came = (hit.hover && st->files_hover != this) || (hit.focused && st->files_focus != this);

    if (hit.hover)
        st->files_hover = this;
    if (hit.focused)
        st->files_focus = this;
    if (came && !e->is_folder && is_picture(e->name))
        text_format(st->files_preview, sizeof st->files_preview, "%s/%s", st->files_dir, e->name);
}

static void draw_preview(struct ui *ui, const struct screen_state *st, struct rect r)
{
    const char *name = st->files_preview[0] ? files_name(st->files_preview) : "";
    struct rect picture = ui_cut_top(&r, r.w);

    ui_round(ui, picture, 8, UI_CARD_DIM);
    if (name[0] != '\0')
        ui_image(ui, ui_inset(picture, 4, 4), photo_file_key(st->files_preview), (struct rect){0, 0, 0, 0}, 0, false);
    ui_cut_top(&r, 12);
    ui_note(ui, "files.shown", r, name, "");
    ui_text(ui, r, name[0] != '\0' ? name : "no picture chosen", &(struct ui_style){.colour = UI_TEXT_SOFT});
}

/* Goes to a folder, takes a file in. The keys are the list's again; a path that leads nowhere stays to be put right. */
static void follow_path(struct ui *ui, struct screen_state *st, struct actions *out, const char *typed)
{
    char path[1400], said[1500];

    if (path_typed(st, typed, path, sizeof path) && files_is_folder(path)) {
        size_t n = strlen(path);

        if (n > 1 && path[n - 1] == '/')
            path[n - 1] = '\0';
        go_to(st, path);
        ui_focus(ui, NULL);
    } else if (!of_folders(st) && files_exists(path)) {
        actions_add(out, ACT_ADD_FILES)->files = arena_text(ui_arena(ui), path);
        st->panel = PANEL_NONE;
    } else {
        text_format(said, sizeof said, "There is no %s “%s”.", of_folders(st) ? "folder" : "folder or file", TEXT_SHORT(path, 300));
        ui_toast(ui, said, NULL);
    }
}

/* A path may be typed at once: its first sign goes to the field. */
static void path_keys(struct ui *ui)
{
    const char *key = ui_key_name(ui);
    const bool capital = key != NULL && strncmp(key, "Shift+", 6) == 0;

    if (key == NULL || ui_typing(ui))
        return;
    if (capital)
        key += 6;
    if (key[1] == '\0' && (key[0] == '/' || key[0] == '~' || key[0] == '.' || (key[0] >= '0' && key[0] <= '9') || (key[0] >= 'a' && key[0] <= 'z') || (capital && key[0] >= 'A' && key[0] <= 'Z'))) {
        ui_focus(ui, "files.path");
        ui_key_take(ui);
    }
}

static bool holds_logbook(const struct files_entry *entries, size_t n)
{
    for (size_t i = 0; i < n; i++)
        if (!entries[i].is_folder && strcmp(entries[i].name, "logbook.db") == 0)
            return true;
    return false;
}

static const char *title_of(const struct model *m, const struct screen_state *st)
{
    return st->files_for == FILES_MERGE ? "Merge another copy of this logbook" : st->files_for == FILES_COPY ? "Copy of this logbook" : m->record != NULL && model_visit(m) != NULL ? "Add photos, tables, cases" : "Take over a table or a case";
}

/* The folder shown is a copy of a logbook: it can be merged from wherever one came to it. */
static void merge_button(struct ui *ui, struct screen_state *st, struct actions *out, bool is_copy, struct rect *foot)
{
    const bool own = st->files_for == FILES_MERGE;
    struct ui_button merge = {.look = own ? UI_LOOK_DARK : UI_LOOK_PLAIN, .key = own ? "Enter" : command_key("merge"), .disabled = is_copy ? NULL : "open the folder of the other copy first: logbook.db lies in it"};
    static const char label[] = "Merge this copy";

    if (!is_copy && !own)
        return;
    if (ui_button(ui, "files.merge", ui_cut_left(foot, ui_button_width(ui, label, &merge)), label, &merge) || (is_copy && !ui_typing(ui) && ui_key(ui, merge.key))) {
        actions_add(out, ACT_ADD_FILES)->files = arena_text(ui_arena(ui), st->files_dir);
        st->panel = PANEL_NONE;
    }
    ui_cut_left(foot, 10);
}

/* The folder shown takes the copy. */
static void copy_button(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out, bool listed, bool is_logbook, struct rect *foot)
{
    struct ui_button copy = {.look = UI_LOOK_DARK, .key = "Ctrl+Enter", .disabled = !listed || m->files == NULL ? "open a folder first" : is_logbook ? "this folder is a logbook itself: choose one beside or above it" : NULL};
    static const char label[] = "Copy into this folder";
    char words[400];

    if (ui_button(ui, "files.copy", ui_cut_left(foot, ui_button_width(ui, label, &copy)), label, &copy) || (copy.disabled == NULL && ui_key(ui, copy.key))) {
        text_copy(actions_add(out, ACT_COPY_LOGBOOK)->text, sizeof out->list[0].text, st->files_dir);
        st->panel = PANEL_NONE;
    }
    ui_cut_left(foot, 14);
    if (copy.disabled == NULL)
        text_format(words, sizeof words, "as “%s”", m->copy_name);
    else
        text_copy(words, sizeof words, copy.disabled);
    ui_text(ui, *foot, words, &(struct ui_style){.colour = UI_TEXT_SOFT});
    ui_note(ui, "files.copy-name", *foot, words, "");
}

/* What the browser is open for, where that is more than choosing files. Gives the height it takes. */
static float purpose_words(struct ui *ui, const struct model *m, const struct screen_state *st, struct rect r)
{
    static const struct ui_style style = {.colour = UI_TEXT_SOFT, .max_lines = 5, .top = true};
    char words[4500];

    if (st->files_for == FILES_MERGE)
        text_format(words, sizeof words, "Open the folder of the other copy, on a stick or a shared disk; folders that are a logbook are marked. It is only read, and what it would bring is shown before anything is written here. This logbook lies in %s.", m->logbook_folder);
    else
        text_format(words, sizeof words, "This logbook lies in %s. A copy of it is a whole logbook with its photos (%s): open the folder it shall go into, best on a stick or another disk. It opens on another machine by itself, and what is noted there comes back by “Merge another copy” on Engines.",
                    m->logbook_folder, m->copy_words);
    r.h = ui_text_height(ui, r.w, words, &style);
    ui_text(ui, r, words, &style);
    ui_note(ui, "files.purpose", r, words, "");
    return r.h + 8;
}

/* Opens the folder, chooses the file or lets it go. NULL: nothing was pressed. */
static void press_row(struct screen_state *st, const struct files_entry *e)
{
    char dir[1024];

    if (e != NULL && !e->is_folder)
        toggle(st, e->name);
    else if (e != NULL && files_join(dir, sizeof dir, st->files_dir, e->name))
        go_to(st, dir);
}

void screen_files(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out)
{
    struct rect s = ui_screen(ui), r = panel_middle(ui, 900, s.h - 48), path, foot, view, content, shown = {0};
    bool listed = strcmp(m->files_dir, st->files_dir) == 0;
    const struct files_entry *entries = listed && m->files != NULL ? m->files->entries : NULL;
    size_t n_entries = listed && m->files != NULL ? m->files->n_entries : 0;
    struct ui_button up = {.key = "Backspace"}, all = {.key = "Ctrl+A"}, take = {.look = UI_LOOK_DARK, .key = "Enter"};
    char typed[1024], line[160];
    float y;
    int n_pictures = 0, n_others = 0;
    const bool merging = st->files_for == FILES_MERGE, copying = st->files_for == FILES_COPY, folders = merging || copying;
    const bool *are_logbooks = listed ? m->files_are_logbooks : NULL;
    const struct files_entry *pressed = NULL, *focused = NULL;
    const char *empty = folders ? "No folders here." : "No folders, pictures, tables or cases here.";

    if ((merging ? holds_logbook(entries, n_entries) : !copying && st->n_files_chosen > 0) && strncmp(ui_focused(ui), "file.", 5) == 0)
        ui_own_enter(ui); /* it takes in what is chosen, or the copy shown, as its button says; Space chooses */
    path_keys(ui);
    if (st->files_dir[0] == '\0' && !files_home_dir(st->files_dir, sizeof st->files_dir))
        text_copy(st->files_dir, sizeof st->files_dir, "/");
    r = panel_begin(ui, "panel.files", r, title_of(m, st), st);
    path = ui_cut_top(&r, 40);
    if (ui_button(ui, "files.up", ui_cut_right(&path, 130), "Up", &up) || (!ui_typing(ui) && ui_key(ui, "Backspace")))
        go_up(st);
    ui_cut_right(&path, 10);
    if ((ui_text_field(ui, "files.path", path, &(struct ui_field){.name = "folder", .placeholder = "/home/…", .select_all = true}, st->files_dir, typed, sizeof typed) & UI_ENTER) != 0)
        follow_path(ui, st, out, typed);
    ui_cut_top(&r, 10);
    if (folders)
        ui_cut_top(&r, purpose_words(ui, m, st, r));
    foot = ui_cut_bottom(&r, 48);
    if (!folders) {
        struct rect side = ui_cut_right(&r, 280);

        ui_cut_left(&side, 16);
        shown = ui_cut_top(&side, side.w + 36);
        ui_cut_top(&side, 8);
        if (m->can_write && ui_chip(ui, "files.watch", ui_cut_top(&side, 34), "Watch this folder", strcmp(m->watched, st->files_dir) == 0, NULL))
            text_copy(actions_add(out, ACT_WATCH)->text, 1024, strcmp(m->watched, st->files_dir) == 0 ? "" : st->files_dir);
        ui_text(ui, ui_cut_top(&side, 60), m->watched[0] ? m->watched : "New photos that land in a watched folder are taken into the open visit.", &(struct ui_style){.colour = UI_TEXT_QUIET, .max_lines = 3, .top = true});
    }
    view = r;
    content = ui_scroll_begin(ui, "files.list", view);
    y = content.y;
    if (!listed) {
        text_copy(actions_add(out, ACT_LIST_FOLDER)->text, sizeof st->files_dir, st->files_dir);
    } else if (m->files == NULL) {
        ui_text(ui, (struct rect){view.x, y, view.w, 30}, "This folder cannot be opened.", &(struct ui_style){.colour = UI_ACT_INK});
        y += 30;
    }
    if (st->files_fresh && strcmp(m->files_dir, st->files_dir) == 0) /* not the list of the folder that is left just now */
        focus_first(ui, st, entries, n_entries);
    for (size_t i = 0; i < n_entries; i++) {
        const struct files_entry *e = &entries[i];
        struct rect row = {view.x + 4, y, view.w - 20, 36};
        char id[90];
        struct ui_hit hit;
        int at;
        bool on;

        if (!is_listed(st, e))
            continue;
        n_pictures += !e->is_folder && is_picture(e->name);
        row_id(e, id);
        if (y > view.y - 72 && y < view.y + view.h + 36) { /* one more on either side, for Tab to go to */
            on = chosen(st, e->name, &at);
            hit = ui_region(ui, id, row, UI_ROLE_ROW, e->name, on ? "chosen" : are_logbooks != NULL && are_logbooks[i] ? "a logbook" : "", 4);
            if (on)
                ui_round(ui, row, 4, UI_SELECT);
            else if (hit.hover)
                ui_round(ui, row, 4, UI_CARD_DIM);
            text_format(line, sizeof line, "%s%s", e->name, e->is_folder ? "/" : "");
            ui_text(ui, ui_inset(row, 12, 0), line, &(struct ui_style){.size_px = 14, .weight = e->is_folder ? UI_SEMIBOLD : UI_REGULAR, .colour = on ? UI_SELECT_TEXT : UI_TEXT});
            preview(st, e, hit);
            if (hit.focused) {
                focused = e;
                ui_select_line(ui, row, 4, 2);
            }
            if (are_logbooks != NULL && are_logbooks[i])
                ui_text(ui, ui_inset(row, 12, 0), "a logbook", &(struct ui_style){.colour = on ? UI_SELECT_TEXT : UI_TEXT_SOFT, .align = UI_RIGHT});
            if (!e->is_folder) {
                files_size_words(e->n_bytes, line, sizeof line);
                ui_text(ui, ui_inset(row, 12, 0), line, &(struct ui_style){.colour = on ? UI_SELECT_TEXT : UI_TEXT_QUIET, .align = UI_RIGHT, .tabular = true});
            }
            if (hit.clicked)
                pressed = e;
        }
        y += 36;
    }
    if (listed && m->files != NULL && y <= content.y) { /* nothing a person could choose */
        ui_text(ui, (struct rect){view.x, y, view.w, 30}, empty, &(struct ui_style){.size_px = 14, .colour = UI_TEXT_SOFT});
        ui_note(ui, "files.empty", (struct rect){view.x, y, view.w, 30}, "empty", empty);
        y += 30;
    }
    if (!folders && !ui_typing(ui) && ui_key(ui, "Ctrl+A"))
        choose_all(ui, st, entries, n_entries);
    ui_scroll_end(ui, y - content.y + 8);
    if (!folders) /* after the rows, which say what it is */
        draw_preview(ui, st, shown);
    foot = (struct rect){foot.x, foot.y + 8, foot.w, 40};
    if (folders) {
        if (merging)
            merge_button(ui, st, out, holds_logbook(entries, n_entries), &foot);
        else
            copy_button(ui, m, st, out, listed, holds_logbook(entries, n_entries), &foot);
        press_row(st, pressed != NULL ? pressed : focused != NULL && ui_key(ui, "Enter") ? focused : NULL);
        ui_modal_end(ui);
        return;
    }
    for (int i = 0; i < st->n_files_chosen; i++)
        n_others += !is_picture(st->files_chosen[i]);
    text_format(line, sizeof line, "Take in %d %s%s", st->n_files_chosen, n_others > 0 ? "file" : "photo", st->n_files_chosen == 1 ? "" : "s");
    take.disabled = st->n_files_chosen == 0 ? "choose files first" : NULL;
    if (ui_button(ui, "files.take", ui_cut_left(&foot, ui_button_width(ui, line, &take)), line, &take) || (st->n_files_chosen > 0 && !ui_typing(ui) && ui_key(ui, "Enter"))) {
        struct text t = {0};
        struct action *a = actions_add(out, ACT_ADD_FILES);

        for (int i = 0; i < st->n_files_chosen; i++)
            text_addf(&t, "%s%s/%s", i ? "\n" : "", st->files_dir, st->files_chosen[i]);
        a->files = arena_text(ui_arena(ui), text_get(&t));
        text_release(&t);
        st->n_files_chosen = 0;
        st->panel = PANEL_NONE;
    }
    ui_cut_left(&foot, 10);
    if (n_pictures > 0 && ui_button(ui, "files.all", ui_cut_left(&foot, ui_button_width(ui, "All pictures here", &all)), "All pictures here", &all))
        choose_all(ui, st, entries, n_entries);
    if (m->record != NULL && m->can_write) { /* photos of many visits, sorted by their names and days */
        struct ui_button whole = {.key = "Ctrl+D"};

        ui_cut_left(&foot, 10);
        if (ui_button(ui, "files.folder", ui_cut_left(&foot, ui_button_width(ui, "Old photos: whole folder", &whole)), "Old photos: whole folder", &whole) || (!ui_typing(ui) && ui_key(ui, "Ctrl+D"))) {
            actions_add(out, ACT_ADD_FILES)->files = arena_text(ui_arena(ui), st->files_dir);
            st->panel = PANEL_NONE;
        }
    }
    ui_cut_left(&foot, 10);
    merge_button(ui, st, out, holds_logbook(entries, n_entries), &foot);
    press_row(st, pressed != NULL ? pressed : focused != NULL && ui_key(ui, "Enter") ? focused : NULL);
    ui_modal_end(ui);
}
