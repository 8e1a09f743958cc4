/**
 * @file png_module.h
 * The one function of the PNG module, fullminute_png: what the program looks for when it
 * has loaded it.
 */
#ifndef SRC_PNG_PNG_MODULE_H
#define SRC_PNG_PNG_MODULE_H

#include <stddef.h>

#define PNG_MODULE_FILE "fullminute_png.so"
#define PNG_MODULE_SYMBOL                                                              \
    "fullminute_png_render_1" /**< the number: of this interface */

/** Takes the next n PNG bytes. @return 0; anything else stops the render */
typedef int png_module_sink(void *context, const unsigned char *bytes, size_t n);

/**
 * Renders svg[0..n-1], white ground, width_px wide, and hands the PNG to the sink.
 *
 * @param[out] why        why[0..why_bytes-1], a clause for a person on failure
 * @return 0; 1 on failure
 */
typedef int png_module_render(const char *svg,
                              size_t n,
                              int width_px,
                              png_module_sink *sink,
                              void *context,
                              char *why,
                              size_t why_bytes);

/** As above. */
png_module_render fullminute_png_render_1;

#endif
