/**
 * @file page_assets.h
 * The page's files, compiled into the program: nothing a request says reaches the disk.
 */
#ifndef PAGE_PAGE_ASSETS_H
#define PAGE_PAGE_ASSETS_H

#include <stddef.h>

/** One file. */
typedef struct page_asset {
    const char *path; /**< "/app.js" */
    const char *type;
    const unsigned char *data; /**< data[0..n-1] */
    size_t n;
} page_asset;

/** All of them, made at build by web/embed.mjs; the last has path NULL. */
extern const page_asset PAGE_ASSETS[];

#endif
