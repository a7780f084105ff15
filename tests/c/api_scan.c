/* Scanning with a finished table gives what a device gives, count for count; a table that is none is refused, and a
 * refused call writes nothing. */
#include "scene.h"

#define REGIONS 6
#define FULL_SCALE 16383

ODDHEAT_MEM(block, WIDTH, REGIONS, 0);
static uint64_t scan_block[ODDHEAT_SCAN_MEM_SIZE(WIDTH, REGIONS) / 8u];
static oddheat_table table;

static oddheat_config config(void) {
  oddheat_config config = scene_config(0);
  config.regions_max = REGIONS;
  config.full_scale_counts = FULL_SCALE;
  return config;
}

static oddheat *device_of(const oddheat_config *config) {
  oddheat *device = NULL;
  EXPECT_STATUS(OK, oddheat_init(block, sizeof block, config, &device));
  return device;
}

static void temperatures(oddheat *device) {
  static uint16_t counts[65536], of_device[65536], of_table[65536];
  for (uint32_t i = 0; i < 65536; i++) {
    int32_t mk = 0, other = 0;
    counts[i] = (uint16_t)i;
    const oddheat_status status = oddheat_temperature(device, i << 8, &mk);
    EXPECT(oddheat_table_temperature(&table, i << 8, &other) == status && mk == other);
  }
  EXPECT_STATUS(OK, oddheat_kelvin_row(device, counts, 65536, of_device));
  EXPECT_STATUS(OK, oddheat_table_kelvin_row(&table, counts, 65536, of_table));
  EXPECT(memcmp(of_device, of_table, sizeof of_table) == 0);
  /* Both halves of the range have temperatures, so that equality says something. */
  EXPECT(of_table[4000] > 0 && of_table[9000] > of_table[4000] && of_table[16384] == 65535);
}

/** Warm and cold marks of several sizes on an even ground, and more of them than regions are kept. */
static void paint(uint16_t shift) {
  for (int y = 0; y < HEIGHT; y++)
    for (int x = 0; x < WIDTH; x++) {
      const int mark = x / 8 + y / 8, inside = x % 8 < 2 + mark % 4 && y % 8 < 3;
      const int sign = mark % 3 == 0 ? -1 : 1;
      frame[y][x] = (uint16_t)(5000 + shift + (inside ? sign * (900 + 40 * mark + x) : (x * 7 + y * 3) % 11));
    }
}

static void regions(oddheat *device, const oddheat_config *config) {
  oddheat_scan *scan = NULL;
  oddheat_region of_device[REGIONS], of_scan[REGIONS];
  oddheat_summary summary, other;
  int32_t ground = 0;
  uint16_t hot = 0, cold = 0;
  size_t bytes = 0;
  EXPECT_STATUS(OK, oddheat_scan_mem_size(config, &bytes));
  EXPECT(bytes == sizeof scan_block);
  EXPECT_STATUS(OK, oddheat_scan_init(scan_block, sizeof scan_block, config, &scan));
  EXPECT_STATUS(OK, oddheat_temperature(device, 5000u << 8, &ground));
  EXPECT_STATUS(OK, oddheat_table_thresholds(&table, ground + 3000, ground - 3000, &hot, &cold));
  EXPECT(hot > 5000 && cold < 5000);
  EXPECT_STATUS(OK, oddheat_set_thresholds(device, ground + 3000, ground - 3000));
  EXPECT_STATUS(OK, oddheat_scan_start(scan, hot, cold));
  for (uint16_t turn = 0; turn < 3; turn++) {
    paint((uint16_t)(10 * turn));
    memset(of_device, 0, sizeof of_device);
    memset(of_scan, 0xAA, sizeof of_scan);
    EXPECT_STATUS(OK, oddheat_start_frame(device, NULL));
    for (int y = 0; y < HEIGHT; y++) {
      EXPECT_STATUS(OK, oddheat_push_row(device, frame[y], WIDTH));
      EXPECT_STATUS(OK, oddheat_scan_row(scan, frame[y], WIDTH));
    }
    EXPECT_STATUS(OK, oddheat_regions(device, of_device, REGIONS, &summary));
    EXPECT_STATUS(OK, oddheat_scan_regions(scan, &table, of_scan, REGIONS, &other));
    EXPECT(summary.regions_found == REGIONS && summary.regions_dropped > 0);
    EXPECT(memcmp(&summary, &other, sizeof summary) == 0 && memcmp(of_device, of_scan, sizeof of_device) == 0);
    /* Again, without a table, and with less room. */
    EXPECT_STATUS(OK, oddheat_scan_regions(scan, NULL, of_scan, 1, &other));
    EXPECT(other.regions_found == REGIONS && other.regions_written == 1);
    EXPECT(of_scan[0].peak_mk == 0 && of_scan[0].peak_counts == of_device[0].peak_counts && of_device[0].peak_mk > 0);
  }
}

