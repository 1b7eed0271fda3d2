#include "base/err.h"

#include <errno.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include "base/text.h"

static void put(struct err *e, enum err_code code, const char *text)
{
    e->code = code;
    text_copy(e->text, sizeof e->text, text);
}

bool err_set(struct err *e, enum err_code code, const char *fmt, ...)
{
    char line[ERR_TEXT_BYTES * 2];
    va_list args;

    if (e == NULL)
        return false;
    va_start(args, fmt);
    vsnprintf(line, sizeof line, fmt, args);
    va_end(args);
    put(e, code, line);
    return false;
}

/* What stands before the colon, at most ERR_TEXT_BYTES of it; gives its length. */
__attribute__((format(printf, 2, 0))) static size_t beginning(char *line, const char *fmt, va_list args)
{
    line[0] = '\0';
    vsnprintf(line, ERR_TEXT_BYTES, fmt, args);
    return strlen(line);
}

bool err_wrap(struct err *e, const char *fmt, ...)
{
    char line[ERR_TEXT_BYTES * 3];
    va_list args;
    size_t n;

    if (e == NULL)
        return false;
    va_start(args, fmt);
    n = beginning(line, fmt, args);
    va_end(args);
    snprintf(line + n, sizeof line - n, ": %s", e->text);
    put(e, e->code == ERR_NONE ? ERR_IO : e->code, line);
    return false;
}

bool err_set_errno(struct err *e, enum err_code code, const char *fmt, ...)
{
    int number = errno;
    char line[ERR_TEXT_BYTES * 2];
    char reason[160];
    va_list args;
    size_t n;

    if (e == NULL)
        return false;
    va_start(args, fmt);
    n = beginning(line, fmt, args);
    va_end(args);
    switch (number) { /* the common ones in words that say what to do */
    case ENOENT: text_copy(reason, sizeof reason, "there is no such file or folder"); break;
    case EACCES: /* both mean: not allowed */
    case EPERM: text_copy(reason, sizeof reason, "no permission; check who owns it"); break;
    case ENOSPC: text_copy(reason, sizeof reason, "the disk is full; make room and try again"); break;
    case EISDIR: text_copy(reason, sizeof reason, "it is a folder, not a file"); break;
    case ENOTDIR: text_copy(reason, sizeof reason, "a part of the path is a file, not a folder"); break;
    case EROFS: text_copy(reason, sizeof reason, "the disk can only be read"); break;
    case EFBIG: text_copy(reason, sizeof reason, "the file would grow past the limit set for files"); break;
    default:
        if (strerror_r(number, reason, sizeof reason) != 0)
            snprintf(reason, sizeof reason, "system error %d", number);
    }
    snprintf(line + n, sizeof line - n, ": %s", reason);
    put(e, code, line);
    return false;
}

void err_clear(struct err *e)
{
    if (e != NULL) {
        e->code = ERR_NONE;
        e->text[0] = '\0';
    }
}
