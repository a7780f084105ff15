/* What repeats and what has a twin: combs, rows of items, pairs, bands and rows of boxes. What is there is found, what
 * is not there is not, and a refused call writes nothing.
 *
 * Prints what failed; exit code 0 if nothing did. Also run under valgrind and the sanitizers.
 */
#include "refused.h"

#define WIDTH 128
#define HEIGHT 96
#define PIXELS (WIDTH * HEIGHT)
#define PLAIN 8000u
#define BOXES 256
#define SCRATCH_GUARD 0x01234567u

ODDHEAT_MEM(device_block, WIDTH, 4, 0);
static uint16_t frame[PIXELS], other[PIXELS];
static uint32_t scratch[2048];
static oddheat_tool tools[BOXES + 1];

static oddheat *fresh(void) {
  oddheat_config config;
  oddheat *device = NULL;
  EXPECT_STATUS(OK, oddheat_config_init(&config, WIDTH, HEIGHT));
  config.regions_max = 4;
  config.scale = ODDHEAT_SCALE_LINEAR;
  config.linear_counts_per_kelvin = 100.0;
  config.linear_zero_celsius = -60.0;
  EXPECT_STATUS(OK, oddheat_init(device_block, sizeof device_block, &config, &device));
  return device;
}

static double apart(double a, double b) { return a > b ? a - b : b - a; }

/** Lines of 400 counts a pitch of 12 apart from 14 on, of which one is missing; slanted about the middle of the box. */
static void paint_comb(int lines, int missing, int upright, double slant) {
  for (int y = 0; y < HEIGHT; y++) {
    for (int x = 0; x < WIDTH; x++) {
      const double across = (upright ? x : y) - slant * ((upright ? y : x) - 51.5);
      double height = 0.0;
      for (int k = 0; k < lines; k++) {
        const double off = apart(across, 14.0 + 12.0 * k);
        height += k != missing && off < 2.0 ? 200.0 * (2.0 - off) : 0.0;
      }
      frame[y * WIDTH + x] = (uint16_t)(PLAIN + height);
    }
  }
}

static void comb_is(const oddheat_comb *comb, double slant) {
  EXPECT(apart(comb->pitch_px.value, 12.0) < 0.1 && apart(comb->slant.value, slant) < 0.005);
  EXPECT(comb->pitch_px.uncertainty >= 0.0 && comb->pitch_px.uncertainty < 0.1 && comb->slant.uncertainty >= 0.0);
  EXPECT(comb->confidence_per_mille >= 400 && comb->confidence_per_mille <= 1000 && comb->lines_count == 6);
  for (int k = 0; k < 6; k++) {
    const oddheat_comb_line *line = &comb->lines[k];
    EXPECT(apart(line->place_px, 14.0 + 12.0 * k) < 0.3 && line->present == (k != 3) && line->reserved == 0);
    EXPECT(apart(line->contrast_counts, k == 3 ? 0.0 : 400.0) < 80.0);
  }
}

