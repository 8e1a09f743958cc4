/* Reading sound: what comes out is what is there, and what is not there is said. */
#include "tests/support.h"

#include "src/port/sound_file.h"

#include <fcntl.h>
#include <math.h>
#include <sndfile.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

enum {
    RATE_HZ = 8000,
    FRAMES = 40000,
    BYTES_MAX = 1 << 20
};

static char folder[64];
static char path[128];

static int make_folder(void **state)
{
    (void)state;
    (void)snprintf(folder, sizeof folder, "/tmp/fullminute-test-XXXXXX");
    if (mkdtemp(folder) == NULL) {
        return -1;
    }
    (void)snprintf(path, sizeof path, "%s/a", folder);
    return 0;
}

static int remove_folder(void **state)
{
    (void)state;
    (void)unlink(path);
    return rmdir(folder);
}

/* A ramp that tells every frame and channel apart, within 16 bits. */
static float ramp(int64_t frame, int channel)
{
    return (float)((frame * 7 + (int64_t)channel * 1000) % 32768) / 32768.0F;
}

static void write_sound(int format, int rate_hz, int channels, int frames)
{
    SF_INFO info = {.samplerate = rate_hz, .channels = channels, .format = format};
    SNDFILE *const file = sf_open(path, SFM_WRITE, &info);
    assert_non_null(file);
    float *const frame = calloc((size_t)channels, sizeof *frame);
    assert_non_null(frame);
    for (int i = 0; i < frames; i++) {
        for (int c = 0; c < channels; c++) {
            frame[c] = ramp(i, c);
        }
        assert_int_equal(sf_writef_float(file, frame, 1), 1);
    }
    free(frame);
    assert_int_equal(sf_close(file), 0);
}

static void write_bytes(const void *bytes, size_t n)
{
    FILE *const file = fopen(path, "wb");
    assert_non_null(file);
    assert_int_equal(fwrite(bytes, 1, n, file), n);
    assert_int_equal(fclose(file), 0);
}

static void cut_in_half(void)
{
    struct stat info;
    assert_int_equal(stat(path, &info), 0);
    assert_int_equal(truncate(path, info.st_size / 2), 0);
}

static size_t count_to_the_end(sound_file *file)
{
    static float block[4096];
    const size_t n = 4096 / (size_t)sound_file_info(file).channels;
    size_t total = 0;
    size_t got = n;
    while (got == n) {
        got = sound_file_read(file, block, n);
        total += got;
    }
    return total;
}

static void every_frame_of_every_channel_comes_out(void **state)
{
    (void)state;
    static const int formats[] = {
        SF_FORMAT_WAV | SF_FORMAT_PCM_16,  SF_FORMAT_FLAC | SF_FORMAT_PCM_16,
        SF_FORMAT_AIFF | SF_FORMAT_PCM_16, SF_FORMAT_CAF | SF_FORMAT_PCM_16,
        SF_FORMAT_W64 | SF_FORMAT_PCM_16,  SF_FORMAT_RF64 | SF_FORMAT_PCM_16,
    };
    for (size_t f = 0; f < sizeof formats / sizeof *formats; f++) {
        write_sound(formats[f], RATE_HZ, 2, FRAMES);
        app_err err = APP_ERR_NONE;
        sound_file *const file = sound_file_open(path, &err);
        assert_non_null(file);
        const sound_info info = sound_file_info(file);
        assert_within(info.rate_hz, RATE_HZ, 0.0);
        assert_int_equal(info.channels, 2);
        assert_int_equal(info.frames, FRAMES);
        assert_false(info.truncated);
        for (int64_t i = 0; i < FRAMES; i++) {
            float frame[2];
            assert_int_equal(sound_file_read(file, frame, 1), 1);
            assert_within((double)frame[0], (double)ramp(i, 0), 1.01 / 32768.0);
            assert_within((double)frame[1], (double)ramp(i, 1), 1.01 / 32768.0);
        }
        float more[2];
        assert_int_equal(sound_file_read(file, more, 1), 0);
        assert_int_equal(sound_file_position(file), FRAMES);
        sound_file_close(file);
    }
}

