/* words.c - plain words of cells: what somebody writes about a plug without knowing any list. English and German,
 * common practice, no source. What could mean two things is asked for, never guessed. */
#include "takeover/field_work.h"

#include <ctype.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#include "base/clock.h"
#include "base/err.h"
#include "base/text.h"
#include "record/record.h"

#define COUNT(a) (sizeof(a) / sizeof(a)[0])

/* ---- the tables: plain words (take_plain_words), set off by | ---- */

/* clang-format off */
static const struct take_sign_words sign_words[] = {
    {ZONE_FIRING_END, "normal", "ok|okay|fine|good|gut|in ordnung|i o|io|tan|light tan|tan brown|brown tan|light brown|brown|medium brown|coffee brown|chocolate brown|grey brown|gray brown|brown grey|brownish|greyish brown|grey tan|gray tan|rehbraun|hellbraun|braun|graubraun"},
    {ZONE_FIRING_END, "dry-carbon", "soot|sooty|dry soot|sooted|sooty dry|dry sooty|black soot|black sooty|sooty black|black dry|dry black|black dry soot|dry black soot|matt black|black matt|flat black|fluffy black|black fluffy|velvety black|black velvety|black powdery|powdery black|carbon|black carbon|carbon black|carbon fouled|fouled with soot|fouled with carbon|soot fouled|russ|ruß|verrußt|verrusst|rußig|russig|schwarz rußig|rußig schwarz|schwarz verrußt|schwarz trocken|trocken schwarz"},
    {ZONE_FIRING_END, "fuel-wet", "fuel|petrol|gasoline|wet with fuel|wet with petrol|wet fuel|fuel fouled|benzin|benzinnass|nass von benzin"},
    {ZONE_FIRING_END, "oil-wet", "oil|oily|oiled|oil fouled|fouled with oil|wet with oil|wet oil|oily wet|black oily|oily black|black oil|black wet oily|shiny black|black shiny|glossy black|black glossy|schwarz ölig|ölig schwarz|öl|ölig|verölt|oel|oelig|veroelt"},
    {ZONE_FIRING_END, "oil-ash", "ash|ash crust|ölkohle|asche"},
    {ZONE_FIRING_END, "washed", "washed|never fired|not firing"},
    {ZONE_FIRING_END, "leaded", "leaded|lead fouled|blei|verbleit"},
    {ZONE_FIRING_END, "glazed", "glaze|glassy|glasiert"},
    {ZONE_FIRING_END, "blistered", "blisters|overheated|überhitzt"},
    {ZONE_FIRING_END, "coolant", "water|antifreeze|wasser|kühlwasser|kühlmittel"},
    {ZONE_FIRING_END, "bridged", "bridge|gap bridged|überbrückt"},
    {ZONE_FIRING_END, "metal-specks", "specks|metal|aluminium specks|aluminum specks|metallperlen"},
    {ZONE_THREADS, "oil", "oily|oiled|wet with oil|öl|ölig|verölt|oel|oelig"},
    {ZONE_THREADS, "carbon", "soot|sooty|russ|ruß|verrußt"},
    {ZONE_THREADS, "rust", "rusty|rusted|rost|rostig|verrostet"},
    {ZONE_THREADS, "anti-seize", "grease|greased|copper grease|fett|gefettet|kupferpaste"},
    {ZONE_THREADS, "gas-leak", "blow by|blowby|leak|leaking|undicht"},
    {ZONE_BODY, "oil", "oily|öl|ölig|verölt|oel"},
    {ZONE_BODY, "corona-stain", "corona|stain|brown ring"},
    {ZONE_BODY, "flashover", "flash over|carbon track|tracked"},
    {ZONE_BODY, "crack", "broken|riss|gerissen|gebrochen"},
    {ZONE_BODY, "rust", "rusty|rusted|rost|rostig"},
    {ZONE_WELL, "oil", "oily|oil wet|wet with oil|engine oil|öl|ölig|verölt|oel|motoröl"},
    {ZONE_WELL, "water", "wet with water|watery|rain|wasser|regenwasser"},
    {ZONE_WELL, "rust", "rusty|rusted|rost|rostig"},
    {ZONE_WELL, "dirt", "dirty|grit|sand|debris|mud|leaves|schmutz|schmutzig|dreck|dreckig"},
    {ZONE_WELL, "fuel", "petrol|gasoline|benzin"},
    {ZONE_BOOT, "oil-soaked", "oil|oily|wet with oil|öl|ölig|verölt|oel"},
    {ZONE_BOOT, "tracked", "tracking|carbon track|arced|arcing|kriechspur"},
    {ZONE_BOOT, "split", "torn|cracked|crack|gerissen|rissig|riss"},
    {ZONE_BOOT, "hardened", "hard|stiff|brittle|hart|verhärtet|spröde"},
    {ZONE_BOOT, "burnt", "burned|scorched|verbrannt|angebrannt"},
    {ZONE_COIL, "oil-soaked", "oil|oily|wet with oil|öl|ölig|verölt|oel"},
    {ZONE_COIL, "cracked", "crack|split|gerissen|riss|rissig"},
    {ZONE_COIL, "tracked", "tracking|carbon track|arced|kriechspur"},
    {ZONE_COIL, "swollen", "bulging|aufgequollen"},
    {ZONE_LEAD, "insulation-bare", "bare|blank"},
    {ZONE_LEAD, "melted", "molten|burnt|burned|geschmolzen|verschmort"},
    {ZONE_LEAD, "brittle", "hard|cracked|hart|spröde|rissig"},
    {ZONE_LEAD, "lock-broken", "loose|lose|locker"},
    {ZONE_LEAD, "corroded", "corrosion|rusty|rusted|korrodiert|grünspan"},
    {ZONE_LEAD, "chafed", "rubbed|chafing|durchgescheuert|gescheuert"},
    {ZONE_CONNECTOR, "insulation-bare", "bare|blank"},
    {ZONE_CONNECTOR, "melted", "molten|burnt|burned|geschmolzen|verschmort"},
    {ZONE_CONNECTOR, "brittle", "hard|cracked|hart|spröde|rissig"},
    {ZONE_CONNECTOR, "lock-broken", "loose|broken|lose|locker|gebrochen"},
    {ZONE_CONNECTOR, "corroded", "corrosion|green|rusty|korrodiert|grünspan"},
    {ZONE_CONNECTOR, "chafed", "rubbed|chafing|gescheuert"},
};

