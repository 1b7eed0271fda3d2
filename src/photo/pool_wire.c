/* pool_wire.c - messages with descriptors (unix(7), SCM_RIGHTS). */
#define _GNU_SOURCE /* MSG_CMSG_CLOEXEC */
#include "photo/pool_wire.h"

#include <errno.h>
#include <string.h>
#include <sys/socket.h>
#include <sys/uio.h>
#include <unistd.h>

bool wire_send(int to, const void *message, size_t n_bytes, const int *fds, size_t n_fds)
{
    union {
        struct cmsghdr head;
        char room[CMSG_SPACE(WIRE_MAX_FDS * sizeof(int))];
    } control;
    struct iovec part = {(void *)(uintptr_t)message, n_bytes};
    struct msghdr m = {.msg_iov = &part, .msg_iovlen = 1};
    ssize_t n;

    if (n_fds > 0) {
        struct cmsghdr *c;

        memset(&control, 0, sizeof control);
        m.msg_control = control.room;
        m.msg_controllen = CMSG_SPACE(n_fds * sizeof(int));
        c = CMSG_FIRSTHDR(&m);
        c->cmsg_level = SOL_SOCKET;
        c->cmsg_type = SCM_RIGHTS;
        c->cmsg_len = CMSG_LEN(n_fds * sizeof(int));
        memcpy(CMSG_DATA(c), fds, n_fds * sizeof(int));
    }
    do
        n = sendmsg(to, &m, MSG_NOSIGNAL);
    while (n < 0 && errno == EINTR);
    return n == (ssize_t)n_bytes;
}

bool wire_receive(int from, void *message, size_t n_bytes, int fds[WIRE_MAX_FDS], size_t *n_fds)
{
    union {
        struct cmsghdr head;
        char room[CMSG_SPACE(WIRE_MAX_FDS * sizeof(int))];
    } control;
    struct iovec part = {message, n_bytes};
    struct msghdr m = {.msg_iov = &part, .msg_iovlen = 1, .msg_control = control.room, .msg_controllen = sizeof control.room};
    ssize_t n;

    *n_fds = 0;
    do
        n = recvmsg(from, &m, MSG_CMSG_CLOEXEC);
    while (n < 0 && errno == EINTR);
    if (n < 0)
        return false;
    for (struct cmsghdr *c = CMSG_FIRSTHDR(&m); c; c = CMSG_NXTHDR(&m, c))
        if (c->cmsg_level == SOL_SOCKET && c->cmsg_type == SCM_RIGHTS) {
            size_t n_got = (c->cmsg_len - CMSG_LEN(0)) / sizeof(int);

            for (size_t i = 0; i < n_got; i++) {
                int fd;

                memcpy(&fd, CMSG_DATA(c) + i * sizeof fd, sizeof fd);
                if (*n_fds < WIRE_MAX_FDS)
                    fds[(*n_fds)++] = fd;
                else
                    close(fd);
            }
        }
    if (n == (ssize_t)n_bytes && !(m.msg_flags & (MSG_TRUNC | MSG_CTRUNC)))
        return true;
    while (*n_fds > 0)
        close(fds[--*n_fds]);
    return false;
}