static void seeking_lands_on_the_frame_forward_and_back(void **state)
{
    (void)state;
    static const int formats[] = {SF_FORMAT_WAV | SF_FORMAT_PCM_16,
                                  SF_FORMAT_FLAC | SF_FORMAT_PCM_16};
    for (size_t f = 0; f < sizeof formats / sizeof *formats; f++) {
        write_sound(formats[f], RATE_HZ, 1, FRAMES);
        app_err err = APP_ERR_NONE;
        sound_file *const file = sound_file_open(path, &err);
        assert_non_null(file);
        static const int64_t to[] = {30000, 5, 39999, 0};
        for (size_t k = 0; k < sizeof to / sizeof *to; k++) {
            float frame = 0.0F;
            assert_true(sound_file_seek(file, to[k], &err));
            assert_int_equal(sound_file_position(file), to[k]);
            assert_int_equal(sound_file_read(file, &frame, 1), 1);
            assert_within((double)frame, (double)ramp(to[k], 0), 1.01 / 32768.0);
        }
        assert_false(sound_file_seek(file, FRAMES + 10, &err));
        assert_int_equal(err.code, APP_UNREADABLE);
        sound_file_close(file);
    }
}

static void a_cut_file_says_so_and_gives_what_there_is(void **state)
{
    (void)state;
    static const int formats[] = {
        SF_FORMAT_WAV | SF_FORMAT_PCM_16,  SF_FORMAT_AIFF | SF_FORMAT_PCM_16,
        SF_FORMAT_FLAC | SF_FORMAT_PCM_16, SF_FORMAT_W64 | SF_FORMAT_PCM_16,
        SF_FORMAT_RF64 | SF_FORMAT_PCM_16, SF_FORMAT_OGG | SF_FORMAT_VORBIS,
    };
    for (size_t f = 0; f < sizeof formats / sizeof *formats; f++) {
        const bool ogg = (formats[f] & SF_FORMAT_TYPEMASK) == SF_FORMAT_OGG;
        const size_t frames = ogg ? 10 * FRAMES : FRAMES; /* more than one page */
        write_sound(formats[f], RATE_HZ, 1, (int)frames);
        cut_in_half();
        app_err err = APP_ERR_NONE;
        sound_file *const file = sound_file_open(path, &err);
        assert_non_null(file);
        assert_true(sound_file_info(file).truncated);
        const size_t n = count_to_the_end(file);
        assert_true(n > 0 && n < frames);
        sound_file_close(file);
    }
}

/* Makes a short Ogg file and gives its bytes; ends with a whole page. */
static size_t ogg_bytes(unsigned char *bytes)
{
    write_sound(SF_FORMAT_OGG | SF_FORMAT_VORBIS, RATE_HZ, 1, 10 * FRAMES);
    FILE *const file = fopen(path, "rb");
    assert_non_null(file);
    const size_t n = fread(bytes, 1, BYTES_MAX, file);
    assert_int_equal(fclose(file), 0);
    return n;
}

/* Where the k-th page from the end starts, k from 0. */
static size_t page_from_end(const unsigned char *bytes, size_t n, int k)
{
    for (size_t i = n - 27; i > 0; i--) {
        if (memcmp(bytes + i, "OggS", 4) == 0 && k-- == 0) {
            return i;
        }
    }
    fail_msg("too few pages");
    return 0;
}

/*
 * A decoder closes the gap behind a lost page of Ogg, and what follows comes too early: a
 * minute at 72 was counted as one at 75.
 *   Source:    RFC 3533, section 6: page sequence number and checksum.
 *   Input:     made here; one byte changed in a page, a page taken out, one zeroed.
 */
