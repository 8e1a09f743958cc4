/* Who may ask. Headers, cookies and the address come from the table of each test: the two calls
 * of the HTTP library that tell them are this file's own. */
#include "src/page/page_private.h"

#include "tests/support.h"

#include <netinet/in.h>
#include <stdlib.h>
#include <string.h>

#define COOKIE "0123456789abcdef0123456789abcdef"
#define TOKEN  "fedcba9876543210fedcba9876543210"
#define OURS   "127.0.0.1:8080"

/* What a request says; NULL: nothing. */
struct said {
    const char *host, *origin, *site, *mode, *cookie, *token;
};

static struct said said;
static struct sockaddr_in from;
static union MHD_ConnectionInfo from_info;

const char *MHD_lookup_connection_value(struct MHD_Connection *connection,
                                        enum MHD_ValueKind kind,
                                        const char *key)
{
    (void)connection;
    const struct {
        enum MHD_ValueKind kind;
        const char *key, *value;
    } all[] = {{MHD_HEADER_KIND, "Host", said.host},
               {MHD_HEADER_KIND, "Origin", said.origin},
               {MHD_HEADER_KIND, "Sec-Fetch-Site", said.site},
               {MHD_HEADER_KIND, "Sec-Fetch-Mode", said.mode},
               {MHD_COOKIE_KIND, "fullminute_8080", said.cookie},
               {MHD_GET_ARGUMENT_KIND, "token", said.token}};
    for (size_t i = 0; i < sizeof all / sizeof all[0]; i++) {
        if (all[i].kind == kind && strcmp(all[i].key, key) == 0) {
            return all[i].value;
        }
    }
    return NULL;
}

const union MHD_ConnectionInfo *MHD_get_connection_info(
    struct MHD_Connection *connection, enum MHD_ConnectionInfoType type, ...)
{
    (void)connection;
    assert_int_equal(type, MHD_CONNECTION_INFO_CLIENT_ADDRESS);
    from_info.client_addr = (struct sockaddr *)(void *)&from;
    return &from_info;
}

static page *the_page;
static page_listener *listener;

static int open_listeners(void **state)
{
    (void)state;
    the_page = calloc(1, sizeof *the_page);
    if (the_page == NULL) {
        return -1;
    }
    memcpy(the_page->session, COOKIE, sizeof COOKIE);
    memcpy(the_page->token, TOKEN, sizeof TOKEN);
    from = (struct sockaddr_in){.sin_family = AF_INET};
    for (int i = 0; i < 2; i++) {
        page_listener *const d = i == 0 ? &the_page->own : &the_page->seats_listener;
        *d = (page_listener){.page = the_page,
                             .for_seats = i == 1,
                             .port = 8080,
                             .host = OURS,
                             .rate = page_rate_of(0.001, 1000.0),
                             .refused = page_rate_of(0.001, 1000.0)};
        page_rates_init(&d->by_address, 0.001, 1000.0);
    }
    (void)strcpy(the_page->own.alias, "localhost:8080");
    listener = &the_page->own;
    return 0;
}

static int close_listeners(void **state)
{
    (void)state;
    free(the_page);
    return 0;
}

/* The status it is answered with; 0: it is let in. */
static unsigned ask(const char *method, const char *path, struct said with)
{
    page_request r = {
        .page = the_page, .listener = listener, .answer = {.body = BYTES_NONE}};
    said = with;
    const bool let_in = page_authorise(&r, method, path);
    assert_int_equal(let_in, r.answer.status == 0);
    bytes_free(&r.answer.body);
    return r.answer.status;
}

static void a_browser_with_the_cookie_is_let_in(void **state)
{
    (void)state;
    const struct said plain = {.host = OURS, .cookie = COOKIE};
    const struct said local = {.host = "localhost:8080", .cookie = COOKIE};
    const struct said typed = {OURS, NULL, "none", "navigate", COOKIE, NULL};
    const struct said followed = {OURS, NULL, "cross-site", "navigate", COOKIE, NULL};
    const struct said script = {OURS,   "http://" OURS, "same-origin",
                                "cors", COOKIE,         NULL};
    assert_int_equal(ask("GET", "/", plain), 0);
    assert_int_equal(ask("GET", "/", local), 0);
    assert_int_equal(ask("GET", "/", typed), 0);
    assert_int_equal(ask("GET", "/", followed), 0);
    assert_int_equal(ask("GET", "/api/recordings", script), 0);
    assert_int_equal(ask("POST", "/api/live/open", script), 0);
}

