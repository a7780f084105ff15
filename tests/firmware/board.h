/* What the image needs from the machine: a console, an end, and two instruments. */
#ifndef BOARD_H
#define BOARD_H

#include <stdint.h>

/** Prints on the host's console. */
void board_print(const char *text);
/** Ends the emulator with exit code 0 if ok, else 1. */
void board_exit(int ok);

/** What one call cost. */
typedef struct board_cost {
  uint32_t instructions; /**< Instructions, in steps of 40. */
  uint32_t stack_bytes;  /**< Bytes of stack that the call wrote to, its return address included. */
} board_cost;

/** Calls once and measures. */
board_cost board_measure(void (*call)(void));
/** 1 if the instruction counter counts as documented here. */
int board_counter_is_true(void);

#endif
