/* vocab.c - the tables. Levels follow the urgency column of assets/deposits.csv and
 * assets/wells-and-ignition.csv, whose row each sign names; where no row fits, it is common practice
 * without a source. */
#include "record/vocab.h"

#include <assert.h>
#include <stdio.h>
#include <string.h>

#include "base/text.h"

#define COUNT(a) (sizeof(a) / sizeof((a)[0]))

static const struct zone_row zones[] = {
    [ZONE_FIRING_END] = {"firing_end", "Firing end"},
    [ZONE_THREADS] = {"threads", "Threads"},
    [ZONE_BODY] = {"body", "Body"},
    [ZONE_WELL] = {"well", "Well"},
    [ZONE_BOOT] = {"boot", "Boot"},
    [ZONE_COIL] = {"coil", "Coil"},
    [ZONE_LEAD] = {"lead", "Lead"},
    [ZONE_CONNECTOR] = {"connector", "Connector"},
};
_Static_assert(COUNT(zones) == ZONE_COUNT, "a row for each zone");

/* clang-format off */
static const struct sign_row signs[] = {
    [SIGN_NORMAL]        = {ZONE_FIRING_END, "normal",       "normal wear",  "normal deposit",               'n', LEVEL_NONE,  "normal"},
    [SIGN_PALE]          = {ZONE_FIRING_END, "pale",         "pale",         "pale, clean nose",             'p', LEVEL_NOTE,  "overheat"},
    [SIGN_DRY_CARBON]    = {ZONE_FIRING_END, "dry-carbon",   "dry carbon",   "dry soot",                     'c', LEVEL_WATCH, "carbon"},
    [SIGN_FUEL_WET]      = {ZONE_FIRING_END, "fuel-wet",     "fuel-wet",     "fuel-wet firing end",          'f', LEVEL_ACT,   "wet-fuel"},
    [SIGN_WASHED]        = {ZONE_FIRING_END, "washed",       "washed clean", "clean, never fired",           'w', LEVEL_ACT,   "unfired"},
    [SIGN_OIL_WET]       = {ZONE_FIRING_END, "oil-wet",      "oil-wet",      "oil-wet firing end",           'o', LEVEL_ACT,   "wet-oil"},
    [SIGN_OIL_ASH]       = {ZONE_FIRING_END, "oil-ash",      "oil ash",      "oil ash crust",                'a', LEVEL_WATCH, "oil-ash"},
    [SIGN_FUEL_ASH]      = {ZONE_FIRING_END, "fuel-ash",     "fuel ash",     "white or yellow fuel ash",     'u', LEVEL_NOTE,  "scavenger"},
    [SIGN_LEADED]        = {ZONE_FIRING_END, "leaded",       "lead",         "lead deposit",                 'l', LEVEL_WATCH, "lead"},
    [SIGN_GLAZED]        = {ZONE_FIRING_END, "glazed",       "glazed",       "glazed nose",                  'g', LEVEL_ACT,   "glaze"},
    [SIGN_BLISTERED]     = {ZONE_FIRING_END, "blistered",    "blistered",    "blistered, overheated nose",   'b', LEVEL_ACT,   "overheat"},
    [SIGN_COOLANT]       = {ZONE_FIRING_END, "coolant",      "coolant",      "coolant traces",               'k', LEVEL_STOP,  "coolant"},
    [SIGN_ADDITIVE_RED]  = {ZONE_FIRING_END, "additive-red", "red additive", "red additive coat",            'r', LEVEL_NONE,  "mmt"},
    [SIGN_BRIDGED]       = {ZONE_FIRING_END, "bridged",      "bridged gap",  "bridged gap",                  'd', LEVEL_ACT,   "bridged"},
    [SIGN_METAL_SPECKS]  = {ZONE_FIRING_END, "metal-specks", "metal specks", "metal specks on the nose",     'm', LEVEL_STOP,  "aluminium"},

    [SIGN_THREADS_OIL]       = {ZONE_THREADS, "oil",        "oil film",    "oil on the threads",          'o', LEVEL_NOTE,  ""},
    [SIGN_THREADS_CARBON]    = {ZONE_THREADS, "carbon",     "carbon",      "carbon on the last threads",  'c', LEVEL_WATCH, "threads-carbon"},
    [SIGN_THREADS_RUST]      = {ZONE_THREADS, "rust",       "rust",        "rust on the threads",         'r', LEVEL_NOTE,  "rust"},
    [SIGN_THREADS_ANTI_SEIZE]= {ZONE_THREADS, "anti-seize", "anti-seize",  "thread compound",             'a', LEVEL_NOTE,  "graphite"},
    [SIGN_THREADS_GAS_LEAK]  = {ZONE_THREADS, "gas-leak",   "gas leak",    "gas streaks at the seat",     'g', LEVEL_ACT,   "blowby"},

    [SIGN_BODY_OIL]       = {ZONE_BODY, "oil",          "oil",          "oil on the body",               'o', LEVEL_NOTE,  ""},
    [SIGN_BODY_CORONA]    = {ZONE_BODY, "corona-stain", "corona stain", "corona stain",                  's', LEVEL_NONE,  "corona"},
    [SIGN_BODY_FLASHOVER] = {ZONE_BODY, "flashover",    "flashover",    "flashover track on the body",   'f', LEVEL_ACT,   "flashover"},
    [SIGN_BODY_CRACK]     = {ZONE_BODY, "crack",        "cracked",      "cracked upper insulator",       'c', LEVEL_ACT,   "cracked-upper"},
    [SIGN_BODY_RUST]      = {ZONE_BODY, "rust",         "rust",         "rust on the shell",             'r', LEVEL_NOTE,  "rust"},

    [SIGN_WELL_OIL]   = {ZONE_WELL, "oil",   "oil",   "oil in the well",   'o', LEVEL_ACT,   "well-oil-pool"},
    [SIGN_WELL_WATER] = {ZONE_WELL, "water", "water", "water in the well", 'w', LEVEL_ACT,   "well-water"},
    [SIGN_WELL_RUST]  = {ZONE_WELL, "rust",  "rust",  "rust in the well",  'r', LEVEL_NOTE,  "rust"},
    [SIGN_WELL_DIRT]  = {ZONE_WELL, "dirt",  "dirt",  "dirt in the well",  'd', LEVEL_WATCH, "well-dirt"},
    [SIGN_WELL_FUEL]  = {ZONE_WELL, "fuel",  "fuel",  "fuel in the well",  'f', LEVEL_STOP,  ""},

    [SIGN_BOOT_OIL_SOAKED] = {ZONE_BOOT, "oil-soaked", "oil-soaked", "oil-soaked boot", 'o', LEVEL_ACT,   "boot-oil"},
    [SIGN_BOOT_TRACKED]    = {ZONE_BOOT, "tracked",    "tracked",    "tracked boot",    't', LEVEL_ACT,   "boot-burn"},
    [SIGN_BOOT_SPLIT]      = {ZONE_BOOT, "split",      "split",      "split boot",      's', LEVEL_WATCH, "boot-torn"},
    [SIGN_BOOT_HARDENED]   = {ZONE_BOOT, "hardened",   "hardened",   "hardened boot",   'h', LEVEL_WATCH, "boot-torn"},
    [SIGN_BOOT_BURNT]      = {ZONE_BOOT, "burnt",      "burnt",      "burnt boot",      'b', LEVEL_ACT,   "boot-burn"},

    [SIGN_COIL_OIL_SOAKED] = {ZONE_COIL, "oil-soaked", "oil-soaked", "oil-soaked coil", 'o', LEVEL_ACT, "coil-oil"},
    [SIGN_COIL_CRACKED]    = {ZONE_COIL, "cracked",    "cracked",    "cracked coil",    'c', LEVEL_ACT, "coil-crack"},
    [SIGN_COIL_TRACKED]    = {ZONE_COIL, "tracked",    "tracked",    "tracked coil",    't', LEVEL_ACT, "boot-burn"},
    [SIGN_COIL_SWOLLEN]    = {ZONE_COIL, "swollen",    "swollen",    "swollen coil",    's', LEVEL_ACT, "coil-crack"},

    [SIGN_LEAD_BARE]     = {ZONE_LEAD, "insulation-bare", "insulation bare", "lead with bare insulation", 'i', LEVEL_ACT,   "lead-chafe"},
    [SIGN_LEAD_MELTED]   = {ZONE_LEAD, "melted",          "melted",          "melted lead",               'm', LEVEL_ACT,   "lead-chafe"},
    [SIGN_LEAD_BRITTLE]  = {ZONE_LEAD, "brittle",         "brittle",         "brittle lead",              'b', LEVEL_WATCH, "lead-chafe"},
    [SIGN_LEAD_LOCK]     = {ZONE_LEAD, "lock-broken",     "lock broken",     "loose lead cap",            'l', LEVEL_ACT,   "lead-chafe"},
    [SIGN_LEAD_CORRODED] = {ZONE_LEAD, "corroded",        "corroded",        "corroded lead end",         'c', LEVEL_ACT,   "spring"},
    [SIGN_LEAD_CHAFED]   = {ZONE_LEAD, "chafed",          "chafed",          "chafed lead",               'f', LEVEL_ACT,   "lead-chafe"},
    [SIGN_LEAD_TIED]     = {ZONE_LEAD, "tied-together",   "tied together",   "leads tied side by side",   't', LEVEL_WATCH, "leads-parallel"},

    [SIGN_CONN_BARE]     = {ZONE_CONNECTOR, "insulation-bare", "insulation bare", "bare connector insulation", 'i', LEVEL_ACT,   "connector-heat"},
    [SIGN_CONN_MELTED]   = {ZONE_CONNECTOR, "melted",          "melted",          "melted connector",          'm', LEVEL_ACT,   "connector-heat"},
    [SIGN_CONN_BRITTLE]  = {ZONE_CONNECTOR, "brittle",         "brittle",         "brittle connector",         'b', LEVEL_WATCH, "connector-heat"},
    [SIGN_CONN_LOCK]     = {ZONE_CONNECTOR, "lock-broken",     "lock broken",     "connector lock broken",     'l', LEVEL_ACT,   "connector-lock"},
    [SIGN_CONN_CORRODED] = {ZONE_CONNECTOR, "corroded",        "corroded",        "corroded connector",        'c', LEVEL_ACT,   "connector-pins"},
    [SIGN_CONN_CHAFED]   = {ZONE_CONNECTOR, "chafed",          "chafed",          "chafed connector wiring",   'f', LEVEL_ACT,   "connector-heat"},
    [SIGN_CONN_TIED]     = {ZONE_CONNECTOR, "tied-together",   "tied together",   "wiring tied together",      't', LEVEL_NOTE,  "leads-parallel"},
};
/* clang-format on */
_Static_assert(COUNT(signs) == SIGN_COUNT, "a row for each sign");

