#include "src/batch/wire.h"

#include <errno.h>
#include <string.h>
#include <sys/socket.h>
#include <unistd.h>

static bool send_all(int fd, const void *in, size_t n)
{
    const char *at = in;
    while (at != NULL && n > 0) {
        const ssize_t sent = send(fd, at, n, MSG_NOSIGNAL);
        if (sent < 0 && errno != EINTR) {
            return false;
        }
        if (sent > 0) {
            at += sent;
            n -= (size_t)sent;
        }
    }
    return true;
}

bool wire_send_two(
    int fd, wire_type type, const void *a, size_t n_a, const void *b, size_t n_b)
{
    const wire_head head = {.type = (uint32_t)type, .n_bytes = (uint32_t)(n_a + n_b)};
    return n_a <= WIRE_MOST_BYTES && n_b <= WIRE_MOST_BYTES - n_a &&
           send_all(fd, &head, sizeof head) && send_all(fd, a, n_a) &&
           send_all(fd, b, n_b);
}

bool wire_send(int fd, wire_type type, const void *in, size_t n)
{
    return wire_send_two(fd, type, in, n, NULL, 0);
}

static bool receive_all(int fd, void *out, size_t n)
{
    char *at = out;
    while (n > 0) {
        const ssize_t got = read(fd, at, n);
        if (got == 0 || (got < 0 && errno != EINTR)) {
            return false;
        }
        if (got > 0) {
            at += got;
            n -= (size_t)got;
        }
    }
    return true;
}

static bool makes_sense(const wire_head *head)
{
    return head->type >= WIRE_JOB && head->type <= WIRE_STOP &&
           head->n_bytes <= WIRE_MOST_BYTES;
}

bool wire_receive(int fd, wire_type *type, bytes *body)
{
    wire_head head;
    char block[4096];
    bytes_clear(body);
    if (!receive_all(fd, &head, sizeof head) || !makes_sense(&head)) {
        return false;
    }
    for (size_t left = head.n_bytes; left > 0;) {
        const size_t n = left < sizeof block ? left : sizeof block;
        if (!receive_all(fd, block, n)) {
            return false;
        }
        bytes_add(body, block, n);
        left -= n;
    }
    *type = (wire_type)head.type;
    return !body->failed;
}

int wire_take(const bytes *from, size_t *at, wire_head *head, const char **body)
{
    const size_t there = from->n - *at;
    if (there < sizeof *head) {
        return 0;
    }
    memcpy(head, from->data + *at, sizeof *head);
    if (!makes_sense(head)) {
        return -1;
    }
    if (there - sizeof *head < head->n_bytes) {
        return 0;
    }
    *body = from->data + *at + sizeof *head;
    *at += sizeof *head + head->n_bytes;
    return 1;
}
