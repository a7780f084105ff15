/* Start-up, semihosting and measuring on a Cortex-M4 in the emulator. */
#include "board.h"

#include <stddef.h>

extern uint32_t data_start, data_end, data_load, bss_start, bss_end, stack_bottom, stack_top;

int main(void);
void reset(void);

/* Semihosting operations SYS_WRITE0 and SYS_EXIT and the reason ADP_Stopped_ApplicationExit (Arm's semihosting
 * specification: memory). */
#define SYS_WRITE0 0x04
#define SYS_EXIT 0x18
#define APPLICATION_EXIT 0x20026u
#define RUN_TIME_ERROR 0x20023u

static void semihosting(uint32_t operation, uint32_t argument) {
  register uint32_t r0 __asm__("r0") = operation;
  register uint32_t r1 __asm__("r1") = argument;
  __asm__ volatile("bkpt 0xAB" : "+r"(r0) : "r"(r1) : "memory");
}

void board_print(const char *text) { semihosting(SYS_WRITE0, (uint32_t)(uintptr_t)text); }

void board_exit(int ok) {
  semihosting(SYS_EXIT, ok ? APPLICATION_EXIT : RUN_TIME_ERROR);
  for (;;) {
  }
}

static void fault(void) {
  board_print("fault\n");
  board_exit(0);
}

void reset(void) {
  const uint32_t *from = &data_load;
  for (uint32_t *to = &data_start; to < &data_end; to++) {
    *to = *from++;
  }
  for (uint32_t *to = &bss_start; to < &bss_end; to++) {
    *to = 0;
  }
  board_exit(main() == 0);
}

/* Initial stack, reset, and one handler for the six faults and system calls before PendSV. */
__attribute__((section(".vectors"), used)) static const struct {
  uint32_t *stack;
  void (*handlers[11])(void);
} vectors = {&stack_top, {reset, fault, fault, fault, fault, fault, 0, 0, 0, 0, fault}};

/* SysTick of the Armv7-M architecture: control, reload, current value. It counts down at the core's 25 MHz; with
 * `-icount shift=0` an instruction takes 1 ns, so a tick is 40 instructions (read from the emulator's behavior and
 * checked in board_counter_is_true). */
#define SYSTICK ((volatile uint32_t *)0xE000E010u)
#define LONGEST 0x00FFFFFFu
#define INSTRUCTIONS_PER_TICK 40u

static void start_counter(void) {
  SYSTICK[0] = 0;
  SYSTICK[1] = LONGEST;
  SYSTICK[2] = 0;
  SYSTICK[0] = 5; /* on, from the core's clock, no interrupt */
}

static uint32_t ticks_since(uint32_t start) { return (start - SYSTICK[2]) & LONGEST; }

int board_counter_is_true(void) {
  uint32_t loops = 200000;
  start_counter();
  const uint32_t start = SYSTICK[2];
  __asm__ volatile(".syntax unified\n1: subs %0, %0, #1\n bne 1b" : "+l"(loops) : : "cc");
  const uint32_t ticks = ticks_since(start);
  /* Two instructions a turn: 400,000 of them. One tick for reading. */
  return ticks >= 10000u && ticks <= 10001u;
}

#define PAINT 0xDEC0ADDEu

static void nothing(void) {}

static board_cost raw(void (*call)(void)) {
  uint32_t *sp;
  /* The stack pointer does not change within a function, so this is where the call's own stack begins. */
  __asm__ volatile("mov %0, sp" : "=r"(sp));
  volatile uint32_t *low = &stack_bottom;
  for (volatile uint32_t *p = low; p < sp; p++) {
    *p = PAINT;
  }
  start_counter();
  const uint32_t start = SYSTICK[2];
  call();
  const uint32_t ticks = ticks_since(start);
  while (low < sp && *low == PAINT) {
    low++;
  }
  board_cost cost;
  cost.instructions = ticks * INSTRUCTIONS_PER_TICK;
  cost.stack_bytes = (uint32_t)((uintptr_t)sp - (uintptr_t)low);
  return cost;
}

board_cost board_measure(void (*call)(void)) {
  const board_cost empty = raw(nothing);
  board_cost cost = raw(call);
  cost.instructions -= empty.instructions < cost.instructions ? empty.instructions : cost.instructions;
  return cost;
}
