/* page: the whole program in a browser of this computer. */
#include "src/command/command.h"
#include "src/page/page.h"

#include <stddef.h>

static const option_spec OPTIONS[] = {
    {"port", OPTION_WHOLE, "N", "the port to listen on (default: one that is free)", 1,
     65535, NULL},
    {"no-open", OPTION_FLAG, NULL, "print the address and open no browser", 0, 0, NULL},
    {"recordings", OPTION_TEXT, "DIR",
     "a folder of recordings to listen to and practise on (default: the composed ones "
     "that come with fullminute)",
     0, 0, NULL},
    {"logbook", OPTION_TEXT, "FILE",
     "the logbook (default: your own, see 'fullminute logbook --help')", 0, 0, NULL},
    {"share", OPTION_FLAG, NULL,
     "allow a shared minute: while you hold one, phones on the local network can join",
     0, 0, NULL},
    {"address", OPTION_TEXT, "A.B.C.D",
     "with --share: this computer's address on that network (default: found)", 0, 0,
     NULL},
    {NULL, OPTION_FLAG, NULL, NULL, 0, 0, NULL},
};

static int run(const options *o, app_err *err)
{
    const page_options page = {.port = (int)options_whole(o, "port", 0),
                               .open = !options_given(o, "no-open"),
                               .recordings = options_text(o, "recordings", NULL),
                               .logbook = options_text(o, "logbook", NULL),
                               .share = options_given(o, "share"),
                               .address = options_text(o, "address", NULL)};
    if (page.address != NULL && !page.share) {
        return !app_err_set(err, APP_USAGE, "--address goes with --share");
    }
    return page_serve(&page, err);
}

const struct command command_page = {
    .name = "page",
    .summary = "Open the local page: count, listen, logbook and shared minute",
    .usage = "[options]",
    .details =
        "Everything in one page of your own browser, served by this program on this\n"
        "computer alone and without the internet. The address it prints holds a "
        "secret\n"
        "that lasts until the program ends: nobody without it gets an answer. Ctrl-C\n"
        "ends it. A shared minute is off unless --share is given, opens the local\n"
        "network only while it is held, and keeps no names.\n",
    .options = OPTIONS,
    .min_operands = 0,
    .max_operands = 0,
    .exits = NULL,
    .run = run,
};
