#include "src/png/png_module.h"

#include <cairo.h>
#include <librsvg/rsvg.h>
#include <stdio.h>

typedef struct sink_call {
    png_module_sink *sink;
    void *context;
} sink_call;

static cairo_status_t pass_on(void *closure, const unsigned char *bytes, unsigned n)
{
    const sink_call *call = closure;
    return call->sink(call->context, bytes, n) == 0 ? CAIRO_STATUS_SUCCESS
                                                    : CAIRO_STATUS_WRITE_ERROR;
}

static int say(char *why, size_t why_bytes, const char *text)
{
    (void)snprintf(why, why_bytes, "%s", text);
    return 1;
}

/* Draw the picture on a white surface of its own proportions. */
static cairo_surface_t *paint(RsvgHandle *handle, int width_px, GError **error)
{
    gboolean has_box = FALSE;
    RsvgRectangle box = {0, 0, 0, 0};
    rsvg_handle_get_intrinsic_dimensions(handle, NULL, NULL, NULL, NULL, &has_box,
                                         &box);
    if (!has_box || !(box.width > 0.0) || !(box.height > 0.0)) {
        return NULL;
    }
    const double height = box.height / box.width * width_px;
    if (!(height >= 1.0) || !(height <= 32000.0)) { /* cairo's images end at 32767 */
        return NULL;
    }
    cairo_surface_t *surface =
        cairo_image_surface_create(CAIRO_FORMAT_RGB24, width_px, (int)(height + 0.5));
    cairo_t *cr = cairo_create(surface);
    cairo_set_source_rgb(cr, 1.0, 1.0, 1.0);
    cairo_paint(cr);
    const RsvgRectangle view = {0, 0, width_px, height};
    const gboolean drawn = rsvg_handle_render_document(handle, cr, &view, error);
    const cairo_status_t status = cairo_status(cr);
    cairo_destroy(cr);
    if (!drawn || status != CAIRO_STATUS_SUCCESS) {
        cairo_surface_destroy(surface);
        return NULL;
    }
    return surface;
}

static int write_png(cairo_surface_t *surface,
                     sink_call *call,
                     char *why,
                     size_t why_bytes)
{
    const cairo_status_t status =
        cairo_surface_write_to_png_stream(surface, pass_on, call);
    if (status != CAIRO_STATUS_SUCCESS) {
        return say(why, why_bytes, cairo_status_to_string(status));
    }
    return 0;
}

int fullminute_png_render_1(const char *svg,
                            size_t n,
                            int width_px,
                            png_module_sink *sink,
                            void *context,
                            char *why,
                            size_t why_bytes)
{
    sink_call call = {sink, context};
    int failed = 1;
    GError *error = NULL;
    cairo_surface_t *surface = NULL;
    RsvgHandle *handle = rsvg_handle_new_from_data((const guint8 *)svg, n, &error);
    if (handle == NULL) {
        (void)say(why, why_bytes,
                  error != NULL ? error->message : "not an SVG picture");
        goto out;
    }
    surface = paint(handle, width_px, &error);
    if (surface == NULL) {
        (void)say(why, why_bytes,
                  error != NULL ? error->message : "cannot draw that size");
        goto out;
    }
    failed = write_png(surface, &call, why, why_bytes);
out:
    if (surface != NULL) {
        cairo_surface_destroy(surface);
    }
    if (handle != NULL) {
        g_object_unref(handle);
    }
    if (error != NULL) {
        g_error_free(error);
    }
    return failed;
}