#define BLACK "black|schwarz|dark|dunkel"
/* What may mean more than one thing, and what to write instead; zone -1: of any. */
static const struct {
    int zone;
    const char *words, *instead;
} unclear[] = {
    {ZONE_FIRING_END, "wet|damp|nass|feucht", "fuel-wet or oil-wet"},
    {ZONE_FIRING_END, BLACK, "dry-carbon or oil-wet"},
    {ZONE_FIRING_END, "fouled|dirty|verschmutzt|verdreckt", "dry-carbon, fuel-wet or oil-wet"},
    {ZONE_FIRING_END, "white|grey|gray|weiß|weiss|grau", "pale, fuel-ash, oil-ash or blistered"},
    {ZONE_WELL, "wet|damp|moist|nass|feucht", "oil, water or fuel"},
    {-1, "wet|damp|moist|nass|feucht|bad|not ok|schlecht|n i o", NULL},
};

/* The zone was looked at and nothing is there. */
static const char nothing_there[] = "none|nothing|dry|clean|clear|ok|okay|fine|good|all good|all ok|no|nil|0|dry clean|clean dry|nothing there|nothing seen|not wet|"
                                    "trocken|sauber|nein|kein|keine|keiner|nichts|gut|in ordnung|i o|io|leer|no sign|no signs";
/* Nothing was noted: such a cell is empty. */
static const char unsaid[] = "n a|na|k a|ka|unknown|not checked|not looked|not looked at|not seen|not done|not measured|unbekannt|nicht geprüft|nicht gemessen|no data|tbd";

