/* The batch's side of the pool: starts workers, hands out files, takes rows. */
#if defined(__linux__)
/* sched_getaffinity and the signal at a parent's death are Linux's own. */
#define _GNU_SOURCE /* NOLINT(bugprone-reserved-identifier) */
#endif

#include "src/batch/pool.h"

#include "src/base/bytes.h"
#include "src/base/csv.h"
#include "src/port/interrupt.h"
#include "src/port/steady.h"

#include <errno.h>
#include <fcntl.h>
#include <poll.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/socket.h>
#include <sys/wait.h>
#include <unistd.h>

#if defined(__linux__)
#include <sched.h>
#include <sys/prctl.h>
#endif

enum {
    TICK_MS = 200,
    READ_BYTES = 1 << 16,
    SEND_TRIES = 3,
    END_TRIES = 400
};

static const double END_PAUSE_S = 0.005;

/* One place for a worker. */
struct slot {
    pid_t pid; /* 0: none */
    int fd;
    bool busy;
    ledger_job job;
    double deadline_s;
    bytes in;
};

struct pool {
    const pool_config *config;
    const pool_hooks *hooks;
    struct slot *slot; /* slot[0..config->workers-1] */
    struct pollfd *poll;
    bool no_more; /* jobs */
};

int pool_processors(void)
{
#if defined(__linux__)
    cpu_set_t set;
    if (sched_getaffinity(0, sizeof set, &set) == 0) {
        return CPU_COUNT(&set) > 0 ? CPU_COUNT(&set) : 1;
    }
#endif
    const long n = sysconf(_SC_NPROCESSORS_ONLN);
    return n < 1 ? 1 : n > POOL_WORKERS_MAX ? POOL_WORKERS_MAX : (int)n;
}

/* ---- Processes ---- */

/* Ctrl-C reaches the whole group: only the parent acts on it. */
static void become_worker(pid_t parent)
{
    struct sigaction action = {.sa_handler = SIG_IGN};
    (void)sigemptyset(&action.sa_mask);
    (void)sigaction(SIGINT, &action, NULL);
    (void)sigaction(SIGHUP, &action, NULL);
    action.sa_handler = SIG_DFL;
    (void)sigaction(SIGTERM, &action, NULL);
    const struct rlimit no_core = {0, 0};
    (void)setrlimit(RLIMIT_CORE, &no_core);
    const int nowhere = open("/dev/null", O_RDWR);
    if (nowhere >= 0) {
        (void)dup2(nowhere, STDIN_FILENO);
        (void)dup2(nowhere, STDOUT_FILENO);
        if (nowhere > STDERR_FILENO) {
            (void)close(nowhere);
        }
    }
#if defined(__linux__)
    (void)prctl(PR_SET_PDEATHSIG, SIGKILL);
#endif
    if (getppid() != parent) {
        _exit(EXIT_FAILURE); /* it died before we could listen */
    }
}

static bool start_worker(const struct pool *p, struct slot *slot, app_err *err)
{
    int pair[2] = {-1, -1};
    const pid_t parent = getpid();
    (void)fflush(NULL);
    pid_t pid = -1;
    if (socketpair(AF_UNIX, SOCK_STREAM, 0, pair) == 0) {
        pid = fork();
    }
    if (pid == 0) {
        become_worker(parent);
        for (int i = 0; i < p->config->workers; i++) {
            if (p->slot[i].pid > 0) {
                (void)close(p->slot[i].fd);
            }
        }
        (void)close(pair[0]);
        worker_serve(pair[1], p->config);
    }
    const int failed = errno;
    if (pair[1] >= 0) {
        (void)close(pair[1]);
    }
    if (pid < 0) {
        if (pair[0] >= 0) {
            (void)close(pair[0]);
        }
        return app_err_set(err, APP_FAILED,
                           "cannot start a worker: %s; give fewer --jobs",
                           APP_CAUSE(failed));
    }
    (void)fcntl(pair[0], F_SETFD, FD_CLOEXEC);
    slot->pid = pid;
    slot->fd = pair[0];
    bytes_clear(&slot->in);
    return true;
}

/* Ends a worker and gives what waitpid says of it. */
static int end_worker(struct slot *slot, bool by_force)
{
    int status = 0;
    if (by_force) {
        (void)kill(slot->pid, SIGKILL);
    }
    (void)close(slot->fd);
    /* One that hangs in the system, on a disk that does not answer, is left behind. */
    for (int i = 0; i < END_TRIES && waitpid(slot->pid, &status, WNOHANG) == 0; i++) {
        steady_wait_s(END_PAUSE_S);
    }
    slot->pid = 0;
    slot->fd = -1;
    return status;
}

