/* measure.h - what the marks of a photo give in millimetres and colours: one background thread, with a
 * picture helper of its own that decodes. It owns copies of what it works on; a newer question takes the
 * place of an older one that waits. */
#ifndef APP_MEASURE_H
#define APP_MEASURE_H

#include <stdbool.h>
#include "report/report_marks.h"
#include "screen/model.h"

struct measurer;

/* wake is called from other threads when an answer is ready. NULL when it cannot be started; call before
 * SDL opens anything. */
struct measurer *measurer_create(void (*wake)(void *ctx), void *ctx);
void measurer_destroy(struct measurer *m); /* NULL is fine */

struct measure_question {
    char path[1400];                 /* of the original */
    char photo[UUID_BYTES];
    int width, height;               /* of the photo, as displayed */
    char thread[24];                 /* of the engine's card, "" not said */
    bool find;                       /* lines are to be looked for and offered: none is drawn yet */
    bool has[MARK_NOSE + 1];         /* these marks are there: */
    struct logbook_mark marks[MARK_NOSE + 1];
};
/* What there is to measure on a photo with these marks. */
void measure_question_make(struct measure_question *q, const struct logbook_photo *p, const char *path, const char *thread,
                           const struct logbook_mark *marks, size_t n_marks);
bool measure_question_same(const struct measure_question *a, const struct measure_question *b);
void measurer_ask(struct measurer *m, const struct measure_question *q);
/* Takes the newest answer. */
bool measurer_take(struct measurer *m, struct photo_measured *out);
/* Writes the marked copies of a photo (report_marks_write) behind what is asked already; marks are copied.
 * False when one is still being written. */
bool measurer_save(struct measurer *m, const char *original, const char *folder, const struct logbook_photo *photo, const struct report_mark *marks, size_t n);
/* True once when it is done: where the picture is, or why there is none. */
bool measurer_saved(struct measurer *m, char *path, size_t n_room, struct err *e);
bool measurer_busy(struct measurer *m);

#endif
