/* pool_keep.c - nameless file (O_TMPFILE), link, rename: a crash at any moment leaves either the whole
 * original or nothing. */
#define _GNU_SOURCE /* O_TMPFILE, mkostemp */
#include "photo/pool_keep.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/err.h"
#include "base/text.h"

static bool folder_failed(const char *folder, struct err *e)
{
    if (errno == ENOENT || errno == ENOTDIR)
        return err_set(e, ERR_NOTFOUND, "The photo could not be copied: the folder %s is not there (any more).", folder);
    if (errno == EACCES || errno == EPERM || errno == EROFS)
        return err_set(e, ERR_READONLY, "The photo could not be copied: the folder %s cannot be written to.", folder);
    if (errno == ENOSPC || errno == EDQUOT)
        return err_set(e, ERR_IO, "The disk is full: the photo could not be copied into the logbook. Make room, then add it again.");
    return err_set_errno(e, ERR_IO, "The photo could not be copied into %s", folder);
}

bool keep_begin(struct keep *k, const char *folder, struct err *e)
{
    k->name[0] = '\0';
    k->fd = -1;
#ifdef O_TMPFILE
    k->fd = open(folder, O_TMPFILE | O_WRONLY | O_CLOEXEC, 0644);
    if (k->fd >= 0)
        return true;
    if (errno != EOPNOTSUPP && errno != EISDIR && errno != EINVAL)
        return folder_failed(folder, e);
#endif
    if (!text_format(k->name, sizeof k->name, "%s/.taking-XXXXXX", folder)) {
        k->name[0] = '\0';
        return err_set(e, ERR_IO, "The photo could not be copied: the name of the folder is too long.");
    }
    k->fd = mkostemp(k->name, O_CLOEXEC);
    if (k->fd < 0) {
        k->name[0] = '\0';
        return folder_failed(folder, e);
    }
    fchmod(k->fd, 0644);
    return true;
}

/* Gives a nameless file the name; ENOENT where /proc is missing is told like any failure. */
static bool give_name(const struct keep *k, const char *name)
{
    char self[48];

    if (k->name[0])
        return link(k->name, name) == 0;
    snprintf(self, sizeof self, "/proc/self/fd/%d", k->fd);
    return linkat(AT_FDCWD, self, AT_FDCWD, name, AT_SYMLINK_FOLLOW) == 0;
}

static void flush_folder(const char *folder)
{
    int fd = open(folder, O_RDONLY | O_DIRECTORY | O_CLOEXEC);

    if (fd < 0)
        return;
    fsync(fd);
    close(fd);
}

bool keep_finish(struct keep *k, const char *folder, const char *sha256, const char *extension, char *path, size_t n_room,
                 bool *was_there, struct err *e)
{
    char aside[1300];
    struct stat mine, there;

    *was_there = false;
    if (!text_format(path, n_room, "%s/%s.%s", folder, sha256, extension) ||
        !text_format(aside, sizeof aside, "%s/.taking-%s", folder, sha256))
        return err_set(e, ERR_IO, "The photo could not be copied: the name of the folder is too long.");
    if (!give_name(k, path)) {
        if (errno != EEXIST)
            return folder_failed(folder, e);
        if (fstat(k->fd, &mine) == 0 && stat(path, &there) == 0 && S_ISREG(there.st_mode) && mine.st_size == there.st_size) {
            *was_there = true;
            return true;
        }
        unlink(aside);
        if (!give_name(k, aside) || rename(aside, path) != 0) {
            folder_failed(folder, e);
            unlink(aside);
            return false;
        }
    }
    flush_folder(folder);
    return true;
}

void keep_drop(struct keep *k)
{
    if (k->fd >= 0)
        close(k->fd);
    if (k->fd >= 0 && k->name[0])
        unlink(k->name);
    k->fd = -1;
    k->name[0] = '\0';
}
