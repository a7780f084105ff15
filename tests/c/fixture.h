/* A small device for the test programs: its block between guard words, its settings, frames and places. */
#ifndef FIXTURE_H
#define FIXTURE_H

#include "expect.h"

#define WIDTH 24
#define HEIGHT 24
#define REGIONS 2
#define SHAPES 3
#define BLOCK_WORDS (ODDHEAT_MEM_SIZE(WIDTH, REGIONS, SHAPES) / 8u)
#define GUARD_WORD 0x0123456789ABCDEFu

/* Kelvin times 100 on a linear scale, so that counts can be read: 29315 is 20 degrees Celsius. */
#define AIR 29315u
#define WARM 35315u
#define COLD 28815u

static struct {
  uint64_t before[4];
  uint64_t block[BLOCK_WORDS];
  uint64_t after[4];
} memory;

/** What must never be written to. */
static inline void guard_memory(void) {
  for (int i = 0; i < 4; i++) {
    memory.before[i] = memory.after[i] = GUARD_WORD;
  }
}

static inline int memory_is_guarded(void) {
  int intact = 1;
  for (int i = 0; i < 4; i++) {
    intact = intact && memory.before[i] == GUARD_WORD && memory.after[i] == GUARD_WORD;
  }
  return intact;
}

/** Remembers the block; UNCHANGED then tells whether a refused call wrote to it. */
static uint64_t remembered[BLOCK_WORDS];
static inline void remember(void) { memcpy(remembered, memory.block, sizeof remembered); }
#ifdef PADDING_IS_WATCHED
/* The block has padding, which valgrind does not let anyone compare. */
#define UNCHANGED() 1
#else
#define UNCHANGED() (memcmp(remembered, memory.block, sizeof remembered) == 0)
#endif

static inline void *misaligned(void *pointer) { return (unsigned char *)pointer + 1; }

static inline oddheat_config config_of(uint16_t shapes) {
  oddheat_config config;
  EXPECT_STATUS(OK, oddheat_config_init(&config, WIDTH, HEIGHT));
  config.regions_max = REGIONS;
  config.shapes_max = shapes;
  config.scale = ODDHEAT_SCALE_LINEAR;
  config.linear_counts_per_kelvin = 100.0;
  config.linear_zero_celsius = -273.15;
  config.ifov_urad = 3000;
  return config;
}

static inline oddheat *fresh(void) {
  const oddheat_config config = config_of(SHAPES);
  oddheat *device = NULL;
  EXPECT_STATUS(OK, oddheat_init(memory.block, sizeof memory.block, &config, &device));
  EXPECT((void *)device == (void *)memory.block);
  return device;
}

static inline void rows(oddheat *device, unsigned count, uint16_t background, uint16_t mark) {
  uint16_t row[WIDTH];
  for (unsigned y = 0; y < count; y++) {
    for (unsigned x = 0; x < WIDTH; x++) {
      /* Three marks, the first of two by two pixels and far enough from the edge for the surround of a spot. */
      const int first = (x == 10 || x == 11) && (y == 11 || y == 12);
      row[x] = first || (x == 18 && y == 20) || (x == 3 && y == 22) ? mark : background;
    }
    EXPECT_STATUS(OK, oddheat_push_row(device, row, WIDTH));
  }
}

static inline oddheat_frame frame_of(uint32_t view, uint32_t time_ms) {
  oddheat_frame frame;
  memset(&frame, 0, sizeof frame);
  frame.struct_size = (uint32_t)sizeof frame;
  frame.view = view;
  frame.time_ms = time_ms;
  return frame;
}

static inline oddheat_place place_of(uint32_t role, uint32_t view, uint32_t shape, uint16_t x, uint16_t y, uint16_t a,
                              uint16_t b) {
  oddheat_place place;
  memset(&place, 0, sizeof place);
  place.struct_size = (uint32_t)sizeof place;
  place.role = role;
  place.view = view;
  place.shape = shape;
  place.x_px = x;
  place.y_px = y;
  place.a_px = a;
  place.b_px = b;
  return place;
}

#endif
