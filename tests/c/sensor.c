/* Repairs an invented array through the C interface: uniform runs, correction, bad pixels, drift, shutter, watch, column
 * noise, smoothing. Prints a hash of every frame that comes out, its flags and the bad pixels: the Rust test prints the
 * same lines from the core and compares.
 */
#include "expect.h"

#define WIDTH 40
#define HEIGHT 20
#define BAD 8
#define WATCH 12
#define SENSOR_WORDS (ODDHEAT_SENSOR_MEM_SIZE(WIDTH, HEIGHT, 3, 1, BAD, WATCH) / 8u)
#define RUN_WORDS ((ODDHEAT_RUN_MEM_SIZE(WIDTH, HEIGHT) + 7u) / 8u)

static uint64_t sensor_block[SENSOR_WORDS], moved_block[SENSOR_WORDS], low_block[RUN_WORDS], high_block[RUN_WORDS];
static uint16_t frame[HEIGHT][WIDTH];
static uint32_t bits = 1;

/* Linear congruential generator of Numerical Recipes (memory). */
static uint32_t draw(uint32_t below) {
  bits = bits * 1664525u + 1013904223u;
  return (bits >> 8) % below;
}

/** A frame of `level` counts with the pattern of the pixels, noise, a drift, and a dead and a stuck pixel. */
static void expose(uint32_t level, uint32_t drift, int stuck) {
  for (uint32_t y = 0; y < HEIGHT; y++) {
    for (uint32_t x = 0; x < WIDTH; x++) {
      const uint32_t gain = 950u + (x * 37u + y * 61u) % 101u, offset = (x * 13u + y * 7u) % 200u;
      frame[y][x] = (uint16_t)(1000u + offset + level * gain / 1000u + drift + draw(4) + draw(4) + draw(4));
    }
  }
  frame[5][7] = 0;
  if (stuck) {
    frame[12][30] = 5000;
  }
}

static void print_frame(uint32_t index) {
  uint32_t hash = 2166136261u; /* FNV-1a */
  for (uint32_t y = 0; y < HEIGHT; y++) {
    for (uint32_t x = 0; x < WIDTH; x++) {
      hash = (hash ^ (frame[y][x] & 0xFFu)) * 16777619u;
      hash = (hash ^ (uint32_t)(frame[y][x] >> 8)) * 16777619u;
    }
  }
  printf("frame %u %08x\n", (unsigned)index, (unsigned)hash);
}

static void run(oddheat_run *run, uint32_t level) {
  for (int t = 0; t < 24; t++) {
    expose(level, 0, 0);
    for (int y = 0; y < HEIGHT; y++) {
      EXPECT_STATUS(OK, oddheat_run_row(run, frame[y], WIDTH));
    }
  }
}

static void print_bad(oddheat_sensor *sensor) {
  oddheat_bad_pixel bad[BAD];
  uint32_t count;
  EXPECT_STATUS(OK, oddheat_sensor_bad_pixels(sensor, bad, BAD, &count));
  for (uint32_t i = 0; i < count && i < BAD; i++) {
    printf("bad %u %u %u\n", (unsigned)bad[i].x_px, (unsigned)bad[i].y_px, (unsigned)bad[i].kind);
  }
}

