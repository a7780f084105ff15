/* An invented scene for the programs that measure and show it. The Rust tests draw the same in
 * tests/c_programs/scene.rs.
 */
#ifndef SCENE_H
#define SCENE_H

#include "print.h"

#define WIDTH 48
#define HEIGHT 32

static uint16_t frame[HEIGHT][WIDTH];

/** A warm disc on a slope, noise of 0 to 3 counts that differs from frame to frame, a dead and a saturated pixel. */
static inline void expose(uint32_t t) {
  uint32_t bits = t + 1u;
  for (uint32_t y = 0; y < HEIGHT; y++) {
    for (uint32_t x = 0; x < WIDTH; x++) {
      const int dx = (int)x - 24, dy = (int)y - 16;
      /* Linear congruential generator of Numerical Recipes (memory). */
      bits = bits * 1664525u + 1013904223u;
      frame[y][x] = (uint16_t)(7000u + 10u * x + 4u * y + (dx * dx + dy * dy < 60 ? 2400u : 0u) + (bits >> 30));
    }
  }
  frame[16][20] = 0;
  frame[17][21] = 16383;
}

/** A long-wave sensor in front of a surface of emissivity 0.95. */
static inline oddheat_config scene_config(uint16_t saturated_at_counts) {
  oddheat_config config;
  EXPECT_STATUS(OK, oddheat_config_init(&config, WIDTH, HEIGHT));
  config.saturated_at_counts = saturated_at_counts;
  config.curve_a_um = 9.36;
  config.curve_b_um_k = 178.0;
  config.curve_c_counts = 1000000.0;
  config.emissivity_q15 = ODDHEAT_Q15(0.95);
  config.emissivity_u_q15 = ODDHEAT_Q15(0.02);
  config.reflected_mk = 295150;
  return config;
}

#endif