static const char *const levels[] = {"", "note", "watch", "act", "stop"};
_Static_assert(COUNT(levels) == LEVEL_COUNT, "a word for each level");

const char *level_id(enum level v)
{
    return levels[v];
}

const struct zone_row *zone_row(enum zone z)
{
    return &zones[z];
}

const struct sign_row *sign_row(enum sign s)
{
    return &signs[s];
}

bool sign_is_fault(enum sign s)
{
    return signs[s].level >= LEVEL_WATCH;
}

int zone_find(const char *id)
{
    for (size_t i = 0; i < COUNT(zones); i++)
        if (strcmp(zones[i].id, id) == 0)
            return (int)i;
    return -1;
}

int sign_find(enum zone z, const char *id)
{
    for (size_t i = 0; i < COUNT(signs); i++)
        if (signs[i].zone == z && strcmp(signs[i].id, id) == 0)
            return (int)i;
    return -1;
}

enum sign sign_first(enum zone z)
{
    for (size_t i = 0; i < COUNT(signs); i++)
        if (signs[i].zone == z)
            return (enum sign)i;
    assert(false && "every zone has signs");
    return SIGN_NORMAL;
}

int amount_next(int amount)
{
    static const int next[] = {2, 2, 3, 3}; /* from none, a trace, moderate, heavy */

    return next[amount < 0 ? 0 : amount];
}

