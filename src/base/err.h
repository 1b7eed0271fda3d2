/* err.h - what went wrong, in words for the person.
 *
 * A function that can fail returns bool and takes a struct err * last (NULL allowed). The place
 * that knows writes what happened, to which thing and what to do next; callers only put context
 * in front. The window and the command line show the same words. */
#ifndef BASE_ERR_H
#define BASE_ERR_H

#include <stdbool.h>

enum err_code {
    ERR_NONE = 0,
    ERR_BADARG,   /* a value given by a person or a file cannot be used */
    ERR_FORMAT,   /* a file is not what it should be, or is damaged */
    ERR_IO,       /* the disk, the permissions, the space */
    ERR_NOTFOUND, /* the thing named does not exist */
    ERR_BUSY,     /* another window or program holds it */
    ERR_READONLY, /* open for reading only */
    ERR_VERSION,  /* written by a newer Sootbook */
    ERR_OLDER,    /* written by an older one, and to be brought up to date first */
    ERR_LIMIT,    /* larger than the stated limit */
    ERR_CANCEL,   /* stopped because it was asked to; no message need be shown */
    ERR_MEASURE   /* the picture or the data cannot give the figure; the message says why */
};

#define ERR_TEXT_BYTES 640

struct err {
    enum err_code code;
    char text[ERR_TEXT_BYTES]; /* UTF-8, cut at a whole character when too long */
};

/* Fills *e (unless NULL) and returns false, so that a failure is one line. */
bool err_set(struct err *e, enum err_code code, const char *fmt, ...)
    __attribute__((format(printf, 3, 4)));

/* Puts "context: " in front of the text already in *e. Returns false. */
bool err_wrap(struct err *e, const char *fmt, ...) __attribute__((format(printf, 2, 3)));

/* Like err_set with ": " and the system's words for errno (as it is when called) at the end. */
bool err_set_errno(struct err *e, enum err_code code, const char *fmt, ...)
    __attribute__((format(printf, 3, 4)));

/* Sets *e to no error. */
void err_clear(struct err *e);

#endif