/* ---- Jobs ---- */

static void start_clock(const struct pool *p, struct slot *slot)
{
    slot->deadline_s = steady_now_s() + p->config->time_limit_s;
}

static bool send_job(struct pool *p, struct slot *slot, app_err *err)
{
    wire_order order;
    memset(&order, 0, sizeof order); /* no byte of ours goes out unset */
    order.expected = slot->job.expected;
    order.digest = slot->job.digest;
    for (int i = 0; i < SEND_TRIES; i++) {
        if (slot->pid == 0 && !start_worker(p, slot, err)) {
            return false;
        }
        if (wire_send_two(slot->fd, WIRE_JOB, &order, sizeof order, slot->job.path,
                          strlen(slot->job.path) + 1)) {
            start_clock(p, slot);
            return true;
        }
        (void)end_worker(slot, true); /* it died while it had nothing to do */
    }
    return app_err_set(err, APP_FAILED, "workers end as soon as they are started");
}

static void end_job(struct slot *slot)
{
    free(slot->job.path);
    slot->job = (ledger_job){0};
    slot->busy = false;
}

static int count_busy(const struct pool *p)
{
    int n = 0;
    for (int i = 0; i < p->config->workers; i++) {
        n += p->slot[i].busy;
    }
    return n;
}

/* Every idle place gets a file. Where no more processes can be had, fewer must do. */
static bool hand_out(struct pool *p, app_err *err)
{
    for (int i = 0; !p->no_more && i < p->config->workers; i++) {
        struct slot *const slot = &p->slot[i];
        if (slot->busy) {
            continue;
        }
        if (slot->pid == 0 && !start_worker(p, slot, err)) {
            if (count_busy(p) == 0) {
                return false;
            }
            *err = (app_err)APP_ERR_NONE;
            continue;
        }
        const int got = p->hooks->next(p->hooks->context, &slot->job, err);
        if (got < 0) {
            return false;
        }
        p->no_more = got == 0;
        slot->busy = got > 0;
        if (slot->busy && !send_job(p, slot, err)) {
            return false;
        }
    }
    return true;
}

/* The worker is gone: the file's one row says why. */
static bool give_up(struct pool *p,
                    struct slot *slot,
                    const char *code,
                    const char *reason,
                    app_err *err)
{
    const pool_hooks *const h = p->hooks;
    const wire_outcome outcome = {.error = true};
    bytes text = BYTES_NONE;
    pool_error_row(slot->job.path, code, reason, &text);
    const bool ok = (!text.failed || app_err_memory(err)) &&
                    h->restart(h->context, &slot->job, err) &&
                    h->rows(h->context, &slot->job, text.data, text.n, err) &&
                    h->done(h->context, &slot->job, &outcome, err);
    bytes_free(&text);
    end_job(slot);
    return ok;
}

static bool crashed(struct pool *p, struct slot *slot, app_err *err)
{
    char reason[160];
    const int status = end_worker(slot, true);
    const int number = WIFSIGNALED(status) ? WTERMSIG(status) : 0;
    if (!slot->busy) {
        return true;
    }
    if (number == SIGKILL) {
        (void)snprintf(reason, sizeof reason,
                       "the worker was killed while reading it (signal 9): memory may "
                       "have run out");
    } else {
        (void)snprintf(reason, sizeof reason,
                       "reading it broke the worker (signal %d): a fault of this "
                       "program; please report it with the file",
                       number);
    }
    return give_up(p, slot, "crash", reason, err);
}

/* ---- What workers say ---- */

static bool hear(struct pool *p,
                 struct slot *slot,
                 const wire_head *head,
                 const char *body,
                 app_err *err)
{
    const pool_hooks *const h = p->hooks;
    start_clock(p, slot);
    switch (head->type) {
    case WIRE_ROWS:
        return h->rows(h->context, &slot->job, body, head->n_bytes, err);
    case WIRE_RESTART:
        return h->restart(h->context, &slot->job, err);
    case WIRE_DONE:
        if (head->n_bytes == sizeof(wire_outcome)) {
            wire_outcome outcome;
            memcpy(&outcome, body, sizeof outcome);
            outcome.identity.beside[IDENTITY_BESIDE_BYTES - 1] = '\0';
            const bool ok = h->done(h->context, &slot->job, &outcome, err);
            end_job(slot);
            return ok;
        }
        return true;
    case WIRE_STOP:
        if (head->n_bytes == sizeof *err) {
            memcpy(err, body, sizeof *err);
            err->text[sizeof err->text - 1] = '\0';
        }
        return false;
    default:
        return true;
    }
}

