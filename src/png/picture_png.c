#include "src/port/picture_png.h"

#include "src/base/bytes.h"
#include "src/png/png_module.h"
#include "src/port/home.h"

#include <dlfcn.h>
#include <limits.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum {
    WIDTH_MAX_PX = 20000
};

static int collect(void *context, const unsigned char *piece, size_t n)
{
    bytes *const png = context;
    bytes_add(png, piece, n);
    return png->failed;
}

static void *open_at(const char *folder, const char *inner)
{
    char path[2 * PATH_MAX];
    const int n =
        snprintf(path, sizeof path, "%s/%s%s", folder, inner, PNG_MODULE_FILE);
    if (n < 0 || (size_t)n >= sizeof path || access(path, R_OK) != 0) {
        return NULL;
    }
    return dlopen(path, RTLD_NOW | RTLD_LOCAL);
}

/* Never closed: the libraries behind it do not like to be unloaded. */
static void *open_module(void)
{
    char *const folder = home_of_program();
    void *module = NULL;
    if (folder != NULL) {
        module = open_at(folder, "");
        if (module == NULL) {
            module = open_at(folder, "../");
        }
        if (module == NULL) {
            module = open_at(folder, "../" FM_MODULE_LIBDIR "/fullminute/");
        }
    }
    if (module == NULL) {
        module = open_at(FM_MODULE_FULL_LIBDIR, "fullminute/");
    }
    free(folder);
    return module;
}

#if defined(__SANITIZE_ADDRESS__)
#define WITH_ADDRESS_SANITIZER
#elif defined(__has_feature)
#if __has_feature(address_sanitizer)
#define WITH_ADDRESS_SANITIZER
#endif
#endif

#ifdef WITH_ADDRESS_SANITIZER
/* Fontconfig, behind the module, keeps its fonts to the end of the process. */
const char *__lsan_default_suppressions(void);

const char *__lsan_default_suppressions(void)
{
    return "leak:libfontconfig\n";
}
#endif

unsigned char *picture_png_render(
    const char *svg, size_t n, int width_px, size_t *n_png, app_err *err)
{
    if (width_px < 1 || width_px > WIDTH_MAX_PX) {
        app_err_set(err, APP_FAILED, "cannot draw a PNG %d px wide", width_px);
        return NULL;
    }
    void *module = open_module();
    void *symbol = module != NULL ? dlsym(module, PNG_MODULE_SYMBOL) : NULL;
    if (symbol == NULL) {
        app_err_set(
            err, APP_FAILED,
            "cannot draw a PNG: the part that does it, " PNG_MODULE_FILE
            ", is not installed or does not load here; write a picture that ends "
            "in .svg instead");
        return NULL;
    }
    png_module_render *render = NULL;
    memcpy(&render, &symbol, sizeof render); /* POSIX: an object pointer holds it */
    bytes png = BYTES_NONE;
    char why[256] = "";
    if (render(svg, n, width_px, collect, &png, why, sizeof why) != 0) {
        bytes_free(&png);
        app_err_set(err, APP_FAILED, "cannot draw a PNG: %s", why);
        return NULL;
    }
    return (unsigned char *)bytes_take(&png, n_png);
}
