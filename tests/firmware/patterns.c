/* What finding lines, rows and twins costs, and before/after and the local level, on an invented scene: a slope with eight
 * warm lines on one half and the same parts mirrored on the other.
 */
#include "measure.h"

#define WIDTH 160
#define HEIGHT 120
#define BLOCK 4
#define SIDE 20

static uint64_t change_block[ODDHEAT_CHANGE_MEM_SIZE(WIDTH, HEIGHT, BLOCK) / 8u];
static uint64_t local_block[ODDHEAT_LOCAL_MEM_SIZE(WIDTH, HEIGHT, SIDE) / 8u];
ODDHEAT_MEM(device_block, WIDTH, 1, 0);
static uint16_t scene[HEIGHT * WIDTH], row[WIDTH];
static uint32_t scratch[1024];
static oddheat_config config;
static oddheat *device;
static oddheat_change *change;
static oddheat_local *local;
static oddheat_comb comb;
static oddheat_item_row items;
static oddheat_shift shift;
static oddheat_region regions[16];
static oddheat_tool band = {(uint32_t)sizeof band, ODDHEAT_SHAPE_BOX, 0, 0, 99, 9, 0, 0, 0, 0, 0, 0, 0, 0, 0, {{0, 0}}};
static oddheat_tool bands[8];
static uint32_t found;
static const oddheat_comb_area lines = {8, 8, 71, 103, 0, 0};
static const oddheat_pair twins = {8, 8, 71, 103, 90, 8, 1, 6};

static void draw(void) {
  for (int y = 0; y < HEIGHT; y++) {
    for (int x = 0; x < WIDTH; x++) {
      const int from_left = x < 80 ? x : 159 - x;
      const int line = from_left >= 10 && from_left < 70 && y % 12 < 3 && y >= 12 && y < 108;
      const int spot = (from_left - 30) * (from_left - 30) + (y - 50) * (y - 50) < 90;
      scene[y * WIDTH + x] = (uint16_t)(7000 + 2 * x + 3 * y + (x * 5 + y * 3) % 7 + (line ? 300 : 0) + (spot ? 900 : 0));
    }
  }
}

static void call_comb(void) {
  note(oddheat_find_comb(device, &lines, scene, WIDTH * HEIGHT, scratch, sizeof scratch / sizeof scratch[0], &comb));
}
static void call_items(void) { note(oddheat_find_items(regions, 16, &found, &items)); }
static void call_shift(void) {
  note(oddheat_find_shift(device, &twins, scene, scene, WIDTH * HEIGHT, scratch, sizeof scratch / sizeof scratch[0], &found,
                          &shift));
}
static void call_bands(void) { note(oddheat_tool_bands(&band, 1, bands, 8)); }
static void call_change_init(void) {
  note(oddheat_change_init(change_block, sizeof change_block, &config, BLOCK, &change));
}
static void call_change_rows(void) {
  for (uint32_t y = 0; y < HEIGHT; y++) {
    note(oddheat_change_row(change, y % 2u, y, &scene[y * WIDTH], WIDTH));
  }
}
static void call_change_read(void) { note(oddheat_change_read(change, 7, 4, row, WIDTH / BLOCK)); }
static void call_local_init(void) { note(oddheat_local_init(local_block, sizeof local_block, &config, SIDE, &local)); }
static void call_local_rows(void) {
  for (uint32_t y = 0; y < HEIGHT; y++) {
    note(oddheat_local_row(local, &scene[y * WIDTH], WIDTH));
  }
}
static void call_local_correct(void) {
  for (uint32_t x = 0; x < WIDTH; x++) {
    row[x] = scene[60 * WIDTH + x];
  }
  note(oddheat_local_correct(local, 60, 7400, row, WIDTH));
}

void measure_patterns(void) {
  draw();
  note(oddheat_config_init(&config, WIDTH, HEIGHT));
  config.scale = ODDHEAT_SCALE_LINEAR;
  config.linear_counts_per_kelvin = 25.0;
  config.regions_max = 1;
  note(oddheat_init(device_block, sizeof device_block, &config, &device));
  for (uint16_t i = 0; i < 16; i++) {
    regions[i].x0_px = (uint16_t)(8 + 9 * i);
    regions[i].x1_px = (uint16_t)(regions[i].x0_px + 3);
    regions[i].y0_px = 40;
    regions[i].y1_px = 44;
  }
  measure("find_comb_64x96", call_comb, 0);
  measure("find_items_16", call_items, 0);
  measure("find_shift_64x96", call_shift, 0);
  measure("tool_bands_8", call_bands, 0);
  measure("change_init", call_change_init, 0);
  measure("change_rows", call_change_rows, WIDTH * HEIGHT);
  measure("change_read", call_change_read, 0);
  measure("local_init", call_local_init, 0);
  for (int frame = 0; frame < 6; frame++) {
    call_local_rows();
  }
  measure("local_rows", call_local_rows, WIDTH * HEIGHT);
  measure("local_correct_row", call_local_correct, WIDTH);
}
