/* job.h - what is to be done, proposed from findings and from the causes a person accepted, by tables:
 * assets/job-steps.csv (what begins and ends every job), assets/job-causes.csv (repair, parts and what shows
 * whether it held, for each cause), assets/cautions.csv. Pure; also what became of repairs and swaps. */
#ifndef READING_JOB_H
#define READING_JOB_H

#include "reading/findings.h"
#include "record/record.h"

struct job_caution {
    char id[24], text[320], source[160];
    bool propeller;          /* with it, on an engine that may bear one, comes the caution about propellers */
};
const struct job_caution *job_caution_find(const char *id); /* NULL: "" or unknown */
/* Those a step names, "regap+precious"; gives how many. Unknown ones are left out. */
#define JOB_MOST_CAUTIONS 4
int job_cautions_of(const char *ids, const struct job_caution *list[JOB_MOST_CAUTIONS]);
const struct job_caution *job_cautions(int *n);

/* Words for what the engine has, in place: one plug where the text speaks of several (assets/words-of-one.csv), a magneto where it
 * speaks of coils (assets/words-of-engine.csv). */
void job_words_of_engine(const struct engine *en, char *text, size_t n_room);

enum job_per { JOB_PER_ONE, JOB_PER_CYLINDER, JOB_PER_SET };
struct job_cause {
    char cause[32], repair[160], caution[24], part[64], done[48], watch[240], source[200];
    bool settles_running;    /* what settles it needs the engine running, or driven: after the refit */
    char settle_caution[32]; /* of the check; "": the repair's */
    bool harms, harms_with[SIGN_COUNT]; /* under load it harms the engine: whatever is seen, or with such a sign at its cylinders */
    bool driven;             /* it is used under load for what settles it, and for the repair that needs it running */
    bool seen[SIGN_COUNT];   /* signs that settle it by themselves: then these words stand instead of the check's and the repair's */
    char seen_settles[320], seen_repair[160];
    enum job_per per;
    double again_m;          /* look again after so many metres; 0: not asked for */
};
const struct job_cause *job_cause_find(const char *cause); /* NULL: none */
/* What a step or a part is of by its key, "coil-one" of "coil-one@cylinder 3"; gives where its place begins, NULL: it names none. */
const char *job_key_split(const char *key, char what[32]);
const struct job_cause *job_causes(int *n);
/* The work a repair is written down as, "replaced:coil:cylinder 3"; "" when the cause names none. */
void job_done_line(const struct engine *en, const struct job_cause *c, const char *place, char *to, size_t n_room);
/* Whether such a sign was found at these cylinders, at the record's last visit. */
bool job_is_seen(const struct record *r, const struct job_cause *c, engine_set cylinders);
/* "cylinder 3 bottom": where a cylinder has several plugs, the one whose coil, lead, boot, connector or insulator shows the damage of that
 * cause, else the one that does not look sound; "" it is no part of a single plug, or does not tell. */
void job_at_plug(const struct record *r, const struct job_cause *c, engine_set cylinders, char *to, size_t n_room);
/* Cylinders of a place as findings word it: "bank 2", "cylinders 1, 3", "group 1, 2", "engine". 0: unknown. */
engine_set job_place(const struct engine *en, const char *place);

/* The unit distances of a job are shown and typed in: the odometer's, km where it counts hours. */
int job_distance_unit(const struct visit *v);

/* ---- what is proposed ---- */
enum job_state { JOB_OPEN, JOB_ACCEPTED, JOB_DISMISSED, JOB_REPAIRED, JOB_LEFT, JOB_STATE_COUNT }; /* left: accepted or to be settled at an earlier visit, its step still open */
struct job_judged { /* a person's verdict at this visit */
    char cause[32], place[64];
    enum job_state state;
};
/* What was said of a cause as it is listed now: at its own place, or, where its cylinders came together or apart since, at each of
 * them; JOB_OPEN where one of them was not judged. */