static void combs(void) {
  oddheat *device = fresh();
  /* Longer than it is wide, whichever way the lines run. */
  const oddheat_comb_area good = {8, 8, 95, 87, 0, 0}, upright = {8, 8, 87, 95, 1, 0};
  oddheat_comb_area area = good;
  oddheat_comb comb;
  size_t words = 0, again = 0, none;
  GUARD(comb), GUARD(none);
  EXPECT_STATUS(OK, oddheat_find_comb_words(&good, &words));
  EXPECT(words >= 80 && words < sizeof scratch / sizeof scratch[0]);
  paint_comb(6, 3, 0, 0.0);
  for (int i = 0; i < 3; i++) {
    REFUSED(oddheat_find_comb((oddheat *)refused(i), &good, frame, PIXELS, scratch, words, &comb));
  }
  for (int i = 0; i < 2; i++) {
    REFUSED(oddheat_find_comb_words((const oddheat_comb_area *)refused(i), &none));
    REFUSED(oddheat_find_comb_words(&good, (size_t *)refused(i)));
    REFUSED(oddheat_find_comb(device, (const oddheat_comb_area *)refused(i), frame, PIXELS, scratch, words, &comb));
    REFUSED(oddheat_find_comb(device, &good, (const uint16_t *)refused(i), PIXELS, scratch, words, &comb));
    REFUSED(oddheat_find_comb(device, &good, frame, PIXELS, (uint32_t *)refused(i), words, &comb));
    REFUSED(oddheat_find_comb(device, &good, frame, PIXELS, scratch, words, (oddheat_comb *)refused(i)));
  }
#define FIND(length, size) oddheat_find_comb(device, &area, frame, length, scratch, size, &comb)
#define WITH(field, value) (area = good, area.field = (value))
  WITH(upright, 2);
  EXPECT_STATUS(ERR_RANGE, oddheat_find_comb_words(&area, &none));
  EXPECT_STATUS(ERR_RANGE, FIND(PIXELS, words));
  WITH(y1_px, 7);
  EXPECT_STATUS(ERR_RANGE, oddheat_find_comb_words(&area, &none));
  EXPECT_STATUS(ERR_RANGE, FIND(PIXELS, words));
  WITH(x1_px, 7);
  EXPECT_STATUS(ERR_RANGE, oddheat_find_comb_words(&area, &none));
  EXPECT_STATUS(ERR_RANGE, FIND(PIXELS, words));
  WITH(least_pitch_px, 3);
  EXPECT_STATUS(ERR_RANGE, oddheat_find_comb_words(&area, &none));
  EXPECT_STATUS(ERR_RANGE, FIND(PIXELS, words));
  WITH(x1_px, 22);
  EXPECT_STATUS(ERR_SIZE, FIND(PIXELS, words));
  WITH(y1_px, 22);
  EXPECT_STATUS(ERR_SIZE, FIND(PIXELS, words));
  WITH(x1_px, WIDTH);
  EXPECT_STATUS(ERR_SIZE, FIND(PIXELS, words));
  area = good;
  EXPECT_STATUS(ERR_SIZE, FIND(PIXELS - 1, words));
  EXPECT_STATUS(ERR_MEM_TOO_SMALL, FIND(PIXELS, words - 1));
  paint_comb(0, 0, 0, 0.0);
  EXPECT_STATUS(ERR_BELOW_NOISE, FIND(PIXELS, words));
  paint_comb(2, -1, 0, 0.0);
  WITH(y1_px, 49);
  EXPECT_STATUS(ERR_TOO_FEW, FIND(PIXELS, words));
  for (int i = 0; i < PIXELS; i++) {
    frame[i] = (uint16_t)(PLAIN + (i % 4 == 0 ? 400u : 0u));
  }
  const oddheat_comb_area fine = {0, 0, WIDTH - 1, 31, 1, 4};
  EXPECT_STATUS(ERR_NO_FIT, oddheat_find_comb(device, &fine, frame, PIXELS, scratch, 2048, &comb));
  EXPECT(UNTOUCHED(comb) && UNTOUCHED(none));
  static const double slants[3] = {0.0, 0.05, -0.05};
  for (int i = 0; i < 6; i++) {
    area = i % 2 ? upright : good;
    paint_comb(6, 3, i % 2, slants[i / 2]);
    EXPECT_STATUS(OK, oddheat_find_comb_words(&area, &again));
    EXPECT(again == words);
    scratch[words] = SCRATCH_GUARD;
    EXPECT_STATUS(OK, FIND(PIXELS, words));
    EXPECT(scratch[words] == SCRATCH_GUARD);
    comb_is(&comb, slants[i / 2]);
  }
#undef WITH
#undef FIND
}

