/**
 * @file picture_png.h
 * From SVG text to a PNG picture, through the module that holds the renderer. The
 * module is loaded at the first call, so that a run which draws no PNG pays nothing for
 * it.
 *
 * Measured on Debian 12 (librsvg 2.54.7): an empty program linked to librsvg starts in
 * 5.1 ms with 10.8 MB resident, without it in 0.6 ms with 1.0 MB.
 */
#ifndef PORT_PICTURE_PNG_H
#define PORT_PICTURE_PNG_H

#include "src/base/error.h"

#include <stddef.h>

/**
 * Looks for the module beside the program, then one folder up, then where it is
 * installed.
 *
 * @param svg          svg[0..n-1], SVG text
 * @param width_px     1..20000; the height follows
 * @param[out] n_png   bytes returned
 * @return PNG bytes, to be freed with free(); NULL with err APP_FAILED: module missing
 *         or unfit, text that is no SVG, no memory
 */
unsigned char *picture_png_render(
    const char *svg, size_t n, int width_px, size_t *n_png, app_err *err);

#endif