static const struct {
    const char *words;
    int amount;
} amounts_said[] = {
    {"a trace of|traces of|trace of|a trace|traces|trace|a little bit of|a bit of|bit of|a bit|slightly|slight|lightly|light|a little|little|minor|a touch of|a touch|touch of|a drop of|"
     "drops of|a few drops of|a few drops|film of|a film of|leicht|leichte|leichter|leichtes|etwas|wenig|ein wenig|ein bisschen|bisschen|spuren von|spur von|spuren|spur", 1},
    {"moderately|moderate|medium|some|mittel|mittlere|mäßig|mässig|yes|y|ja|x|true", 2},
    {"heavily|heavy|much|lots of|a lot of|lot of|lots|a lot|plenty of|plenty|very|full of|full|badly|severe|severely|a pool of|pool of|pool|swimming in|soaked with|soaked in|"
     "stark|starke|starker|starkes|viel|sehr|voll mit|voller|voll", 3},
    {"no|not|none|without|never|nein|kein|keine|keinen|nicht|ohne", 0},
    {"0", 0}, {"1", 1}, {"2", 2}, {"3", 3},
};

/* Plain words for those of a list. */
static const struct {
    enum words list;
    const char *id, *words;
} list_words[] = {
    {WORDS_ELECTRODE, "sharp", "ok|okay|good|fine|square|new|scharf|scharfkantig|gut|neu"}, {WORDS_ELECTRODE, "rounded", "round|worn|abgerundet|rund|verschlissen"},
    {WORDS_ELECTRODE, "eroded", "erosion|burnt|burnt away|abgebrannt|abbrand"}, {WORDS_ELECTRODE, "melted", "molten|geschmolzen"}, {WORDS_ELECTRODE, "bent", "verbogen|krumm"},
    {WORDS_WEAR_ON, "centre", "center|middle|mittelelektrode|mitte"}, {WORDS_WEAR_ON, "side", "ground|masse|masseelektrode|seite"}, {WORDS_WEAR_ON, "both", "beide"},
    {WORDS_INSULATOR, "sound", "ok|okay|good|fine|gut|ganz|in ordnung"}, {WORDS_INSULATOR, "cracked", "crack|gerissen|riss|gesprungen"}, {WORDS_INSULATOR, "chipped", "chip|abgeplatzt"},
    {WORDS_TURNS, "upper", "top|oben"}, {WORDS_TURNS, "lower", "bottom|unten"}, {WORDS_TURNS, "all", "alle"},
    {WORDS_SIDE, "intake", "inlet|einlass"}, {WORDS_SIDE, "exhaust", "outlet|auslass"}, {WORDS_SIDE, "even", "none|no|gleichmäßig"},
    {WORDS_TIGHTNESS, "loose", "finger tight|lose|locker"}, {WORDS_TIGHTNESS, "normal", "ok|okay|fine|good|gut"}, {WORDS_TIGHTNESS, "tight", "too tight|stuck|seized|fest|zu fest"},
    {WORDS_REFIT, "out", "no|nein|not yet"}, {WORDS_REFIT, "hand", "by hand|finger tight|handfest"}, {WORDS_REFIT, "torqued", "yes|done|ja|angezogen"},
    {WORDS_WASHER, "new", "neu"}, {WORDS_WASHER, "used", "old|reused|alt|gebraucht"},
    {WORDS_THREAD_STATE, "dry", "clean|trocken|sauber"}, {WORDS_THREAD_STATE, "greased", "oiled|grease|anti seize|copper grease|gefettet|geölt"},
};

static const struct {
    const char *words;
    bool yes;
} yes_no[] = {{"yes|y|1|true|t|on|ja|j|x|wahr|ok", true}, {"no|n|0|false|f|off|nein|falsch", false}};
/* clang-format on */

const struct take_sign_words *take_sign_words(size_t *n)
{
    *n = COUNT(sign_words);
    return sign_words;
}

/* ---- words ---- */

/* Whether `s` is one of the words set off by |. */
static bool is_among(const char *s, const char *words)
{
    size_t n = strlen(s);

    for (const char *w = words; n > 0 && *w != '\0'; w += strcspn(w, "|"), w += *w == '|')
        if (strcspn(w, "|") == n && strncmp(w, s, n) == 0)
            return true;
    return false;
}

