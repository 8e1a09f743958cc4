/*
 * Preloaded into a program, makes its Nth call of one kind fail: see nth.py, which reads what
 * this says. Linux on x86-64 or aarch64 with glibc.
 *
 *   NTH_PAGE  a file of sizeof(struct page) bytes that is shared with whoever looks
 *   NTH_KIND  write, fsync, rename, read: calls of the system, whoever makes them (also stdio
 *             and SQLite), trapped by seccomp
 *             memory: malloc, calloc, realloc; fork: fork, posix_spawn, pthread_create
 *   NTH_N     which one fails, from 1; 0: none, they are counted
 *
 * Counted from main on, children of fork included; what a child executes is not (the filter
 * would kill it: keep such programs out of PATH). A crash is written down with the object and
 * the function in which it happened, the C library's own frames left out.
 */
#define _GNU_SOURCE
#include <dlfcn.h>
#include <errno.h>
#include <execinfo.h>
#include <fcntl.h>
#include <linux/audit.h>
#include <linux/filter.h>
#include <linux/seccomp.h>
#include <pthread.h>
#include <signal.h>
#include <spawn.h>
#include <stdatomic.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <sys/prctl.h>
#include <sys/syscall.h>
#include <ucontext.h>
#include <unistd.h>

enum {
    WORD_BYTES = 128,
    FRAMES = 32,
    FILTER_MOST = 64
};

/* As nth.py reads it. */
struct page {
    _Atomic uint64_t calls;
    _Atomic uint64_t failed; /* 1: the Nth was made, and failed */
    char who[WORD_BYTES];    /* object, offset and function that made it */
    char crash[WORD_BYTES];  /* the same of a crash */
};

/* These stand in for functions of the system, under their own names.
 * NOLINTBEGIN(readability-inconsistent-declaration-parameter-name,readability-identifier-naming,bugprone-signal-handler) */

static struct page *page;
static uint64_t wanted;
static bool counts_memory, counts_forks;
static atomic_bool armed;

/* ---- The system's calls, from one place that the filter lets through ---- */

#if defined __x86_64__
#define REG(c, name) ((c)->uc_mcontext.gregs[name])
#define ARCH         AUDIT_ARCH_X86_64
__asm__(".text\n.globl nth_syscall\n.globl nth_syscall_after\n.hidden nth_syscall\n"
        ".hidden nth_syscall_after\n.type nth_syscall,@function\nnth_syscall:\n"
        "mov %rdi,%rax\nmov %rsi,%rdi\nmov %rdx,%rsi\nmov %rcx,%rdx\nmov %r8,%r10\n"
        "mov %r9,%r8\nmov 8(%rsp),%r9\nsyscall\nnth_syscall_after:\nret\n");
#elif defined __aarch64__
#define ARCH AUDIT_ARCH_AARCH64
__asm__(".text\n.globl nth_syscall\n.globl nth_syscall_after\n.hidden nth_syscall\n"
        ".hidden nth_syscall_after\n.type nth_syscall,%function\nnth_syscall:\n"
        "mov x8,x0\nmov x0,x1\nmov x1,x2\nmov x2,x3\nmov x3,x4\nmov x4,x5\nmov x5,x6\n"
        "svc #0\nnth_syscall_after:\nret\n");
#else
#error "only x86-64 and aarch64"
#endif
long nth_syscall(long number, long a, long b, long c, long d, long e, long f);
extern const char nth_syscall_after[];

/* ---- Who ---- */

static bool is_libc(const char *object)
{
    return strstr(object, "/libc.so") != NULL || strstr(object, "/ld-linux") != NULL ||
           strstr(object, "nth_call") != NULL;
}

static size_t add(char to[WORD_BYTES], size_t k, const char *text)
{
    for (; *text != '\0' && k < WORD_BYTES - 1; text++) {
        to[k++] = *text;
    }
    to[k] = '\0';
    return k;
}

static size_t add_hex(char to[WORD_BYTES], size_t k, uintptr_t value)
{
    char digits[2 * sizeof value + 1];
    size_t i = sizeof digits - 1;
    digits[i] = '\0';
    do {
        digits[--i] = "0123456789abcdef"[value % 16];
        value /= 16;
    } while (value != 0);
    return add(to, k, digits + i);
}

/* The first frame that is not the C library's: "object offset symbol". */
static void write_down(char to[WORD_BYTES], void **frames, int n)
{
    for (int i = 0; i < n; i++) {
        Dl_info info;
        if (dladdr(frames[i], &info) == 0 || info.dli_fname == NULL ||
            is_libc(info.dli_fname)) {
            continue;
        }
        const char *const slash = strrchr(info.dli_fname, '/');
        size_t k = add(to, 0, slash != NULL ? slash + 1 : info.dli_fname);
        k = add(to, k, " ");
        k = add_hex(to, k, (uintptr_t)frames[i] - (uintptr_t)info.dli_fbase);
        k = add(to, k, " ");
        (void)add(to, k, info.dli_sname != NULL ? info.dli_sname : "?");
        return;
    }
}

