#include "src/command/live_keys.h"

#include "src/host/steady.h"

#include <errno.h>
#include <poll.h>
#include <pthread.h>
#include <signal.h>
#include <stdlib.h>
#include <termios.h>
#include <unistd.h>

enum {
    KEPT = 4096,
    READ_BYTES = 256,
    ESCAPE = 27,
    N_SIGNALS = 9
};

struct live_keys {
    pthread_t thread;
    pthread_mutex_t lock;
    pthread_cond_t came;
    int stop[2]; /* a byte in it ends the thread */
    live_key kept[KEPT];
    size_t first, n;
};

/* The terminal as it was, for whoever ends the program. */
static struct termios before;
static volatile sig_atomic_t raw;
static int screen_fd = STDERR_FILENO; /* the terminal to write on */
static const int SIGNALS[N_SIGNALS] = {SIGINT,  SIGTERM, SIGHUP, SIGQUIT, SIGABRT,
                                       SIGSEGV, SIGBUS,  SIGFPE, SIGILL};
static struct sigaction old_actions[N_SIGNALS];

/* Safe in a signal's handler. */
static void give_back(void)
{
    if (raw != 0) {
        static const char SHOW[] = "\033[?25h\033[?1049l";
        (void)tcsetattr(STDIN_FILENO, TCSANOW, &before);
        if (write(screen_fd, SHOW, sizeof SHOW - 1) < 0) {
            return; /* a terminal that has gone needs nothing */
        }
    }
}

static void on_signal(int number)
{
    static volatile sig_atomic_t seen;
    int i = 0;
    while (i < N_SIGNALS && SIGNALS[i] != number) {
        i++;
    }
    const bool gentle = i < 3 && old_actions[i].sa_handler != SIG_DFL &&
                        old_actions[i].sa_handler != SIG_IGN;
    if (gentle && seen == 0) {
        seen = 1;
        old_actions[i].sa_handler(number); /* asks the work to stop */
        return;
    }
    give_back();
    if (gentle) {
        old_actions[i].sa_handler(number);
    }
    struct sigaction plain = {.sa_handler = SIG_DFL};
    (void)sigaction(number, &plain, NULL);
    (void)raise(number);
}

static void go_raw(int screen)
{
    struct termios now;
    if (isatty(STDIN_FILENO) != 1 || isatty(screen) != 1 ||
        tcgetattr(STDIN_FILENO, &before) != 0) {
        return;
    }
    now = before;
    now.c_lflag &= ~(tcflag_t)(ICANON | ECHO);
    now.c_iflag &= ~(tcflag_t)(ICRNL | IXON);
    now.c_cc[VMIN] = 1;
    now.c_cc[VTIME] = 0;
    now.c_cc[VSUSP] = _POSIX_VDISABLE; /* a stopped program would lose the minute */
    if (tcsetattr(STDIN_FILENO, TCSANOW, &now) != 0) {
        return;
    }
    screen_fd = screen;
    raw = 1;
    (void)atexit(give_back);
    struct sigaction action = {.sa_handler = on_signal};
    (void)sigemptyset(&action.sa_mask);
    for (int i = 0; i < N_SIGNALS; i++) {
        (void)sigaction(SIGNALS[i], &action, &old_actions[i]);
        if (old_actions[i].sa_handler == SIG_IGN) {
            (void)sigaction(SIGNALS[i], &old_actions[i], NULL);
        }
    }
}

static void keep(live_keys *k, int byte, double at_s)
{
    (void)pthread_mutex_lock(&k->lock);
    if (k->n < KEPT) {
        k->kept[(k->first + k->n++) % KEPT] = (live_key){byte, at_s};
    }
    (void)pthread_cond_signal(&k->came);
    (void)pthread_mutex_unlock(&k->lock);
}

/* What begins with Escape: ESC [ C or ESC O C is the right arrow, D the left one; held
   down, several come at once. Anything else is one key of no meaning. */