static void an_ogg_file_with_a_hole_is_not_used(void **state)
{
    (void)state;
    static unsigned char bytes[BYTES_MAX];
    for (int k = 0; k < 3; k++) {
        size_t n = ogg_bytes(bytes);
        const size_t from = page_from_end(bytes, n, 2);
        const size_t to = page_from_end(bytes, n, 1);
        if (k == 0) {
            bytes[from + 500] ^= 0xffU;
        } else if (k == 1) {
            memmove(bytes + from, bytes + to, n - to);
            n -= to - from;
        } else {
            memset(bytes + from, 0, to - from);
        }
        write_bytes(bytes, n);
        app_err err = APP_ERR_NONE;
        assert_null(sound_file_open(path, &err));
        assert_int_equal(err.code, APP_UNREADABLE);
        assert_non_null(strstr(err.text, "damaged or missing"));
    }
}

/*
 * The same for MP3, where a decoder looks for the next frame and closes the gap.
 *   Source:    ISO/IEC 11172-3, 2.4.1.3: a frame's length by its header.
 *   Input:     made here: 100 bytes taken out, zeroed, or a tag of 20 bytes put in.
 */
static void an_mp3_with_a_hole_is_not_used(void **state)
{
    (void)state;
    static unsigned char bytes[BYTES_MAX];
    static const unsigned char TAG[20] = {'I', 'D', '3', 4, 0, 0, 0, 0, 0, 10};
    for (int k = 0; k < 4; k++) {
        write_sound(SF_FORMAT_MPEG | SF_FORMAT_MPEG_LAYER_III, RATE_HZ, 1, 10 * FRAMES);
        FILE *const from = fopen(path, "rb");
        assert_non_null(from);
        size_t n = fread(bytes, 1, BYTES_MAX - sizeof TAG, from);
        assert_int_equal(fclose(from), 0);
        size_t at = n / 2; /* and on to the next header, told by the first one's */
        size_t first = 0;
        while (bytes[first] != 0xffU || (bytes[first + 1] & 0xe0U) != 0xe0U) {
            first++;
        }
        while (memcmp(bytes + at, bytes + first, 2) != 0) {
            at++;
        }
        if (k == 0) {
            memmove(bytes + at + 50, bytes + at + 150, n - at - 150);
            n -= 100;
        } else if (k == 1) {
            memset(bytes + at, 0, 100);
        } else if (k == 2) {
            memmove(bytes + at + sizeof TAG, bytes + at, n - at);
            memcpy(bytes + at, TAG, sizeof TAG);
            n += sizeof TAG;
        }
        write_bytes(bytes, n);
        app_err err = APP_ERR_NONE;
        sound_file *const file = sound_file_open(path, &err);
        if (k < 2) {
            assert_null(file);
            assert_non_null(strstr(err.text, "damaged or missing"));
        } else {
            assert_non_null(file);
        }
        sound_file_close(file);
    }
}

/* What lies behind the last page is no sound: nothing is missing. */
static void an_ogg_file_may_have_a_tail(void **state)
{
    (void)state;
    static unsigned char bytes[BYTES_MAX];
    const size_t n = ogg_bytes(bytes);
    memset(bytes + n, 'x', 200);
    write_bytes(bytes, n + 200);
    app_err err = APP_ERR_NONE;
    sound_file *const file = sound_file_open(path, &err);
    assert_non_null(file);
    assert_false(sound_file_info(file).truncated);
    sound_file_close(file);
}

/* A recorder that was killed leaves a length of zero: all of it is still there. */
static void a_header_without_a_length_is_not_cut(void **state)
{
    (void)state;
    write_sound(SF_FORMAT_WAV | SF_FORMAT_PCM_16, RATE_HZ, 1, FRAMES);
    const int fd = open(path, O_WRONLY);
    static const unsigned char NONE[4] = {0};
    static const unsigned char HEADER_ONLY[4] = {8};
    assert_int_equal(pwrite(fd, HEADER_ONLY, 4, 4), 4);
    assert_int_equal(pwrite(fd, NONE, 4, 40), 4);
    assert_int_equal(close(fd), 0);
    app_err err = APP_ERR_NONE;
    sound_file *const file = sound_file_open(path, &err);
    assert_non_null(file);
    assert_false(sound_file_info(file).truncated);
    assert_int_equal(count_to_the_end(file), FRAMES);
    sound_file_close(file);
}

