/**
 * @file offline.h
 * No way to a network, for a program of somebody else's that is started to convert a file.
 */
#ifndef HOST_OFFLINE_H
#define HOST_OFFLINE_H

#include <stdbool.h>

/**
 * From now on this process and all that it starts can open sockets to this computer's own
 * programs (AF_UNIX) and to its kernel (AF_NETLINK) only. There is no way back: call it in a
 * child.
 *
 * Not real-time safe; after fork it may be called (it only makes system calls).
 *
 * @return false: this system has no such filter (Linux on x86-64 and arm64 does)
 */
bool offline_enter(void);

#endif
