/* Level, noise and thresholds by rule of the invented scene through the C interface. Prints every number: the Rust test
 * prints the same lines from the core and compares.
 */
#include "scene.h"

#define BINS 64
#define NOISE_BINS 32

ODDHEAT_MEM(device_block, WIDTH, 4, 0);
static uint64_t level_block[ODDHEAT_LEVEL_MEM_SIZE(BINS, NOISE_BINS) / 8u];
static uint64_t moved_block[ODDHEAT_LEVEL_MEM_SIZE(BINS, NOISE_BINS) / 8u];

static void print_figures(oddheat_level *level, oddheat_level_figures *f) {
  f->struct_size = (uint32_t)sizeof *f;
  EXPECT_STATUS(OK, oddheat_level_read(level, f));
  printf("figures %u %u %u %u %u %u %u %u %u %u %u\n", (unsigned)f->known, (unsigned)f->readings, (unsigned)f->below,
         (unsigned)f->above, (unsigned)f->median_q8, (unsigned)f->deviation_q8, (unsigned)f->sigma_q8,
         (unsigned)f->noise_q8, (unsigned)f->upper, (unsigned)f->split_counts, (unsigned)f->separability);
  for (uint32_t thousandths = 0; thousandths <= 1000; thousandths += 125) {
    uint32_t counts = 0;
    const oddheat_status status = oddheat_level_quantile(level, thousandths, &counts);
    printf("quantile %d %u\n", (int)status, (unsigned)counts);
  }
}

static void print_detection(oddheat *device, const oddheat_level_figures *f, oddheat_detection_rule rule) {
  oddheat_detection d;
  rule.struct_size = (uint32_t)sizeof rule;
  EXPECT_STATUS(OK, oddheat_set_thresholds_by_rule(device, &rule, f->median_q8, f->noise_q8, &d));
  printf("detection %d %u %u %u\n", (int)d.difference_q16, (unsigned)d.term, (unsigned)d.hot_counts,
         (unsigned)d.cold_counts);
}

int main(void) {
  oddheat_config config = scene_config(16383);
  const oddheat_detection_rule usual = {0, 0, 0, 0, 0, 0}, fine = {0, 20, 4, 1, 0, 0}, shiny = {0, 3, 1, 100, 200, 280150};
  oddheat *device;
  oddheat_level *level;
  oddheat_level_figures figures;
  oddheat_region regions[4];
  oddheat_summary summary;
  size_t bytes;
  config.regions_max = 4;
  EXPECT_STATUS(OK, oddheat_init(device_block, sizeof device_block, &config, &device));
  EXPECT_STATUS(OK, oddheat_level_mem_size(BINS, NOISE_BINS, &bytes));
  EXPECT(bytes == sizeof level_block);
  EXPECT_STATUS(OK, oddheat_level_init(level_block, sizeof level_block, &config, BINS, NOISE_BINS, &level));
  for (uint32_t t = 0; t < 4; t++) {
    expose(t);
    for (int y = 0; y < HEIGHT; y += 2) {
      EXPECT_STATUS(OK, oddheat_level_row(level, frame[y], WIDTH));
    }
    print_figures(level, &figures);
    print_detection(device, &figures, usual);
    print_detection(device, &figures, fine);
    print_detection(device, &figures, shiny);
    if (t == 2) {
      /* The block holds no pointers: it may be moved between calls. */
      memcpy(moved_block, level_block, sizeof moved_block);
      memset(level_block, 0xA5, sizeof level_block);
      level = (oddheat_level *)(void *)moved_block;
    }
    EXPECT_STATUS(OK, oddheat_level_end_frame(level));
  }
  /* The device scans with the thresholds that were set last. */
  for (int y = 0; y < HEIGHT; y++) {
    EXPECT_STATUS(OK, oddheat_push_row(device, frame[y], WIDTH));
  }
  EXPECT_STATUS(OK, oddheat_regions(device, regions, 4, &summary));
  printf("regions %u %u %u\n", (unsigned)summary.regions_found, (unsigned)regions[0].area_px,
         (unsigned)regions[0].strength_counts);
  return expect_failures == 0 ? 0 : 1;
}
