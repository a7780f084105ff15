/* Sensor repair through the C interface: every function, every error, and nothing written on an error.
 *
 * Prints what failed; exit code 0 if nothing did. Also run under valgrind and the sanitizers.
 */
#include "expect.h"

#define WIDTH 32
#define HEIGHT 8
#define PIXELS (WIDTH * HEIGHT)
#define BAD 4
#define WATCH 3
#define GUARD_WORD 0x0123456789ABCDEFu

static struct {
  uint64_t before[4];
  uint64_t sensor[ODDHEAT_SENSOR_MEM_SIZE(WIDTH, HEIGHT, 3, 1, BAD, WATCH) / 8u];
  uint64_t between[4];
  uint64_t low[ODDHEAT_RUN_MEM_SIZE(WIDTH, HEIGHT) / 8u];
  uint64_t again[4];
  uint64_t high[ODDHEAT_RUN_MEM_SIZE(WIDTH, HEIGHT) / 8u];
  uint64_t after[4];
} memory;

static uint64_t blank[sizeof memory.sensor / 8u];

static void guard_memory(void) {
  for (int i = 0; i < 4; i++) {
    memory.before[i] = memory.between[i] = memory.again[i] = memory.after[i] = GUARD_WORD;
  }
}

static int memory_is_guarded(void) {
  int intact = 1;
  for (int i = 0; i < 4; i++) {
    intact = intact && memory.before[i] == GUARD_WORD && memory.between[i] == GUARD_WORD;
    intact = intact && memory.again[i] == GUARD_WORD && memory.after[i] == GUARD_WORD;
  }
  return intact;
}

static void *misaligned(void *pointer) { return (unsigned char *)pointer + 1; }

static oddheat_sensor_config config_of(void) {
  oddheat_sensor_config config;
  EXPECT_STATUS(OK, oddheat_sensor_config_init(&config, WIDTH, HEIGHT));
  config.saturated_at_counts = 16383;
  config.bad_pixels_max = BAD;
  config.watch_slots = WATCH;
  config.column_limit_counts = 10;
  config.smoothing_shift = 1;
  config.correction = 1;
  config.shutter = 1;
  config.step_counts = 20;
  config.warm_up_mk_per_minute = 100;
  return config;
}

static oddheat_sensor *fresh(void) {
  const oddheat_sensor_config config = config_of();
  oddheat_sensor *sensor = NULL;
  EXPECT_STATUS(OK, oddheat_sensor_init(memory.sensor, sizeof memory.sensor, &config, &sensor));
  EXPECT((void *)sensor == (void *)memory.sensor);
  return sensor;
}

static void set_up(void) {
  const oddheat_sensor_config good = config_of();
  const uint32_t struct_size = (uint32_t)sizeof good;
  const size_t size = sizeof memory.sensor;
  oddheat_sensor_config config;
  oddheat_sensor *sensor;
  size_t bytes;
  GUARD(config), GUARD(sensor), GUARD(bytes);
  EXPECT_STATUS(ERR_NULL, oddheat_sensor_config_init(NULL, WIDTH, HEIGHT));
  EXPECT_STATUS(ERR_UNSUPPORTED, oddheat_sensor_config_init_sized(&config, 4, ODDHEAT_ABI_VERSION, WIDTH, HEIGHT));
  EXPECT_STATUS(ERR_ABI,
                oddheat_sensor_config_init_sized(&config, struct_size, ODDHEAT_ABI_VERSION + 1, WIDTH, HEIGHT));
  EXPECT(UNTOUCHED(config));
  EXPECT_STATUS(ERR_NULL, oddheat_sensor_mem_size(NULL, &bytes));
  EXPECT_STATUS(ERR_NULL, oddheat_sensor_mem_size(&good, NULL));
  EXPECT_STATUS(ERR_NULL, oddheat_sensor_init(NULL, size, &good, &sensor));
  EXPECT_STATUS(ERR_NULL, oddheat_sensor_init(memory.sensor, size, NULL, &sensor));
  EXPECT_STATUS(ERR_NULL, oddheat_sensor_init(memory.sensor, size, &good, NULL));
  EXPECT_STATUS(ERR_MEM_ALIGN, oddheat_sensor_init(misaligned(memory.sensor), size, &good, &sensor));
  EXPECT_STATUS(ERR_MEM_TOO_SMALL, oddheat_sensor_init(memory.sensor, size - 1, &good, &sensor));
#define REFUSED(wanted, field, value) \
  config = good; \
  config.field = (value); \
  EXPECT_STATUS(wanted, oddheat_sensor_init(memory.sensor, size, &config, &sensor))
  REFUSED(ERR_UNSUPPORTED, struct_size, 0);
  REFUSED(ERR_UNSUPPORTED, reserved, 1);
  REFUSED(ERR_ABI, abi_version, 0);
  REFUSED(ERR_RANGE, width_px, 0);
  REFUSED(ERR_RANGE, height_px, 0);
  REFUSED(ERR_RANGE, correction, 2);
  REFUSED(ERR_RANGE, correction, 0); /* the shutter needs it */
  REFUSED(ERR_RANGE, dead_at_or_below_counts, 16382);
  REFUSED(ERR_RANGE, watch_frames, 7);
  REFUSED(ERR_RANGE, column_reach_px, 8);
  REFUSED(ERR_RANGE, column_reach_px, 256);
  REFUSED(ERR_RANGE, column_limit_counts, 4097);
  REFUSED(ERR_RANGE, column_slowness, 13);
  REFUSED(ERR_RANGE, smoothing_shift, 16);
  REFUSED(ERR_RANGE, width_px, 31); /* steps are judged in blocks of columns */
  REFUSED(ERR_RANGE, warm_up_mk_per_minute, 32768000);
  REFUSED(ERR_RANGE, warm_up_window_ms, 1);
#undef REFUSED
  EXPECT(UNTOUCHED(sensor) && UNTOUCHED(bytes));
}