static bool same_word(const char *a, const char *plain)
{
    char x[100];

    take_plain_words(a, false, x, sizeof x);
    return strcmp(x, plain) == 0;
}

bool take_is_unsaid(const char *cell)
{
    char plain[40];

    for (const char *s = cell;; s++) { /* "-", "–", "—", "?", "..." */
        s += strspn(s, "-?. \t");
        if (*s == '\0')
            return true;
        if (strncmp(s, "\xE2\x80\x93", 3) != 0 && strncmp(s, "\xE2\x80\x94", 3) != 0)
            break;
        s += 2;
    }
    take_plain_words(cell, false, plain, sizeof plain);
    return is_among(plain, unsaid);
}

bool take_read_word(enum words list, const char *cell, int *value, struct err *e)
{
    int n;
    const struct word *rows = words_rows(list, &n);
    char all[200], plain[100];

    take_plain_words(cell, false, plain, sizeof plain);
    for (int i = 0; i < n; i++)
        if (same_word(rows[i].id, plain) || same_word(rows[i].label, plain)) {
            *value = i + 1;
            return true;
        }
    for (size_t i = 0; i < COUNT(list_words); i++)
        if (list_words[i].list == list && is_among(plain, list_words[i].words)) {
            *value = words_find(list, list_words[i].id);
            return true;
        }
    words_list(list, all, sizeof all);
    return err_set(e, ERR_BADARG, "“%s” is none of: %s. Write one of these, or take the column as notes.", TEXT_SHORT(cell, 40), all);
}

bool take_read_yes_no(const char *cell, bool *yes, struct err *e)
{
    char plain[40];

    take_plain_words(cell, false, plain, sizeof plain);
    for (size_t i = 0; i < COUNT(yes_no); i++)
        if (is_among(plain, yes_no[i].words)) {
            *yes = yes_no[i].yes;
            return true;
        }
    return err_set(e, ERR_BADARG, "“%s” is neither yes nor no.", TEXT_SHORT(cell, 40));
}

/* ---- signs ---- */

static int find_sign(enum zone z, const char *plain)
{
    for (int s = (int)sign_first(z); s < (int)sign_first(z) + sign_count(z); s++) {
        const struct sign_row *row = sign_row((enum sign)s);

        if (same_word(row->id, plain) || same_word(row->label, plain) || same_word(row->sentence, plain))
            return s;
    }
    for (size_t i = 0; i < COUNT(sign_words); i++)
        if (sign_words[i].zone == z && is_among(plain, sign_words[i].words))
            return sign_find(z, sign_words[i].sign);
    return -1;
}

int take_sign_within(enum zone z, const char *heading)
{
    char plain[200], part[200];
    int found = -1;
    size_t longest = 0;

    take_plain_words(heading, true, plain, sizeof plain);
    for (char *from = plain; *from != '\0'; from += strcspn(from, " "), from += *from == ' ')
        for (size_t n = strcspn(from, " "); from[n - 1] != '\0'; n += 1 + strcspn(from + n + 1, " ")) {
            int s;

            text_format(part, sizeof part, "%.*s", (int)n, from);
            s = find_sign(z, part);
            if (s >= 0 && n > longest && !is_among(part, nothing_there)) {
                found = s;
                longest = n;
            }
            if (from[n] == '\0')
                break;
        }
    return found;
}

/* The amount named at either end of the words, the longest that is, taken off them; -1 where none is. */
static int cut_amount(char *s)
{
    size_t all = strlen(s), longest = 0;
    bool first = false;
    int amount = -1;

    for (size_t i = 0; i < COUNT(amounts_said); i++)
        for (const char *w = amounts_said[i].words; *w != '\0'; w += strcspn(w, "|"), w += *w == '|') {
            size_t n = strcspn(w, "|");
            bool leads = all > n && s[n] == ' ' && strncmp(s, w, n) == 0;

            if (n <= longest || (!leads && !(all > n && s[all - n - 1] == ' ' && strncmp(s + all - n, w, n) == 0)))
                continue;
            longest = n;
            first = leads;
            amount = amounts_said[i].amount;
        }
    if (longest > 0 && first)
        memmove(s, s + longest + 1, all - longest);
    else if (longest > 0)
        s[all - longest - 1] = '\0';
    return amount;
}

