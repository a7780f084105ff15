/* Pictures through the C interface: every function, every error, and nothing written on an error.
 *
 * Prints what failed; exit code 0 if nothing did. Also run under valgrind and the sanitizers.
 */
#include "scene.h"

#define ZOOM 2
#define BINS 16
#define GUARD_WORD 0x0123456789ABCDEFu

static struct {
  uint64_t before[4];
  uint64_t display[ODDHEAT_DISPLAY_MEM_SIZE(WIDTH, ZOOM, BINS) / 8u];
  uint64_t between[4];
  uint8_t pixels[ZOOM * ZOOM * WIDTH * 3];
  uint64_t after[4];
} memory;

static uint64_t blank[sizeof memory.display / 8u];

static void guard_memory(void) {
  for (int i = 0; i < 4; i++) {
    memory.before[i] = memory.between[i] = memory.after[i] = GUARD_WORD;
  }
}

static int memory_is_guarded(void) {
  int intact = 1;
  for (int i = 0; i < 4; i++) {
    intact = intact && memory.before[i] == GUARD_WORD && memory.between[i] == GUARD_WORD;
    intact = intact && memory.after[i] == GUARD_WORD;
  }
  return intact;
}

static void *misaligned(void *pointer) { return (unsigned char *)pointer + 1; }

static oddheat_display_config config_of(uint16_t smooth) {
  oddheat_display_config config;
  EXPECT_STATUS(OK, oddheat_display_config_init(&config, WIDTH));
  config.zoom = ZOOM;
  config.bins = BINS;
  config.smooth = smooth;
  config.saturated_at_counts = 16383;
  return config;
}

static oddheat_display *fresh(uint16_t smooth) {
  const oddheat_display_config config = config_of(smooth);
  oddheat_display *display = NULL;
  EXPECT_STATUS(OK, oddheat_display_init(memory.display, sizeof memory.display, &config, &display));
  EXPECT((void *)display == (void *)memory.display);
  return display;
}

static void set_up(void) {
  const oddheat_display_config good = config_of(0);
  const size_t size = sizeof memory.display;
  oddheat_display_config config;
  oddheat_display *display;
  size_t bytes;
  GUARD(config), GUARD(display), GUARD(bytes);
  EXPECT_STATUS(ERR_NULL, oddheat_display_config_init(NULL, WIDTH));
  EXPECT_STATUS(ERR_UNSUPPORTED, oddheat_display_config_init_sized(&config, 4, ODDHEAT_ABI_VERSION, WIDTH));
  EXPECT_STATUS(ERR_ABI, oddheat_display_config_init_sized(&config, (uint32_t)sizeof config, 0, WIDTH));
  EXPECT(UNTOUCHED(config));
  EXPECT_STATUS(ERR_NULL, oddheat_display_mem_size(NULL, &bytes));
  EXPECT_STATUS(ERR_NULL, oddheat_display_mem_size(&good, NULL));
  EXPECT_STATUS(ERR_NULL, oddheat_display_init(NULL, size, &good, &display));
  EXPECT_STATUS(ERR_NULL, oddheat_display_init(memory.display, size, NULL, &display));
  EXPECT_STATUS(ERR_NULL, oddheat_display_init(memory.display, size, &good, NULL));
  EXPECT_STATUS(ERR_MEM_ALIGN, oddheat_display_init(misaligned(memory.display), size, &good, &display));
  EXPECT_STATUS(ERR_MEM_TOO_SMALL, oddheat_display_init(memory.display, size - 1, &good, &display));
#define REFUSED(wanted, field, value) \
  config = good; \
  config.field = (value); \
  EXPECT_STATUS(wanted, oddheat_display_init(memory.display, size, &config, &display))
  REFUSED(ERR_UNSUPPORTED, struct_size, 0);
  REFUSED(ERR_UNSUPPORTED, reserved, 1);
  REFUSED(ERR_ABI, abi_version, 0);
  REFUSED(ERR_RANGE, width_px, 0);
  REFUSED(ERR_RANGE, zoom, 65);
  REFUSED(ERR_RANGE, smooth, 2);
  REFUSED(ERR_RANGE, bins, 1);
  REFUSED(ERR_RANGE, dead_at_or_below_counts, 16382);
  REFUSED(ERR_RANGE, dead_at_or_below_counts, 16381); /* one count is no range */
  REFUSED(ERR_RANGE, low_thousandths, 500);
  REFUSED(ERR_RANGE, high_thousandths, 1001);
  REFUSED(ERR_RANGE, least_span_counts, 16383);
  REFUSED(ERR_RANGE, slowness, 9);
  REFUSED(ERR_RANGE, slowness, 256);
  REFUSED(ERR_MEM_TOO_SMALL, zoom, 64);
  REFUSED(ERR_MEM_TOO_SMALL, bins, 65535);
#undef REFUSED
  EXPECT(UNTOUCHED(display) && UNTOUCHED(bytes));
}

