/* Finding where a part is in a kept frame: a ring by its edges, a spot along a ring. What is there is found, what is not
 * there is not, and a refused call writes nothing. */
#include "expect.h"

#define WIDTH 80
#define HEIGHT 60
#define COUNT(celsius) ((uint16_t)(((celsius) + 273.15) * 100.0))

ODDHEAT_MEM(block, WIDTH, 4, 3);
static uint16_t frame[WIDTH * HEIGHT];
static uint32_t scratch[8192];

static oddheat *fresh(void) {
  oddheat_config config;
  oddheat *device = NULL;
  EXPECT_STATUS(OK, oddheat_config_init(&config, WIDTH, HEIGHT));
  config.regions_max = 4;
  config.shapes_max = 3;
  config.scale = ODDHEAT_SCALE_LINEAR;
  config.linear_counts_per_kelvin = 100.0;
  config.linear_zero_celsius = -273.15;
  EXPECT_STATUS(OK, oddheat_init(block, sizeof block, &config, &device));
  return device;
}

static int apart(int x, int y, int x0, int y0) { return (x - x0) * (x - x0) + (y - y0) * (y - y0); }

/** From 0 to 1 between two squared radii, as optics blur an edge. */
static double share(int radius, int from, int to) {
  return radius <= from ? 0.0 : radius >= to ? 1.0 : (double)(radius - from) / (to - from);
}

/** Warm air above and a cold floor below, and on it a ring of so many kelvin and a spot that much colder. */
static void paint(double ring_k, double spot_k) {
  for (int y = 0; y < HEIGHT; y++) {
    for (int x = 0; x < WIDTH; x++) {
      const int radius = apart(x, y, 40, 30);
      const double ring = ring_k * (share(radius, 10 * 10, 14 * 14) - share(radius, 20 * 20, 24 * 24));
      const double spot = x >= 52 && x <= 54 && y >= 40 && y <= 42 ? spot_k : 0.0;
      frame[y * WIDTH + x] = COUNT(20.0 - 0.05 * y + ring - spot);
    }
  }
}

static void rings(void) {
  oddheat *device = fresh();
  const oddheat_ring_range range = {6, 28, 50, 0};
  const oddheat_ring_range backward = {28, 6, 50, 0};
  oddheat_ring ring;
  uint32_t found;
  size_t words = 0;
  EXPECT_STATUS(OK, oddheat_find_ring_words(device, &range, &words));
  EXPECT(words > WIDTH && words <= sizeof scratch / sizeof scratch[0]);
  GUARD(found), GUARD(ring);
  paint(15.0, 0.0);
  EXPECT_STATUS(ERR_NULL, oddheat_find_ring(device, NULL, frame, WIDTH * HEIGHT, scratch, words, &found, &ring));
  EXPECT_STATUS(ERR_NULL, oddheat_find_ring(device, &range, NULL, WIDTH * HEIGHT, scratch, words, &found, &ring));
  EXPECT_STATUS(ERR_NULL, oddheat_find_ring(device, &range, frame, WIDTH * HEIGHT, NULL, words, &found, &ring));
  EXPECT_STATUS(ERR_NULL, oddheat_find_ring(device, &range, frame, WIDTH * HEIGHT, scratch, words, NULL, &ring));
  EXPECT_STATUS(ERR_SIZE, oddheat_find_ring(device, &range, frame, WIDTH, scratch, words, &found, &ring));
  EXPECT_STATUS(ERR_RANGE, oddheat_find_ring(device, &backward, frame, WIDTH * HEIGHT, scratch, words, &found, &ring));
  EXPECT_STATUS(ERR_MEM_TOO_SMALL,
                oddheat_find_ring(device, &range, frame, WIDTH * HEIGHT, scratch, words - 1, &found, &ring));
  EXPECT(UNTOUCHED(found) && UNTOUCHED(ring));
  scratch[words] = 0x01234567u;
  EXPECT_STATUS(OK, oddheat_find_ring(device, &range, frame, WIDTH * HEIGHT, scratch, words, &found, &ring));
  EXPECT(scratch[words] == 0x01234567u);
  EXPECT(found == 1 && ring.hotter == 1 && ring.confidence_per_mille >= 600);
  EXPECT(ring.x_q8 + 128 >= 40 * 256 && ring.x_q8 <= 40 * 256 + 128);
  EXPECT(ring.y_q8 + 128 >= 30 * 256 && ring.y_q8 <= 30 * 256 + 128);
  EXPECT(ring.inner_q8 >= 11 * 256 && ring.inner_q8 <= 13 * 256 && ring.outer_q8 >= 21 * 256 && ring.outer_q8 <= 23 * 256);
  GUARD(ring);
  paint(0.0, 0.0);
  EXPECT_STATUS(OK, oddheat_find_ring(device, &range, frame, WIDTH * HEIGHT, scratch, words, &found, &ring));
  EXPECT(found == 0 && UNTOUCHED(ring));
}

static void bead(void) {
  oddheat *device = fresh();
  oddheat_place seat;
  uint32_t found;
  uint16_t x, y;
  const size_t words = 3 * 146; /* 2 * 355 / 113 * (15 + 20) / 1.5 parts, rounded down */
  GUARD(found), GUARD(x), GUARD(y);
  memset(&seat, 0, sizeof seat);
  seat.struct_size = (uint32_t)sizeof seat;
  seat.role = ODDHEAT_ROLE_BEAD;
  seat.shape = ODDHEAT_SHAPE_RING;
  seat.x_px = 40;
  seat.y_px = 30;
  seat.a_px = 15;
  seat.b_px = 20;
  paint(0.0, 1.5);
#define ALONG(role, length, size) \
  oddheat_check_locate_along(device, role, 0, frame, length, scratch, size, &found, &x, &y)
  EXPECT_STATUS(ERR_ORDER, ALONG(ODDHEAT_ROLE_BEAD, WIDTH * HEIGHT, words));
  EXPECT_STATUS(OK, oddheat_check_begin(device, ODDHEAT_KIND_TIRE_LEAK, NULL, 0));
  EXPECT_STATUS(ERR_ORDER, ALONG(ODDHEAT_ROLE_BEAD, WIDTH * HEIGHT, words));
  EXPECT_STATUS(OK, oddheat_check_place(device, &seat));
  EXPECT_STATUS(ERR_SIZE, ALONG(ODDHEAT_ROLE_BEAD, WIDTH, words));
  EXPECT_STATUS(ERR_MEM_TOO_SMALL, ALONG(ODDHEAT_ROLE_BEAD, WIDTH * HEIGHT, 60));
  EXPECT_STATUS(ERR_NOT_IN_CHECK, ALONG(ODDHEAT_ROLE_SUSPECT, WIDTH * HEIGHT, words));
  EXPECT_STATUS(ERR_RANGE, ALONG(99, WIDTH * HEIGHT, words));
  EXPECT(UNTOUCHED(found) && UNTOUCHED(x) && UNTOUCHED(y));
  EXPECT_STATUS(OK, ALONG(ODDHEAT_ROLE_BEAD, WIDTH * HEIGHT, words));
  EXPECT(found == 1 && x == 53 && y == 41);
  paint(0.0, 0.0);
  GUARD(x), GUARD(y);
  EXPECT_STATUS(OK, ALONG(ODDHEAT_ROLE_BEAD, WIDTH * HEIGHT, ODDHEAT_LOCATE_ALONG_WORDS));
  EXPECT(found == 0 && UNTOUCHED(x) && UNTOUCHED(y));
#undef ALONG
}

int main(void) {
  rings();
  bead();
  return expect_failures != 0;
}