static int amount_alone(const char *s)
{
    for (size_t i = 0; i < COUNT(amounts_said); i++)
        if (is_among(s, amounts_said[i].words))
            return amounts_said[i].amount;
    return -1;
}

/* Why a part of a cell is no sign of the zone. */
static void tell_unread(enum zone z, const char *part, const char *plain, struct text *wrong)
{
    const char *first = sign_row(sign_first(z))->id;

    text_add(wrong, wrong->n_bytes ? " " : "");
    if (amount_alone(plain) > 0) {
        text_addf(wrong, "“%s” of what? Write it behind a word, as in “%s 2”, or name it in the heading, as in “%s %s”.", TEXT_SHORT(part, 40), first, zone_row(z)->label, first);
        return;
    }
    for (size_t i = 0; i < COUNT(unclear); i++)
        if ((unclear[i].zone < 0 || unclear[i].zone == (int)z) && is_among(plain, unclear[i].words)) {
            text_addf(wrong, "“%s” may mean more than one thing", TEXT_SHORT(part, 40));
            text_addf(wrong, unclear[i].instead != NULL ? ": write %s." : ".", unclear[i].instead);
            return;
        }
    text_addf(wrong, "“%s” is nothing that is noted of the %s.", TEXT_SHORT(part, 40), zone_row(z)->label);
}

/* One part of a cell: a sign with its amount; n_pluses: of "oil ++". */
static bool read_part(enum zone z, int own, char *plain, int n_pluses, int amounts[SIGN_COUNT])
{
    int sign = find_sign(z, plain), amount = -1;

    if (sign < 0 && own >= 0) {
        amount = amount_alone(plain);
        sign = amount >= 0 ? own : -1;
    }
    if (sign < 0 && (plain[0] == '\0' || is_among(plain, nothing_there))) {
        if (own >= 0)
            amounts[own] = plain[0] != '\0' ? 0 : n_pluses > 0 ? n_pluses : AMOUNT_UNSEEN;
        return plain[0] != '\0' || n_pluses == 0 || own >= 0;
    }
    while (sign < 0) { /* "very slightly oily": the last said counts, but what is not there is not there */
        int said = cut_amount(plain);

        if (said < 0)
            return false;
        amount = amount == 0 ? 0 : said;
        sign = find_sign(z, plain);
    }
    amounts[sign] = n_pluses > 0 ? n_pluses : amount < 0 ? 2 : amount;
    return true;
}

/* The next part of a cell, and how many + stand behind it; one between two words parts them. */
static const char *next_part(const char *at, char part[120], int *n_pluses)
{
    size_t n = strcspn(at, ";,/+|\n"), n_plus = strspn(at + n, "+"), behind = n + n_plus + strspn(at + n + n_plus, " ");

    text_format(part, 120, "%.*s", (int)(n < 119 ? n : 119), at);
    at += n;
    *n_pluses = 0;
    if (n_plus > 1 || (n_plus == 1 && strchr(";,/|\n", at[behind - n]) != NULL)) /* also at the end */
        *n_pluses = n_plus < 3 ? (int)n_plus : 3;
    if (n_plus > 0)
        return at + n_plus;
    return at + (*at != '\0');
}

