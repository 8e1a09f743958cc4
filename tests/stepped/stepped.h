/**
 * @file stepped.h
 * A clock that a test steps, linked in place of src/host/steady.c. Time stands still but in
 * stepped_go and in the waits of the program's main thread, which take no time at all; works
 * (steady_task_start) are done in them, one after the other, in the order of their moments.
 * So a sitting of a minute takes milliseconds and goes the same way each time.
 *
 * A whole program (fullminute_stepped) runs as far as the file that STEPPED_CLOCK names
 * says, in seconds since its start, and stands there until the file says more; without
 * STEPPED_CLOCK it never stands.
 */
#ifndef STEPPED_STEPPED_H
#define STEPPED_STEPPED_H

/** Let that much time go by; any thread, in turn, and no work. */
void stepped_go(double seconds);

/** The same while the program is stopped: no work is done meanwhile. */
void stepped_stand(double seconds);

#endif
