/* The plain C side of the link benchmark: the far end, and the loops that the link is measured against.
 *   links source            makes a pty, prints its path, writes decision and credit lines to it as fast as they are taken
 *   links echo              makes a pty, prints its path, sends back what it gets
 *   links read PATH S       blocking reads for S seconds: prints bytes and nanoseconds
 *   links ping PATH N       N round trips of 16 bytes: prints the nanoseconds of each
 */
#define _GNU_SOURCE
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <termios.h>
#include <time.h>
#include <unistd.h>

static char buffer[65536];

static long long now(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return t.tv_sec * 1000000000LL + t.tv_nsec;
}

static int die(const char *what)
{
    perror(what);
    exit(1);
}

static int open_raw(const char *path)
{
    struct termios settings;
    int fd = open(path, O_RDWR | O_NOCTTY);
    if (fd < 0 || tcgetattr(fd, &settings) < 0) die(path);
    cfmakeraw(&settings);
    if (tcsetattr(fd, TCSANOW, &settings) < 0) die(path);
    return fd;
}

static int make_pty(void)
{
    int master = posix_openpt(O_RDWR | O_NOCTTY);
    if (master < 0 || grantpt(master) < 0 || unlockpt(master) < 0) die("pty");
    /* Held open, so that the far end stays while its clients come and go. */
    open_raw(ptsname(master));
    puts(ptsname(master));
    fflush(stdout);
    return master;
}

static void read_all(int fd, int count)
{
    for (int got = 0; got < count;) {
        ssize_t n = read(fd, buffer + got, count - got);
        if (n <= 0) die("read");
        got += n;
    }
}

int main(int argc, char **argv)
{
    if (argc == 2 && !strcmp(argv[1], "source")) {
        int fd = make_pty();
        static const char lines[] = "c 123456 carried 7654321 0.75\nk 123712\n";
        size_t unit = sizeof lines - 1, block = 4096 / unit * unit;
        for (size_t i = 0; i < block; i++) buffer[i] = lines[i % unit];
        for (;;) for (size_t sent = 0; sent < block;) {
            ssize_t n = write(fd, buffer + sent, block - sent);
            if (n < 0) return 0;
            sent += n;
        }
    }
    if (argc == 2 && !strcmp(argv[1], "echo")) {
        int fd = make_pty();
        for (;;) {
            ssize_t n = read(fd, buffer, sizeof buffer);
            if (n <= 0 || write(fd, buffer, n) != n) return 0;
        }
    }
    if (argc == 4 && !strcmp(argv[1], "read")) {
        int fd = open_raw(argv[2]);
        if (read(fd, buffer, sizeof buffer) <= 0) die("read");
        long long begin = now(), end = begin + (long long)(atof(argv[3]) * 1e9), t = begin, bytes = 0;
        while (t < end) {
            ssize_t n = read(fd, buffer, sizeof buffer);
            t = now();
            if (n <= 0) die("read");
            bytes += n;
        }
        printf("%lld %lld\n", bytes, t - begin);
        return 0;
    }
    if (argc == 4 && !strcmp(argv[1], "ping")) {
        int fd = open_raw(argv[2]), count = atoi(argv[3]);
        for (int i = 0; i < count; i++) {
            long long begin = now();
            if (write(fd, "0123456789abcde\n", 16) != 16) die("write");
            read_all(fd, 16);
            printf("%lld\n", now() - begin);
        }
        return 0;
    }
    fprintf(stderr, "usage: links source | echo | read PATH SECONDS | ping PATH COUNT\n");
    return 64;
}
