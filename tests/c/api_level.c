/* Level, noise and thresholds by rule through the C interface: every function, every error, and nothing written on an
 * error.
 *
 * Prints what failed; exit code 0 if nothing did. Also run under valgrind and the sanitizers.
 */
#include "scene.h"

#define BINS 16
#define NOISE_BINS 8
#define GUARD_WORD 0x0123456789ABCDEFu

ODDHEAT_MEM(device_block, WIDTH, 2, 0);
static struct {
  uint64_t before[4];
  uint64_t level[ODDHEAT_LEVEL_MEM_SIZE(BINS, NOISE_BINS) / 8u];
  uint64_t after[4];
} memory;

static uint64_t blank[sizeof memory.level / 8u];

static void *misaligned(void *pointer) { return (unsigned char *)pointer + 1; }

static oddheat_level *fresh(void) {
  const oddheat_config config = scene_config(16383);
  oddheat_level *level = NULL;
  EXPECT_STATUS(OK, oddheat_level_init(memory.level, sizeof memory.level, &config, BINS, NOISE_BINS, &level));
  EXPECT((void *)level == (void *)memory.level);
  return level;
}

static void set_up(void) {
  const oddheat_config good = scene_config(16383);
  const size_t size = sizeof memory.level;
  oddheat_config config = good;
  oddheat_level *level;
  size_t bytes;
  GUARD(level), GUARD(bytes);
  EXPECT_STATUS(ERR_NULL, oddheat_level_mem_size(BINS, NOISE_BINS, NULL));
  EXPECT_STATUS(ERR_RANGE, oddheat_level_mem_size(1, NOISE_BINS, &bytes));
  EXPECT_STATUS(ERR_RANGE, oddheat_level_mem_size(BINS, 65536, &bytes));
  EXPECT_STATUS(ERR_NULL, oddheat_level_init(NULL, size, &good, BINS, NOISE_BINS, &level));
  EXPECT_STATUS(ERR_NULL, oddheat_level_init(memory.level, size, NULL, BINS, NOISE_BINS, &level));
  EXPECT_STATUS(ERR_NULL, oddheat_level_init(memory.level, size, &good, BINS, NOISE_BINS, NULL));
  EXPECT_STATUS(ERR_MEM_ALIGN, oddheat_level_init(misaligned(memory.level), size, &good, BINS, NOISE_BINS, &level));
  EXPECT_STATUS(ERR_MEM_TOO_SMALL, oddheat_level_init(memory.level, size - 1, &good, BINS, NOISE_BINS, &level));
  EXPECT_STATUS(ERR_MEM_TOO_SMALL, oddheat_level_init(memory.level, size, &good, 65535, NOISE_BINS, &level));
  EXPECT_STATUS(ERR_RANGE, oddheat_level_init(memory.level, size, &good, BINS, 1, &level));
  config.dead_at_or_below_counts = 16382;
  EXPECT_STATUS(ERR_RANGE, oddheat_level_init(memory.level, size, &config, BINS, NOISE_BINS, &level));
  config = good;
  config.abi_version = 0;
  EXPECT_STATUS(ERR_ABI, oddheat_level_init(memory.level, size, &config, BINS, NOISE_BINS, &level));
  EXPECT(UNTOUCHED(level) && UNTOUCHED(bytes));
}

static void handles(void) {
  const int wanted[3] = {ODDHEAT_STATUS_ERR_NULL, ODDHEAT_STATUS_ERR_MEM_ALIGN, ODDHEAT_STATUS_ERR_BAD_STATE};
  const oddheat_detection_rule rule = {(uint32_t)sizeof rule, 0, 0, 0, 0, 0};
  void *none[3];
  none[0] = NULL;
  none[1] = misaligned(fresh());
  none[2] = blank;
  for (int i = 0; i < 3; i++) {
    oddheat_level *level = (oddheat_level *)none[i];
    oddheat_level_figures figures;
    oddheat_detection detection;
    uint32_t counts;
    GUARD(figures), GUARD(detection), GUARD(counts);
#define REFUSED(call) expect_status(wanted[i], (int)(call), #call, __LINE__)
    REFUSED(oddheat_level_row(level, frame[0], WIDTH));
    REFUSED(oddheat_level_read(level, &figures));
    REFUSED(oddheat_level_quantile(level, 500, &counts));
    REFUSED(oddheat_level_end_frame(level));
    REFUSED(oddheat_set_thresholds_by_rule((oddheat *)none[i], &rule, 1, 1, &detection));
#undef REFUSED
    EXPECT(UNTOUCHED(figures) && UNTOUCHED(detection) && UNTOUCHED(counts));
  }
  EXPECT(all_bytes(blank, sizeof blank, 0));
}