const char *amount_words(int amount)
{
    static const char *const words[] = {"none", "a trace", "moderate", "heavy"};

    assert(amount >= 0 && amount <= 3);
    return words[amount];
}

int sign_count(enum zone z)
{
    int n = 0;

    for (size_t i = 0; i < COUNT(signs); i++)
        n += signs[i].zone == z;
    return n;
}

void sign_measure(enum sign s, char *to, size_t n_room)
{
    snprintf(to, n_room, "%s.%s", zones[signs[s].zone].id, signs[s].id);
}

/* ---- plain word lists ---- */

static const struct word complaint[] = {
    {"misfire-idle-hot", "misses at hot idle"}, {"misfire-idle-cold", "misses at cold idle"},
    {"misfire-load", "misses under load"}, {"misfire-wet-weather", "misses in wet weather"},
    {"hard-start-cold", "hard to start cold"}, {"hard-start-hot", "hard to start hot"},
    {"blue-smoke-start", "blue smoke at start"}, {"blue-smoke-load", "blue smoke under load"},
    {"blue-smoke-overrun", "blue smoke on overrun"}, {"black-smoke", "black smoke"},
    {"white-smoke", "white smoke"}, {"oil-use", "uses oil"}, {"coolant-use", "uses coolant"},
    {"fuel-smell", "smells of fuel"}, {"burnt-oil-smell", "smells of burnt oil"},
    {"overheating", "overheats"}, {"knock", "knocks"}, {"run-on", "runs on when switched off"},
    {"low-power", "low power"}, {"backfire", "backfires"}, {"rough-running", "runs rough"},
    {"idle-high", "idles high"}, {"none", "no complaint"}};
