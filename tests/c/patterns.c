/* Lines, rows of items, twins, before/after and the local level of an invented scene through the C interface. Prints every
 * number: the Rust test prints the same lines from the core and compares.
 */
#include "print.h"

#define WIDTH 96
#define HEIGHT 72
#define SIDE 12
#define BLOCK 4

ODDHEAT_MEM(device_block, WIDTH, 1, 0);
static uint64_t change_block[ODDHEAT_CHANGE_MEM_SIZE(WIDTH, HEIGHT, BLOCK) / 8u];
static uint64_t local_block[ODDHEAT_LOCAL_MEM_SIZE(WIDTH, HEIGHT, SIDE) / 8u];
static uint16_t frame[HEIGHT][WIDTH], upright[HEIGHT][WIDTH];
static uint32_t scratch[1024];

static uint16_t spots[HEIGHT][WIDTH];

/** A slope with slanted lines of which the third is cold, or with a spot on either half that mirrors the other's but for a
 * shift. */
static uint16_t scene(int x, int y, int with_spots) {
  const int along = (32 * y + x) / 32, line = along % 9 < 3 && along >= 9 && along < 63 && along / 9 != 3;
  const int left = (x - 20) * (x - 20) + 2 * (y - 30) * (y - 30), right = (x - 77) * (x - 77) + 2 * (y - 29) * (y - 29);
  const int shown = with_spots ? left < 150 || right < 150 : line;
  return (uint16_t)(7000 + x + 2 * y + (x * 7 + y * 5) % 11 + (shown ? 300 : 0));
}

static void lines(oddheat *device, const uint16_t *counts, uint16_t is_upright) {
  const oddheat_comb_area area = {4, 4, (uint16_t)(is_upright ? 71 : 91), 67, is_upright, 0};
  oddheat_comb comb;
  size_t words;
  EXPECT_STATUS(OK, oddheat_find_comb_words(&area, &words));
  EXPECT(words <= sizeof scratch / sizeof scratch[0]);
  EXPECT_STATUS(OK, oddheat_find_comb(device, &area, counts, WIDTH * HEIGHT, scratch, words, &comb));
  estimate("pitch", comb.pitch_px);
  estimate("slant", comb.slant);
  printf("comb %u %u\n", (unsigned)comb.confidence_per_mille, (unsigned)comb.lines_count);
  for (uint32_t i = 0; i < comb.lines_count; i++) {
    number("place", comb.lines[i].place_px);
    number("contrast", comb.lines[i].contrast_counts);
    printf("present %u\n", (unsigned)comb.lines[i].present);
  }
}

static void items(void) {
  oddheat_region regions[6];
  oddheat_item_row row;
  uint32_t found;
  memset(regions, 0, sizeof regions);
  for (uint16_t i = 0; i < 6; i++) {
    /* The fourth of seven is missing. */
    regions[i].x0_px = (uint16_t)(5 + 12 * (i < 3 ? i : i + 1) + i % 2);
    regions[i].x1_px = (uint16_t)(regions[i].x0_px + 4);
    regions[i].y0_px = (uint16_t)(30 + i);
    regions[i].y1_px = (uint16_t)(36 + i);
  }
  EXPECT_STATUS(OK, oddheat_find_items(regions, 6, &found, &row));
  EXPECT(found == 1);
  number("first x", row.first_x_px);
  number("first y", row.first_y_px);
  estimate("step x", row.step_x_px);
  estimate("step y", row.step_y_px);
  printf("items %u %u %u\n", (unsigned)row.places, (unsigned)row.filled, (unsigned)row.confidence_per_mille);
}

static void twins(oddheat *device) {
  const oddheat_pair pair = {4, 14, 37, 47, 58, 14, 1, 6};
  oddheat_shift shift;
  uint32_t found;
  size_t words;
  EXPECT_STATUS(OK, oddheat_find_shift_words(&pair, &words));
  EXPECT_STATUS(OK, oddheat_find_shift(device, &pair, &spots[0][0], &spots[0][0], WIDTH * HEIGHT, scratch, words,
                                       &found, &shift));
  EXPECT(found == 1);
  printf("shift %d %d %u\n", (int)shift.dx_q8, (int)shift.dy_q8, (unsigned)shift.confidence_per_mille);
}

static void differences(const oddheat_config *config) {
  oddheat_change *change;
  uint16_t row[WIDTH / BLOCK];
  size_t bytes;
  EXPECT_STATUS(OK, oddheat_change_mem_size(config, BLOCK, &bytes));
  EXPECT(bytes == sizeof change_block);
  EXPECT_STATUS(OK, oddheat_change_init(change_block, sizeof change_block, config, BLOCK, &change));
  for (uint32_t after = 0; after < 2; after++) {
    for (uint32_t y = 0; y < HEIGHT; y++) {
      uint16_t counts[WIDTH];
      for (int x = 0; x < WIDTH; x++) {
        counts[x] = (uint16_t)(scene(x, (int)y, 0) + (after != 0 && x >= 50 ? x / 3 : 0));
      }
      EXPECT_STATUS(OK, oddheat_change_row(change, after, y, counts, WIDTH));
    }
  }
  for (uint32_t y = 0; y < HEIGHT / BLOCK; y += 5) {
    EXPECT_STATUS(OK, oddheat_change_read(change, y, 3, row, WIDTH / BLOCK));
    for (int x = 0; x < WIDTH / BLOCK; x++) {
      printf("change %u\n", (unsigned)row[x]);
    }
  }
}

static void local_level(const oddheat_config *config) {
  oddheat_local *local;
  uint32_t settled = 0;
  size_t bytes;
  EXPECT_STATUS(OK, oddheat_local_mem_size(config, SIDE, &bytes));
  EXPECT(bytes == sizeof local_block);
  EXPECT_STATUS(OK, oddheat_local_init(local_block, sizeof local_block, config, SIDE, &local));
  for (int t = 0; t < 9; t++) {
    for (int y = 0; y < HEIGHT; y++) {
      EXPECT_STATUS(OK, oddheat_local_row(local, upright[y], WIDTH));
    }
    EXPECT_STATUS(OK, oddheat_local_is_settled(local, &settled));
    printf("settled %u\n", (unsigned)settled);
  }
  for (uint32_t y = 0; y < HEIGHT; y += 9) {
    uint16_t row[WIDTH];
    memcpy(row, upright[y], sizeof row);
    EXPECT_STATUS(OK, oddheat_local_correct(local, y, 7000, row, WIDTH));
    for (int x = 0; x < WIDTH; x += 7) {
      printf("corrected %u\n", (unsigned)row[x]);
    }
  }
}

int main(void) {
  oddheat_config config;
  oddheat *device;
  EXPECT_STATUS(OK, oddheat_config_init(&config, WIDTH, HEIGHT));
  config.regions_max = 1;
  config.scale = ODDHEAT_SCALE_LINEAR;
  config.linear_counts_per_kelvin = 25.0;
  EXPECT_STATUS(OK, oddheat_init(device_block, sizeof device_block, &config, &device));
  for (int y = 0; y < HEIGHT; y++) {
    for (int x = 0; x < WIDTH; x++) {
      frame[y][x] = scene(x, y, 0);
      upright[y][x] = scene(y, x, 0);
      spots[y][x] = scene(x, y, 1);
    }
  }
  lines(device, &frame[0][0], 0);
  lines(device, &upright[0][0], 1);
  items();
  twins(device);
  differences(&config);
  local_level(&config);
  return expect_failures == 0 ? 0 : 1;
}
