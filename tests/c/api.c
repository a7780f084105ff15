/* Set-up and scanning through the C interface: every function, every error, and nothing written on an error.
 * Checks are in api_checks.c.
 *
 * Prints what failed; exit code 0 if nothing did. Also run under valgrind and the sanitizers.
 */
#include "fixture.h"

static void config_and_size(void) {
  oddheat_config config;
  oddheat_config good = config_of(SHAPES);
  const uint32_t size = (uint32_t)sizeof config;
  size_t bytes;
  GUARD(config);
  EXPECT_STATUS(ERR_NULL, oddheat_config_init(NULL, WIDTH, HEIGHT));
  EXPECT_STATUS(ERR_MEM_ALIGN, oddheat_config_init((oddheat_config *)misaligned(&config), WIDTH, HEIGHT));
  EXPECT_STATUS(ERR_UNSUPPORTED, oddheat_config_init_sized(&config, size + 8, ODDHEAT_ABI_VERSION, WIDTH, HEIGHT));
  EXPECT_STATUS(ERR_UNSUPPORTED, oddheat_config_init_sized(&config, size - 8, ODDHEAT_ABI_VERSION, WIDTH, HEIGHT));
  EXPECT_STATUS(ERR_ABI, oddheat_config_init_sized(&config, size, ODDHEAT_ABI_VERSION + 0x10000, WIDTH, HEIGHT));
  EXPECT_STATUS(ERR_ABI, oddheat_config_init_sized(&config, size, ODDHEAT_ABI_VERSION + 1, WIDTH, HEIGHT));
  EXPECT(UNTOUCHED(config));

  GUARD(bytes);
  EXPECT_STATUS(ERR_NULL, oddheat_mem_size(NULL, &bytes));
  EXPECT_STATUS(ERR_NULL, oddheat_mem_size(&good, NULL));
  EXPECT_STATUS(ERR_MEM_ALIGN, oddheat_mem_size((oddheat_config *)misaligned(&good), &bytes));
  EXPECT_STATUS(ERR_MEM_ALIGN, oddheat_mem_size(&good, (size_t *)misaligned(&bytes)));
#define REFUSED(wanted, field, value) \
  config = good; \
  config.field = (value); \
  EXPECT_STATUS(wanted, oddheat_mem_size(&config, &bytes))
  REFUSED(ERR_UNSUPPORTED, struct_size, size + 8);
  REFUSED(ERR_ABI, abi_version, 0);
  REFUSED(ERR_RANGE, width_px, 0);
  REFUSED(ERR_RANGE, height_px, 0);
  REFUSED(ERR_RANGE, regions_max, 32767);
#undef REFUSED
  EXPECT(UNTOUCHED(bytes));
  good.regions_max = 0;
  EXPECT_STATUS(OK, oddheat_mem_size(&good, &bytes));
  EXPECT(bytes == ODDHEAT_MEM_SIZE(WIDTH, 32, SHAPES));
}

static void init(void) {
  const oddheat_config good = config_of(SHAPES);
  const size_t size = sizeof memory.block;
  volatile double zero = 0.0;
  oddheat_config config;
  oddheat *device;
  GUARD(device);
  EXPECT_STATUS(ERR_NULL, oddheat_init(NULL, size, &good, &device));
  EXPECT_STATUS(ERR_NULL, oddheat_init(memory.block, size, NULL, &device));
  EXPECT_STATUS(ERR_NULL, oddheat_init(memory.block, size, &good, NULL));
  EXPECT_STATUS(ERR_MEM_ALIGN, oddheat_init(misaligned(memory.block), size, &good, &device));
  EXPECT_STATUS(ERR_MEM_ALIGN, oddheat_init((unsigned char *)memory.block + 4, size, &good, &device));
  EXPECT_STATUS(ERR_MEM_TOO_SMALL, oddheat_init(memory.block, size - 1, &good, &device));
#define REFUSED_NEXT(wanted, field, value) \
  config.field = (value); \
  EXPECT_STATUS(wanted, oddheat_init(memory.block, size, &config, &device))
#define REFUSED(wanted, field, value) \
  config = good; \
  REFUSED_NEXT(wanted, field, value)
  REFUSED(ERR_UNSUPPORTED, struct_size, 0);
  REFUSED(ERR_ABI, abi_version, 0);
  REFUSED(ERR_RANGE, width_px, 0);
  REFUSED(ERR_RANGE, connectivity, 5);
  REFUSED(ERR_RANGE, scale, 2);
  REFUSED(ERR_RANGE, scale, ODDHEAT_SCALE_CURVE); /* its coefficients were left at 0 */
  REFUSED(ERR_RANGE, linear_counts_per_kelvin, 0.0);
  REFUSED(ERR_RANGE, linear_counts_per_kelvin, zero / zero);
  REFUSED(ERR_RANGE, emissivity_q15, 32769);
  REFUSED(ERR_RANGE, transmittance_q15, 32769);
  REFUSED(ERR_RANGE, reflected_mk, -1);
  REFUSED(ERR_RANGE, reflected_mk, 2000001);
  REFUSED(ERR_RANGE, medium_mk, -1);
  REFUSED(ERR_RANGE, netd_mk, 4000000000u);
  REFUSED(ERR_RANGE, linear_zero_celsius, 3000.0);
  /* Nearly all that arrives is a reflection hotter than any count can be: nothing is left for the surface. */
  config.linear_zero_celsius = good.linear_zero_celsius;
  config.reflected_mk = 1500000;
  REFUSED_NEXT(ERR_NO_TEMPERATURE, emissivity_q15, ODDHEAT_Q15(0.1));
#undef REFUSED_NEXT
#undef REFUSED
  EXPECT(UNTOUCHED(device));
}

