/* The firmware image: the brake check's report, then what each entry point costs.
 *
 * Lines after "measurements": name, instructions, bytes of stack, and the number of pixels or 0. Instructions include
 * the few of the calling function here.
 */
#include "../c/brake.h"

#include "board.h"

/* A sensor of 160 by 120 with 64 regions, as in the budgets of the design notes. */
#define WIDTH 160
#define HEIGHT 120
#define REGIONS 64
#define SHAPES 8
/* Kelvin times 100: 20 and 60 degrees Celsius. */
#define AIR 29315u
#define WARM 33315u
#define HOT_ABOVE_MK 313150

ODDHEAT_MEM(scan_block, WIDTH, REGIONS, 0);
ODDHEAT_MEM(check_block, WIDTH, REGIONS, SHAPES);
static uint16_t scene[HEIGHT][WIDTH];
static uint16_t kelvin[WIDTH];
static oddheat_region regions[REGIONS];
static oddheat_summary summary;
static oddheat_config config;
static oddheat_finding finding;
static oddheat *device;
static char text[8192];
static size_t needed;
static int32_t mk;
static uint32_t found;
static uint16_t found_x, found_y;
static unsigned next_row;
static oddheat_status worst;

/* A status that a measured call did not return fails the run: a refused call would be cheap. */
static void note(oddheat_status status) {
  if (status != ODDHEAT_STATUS_OK) {
    worst = status;
  }
}

static void scan_config(oddheat_config *to) {
  note(oddheat_config_init(to, WIDTH, HEIGHT));
  to->regions_max = REGIONS;
  to->scale = ODDHEAT_SCALE_LINEAR;
  to->linear_counts_per_kelvin = 100.0;
  to->linear_zero_celsius = -273.15;
}

/* Background with noise of 16 counts, and squares of 12 by 12 pixels: `squares` of them, 4 give 3 percent. */
static void draw(unsigned squares) {
  uint32_t random = 1;
  for (unsigned y = 0; y < HEIGHT; y++) {
    for (unsigned x = 0; x < WIDTH; x++) {
      random = random * 1664525u + 1013904223u; /* linear congruential generator of Numerical Recipes (memory) */
      const int inside = y >= 54 && y < 66 && x % 40 >= 14 && x % 40 < 26 && x / 40 < squares;
      scene[y][x] = (uint16_t)((inside ? WARM : AIR) + (random >> 28));
    }
  }
}

static void call_config_init(void) { note(oddheat_config_init(&config, WIDTH, HEIGHT)); }
static void call_mem_size(void) { note(oddheat_mem_size(&config, &needed)); }
static void call_init_linear(void) { note(oddheat_init(scan_block, sizeof scan_block, &config, &device)); }
static void call_init_curve(void) { note(oddheat_init(check_block, sizeof check_block, &config, &device)); }
static void call_set_thresholds(void) { note(oddheat_set_thresholds(device, HOT_ABOVE_MK, 283150)); }
static void call_start_frame(void) { note(oddheat_start_frame(device, NULL)); }
static void call_push_rows(void) {
  for (unsigned y = 0; y < HEIGHT; y++) {
    note(oddheat_push_row(device, scene[y], WIDTH));
  }
}
static void call_regions(void) { note(oddheat_regions(device, regions, REGIONS, &summary)); }
static void call_temperature(void) { note(oddheat_temperature(device, AIR << 8, &mk)); }
static void call_kelvin_row(void) { note(oddheat_kelvin_row(device, scene[next_row], WIDTH, kelvin)); }
static void call_check_begin(void) { note(brake_begin(device)); }
static void call_feed(void) { note(brake_feed(device, next_row)); }
static void call_judge(void) {
  finding.struct_size = (uint32_t)sizeof finding;
  note(oddheat_check_judge(device, &finding));
}
static void call_finding_text(void) {
  note(oddheat_finding_text(&finding, ODDHEAT_LANGUAGE_ENGLISH, ODDHEAT_UNIT_CELSIUS, text, sizeof text, &needed));
}
static void call_brief_text(void) {
  note(oddheat_brief_text(ODDHEAT_KIND_BRAKE, ODDHEAT_LANGUAGE_ENGLISH, ODDHEAT_UNIT_CELSIUS, 1, text, sizeof text,
                          &needed));
}
static void call_locate(void) {
  note(oddheat_check_locate(device, ODDHEAT_ROLE_TREAD, 0, &found, &found_x, &found_y));
}