static void note_who(void)
{
    void *frames[FRAMES];
    atomic_store(&armed, false); /* what backtrace takes is not counted */
    write_down(page->who, frames, backtrace(frames, FRAMES));
    atomic_store(&page->failed, 1);
    atomic_store(&armed, true);
}

/* True: this one fails. */
static bool is_the_nth(void)
{
    return atomic_load(&armed) && atomic_fetch_add(&page->calls, 1) + 1 == wanted;
}

static void crashed(int number)
{
    void *frames[FRAMES];
    atomic_store(&armed, false);
    write_down(page->crash, frames, backtrace(frames, FRAMES));
    (void)signal(number, SIG_DFL);
    (void)raise(number);
}

/* ---- Trapped calls ---- */

static int error_of(long number)
{
    switch (number) {
    case SYS_read:
    case SYS_pread64:
    case SYS_readv:
    case SYS_fsync:
    case SYS_fdatasync:
        return EIO;
    default:
        return ENOSPC;
    }
}

static void trapped(int signal_number, siginfo_t *info, void *context)
{
    (void)signal_number;
    ucontext_t *const u = context;
    const int kept = errno;
    const long number = info->si_syscall;
    const bool fails = is_the_nth();
    if (fails) {
        note_who();
    }
#if defined __x86_64__
    const long result =
        fails ? -error_of(number)
              : nth_syscall(number, REG(u, REG_RDI), REG(u, REG_RSI), REG(u, REG_RDX),
                            REG(u, REG_R10), REG(u, REG_R8), REG(u, REG_R9));
    REG(u, REG_RAX) = result;
#else
    unsigned long long *const r = u->uc_mcontext.regs;
    const long result = fails ? -error_of(number)
                              : nth_syscall(number, (long)r[0], (long)r[1], (long)r[2],
                                            (long)r[3], (long)r[4], (long)r[5]);
    r[0] = (unsigned long long)result;
#endif
    errno = kept;
}

static const long WRITES[] = {SYS_write, SYS_pwrite64, SYS_writev, -1};
static const long SYNCS[] = {SYS_fsync, SYS_fdatasync, -1};
static const long READS[] = {SYS_read, SYS_pread64, SYS_readv, -1};
#if defined __x86_64__
static const long RENAMES[] = {SYS_rename, SYS_renameat, SYS_renameat2,
                               SYS_link,   SYS_linkat,   -1};
#else
static const long RENAMES[] = {SYS_renameat, SYS_renameat2, SYS_linkat, -1};
#endif

static bool trap(const long *numbers)
{
    struct sock_filter f[FILTER_MOST];
    unsigned short n = 0;
    const uint64_t after = (uint64_t)(uintptr_t)nth_syscall_after;
    f[n++] = (struct sock_filter)BPF_STMT(
        BPF_LD | BPF_W | BPF_ABS, offsetof(struct seccomp_data, instruction_pointer));
    f[n++] =
        (struct sock_filter)BPF_JUMP(BPF_JMP | BPF_JEQ | BPF_K, (uint32_t)after, 0, 3);
    f[n++] = (struct sock_filter)BPF_STMT(
        BPF_LD | BPF_W | BPF_ABS,
        offsetof(struct seccomp_data, instruction_pointer) + 4);
    f[n++] = (struct sock_filter)BPF_JUMP(BPF_JMP | BPF_JEQ | BPF_K,
                                          (uint32_t)(after >> 32), 0, 1);
    f[n++] = (struct sock_filter)BPF_STMT(BPF_RET | BPF_K, SECCOMP_RET_ALLOW);
    f[n++] = (struct sock_filter)BPF_STMT(BPF_LD | BPF_W | BPF_ABS,
                                          offsetof(struct seccomp_data, nr));
    for (; *numbers >= 0; numbers++) {
        f[n++] = (struct sock_filter)BPF_JUMP(BPF_JMP | BPF_JEQ | BPF_K,
                                              (uint32_t)*numbers, 0, 1);
        f[n++] = (struct sock_filter)BPF_STMT(BPF_RET | BPF_K, SECCOMP_RET_TRAP);
    }
    f[n++] = (struct sock_filter)BPF_STMT(BPF_RET | BPF_K, SECCOMP_RET_ALLOW);
    const struct sock_fprog program = {.len = n, .filter = f};
    struct sigaction action = {.sa_sigaction = trapped, .sa_flags = SA_SIGINFO};
    return sigaction(SIGSYS, &action, NULL) == 0 &&
           prctl(PR_SET_NO_NEW_PRIVS, 1, 0, 0, 0) == 0 &&
           prctl(PR_SET_SECCOMP, SECCOMP_MODE_FILTER, &program) == 0;
}

static const int CRASHES[] = {SIGSEGV, SIGBUS, SIGFPE, SIGILL, SIGABRT};

/* A trap whose signal is blocked kills; and of a crash nobody would know where it was. */
static int mask(int (*real)(int, const sigset_t *, sigset_t *),
                int how,
                const sigset_t *set,
                sigset_t *old)
{
    sigset_t open;
    if (set == NULL || how == SIG_UNBLOCK) {
        return real(how, set, old);
    }
    open = *set;
    (void)sigdelset(&open, SIGSYS);
    for (size_t i = 0; i < sizeof CRASHES / sizeof CRASHES[0]; i++) {
        (void)sigdelset(&open, CRASHES[i]);
    }
    return real(how, &open, old);
}