static void keep_escape(live_keys *k,
                        const unsigned char *bytes,
                        ssize_t n,
                        double at_s)
{
    enum {
        ARROW_BYTES = 3
    };
    ssize_t i = 0;
    while (i + ARROW_BYTES <= n && bytes[i] == ESCAPE &&
           (bytes[i + 1] == '[' || bytes[i + 1] == 'O') &&
           (bytes[i + 2] == 'C' || bytes[i + 2] == 'D')) {
        keep(k, bytes[i + 2] == 'C' ? LIVE_KEY_RIGHT : LIVE_KEY_LEFT, at_s);
        i += ARROW_BYTES;
    }
    if (i == 0) {
        keep(k, LIVE_KEY_OTHER, at_s);
    }
}

static void *read_keys(void *context)
{
    live_keys *const k = context;
    struct pollfd wait[2] = {{.fd = STDIN_FILENO, .events = POLLIN},
                             {.fd = k->stop[0], .events = POLLIN}};
    for (;;) {
        unsigned char bytes[READ_BYTES];
        if (poll(wait, 2, -1) < 0 && errno != EINTR) {
            break;
        }
        if (wait[1].revents != 0) {
            return NULL;
        }
        if (wait[0].revents == 0) {
            continue;
        }
        const ssize_t n = read(STDIN_FILENO, bytes, sizeof bytes);
        const double at_s = steady_now_s();
        if (n == 0 || (n < 0 && errno != EINTR && errno != EAGAIN)) {
            break;
        }
        if (n > 1 && bytes[0] == ESCAPE) {
            keep_escape(k, bytes, n, at_s);
            continue;
        }
        for (ssize_t i = 0; i < n; i++) {
            keep(k, bytes[i], at_s);
        }
    }
    keep(k, LIVE_KEY_END, steady_now_s());
    return NULL;
}

/* Signals are for the main thread. */
static bool start_thread(live_keys *k)
{
    sigset_t all;
    sigset_t kept;
    (void)sigfillset(&all);
    (void)pthread_sigmask(SIG_SETMASK, &all, &kept);
    const bool ok = pthread_create(&k->thread, NULL, read_keys, k) == 0;
    (void)pthread_sigmask(SIG_SETMASK, &kept, NULL);
    return ok;
}

live_keys *live_keys_open(int screen, app_err *err)
{
    live_keys *const k = calloc(1, sizeof *k);
    if (k == NULL || pipe(k->stop) != 0) {
        free(k);
        (void)app_err_set(err, APP_FAILED, "cannot read keys: no memory or no pipe");
        return NULL;
    }
    (void)pthread_mutex_init(&k->lock, NULL);
    (void)steady_cond_init(&k->came);
    go_raw(screen);
    if (!start_thread(k)) {
        give_back();
        raw = 0;
        (void)close(k->stop[0]);
        (void)close(k->stop[1]);
        free(k);
        (void)app_err_set(err, APP_FAILED, "cannot read keys: no thread");
        return NULL;
    }
    return k;
}

bool live_keys_raw(const live_keys *k)
{
    (void)k;
    return raw != 0;
}

size_t live_keys_take(live_keys *k, live_key *out, size_t max, double timeout_s)
{
    size_t n = 0;
    (void)pthread_mutex_lock(&k->lock);
    if (k->n == 0 && timeout_s > 0.0) {
        steady_wait_for(&k->came, &k->lock, timeout_s);
    }
    while (n < max && k->n > 0) {
        out[n++] = k->kept[k->first];
        k->first = (k->first + 1) % KEPT;
        k->n--;
    }
    (void)pthread_mutex_unlock(&k->lock);
    return n;
}

void live_keys_close(live_keys *k)
{
    if (k == NULL) {
        return;
    }
    if (write(k->stop[1], "", 1) == 1) {
        (void)pthread_join(k->thread, NULL);
    }
    if (raw != 0) {
        give_back();
        raw = 0;
        for (int i = 0; i < N_SIGNALS; i++) {
            (void)sigaction(SIGNALS[i], &old_actions[i], NULL);
        }
    }
    (void)close(k->stop[0]);
    (void)close(k->stop[1]);
    (void)pthread_cond_destroy(&k->came);
    (void)pthread_mutex_destroy(&k->lock);
    free(k);
}
