/*
 * Another microphone in the place of ours.
 *   Source:    none; the files are written as ALSA's kernel part writes them (from memory): the first
 *              line is "closed", or "state: RUNNING".
 *   Input:     a folder made here that stands in for the kernel's.
 */
#include "src/capture/hardware_watch.h"

#include "tests/support.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static char root[] = "/tmp/fullminute-asound-XXXXXX";

static void path_of(int card, char kind, char out[128])
{
    (void)snprintf(out, 128, "%s/card%d/pcm0%c/sub0/status", root, card, kind);
}

static void make_folders(int card, char kind)
{
    char path[128];
    (void)snprintf(path, sizeof path, "%s/card%d", root, card);
    (void)mkdir(path, 0700);
    (void)snprintf(path, sizeof path, "%s/card%d/pcm0%c", root, card, kind);
    (void)mkdir(path, 0700);
    (void)snprintf(path, sizeof path, "%s/card%d/pcm0%c/sub0", root, card, kind);
    (void)mkdir(path, 0700);
}

static void set(int card, char kind, const char *text)
{
    char path[128];
    make_folders(card, kind);
    path_of(card, kind, path);
    FILE *const file = fopen(path, "w");
    assert_non_null(file);
    (void)fputs(text, file);
    (void)fclose(file);
}

static void pull(int card)
{
    char path[128];
    path_of(card, 'c', path);
    (void)unlink(path);
}

static const char RUNNING[] = "state: RUNNING\nowner_pid   : 812\n";

/* All at rest, cards 0 and 1 record, card 0 plays. */
static hardware_watch begin(void)
{
    hardware_watch w;
    set(0, 'c', "closed\n");
    set(1, 'c', "closed\n");
    set(0, 'p', RUNNING);
    hardware_watch_init(&w, root);
    return w;
}

/* Looks from from_s on, often; how many seconds until it is lost, -1: not within a minute. */
static double lost_after(hardware_watch *w, double from_s)
{
    for (double t = 0.0; t < 60.0; t += 0.02) {
        if (hardware_watch_is_lost(w, from_s + t)) {
            return t;
        }
    }
    return -1.0;
}

static void a_card_that_is_pulled_out_is_lost_within_two_seconds(void **state)
{
    (void)state;
    hardware_watch w = begin();
    set(1, 'c', RUNNING);
    assert_within(lost_after(&w, 100.0), -1.0, 1e-9);
    pull(1);
    set(0, 'c', RUNNING); /* the server goes on with the built-in microphone */
    const double after_s = lost_after(&w, 200.0);
    assert_true(after_s >= 0.9 && after_s <= 2.0);
    set(1, 'c', RUNNING); /* plugged in again: what was lost stays lost */
    assert_true(hardware_watch_is_lost(&w, 300.0));
}

static void another_choice_in_the_settings_is_seen_once_the_old_card_rests(void **state)
{
    (void)state;
    hardware_watch w = begin();
    set(1, 'c', RUNNING);
    assert_within(lost_after(&w, 100.0), -1.0, 1e-9);
    set(0, 'c', RUNNING);
    assert_within(lost_after(&w, 200.0), -1.0, 1e-9);
    set(1, 'c', "closed\n");
    assert_true(lost_after(&w, 300.0) >= 0.0);
}

static void a_card_that_starts_again_is_not_lost(void **state)
{
    (void)state;
    hardware_watch w = begin();
    set(1, 'c', RUNNING);
    assert_false(hardware_watch_is_lost(&w, 100.0));
    for (int k = 0; k < 20; k++) {
        set(1, 'c', k % 3 == 2 ? RUNNING : "state: XRUN\n");
        assert_false(hardware_watch_is_lost(&w, 101.0 + k));
    }
}

/* Another program's card, two that began at once, none at all: it is not known which is ours. */
static void what_is_not_known_to_be_ours_is_never_lost(void **state)
{
    (void)state;
    set(1, 'c', RUNNING);
    set(0, 'c', "closed\n");
    hardware_watch w;
    hardware_watch_init(&w, root);
    assert_within(lost_after(&w, 100.0), -1.0, 1e-9);
    pull(1);
    assert_within(lost_after(&w, 200.0), -1.0, 1e-9);

    w = begin();
    set(0, 'c', RUNNING);
    set(1, 'c', RUNNING);
    assert_false(hardware_watch_is_lost(&w, 100.0));
    pull(1);
    set(0, 'c', "closed\n");
    assert_within(lost_after(&w, 200.0), -1.0, 1e-9);

    hardware_watch_init(&w, "/tmp/fullminute-no-such-folder");
    assert_within(lost_after(&w, 100.0), -1.0, 1e-9);
}

/* An output that plays is no input: card 0 plays from the beginning of every test here. */
static void what_plays_does_not_count(void **state)
{
    (void)state;
    hardware_watch w = begin();
    set(1, 'p', RUNNING);
    set(1, 'c', RUNNING);
    assert_false(hardware_watch_is_lost(&w, 100.0));
    set(1, 'p', "closed\n");
    assert_within(lost_after(&w, 101.0), -1.0, 1e-9);
    pull(1);
    assert_true(lost_after(&w, 200.0) >= 0.0);
}

static int make_root(void **state)
{
    (void)state;
    return mkdtemp(root) != NULL ? 0 : 1;
}

static int remove_root(void **state)
{
    (void)state;
    char command[160];
    (void)snprintf(command, sizeof command, "rm -rf '%s'", root);
    return system(
        command); /* NOLINT(cert-env33-c,concurrency-mt-unsafe): a test's folder */
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_card_that_is_pulled_out_is_lost_within_two_seconds),
        cmocka_unit_test(
            another_choice_in_the_settings_is_seen_once_the_old_card_rests),
        cmocka_unit_test(a_card_that_starts_again_is_not_lost),
        cmocka_unit_test(what_is_not_known_to_be_ours_is_never_lost),
        cmocka_unit_test(what_plays_does_not_count),
    };
    return cmocka_run_group_tests(tests, make_root, remove_root);
}
