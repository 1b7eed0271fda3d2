#include "base/files.h"

#include <ctype.h>
#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <openssl/evp.h>
#include <pwd.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>
#ifdef __linux__
#include <sys/vfs.h>
#endif

#include "base/err.h"
#include "base/mem.h"
#include "base/text.h"

/* ---- whole files ---- */

static bool read_all(int fd, const char *path, size_t n_max_bytes, char **data, size_t *n_bytes,
                     struct err *e)
{
    size_t room = 65536, n = 0;
    char *buffer;
    struct stat st;

    if (fstat(fd, &st) == 0 && S_ISDIR(st.st_mode)) {
        errno = EISDIR;
        return err_set_errno(e, ERR_IO, "Cannot read %s", path);
    }
    if (fstat(fd, &st) == 0 && S_ISREG(st.st_mode) && st.st_size > 0) {
        if ((uintmax_t)st.st_size > n_max_bytes)
            return err_set(e, ERR_LIMIT, "%s is larger than the %zu MB that are read.", path,
                           n_max_bytes >> 20);
        room = (size_t)st.st_size + 2;
    }
    buffer = mem_try(room, 1);
    if (buffer == NULL)
        return err_set(e, ERR_LIMIT, "There is not enough memory to read %s.", path);
    for (;;) {
        ssize_t got;

        if (n + 1 >= room) {
            char *bigger = realloc(buffer, room * 2);

            if (bigger == NULL) {
                free(buffer);
                return err_set(e, ERR_LIMIT, "There is not enough memory to read %s.", path);
            }
            buffer = bigger;
            room *= 2;
        }
        got = read(fd, buffer + n, room - n - 1);
        if (got < 0 && errno == EINTR)
            continue;
        if (got < 0) {
            err_set_errno(e, ERR_IO, "Cannot read %s", path);
            free(buffer);
            return false;
        }
        if (got == 0)
            break;
        n += (size_t)got;
        if (n > n_max_bytes) {
            free(buffer);
            return err_set(e, ERR_LIMIT, "%s is larger than the %zu MB that are read.", path,
                           n_max_bytes >> 20);
        }
    }
    buffer[n] = '\0';
    *data = buffer;
    *n_bytes = n;
    return true;
}

bool files_read(const char *path, size_t n_max_bytes, char **data, size_t *n_bytes, struct err *e)
{
    int fd;
    bool fine;

    if (strcmp(path, "-") == 0)
        return read_all(STDIN_FILENO, "standard input", n_max_bytes, data, n_bytes, e);
    fd = open(path, O_RDONLY | O_CLOEXEC);
    if (fd < 0)
        return err_set_errno(e, errno == ENOENT ? ERR_NOTFOUND : ERR_IO, "Cannot open %s", path);
    fine = read_all(fd, path, n_max_bytes, data, n_bytes, e);
    close(fd);
    return fine;
}

static bool write_all(int fd, const void *data, size_t n_bytes)
{
    const char *p = data;

    while (n_bytes > 0) {
        ssize_t n = write(fd, p, n_bytes);

        if (n < 0 && errno == EINTR)
            continue;
        if (n < 0)
            return false;
        p += n;
        n_bytes -= (size_t)n;
    }
    return true;
}

/* Makes a file beside `path` that only we know; its name goes to `beside`. */
static int open_beside(const char *path, char *beside, size_t n_room, struct err *e)
{
    int fd;
    mode_t mask;

    if (!text_format(beside, n_room, "%s.XXXXXX", path)) {
        err_set(e, ERR_BADARG, "The path %s is too long.", TEXT_SHORT(path, 80));
        return -1;
    }
    fd = mkstemp(beside);
    if (fd < 0) {
        err_set_errno(e, ERR_IO, "Cannot write %s", path);
        return -1;
    }
    mask = umask(0);
    umask(mask);
    fchmod(fd, 0666 & ~mask);
    return fd;
}

