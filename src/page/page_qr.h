/**
 * @file page_qr.h
 * An address as a square code that a phone's camera reads.
 */
#ifndef PAGE_PAGE_QR_H
#define PAGE_PAGE_QR_H

/** SVG, to be freed; NULL without memory. */
char *page_qr_draw(const char *text);

#endif
