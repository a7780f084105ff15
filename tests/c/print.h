/* How the programs whose lines are compared with the core print a double: by its bits. */
#ifndef PRINT_H
#define PRINT_H

#include <inttypes.h>

#include "expect.h"

static inline void number(const char *name, double value) {
  uint64_t bits;
  memcpy(&bits, &value, sizeof bits);
  printf("%s %016" PRIx64 "\n", name, bits);
}

static inline void estimate(const char *name, oddheat_estimate of) {
  number(name, of.value);
  number(name, of.uncertainty);
}

#endif