static void whoever_lacks_a_part_of_it_is_not(void **state)
{
    (void)state;
    static const char *const METHODS[] = {"GET", "POST", "PUT", "DELETE", "OPTIONS"};
    const struct said rows[] = {
        {NULL, "http://" OURS, NULL, NULL, COOKIE, NULL},
        {"", "http://" OURS, NULL, NULL, COOKIE, NULL},
        {"127.0.0.1", "http://" OURS, NULL, NULL, COOKIE, NULL},
        {OURS "0", "http://" OURS "0", NULL, NULL, COOKIE, NULL},
        {"evil.example:8080", "http://evil.example:8080", NULL, NULL, COOKIE, NULL},
        {OURS, "http://evil.example", NULL, NULL, COOKIE, NULL},
        {OURS, "https://" OURS, NULL, NULL, COOKIE, NULL},
        {OURS, "http://" OURS ".evil.example", NULL, NULL, COOKIE, NULL},
        {OURS, "http://localhost:8080", NULL, NULL, COOKIE, NULL},
        {OURS, "null", NULL, NULL, COOKIE, NULL},
        {OURS, "", NULL, NULL, COOKIE, NULL},
        {OURS, "http://", NULL, NULL, COOKIE, NULL},
        {OURS, NULL, "cross-site", "cors", COOKIE, NULL},
        {OURS, NULL, "same-site", "no-cors", COOKIE, NULL},
        {OURS, NULL, "cross-site", NULL, COOKIE, NULL},
        {OURS, "http://" OURS, NULL, NULL, NULL, NULL},
        {OURS, "http://" OURS, NULL, NULL, "", NULL},
        {OURS, "http://" OURS, NULL, NULL, TOKEN, NULL},
        {OURS, "http://" OURS, NULL, NULL, COOKIE "0", NULL},
        {OURS, "http://" OURS, NULL, NULL, "0123456789abcdef0123456789abcde", NULL},
        {OURS, "http://" OURS, NULL, NULL, "0123456789ABCDEF0123456789ABCDEF", NULL},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        for (size_t m = 0; m < sizeof METHODS / sizeof METHODS[0]; m++) {
            assert_int_equal(ask(METHODS[m], "/api/recordings", rows[i]), 403);
        }
    }
}

static void nothing_is_changed_without_an_origin_or_from_elsewhere(void **state)
{
    (void)state;
    const struct said no_origin = {.host = OURS, .cookie = COOKIE};
    const struct said followed = {OURS, NULL, "cross-site", "navigate", COOKIE, NULL};
    const struct said typed = {OURS, "http://" OURS, "none", "navigate", COOKIE, NULL};
    static const char *const METHODS[] = {"POST", "PUT", "DELETE", "get", ""};
    for (size_t m = 0; m < sizeof METHODS / sizeof METHODS[0]; m++) {
        assert_int_equal(ask(METHODS[m], "/api/live/open", no_origin), 403);
        assert_int_equal(ask(METHODS[m], "/api/live/open", followed), 403);
        assert_int_equal(ask(METHODS[m], "/api/live/open", typed), 403);
    }
}

static void the_token_opens_one_path_by_get_alone(void **state)
{
    (void)state;
    const struct said with = {.host = OURS, .token = TOKEN};
    const struct said wrong = {.host = OURS, .token = COOKIE};
    const struct said posted = {.host = OURS, .origin = "http://" OURS, .token = TOKEN};
    assert_int_equal(ask("GET", "/open", with), 0);
    assert_int_equal(ask("GET", "/", with), 403);
    assert_int_equal(ask("GET", "/openx", with), 403);
    assert_int_equal(ask("GET", "/open", wrong), 403);
    assert_int_equal(ask("POST", "/open", posted), 403);
}

