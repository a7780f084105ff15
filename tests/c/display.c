/* Shows the invented scene through the C interface: every format and palette, blocks and interpolated, with a range that
 * follows the scene and one that is set. Prints a hash of every row of the picture: the Rust test prints the same lines
 * from the core and compares.
 */
#include "scene.h"

#define ZOOM 3
#define BINS 128

static uint64_t block[ODDHEAT_DISPLAY_MEM_SIZE(WIDTH, ZOOM, BINS) / 8u];
static uint64_t moved[ODDHEAT_DISPLAY_MEM_SIZE(WIDTH, ZOOM, BINS) / 8u];
static uint8_t pixels[ZOOM * ZOOM * WIDTH * 3];

static void print_rows(uint32_t rows, uint32_t format) {
  const size_t bytes = (size_t)WIDTH * ZOOM * format;
  for (uint32_t row = 0; row < rows; row++) {
    uint32_t hash = 2166136261u; /* FNV-1a */
    for (size_t i = 0; i < bytes; i++) {
      hash = (hash ^ pixels[row * bytes + i]) * 16777619u;
    }
    printf("row %08x\n", (unsigned)hash);
  }
}

static void show(oddheat_display *display, uint32_t t, const oddheat_palette *palette, uint32_t format) {
  uint32_t rows;
  uint16_t low, high;
  expose(t);
  for (int y = 0; y < HEIGHT; y++) {
    EXPECT_STATUS(OK, oddheat_display_row(display, palette, format, frame[y], WIDTH, pixels, sizeof pixels, &rows));
    print_rows(rows, format);
  }
  EXPECT_STATUS(OK, oddheat_display_end_frame(display, palette, format, pixels, sizeof pixels, &rows));
  print_rows(rows, format);
  EXPECT_STATUS(OK, oddheat_display_range(display, &low, &high));
  printf("range %u %u\n", (unsigned)low, (unsigned)high);
}

static void shown(uint16_t smooth) {
  const oddheat_palette *palettes[4];
  oddheat_display_config config;
  oddheat_display *display;
  size_t bytes;
  palettes[0] = oddheat_palette_cividis();
  palettes[1] = oddheat_palette_viridis();
  palettes[2] = oddheat_palette_gray();
  palettes[3] = oddheat_palette_vik();
  EXPECT_STATUS(OK, oddheat_display_config_init(&config, WIDTH));
  config.saturated_at_counts = 16383;
  config.zoom = ZOOM;
  config.bins = BINS;
  config.smooth = smooth;
  config.every_rows = 2;
  config.low_thousandths = 20;
  config.high_thousandths = 980;
  config.least_span_counts = 100;
  config.slowness = 1;
  EXPECT_STATUS(OK, oddheat_display_mem_size(&config, &bytes));
  EXPECT(bytes == sizeof block);
  EXPECT_STATUS(OK, oddheat_display_init(block, sizeof block, &config, &display));
  for (uint32_t t = 0; t < 12; t++) {
    if (t == 5) {
      EXPECT_STATUS(OK, oddheat_display_set_range(display, 7100, 9800));
    } else if (t == 8) {
      EXPECT_STATUS(OK, oddheat_display_set_range(display, 0, 0));
      /* The block holds no pointers: it may be moved between calls. */
      memcpy(moved, block, sizeof moved);
      memset(block, 0xA5, sizeof block);
      display = (oddheat_display *)(void *)moved;
    }
    show(display, t, palettes[t % 4u], ODDHEAT_PIXEL_TONE + t % 3u);
  }
}

int main(void) {
  const oddheat_config config = scene_config(16383);
  shown(0);
  shown(1);
  for (uint32_t tone = 0; tone < 256; tone += 51) {
    uint32_t rgb;
    EXPECT_STATUS(OK, oddheat_palette_color(oddheat_palette_vik(), tone, &rgb));
    printf("color %06x\n", (unsigned)rgb);
  }
  for (int celsius = -20; celsius < 120; celsius += 20) {
    double counts;
    EXPECT_STATUS(OK, oddheat_counts_at(&config, NULL, celsius + 273.15, &counts));
    number("counts", counts);
  }
  return expect_failures == 0 ? 0 : 1;
}
