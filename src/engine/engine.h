/* engine.h - an engine as its plugs see it: banks, numbering, firing order, who sits beside whom.
 *
 * Cylinders are held by index, 0 .. n_cylinders-1, in place order: bank by bank, front to rear
 * (radial: clockwise from the top). The label is what people call the cylinder ("6", "A3"). All
 * computation goes by place, so that renumbering changes nothing. */
#ifndef ENGINE_ENGINE_H
#define ENGINE_ENGINE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

struct err;

#define ENGINE_MAX_CYLINDERS 32
#define ENGINE_MAX_BANKS 8
#define ENGINE_MAX_POSITIONS 4 /* plugs in one cylinder */
#define ENGINE_MAX_PLUGS (ENGINE_MAX_CYLINDERS * ENGINE_MAX_POSITIONS)
#define ENGINE_LABEL_BYTES 8
#define ENGINE_NAME_BYTES 96

enum engine_layout {
    ENGINE_INLINE, ENGINE_V, ENGINE_FLAT, ENGINE_NARROW_V, ENGINE_W, ENGINE_SINGLE, ENGINE_TWIN,
    ENGINE_RADIAL, ENGINE_LAYOUT_COUNT
};
enum engine_ignition {
    ENGINE_IGNITION_UNKNOWN, ENGINE_COIL_PER_PLUG, ENGINE_SHARED_COIL, ENGINE_DISTRIBUTOR,
    ENGINE_MAGNETO, ENGINE_IGNITION_COUNT
};
enum engine_fuel { ENGINE_FUEL_UNKNOWN, ENGINE_CARBURETTOR, ENGINE_SINGLE_POINT, ENGINE_PORT_INJECTION, ENGINE_DIRECT_INJECTION, ENGINE_FUEL_COUNT };
enum engine_access { ENGINE_ACCESS_UNKNOWN, ENGINE_ACCESS_WELL, ENGINE_ACCESS_OPEN, ENGINE_ACCESS_COUNT };
enum engine_head { ENGINE_HEAD_UNKNOWN, ENGINE_HEAD_ALUMINIUM, ENGINE_HEAD_CAST_IRON, ENGINE_HEAD_COUNT };
enum engine_seat { ENGINE_SEAT_UNKNOWN, ENGINE_SEAT_GASKET, ENGINE_SEAT_TAPER, ENGINE_SEAT_COUNT };
enum engine_electrode {
    ENGINE_ELECTRODE_UNKNOWN, ENGINE_NICKEL, ENGINE_PLATINUM, ENGINE_IRIDIUM, ENGINE_ELECTRODE_COUNT
};

/* Text ids as in the case format ("narrow-v", "coil-per-plug"); "" for the unknown one. */
const char *engine_layout_id(enum engine_layout v);
const char *engine_ignition_id(enum engine_ignition v);
const char *engine_fuel_id(enum engine_fuel v); /* the case format does not have it: words of the logbook */
const char *engine_fuel_label(enum engine_fuel v); /* for people: "an injector each, in the port"; "" unknown */
const char *engine_access_id(enum engine_access v);
const char *engine_head_id(enum engine_head v);
const char *engine_seat_id(enum engine_seat v);
const char *engine_electrode_id(enum engine_electrode v);
/* Back from the id; -1 when there is no such word ("" gives the unknown one where there is one). */
int engine_layout_find(const char *id);
int engine_ignition_find(const char *id);
int engine_fuel_find(const char *id);
int engine_access_find(const char *id);
int engine_head_find(const char *id);
int engine_seat_find(const char *id);
int engine_electrode_find(const char *id);

struct engine_cylinder {
    char label[ENGINE_LABEL_BYTES];
    int bank;  /* index into banks */
    int place; /* 0 = front of its bank; radial: 0 = top, clockwise */
};

struct engine_bank {
    char name[32];
    int first;        /* index of its front cylinder; the bank is first .. first+n_cylinders-1 */
    int n_cylinders;
};

/* A set of cylinders that share something: bit i = cylinder i. */
typedef uint32_t engine_set;