bool take_read_signs(enum zone z, int own, const char *cell, int amounts[SIGN_COUNT], struct err *e)
{
    static const char *const between[] = {" and ", " und ", " & "};
    struct text parts = {0}, wrong = {0};
    char black[120] = "";

    for (int s = 0; s < SIGN_COUNT; s++)
        amounts[s] = AMOUNT_UNSEEN;
    for (const char *at = cell; *at != '\0'; at++) { /* all that parts two words as one sign */
        size_t n = 0;

        for (size_t i = 0; i < COUNT(between); i++)
            if (strncasecmp(at, between[i], strlen(between[i])) == 0)
                n = strlen(between[i]);
        text_add_char(&parts, n > 0 ? ';' : *at);
        at += n > 0 ? n - 1 : 0;
    }
    for (const char *at = text_get(&parts); *at != '\0';) {
        char part[120], plain[120], words[120];
        int n_pluses;

        at = next_part(at, part, &n_pluses);
        take_plain_words(part, false, plain, sizeof plain);
        text_copy(words, sizeof words, plain);
        if (read_part(z, own, words, n_pluses, amounts))
            continue;
        if (z == ZONE_FIRING_END && is_among(plain, BLACK))
            text_copy(black, sizeof black, part + strspn(part, " ")); /* "black and sooty": the other word says of what */
        else
            tell_unread(z, part + strspn(part, " "), plain, &wrong);
    }
    text_release(&parts);
    if (black[0] != '\0' && amounts[SIGN_DRY_CARBON] <= 0 && amounts[SIGN_OIL_WET] <= 0)
        tell_unread(z, black, "black", &wrong);
    if (wrong.n_bytes == 0)
        return true;
    text_addf(&wrong, " Words for the %s: ", zone_row(z)->label);
    for (int s = (int)sign_first(z); s < (int)sign_first(z) + sign_count(z); s++)
        text_addf(&wrong, "%s%s", s > (int)sign_first(z) ? ", " : "", sign_row((enum sign)s)->id);
    err_set(e, ERR_BADARG, "%s, none. Or take the column as notes.", text_get(&wrong));
    text_release(&wrong);
    return false;
}

/* ---- dates ---- */

/* English and German; the first letters are enough where they tell. */
static const char *const month_words[12] = {"january|januar|jänner", "february|februar", "march|märz|maerz|mrz", "april", "may|mai", "june|juni", "july|juli", "august", "september|sept", "october|oktober",
                                            "november", "december|dezember"};
static const char weekdays[] = "monday|tuesday|wednesday|thursday|friday|saturday|sunday|montag|dienstag|mittwoch|donnerstag|freitag|samstag|sonnabend|sonntag|mo|di|mi|do|fr|sa|so|mon|tue|wed|thu|fri|sat|sun";

static int find_month(const char *word)
{
    size_t n = strlen(word);

    for (int m = 0; m < 12; m++)
        for (const char *w = month_words[m]; *w != '\0'; w += strcspn(w, "|"), w += *w == '|')
            if (n >= 3 && n <= strcspn(w, "|") && strncmp(w, word, n) == 0)
                return m + 1;
    return 0;
}

int take_full_year(int year)
{
    /* POSIX, strptime(), %y: 69 to 99 are of the 20th century, 00 to 68 of the 21st */
    return year >= 100 ? year : year >= 69 ? year + 1900 : year + 2000;
}

bool take_read_word_date(const char *cell, char iso[11])
{
    char plain[64], word[64];
    int month = 0, figures[2] = {0}, n_figures = 0, n_digits[2] = {0};

    take_plain_words(cell, false, plain, sizeof plain);
    for (const char *at = plain; *at != '\0';) {
        size_t n = strcspn(at, " "), digits = strspn(at, "0123456789");

        text_format(word, sizeof word, "%.*s", (int)n, at);
        if (digits > 0 && digits <= 4 && n_figures < 2 && (digits == n || is_among(word + digits, "st|nd|rd|th"))) {
            n_digits[n_figures] = (int)digits;
            figures[n_figures++] = (int)strtol(word, NULL, 10);
        } else if (digits == 0 && month == 0 && find_month(word) > 0) {
            month = find_month(word);
        } else if (digits > 0 || at != plain || !is_among(word, weekdays)) {
            return false;
        }
        at += n;
        at += *at == ' ';
    }
    if (month == 0 || n_figures != 2)
        return false;
    return n_digits[0] == 4 ? take_make_date(figures[0], month, figures[1], iso) : n_digits[0] <= 2 && n_digits[1] != 3 && take_make_date(take_full_year(figures[1]), month, figures[0], iso);
}