static oddheat_sensor *calibrated(void) {
  oddheat_sensor_config config;
  oddheat_sensor *sensor;
  oddheat_run *low, *high;
  oddheat_array_figures figures;
  oddheat_noise_figure noise;
  oddheat_soak_point soak[9];
  size_t bytes;
  EXPECT_STATUS(OK, oddheat_sensor_config_init(&config, WIDTH, HEIGHT));
  config.saturated_at_counts = 16383;
  config.bad_pixels_max = BAD;
  config.watch_slots = WATCH;
  config.column_limit_counts = 12;
  config.smoothing_shift = 2;
  config.correction = 1;
  config.shutter = 1;
  config.step_counts = 20;
  config.warm_up_mk_per_minute = 100;
  config.warm_up_window_ms = 2000;
  EXPECT_STATUS(OK, oddheat_sensor_mem_size(&config, &bytes));
  EXPECT(bytes == ODDHEAT_SENSOR_MEM_SIZE(WIDTH, HEIGHT, 3, 1, BAD, WATCH));
  EXPECT_STATUS(OK, oddheat_sensor_init(sensor_block, sizeof sensor_block, &config, &sensor));
  EXPECT_STATUS(OK, oddheat_run_init(low_block, sizeof low_block, WIDTH, HEIGHT, 0, 16383, &low));
  EXPECT_STATUS(OK, oddheat_run_init(high_block, sizeof high_block, WIDTH, HEIGHT, 0, 16383, &high));
  run(low, 2000);
  run(high, 4000);
  EXPECT_STATUS(OK, oddheat_sensor_find_bad_pixels(sensor, low, high, &figures));
  printf("figures %u %u %u %u\n", (unsigned)figures.response_q8, (unsigned)figures.noise_q8, (unsigned)figures.good,
         (unsigned)figures.pixels);
  EXPECT_STATUS(OK, oddheat_sensor_calibrate(sensor, low, high));
  EXPECT_STATUS(OK, oddheat_sensor_noise(sensor, low, high, 25.0, &noise));
  printf("noise %.9f %.9f %.9f\n", noise.netd_k, noise.signal_counts, noise.noise_counts);
  for (int i = 0; i < 9; i++) {
    soak[i].housing_kelvin = 293.15 + i;
    soak[i].counts = 3000.0 + 10.0 * i;
  }
  EXPECT_STATUS(OK, oddheat_sensor_set_drift(sensor, soak, 9, 1, 293.15));
  EXPECT_STATUS(OK, oddheat_sensor_list_pixel(sensor, 0, 19));
  return sensor;
}

static void frames(oddheat_sensor *sensor, uint32_t from, uint32_t to) {
  for (uint32_t t = from; t < to; t++) {
    oddheat_sensor_flags flags;
    flags.struct_size = (uint32_t)sizeof flags;
    /* From frame 40 on the housing warms by a kelvin every ten frames; frame 25 steps as after a shutter event. */
    const uint32_t warmer = t < 40 ? 0 : t - 40;
    expose(3000, warmer + (t >= 25 ? 80u : 0u), 1);
    EXPECT_STATUS(OK, oddheat_sensor_begin_frame(sensor, t * 100u, (int32_t)(293150u + warmer * 100u)));
    for (int y = 0; y < HEIGHT; y++) {
      EXPECT_STATUS(OK, oddheat_sensor_row(sensor, frame[y], WIDTH));
    }
    EXPECT_STATUS(OK, oddheat_sensor_end_frame(sensor, &flags));
    print_frame(t);
    printf("flags %u %u %u %u %u %u %u %d\n", (unsigned)flags.pixels, (unsigned)flags.dead, (unsigned)flags.saturated,
           (unsigned)flags.found, (unsigned)flags.warming_up, (unsigned)flags.drift_unknown, (unsigned)flags.stepped,
           (int)flags.step_q4);
  }
}

static void shutter(oddheat_sensor *sensor) {
  uint32_t left;
  for (int t = 0; t < 4; t++) {
    expose(2500, 100, 0);
    EXPECT_STATUS(OK, oddheat_sensor_begin_frame(sensor, 6000u, 296150));
    for (int y = 0; y < HEIGHT; y++) {
      EXPECT_STATUS(OK, oddheat_sensor_shutter_row(sensor, frame[y], WIDTH));
    }
  }
  EXPECT_STATUS(OK, oddheat_sensor_shutter_end(sensor, 3500, &left));
  printf("left %u\n", (unsigned)left);
}

int main(void) {
  static oddheat_pixel_correction stored[HEIGHT * WIDTH];
  uint16_t pivot;
  oddheat_sensor *sensor = calibrated();
  frames(sensor, 0, 30);
  /* The block holds no pointers: it may be moved between calls. */
  memcpy(moved_block, sensor_block, sizeof moved_block);
  memset(sensor_block, 0xA5, sizeof sensor_block);
  sensor = (oddheat_sensor *)(void *)moved_block;
  frames(sensor, 30, 60);
  shutter(sensor);
  frames(sensor, 60, 64);
  print_bad(sensor);
  EXPECT_STATUS(OK, oddheat_sensor_save(sensor, stored, HEIGHT * WIDTH, &pivot));
  for (int i = 0; i < HEIGHT * WIDTH; i += 97) {
    printf("pixel %u %d\n", (unsigned)stored[i].gain_q14, (int)stored[i].offset_q4);
  }
  EXPECT_STATUS(OK, oddheat_sensor_load(sensor, pivot, stored, HEIGHT * WIDTH));
  frames(sensor, 64, 66);
  printf("pivot %u\n", (unsigned)pivot);
  return expect_failures == 0 ? 0 : 1;
}
