#include "src/port/interrupt.h"

#include <signal.h>
#include <stddef.h>
#include <unistd.h>

static volatile sig_atomic_t asked;

static void on_signal(int number)
{
    (void)number;
    if (asked) {
        _exit(APP_INTERRUPTED);
    }
    asked = 1;
}

void interrupt_install(void)
{
    struct sigaction action = {.sa_handler = on_signal};
    (void)sigemptyset(&action.sa_mask);
    (void)sigaction(SIGINT, &action, NULL);
    (void)sigaction(SIGTERM, &action, NULL);
    struct sigaction hangup;
    /* Started with nohup: a hang-up is to be ignored. */
    if (sigaction(SIGHUP, NULL, &hangup) == 0 && hangup.sa_handler != SIG_IGN) {
        (void)sigaction(SIGHUP, &action, NULL);
    }
    action.sa_handler = SIG_IGN;
    (void)sigaction(SIGXFSZ, &action, NULL);
}

bool interrupt_asked(void)
{
    return asked != 0;
}

bool interrupt_check(app_err *err)
{
    return !interrupt_asked() || app_err_set(err, APP_INTERRUPTED, "stopped");
}
