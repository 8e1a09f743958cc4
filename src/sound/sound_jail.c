#include "src/sound/sound_jail.h"

#include <errno.h>
#include <fcntl.h>
#include <linux/audit.h>
#include <linux/filter.h>
#include <linux/seccomp.h>
#include <signal.h>
#include <stddef.h>
#include <sys/prctl.h>
#include <sys/resource.h>
#include <sys/syscall.h>
#include <unistd.h>

#if defined(__SANITIZE_ADDRESS__) || defined(__SANITIZE_THREAD__)
#define JAIL_SANITIZED
#elif defined(__has_feature)
#if __has_feature(address_sanitizer) || __has_feature(thread_sanitizer)
#define JAIL_SANITIZED
#endif
#endif

enum {
    CPU_S = 15,
    FILES_MOST = 16
};

static const rlim_t MEMORY_BYTES = (rlim_t)2048 * 1024 * 1024;

static bool limit(int what, rlim_t most)
{
    const struct rlimit r = {most, most};
    return setrlimit((__rlimit_resource_t)what, &r) == 0;
}

static bool set_limits(void)
{
    bool ok = limit(RLIMIT_CORE, 0) && limit(RLIMIT_CPU, CPU_S) &&
              limit(RLIMIT_FSIZE, 0) && limit(RLIMIT_NOFILE, FILES_MOST);
#if !defined(JAIL_SANITIZED)
    ok = limit(RLIMIT_AS, MEMORY_BYTES) &&
         ok; /* sanitizers map far more than they use */
#else
    (void)MEMORY_BYTES;
#endif
    return ok;
}

#if defined(__x86_64__)
#define JAIL_ARCH AUDIT_ARCH_X86_64
#elif defined(__aarch64__)
#define JAIL_ARCH AUDIT_ARCH_AARCH64
#endif

#if defined(JAIL_ARCH)

#define JAIL_ALLOW(name)                                                               \
    BPF_JUMP(BPF_JMP | BPF_JEQ | BPF_K, (unsigned)(name), 0, 1),                       \
        BPF_STMT(BPF_RET | BPF_K, SECCOMP_RET_ALLOW)

/* Refused calls fail as if forbidden, so that a library which asks for the time zone or a
 * locale goes on without. */
static bool filter_calls(void)
{
    struct sock_filter program[] = {
        BPF_STMT(BPF_LD | BPF_W | BPF_ABS, offsetof(struct seccomp_data, arch)),
        BPF_JUMP(BPF_JMP | BPF_JEQ | BPF_K, JAIL_ARCH, 1, 0),
        BPF_STMT(BPF_RET | BPF_K, SECCOMP_RET_KILL_PROCESS),
        BPF_STMT(BPF_LD | BPF_W | BPF_ABS, offsetof(struct seccomp_data, nr)),
        JAIL_ALLOW(SYS_read),
        JAIL_ALLOW(SYS_write),
        JAIL_ALLOW(SYS_pread64),
        JAIL_ALLOW(SYS_lseek),
        JAIL_ALLOW(SYS_close),
        JAIL_ALLOW(SYS_fstat),
        JAIL_ALLOW(SYS_newfstatat),
        JAIL_ALLOW(SYS_dup),
        JAIL_ALLOW(SYS_fcntl),
        JAIL_ALLOW(SYS_mmap),
        JAIL_ALLOW(SYS_munmap),
        JAIL_ALLOW(SYS_mremap),
        JAIL_ALLOW(SYS_brk),
        JAIL_ALLOW(SYS_madvise),
        JAIL_ALLOW(SYS_futex),
        JAIL_ALLOW(SYS_rt_sigprocmask),
        JAIL_ALLOW(SYS_rt_sigreturn),
        JAIL_ALLOW(SYS_clock_gettime),
        JAIL_ALLOW(SYS_getrandom),
        JAIL_ALLOW(SYS_exit),
        JAIL_ALLOW(SYS_exit_group),
        BPF_STMT(BPF_RET | BPF_K, SECCOMP_RET_ERRNO | EPERM),
    };
    const struct sock_fprog all = {.len = sizeof program / sizeof program[0],
                                   .filter = program};
    return prctl(PR_SET_SECCOMP, SECCOMP_MODE_FILTER, &all) == 0;
}

#else

static bool filter_calls(void)
{
    return true; /* the limits alone */
}

#endif

bool sound_jail_enter(void)
{
    (void)prctl(PR_SET_PDEATHSIG, SIGKILL);
    const int nowhere = open("/dev/null", O_WRONLY);
    if (nowhere >= 0) {
        (void)dup2(nowhere, STDERR_FILENO);
    }
    const long most = sysconf(_SC_OPEN_MAX);
    for (int fd = STDERR_FILENO + 1; fd < (most > 0 && most < 65536 ? most : 65536);
         fd++) {
        (void)close(fd);
    }
    return prctl(PR_SET_NO_NEW_PRIVS, 1, 0, 0, 0) == 0 && set_limits() &&
           filter_calls();
}