#define ENGINE_PLUG_TYPE_BYTES 64
struct engine_plug_spec {
    char type[ENGINE_PLUG_TYPE_BYTES]; /* maker and number of the book's plug as the person writes them, "" unknown */
    char thread[24];  /* "M14x1.25", "" unknown */
    enum engine_seat seat;
    enum engine_electrode electrode;
    double gap_min_mm, gap_max_mm, gap_limit_mm; /* 0 = not given */
    int heat_steps;   /* hotter (+) or colder (-) than the maker's book */
    bool heat_given;
    double maker_torque_nm; /* the engine maker's own figure, 0 = not entered; it wins */
    double hex_mm;          /* across flats, 0 = unknown */
};

/* "M14x1.25", "7/8in-18": over the crests, and from turn to turn. What is not said or no thread of a plug is taken for the
 * commonest, M14x1.25. */
void engine_thread_size(const char *thread, double *major_mm, double *pitch_mm);

struct engine {
    char name[ENGINE_NAME_BYTES];
    char subtitle[ENGINE_NAME_BYTES]; /* "1998 saloon" */
    enum engine_layout layout;
    int n_cylinders, n_banks;
    struct engine_cylinder cylinders[ENGINE_MAX_CYLINDERS];
    struct engine_bank banks[ENGINE_MAX_BANKS];
    int strokes;                              /* 2 or 4 */
    int firing[ENGINE_MAX_CYLINDERS];         /* cylinder indexes in firing order */
    double interval_deg[ENGINE_MAX_CYLINDERS]; /* entry i: from firing[i] to the next, the last back to the first */
    bool intervals_given;                     /* false: even, and interval_deg is filled in evenly */
    enum engine_ignition ignition;
    int n_coil_groups;
    engine_set coil_groups[ENGINE_MAX_CYLINDERS];
    bool coil_groups_given;                   /* false: companions, for shared-coil engines, filled in */
    int n_mixture_groups;
    engine_set mixture_groups[ENGINE_MAX_CYLINDERS];
    engine_set breather_near;
    int n_positions;                          /* plugs per cylinder, at least 1 */
    char position_names[ENGINE_MAX_POSITIONS][24]; /* "top", "bottom"; "" when only one */
    enum engine_fuel fuel; /* how it comes in */
    enum engine_access access;
    enum engine_head head;
    struct engine_plug_spec plug;
};

/* Zeroes *en and fills what every engine has: 4 strokes, 1 plug per cylinder. */
void engine_init(struct engine *en);

/* Adds a bank of n cylinders with these labels, front to rear. */
bool engine_add_bank(struct engine *en, const char *name, const char *const *labels, int n, struct err *e);

/* Parses what people write: banks "1 3 5 7 / 2 4 6 8", "bank 1: 1 3 5 7 · bank 2: 2 4 6 8",
 * separators between banks: / | ; · or a line end; labels separated by blanks or commas. Replaces
 * the engine's banks. On failure *en is unchanged and the text says what is wrong. */
bool engine_parse_banks(struct engine *en, const char *text, struct err *e);
/* "1 8 4 3 6 5 7 2", "1-8-4-3-6-5-7-2", commas. Needs the banks. */
bool engine_parse_firing(struct engine *en, const char *text, struct err *e);
/* "" = even; else "90 150 90 150 …". Needs the firing order. */
bool engine_parse_intervals(struct engine *en, const char *text, struct err *e);
/* "1+6 5+2 3+4" or "1 6 / 5 2": groups of labels. The text of a failure wants the name of what is parsed in front. */
bool engine_parse_groups(const struct engine *en, const char *text, engine_set *groups, int *n_groups, struct err *e);
/* The same back as text; round trip exact. */
void engine_format_banks(const struct engine *en, char *to, size_t n_room);
void engine_format_firing(const struct engine *en, char *to, size_t n_room);
void engine_format_intervals(const struct engine *en, char *to, size_t n_room); /* "" when even */
void engine_format_groups(const struct engine *en, const engine_set *groups, int n, char *to, size_t n_room);

/* Checks the whole and fills in what follows (even intervals, coil groups of a shared-coil engine).
 * Messages name the trouble: "5 appears twice in the firing order, 6 is missing." */
bool engine_finish(struct engine *en, struct err *e);

int engine_find_cylinder(const struct engine *en, const char *label); /* -1 when unknown */
int engine_find_bank(const struct engine *en, const char *name);      /* -1 when unknown */
engine_set engine_bank_set(const struct engine *en, int bank);        /* all its cylinders */
/* Every cylinder once: fails ERR_BADARG naming those that come twice and those that are missing. */
bool engine_check_order(const struct engine *en, const int *order, int n, struct err *e);