static void items(void) {
  /* Places of a row of six in no order, the third empty. */
  static const uint16_t row_of_six[5] = {4, 0, 5, 3, 1};
  static const uint16_t scattered[5][2] = {{3, 70}, {20, 9}, {41, 52}, {90, 31}, {66, 78}};
  oddheat_region regions[ODDHEAT_BLOBS_MAX + 1];
  oddheat_item_row row;
  uint32_t found;
  memset(regions, 0, sizeof regions);
  GUARD(row), GUARD(found);
  for (int i = 0; i < 2; i++) {
    REFUSED(oddheat_find_items((const oddheat_region *)refused(i), 5, &found, &row));
    REFUSED(oddheat_find_items(regions, 5, (uint32_t *)refused(i), &row));
    REFUSED(oddheat_find_items(regions, 5, &found, (oddheat_item_row *)refused(i)));
  }
  EXPECT_STATUS(ERR_TOO_MANY, oddheat_find_items(regions, ODDHEAT_BLOBS_MAX + 1, &found, &row));
  EXPECT(UNTOUCHED(found) && UNTOUCHED(row));
#define AT(region, x, y) \
  ((region).x0_px = (uint16_t)(x), (region).y0_px = (uint16_t)(y), (region).x1_px = (uint16_t)((x) + 5), \
   (region).y1_px = (uint16_t)((y) + 6))
  for (int i = 0; i < 5; i++) {
    AT(regions[i], scattered[i][0], scattered[i][1]);
  }
  EXPECT_STATUS(OK, oddheat_find_items(regions, 5, &found, &row));
  EXPECT(found == 0);
  for (int i = 0; i < 5; i++) {
    AT(regions[i], 10 + 14 * row_of_six[i], 20 + 2 * row_of_six[i]);
  }
  for (size_t few = 0; few < 3; few++) {
    GUARD(found);
    EXPECT_STATUS(OK, oddheat_find_items(regions, few, &found, &row));
    EXPECT(found == 0);
  }
  EXPECT(UNTOUCHED(row));
  EXPECT_STATUS(OK, oddheat_find_items(regions, 5, &found, &row));
  EXPECT(found == 1 && row.places == 6 && row.filled == 0x3B && row.reserved == 0);
  EXPECT(apart(row.first_x_px, 12.5) < 0.01 && apart(row.first_y_px, 23.0) < 0.01);
  EXPECT(apart(row.step_x_px.value, 14.0) < 0.01 && apart(row.step_y_px.value, 2.0) < 0.01);
  EXPECT(row.step_x_px.uncertainty > 0.0 && row.step_x_px.uncertainty < 0.5);
  EXPECT(row.confidence_per_mille >= 800 && row.confidence_per_mille <= 834); /* five of six places */
#undef AT
}

/** What a part of 40 by 32 pixels shows; neither half is like the other, and its border is plain. */
static int part(int x, int y) {
  const int spot = (x - 11) * (x - 11) + (y - 10) * (y - 10), bar = x >= 24 && x <= 28 && y >= 8 && y <= 25;
  return (spot < 36 ? 500 - 10 * spot : 0) + (bar ? 300 : 0) + (x >= 14 && x <= 33 && y >= 20 && y <= 22 ? 250 : 0);
}

/** A part at (10, 10), and its mirror image off by so much from (70, 30). */
static void paint_pair(uint16_t *to, int height, int dx, int dy) {
  for (int y = 0; y < HEIGHT; y++) {
    for (int x = 0; x < WIDTH; x++) {
      const int counts = part(x - 10, y - 10) + part(39 - (x - 70 - dx), y - 30 - dy);
      to[y * WIDTH + x] = (uint16_t)((int)PLAIN + height * counts);
    }
  }
}

