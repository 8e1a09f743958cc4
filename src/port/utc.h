/**
 * @file utc.h
 * The date and time of day, as documents keep it.
 */
#ifndef PORT_UTC_H
#define PORT_UTC_H

enum {
    UTC_BYTES = 21
};

/**
 * Now, as "2026-01-02T03:04:05Z".
 *
 * @param[out] out         out[0..UTC_BYTES-1]
 * @param[out] offset_min  local time is so far ahead of it; may be NULL
 */
void utc_now(char *out, int *offset_min);

/** Now by this person's clock, as the name of a file: "2026-01-02-030405". */
void utc_name_now(char out[UTC_BYTES]);

#endif