static void refused(const oddheat_config *good) {
  static oddheat_table broken;
  oddheat_config bad = *good;
  oddheat_scan *scan = NULL;
  oddheat_table kept = table;
  int32_t mk;
  uint16_t hot, cold, row[WIDTH] = {0}, kelvin[WIDTH];
  size_t bytes;
  oddheat_summary summary;
  GUARD(mk), GUARD(hot), GUARD(cold), GUARD(kelvin), GUARD(bytes), GUARD(summary);
  bad.curve_c_counts = -1.0;
  EXPECT_STATUS(ERR_RANGE, oddheat_table_build(&bad, &table));
  EXPECT(memcmp(&kept, &table, sizeof table) == 0);
  EXPECT_STATUS(ERR_NULL, oddheat_table_build(NULL, &table));
  EXPECT_STATUS(ERR_NULL, oddheat_table_build(good, NULL));
  EXPECT_STATUS(ERR_BAD_STATE, oddheat_table_temperature(&broken, 5000u << 8, &mk));
  /* The mark is there, but the pieces do not agree with each other. */
  broken = table;
  broken.words[2] = ~broken.words[2];
  EXPECT_STATUS(ERR_BAD_STATE, oddheat_table_temperature(&broken, 5000u << 8, &mk));
  EXPECT_STATUS(ERR_BAD_STATE, oddheat_table_kelvin_row(&broken, row, WIDTH, kelvin));
  EXPECT_STATUS(ERR_BAD_STATE, oddheat_table_thresholds(&broken, 310000, 280000, &hot, &cold));
  EXPECT_STATUS(ERR_NO_TEMPERATURE, oddheat_table_temperature(&table, 65535u << 8, &mk));
  EXPECT_STATUS(ERR_RANGE, oddheat_table_thresholds(&table, 280000, 310000, &hot, &cold));
  EXPECT_STATUS(ERR_NULL, oddheat_table_thresholds(&table, 310000, 280000, NULL, &cold));
  EXPECT_STATUS(ERR_MEM_TOO_SMALL, oddheat_scan_init(scan_block, sizeof scan_block - 1, good, &scan));
  EXPECT_STATUS(ERR_MEM_ALIGN, oddheat_scan_init((char *)scan_block + 1, sizeof scan_block - 8, good, &scan));
  bad = *good, bad.connectivity = 5;
  EXPECT_STATUS(ERR_RANGE, oddheat_scan_init(scan_block, sizeof scan_block, &bad, &scan));
  bad = *good, bad.width_px = 0;
  EXPECT_STATUS(ERR_RANGE, oddheat_scan_mem_size(&bad, &bytes));
  EXPECT(scan == NULL);
  EXPECT_STATUS(OK, oddheat_scan_init(scan_block, sizeof scan_block, good, &scan));
  EXPECT_STATUS(ERR_RANGE, oddheat_scan_start(scan, 4000, 4001));
  EXPECT_STATUS(ERR_SIZE, oddheat_scan_row(scan, row, WIDTH - 1));
  EXPECT_STATUS(ERR_BAD_STATE, oddheat_scan_regions(scan, &broken, NULL, 0, &summary));
  memset(scan_block, 0, 8);
  EXPECT_STATUS(ERR_BAD_STATE, oddheat_scan_row(scan, row, WIDTH));
  EXPECT(UNTOUCHED(mk) && UNTOUCHED(hot) && UNTOUCHED(cold) && UNTOUCHED(kelvin) && UNTOUCHED(bytes));
  EXPECT(UNTOUCHED(summary));
}

int main(void) {
  const oddheat_config plain = config();
  oddheat *device = device_of(&plain);
  EXPECT_STATUS(OK, oddheat_table_build(&plain, &table));
  temperatures(device);
  regions(device, &plain);
  refused(&plain);
  return expect_failures != 0;
}