/* Every function that takes a sensor, with handles that are none. */
static void handles(void) {
  static oddheat_pixel_correction stored[PIXELS];
  uint16_t row[WIDTH] = {0};
  oddheat_soak_point soak[2] = {{293.15, 100.0}, {303.15, 200.0}};
  oddheat_run *run;
  oddheat_sensor *none[3];
  const int wanted[3] = {ODDHEAT_STATUS_ERR_NULL, ODDHEAT_STATUS_ERR_MEM_ALIGN, ODDHEAT_STATUS_ERR_BAD_STATE};
  none[0] = NULL;
  none[1] = (oddheat_sensor *)misaligned(fresh());
  none[2] = (oddheat_sensor *)(void *)blank;
  EXPECT_STATUS(OK, oddheat_run_init(memory.low, sizeof memory.low, WIDTH, HEIGHT, 0, 0, &run));
  for (int i = 0; i < 3; i++) {
    oddheat_sensor_flags flags;
    oddheat_array_figures figures;
    oddheat_noise_figure noise;
    uint32_t count;
    uint16_t pivot;
    GUARD(flags), GUARD(figures), GUARD(noise), GUARD(count), GUARD(pivot), GUARD(stored);
#define REFUSED(call) expect_status(wanted[i], (int)(call), #call, __LINE__)
    REFUSED(oddheat_sensor_begin_frame(none[i], 0, 0));
    REFUSED(oddheat_sensor_row(none[i], row, WIDTH));
    REFUSED(oddheat_sensor_end_frame(none[i], &flags));
    REFUSED(oddheat_sensor_list_pixel(none[i], 0, 0));
    REFUSED(oddheat_sensor_bad_pixels(none[i], NULL, 0, &count));
    REFUSED(oddheat_sensor_load(none[i], 0, stored, PIXELS));
    REFUSED(oddheat_sensor_save(none[i], stored, PIXELS, &pivot));
    REFUSED(oddheat_sensor_set_drift(none[i], soak, 2, 1, 293.15));
    REFUSED(oddheat_sensor_shutter_row(none[i], row, WIDTH));
    REFUSED(oddheat_sensor_shutter_end(none[i], 0, &count));
    REFUSED(oddheat_sensor_find_bad_pixels(none[i], run, run, &figures));
    REFUSED(oddheat_sensor_calibrate(none[i], run, run));
    REFUSED(oddheat_sensor_noise(none[i], run, run, 5.0, &noise));
    REFUSED(oddheat_run_row((oddheat_run *)(void *)none[i], row, WIDTH));
#undef REFUSED
    EXPECT(UNTOUCHED(flags) && UNTOUCHED(figures) && UNTOUCHED(noise) && UNTOUCHED(count) && UNTOUCHED(pivot));
    EXPECT(UNTOUCHED(stored));
  }
  EXPECT(all_bytes(blank, sizeof blank, 0));
}