/* Flushes the folder that holds `path`, so that the new name survives a power cut. */
static void sync_folder_of(const char *path)
{
    char folder[FILES_PATH_BYTES];
    char *slash;
    int fd;

    if (!text_copy(folder, sizeof folder, path))
        return;
    slash = strrchr(folder, '/');
    if (slash == NULL)
        text_copy(folder, sizeof folder, ".");
    else
        slash[slash == folder ? 1 : 0] = '\0';
    fd = open(folder, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    if (fd >= 0) {
        fsync(fd);
        close(fd);
    }
}

static bool finish_beside(int fd, const char *beside, const char *path, bool written, struct err *e)
{
    bool fine = written && fsync(fd) == 0;

    if (!fine)
        err_set_errno(e, ERR_IO, "Cannot write %s", path);
    if (close(fd) != 0 && fine)
        fine = err_set_errno(e, ERR_IO, "Cannot write %s", path);
    if (fine && rename(beside, path) != 0)
        fine = err_set_errno(e, ERR_IO, "Cannot write %s", path);
    if (!fine)
        unlink(beside);
    else
        sync_folder_of(path);
    return fine;
}

bool files_write(const char *path, const void *data, size_t n_bytes, struct err *e)
{
    char beside[FILES_PATH_BYTES];
    struct stat st;
    int fd;

    if (strcmp(path, "-") == 0) {
        if (!write_all(STDOUT_FILENO, data, n_bytes))
            return err_set_errno(e, ERR_IO, "Cannot write to standard output");
        return true;
    }
    if (stat(path, &st) == 0 && S_ISDIR(st.st_mode)) {
        errno = EISDIR;
        return err_set_errno(e, ERR_IO, "Cannot write %s", path);
    }
    if (stat(path, &st) == 0 && !S_ISREG(st.st_mode)) { /* a pipe or device is written straight */
        fd = open(path, O_WRONLY | O_CLOEXEC);
        if (fd < 0 || !write_all(fd, data, n_bytes)) {
            err_set_errno(e, ERR_IO, "Cannot write %s", path);
            if (fd >= 0)
                close(fd);
            return false;
        }
        close(fd);
        return true;
    }
    fd = open_beside(path, beside, sizeof beside, e);
    if (fd < 0)
        return false;
    return finish_beside(fd, beside, path, write_all(fd, data, n_bytes), e);
}

bool files_copy(const char *from, const char *to, struct err *e)
{
    char beside[FILES_PATH_BYTES], buffer[65536];
    int in, out;
    bool fine = true;

    in = open(from, O_RDONLY | O_CLOEXEC);
    if (in < 0)
        return err_set_errno(e, errno == ENOENT ? ERR_NOTFOUND : ERR_IO, "Cannot open %s", from);
    out = open_beside(to, beside, sizeof beside, e);
    if (out < 0) {
        close(in);
        return false;
    }
    for (;;) {
        ssize_t n = read(in, buffer, sizeof buffer);

        if (n < 0 && errno == EINTR)
            continue;
        if (n < 0) {
            err_set_errno(e, ERR_IO, "Cannot read %s", from);
            close(in);
            close(out);
            unlink(beside);
            return false;
        }
        if (n == 0)
            break;
        if (!write_all(out, buffer, (size_t)n)) {
            fine = false;
            break;
        }
    }
    close(in);
    return finish_beside(out, beside, to, fine, e);
}

bool files_make_folder(const char *path, struct err *e)
{
    char part[FILES_PATH_BYTES];

    if (!text_copy(part, sizeof part, path))
        return err_set(e, ERR_BADARG, "The path %s is too long.", TEXT_SHORT(path, 80));
    for (char *c = part + 1;; c++) {
        if (*c == '/' || *c == '\0') {
            char was = *c;

            *c = '\0';
            if (mkdir(part, 0777) != 0 && errno != EEXIST)
                return err_set_errno(e, ERR_IO, "Cannot make the folder %s", part);
            *c = was;
            if (was == '\0')
                break;
        }
    }
    if (!files_is_folder(path)) {
        errno = ENOTDIR;
        return err_set_errno(e, ERR_IO, "Cannot make the folder %s", path);
    }
    return true;
}

bool files_exists(const char *path)
{
    return access(path, F_OK) == 0;
}

bool files_is_folder(const char *path)
{
    struct stat st;

    return stat(path, &st) == 0 && S_ISDIR(st.st_mode);
}

bool files_remove(const char *path, struct err *e)
{
    if (unlink(path) != 0)
        return err_set_errno(e, errno == ENOENT ? ERR_NOTFOUND : ERR_IO, "Cannot remove %s", path);
    return true;
}

/* ---- paths ---- */

bool files_join(char *to, size_t n_room, const char *dir, const char *name)
{
    bool slash = text_ends(dir, "/") || dir[0] == '\0';

    if (text_format(to, n_room, "%s%s%s", dir, slash ? "" : "/", name))
        return true;
    to[0] = '\0';
    return false;
}

const char *files_name(const char *path)
{
    const char *slash = strrchr(path, '/');

    return slash != NULL ? slash + 1 : path;
}

const char *files_extension(const char *path)
{
    const char *name = files_name(path);
    const char *dot = strrchr(name, '.');

    return dot != NULL && dot != name ? dot + 1 : "";
}

/* ---- folders ---- */

/* "IMG_9" before "IMG_10". */
static int compare_names(const char *a, const char *b)
{
    while (*a != '\0' && *b != '\0') {
        if (isdigit((unsigned char)*a) && isdigit((unsigned char)*b)) {
            size_t na, nb;
            int order;

            while (*a == '0')
                a++;
            while (*b == '0')
                b++;
            na = strspn(a, "0123456789");
            nb = strspn(b, "0123456789");
            if (na != nb)
                return na < nb ? -1 : 1;
            order = strncmp(a, b, na);
            if (order != 0)
                return order;
            a += na;
            b += nb;
        } else {
            int ca = tolower((unsigned char)*a), cb = tolower((unsigned char)*b);

            if (ca != cb)
                return ca < cb ? -1 : 1;
            a++;
            b++;
        }
    }
    return *a == *b ? 0 : *a == '\0' ? -1 : 1;
}

static int compare_entries(const void *pa, const void *pb)
{
    const struct files_entry *a = pa, *b = pb;
    int order;

    if (a->is_folder != b->is_folder)
        return a->is_folder ? -1 : 1;
    order = compare_names(a->name, b->name);
    return order != 0 ? order : strcmp(a->name, b->name);
}

bool files_list_load(const char *path, struct files_list *out, struct err *e)
{
    DIR *dir = opendir(path);
    struct dirent *d;
    size_t room = 0;

    *out = (struct files_list){0};
    if (dir == NULL)
        return err_set_errno(e, errno == ENOENT ? ERR_NOTFOUND : ERR_IO, "Cannot open the folder %s",
                             path);
    while ((d = readdir(dir)) != NULL) {
        struct stat st;
        struct files_entry *entry;

        if (d->d_name[0] == '.' || fstatat(dirfd(dir), d->d_name, &st, 0) != 0)
            continue;
        if (!S_ISDIR(st.st_mode) && !S_ISREG(st.st_mode))
            continue;
        if (out->n_entries == room) {
            room = room ? room * 2 : 64;
            out->entries = mem_resize(out->entries, room, sizeof *out->entries);
        }
        entry = &out->entries[out->n_entries++];
        entry->name = mem_copy_text(d->d_name);
        entry->is_folder = S_ISDIR(st.st_mode);
        entry->n_bytes = st.st_size;
        entry->modified_s = st.st_mtime;
    }
    closedir(dir);
    if (out->n_entries > 0)
        qsort(out->entries, out->n_entries, sizeof *out->entries, compare_entries);
    return true;
}

int64_t files_folder_changed_ns(const char *path)
{
    struct stat st;

    return stat(path, &st) == 0 ? (int64_t)st.st_mtim.tv_sec * 1000000000 + st.st_mtim.tv_nsec : -1;
}

void files_list_release(struct files_list *list)
{
    for (size_t i = 0; i < list->n_entries; i++)
        free(list->entries[i].name);
    free(list->entries);
    *list = (struct files_list){0};
}

bool files_home_dir(char *to, size_t n_room)
{
    const char *home = getenv("HOME");

    if (home == NULL || home[0] != '/') {
        struct passwd *pw = getpwuid(getuid());

        home = pw != NULL ? pw->pw_dir : NULL;
    }
    return home != NULL && text_copy(to, n_room, home);
}

/* XDG Base Directory Specification 0.8: a relative value is to be ignored. */
static bool xdg(char *to, size_t n_room, const char *variable, const char *below_home)
{
    const char *base = getenv(variable);
    char home[FILES_PATH_BYTES];

    if (base != NULL && base[0] == '/')
        return text_format(to, n_room, "%s/sootbook", base);
    return files_home_dir(home, sizeof home) &&
           text_format(to, n_room, "%s/%s/sootbook", home, below_home);
}

bool files_config_dir(char *to, size_t n_room)
{
    return xdg(to, n_room, "XDG_CONFIG_HOME", ".config");
}

bool files_data_dir(char *to, size_t n_room)
{
    return xdg(to, n_room, "XDG_DATA_HOME", ".local/share");
}

bool files_on_network(const char *path, char *name, size_t n_room)
{
#ifdef __linux__
    /* Numbers as in linux/magic.h and statfs(2). */
    static const struct {
        unsigned long magic;
        const char *name;
    } kinds[] = {{0x6969, "NFS"},          {0x517B, "SMB"},       {0xFF534D42, "CIFS"},
                 {0xFE534D42, "SMB2"},     {0x01021997, "9P"},    {0x564C, "NCP"},
                 {0x5346414F, "AFS"},      {0x73757245, "Coda"},  {0x00C36400, "Ceph"}};
    struct statfs fs;

    if (statfs(path, &fs) == 0)
        for (size_t i = 0; i < sizeof kinds / sizeof kinds[0]; i++)
            if (((unsigned long)fs.f_type & 0xFFFFFFFFul) == kinds[i].magic) {
                text_copy(name, n_room, kinds[i].name);
                return true;
            }
#else
    (void)path;
#endif
    if (n_room > 0)
        name[0] = '\0';
    return false;
}

/* ---- SHA-256 (FIPS 180-4), by libcrypto ---- */

static void to_hex(const unsigned char digest[32], char hex[65])
{
    static const char digits[] = "0123456789abcdef";

    for (int i = 0; i < 32; i++) {
        hex[2 * i] = digits[digest[i] >> 4];
        hex[2 * i + 1] = digits[digest[i] & 15];
    }
    hex[64] = '\0';
}

bool files_sha256(const char *path, char hex[65], struct err *e)
{
    unsigned char digest[32], buffer[65536];
    EVP_MD_CTX *ctx;
    int fd = open(path, O_RDONLY | O_CLOEXEC);

    if (fd < 0)
        return err_set_errno(e, errno == ENOENT ? ERR_NOTFOUND : ERR_IO, "Cannot open %s", path);
    ctx = EVP_MD_CTX_new();
    EVP_DigestInit_ex(ctx, EVP_sha256(), NULL);
    for (;;) {
        ssize_t n = read(fd, buffer, sizeof buffer);

        if (n < 0 && errno == EINTR)
            continue;
        if (n < 0) {
            err_set_errno(e, ERR_IO, "Cannot read %s", path);
            EVP_MD_CTX_free(ctx);
            close(fd);
            return false;
        }
        if (n == 0)
            break;
        EVP_DigestUpdate(ctx, buffer, (size_t)n);
    }
    EVP_DigestFinal_ex(ctx, digest, NULL);
    EVP_MD_CTX_free(ctx);
    close(fd);
    to_hex(digest, hex);
    return true;
}

void files_sha256_bytes(const void *data, size_t n_bytes, char hex[65])
{
    unsigned char digest[32];

    EVP_Digest(data, n_bytes, digest, NULL, EVP_sha256(), NULL);
    to_hex(digest, hex);
}

void files_size_words(int64_t n_bytes, char *to, size_t n_room)
{
    if (n_bytes < 1000)
        text_format(to, n_room, n_bytes == 1 ? "1 byte" : "%d bytes", (int)n_bytes);
    else if (n_bytes < 999500)
        text_format(to, n_room, "%.0f kB", (double)n_bytes / 1e3);
    else
        text_format(to, n_room, "%.1f MB", (double)n_bytes / 1e6);
}
