/* Preloaded: the clock that programs time themselves with becomes the processor time of the calling thread, so that what
 * else runs on the machine takes caches but no time. Both sides of a comparison run on one thread. */
#define _GNU_SOURCE
#include <sys/syscall.h>
#include <time.h>
#include <unistd.h>

int clock_gettime(clockid_t clock, struct timespec *time) {
  return (int)syscall(SYS_clock_gettime, clock == CLOCK_MONOTONIC ? CLOCK_THREAD_CPUTIME_ID : clock, time);
}
