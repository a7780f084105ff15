/* The brake check as a program of a hosted C environment: the report on standard output. */
#include <stdio.h>

#include "brake.h"

static void print(const char *text) { fputs(text, stdout); }

int main(void) {
  const int status = brake_run(print);
  if (status != 0) {
    fprintf(stderr, "stopped: %s\n", oddheat_status_text(status));
  }
  return status == 0 ? 0 : 1;
}