/* Crank cycle: 720 for four strokes, 360 for two. */
double engine_cycle_deg(const struct engine *en);
/* Crank angle at which this cylinder fires, 0 for the first in the order. */
double engine_firing_angle_deg(const struct engine *en, int cylinder);
int engine_firing_position(const struct engine *en, int cylinder); /* 0-based place in the order */
bool engine_is_odd_fire(const struct engine *en);

/* Neighbours, each as a set without the cylinder itself. */
enum engine_kin {
    ENGINE_KIN_BANK,        /* the others of the bank */
    ENGINE_KIN_ADJACENT,    /* next to it along the bank (radial: ring neighbours) */
    ENGINE_KIN_ACROSS,      /* facing it on another bank */
    ENGINE_KIN_FIRING,      /* fires directly before or after */
    ENGINE_KIN_COMPANION,   /* 360 degrees of crank apart (four-stroke), by the intervals */
    ENGINE_KIN_COIL,        /* on the same coil */
    ENGINE_KIN_MIXTURE,     /* fed by the same carburettor, throttle or rail */
    ENGINE_KIN_COUNT
};
engine_set engine_kin(const struct engine *en, int cylinder, enum engine_kin kind);
const char *engine_kin_words(enum engine_kin kind); /* "the others of its bank" */

/* Where the cylinder is drawn, seen from above, front to the left; x, y in bore pitches from the
 * engine's top left. Radial: from the propeller's side, on a circle. */
struct engine_spot {
    double x, y;
};
struct engine_spot engine_spot(const struct engine *en, int cylinder);
/* Size of the whole drawing in bore pitches. */
struct engine_spot engine_extent(const struct engine *en);

/* "6", or "6 top" where a cylinder has several plugs. */
void engine_plug_label(const struct engine *en, int cylinder, int position, char *to, size_t n_room);
/* "bank 2, third from front · fires 5th, after 3, before 5" */
void engine_describe_cylinder(const struct engine *en, int cylinder, char *to, size_t n_room);
/* The cylinders of a set in the order people count: by number where the labels are numbers, else by place.
 * `cylinders` has room for ENGINE_MAX_CYLINDERS; returns how many. */
int engine_set_list(const struct engine *en, engine_set set, int *cylinders);
/* "2, 4, 6", in that order, appended */
struct text;
void engine_set_labels(const struct engine *en, engine_set set, struct text *to);
/* "cylinders 2, 4 and 6" / "cylinder 6", in that order */
void engine_set_words(const struct engine *en, engine_set set, char *to, size_t n_room);
/* "plug 3 top", "plugs 3, 5", "all 8 plugs": those marked, as at cylinder * n_positions + position, in the order of
 * engine_set_list. */
void engine_plugs_words(const struct engine *en, const bool marked[ENGINE_MAX_PLUGS], char *to, size_t n_room);
/* The other way round; false when a plug is named that the engine does not have. */
bool engine_plugs_parse(const struct engine *en, const char *words, bool marked[ENGINE_MAX_PLUGS]);
/* Whether there are wells to look into; where nobody said how the plugs sit, there may be. */
bool engine_may_have_wells(const struct engine *en);
/* Whether a lead runs to a plug: not where a coil sits on each; where nobody said how the sparks come, it may. */
bool engine_may_have_leads(const struct engine *en);
/* Whether a coil may be of one cylinder or a pair: not where a distributor or magneto feeds all from one. */
bool engine_may_have_own_coils(const struct engine *en);
/* Somebody said that no cylinder has an injector of its own. */
bool engine_is_without_injectors(const struct engine *en);
/* On magnetos, or with two plugs in each cylinder of a flat or radial engine: there may be a propeller on it. Two plugs alone
 * say nothing of it: cars have them too; nor a magneto on one cylinder, or on two that are not flat, with one plug each. */
bool engine_is_propeller_like(const struct engine *en);

/* A ready-made layout from assets/layouts.csv (neutral names; source in the file). */
struct engine_preset {
    char id[32];
    char label[64];      /* "V8, 90°, odd left" */
    enum engine_layout layout;
    int n_cylinders;
    struct engine engine; /* finished, no name */
};
/* Loaded once at first use from the built-in table; never fails in a sound build (a test walks it). */
const struct engine_preset *engine_presets(size_t *n_presets);
const struct engine_preset *engine_find_preset(const char *id); /* NULL when unknown */

#endif
