#include "src/usecase/blind.h"

#include "dsp/signal/random.h"
#include "src/port/file.h"
#include "src/port/steady.h"

#include <stdint.h>
#include <stdio.h>
#include <string.h>

enum {
    NUMBER_LEAST = 10000,
    NUMBERS = 90000 /* five digits: of fifty names two meet once in seventy times */
};

/* FNV-1a, 64 bit (Fowler, Noll, Vo; RFC 9923), then mixed once more for its low digits. */
static const uint64_t FNV_BASIS = 0xcbf29ce484222325U;
static const uint64_t FNV_PRIME = 0x100000001b3U;

int blind_number(const char *path)
{
    const char *const name = file_base_name(path);
    const char *const dot = strrchr(name, '.');
    uint64_t mixed = FNV_BASIS;
    for (const char *c = name; *c != '\0' && (c != dot || c == name); c++) {
        mixed = (mixed ^ (unsigned char)*c) * FNV_PRIME;
    }
    return NUMBER_LEAST + (int)(fm_random_splitmix(&mixed) % NUMBERS);
}

const char *blind_name(const char *path, char out[BLIND_NAME_BYTES])
{
    (void)snprintf(out, BLIND_NAME_BYTES, "Recording %d", blind_number(path));
    return out;
}

int blind_find(const char *const *paths, int n, int number, app_err *err)
{
    int found = -1;
    int n_found = 0;
    for (int i = 0; i < n; i++) {
        if (blind_number(paths[i]) == number) {
            found = i;
            n_found++;
        }
    }
    if (n_found != 1) {
        (void)app_err_set(err, APP_USAGE,
                          n_found == 0
                              ? "check the number: no recording that was named "
                                "has number %d"
                              : "name fewer recordings: more than one has number "
                                "%d",
                          number);
    }
    return n_found == 1 ? found : -1;
}

int blind_any(int n)
{
    fm_random dice = fm_random_init((uint64_t)(1e9 * steady_now_s()), 0x626c);
    return (int)(fm_random_next(&dice) % (unsigned)n);
}
