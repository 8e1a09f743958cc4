#include "src/usecase/picture_file.h"

#include "src/port/file.h"
#include "src/port/picture_png.h"

#include <stdlib.h>
#include <string.h>
#include <strings.h>

enum {
    PNG_WIDTH_PX = 1440 /* 240 dots an inch where a picture is 150 mm wide */
};

typedef enum file_kind {
    KIND_NONE,
    KIND_SVG,
    KIND_PNG
} file_kind;

static file_kind kind_of(const char *path)
{
    const char *dot = strrchr(file_base_name(path), '.');
    if (dot != NULL && strcasecmp(dot, ".svg") == 0) {
        return KIND_SVG;
    }
    if (dot != NULL && strcasecmp(dot, ".png") == 0) {
        return KIND_PNG;
    }
    return KIND_NONE;
}

bool picture_file_check_name(const char *path, app_err *err)
{
    if (kind_of(path) != KIND_NONE) {
        return true;
    }
    return app_err_set(err, APP_USAGE,
                       "cannot tell what kind of picture %s is to be: end its name in "
                       ".svg or .png",
                       path);
}

bool picture_file_spares(const char *path, const char *input, app_err *err)
{
    return input == NULL || !file_is_same(path, input) ||
           app_err_set(
               err, APP_USAGE,
               "%s is what the picture is made from and would be lost; give the "
               "picture another name",
               path);
}

static bool write_svg(const char *svg, const char *path, bool force, app_err *err)
{
    if (svg == NULL) {
        return app_err_set(err, APP_FAILED, "cannot draw %s: out of memory", path);
    }
    const size_t n = strlen(svg);
    if (kind_of(path) == KIND_SVG) {
        return file_write(path, svg, n, force, err);
    }
    size_t n_png = 0;
    unsigned char *const png = picture_png_render(svg, n, PNG_WIDTH_PX, &n_png, err);
    const bool ok = png != NULL && file_write(path, png, n_png, force, err);
    free(png);
    return ok;
}

bool picture_file_write(char *svg, const char *path, bool force, app_err *err)
{
    const bool ok =
        picture_file_check_name(path, err) && write_svg(svg, path, force, err);
    free(svg);
    return ok;
}
