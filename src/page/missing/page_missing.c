/* Built without the page. */
#include "src/page/page.h"

int page_serve(const page_options *o, app_err *err)
{
    (void)o;
    (void)app_err_set(
        err, APP_FAILED,
        "this fullminute was built without the page; install libmicrohttpd, "
        "libqrencode, nodejs and npm with their header files and build it "
        "again without -DPAGE=OFF");
    return err->code;
}
