/**
 * What libraries print on stderr by themselves, kept from where a person looks.
 */
#ifndef FULLMINUTE_SRC_BASE_ASIDE_H
#define FULLMINUTE_SRC_BASE_ASIDE_H

/**
 * Points the whole process's descriptor of stderr nowhere.
 * @return where it pointed, as a descriptor of its own for what should still be said and for
 *         aside_end(); -1: nothing was changed (no descriptor left)
 */
int aside_begin(void);

/** Points stderr back to `kept` and closes that. -1: does nothing. */
void aside_end(int kept);

#endif
