#include "src/sound/sound_format.h"

#include <ctype.h>
#include <string.h>

/* Leading bytes of formats that phones, players and people put in the way. From the
 * formats' public descriptions: ISO/IEC 14496-12 (ftyp), RFC 4867 (AMR), RFC 8794
 * (EBML), Microsoft ASF, ISO/IEC 13818-7 (ADTS), RFC 1952, PNG, JPEG, PDF, ZIP. */
struct signature {
    size_t offset;
    size_t n;
    const char *bytes;
    sound_kind kind;
    const char *name;
};

static const struct signature SIGNATURES[] = {
    {4, 8, "ftypM4A ", SOUND_KIND_SOUND, "MPEG-4 audio (m4a)"},
    {4, 8, "ftypM4B ", SOUND_KIND_SOUND, "MPEG-4 audio book (m4b)"},
    {4, 7, "ftyp3gp", SOUND_KIND_SOUND, "3GPP phone recording (3gp)"},
    {4, 7, "ftyp3g2", SOUND_KIND_SOUND, "3GPP2 phone recording (3g2)"},
    {4, 8, "ftypqt  ", SOUND_KIND_SOUND, "QuickTime film (mov)"},
    {4, 4, "ftyp", SOUND_KIND_SOUND, "MPEG-4 film or sound (mp4)"},
    {4, 4, "moov", SOUND_KIND_SOUND, "QuickTime film (mov)"},
    {0, 9, "#!AMR-WB\n", SOUND_KIND_SOUND, "AMR wide-band phone recording (awb)"},
    {0, 6, "#!AMR\n", SOUND_KIND_SOUND, "AMR phone recording (amr)"},
    {0, 5, "#!AMR", SOUND_KIND_SOUND, "AMR phone recording (amr)"},
    {0, 4, "\x1a\x45\xdf\xa3", SOUND_KIND_SOUND, "Matroska or WebM (webm, mka, mkv)"},
    {0, 4, "\x30\x26\xb2\x75", SOUND_KIND_SOUND, "Windows Media (wma, asf)"},
    {0, 4, "ADIF", SOUND_KIND_SOUND, "AAC (aac)"},
    {0, 2, "\xff\xf1", SOUND_KIND_SOUND, "AAC (aac)"},
    {0, 2, "\xff\xf9", SOUND_KIND_SOUND, "AAC (aac)"},
    {0, 4, "MAC ", SOUND_KIND_SOUND, "Monkey's Audio (ape)"},
    {0, 4, "wvpk", SOUND_KIND_SOUND, "WavPack (wv)"},
    {0, 4, "DSD ", SOUND_KIND_SOUND, "DSD stream (dsf)"},
    {0, 4, "TTA1", SOUND_KIND_SOUND, "True Audio (tta)"},
    {0, 4, ".RMF", SOUND_KIND_SOUND, "RealMedia (rm)"},
    {0, 4, "FLV\x01", SOUND_KIND_SOUND, "Flash video (flv)"},
    {0, 4, "OggS", SOUND_KIND_SOUND, "Ogg, but not with a codec this program reads"},
    {0, 4, "caff", SOUND_KIND_SOUND, "Core Audio (caf), compressed or cut short"},
    {8, 4, "AVI ", SOUND_KIND_SOUND, "AVI film (avi)"},
    {8, 4, "AIFC", SOUND_KIND_SOUND, "compressed AIFF (aifc)"},
    {0, 4, "MThd", SOUND_KIND_OTHER, "a MIDI score, which holds no sound"},
    {0, 4, "%PDF", SOUND_KIND_OTHER, "a PDF document"},
    {0, 4, "PK\x03\x04", SOUND_KIND_OTHER, "a ZIP archive or office document"},
    {0, 2, "\x1f\x8b", SOUND_KIND_OTHER, "a gzip archive"},
    {0, 6, "7z\xbc\xaf\x27\x1c", SOUND_KIND_OTHER, "a 7z archive"},
    {0, 4, "\x89PNG", SOUND_KIND_OTHER, "a PNG picture"},
    {0, 3, "\xff\xd8\xff", SOUND_KIND_OTHER, "a JPEG picture"},
    {0, 4, "GIF8", SOUND_KIND_OTHER, "a GIF picture"},
    {0, 15, "SQLite format 3", SOUND_KIND_OTHER, "an SQLite database"},
    {0, 4,
     "\x7f"
     "ELF",
     SOUND_KIND_OTHER, "a program"},
};

static bool looks_like_text(const unsigned char *head, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        if (head[i] < 0x80U && !isprint(head[i]) && !isspace(head[i])) {
            return false;
        }
    }
    return n > 0;
}

sound_format sound_format_guess(const unsigned char *head, size_t n)
{
    for (size_t i = 0; i < sizeof SIGNATURES / sizeof *SIGNATURES; i++) {
        const struct signature *const s = &SIGNATURES[i];
        if (n >= s->offset + s->n && memcmp(head + s->offset, s->bytes, s->n) == 0) {
            return (sound_format){s->kind, s->name};
        }
    }
    if (looks_like_text(head, n)) {
        return (sound_format){SOUND_KIND_OTHER, "a text file"};
    }
    return (sound_format){SOUND_KIND_UNKNOWN, NULL};
}

bool sound_format_is_mpeg(const unsigned char *head, size_t n)
{
    if (n >= 3 && memcmp(head, "ID3", 3) == 0) {
        return true;
    }
    /* Frame sync of eleven ones, and a layer that is not 'reserved'. */
    return n >= 2 && head[0] == 0xffU && (head[1] & 0xe0U) == 0xe0U &&
           (head[1] & 0x06U) != 0;
}

sound_wav_header sound_format_wav_header(const unsigned char *head, size_t n)
{
    sound_wav_header header = {false, 0, 0};
    if (n < 28 || memcmp(head, "RIFF", 4) != 0 ||
        memcmp(head + 8, "WAVEfmt ", 8) != 0) {
        return header;
    }
    header.found = true;
    header.channels = (uint32_t)head[22] | (uint32_t)head[23] << 8U;
    for (size_t i = 28; i > 24; i--) {
        header.rate_hz = header.rate_hz << 8U | head[i - 1];
    }
    return header;
}