static void shifts(void) {
  oddheat *device = fresh();
  const oddheat_pair good = {10, 10, 49, 41, 70, 30, 1, 8};
  const oddheat_pair itself = {70, 30, 109, 61, 70, 30, 0, 8};
  oddheat_pair pair = good;
  oddheat_shift shift;
  uint32_t found;
  size_t words = 0, none;
  GUARD(shift), GUARD(found), GUARD(none);
  EXPECT_STATUS(OK, oddheat_find_shift_words(&good, &words));
  EXPECT(words >= 72 && words < sizeof scratch / sizeof scratch[0]);
  paint_pair(frame, 1, 2, 1);
#define FIND(length, size) oddheat_find_shift(device, &pair, frame, frame, length, scratch, size, &found, &shift)
#define WITH(field, value) (pair = good, pair.field = (value))
  for (int i = 0; i < 3; i++) {
    REFUSED(oddheat_find_shift((oddheat *)refused(i), &pair, frame, frame, PIXELS, scratch, words, &found, &shift));
  }
  for (int i = 0; i < 2; i++) {
    const oddheat_pair *no_pair = (const oddheat_pair *)refused(i);
    const uint16_t *no_frame = (const uint16_t *)refused(i);
    uint32_t *no_words = (uint32_t *)refused(i);
    oddheat_shift *no_shift = (oddheat_shift *)refused(i);
    REFUSED(oddheat_find_shift_words(no_pair, &none));
    REFUSED(oddheat_find_shift_words(&good, (size_t *)refused(i)));
    REFUSED(oddheat_find_shift(device, no_pair, frame, frame, PIXELS, scratch, words, &found, &shift));
    REFUSED(oddheat_find_shift(device, &pair, no_frame, frame, PIXELS, scratch, words, &found, &shift));
    REFUSED(oddheat_find_shift(device, &pair, frame, no_frame, PIXELS, scratch, words, &found, &shift));
    REFUSED(oddheat_find_shift(device, &pair, frame, frame, PIXELS, no_words, words, &found, &shift));
    REFUSED(oddheat_find_shift(device, &pair, frame, frame, PIXELS, scratch, words, no_words, &shift));
    REFUSED(oddheat_find_shift(device, &pair, frame, frame, PIXELS, scratch, words, &found, no_shift));
  }
  EXPECT_STATUS(ERR_SIZE, FIND(PIXELS - 1, words));
  EXPECT_STATUS(ERR_MEM_TOO_SMALL, FIND(PIXELS, words - 1));
  WITH(x1_px, 9);
  EXPECT_STATUS(ERR_RANGE, oddheat_find_shift_words(&pair, &none));
  EXPECT_STATUS(ERR_RANGE, FIND(PIXELS, words));
  WITH(mirrored, 2);
  EXPECT_STATUS(ERR_RANGE, FIND(PIXELS, words));
  WITH(second_x0_px, WIDTH - 39);
  EXPECT_STATUS(ERR_SIZE, FIND(PIXELS, words));
  WITH(second_y0_px, 65535);
  EXPECT_STATUS(ERR_SIZE, FIND(PIXELS, words));
  WITH(y1_px, HEIGHT);
  EXPECT_STATUS(ERR_SIZE, FIND(PIXELS, 2048));
  EXPECT(UNTOUCHED(shift) && UNTOUCHED(found) && UNTOUCHED(none));
  WITH(reach_px, 2); /* it may be off by more */
  EXPECT_STATUS(OK, FIND(PIXELS, words));
  EXPECT(found == 0);
  paint_pair(frame, 0, 0, 0);
  WITH(reach_px, 8);
  GUARD(found);
  EXPECT_STATUS(OK, FIND(PIXELS, words));
  EXPECT(found == 0);
  for (int i = 0; i < PIXELS; i++) {
    frame[i] = (uint16_t)(PLAIN + (i % 5 == 0 || i / WIDTH % 5 == 0 ? 400u : 0u)); /* it repeats */
  }
  GUARD(found);
  EXPECT_STATUS(OK, FIND(PIXELS, words));
  EXPECT(found == 0 && UNTOUCHED(shift));
  paint_pair(frame, 1, 2, 1);
  scratch[words] = SCRATCH_GUARD;
  EXPECT_STATUS(OK, FIND(PIXELS, words));
  EXPECT(found == 1 && shift.confidence_per_mille >= 950 && shift.confidence_per_mille <= 1000);
  EXPECT(apart(shift.dx_q8, 512.0) <= 26.0 && apart(shift.dy_q8, 256.0) <= 26.0);
  /* The same part in another frame, twice as hot. */
  paint_pair(other, 2, -1, 3);
  EXPECT_STATUS(OK, oddheat_find_shift(device, &itself, frame, other, PIXELS, scratch, words, &found, &shift));
  EXPECT(found == 1 && apart(shift.dx_q8, -768.0) <= 26.0 && apart(shift.dy_q8, 512.0) <= 26.0);
  EXPECT(scratch[words] == SCRATCH_GUARD);
#undef WITH
#undef FIND
}

/** Whether all of a tool but its box is that of another. */
static int is_like(oddheat_tool tool, const oddheat_tool *like) {
  tool.x_px = like->x_px, tool.y_px = like->y_px, tool.a_px = like->a_px, tool.b_px = like->b_px;
  return memcmp(&tool, like, sizeof tool) == 0;
}

