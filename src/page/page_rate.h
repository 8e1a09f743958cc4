/**
 * @file page_rate.h
 * How many requests a second are looked at: so many at once, and so many a second after; of
 * everybody together, or of each address.
 */
#ifndef PAGE_PAGE_RATE_H
#define PAGE_PAGE_RATE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum {
    PAGE_RATES_MOST = 256 /**< addresses that are told apart at a time */
};

/** State. Plain value. */
typedef struct page_rate {
    double per_s;
    double most; /**< at once */
    double left;
    double at_s;
} page_rate;

page_rate page_rate_of(double per_s, double most);

/** One more at that moment: may it pass? */
bool page_rate_take(page_rate *r, double now_s);

/** Each address's own. Plain value. */
typedef struct page_rates {
    double per_s;
    double most;
    size_t n;
    struct page_rates_one {
        uint32_t address;
        page_rate rate;
    } all[PAGE_RATES_MOST];
} page_rates;

/** Nobody has asked yet. */
void page_rates_init(page_rates *r, double per_s, double most);

/** One more of that address (IPv4, in any byte order): may it pass? Where more addresses come
 *  than are told apart, the one that was quiet longest is forgotten. */
bool page_rates_take(page_rates *r, uint32_t address, double now_s);

#endif