static void the_seats_need_their_code_and_no_cookie(void **state)
{
    (void)state;
    listener = &the_page->seats_listener;
    const struct said phone = {.host = OURS, .origin = "http://" OURS};
    const struct said other = {.host = OURS, .origin = "http://evil.example"};
    assert_int_equal(ask("GET", "/", phone), 0);
    assert_int_equal(ask("POST", "/api/seat", phone), 0);
    assert_int_equal(ask("POST", "/api/seat", other), 403);
    assert_int_equal(ask("GET", NULL, phone), 404); /* without the code */
    const struct said local = {.host = "localhost:8080"};
    assert_int_equal(ask("GET", "/", local), 403); /* it has one name */
    const struct said nameless = {.host = ""};
    assert_int_equal(ask("GET", "/", nameless), 403);
}

static void those_that_are_refused_use_up_nothing_of_the_others(void **state)
{
    (void)state;
    const struct said phone = {.host = OURS};
    const struct said stranger = {.host = "evil.example"};
    listener = &the_page->seats_listener;
    for (int i = 0; i < 1000; i++) {
        assert_int_equal(ask("GET", NULL, phone), 404);
    }
    assert_int_equal(ask("GET", NULL, phone), 429);
    assert_int_equal(ask("GET", "/", stranger), 429);
    assert_int_equal(ask("GET", "/", phone), 0);
    listener = &the_page->own;
    const struct said ours = {.host = OURS, .cookie = COOKIE};
    assert_int_equal(ask("GET", "/", stranger), 403); /* each listener its own */
    assert_int_equal(ask("GET", "/", ours), 0);
}

static void one_address_uses_up_its_own_alone(void **state)
{
    (void)state;
    const struct said phone = {.host = OURS};
    listener = &the_page->seats_listener;
    page_rates_init(&listener->by_address, 0.001, 10.0);
    from.sin_addr.s_addr = htonl(0x0a000001);
    for (int i = 0; i < 10; i++) {
        assert_int_equal(ask("GET", "/", phone), 0);
    }
    assert_int_equal(ask("GET", "/", phone), 429);
    from.sin_addr.s_addr = htonl(0x0a000002);
    assert_int_equal(ask("GET", "/", phone), 0);
    from.sin_family = AF_INET6; /* not of a listener of ours: one that is not known */
    assert_int_equal(ask("GET", "/", phone), 0);
}

static void tokens_are_128_bits_as_hexadecimal_and_differ(void **state)
{
    (void)state;
    char a[PAGE_TOKEN_BYTES];
    char b[PAGE_TOKEN_BYTES];
    assert_true(page_token_make(a));
    assert_true(page_token_make(b));
    assert_int_equal(strlen(a), 32);
    assert_int_equal(strspn(a, "0123456789abcdef"), 32);
    assert_string_not_equal(a, b);
    assert_true(page_token_is(a, a));
    assert_false(page_token_is(a, b));
    assert_false(page_token_is(NULL, a));
    for (int i = 0; i < 32; i++) {
        memcpy(b, a, sizeof b);
        b[i] = (char)(b[i] ^ 1);
        assert_false(page_token_is(b, a));
    }
}

#define GATE(test)                                                                     \
    cmocka_unit_test_setup_teardown(test, open_listeners, close_listeners)

int main(void)
{
    const struct CMUnitTest tests[] = {
        GATE(a_browser_with_the_cookie_is_let_in),
        GATE(whoever_lacks_a_part_of_it_is_not),
        GATE(nothing_is_changed_without_an_origin_or_from_elsewhere),
        GATE(the_token_opens_one_path_by_get_alone),
        GATE(the_seats_need_their_code_and_no_cookie),
        GATE(those_that_are_refused_use_up_nothing_of_the_others),
        GATE(one_address_uses_up_its_own_alone),
        GATE(tokens_are_128_bits_as_hexadecimal_and_differ),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
