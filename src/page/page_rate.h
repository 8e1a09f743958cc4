/**
 * @file page_rate.h
 * How many requests a second are looked at: so many at once, and so many a second after.
 */
#ifndef PAGE_PAGE_RATE_H
#define PAGE_PAGE_RATE_H

#include <stdbool.h>

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

#endif
