/**
 * @file worksheet_sheet.h
 * The sheet of a worksheet, one page of HTML that prints on A4 and Letter: a table to fill
 * in with a pen. It knows how many items there are and nothing of them.
 */
#ifndef SHEET_WORKSHEET_SHEET_H
#define SHEET_WORKSHEET_SHEET_H

#include <stddef.h>

/**
 * The page, to be freed; NULL without memory.
 *
 * @param title    UTF-8
 * @param[out] n   bytes without the end mark
 */
char *worksheet_sheet_format(const char *title, size_t n_items, size_t *n);

#endif
