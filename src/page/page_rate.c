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