/* Every function that takes a display or a palette, with handles that are none. */
static void handles(void) {
  const oddheat_palette *gray = oddheat_palette_gray();
  oddheat_display *none[3];
  const int wanted[3] = {ODDHEAT_STATUS_ERR_NULL, ODDHEAT_STATUS_ERR_MEM_ALIGN, ODDHEAT_STATUS_ERR_BAD_STATE};
  none[0] = NULL;
  none[1] = (oddheat_display *)misaligned(fresh(0));
  none[2] = (oddheat_display *)(void *)blank;
  GUARD(memory.pixels);
  for (int i = 0; i < 3; i++) {
    const size_t room = sizeof memory.pixels;
    uint32_t rows;
    uint16_t low, high;
    GUARD(rows), GUARD(low), GUARD(high);
#define REFUSED(call) expect_status(wanted[i], (int)(call), #call, __LINE__)
    REFUSED(oddheat_display_row(none[i], gray, ODDHEAT_PIXEL_RGB565, frame[0], WIDTH, memory.pixels, room, &rows));
    REFUSED(oddheat_display_end_frame(none[i], gray, ODDHEAT_PIXEL_RGB565, memory.pixels, room, &rows));
    REFUSED(oddheat_display_set_range(none[i], 1, 2));
    REFUSED(oddheat_display_range(none[i], &low, &high));
    {
      oddheat_display *display = fresh(0);
      const oddheat_palette *palette = (const oddheat_palette *)(void *)none[i];
      REFUSED(oddheat_palette_color(palette, 0, &rows));
      REFUSED(oddheat_display_row(display, palette, ODDHEAT_PIXEL_RGB565, frame[0], WIDTH, memory.pixels, room, &rows));
      REFUSED(oddheat_display_row(display, palette, ODDHEAT_PIXEL_RGB888, frame[0], WIDTH, memory.pixels, room, &rows));
    }
#undef REFUSED
    EXPECT(UNTOUCHED(rows) && UNTOUCHED(low) && UNTOUCHED(high));
  }
  EXPECT(UNTOUCHED(memory.pixels) && all_bytes(blank, sizeof blank, 0));
}