int pthread_sigmask(int how, const sigset_t *set, sigset_t *old)
{
    static int (*real)(int, const sigset_t *, sigset_t *);
    if (real == NULL) {
        *(void **)&real = dlsym(RTLD_NEXT, "pthread_sigmask");
    }
    return mask(real, how, set, old);
}

int sigprocmask(int how, const sigset_t *set, sigset_t *old)
{
    return pthread_sigmask(how, set, old);
}

/* ---- Memory, processes, threads ---- */

extern void *__libc_malloc(size_t n);
extern void *__libc_calloc(size_t n, size_t size);
extern void *__libc_realloc(void *p, size_t n);

static bool memory_fails(void)
{
    const bool fails = counts_memory && is_the_nth();
    if (fails) {
        note_who();
        errno = ENOMEM;
    }
    return fails;
}

void *malloc(size_t n)
{
    return memory_fails() ? NULL : __libc_malloc(n);
}

void *calloc(size_t n, size_t size)
{
    return memory_fails() ? NULL : __libc_calloc(n, size);
}

void *realloc(void *p, size_t n)
{
    return memory_fails() ? NULL : __libc_realloc(p, n);
}

static bool fork_fails(void)
{
    const bool fails = counts_forks && is_the_nth();
    if (fails) {
        note_who();
    }
    return fails;
}

pid_t fork(void)
{
    pid_t (*real)(void);
    *(void **)&real = dlsym(RTLD_NEXT, "fork");
    if (fork_fails()) {
        errno = EAGAIN;
        return -1;
    }
    return real();
}

int posix_spawn(pid_t *pid,
                const char *path,
                const posix_spawn_file_actions_t *actions,
                const posix_spawnattr_t *attributes,
                char *const argv[],
                char *const environment[])
{
    int (*real)(pid_t *, const char *, const posix_spawn_file_actions_t *,
                const posix_spawnattr_t *, char *const *, char *const *);
    *(void **)&real = dlsym(RTLD_NEXT, "posix_spawn");
    return fork_fails() ? EAGAIN
                        : real(pid, path, actions, attributes, argv, environment);
}

int pthread_create(pthread_t *thread,
                   const pthread_attr_t *attributes,
                   void *(*work)(void *),
                   void *context)
{
    int (*real)(pthread_t *, const pthread_attr_t *, void *(*)(void *), void *);
    *(void **)&real = dlsym(RTLD_NEXT, "pthread_create");
    return fork_fails() ? EAGAIN : real(thread, attributes, work, context);
}

/* ---- Begin ---- */

static void arm(void)
{
    const char *const path = getenv("NTH_PAGE");
    const char *const kind = getenv("NTH_KIND");
    const char *const n = getenv("NTH_N");
    if (path == NULL || kind == NULL || n == NULL) {
        return;
    }
    const int fd = open(path, O_RDWR | O_CLOEXEC);
    void *const at =
        fd >= 0 ? mmap(NULL, sizeof *page, PROT_READ | PROT_WRITE, MAP_SHARED, fd, 0)
                : MAP_FAILED;
    if (at == MAP_FAILED) {
        _exit(99);
    }
    (void)close(fd);
    page = at;
    wanted = strtoull(n, NULL, 10);
    void *frames[2];
    (void)backtrace(frames, 2); /* which loads what it needs */
    for (size_t i = 0; i < sizeof CRASHES / sizeof CRASHES[0]; i++) {
        (void)signal(CRASHES[i], crashed);
    }
    counts_memory = strcmp(kind, "memory") == 0;
    counts_forks = strcmp(kind, "fork") == 0;
    const long *const numbers = strcmp(kind, "write") == 0    ? WRITES
                                : strcmp(kind, "fsync") == 0  ? SYNCS
                                : strcmp(kind, "rename") == 0 ? RENAMES
                                : strcmp(kind, "read") == 0   ? READS
                                                              : NULL;
    if (numbers != NULL && !trap(numbers)) {
        _exit(98); /* no such filter here */
    }
    atomic_store(&armed, true);
}

/* From main on: what the loader and the libraries take before it is theirs. */
static int (*real_main)(int, char **, char **);

static int main_after(int argc, char **argv, char **environment)
{
    arm();
    return real_main(argc, argv, environment);
}

int __libc_start_main(int (*begin)(int, char **, char **),
                      int argc,
                      char **argv,
                      void (*init)(void),
                      void (*fini)(void),
                      void (*rtld_fini)(void),
                      void *stack_end)
{
    int (*real)(int (*)(int, char **, char **), int, char **, void (*)(void),
                void (*)(void), void (*)(void), void *);
    *(void **)&real = dlsym(RTLD_NEXT, "__libc_start_main");
    real_main = begin;
    return real(main_after, argc, argv, init, fini, rtld_fini, stack_end);
}
/* NOLINTEND(readability-inconsistent-declaration-parameter-name,readability-identifier-naming,bugprone-signal-handler)
 */
