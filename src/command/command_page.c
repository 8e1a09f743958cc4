/* page: the whole program in a browser of this computer. */
#include "src/command/command.h"
#include "src/page/page.h"

#include <stddef.h>

static const option_spec OPTIONS[] = {
    {"port", "N", OPTION_NUMBER(page_options, port, 1, 65535),
     "the port to listen on (default: one that is free)"},
    {"no-open", NULL, OPTION_FLAG(page_options, open),
     "print the address and open no browser"},
    {"recordings", "DIR", OPTION_TEXT(page_options, recordings),
     "a folder of recordings to listen to and practise on (default: the composed ones "
     "that come with fullminute)"},
    {"logbook", "FILE", OPTION_TEXT(page_options, logbook),
     "the logbook (default: your own, see 'fullminute logbook --help')"},
    {"share", NULL, OPTION_FLAG(page_options, share),
     "allow a shared minute: while you hold one, phones on the local network can join"},
    {"address", "A.B.C.D", OPTION_TEXT(page_options, address),
     "with --share: this computer's address on that network (default: found)"},
    OPTIONS_END,
};

static int run(const options *o, app_err *err)
{
    page_options page = {.open = true};
    if (!options_fill(o, &page, err)) {
        return APP_USAGE;
    }
    if (page.address != NULL && !page.share) {
        return !app_err_set(err, APP_USAGE, "--address goes with --share");
    }
    return page_serve(&page, err);
}

static const char DETAILS[] =
    "Everything in one page of your own browser, served by this program on this\n"
    "computer alone and without the internet. The address it prints holds a secret\n"
    "that lasts until the program ends: nobody without it gets an answer. Ctrl-C\n"
    "ends it. A shared minute is off unless --share is given, opens the local\n"
    "network only while it is held, and keeps no names.\n";

const struct command command_page = {
    .name = "page",
    .summary = "Open the local page: count, listen, logbook and shared minute",
    .usage = "[options]",
    .details = DETAILS,
    .options = OPTIONS,
    .run = run,
};