static void frames(void) {
  oddheat_sensor *sensor = fresh();
  uint16_t row[WIDTH], untouched[WIDTH];
  oddheat_sensor_flags flags;
  oddheat_bad_pixel bad[BAD];
  uint32_t count;
  for (int x = 0; x < WIDTH; x++) {
    row[x] = untouched[x] = (uint16_t)(1000 + x);
  }
  GUARD(flags), GUARD(bad), GUARD(count);
  EXPECT_STATUS(ERR_ORDER, oddheat_sensor_row(sensor, row, WIDTH));
  EXPECT_STATUS(ERR_RANGE, oddheat_sensor_begin_frame(sensor, 0, -1));
  EXPECT_STATUS(OK, oddheat_sensor_begin_frame(sensor, 0, 0));
  EXPECT_STATUS(ERR_NULL, oddheat_sensor_row(sensor, NULL, WIDTH));
  EXPECT_STATUS(ERR_SIZE, oddheat_sensor_row(sensor, row, WIDTH - 1));
  EXPECT_STATUS(ERR_SIZE, oddheat_sensor_row(sensor, NULL, 0));
  EXPECT_STATUS(ERR_MEM_ALIGN, oddheat_sensor_row(sensor, (uint16_t *)misaligned(row), WIDTH));
  EXPECT(memcmp(row, untouched, sizeof row) == 0);
  EXPECT_STATUS(ERR_NULL, oddheat_sensor_end_frame(sensor, NULL));
  EXPECT_STATUS(ERR_UNSUPPORTED, oddheat_sensor_end_frame(sensor, &flags));
  EXPECT(UNTOUCHED(flags));
  flags.struct_size = (uint32_t)sizeof flags;
  EXPECT_STATUS(ERR_ORDER, oddheat_sensor_end_frame(sensor, &flags));
  EXPECT_STATUS(ERR_RANGE, oddheat_sensor_list_pixel(sensor, WIDTH, 0));
  EXPECT_STATUS(ERR_RANGE, oddheat_sensor_list_pixel(sensor, 0, HEIGHT));
  for (uint16_t i = 0; i < BAD; i++) {
    EXPECT_STATUS(OK, oddheat_sensor_list_pixel(sensor, (uint16_t)(5 + 6 * i), 1));
  }
  EXPECT_STATUS(ERR_LIST_FULL, oddheat_sensor_list_pixel(sensor, 1, 1));
  EXPECT_STATUS(OK, oddheat_sensor_list_pixel(sensor, 5, 1)); /* is there already */
  EXPECT_STATUS(ERR_NULL, oddheat_sensor_bad_pixels(sensor, bad, BAD, NULL));
  EXPECT_STATUS(ERR_NULL, oddheat_sensor_bad_pixels(sensor, NULL, 1, &count));
  EXPECT(UNTOUCHED(bad) && UNTOUCHED(count));
  EXPECT_STATUS(OK, oddheat_sensor_bad_pixels(sensor, bad, 2, &count));
  EXPECT(count == BAD && bad[1].x_px == 11 && bad[1].y_px == 1 && bad[1].kind == ODDHEAT_DEFECT_KIND_LISTED);
  EXPECT(UNTOUCHED(bad[2]));
  EXPECT_STATUS(OK, oddheat_sensor_begin_frame(sensor, 100, 293150));
  for (int y = 0; y < HEIGHT; y++) {
    for (int x = 0; x < WIDTH; x++) {
      row[x] = y == 1 && x == 5 ? 9000 : 1000;
    }
    EXPECT_STATUS(OK, oddheat_sensor_row(sensor, row, WIDTH));
    EXPECT(y != 1 || row[5] == 1000);
  }
  EXPECT_STATUS(ERR_ORDER, oddheat_sensor_row(sensor, row, WIDTH));
  EXPECT_STATUS(OK, oddheat_sensor_end_frame(sensor, &flags));
  EXPECT(flags.pixels == PIXELS && flags.dead == 0 && flags.warming_up == 1 && flags.stepped == 0);
}

