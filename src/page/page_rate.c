#include "src/page/page_rate.h"

#include <math.h>

page_rate page_rate_of(double per_s, double most)
{
    return (page_rate){.per_s = per_s, .most = most, .left = most};
}

bool page_rate_take(page_rate *r, double now_s)
{
    if (now_s > r->at_s) {
        r->left = fmin(r->most, r->left + (now_s - r->at_s) * r->per_s);
        r->at_s = now_s;
    }
    if (r->left < 1.0) {
        return false;
    }
    r->left -= 1.0;
    return true;
}

void page_rates_init(page_rates *r, double per_s, double most)
{
    r->per_s = per_s;
    r->most = most;
    r->n = 0;
}

/* The one of that address, or a place for it. */
static struct page_rates_one *find(page_rates *r, uint32_t address)
{
    struct page_rates_one *quiet = &r->all[0];
    for (size_t i = 0; i < r->n; i++) {
        struct page_rates_one *const one = &r->all[i];
        if (one->address == address) {
            return one;
        }
        quiet = one->rate.at_s < quiet->rate.at_s ? one : quiet;
    }
    if (r->n < PAGE_RATES_MOST) {
        quiet = &r->all[r->n++];
    }
    *quiet = (struct page_rates_one){.address = address,
                                     .rate = page_rate_of(r->per_s, r->most)};
    return quiet;
}

bool page_rates_take(page_rates *r, uint32_t address, double now_s)
{
    return page_rate_take(&find(r, address)->rate, now_s);
}