static const struct word last_run[] = {{"idle", "idled"}, {"load", "drove under load"},
                                       {"cranked", "only cranked"}, {"stored", "stood in storage"}};
static const struct word fuel[] = {{"unleaded", "unleaded"}, {"leaded", "leaded"}, {"avgas", "avgas"},
                                   {"ethanol", "ethanol"}, {"lpg", "LPG"}, {"methanol", "methanol"}};
static const struct word socket[] = {{"shared", "one socket, not wiped"}, {"wiped", "wiped between plugs"}};
static const struct word electrode[] = {{"sharp", "sharp edges"}, {"rounded", "rounded"}, {"eroded", "eroded"},
                                        {"melted", "melted"}, {"bent", "bent"}};
static const struct word wear_on[] = {{"centre", "centre electrode"}, {"side", "side electrode"}, {"both", "both"}};
static const struct word insulator[] = {{"sound", "sound"}, {"cracked", "cracked"}, {"chipped", "chipped"}};
static const struct word turns[] = {{"upper", "upper turns"}, {"lower", "lower turns"}, {"all", "all turns"}};
static const struct word side[] = {{"intake", "intake side"}, {"exhaust", "exhaust side"}, {"even", "even all round"}};
static const struct word tightness[] = {{"loose", "loose"}, {"normal", "normal"}, {"tight", "very tight"}};
static const struct word refit[] = {{"out", "out"}, {"hand", "hand-tight"}, {"torqued", "torqued"}};
static const struct word washer[] = {{"new", "new"}, {"used", "used"}};
static const struct word thread_state[] = {{"dry", "dry"}, {"greased", "greased"}};
static const struct word leak_heard[] = {{"intake", "at the intake"}, {"exhaust", "at the exhaust"},
                                         {"breather", "at the breather"}, {"coolant", "bubbles in the coolant"},
                                         {"neighbour", "at the next plug hole"}};
