#include "src/page/page_qr.h"

#include "src/base/bytes.h"

#include <qrencode.h>
#include <stddef.h>
#include <stdio.h>

enum {
    QUIET = 4, /* ISO/IEC 18004: four modules of white around */
    PIECE_BYTES = 160
};

char *page_qr_draw(const char *text)
{
    QRcode *const code = QRcode_encodeString8bit(text, 0, QR_ECLEVEL_M);
    bytes out = BYTES_NONE;
    char piece[PIECE_BYTES];
    if (code == NULL) {
        return NULL;
    }
    const int side = code->width + 2 * QUIET;
    (void)snprintf(piece, sizeof piece,
                   "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 %d %d\">"
                   "<path fill=\"#fff\" d=\"M0 0h%dv%dH0z\"/><path fill=\"#000\" d=\"",
                   side, side, side, side);
    bytes_add_text(&out, piece);
    for (int y = 0; y < code->width; y++) {
        for (int x = 0; x < code->width; x++) {
            if ((code->data[y * code->width + x] & 1) != 0) {
                (void)snprintf(piece, sizeof piece, "M%d %dh1v1h-1z", x + QUIET,
                               y + QUIET);
                bytes_add_text(&out, piece);
            }
        }
    }
    bytes_add_text(&out, "\"/></svg>");
    QRcode_free(code);
    if (out.failed) {
        bytes_free(&out);
        return NULL;
    }
    return out.data;
}