/* Rows of a worker that was broken by its file may be anything. */
static bool is_sound(const wire_head *head, const char *body)
{
    char *fields[ROW_COLUMN_COUNT];
    bytes copy = BYTES_NONE;
    size_t used = 0;
    if (head->type != WIRE_ROWS) {
        return true;
    }
    bytes_add(&copy, body, head->n_bytes);
    const bool ok = !copy.failed &&
                    csv_split(copy.data, copy.n, fields, ROW_COLUMN_COUNT, &used) ==
                        ROW_COLUMN_COUNT &&
                    used == copy.n;
    bytes_free(&copy);
    return ok;
}

static bool listen_to(struct pool *p, struct slot *slot, app_err *err)
{
    char block[READ_BYTES];
    const ssize_t got = read(slot->fd, block, sizeof block);
    if (got <= 0) {
        return (got < 0 && (errno == EINTR || errno == EAGAIN)) ||
               crashed(p, slot, err);
    }
    bytes_add(&slot->in, block, (size_t)got);
    if (slot->in.failed) {
        return app_err_memory(err);
    }
    size_t at = 0;
    wire_head head;
    const char *body = NULL;
    int taken = 0;
    while (slot->busy && (taken = wire_take(&slot->in, &at, &head, &body)) > 0) {
        if (!is_sound(&head, body)) {
            return crashed(p, slot, err);
        }
        if (!hear(p, slot, &head, body, err)) {
            return false;
        }
    }
    const size_t left = slot->in.n - at;
    if (left > 0) {
        memmove(slot->in.data, slot->in.data + at, left);
    }
    slot->in.n = left;
    /* Words without sense, or without a job: the worker is broken. */
    return (taken >= 0 && (slot->busy || left == 0)) || crashed(p, slot, err);
}

static bool check_time(struct pool *p, app_err *err)
{
    const double now = steady_now_s();
    for (int i = 0; i < p->config->workers; i++) {
        struct slot *const slot = &p->slot[i];
        if (!slot->busy || now < slot->deadline_s) {
            continue;
        }
        char reason[160];
        (void)snprintf(reason, sizeof reason,
                       "nothing came of it in %g s, and it was given up; --time-limit "
                       "gives it longer",
                       p->config->time_limit_s);
        (void)end_worker(slot, true);
        if (!give_up(p, slot, "time_limit", reason, err)) {
            return false;
        }
    }
    return true;
}

static bool wait_and_listen(struct pool *p, app_err *err)
{
    const int n = p->config->workers;
    for (int i = 0; i < n; i++) {
        p->poll[i] = (struct pollfd){.fd = p->slot[i].pid > 0 ? p->slot[i].fd : -1,
                                     .events = POLLIN};
    }
    const int ready = poll(p->poll, (nfds_t)n, TICK_MS);
    if (ready < 0 && errno != EINTR) {
        return app_err_set(err, APP_FAILED, "cannot wait for workers: %s",
                           APP_CAUSE(errno));
    }
    for (int i = 0; ready > 0 && i < n; i++) {
        if (p->poll[i].revents != 0 && !listen_to(p, &p->slot[i], err)) {
            return false;
        }
    }
    return check_time(p, err);
}

static bool go_through(struct pool *p, app_err *err)
{
    while (interrupt_check(err) && hand_out(p, err)) {
        if (count_busy(p) == 0) {
            return true;
        }
        if (!wait_and_listen(p, err) || !p->hooks->tick(p->hooks->context, err)) {
            return false;
        }
    }
    return false;
}

bool pool_run(const pool_config *config, const pool_hooks *hooks, app_err *err)
{
    const size_t n = (size_t)config->workers;
    struct pool p = {.config = config, .hooks = hooks};
    p.slot = calloc(n, sizeof *p.slot);
    p.poll = calloc(n, sizeof *p.poll);
    if (p.slot == NULL || p.poll == NULL) {
        free(p.poll);
        free(p.slot);
        return app_err_memory(err);
    }
    const bool ok = go_through(&p, err);
    for (size_t i = 0; i < n; i++) {
        if (p.slot[i].pid > 0) {
            (void)end_worker(&p.slot[i], !ok);
        }
        end_job(&p.slot[i]);
        bytes_free(&p.slot[i].in);
    }
    free(p.poll);
    free(p.slot);
    return ok;
}