/* Every function that takes a device, with handles that are none. */
static void handles(void) {
  static uint64_t blank[BLOCK_WORDS];
  const uint16_t row[WIDTH] = {0};
  oddheat_condition dry = {ODDHEAT_CONDITION_DRY, 1};
  const oddheat_place place = place_of(ODDHEAT_ROLE_ROTOR, ODDHEAT_VIEW_LEFT, ODDHEAT_SHAPE_SPOT, 5, 5, 3, 0);
  oddheat *none[3];
  const int wanted[3] = {ODDHEAT_STATUS_ERR_NULL, ODDHEAT_STATUS_ERR_MEM_ALIGN, ODDHEAT_STATUS_ERR_BAD_STATE};
  none[0] = NULL;
  none[1] = (oddheat *)misaligned(fresh());
  none[2] = (oddheat *)(void *)blank;
  for (int i = 0; i < 3; i++) {
    oddheat_summary summary;
    oddheat_finding finding;
    uint32_t found;
    uint16_t x, y, kelvin[WIDTH];
    int32_t mk;
    GUARD(summary), GUARD(finding), GUARD(found), GUARD(x), GUARD(y), GUARD(kelvin), GUARD(mk);
#define REFUSED(call) expect_status(wanted[i], (int)(call), #call, __LINE__)
    REFUSED(oddheat_set_thresholds(none[i], 300000, 280000));
    REFUSED(oddheat_start_frame(none[i], NULL));
    REFUSED(oddheat_push_row(none[i], row, WIDTH));
    REFUSED(oddheat_regions(none[i], NULL, 0, &summary));
    REFUSED(oddheat_temperature(none[i], AIR << 8, &mk));
    REFUSED(oddheat_kelvin_row(none[i], row, WIDTH, kelvin));
    REFUSED(oddheat_check_begin(none[i], ODDHEAT_KIND_BRAKE, &dry, 1));
    REFUSED(oddheat_check_place(none[i], &place));
    REFUSED(oddheat_check_locate(none[i], ODDHEAT_ROLE_TREAD, 0, &found, &x, &y));
    REFUSED(oddheat_check_judge(none[i], &finding));
#undef REFUSED
    EXPECT(UNTOUCHED(summary) && UNTOUCHED(finding) && UNTOUCHED(found) && UNTOUCHED(x) && UNTOUCHED(y));
    EXPECT(UNTOUCHED(kelvin) && UNTOUCHED(mk));
  }
  EXPECT(all_bytes(blank, sizeof blank, 0));
}

