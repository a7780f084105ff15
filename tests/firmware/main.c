/* The firmware image: the brake check's report, then what each entry point costs.
 *
 * Lines after "measurements": name, instructions, bytes of stack, and the number of pixels or 0. Instructions include
 * the few of the calling function here.
 */
#include "../c/brake.h"

#include "measure.h"
/* Made on the machine that built the image. */
#include "table.h"

/* A sensor of 160 by 120 with 64 regions, as in the budgets of the design notes. */
#define WIDTH 160
#define HEIGHT 120
#define REGIONS 64
#define SHAPES 12
/* Kelvin times 100: 20 and 60 degrees Celsius. */
#define AIR 29315u
#define WARM 33315u
#define HOT_ABOVE_MK 313150

ODDHEAT_MEM(scan_block, WIDTH, REGIONS, 0);
ODDHEAT_MEM(check_block, WIDTH, REGIONS, SHAPES);
#define BAD_PIXELS 20
static uint64_t sensor_block[ODDHEAT_SENSOR_MEM_SIZE(WIDTH, HEIGHT, 1, 0, BAD_PIXELS, 0) / 8u];
static uint16_t scene[HEIGHT][WIDTH];
static uint16_t kelvin[WIDTH];
static oddheat_region regions[REGIONS];
static oddheat_summary summary;
static oddheat_config config;
static oddheat_finding finding;
static oddheat *device;
static oddheat_sensor_config sensor_config;
static oddheat_sensor *sensor;
static oddheat_sensor_flags sensor_flags;
static char text[8192];
static size_t needed;
static int32_t mk;
static uint32_t found;
static uint16_t found_x, found_y;
static unsigned frame_number;
static oddheat_status worst;
static oddheat_table table;
static oddheat_scan *scan;

