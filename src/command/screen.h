/**
 * @file screen.h
 * A screen of text on the terminal, redrawn in place. While it is open, what sound libraries
 * print on stderr by themselves goes nowhere: it would spoil what stands there.
 */
#ifndef COMMAND_SCREEN_H
#define COMMAND_SCREEN_H

#include <stdio.h>

enum {
    SCREEN_BYTES = 4096
};

/** The screen. Opened by screen_open; screen_close gives everything back. */
typedef struct screen {
    FILE *to; /**< stderr, or where that pointed before it was put aside */
    int kept; /**< for aside_end; -1: stderr was left alone */
    char drawn[SCREEN_BYTES];
} screen;

/** stderr is put aside where it and standard input are terminals; else it is the screen. */
void screen_open(screen *s);

/** The descriptor of the screen, for live_keys_open. */
int screen_descriptor(const screen *s);

/** A page of its own, the cursor hidden; the keys give the old one back when they close. */
void screen_begin(const screen *s);

/**
 * Redraw in place, if anything has changed.
 *
 * @param text  lines ended by '\n', less than SCREEN_BYTES
 */
void screen_draw(screen *s, const char *text);

void screen_close(screen *s);

#endif