enum job_state job_judged_as(const struct engine *en, const struct job_judged *judged, int n, const char *cause, const char *place);
struct job_step {
    char key[64];            /* names it: what was taken over is not proposed again */
    char text[256], caution[64], state[16]; /* caution: ids, + between them */
    char marked[256];        /* the text as it is kept, its figures for unit_tell_words() */
    char does[8];            /* "out": its ticking notes the plugs as out; "torque": done when all are torqued */
    struct maybe after_m;    /* state "later": look again after so many metres */
    bool first, last;        /* comes before, behind all others; what is looked at later comes last of all */
    bool running;            /* behind the last: the engine runs for it */
    bool driven;             /* behind those: it is used under load for it */
    bool held;               /* has its place among them, and is not offered: what it would harm is not settled, or not mended */
    bool too_late;           /* has its place among them, and is not offered: it can no longer be done */
};
struct job_part {
    char key[64], text[160], note[160];
    int quantity;
};
#define JOB_MAX 64
struct job {
    struct unit_choice units; /* figures of its steps are told in */
    int n_steps, n_parts;
    struct job_step steps[JOB_MAX];
    struct job_part parts[JOB_MAX];
};
/* f may be NULL: then only what begins and ends each job. Of the record's last visit. A cause that is accepted
 * gives its repair and its parts; one that is at least likely and not judged yet gives the check that settles it. units: NULL is mm. */
void job_propose(const struct record *r, const struct findings *f, const struct job_judged *judged, int n_judged, const struct unit_choice *units, struct job *out);

/* What the record's last visit shows has been done: the plugs are out, every well was looked at; wells are dry when
 * somebody said so, or every one was looked at and none held anything that was not cleaned out. Such a step is
 * proposed as done, and is not what comes next. */
bool job_is_over(const struct record *r, const char *key);
/* A step that comes before another and can no longer be done, since that one is over. why: "the plugs were
 * pulled first"; false, and "": it can, or was done in time. */
bool job_is_too_late(const struct record *r, const char *key, char *why, size_t n_room);

/* What a step, by its source, has to do with the plugs: WITH those that only come with their being out (looking, pulling,
 * refitting), ASKS what needs them out, STAY what is done at a cause with the plugs in (assets/plugs-stay.csv). */
enum job_plugs { JOB_PLUGS_NOTHING, JOB_PLUGS_WITH, JOB_PLUGS_ASKS, JOB_PLUGS_STAY };
enum job_plugs job_plugs_of(const char *source);
/* Cylinders at which work was done at v: "replaced:coil". */
engine_set job_worked_at(const struct visit *v, const char *work);
/* The work noted at v answers a step or a part by its key, "coil-one@cylinder 6", "settle:coil-one@cylinder 6",
 * "renew@plug 2": the part it asks for was renewed, the gap set, the swap made that settles it. v: the record's last
 * visit, perhaps with an edit to come; renewed: plugs known to be new beside the work noted, NULL none. */
bool job_answered(const struct record *r, const struct visit *v, const bool renewed[ENGINE_MAX_PLUGS], const char *key);
/* A check, "settle:coil-one@cylinder 6", that was not made and is over: the very part it was to settle was renewed at v, and no swap
 * told before. why: "coil of cylinder 6 renewed"; "" when it is not so. */
