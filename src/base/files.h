/* files.h - files, folders and paths. Paths are UTF-8 bytes as the system gives them. */
#ifndef BASE_FILES_H
#define BASE_FILES_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

struct err;
struct text;

#define FILES_PATH_BYTES 4096

/* Reads a whole file into memory (freed by the caller), a NUL added behind. Fails ERR_LIMIT when
 * larger than n_max_bytes, ERR_IO otherwise. path "-" reads standard input. */
bool files_read(const char *path, size_t n_max_bytes, char **data, size_t *n_bytes, struct err *e);

/* Writes beside the target, flushes to disk, renames over it: the old file stays whole until then.
 * path "-" writes to standard output. */
bool files_write(const char *path, const void *data, size_t n_bytes, struct err *e);

bool files_make_folder(const char *path, struct err *e); /* with its parents; an existing one is fine */
bool files_exists(const char *path);
bool files_is_folder(const char *path);
bool files_remove(const char *path, struct err *e);
bool files_copy(const char *from, const char *to, struct err *e); /* fresh file, flushed, renamed */

/* dir + "/" + name into to; fails (false, to = "") when it does not fit. */
bool files_join(char *to, size_t n_room, const char *dir, const char *name);
const char *files_name(const char *path);      /* last part */
const char *files_extension(const char *path); /* without the dot, "" when none */

/* One entry of a folder. */
struct files_entry {
    char *name; /* malloc'd */
    bool is_folder;
    int64_t n_bytes;
    int64_t modified_s; /* seconds since 1970 UTC */
};
struct files_list {
    struct files_entry *entries; /* sorted: folders first, then by name, digits as numbers */
    size_t n_entries;
};
/* When entries of the folder last came, went or were renamed, in ns; -1 when it cannot be asked. */
int64_t files_folder_changed_ns(const char *path);
/* Entries that start with a dot are left out. */
bool files_list_load(const char *path, struct files_list *out, struct err *e);
void files_list_release(struct files_list *list);

/* XDG base directories with "/sootbook" added; created on demand by the caller. */
bool files_config_dir(char *to, size_t n_room);
bool files_data_dir(char *to, size_t n_room);
bool files_home_dir(char *to, size_t n_room);

/* True when the folder lies on a network file system (NFS, SMB, SSHFS, 9p …); name receives its
 * kind, at least 32 bytes. On systems that cannot tell: false. */
bool files_on_network(const char *path, char *name, size_t n_room);

/* "640 bytes", "12 kB", "3.4 MB", in thousands. */
void files_size_words(int64_t n_bytes, char *to, size_t n_room);

/* SHA-256 of a file or of bytes as 64 lower-case hex digits and NUL. */
bool files_sha256(const char *path, char hex[65], struct err *e);
void files_sha256_bytes(const void *data, size_t n_bytes, char hex[65]);

#endif