static void scanning(void) {
  oddheat *device = fresh();
  uint16_t row[WIDTH] = {0}, kelvin[WIDTH];
  oddheat_region regions[3];
  oddheat_summary summary;
  int32_t mk;
  remember();
  EXPECT_STATUS(ERR_RANGE, oddheat_set_thresholds(device, 280000, 300000));
  EXPECT_STATUS(ERR_RANGE, oddheat_set_thresholds(device, -1, 0));
  EXPECT_STATUS(ERR_RANGE, oddheat_set_thresholds(device, 0, 2000001));
  EXPECT(UNCHANGED());
  EXPECT_STATUS(OK, oddheat_set_thresholds(device, 313150, 0));
  remember();
  EXPECT_STATUS(ERR_NULL, oddheat_push_row(device, NULL, WIDTH));
  EXPECT_STATUS(ERR_MEM_ALIGN, oddheat_push_row(device, (uint16_t *)misaligned(row), WIDTH));
  EXPECT_STATUS(ERR_SIZE, oddheat_push_row(device, row, WIDTH - 1));
  EXPECT_STATUS(ERR_SIZE, oddheat_push_row(device, NULL, 0));
  EXPECT(UNCHANGED());

  GUARD(regions), GUARD(summary);
  rows(device, HEIGHT - 1, AIR, WARM);
  remember();
  EXPECT_STATUS(ERR_ORDER, oddheat_start_frame(device, NULL));
  EXPECT_STATUS(ERR_ORDER, oddheat_regions(device, regions, 3, &summary));
  EXPECT(UNCHANGED());
  rows(device, 1, AIR, AIR);
  remember();
  EXPECT_STATUS(ERR_NULL, oddheat_regions(device, regions, 3, NULL));
  EXPECT_STATUS(ERR_NULL, oddheat_regions(device, NULL, 3, &summary));
  EXPECT_STATUS(ERR_MEM_ALIGN, oddheat_regions(device, (oddheat_region *)misaligned(regions), 2, &summary));
  EXPECT_STATUS(ERR_MEM_ALIGN, oddheat_regions(device, regions, 3, (oddheat_summary *)misaligned(&summary)));
  EXPECT(UNTOUCHED(regions) && UNTOUCHED(summary) && UNCHANGED());
  EXPECT_STATUS(OK, oddheat_regions(device, NULL, 0, &summary));
  EXPECT(summary.regions_found == 2 && summary.regions_written == 0 && summary.regions_dropped == 1);
  EXPECT_STATUS(OK, oddheat_regions(device, regions, 1, &summary));
  EXPECT(summary.regions_found == 2 && summary.regions_written == 1);
  EXPECT(UNTOUCHED(regions[1]));
  EXPECT(regions[0].area_px == 4 && regions[0].x0_px == 10 && regions[0].y1_px == 12);
  EXPECT(regions[0].peak_counts == WARM && regions[0].sign == ODDHEAT_SIGN_HOT && regions[0].incomplete == 0);
  EXPECT(regions[0].peak_mk > 353100 && regions[0].peak_mk < 353200);

  GUARD(mk), GUARD(kelvin);
  EXPECT_STATUS(ERR_NULL, oddheat_temperature(device, AIR << 8, NULL));
  EXPECT_STATUS(ERR_MEM_ALIGN, oddheat_temperature(device, AIR << 8, (int32_t *)misaligned(&mk)));
  EXPECT_STATUS(ERR_NO_TEMPERATURE, oddheat_temperature(device, 0xFFFFFFFFu, &mk));
  EXPECT(UNTOUCHED(mk));
  EXPECT_STATUS(OK, oddheat_temperature(device, AIR << 8, &mk));
  EXPECT(mk >= 293148 && mk <= 293152);
  EXPECT_STATUS(ERR_NULL, oddheat_kelvin_row(device, row, WIDTH, NULL));
  EXPECT_STATUS(ERR_NULL, oddheat_kelvin_row(device, NULL, WIDTH, kelvin));
  EXPECT_STATUS(ERR_MEM_ALIGN, oddheat_kelvin_row(device, row, WIDTH, (uint16_t *)misaligned(kelvin)));
  EXPECT_STATUS(ERR_SIZE, oddheat_kelvin_row(device, row, SIZE_MAX, kelvin));
  EXPECT(UNTOUCHED(kelvin));
  EXPECT_STATUS(OK, oddheat_kelvin_row(device, NULL, 0, NULL));
  row[0] = (uint16_t)AIR;
  EXPECT_STATUS(OK, oddheat_kelvin_row(device, row, WIDTH, kelvin));
  EXPECT(kelvin[0] >= 9380 && kelvin[0] <= 9382); /* 293.15 K times 32 is 9380.8 */
}

int main(void) {
  guard_memory();
  config_and_size();
  init();
  handles();
  scanning();
  EXPECT(memory_is_guarded());
  return expect_failures == 0 ? 0 : 1;
}