/* Cut to a fifth: said for the sound files of early workstations, too; where all bits of
 * the length say that it is not known nothing is promised. */
static void an_au_file_that_was_cut_says_so(void **state)
{
    (void)state;
    app_err err = APP_ERR_NONE;
    struct stat info;
    for (int i = 0; i < 2; i++) {
        const int order = i == 0 ? SF_ENDIAN_BIG : SF_ENDIAN_LITTLE;
        write_sound(SF_FORMAT_AU | SF_FORMAT_PCM_16 | order, RATE_HZ, 1, FRAMES);
        sound_file *file = sound_file_open(path, &err);
        assert_non_null(file);
        assert_false(sound_file_info(file).truncated);
        sound_file_close(file);
        assert_int_equal(stat(path, &info), 0);
        assert_int_equal(truncate(path, info.st_size / 5), 0);
        file = sound_file_open(path, &err);
        assert_non_null(file);
        assert_true(sound_file_info(file).truncated);
        sound_file_close(file);
        const int fd = open(path, O_WRONLY);
        assert_int_equal(pwrite(fd, "\xff\xff\xff\xff", 4, 8), 4);
        assert_int_equal(close(fd), 0);
        file = sound_file_open(path, &err);
        assert_non_null(file);
        assert_false(sound_file_info(file).truncated);
        sound_file_close(file);
    }
}

/* A second of tone and nineteen of silence by a varying rate of bits: the first frame, which
 * says how long it is, taken out, all that is known of its length is a guess. */
static void an_mp3_that_hides_its_length_is_refused(void **state)
{
    (void)state;
    static unsigned char bytes[1 << 20];
    int mode = SF_BITRATE_MODE_VARIABLE;
    double level = 0.9;
    SF_INFO info = {.samplerate = 44100,
                    .channels = 1,
                    .format = SF_FORMAT_MPEG | SF_FORMAT_MPEG_LAYER_III};
    SNDFILE *const out = sf_open(path, SFM_WRITE, &info);
    if (out == NULL) {
        skip(); /* this libsndfile writes no MPEG */
    }
    (void)sf_command(out, SFC_SET_BITRATE_MODE, &mode, sizeof mode);
    (void)sf_command(out, SFC_SET_COMPRESSION_LEVEL, &level, sizeof level);
    for (int i = 0; i < 20 * 44100; i++) {
        const float x = i < 44100 ? 0.0F : 0.4F * sinf((float)i * (float)i * 1e-6F);
        assert_int_equal(sf_writef_float(out, &x, 1), 1);
    }
    assert_int_equal(sf_close(out), 0);
    app_err err = APP_ERR_NONE;
    sound_file *const whole = sound_file_open(path, &err);
    assert_non_null(whole);
    assert_within((double)count_to_the_end(whole), 20.0 * 44100.0, 5.0 * 1152.0);
    sound_file_close(whole);
    FILE *const file = fopen(path, "rb");
    assert_non_null(file);
    const size_t n = fread(bytes, 1, sizeof bytes, file);
    assert_int_equal(fclose(file), 0);
    size_t second =
        4; /* where the second frame begins: as the first, but for its length */
    while (second + 4 < n && (bytes[second] != 0xff || bytes[second + 1] != bytes[1])) {
        second++;
    }
    assert_true(n < sizeof bytes && second + 4 < n);
    write_bytes(bytes + second, n - second);
    sound_file *const hidden = sound_file_open(path, &err);
    if (hidden != NULL) {
        fail_msg("%zu of %d frames were read without a word", count_to_the_end(hidden),
                 20 * 44100);
    }
    assert_int_equal(err.code, APP_UNREADABLE);
    assert_non_null(strstr(err.text, "does not say how long it is"));
}

static void put_u32(unsigned char *at, uint32_t value)
{
    for (int i = 0; i < 4; i++) {
        at[i] = (unsigned char)(value >> (8 * i) & 0xffU);
    }
}