bool job_settle_is_moot(const struct record *r, const struct visit *v, const char *key, char *why, size_t n_room);
/* Of a step of single plugs, "gaps@all 6 plugs": how many of them the work noted at v answers; of: how many it is for, 0 no such step. */
int job_answered_plugs(const struct record *r, const struct visit *v, const char *key, int *of);
/* Whether another step of the same kind is for these plugs too: "gaps@plug 5" within "gaps@all 6 plugs". */
bool job_step_within(const struct engine *en, const char *key, const char *other);
/* The key of such a step when plugs have moved so: of the holes its plugs are in now. False: it is of none of them, or no such step. */
bool job_key_moved(const struct engine *en, const char *key, const struct plug_move *moves, int n, char *to, size_t n_room);
/* The step for a hole in which a plug was tightened far over the book before another one came in. where: "plug 5"; took: "40 N·m". */
void job_head_thread(const struct record *r, const char *where, const char *took, struct job_step *to);
/* The words, lengths marked, with which such a step is proposed for these plugs; "" no such step. */
void job_key_text(const struct record *r, const char *key, char *to, size_t n_room);
/* The same of the part that goes with it: a swap fits nothing new. */
bool job_part_answered(const struct record *r, const struct visit *v, const bool renewed[ENGINE_MAX_PLUGS], const char *key);
/* What is left to do where a swap has told that it is this cause, "Renew the coil: …"; NULL: no swap tells of it. */
const char *job_settled_repair(const char *cause);
/* The step of this key is done when its part is fitted: it renews that part. */
bool job_renews(const char *key);
/* The work a ticked step is written down as, where it is one of single plugs or of what sits on them: a line for each cylinder; v: the
 * visit it was done at, what was renewed there in its place is left out; NULL no matter. */
void job_ticked_lines(const struct engine *en, const struct visit *v, const char *key, char lines[][80], int n_room, int *n);
/* The part that may be wanted with such a step, "Plug boot, if needed", and when (note: "optional: …"); NULL: none, or one that is wanted anyhow. */
const char *job_part_optional(const char *key, const char **note);
/* The work its fitting is written down as, as above; none where it is not optional. */
void job_fitted_lines(const struct engine *en, const char *key, char lines[][80], int n_room, int *n);

/* What the owner came with, at this visit or else the last one before it where it was asked for, in its own words:
 * "“misfire, hot idle”: gone?", the person's own where there are any, as far as a step holds them. "" when there was no complaint. */
void job_complaint_asked(const struct record *r, char *to, size_t n_room);

/* Two plugs in each cylinder, each on a magneto of its own: every plug to the other place of the next cylinder
 * to fire, so that the polarity it runs on and the place it sits in both change. 0: not such an engine. */
int job_rotation(const struct engine *en, struct plug_move moves[ENGINE_MAX_PLUGS]);

/* ---- did it hold? ---- */
/* NOT_TOLD: the complaint goes on, and nothing says whether it is this place that gives it. NOT_DONE: a cause that was
 * accepted, and no work on it is noted since: there is nothing to have held (report_watches). PARTLY:
 * gone at some of its cylinders and as before at others, which the reading that shows it begins with. */
enum follow_state { FOLLOW_NOT_LOOKED, FOLLOW_NOT_TOLD, FOLLOW_GONE, FOLLOW_BETTER, FOLLOW_BACK, FOLLOW_NOT_DONE, FOLLOW_PARTLY };
const char *follow_words(enum follow_state s); /* "gone", "not looked at yet" */
struct follow {
    enum follow_state state;
    bool which;              /* not told, and nothing names the cylinder that misses: that is to be found out */
    char shown[360];         /* the reading that shows it */
    engine_set unseen[ZONE_COUNT], gap_unseen, compression_unseen; /* cylinders at which what showed it is not looked at yet */
};
/* What a cause repaired after visit `repaired` (an index) shows at the record's last visit. */
bool follow_of(const struct record *r, int repaired, const char *cause, const char *place, struct follow *out);

enum swap_state { SWAP_CANNOT_TELL, SWAP_FOLLOWED, SWAP_STAYED };
struct swap_verdict {
    enum swap_state state;
    char headline[120];      /* "Trouble followed the coil from 3 to 1" */
    char shown[320];         /* the readings it rests on, or what is missing */
    bool both;               /* cannot tell: both cylinders give trouble now */
    bool again;              /* nothing of its own: told with another part that moved along, or it was put back before it ran */
};
/* Of the swap d, done after the visit before the last one. */
void swap_judge(const struct record *r, const struct visit_done *d, struct swap_verdict *out);

#endif
