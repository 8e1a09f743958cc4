/* A seccomp filter on socket(): what has no socket of a network sends nothing, whatever it
 * resolves or connects to. The kernel's Documentation/userspace-api/seccomp_filter.rst. */
#include "src/host/offline.h"

#include <errno.h>
#include <linux/audit.h>
#include <linux/filter.h>
#include <linux/seccomp.h>
#include <stddef.h>
#include <sys/prctl.h>
#include <sys/socket.h>
#include <sys/syscall.h>

#if defined(__x86_64__)
#define OFFLINE_ARCH AUDIT_ARCH_X86_64
#elif defined(__aarch64__)
#define OFFLINE_ARCH AUDIT_ARCH_AARCH64
#endif

#if defined(OFFLINE_ARCH)

/* System calls by the second table of x86-64 (x32), which have this bit. */
#define X32_BIT 0x40000000U

#define REFUSE(cause) BPF_STMT(BPF_RET | BPF_K, SECCOMP_RET_ERRNO | (cause))
#define ALLOW         BPF_STMT(BPF_RET | BPF_K, SECCOMP_RET_ALLOW)
#define LOAD(member)                                                                   \
    BPF_STMT(BPF_LD | BPF_W | BPF_ABS, offsetof(struct seccomp_data, member))
/* Where it is so, the next instruction; else the one behind it. */
#define WHERE(value) BPF_JUMP(BPF_JMP | BPF_JEQ | BPF_K, (unsigned)(value), 0, 1)

bool offline_enter(void)
{
    struct sock_filter program[] = {
        LOAD(arch),
        BPF_JUMP(BPF_JMP | BPF_JEQ | BPF_K, OFFLINE_ARCH, 1, 0),
        REFUSE(ENOSYS),
        LOAD(nr),
        BPF_JUMP(BPF_JMP | BPF_JGE | BPF_K, X32_BIT, 0, 1),
        REFUSE(ENOSYS),
        /* Another way to sockets. */
        WHERE(SYS_io_uring_setup),
        REFUSE(ENOSYS),
        BPF_JUMP(BPF_JMP | BPF_JEQ | BPF_K, SYS_socket, 1, 0),
        ALLOW,
        LOAD(args[0]), /* the low half of it on these two, which is all of a family */
        WHERE(AF_UNIX),
        ALLOW,
        WHERE(AF_NETLINK),
        ALLOW,
        REFUSE(EAFNOSUPPORT),
    };
    const struct sock_fprog all = {.len = sizeof program / sizeof program[0],
                                   .filter = program};
    return prctl(PR_SET_NO_NEW_PRIVS, 1, 0, 0, 0) == 0 &&
           prctl(PR_SET_SECCOMP, SECCOMP_MODE_FILTER, &all) == 0;
}

#else

bool offline_enter(void)
{
    return false;
}

#endif