/* 44 bytes of WAV header and a second of silence. */
static void write_header(uint32_t rate_hz, uint16_t channels, uint32_t data_bytes)
{
    static unsigned char b[44 + 2000];
    memset(b, 0, sizeof b);
    memcpy(b, "RIFF....WAVEfmt ", 16);
    put_u32(b + 4, 36 + data_bytes);
    put_u32(b + 16, 16);
    put_u32(b + 20, 1U | (uint32_t)channels << 16U);
    put_u32(b + 24, rate_hz);
    put_u32(b + 28, rate_hz * channels * 2U);
    put_u32(b + 32, (channels * 2U) | 16U << 16U);
    memcpy(b + 36, "data", 4);
    put_u32(b + 40, data_bytes);
    write_bytes(b, 44 + data_bytes);
}

static void assert_refused_with(const char *words)
{
    app_err err = APP_ERR_NONE;
    assert_null(sound_file_open(path, &err));
    assert_int_equal(err.code, APP_UNREADABLE);
    if (strstr(err.text, words) == NULL || strstr(err.text, path) == NULL) {
        fail_msg("'%s' does not say '%s' about %s", err.text, words, path);
    }
}

static void absurd_headers_are_named(void **state)
{
    (void)state;
    write_header(999, 1, 2000);
    assert_refused_with("sample rate of 999 Hz");
    write_header(192001, 1, 2000);
    assert_refused_with("sample rate of 192001 Hz");
    write_header(0, 1, 2000);
    assert_refused_with("sample rate of 0 Hz");
    write_header(0xfffffff0U, 1, 2000);
    assert_refused_with("sample rate of 4294967280 Hz");
    write_header(8000, 0, 2000);
    assert_refused_with("0 channels");
    write_header(8000, 1, 0);
    assert_refused_with("holds no sound");
}

static void the_edges_of_rate_and_channels_are_read(void **state)
{
    (void)state;
    static const int edges[][2] = {{1000, 1}, {192000, 1}, {8000, 64}, {8000, 1024}};
    for (size_t i = 0; i < sizeof edges / sizeof *edges; i++) {
        write_sound(SF_FORMAT_WAVEX | SF_FORMAT_PCM_16, edges[i][0], edges[i][1], 100);
        app_err err = APP_ERR_NONE;
        sound_file *const file = sound_file_open(path, &err);
        assert_non_null(file);
        assert_int_equal(sound_file_info(file).channels, edges[i][1]);
        assert_int_equal(count_to_the_end(file), 100);
        sound_file_close(file);
    }
}