static void stored_corrections(void) {
  static oddheat_pixel_correction stored[PIXELS], back[PIXELS];
  oddheat_sensor *sensor = fresh();
  oddheat_soak_point soak[3] = {{293.15, 100.0}, {303.15, 200.0}, {298.15, 151.0}};
  uint16_t pivot;
  GUARD(pivot), GUARD(back);
  for (int i = 0; i < PIXELS; i++) {
    stored[i].gain_q14 = (uint16_t)(16384 + i);
    stored[i].offset_q4 = (int16_t)(i - 100);
  }
  EXPECT_STATUS(ERR_SIZE, oddheat_sensor_load(sensor, 3000, stored, PIXELS - 1));
  EXPECT_STATUS(ERR_NULL, oddheat_sensor_load(sensor, 3000, NULL, PIXELS));
  EXPECT_STATUS(ERR_SIZE, oddheat_sensor_save(sensor, back, PIXELS - 1, &pivot));
  EXPECT_STATUS(ERR_NULL, oddheat_sensor_save(sensor, back, PIXELS, NULL));
  stored[PIXELS - 1].gain_q14 = 31745;
  EXPECT_STATUS(ERR_RANGE, oddheat_sensor_load(sensor, 3000, stored, PIXELS));
  EXPECT(UNTOUCHED(back) && UNTOUCHED(pivot));
  EXPECT_STATUS(OK, oddheat_sensor_save(sensor, back, PIXELS, &pivot));
  EXPECT(back[0].gain_q14 == 16384 && back[0].offset_q4 == 0); /* nothing of what was refused */
  stored[PIXELS - 1].gain_q14 = 31744;
  EXPECT_STATUS(OK, oddheat_sensor_load(sensor, 3000, stored, PIXELS));
  EXPECT_STATUS(OK, oddheat_sensor_save(sensor, back, PIXELS, &pivot));
  EXPECT(pivot == 3000 && memcmp(stored, back, sizeof stored) == 0);

  oddheat_soak_point many[25];
  for (int i = 0; i < 25; i++) {
    many[i] = soak[0];
  }
  EXPECT_STATUS(ERR_TOO_MANY, oddheat_sensor_set_drift(sensor, many, 25, 1, 293.15));
  EXPECT_STATUS(ERR_TOO_FEW, oddheat_sensor_set_drift(sensor, soak, 1, 1, 293.15));
  EXPECT_STATUS(ERR_RANGE, oddheat_sensor_set_drift(sensor, soak, 3, 3, 293.15));
  EXPECT_STATUS(ERR_RANGE, oddheat_sensor_set_drift(sensor, soak, 3, 1, -1.0));
  EXPECT_STATUS(ERR_NO_FIT, oddheat_sensor_set_drift(sensor, soak, 3, 1, 350.0));
  EXPECT_STATUS(ERR_NULL, oddheat_sensor_set_drift(sensor, NULL, 3, 1, 293.15));
  EXPECT_STATUS(OK, oddheat_sensor_set_drift(sensor, soak, 3, 2, 298.15));
}

static void fill_run(oddheat_run *run, uint16_t level, int count) {
  uint16_t row[WIDTH];
  for (int t = 0; t < count; t++) {
    for (int y = 0; y < HEIGHT; y++) {
      for (int x = 0; x < WIDTH; x++) {
        row[x] = (uint16_t)(level + (x * 7 + y * 3 + t * 5) % 8);
      }
      EXPECT_STATUS(OK, oddheat_run_row(run, row, WIDTH));
    }
  }
}