static void rows(void) {
  oddheat_level *level = fresh();
  oddheat_level_figures figures;
  uint32_t counts;
  uint16_t row[WIDTH];
  GUARD(counts);
  EXPECT_STATUS(ERR_NO_SIGNAL, oddheat_level_quantile(level, 500, &counts)); /* no row came */
  EXPECT_STATUS(ERR_RANGE, oddheat_level_quantile(level, 1001, &counts));
  EXPECT_STATUS(ERR_RANGE, oddheat_level_quantile(level, UINT32_MAX, &counts));
  EXPECT_STATUS(ERR_NULL, oddheat_level_quantile(level, 500, NULL));
  EXPECT_STATUS(ERR_NULL, oddheat_level_read(level, NULL));
  EXPECT_STATUS(ERR_NULL, oddheat_level_row(level, NULL, WIDTH));
  EXPECT_STATUS(ERR_SIZE, oddheat_level_row(level, row, WIDTH - 1));
  EXPECT(UNTOUCHED(counts));
  figures.struct_size = (uint32_t)sizeof figures;
  EXPECT_STATUS(OK, oddheat_level_read(level, &figures));
  EXPECT(figures.known == 0 && figures.readings == 0 && figures.median_q8 == 0);
  GUARD(figures);
  EXPECT_STATUS(ERR_UNSUPPORTED, oddheat_level_read(level, &figures));
  EXPECT(UNTOUCHED(figures));
  EXPECT_STATUS(OK, oddheat_level_end_frame(level));
  for (int x = 0; x < WIDTH; x++) {
    row[x] = (uint16_t)(x == 0 ? 0 : 5000 + x % 2);
  }
  EXPECT_STATUS(OK, oddheat_level_row(level, row, WIDTH));
  figures.struct_size = (uint32_t)sizeof figures;
  EXPECT_STATUS(OK, oddheat_level_read(level, &figures));
  EXPECT(figures.readings == WIDTH - 1 && (figures.known & ODDHEAT_LEVEL_HAS_MEDIAN) != 0);
}

static void rules(void) {
  const oddheat_config config = scene_config(0);
  const oddheat_detection_rule good = {(uint32_t)sizeof good, 0, 0, 0, 0, 0};
  oddheat_detection_rule rule;
  oddheat_detection detection;
  oddheat *device;
  oddheat_config small = config;
  small.regions_max = 2;
  EXPECT_STATUS(OK, oddheat_init(device_block, sizeof device_block, &small, &device));
  GUARD(detection);
  EXPECT_STATUS(ERR_NULL, oddheat_set_thresholds_by_rule(device, NULL, 7000 << 8, 512, &detection));
  EXPECT_STATUS(ERR_NULL, oddheat_set_thresholds_by_rule(device, &good, 7000 << 8, 512, NULL));
  EXPECT_STATUS(ERR_NO_TEMPERATURE, oddheat_set_thresholds_by_rule(device, &good, 0, 512, &detection));
  EXPECT_STATUS(ERR_RANGE, oddheat_set_thresholds_by_rule(device, &good, UINT32_MAX, 512, &detection));
  EXPECT_STATUS(ERR_RANGE, oddheat_set_thresholds_by_rule(device, &good, 7000 << 8, UINT32_MAX, &detection));
#define REFUSED(wanted, field, value) \
  rule = good; \
  rule.field = (value); \
  EXPECT_STATUS(wanted, oddheat_set_thresholds_by_rule(device, &rule, 7000 << 8, 512, &detection))
  REFUSED(ERR_UNSUPPORTED, struct_size, 0);
  REFUSED(ERR_RANGE, sigmas, 256);
  REFUSED(ERR_RANGE, frames, 65536);
  REFUSED(ERR_RANGE, floor_mk, 2000001);
  REFUSED(ERR_RANGE, floor_mk, UINT32_MAX);
  REFUSED(ERR_RANGE, emissivity_thousandths, 1001);
  REFUSED(ERR_RANGE, emissivity_thousandths, 1); /* without a reflected temperature */
#undef REFUSED
  EXPECT(UNTOUCHED(detection));
  EXPECT_STATUS(OK, oddheat_set_thresholds_by_rule(device, &good, 7000 << 8, 512, &detection));
  EXPECT(detection.hot_counts > 7000 && detection.cold_counts < 7000 && detection.difference_q16 > 0);
}

int main(void) {
  for (int i = 0; i < 4; i++) {
    memory.before[i] = memory.after[i] = GUARD_WORD;
  }
  set_up();
  handles();
  rows();
  rules();
  for (int i = 0; i < 4; i++) {
    EXPECT(memory.before[i] == GUARD_WORD && memory.after[i] == GUARD_WORD);
  }
  return expect_failures == 0 ? 0 : 1;
}
