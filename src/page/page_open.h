/**
 * @file page_open.h
 * Opening the person's browser at an address with a secret in it. The secret goes by way
 * of a private file, for every user of a computer can read the words of a command.
 */
#ifndef PAGE_PAGE_OPEN_H
#define PAGE_PAGE_OPEN_H

/** Open http://HOST/open?token=TOKEN; where there is no browser, nothing. */
void page_open_browser(const char *host, const char *token);

/** Remove the private file. */
void page_open_forget(void);

#endif