static void uniform_runs(void) {
  oddheat_sensor *sensor = fresh();
  oddheat_run *low, *high;
  oddheat_array_figures figures;
  oddheat_noise_figure noise;
  uint16_t row[WIDTH] = {0};
  uint32_t left;
  double netd;
  GUARD(low), GUARD(figures), GUARD(noise), GUARD(left), GUARD(netd);
  EXPECT_STATUS(ERR_NULL, oddheat_run_init(NULL, sizeof memory.low, WIDTH, HEIGHT, 0, 0, &low));
  EXPECT_STATUS(ERR_NULL, oddheat_run_init(memory.low, sizeof memory.low, WIDTH, HEIGHT, 0, 0, NULL));
  EXPECT_STATUS(ERR_MEM_ALIGN, oddheat_run_init(misaligned(memory.low), sizeof memory.low, 1, 1, 0, 0, &low));
  EXPECT_STATUS(ERR_MEM_TOO_SMALL, oddheat_run_init(memory.low, sizeof memory.low - 1, WIDTH, HEIGHT, 0, 0, &low));
  EXPECT_STATUS(ERR_MEM_TOO_SMALL, oddheat_run_init(memory.low, sizeof memory.low, 65535, 65535, 0, 0, &low));
  EXPECT_STATUS(ERR_SIZE, oddheat_run_init(memory.low, sizeof memory.low, 0, HEIGHT, 0, 0, &low));
  EXPECT_STATUS(ERR_RANGE, oddheat_run_init(memory.low, sizeof memory.low, WIDTH, HEIGHT, 100, 101, &low));
  EXPECT(UNTOUCHED(low));
  EXPECT_STATUS(OK, oddheat_run_init(memory.low, sizeof memory.low, WIDTH, HEIGHT, 0, 0, &low));
  EXPECT_STATUS(OK, oddheat_run_init(memory.high, sizeof memory.high, WIDTH, HEIGHT, 0, 0, &high));
  EXPECT_STATUS(ERR_NULL, oddheat_run_row(low, NULL, WIDTH));
  EXPECT_STATUS(ERR_SIZE, oddheat_run_row(low, row, WIDTH + 1));
  fill_run(low, 1000, 16);
  fill_run(high, 3000, 15);
  EXPECT_STATUS(ERR_TOO_FEW, oddheat_sensor_find_bad_pixels(sensor, low, high, &figures));
  fill_run(high, 3000, 1);
  EXPECT_STATUS(ERR_NULL, oddheat_sensor_find_bad_pixels(sensor, NULL, high, &figures));
  EXPECT_STATUS(ERR_NULL, oddheat_sensor_find_bad_pixels(sensor, low, high, NULL));
  EXPECT_STATUS(ERR_NO_SIGNAL, oddheat_sensor_find_bad_pixels(sensor, high, low, &figures));
  EXPECT_STATUS(ERR_NO_SIGNAL, oddheat_sensor_calibrate(sensor, high, low));
  EXPECT_STATUS(ERR_NO_SIGNAL, oddheat_sensor_noise(sensor, low, high, 0.0, &noise));
  EXPECT(UNTOUCHED(figures) && UNTOUCHED(noise));
  EXPECT_STATUS(OK, oddheat_sensor_find_bad_pixels(sensor, low, high, &figures));
  EXPECT(figures.good == PIXELS && figures.response_q8 == 2000 * 256);
  EXPECT_STATUS(OK, oddheat_sensor_calibrate(sensor, low, high));
  EXPECT_STATUS(OK, oddheat_sensor_noise(sensor, low, high, 25.0, &noise));
  EXPECT(noise.signal_counts == 2000.0 && noise.netd_k > 0.02 && noise.netd_k < 0.04);

  EXPECT_STATUS(ERR_ORDER, oddheat_sensor_shutter_end(sensor, 0, &left));
  EXPECT_STATUS(ERR_ORDER, oddheat_sensor_shutter_row(sensor, row, WIDTH)); /* no frame was begun */
  EXPECT_STATUS(OK, oddheat_sensor_begin_frame(sensor, 0, 0));
  EXPECT_STATUS(OK, oddheat_sensor_shutter_row(sensor, row, WIDTH));
  EXPECT_STATUS(ERR_ORDER, oddheat_sensor_shutter_end(sensor, 0, &left));
  EXPECT(UNTOUCHED(left));

  EXPECT_STATUS(ERR_NULL, oddheat_netd(5.0, 500.0, 6.2, NULL));
  EXPECT_STATUS(ERR_NO_SIGNAL, oddheat_netd(0.0, 500.0, 6.2, &netd));
  EXPECT_STATUS(ERR_RANGE, oddheat_netd(5.0, 500.0, -1.0, &netd));
  EXPECT(UNTOUCHED(netd));
}

/* A sensor without memory per pixel has no correction to load and no shutter to renew it from. */
static void least_of_all(void) {
  oddheat_sensor_config config;
  oddheat_pixel_correction one = {16384, 0};
  oddheat_sensor *sensor;
  uint16_t row[WIDTH] = {0}, pivot;
  EXPECT_STATUS(OK, oddheat_sensor_config_init(&config, WIDTH, HEIGHT));
  EXPECT_STATUS(OK, oddheat_sensor_init(memory.sensor, sizeof memory.sensor, &config, &sensor));
  EXPECT_STATUS(ERR_SIZE, oddheat_sensor_load(sensor, 0, &one, 1));
  EXPECT_STATUS(ERR_SIZE, oddheat_sensor_save(sensor, &one, 1, &pivot));
  EXPECT_STATUS(OK, oddheat_sensor_begin_frame(sensor, 0, 0));
  EXPECT_STATUS(ERR_SIZE, oddheat_sensor_shutter_row(sensor, row, WIDTH));
}

int main(void) {
  guard_memory();
  set_up();
  handles();
  frames();
  stored_corrections();
  uniform_runs();
  least_of_all();
  EXPECT(memory_is_guarded());
  return expect_failures == 0 ? 0 : 1;
}
