/* What a test program needs: conditions that print where they failed, and memory that shows who wrote to it. */
#ifndef EXPECT_H
#define EXPECT_H

#include <stdio.h>
#include <string.h>

#include "oddheat.h"

static int expect_failures;

static inline void expect(int holds, const char *what, int line) {
  if (!holds) {
    printf("line %d: %s\n", line, what);
    expect_failures++;
  }
}

static inline void expect_status(int wanted, int got, const char *call, int line) {
  if (wanted != got) {
    printf("line %d: %s gave %d (%s), wanted %d\n", line, call, got, oddheat_status_text(got), wanted);
    expect_failures++;
  }
}

/** A condition that must hold. */
#define EXPECT(condition) expect((condition) != 0, #condition, __LINE__)
/** A call that must return a status: EXPECT_STATUS(ERR_NULL, oddheat_init(...)). */
#define EXPECT_STATUS(wanted, call) expect_status((int)ODDHEAT_STATUS_##wanted, (int)(call), #call, __LINE__)
/** Fills an object with a pattern, so that UNTOUCHED can tell whether anything was written to it. */
#define GUARD(object) memset(&(object), 0xA5, sizeof(object))
#define UNTOUCHED(object) all_bytes(&(object), sizeof(object), 0xA5)

static inline int all_bytes(const void *memory, size_t size, unsigned char value) {
  const unsigned char *bytes = (const unsigned char *)memory;
  for (size_t i = 0; i < size; i++) {
    if (bytes[i] != value) {
      return 0;
    }
  }
  return 1;
}

#endif