static void boxes(void) {
  oddheat_tool good, bad;
  memset(&good, 0x11, sizeof good); /* what else it says is copied, whatever it is */
  good.struct_size = (uint32_t)sizeof good;
  good.shape = ODDHEAT_SHAPE_BOX;
  good.x_px = 3, good.y_px = 5, good.a_px = 22, good.b_px = 17;
  GUARD(tools);
  for (int i = 0; i < 2; i++) {
    oddheat_tool *no_tool = (oddheat_tool *)refused(i);
    REFUSED(oddheat_tool_bands(no_tool, 1, tools, 3));
    REFUSED(oddheat_tool_bands(&good, 1, no_tool, 3));
    REFUSED(oddheat_tool_row(no_tool, 103, 15, tools, 5));
    REFUSED(oddheat_tool_row(&good, 103, 15, no_tool, 5));
  }
#define BAD(wanted, field, value) \
  bad = good, bad.field = (value); \
  EXPECT_STATUS(wanted, oddheat_tool_bands(&bad, 1, tools, 3)); \
  EXPECT_STATUS(wanted, oddheat_tool_row(&bad, 103, 15, tools, 5))
  BAD(ERR_UNSUPPORTED, struct_size, 0);
  BAD(ERR_RANGE, shape, ODDHEAT_SHAPE_RING);
  BAD(ERR_RANGE, x_px, 23);
  BAD(ERR_RANGE, y_px, 18);
#undef BAD
  EXPECT_STATUS(ERR_RANGE, oddheat_tool_bands(&good, 2, tools, 3));
  EXPECT_STATUS(ERR_RANGE, oddheat_tool_bands(&good, 1, tools, 21));
  EXPECT_STATUS(ERR_RANGE, oddheat_tool_bands(&good, 0, tools, 14));
  bad.a_px = 999;
  EXPECT_STATUS(ERR_RANGE, oddheat_tool_bands(&bad, 1, tools, BOXES));
  EXPECT_STATUS(ERR_RANGE, oddheat_tool_row(&good, 103, 15, tools, BOXES));
  EXPECT_STATUS(ERR_RANGE, oddheat_tool_row(&good, 65536, 15, tools, 5));
  EXPECT_STATUS(ERR_RANGE, oddheat_tool_row(&good, 103, 65535, tools, 5));
  EXPECT(UNTOUCHED(tools));
  for (uint32_t side_by_side = 0; side_by_side < 2; side_by_side++) {
    const int least = side_by_side ? 20 / 3 : 13 / 3;
    int next = side_by_side ? 3 : 5;
    EXPECT_STATUS(OK, oddheat_tool_bands(&good, side_by_side, tools, 3));
    for (int i = 0; i < 3; i++) {
      const oddheat_tool *t = &tools[i];
      const int first = side_by_side ? t->x_px : t->y_px, last = side_by_side ? t->a_px : t->b_px;
      EXPECT(first == next && last - first + 1 >= least && last - first <= least && is_like(*t, &good));
      EXPECT(side_by_side ? t->y_px == 5 && t->b_px == 17 : t->x_px == 3 && t->a_px == 22);
      next = last + 1;
    }
    EXPECT(next == (side_by_side ? 23 : 18) && UNTOUCHED(tools[3]));
  }
  EXPECT_STATUS(OK, oddheat_tool_row(&good, 103, 15, tools, 5));
  for (int i = 0; i < 5; i++) {
    const oddheat_tool *t = &tools[i];
    EXPECT(t->x_px == 3 + 25 * i && apart(t->y_px, 5.0 + 2.5 * i) <= 0.5 && is_like(*t, &good));
    EXPECT(t->a_px - t->x_px == 19 && t->b_px - t->y_px == 12);
  }
  EXPECT(tools[0].y_px == 5 && tools[4].y_px == 15 && UNTOUCHED(tools[5]));
}

int main(void) {
  combs();
  items();
  shifts();
  boxes();
  BLANK_IS_BLANK();
  return expect_failures == 0 ? 0 : 1;
}