void note(oddheat_status status) {
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

/* Linear congruential generator of Numerical Recipes (memory); its upper bits are good enough for noise. */
static uint32_t random_bits;
static uint32_t next_random(void) {
  random_bits = random_bits * 1664525u + 1013904223u;
  return random_bits >> 28;
}

/* Background with noise of 16 counts, and squares of 12 by 12 pixels: `squares` of them, 4 give 3 percent. */
static void draw(unsigned squares) {
  random_bits = 1;
  for (unsigned y = 0; y < HEIGHT; y++) {
    for (unsigned x = 0; x < WIDTH; x++) {
      const int inside = y >= 54 && y < 66 && x % 40 >= 14 && x % 40 < 26 && x / 40 < squares;
      scene[y][x] = (uint16_t)((inside ? WARM : AIR) + next_random());
    }
  }
}

/* Every other pixel hot, at random: the most runs and the fullest table there can be. */
static void draw_noise(void) {
  random_bits = 1;
  for (unsigned y = 0; y < HEIGHT; y++) {
    for (unsigned x = 0; x < WIDTH; x++) {
      scene[y][x] = (uint16_t)(next_random() < 8u ? WARM + next_random() : AIR);
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
static void call_kelvin_row(void) { note(oddheat_kelvin_row(device, scene[0], WIDTH, kelvin)); }
static void call_sensor_init(void) {
  note(oddheat_sensor_init(sensor_block, sizeof sensor_block, &sensor_config, &sensor));
}
static void call_repair_rows(void) {
  note(oddheat_sensor_begin_frame(sensor, 0, 0));
  for (unsigned y = 0; y < HEIGHT; y++) {
    note(oddheat_sensor_row(sensor, scene[y], WIDTH));
  }
  note(oddheat_sensor_end_frame(sensor, &sensor_flags));
}
static void call_check_begin(void) { note(brake_begin(device)); }
static void call_feed(void) { note(brake_feed(device, frame_number)); }
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

void measure(const char *name, void (*call)(void), uint32_t pixels) {
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
  draw_noise();
  note(oddheat_start_frame(device, NULL));
  measure("push_row_50_percent_noise", call_push_rows, WIDTH * HEIGHT);
  measure("regions_of_noise", call_regions, 0);
  measure("temperature", call_temperature, 0);
  measure("kelvin_row", call_kelvin_row, WIDTH);
}

/* Gain, offset and bad pixels of a sensor of so many counts. */
static void measure_repair(uint16_t full_scale, const char *without, const char *with) {
  note(oddheat_sensor_config_init(&sensor_config, WIDTH, HEIGHT));
  sensor_config.correction = 1;
  sensor_config.bad_pixels_max = BAD_PIXELS;
  sensor_config.saturated_at_counts = full_scale;
  measure("sensor_init", call_sensor_init, 0);
  sensor_flags.struct_size = (uint32_t)sizeof sensor_flags;
  for (unsigned y = 0; y < HEIGHT; y++) {
    for (unsigned x = 0; x < WIDTH; x++) {
      scene[y][x] = (uint16_t)(8000u + next_random());
    }
  }
  measure(without, call_repair_rows, WIDTH * HEIGHT);
  for (unsigned i = 0; i < BAD_PIXELS; i++) {
    note(oddheat_sensor_list_pixel(sensor, (uint16_t)(7u * i % WIDTH), (uint16_t)(6u * i + 1u)));
  }
  measure(with, call_repair_rows, WIDTH * HEIGHT);
}

/* A frame of one temperature with a square of another, for the checks that take single pictures. */
static void draw_square(uint16_t around, uint16_t inside, unsigned x0, unsigned y0, unsigned side) {
  for (unsigned y = 0; y < HEIGHT; y++) {
    for (unsigned x = 0; x < WIDTH; x++) {
      scene[y][x] = x - x0 < side && y - y0 < side ? inside : around;
    }
  }
}

static void feed_view(uint32_t view, uint32_t time_ms) {
  const oddheat_frame frame = {(uint32_t)sizeof frame, time_ms, view, 0, 0};
  note(oddheat_start_frame(device, &frame));
  call_push_rows();
}

static void feed_scene(uint32_t time_ms) { feed_view(0, time_ms); }

static void begin(uint32_t kind, const oddheat_condition *conditions, size_t count) {
  scan_config(&config);
  config.shapes_max = SHAPES;
  config.ifov_urad = 1500;
  note(oddheat_init(check_block, sizeof check_block, &config, &device));
  note(oddheat_check_begin(device, kind, conditions, count));
}

/* A finding that a gate emptied would have taken a shorter way through the judgement. */
static void judge_measured(const char *name) {
  measure(name, call_judge, 0);
  if (finding.grade == ODDHEAT_GRADE_NOT_ASSESSABLE) {
    worst = ODDHEAT_STATUS_ERR_RANGE;
  }
}

static void measure_tire_leak(void) {
  static const oddheat_condition conditions[] = {
      {ODDHEAT_CONDITION_AIR_TEMPERATURE, 293150}, {ODDHEAT_CONDITION_SOAK_TIME, 14400000},
      {ODDHEAT_CONDITION_SINCE_INFLATION, 14400000}, {ODDHEAT_CONDITION_PRESSURE, 350000},
      {ODDHEAT_CONDITION_DISTANCE, 500}, {ODDHEAT_CONDITION_SHADED, 1}, {ODDHEAT_CONDITION_DRY, 1},
      {ODDHEAT_CONDITION_STILL_AIR, 1}, {ODDHEAT_CONDITION_INSTRUMENT_WARM, 1}, {ODDHEAT_CONDITION_BARE_METAL, 0},
      {ODDHEAT_CONDITION_GONE_AFTER_RELEASE, 1}};
  oddheat_place tread = {(uint32_t)sizeof tread, ODDHEAT_ROLE_TREAD, 0, ODDHEAT_SHAPE_BOX, 1, 1, WIDTH - 2, HEIGHT - 2,
                         0, 0};
  begin(ODDHEAT_KIND_TIRE_LEAK, conditions, sizeof conditions / sizeof conditions[0]);
  note(oddheat_set_thresholds(device, 0, 292150));
  note(oddheat_check_place(device, &tread));
  draw_square(AIR, AIR - 400, 80, 60, 4);
  feed_scene(0);
  measure("check_locate", call_locate, 0);
  if (found != 1) {
    worst = ODDHEAT_STATUS_ERR_ORDER;
  }
  for (uint32_t second = 1; second <= 45; second++) {
    feed_scene(second * 1000);
  }
  judge_measured("check_judge_tire_leak");
}

static void measure_joint(void) {
  static const oddheat_condition conditions[] = {
      {ODDHEAT_CONDITION_AIR_TEMPERATURE, 293150}, {ODDHEAT_CONDITION_CURRENT, 80000},
      {ODDHEAT_CONDITION_FULL_CURRENT, 100000}, {ODDHEAT_CONDITION_LOAD_TIME, 1200000},
      {ODDHEAT_CONDITION_MATTE_SURFACE, 1}, {ODDHEAT_CONDITION_SHADED, 1}, {ODDHEAT_CONDITION_STILL_AIR, 1},
      {ODDHEAT_CONDITION_INSTRUMENT_WARM, 1}, {ODDHEAT_CONDITION_SAME_FINISH, 1}, {ODDHEAT_CONDITION_DRY, 1}};
  static const uint32_t roles[] = {ODDHEAT_ROLE_JOINT, ODDHEAT_ROLE_TWIN, ODDHEAT_ROLE_CABLE_NEAR,
                                   ODDHEAT_ROLE_CABLE_FAR};
  begin(ODDHEAT_KIND_JOINT, conditions, sizeof conditions / sizeof conditions[0]);
  for (uint16_t i = 0; i < 4; i++) {
    const oddheat_place place = {(uint32_t)sizeof place, roles[i], 0, ODDHEAT_SHAPE_SPOT, (uint16_t)(20 + 30 * i), 60,
                                 7, 0, 0, 0};
    note(oddheat_check_place(device, &place));
  }
  draw_square(AIR, WARM, 10, 50, 20);
  for (uint32_t second = 0; second < 20; second++) {
    feed_scene(second * 1000);
  }
  judge_measured("check_judge_joint");
}

/* What tread and hub ask for alike. */
#define AFTER_A_DRIVE                                                                                                  \
  {ODDHEAT_CONDITION_AIR_TEMPERATURE, 283150}, {ODDHEAT_CONDITION_DRIVE_TIME, 1500000},                               \
      {ODDHEAT_CONDITION_SINCE_STOP, 40000}, {ODDHEAT_CONDITION_SHADED, 1}, {ODDHEAT_CONDITION_DRY, 1},               \
      {ODDHEAT_CONDITION_STILL_AIR, 1}, {ODDHEAT_CONDITION_INSTRUMENT_WARM, 1}

/* All four pictures; the left middle is hotter, so that the judgement has something to conclude. */
static void measure_tread(void) {
  static const oddheat_condition conditions[] = {AFTER_A_DRIVE};
  static const uint32_t roles[] = {ODDHEAT_ROLE_TREAD_INNER, ODDHEAT_ROLE_TREAD_CENTER, ODDHEAT_ROLE_TREAD_OUTER};
  static const uint32_t views[] = {ODDHEAT_VIEW_LEFT, ODDHEAT_VIEW_RIGHT, ODDHEAT_VIEW_LEFT_TURNED,
                                   ODDHEAT_VIEW_RIGHT_TURNED};
  begin(ODDHEAT_KIND_TREAD, conditions, sizeof conditions / sizeof conditions[0]);
  for (uint32_t v = 0; v < 4; v++) {
    for (uint16_t i = 0; i < 3; i++) {
      const uint16_t x0 = (uint16_t)(10 + 50 * i);
      const oddheat_place place = {(uint32_t)sizeof place, roles[i], views[v], ODDHEAT_SHAPE_BOX, x0, 40,
                                   (uint16_t)(x0 + 20), 80, 0, 0};
      note(oddheat_check_place(device, &place));
    }
  }
  for (uint32_t v = 0; v < 4; v++) {
    draw_square(AIR, v == 0 ? AIR + 800 : AIR, 60, 40, 41);
    for (uint32_t i = 0; i < 8; i++) {
      feed_view(views[v], v * 20000 + i * 250);
    }
  }
  judge_measured("check_judge_tread");
}

static void measure_hub(void) {
  static const oddheat_condition conditions[] = {
      AFTER_A_DRIVE, {ODDHEAT_CONDITION_BRAKES_UNUSED, 1}, {ODDHEAT_CONDITION_SAME_FINISH, 1},
      {ODDHEAT_CONDITION_BASELINE_LEFT, 9000}, {ODDHEAT_CONDITION_BASELINE_RIGHT, 9000}};
  static const uint32_t views[] = {ODDHEAT_VIEW_LEFT, ODDHEAT_VIEW_RIGHT};
  begin(ODDHEAT_KIND_HUB, conditions, sizeof conditions / sizeof conditions[0]);
  for (uint32_t v = 0; v < 2; v++) {
    const oddheat_place hub = {(uint32_t)sizeof hub, ODDHEAT_ROLE_HUB_CENTER, views[v], ODDHEAT_SHAPE_SPOT, 80, 60, 7, 0,
                               0, 0};
    const oddheat_place hat = {(uint32_t)sizeof hat, ODDHEAT_ROLE_ROTOR_HAT, views[v], ODDHEAT_SHAPE_RING, 80, 60, 15,
                               22, 0, 0};
    const oddheat_place rotor = {(uint32_t)sizeof rotor, ODDHEAT_ROLE_ROTOR, views[v], ODDHEAT_SHAPE_RING, 80, 60, 30,
                                 45, 0, 0};
    note(oddheat_check_place(device, &hub));
    note(oddheat_check_place(device, &hat));
    note(oddheat_check_place(device, &rotor));
  }
  for (uint32_t v = 0; v < 2; v++) {
    draw_square(AIR, (uint16_t)(AIR + 1000 + 2000 * v), 70, 50, 20);
    for (uint32_t i = 0; i < 8; i++) {
      feed_view(views[v], v * 30000 + i * 250);
    }
  }
  judge_measured("check_judge_hub");
}

static void call_table_build(void) { note(oddheat_table_build(&config, &table)); }
static void call_scan_init(void) { note(oddheat_scan_init(scan_block, sizeof scan_block, &config, &scan)); }
static void call_scan_rows(void) {
  for (unsigned y = 0; y < HEIGHT; y++) {
    note(oddheat_scan_row(scan, scene[y], WIDTH));
  }
}
static void call_scan_regions(void) {
  note(oddheat_scan_regions(scan, &recording_table, regions, REGIONS, &summary));
}

/* A table that was made elsewhere is the one that this processor makes; then a scan with it. */
static int measure_finished_table(void) {
  note(brake_configure(&config));
  measure("table_build", call_table_build, 0);
  for (unsigned i = 0; i < ODDHEAT_TABLE_WORDS; i++) {
    if (table.words[i] != recording_table.words[i]) {
      return 0;
    }
  }
  call_config_init();
  config.regions_max = REGIONS;
  measure("scan_init", call_scan_init, 0);
  note(oddheat_scan_start(scan, (AIR + WARM) / 2u, 0));
  draw(4);
  measure("scan_rows_3_percent", call_scan_rows, WIDTH * HEIGHT);
  measure("scan_regions", call_scan_regions, 0);
  return summary.regions_found == 4 && summary.regions_written == 4;
}

static void measure_brake(void) {
  note(brake_configure(&config));
  const uint32_t pixels = (uint32_t)config.width_px * config.height_px;
  measure("init_curve", call_init_curve, 0);
  measure("check_begin_and_place", call_check_begin, 0);
  measure("push_row_check_shapes", call_feed, pixels);
  for (frame_number = 1; frame_number < brake_frames(); frame_number++) {
    call_feed();
  }
  judge_measured("check_judge_brake");
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
  measure_repair(16383, "repair_rows_14_bits", "repair_rows_14_bits_and_bad_pixels");
  measure_repair(0, "repair_rows_16_bits", "repair_rows_16_bits_and_bad_pixels");
  if (!measure_finished_table()) {
    board_print("a table made elsewhere is another, or regions are not those that were drawn\n");
    return 1;
  }
  measure_brake();
  measure_tire_leak();
  measure_joint();
  measure_tread();
  measure_hub();
  measure_tools();
  measure_patterns();
  if (worst != ODDHEAT_STATUS_OK) {
    board_print("a measured call was refused: ");
    board_print(oddheat_status_text(worst));
    return 1;
  }
  return 0;
}
