/* to_look.h - what a visit is to look at first because earlier ones ask: whether the complaint is gone, and what shows that
 * each repair held. What this visit has answered is no longer in it. Pure. */
#ifndef REPORT_TO_LOOK_H
#define REPORT_TO_LOOK_H

#include "report/report.h"

/* MISS: that it goes on was said, at which cylinder was not. */
enum to_look_kind { TO_LOOK_COMPLAINT, TO_LOOK_MISS, TO_LOOK_ZONE, TO_LOOK_GAP, TO_LOOK_COMPRESSION, TO_LOOK_STEPS };
struct to_look {
    enum to_look_kind kind;
    int row;                 /* its place in the order one comes to them, from 1: the same however many there are */
    enum zone zone;          /* ZONE */
    engine_set cylinders;    /* still to be looked at; 0 of COMPLAINT, MISS and STEPS */
    char words[240];         /* "Wells of cylinders 3 and 4", "“misses at hot idle”: gone?" */
    char why[400];           /* "Did it hold? Plug-tube seal leaking, cylinders 3, 4"; "" */
};
#define TO_LOOK_MOST (ZONE_COUNT + 5)
/* In the order one comes to them: what the owner says, what is seen before a plug is drawn, the plug, measures; at the end what
 * else earlier visits left to be done. Gives how many. */
int to_look_of(const struct record *r, const struct report_watch *watches, size_t n, const struct logbook_step *left, size_t n_left, struct to_look out[TO_LOOK_MOST]);
/* A step that an earlier visit left, and that none of the other rows asks for. */
bool to_look_is_left(const struct logbook_step *s);

#endif