static void print_number(uint32_t value) {
  char digits[12];
  char *at = digits + sizeof digits - 1;
  *at = '\0';
  do {
    *--at = (char)('0' + (char)(value % 10u));
    value /= 10u;
  } while (value != 0u);
  board_print(at);
}

static void measure(const char *name, void (*call)(void), uint32_t pixels) {
  const board_cost cost = board_measure(call);
  board_print(name);
  board_print(" ");
  print_number(cost.instructions);
  board_print(" ");
  print_number(cost.stack_bytes);
  board_print(" ");
  print_number(pixels);
  board_print("\n");
}

static void measure_scanning(void) {
  measure("config_init", call_config_init, 0);
  measure("mem_size", call_mem_size, 0);
  scan_config(&config);
  measure("init_linear_160x120", call_init_linear, 0);
  measure("set_thresholds", call_set_thresholds, 0);
  draw(0);
  measure("start_frame", call_start_frame, 0);
  measure("push_row_no_foreground", call_push_rows, WIDTH * HEIGHT);
  draw(4);
  note(oddheat_start_frame(device, NULL));
  measure("push_row_3_percent", call_push_rows, WIDTH * HEIGHT);
  measure("regions", call_regions, 0);
  measure("temperature", call_temperature, 0);
  measure("kelvin_row", call_kelvin_row, WIDTH);
}

/* The search for a cold spot is the tire check's. */
static void measure_locating(void) {
  oddheat_place tread = {(uint32_t)sizeof tread, ODDHEAT_ROLE_TREAD, 0, ODDHEAT_SHAPE_BOX, 1, 1, WIDTH - 2, HEIGHT - 2,
                         0, 0};
  const oddheat_frame frame = {(uint32_t)sizeof frame, 0, 0, 0, 0};
  scan_config(&config);
  config.shapes_max = SHAPES;
  note(oddheat_init(check_block, sizeof check_block, &config, &device));
  /* The warm squares are the colder side of nothing: what lies below 30 degrees Celsius is one cold region. */
  note(oddheat_set_thresholds(device, 0, 303150));
  note(oddheat_check_begin(device, ODDHEAT_KIND_TIRE_LEAK, NULL, 0));
  note(oddheat_check_place(device, &tread));
  for (unsigned y = 0; y < HEIGHT; y++) {
    for (unsigned x = 0; x < WIDTH; x++) {
      scene[y][x] = (uint16_t)(y / 4 == 15 && x / 4 == 20 ? AIR : WARM);
    }
  }
  note(oddheat_start_frame(device, &frame));
  call_push_rows();
  measure("check_locate", call_locate, 0);
  if (found != 1) {
    worst = ODDHEAT_STATUS_ERR_ORDER;
  }
}

static void measure_check(void) {
  note(brake_configure(&config));
  const uint32_t pixels = (uint32_t)config.width_px * config.height_px;
  measure("init_curve", call_init_curve, 0);
  measure("check_begin_and_place", call_check_begin, 0);
  measure("push_row_check_shapes", call_feed, pixels);
  for (next_row = 1; next_row < brake_frames(); next_row++) {
    call_feed();
  }
  measure("check_judge", call_judge, 0);
  measure("finding_text", call_finding_text, 0);
  measure("brief_text", call_brief_text, 0);
}

int main(void) {
  const int status = brake_run(board_print);
  if (status != 0) {
    board_print(oddheat_status_text(status));
    return 1;
  }
  board_print("measurements\n");
  if (!board_counter_is_true()) {
    board_print("the instruction counter does not count as documented\n");
    return 1;
  }
  measure_scanning();
  next_row = 0;
  measure_check();
  measure_locating();
  if (worst != ODDHEAT_STATUS_OK) {
    board_print("a measured call was refused: ");
    board_print(oddheat_status_text(worst));
    return 1;
  }
  return 0;
}