static void rows(void) {
  const oddheat_palette *gray = oddheat_palette_gray();
  oddheat_display *display = fresh(1);
  const size_t room = ZOOM * ZOOM * WIDTH * 2;
  uint8_t *pixels = memory.pixels;
  uint32_t written;
  uint16_t low, high;
  expose(0);
  GUARD(memory.pixels), GUARD(written);
#define ROW(palette, format, counts, width, pixels, size, out) \
  oddheat_display_row(display, palette, format, counts, width, pixels, size, out)
  EXPECT_STATUS(ERR_NULL, ROW(gray, ODDHEAT_PIXEL_RGB565, NULL, WIDTH, pixels, room, &written));
  EXPECT_STATUS(ERR_NULL, ROW(gray, ODDHEAT_PIXEL_RGB565, frame[0], WIDTH, NULL, room, &written));
  EXPECT_STATUS(ERR_NULL, ROW(gray, ODDHEAT_PIXEL_RGB565, frame[0], WIDTH, pixels, room, NULL));
  EXPECT_STATUS(ERR_SIZE, ROW(gray, ODDHEAT_PIXEL_RGB565, frame[0], WIDTH - 1, pixels, room, &written));
  EXPECT_STATUS(ERR_SIZE, ROW(gray, ODDHEAT_PIXEL_RGB565, frame[0], WIDTH, pixels, room - 1, &written));
  EXPECT_STATUS(ERR_SIZE, ROW(gray, ODDHEAT_PIXEL_RGB888, frame[0], WIDTH, pixels, room, &written));
  EXPECT_STATUS(ERR_RANGE, ROW(gray, 0, frame[0], WIDTH, pixels, room, &written));
  EXPECT_STATUS(ERR_RANGE, ROW(gray, 4, frame[0], WIDTH, pixels, room, &written));
  EXPECT_STATUS(ERR_ORDER, oddheat_display_end_frame(display, gray, ODDHEAT_PIXEL_RGB565, pixels, room, &written));
  EXPECT(UNTOUCHED(memory.pixels) && UNTOUCHED(written));
  /* Interpolated, the first row gives half a zoom of rows, every other a zoom, the end the other half. */
  EXPECT_STATUS(OK, ROW(gray, ODDHEAT_PIXEL_RGB565, frame[0], WIDTH, pixels, room, &written));
  EXPECT(written == 1 && all_bytes(pixels + WIDTH * ZOOM * 2, sizeof memory.pixels - WIDTH * ZOOM * 2, 0xA5));
  EXPECT_STATUS(OK, ROW(NULL, ODDHEAT_PIXEL_TONE, frame[1], WIDTH, pixels, room, &written));
  EXPECT(written == 2);
  EXPECT_STATUS(ERR_SIZE, oddheat_display_end_frame(display, gray, ODDHEAT_PIXEL_RGB565, pixels, 0, &written));
  EXPECT_STATUS(OK, oddheat_display_end_frame(display, gray, ODDHEAT_PIXEL_RGB888, pixels, sizeof memory.pixels, &written));
  EXPECT(written == 1);
  display = fresh(0);
  EXPECT_STATUS(OK, ROW(NULL, ODDHEAT_PIXEL_TONE, frame[0], WIDTH, pixels, room, &written));
  EXPECT(written == 2 && memcmp(pixels, pixels + WIDTH * ZOOM, WIDTH * ZOOM) == 0 && pixels[0] == pixels[1]);
  EXPECT_STATUS(OK, oddheat_display_end_frame(display, NULL, ODDHEAT_PIXEL_TONE, NULL, 0, &written));
  EXPECT(written == 0);
#undef ROW
  EXPECT_STATUS(OK, oddheat_display_set_range(display, 5000, 6000));
  EXPECT_STATUS(ERR_RANGE, oddheat_display_set_range(display, 6000, 6000));
  EXPECT_STATUS(ERR_RANGE, oddheat_display_set_range(display, 0, 6000));
  EXPECT_STATUS(ERR_RANGE, oddheat_display_set_range(display, 5000, 16383));
  EXPECT_STATUS(ERR_NULL, oddheat_display_range(display, NULL, &high));
  EXPECT_STATUS(ERR_NULL, oddheat_display_range(display, &low, NULL));
  EXPECT_STATUS(OK, oddheat_display_range(display, &low, &high));
  EXPECT(low == 5000 && high == 6000);
}

static void colors_and_counts(void) {
  const oddheat_config config = scene_config(0);
  uint32_t rgb;
  double counts;
  GUARD(rgb), GUARD(counts);
  EXPECT_STATUS(ERR_NULL, oddheat_palette_color(oddheat_palette_gray(), 0, NULL));
  EXPECT_STATUS(ERR_RANGE, oddheat_palette_color(oddheat_palette_gray(), 256, &rgb));
  EXPECT_STATUS(ERR_NULL, oddheat_counts_at(NULL, NULL, 300.0, &counts));
  EXPECT_STATUS(ERR_NULL, oddheat_counts_at(&config, NULL, 300.0, NULL));
  EXPECT_STATUS(ERR_RANGE, oddheat_counts_at(&config, NULL, 0.0, &counts));
  EXPECT_STATUS(ERR_RANGE, oddheat_counts_at(&config, NULL, 2001.0, &counts));
  EXPECT(UNTOUCHED(rgb) && UNTOUCHED(counts));
  EXPECT_STATUS(OK, oddheat_palette_color(oddheat_palette_gray(), 254, &rgb));
  EXPECT(rgb == 0xFFFFFF);
  EXPECT_STATUS(OK, oddheat_counts_at(&config, NULL, 300.0, &counts));
  EXPECT(counts > 7000.0 && counts < 9000.0);
}

int main(void) {
  guard_memory();
  set_up();
  handles();
  rows();
  colors_and_counts();
  EXPECT(memory_is_guarded());
  return expect_failures == 0 ? 0 : 1;
}