static const struct word test[] = {{"cut-out", "cut out"}, {"damp", "sprayed damp"}, {"dark", "looked at in the dark"}};
static const struct word test_result[] = {{"no-change", "no change"}, {"drops", "idle drops"}, {"misses", "misses"}, {"sparks", "sparks seen"},
                                          {"sparks-lead", "sparks along the lead"}, {"sparks-coil", "sparks at the coil"}, {"sparks-boot", "sparks at the boot"}};
static const struct word odometer_unit[] = {{"mi", "mi"}, {"km", "km"}, {"h", "h"}};
static const struct word done_verb[] = {{"replaced", "replaced"}, {"swapped", "swapped"}, {"cleaned", "cleaned"},
                                        {"refitted", "refitted"}, {"tightened", "tightened"}, {"adjusted", "adjusted"}};
static const struct word done_part[] = {
    {"plug", "plug"}, {"coil", "coil"}, {"lead", "lead"}, {"boot", "boot"}, {"connector", "connector"},
    {"injector", "injector"}, {"well", "well"}, {"tube-seal", "plug-tube seal"},
    {"valve-cover-seal", "valve-cover gasket"}, {"head-gasket", "head gasket"}, {"breather", "crankcase breather"},
    {"carburettor", "carburettor"}, {"valve", "valve"}, {"rings", "rings"}, {"thermostat", "thermostat"},
    {"piston", "piston"}, {"manifold-gasket", "manifold gasket"}};

static const struct {
    const struct word *rows;
    int n;
} lists[] = {
#define LIST(e, rows) [e] = {rows, (int)COUNT(rows)}
    LIST(WORDS_COMPLAINT, complaint),
    LIST(WORDS_LAST_RUN, last_run),
    LIST(WORDS_FUEL, fuel),
    LIST(WORDS_SOCKET, socket),
    LIST(WORDS_ELECTRODE, electrode),
    LIST(WORDS_WEAR_ON, wear_on),
    LIST(WORDS_INSULATOR, insulator),
    LIST(WORDS_TURNS, turns),
    LIST(WORDS_SIDE, side),
    LIST(WORDS_TIGHTNESS, tightness),
    LIST(WORDS_REFIT, refit),
    LIST(WORDS_WASHER, washer),
    LIST(WORDS_THREAD_STATE, thread_state),
    LIST(WORDS_LEAK_HEARD, leak_heard),
    LIST(WORDS_TEST, test),
    LIST(WORDS_TEST_RESULT, test_result),
    LIST(WORDS_ODOMETER_UNIT, odometer_unit),
    LIST(WORDS_DONE_VERB, done_verb),
    LIST(WORDS_DONE_PART, done_part),
};
_Static_assert(COUNT(lists) == WORDS_COUNT, "a table for each list");

const struct word *words_rows(enum words list, int *n_rows)
{
    *n_rows = lists[list].n;
    return lists[list].rows;
}

int words_find(enum words list, const char *id)
{
    if (id == NULL || id[0] == '\0')
        return 0;
    for (int i = 0; i < lists[list].n; i++)
        if (strcmp(lists[list].rows[i].id, id) == 0)
            return i + 1;
    return -1;
}

const char *words_id(enum words list, int value)
{
    return value >= 1 && value <= lists[list].n ? lists[list].rows[value - 1].id : "";
}

const char *words_label(enum words list, int value)
{
    return value >= 1 && value <= lists[list].n ? lists[list].rows[value - 1].label : "";
}

void words_list(enum words list, char *to, size_t n_room)
{
    struct text t = {0};

    for (int i = 0; i < lists[list].n; i++)
        text_addf(&t, "%s%s", i ? ", " : "", lists[list].rows[i].id);
    text_copy(to, n_room, text_get(&t));
    text_release(&t);
}
