/* Moves the time of day, and nothing else, of the process it is loaded into: by as many seconds as the file MOVED_CLOCK holds. */
#define _GNU_SOURCE
#include <dlfcn.h>
#include <fcntl.h>
#include <stdlib.h>
#include <sys/time.h>
#include <time.h>
#include <unistd.h>

static long offset(void)
{
    const char *path = getenv("MOVED_CLOCK");
    char text[32] = {0};
    int file = path ? open(path, O_RDONLY | O_CLOEXEC) : -1;
    if (file < 0) { return 0; }
    long n = read(file, text, sizeof text - 1);
    close(file);
    return n > 0 ? strtol(text, NULL, 10) : 0;
}

int clock_gettime(clockid_t clock, struct timespec *now)
{
    static int (*real)(clockid_t, struct timespec *);
    if (!real) { real = (int (*)(clockid_t, struct timespec *))dlsym(RTLD_NEXT, "clock_gettime"); }
    int result = real(clock, now);
    if (result == 0 && (clock == CLOCK_REALTIME || clock == CLOCK_REALTIME_COARSE)) { now->tv_sec += offset(); }
    return result;
}

int gettimeofday(struct timeval *restrict now, void *restrict zone)
{
    (void)zone;
    struct timespec real;
    int result = clock_gettime(CLOCK_REALTIME, &real);
    now->tv_sec = real.tv_sec;
    now->tv_usec = real.tv_nsec / 1000;
    return result;
}
