/**
 * @file words.h
 * The function that gives an enumerator's word, from the map that the enumeration is made of.
 */
#ifndef FM_WORDS_H
#define FM_WORDS_H

/** Defines const char *name(type value): its word in map, or "unknown"; count: of the enumerators. */
#define FM_WORD_FUNCTION(name, type, count, map)                                       \
    const char *name(type value)                                                       \
    {                                                                                  \
        static const char *const words[count] = {map(FM_WORD_ENTRY)};                  \
        return (unsigned)value < (unsigned)(count) ? words[value] : "unknown";         \
    }
#define FM_WORD_ENTRY(name, word) [name] = (word),

#endif
