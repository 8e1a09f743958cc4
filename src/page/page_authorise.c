/* Who may ask: the right address in Host, no other page's Origin, and the cookie. */
#include "src/page/page_private.h"
#include "src/port/steady.h"

#include <netinet/in.h>
#include <sodium.h>
#include <stdio.h>
#include <string.h>

enum {
    TOKEN_RAW_BYTES = (PAGE_TOKEN_BYTES - 1) / 2,
    COOKIE_BYTES = 48
};

void page_token_make(char out[PAGE_TOKEN_BYTES])
{
    unsigned char raw[TOKEN_RAW_BYTES];
    randombytes_buf(raw, sizeof raw);
    (void)sodium_bin2hex(out, PAGE_TOKEN_BYTES, raw, sizeof raw);
}

bool page_token_is(const char *given, const char *wanted)
{
    return given != NULL && strlen(given) == PAGE_TOKEN_BYTES - 1 &&
           sodium_memcmp(given, wanted, PAGE_TOKEN_BYTES - 1) == 0;
}

static const char *header(const page_request *r, const char *name)
{
    return MHD_lookup_connection_value(r->connection, MHD_HEADER_KIND, name);
}

/* A name that another site points at this computer is not ours. */
static bool is_our_host(const page_request *r)
{
    const char *const host = header(r, MHD_HTTP_HEADER_HOST);
    return host != NULL &&
           (strcmp(host, r->listener->host) == 0 ||
            (r->listener->alias[0] != '\0' && strcmp(host, r->listener->alias) == 0));
}

/* Browsers name the page a request comes from; where they do it must be this one. */
static bool is_our_origin(const page_request *r, const char *method)
{
    static const char SCHEME[] = "http://";
    const char *const host = header(r, MHD_HTTP_HEADER_HOST);
    const char *const origin = header(r, MHD_HTTP_HEADER_ORIGIN);
    const char *const from = header(r, "Sec-Fetch-Site");
    const bool changes = strcmp(method, MHD_HTTP_METHOD_GET) != 0;
    if (from != NULL && strcmp(from, "same-origin") != 0) {
        const char *const mode = header(r, "Sec-Fetch-Mode");
        const bool typed = strcmp(from, "none") == 0;
        const bool followed = mode != NULL && strcmp(mode, "navigate") == 0;
        if (changes || (!typed && !followed)) {
            return false;
        }
    }
    if (origin == NULL) {
        return !changes;
    }
    return strncmp(origin, SCHEME, sizeof SCHEME - 1) == 0 &&
           strcmp(origin + sizeof SCHEME - 1, host) == 0;
}

static bool has_session(const page_request *r)
{
    char name[COOKIE_BYTES];
    (void)snprintf(name, sizeof name, "fullminute_%d", r->listener->port);
    return page_token_is(
        MHD_lookup_connection_value(r->connection, MHD_COOKIE_KIND, name),
        r->page->session);
}

static bool opens(const page_request *r, const char *method, const char *path)
{
    return strcmp(method, MHD_HTTP_METHOD_GET) == 0 && strcmp(path, "/open") == 0 &&
           page_token_is(page_argument(r, "token"), r->page->token);
}

uint32_t page_address_of(const page_request *r)
{
    const union MHD_ConnectionInfo *const info =
        MHD_get_connection_info(r->connection, MHD_CONNECTION_INFO_CLIENT_ADDRESS);
    struct sockaddr_in at;
    if (info == NULL || info->client_addr == NULL ||
        info->client_addr->sa_family != AF_INET) {
        return 0;
    }
    memcpy(&at, info->client_addr, sizeof at);
    return at.sin_addr.s_addr;
}

/* Those that are let in, each address and all together; those that are not, apart: however
 * many they are, they use up nothing of the others'. */
static bool is_within_rate(page_request *r, bool known)
{
    page_listener *const d = r->listener;
    const double now_s = steady_now_s();
    if (!known) {
        return page_rate_take(&d->refused, now_s);
    }
    return (!d->for_seats ||
            page_rates_take(&d->by_address, page_address_of(r), now_s)) &&
           page_rate_take(&d->rate, now_s);
}

bool page_authorise(page_request *r, const char *method, const char *path)
{
    const bool known =
        path != NULL && is_our_host(r) && is_our_origin(r, method) &&
        (r->listener->for_seats || has_session(r) || opens(r, method, path));
    if (!is_within_rate(r, known)) {
        page_reply_error(r, MHD_HTTP_TOO_MANY_REQUESTS,
                         "too many requests at once; wait a moment");
    } else if (path == NULL) {
        page_reply_error(r, MHD_HTTP_NOT_FOUND, "there is no such thing here");
    } else if (!known) {
        page_reply_error(r, MHD_HTTP_FORBIDDEN,
                         "not from here: open the address that fullminute printed");
    }
    return r->answer.status == 0;
}
