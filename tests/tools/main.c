/* Runs every measuring tool once on a frame with a hot ring in noise, and prints what it cost. */
#include "board.h"

#define WIDTH 160
#define HEIGHT 120
static uint16_t frame[WIDTH * HEIGHT];

/* Name, and pixels to which the cost is due; 0 if it is not per pixel. */
#define TOOLS(X)                                                                                                       \
  X(tally, WIDTH *HEIGHT) X(sums, WIDTH *HEIGHT) X(measurement, WIDTH *HEIGHT) X(ring, 0) X(sector, 0) X(ellipse, 0)   \
  X(polygon, 0) X(above, WIDTH *HEIGHT) X(change, 2 * WIDTH * HEIGHT) X(profile, 0) X(gaussian, 0) X(exponential, 0)   \
  X(decay, 0) X(knee, 0) X(trace, 0) X(comb, 0) X(pair, 0) X(find_ring, 0) X(find_row, 0) X(like, 0)

#define DECLARE(name, pixels)                                                                                          \
  void tool_##name(const uint16_t *);                                                                                  \
  static void run_##name(void) { tool_##name(frame); }
TOOLS(DECLARE)

static void number(uint32_t value) {
  char text[12];
  int at = 11;
  text[at] = 0;
  do {
    text[--at] = (char)('0' + value % 10);
    value /= 10;
  } while (value);
  board_print(text + at);
}

static void report(const char *name, void (*run)(void), uint32_t pixels) {
  const board_cost cost = board_measure(run);
  board_print(name);
  board_print(" ");
  number(cost.instructions);
  board_print(" ");
  number(cost.stack_bytes);
  board_print(" ");
  number(pixels);
  board_print("\n");
}

int main(void) {
  uint32_t seed = 1;
  for (int y = 0; y < HEIGHT; y++) {
    for (int x = 0; x < WIDTH; x++) {
      const int square = (x - 80) * (x - 80) + (y - 60) * (y - 60);
      /* A linear congruential generator (Numerical Recipes' constants: memory); its upper bits are noise enough. */
      seed = seed * 1664525u + 1013904223u;
      frame[y * WIDTH + x] = (uint16_t)(3000u + (seed >> 28) + (square > 400 && square < 1600 ? 80u : 0u));
    }
  }
  board_print("measurements\n");
#define REPORT(name, pixels) report(#name, run_##name, pixels);
  TOOLS(REPORT)
  return board_counter_is_true() ? 0 : 1;
}