/* Leading bytes as the formats' descriptions give them, and what must be said. */
static void what_cannot_be_read_is_named(void **state)
{
    (void)state;
    static const struct {
        const char *bytes;
        size_t n;
        const char *said;
    } cases[] = {
        {"\0\0\0\x1c"
         "ftypM4A \0\0\0\0",
         16, "m4a"},
        {"\0\0\0\x18"
         "ftyp3gp4\0\0\0\0",
         16, "3gp"},
        {"\0\0\0\x18"
         "ftypmp42\0\0\0\0",
         16, "mp4"},
        {"\0\0\0\x14"
         "ftypqt  \0\0\0\0",
         16, "mov"},
        {"#!AMR\n\x3c\x08", 8, "amr"},
        {"#!AMR-WB\n\x3c\x08", 11, "awb"},
        {"\x1a\x45\xdf\xa3\x9f\x42\x86\x81", 8, "webm"},
        {"\x30\x26\xb2\x75\x8e\x66\xcf\x11", 8, "wma"},
        {"\xff\xf1\x50\x80\x02\x1f\xfc", 7, "AAC"},
        {"caff\0\x01\0\0desc", 12, "caf"},
        {"OggS\0\x02\0\0\0\0\0\0\0\0", 14, "Ogg"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        write_bytes(cases[i].bytes, cases[i].n);
        assert_refused_with(cases[i].said);
        assert_refused_with("ffmpeg -i '");
        assert_refused_with("-ac 1 OUT.wav");
    }
    write_bytes("just a note\n", 12);
    assert_refused_with("a text file, not a sound file");
    write_bytes("%PDF-1.7\n\x01", 10);
    assert_refused_with("a PDF document");
    write_bytes("\x00\x01\x02\x03\x04\x05\x06\x07", 8);
    assert_refused_with("not a sound file this program knows");
}

static void missing_empty_and_folders_are_named(void **state)
{
    (void)state;
    assert_refused_with("no such file");
    write_bytes("", 0);
    assert_refused_with("is empty");
    app_err err = APP_ERR_NONE;
    assert_null(sound_file_open(folder, &err));
    assert_int_equal(err.code, APP_UNREADABLE);
    assert_non_null(strstr(err.text, "is a folder"));
    assert_null(sound_file_open("/dev/zero", &err));
    assert_non_null(strstr(err.text, "is a device"));
}

static void a_quote_in_a_name_survives_the_shell(void **state)
{
    (void)state;
    (void)snprintf(path, sizeof path, "%s/it's.m4a", folder);
    write_bytes("\0\0\0\x1c"
                "ftypM4A \0\0\0\0",
                16);
    assert_refused_with("it'\\''s.m4a' -ac 1");
}

/* The MPEG decoder talks on stderr about damaged files; people must not see that. */
static void a_damaged_mp3_keeps_stderr_quiet(void **state)
{
    (void)state;
    write_sound(SF_FORMAT_MPEG | SF_FORMAT_MPEG_LAYER_III, RATE_HZ, 1, FRAMES);
    const int target = open(path, O_RDWR);
    struct stat info;
    assert_int_equal(fstat(target, &info), 0);
    unsigned char noise[512];
    for (size_t i = 0; i < sizeof noise; i++) {
        noise[i] = (unsigned char)(i * 131U + 17U);
    }
    /* At the end, where no frame follows: else the file would not be used at all. */
    assert_int_equal(pwrite(target, noise, sizeof noise, info.st_size - 512),
                     (ssize_t)sizeof noise);
    assert_int_equal(close(target), 0);

    (void)fflush(stderr);
    FILE *const caught = tmpfile();
    assert_non_null(caught);
    const int kept = dup(STDERR_FILENO);
    assert_true(dup2(fileno(caught), STDERR_FILENO) >= 0);
    app_err err = APP_ERR_NONE;
    sound_file *const file = sound_file_open(path, &err);
    const size_t n = file != NULL ? count_to_the_end(file) : 0;
    sound_file_close(file);
    (void)fflush(stderr);
    assert_true(dup2(kept, STDERR_FILENO) >= 0);
    (void)close(kept);
    assert_non_null(file);
    assert_true(n > 0);
    assert_int_equal(fstat(fileno(caught), &info), 0);
    assert_int_equal(info.st_size, 0);
    (void)fclose(caught);
}

int main(void)
{
#define EACH(test) cmocka_unit_test_setup_teardown(test, make_folder, remove_folder)
    const struct CMUnitTest tests[] = {
        EACH(every_frame_of_every_channel_comes_out),
        EACH(seeking_lands_on_the_frame_forward_and_back),
        EACH(a_cut_file_says_so_and_gives_what_there_is),
        EACH(an_ogg_file_with_a_hole_is_not_used),
        EACH(an_ogg_file_may_have_a_tail),
        EACH(an_mp3_with_a_hole_is_not_used),
        EACH(a_header_without_a_length_is_not_cut),
        EACH(an_au_file_that_was_cut_says_so),
        EACH(an_mp3_that_hides_its_length_is_refused),
        EACH(absurd_headers_are_named),
        EACH(the_edges_of_rate_and_channels_are_read),
        EACH(what_cannot_be_read_is_named),
        EACH(missing_empty_and_folders_are_named),
        EACH(a_quote_in_a_name_survives_the_shell),
        EACH(a_damaged_mp3_keeps_stderr_quiet),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
