/* What the measuring tools, profiles, fits and pictures cost, on an invented scene: a slope with a warm disc. */
#include "measure.h"

#define WIDTH 160
#define HEIGHT 120
#define TOOLS 6
#define POINTS 32
#define ZOOM 4
#define BINS 256

static uint64_t tools_block[ODDHEAT_TOOLS_MEM_SIZE(TOOLS) / 8u];
static uint64_t profile_block[ODDHEAT_PROFILE_MEM_SIZE(101) / 8u];
static uint64_t trace_block[ODDHEAT_TRACE_MEM_SIZE(POINTS) / 8u];
static uint64_t display_block[ODDHEAT_DISPLAY_MEM_SIZE(WIDTH, ZOOM, BINS) / 8u];
static uint64_t level_block[ODDHEAT_LEVEL_MEM_SIZE(BINS, BINS) / 8u];
ODDHEAT_MEM(device_block, WIDTH, 1, 0);
static uint8_t pixels[ZOOM * ZOOM * WIDTH * 2];
static uint16_t scene[HEIGHT][WIDTH];
static oddheat_point points[POINTS], sampled[101];
static oddheat_estimate items[ODDHEAT_ITEMS_MAX];
static oddheat_config config;
static oddheat_tool tool;
static oddheat_tools *tools;
static oddheat_measurement measurement;
static oddheat_reading reading;
static oddheat_inputs inputs;
static oddheat_likeness likeness;
static oddheat_estimate result;
static oddheat_profile *profile;
static oddheat_trace *trace;
static oddheat_display_config display_config;
static oddheat_display *display;
static oddheat_line_fit line;
static oddheat_peak peak;
static oddheat_edge edge;
static oddheat_exponential exponential;
static oddheat_decay decay;
static oddheat_knee knee;
static oddheat_level *level;
static oddheat_level_figures figures;
static oddheat *device;
static oddheat_detection detection;
static double number;
static size_t count;
static uint32_t averaged, time_ms;
static const oddheat_line across = {(uint32_t)sizeof across, 3, 30 << 8, 60 << 8, 130 << 8, 60 << 8};

static void draw(void) {
  for (int y = 0; y < HEIGHT; y++) {
    for (int x = 0; x < WIDTH; x++) {
      const int dx = x - 80, dy = y - 60;
      scene[y][x] = (uint16_t)(7000 + 6 * x + 3 * y + (x * 5 + y * 3) % 7 + (dx * dx + dy * dy < 600 ? 2400 : 0));
    }
  }
}

static void call_tools_init(void) {
  note(oddheat_tools_init(tools_block, sizeof tools_block, &config, NULL, TOOLS, &tools));
}
static void call_place(void) { note(oddheat_tools_place(tools, 0, &tool)); }
static void call_tools_rows(void) {
  for (int y = 0; y < HEIGHT; y++) {
    note(oddheat_tools_row(tools, scene[y], WIDTH));
  }
}
static void call_tools_end_frame(void) { note(oddheat_tools_end_frame(tools, time_ms++)); }
static void call_measurement(void) { note(oddheat_tools_measurement(tools, 0, &measurement)); }
static void call_majority(void) { note(oddheat_tools_reading(tools, 0, ODDHEAT_STATISTIC_MAJORITY, &reading)); }
static void call_maximum(void) { note(oddheat_tools_reading(tools, 0, ODDHEAT_STATISTIC_MAXIMUM, &reading)); }
static void call_area(void) {
  static const oddheat_estimate distance = {1.5, 0.05}, ifov = {3.0, 0.1};
  note(oddheat_tools_area(tools, 0, &distance, &ifov, &result));
}
static void call_item_of(void) { note(oddheat_item_of(&reading, &inputs, &result)); }
static void call_like_item(void) { note(oddheat_like_item(items, ODDHEAT_ITEMS_MAX, 3, &likeness)); }
static void call_profile_init(void) {
  note(oddheat_profile_init(profile_block, sizeof profile_block, &config, &across, &profile));
}
static void call_profile_rows(void) {
  for (int y = 0; y < HEIGHT; y++) {
    note(oddheat_profile_row(profile, scene[y], WIDTH));
  }
}
static void call_profile_points(void) { note(oddheat_profile_points(profile, sampled, 101, &count, &averaged)); }
static void call_to_kelvin(void) { note(oddheat_points_to_kelvin(&config, NULL, sampled, count, &number)); }
static void call_trace_init(void) { note(oddheat_trace_init(trace_block, sizeof trace_block, POINTS, &trace)); }
static void call_trace_add(void) { note(oddheat_trace_add(trace, time_ms++, 256)); }
static void call_trace_points(void) { note(oddheat_trace_points(trace, points, POINTS, &count, &averaged)); }
static void call_fit_line(void) { note(oddheat_fit_line(points, POINTS, 0.1, &line)); }
static void call_fit_peak(void) { note(oddheat_fit_peak(points, POINTS, 0.1, &peak)); }
static void call_fit_gaussian(void) { note(oddheat_fit_gaussian(points, POINTS, 0.0, 0.1, &peak)); }
static void call_fit_edge(void) { note(oddheat_fit_edge(points, POINTS, 0.1, &edge)); }
static void call_fit_exponential(void) { note(oddheat_fit_exponential(points, POINTS, 0.1, &exponential)); }
static void call_fit_decay(void) {
  static const oddheat_estimate base = {0.0, 0.1};
  note(oddheat_fit_decay(points, POINTS, &base, 0.1, &decay));
}
static void call_fit_knee(void) { note(oddheat_fit_knee(points, POINTS, 0.1, &knee)); }
static void call_display_init(void) {
  note(oddheat_display_init(display_block, sizeof display_block, &display_config, &display));
}
static void call_display_rows(void) {
  const oddheat_palette *palette = oddheat_palette_cividis();
  for (int y = 0; y < HEIGHT; y++) {
    note(oddheat_display_row(display, palette, ODDHEAT_PIXEL_RGB565, scene[y], WIDTH, pixels, sizeof pixels, &averaged));
  }
}
static void call_display_end_frame(void) {
  const oddheat_palette *palette = oddheat_palette_cividis();
  note(oddheat_display_end_frame(display, palette, ODDHEAT_PIXEL_RGB565, pixels, sizeof pixels, &averaged));
}
static void call_counts_at(void) { note(oddheat_counts_at(&config, NULL, 320.0, &number)); }

static void call_level_init(void) {
  note(oddheat_level_init(level_block, sizeof level_block, &config, BINS, BINS, &level));
}
static void call_level_rows(void) {
  for (int y = 0; y < HEIGHT; y++) {
    note(oddheat_level_row(level, scene[y], WIDTH));
  }
}
static void call_level_read(void) { note(oddheat_level_read(level, &figures)); }
static void call_level_end_frame(void) { note(oddheat_level_end_frame(level)); }
static void call_thresholds_by_rule(void) {
  static const oddheat_detection_rule rule = {(uint32_t)sizeof rule, 0, 0, 0, 0, 0};
  note(oddheat_set_thresholds_by_rule(device, &rule, figures.median_q8, figures.noise_q8, &detection));
}

/* One tool of a shape over the whole frame, placed, fed and asked. */
static void one_tool(const char *name, uint32_t shape, uint16_t a, uint16_t b, int32_t above_mk) {
  static const oddheat_vertex corners[4] = {{20, 0}, {140, 0}, {140, 120}, {20, 120}};
  const uint16_t x = shape == ODDHEAT_SHAPE_BOX ? 20 : 80, y = shape == ODDHEAT_SHAPE_BOX ? 0 : 60;
  const oddheat_tool of = {(uint32_t)sizeof of, shape, x, y, a, b, 40, 15, 1, 3, 0, 0, above_mk, 0, 4,
                           {corners[0], corners[1], corners[2], corners[3], {0, 0}, {0, 0}, {0, 0}, {0, 0},
                            {0, 0}, {0, 0}, {0, 0}, {0, 0}, {0, 0}, {0, 0}, {0, 0}, {0, 0}}};
  tool = of;
  call_tools_init();
  call_place();
  call_tools_rows();
  call_tools_end_frame();
  call_measurement();
  call_tools_init();
  call_place();
  measure(name, call_tools_rows, measurement.count_px + measurement.rejected_px);
}

static void measure_places(void) {
  measurement.struct_size = (uint32_t)sizeof measurement;
  reading.struct_size = (uint32_t)sizeof reading;
  note(oddheat_inputs_init(&config, &inputs));
  measure("tools_init", call_tools_init, 0);
  one_tool("tools_row_box", ODDHEAT_SHAPE_BOX, 139, 119, 0);
  one_tool("tools_row_ring", ODDHEAT_SHAPE_RING, 20, 59, 0);
  one_tool("tools_row_sector", ODDHEAT_SHAPE_SECTOR, 20, 59, 0);
  one_tool("tools_row_ellipse", ODDHEAT_SHAPE_ELLIPSE, 40, 0, 0);
  one_tool("tools_row_polygon", ODDHEAT_SHAPE_POLYGON, 0, 0, 0);
  one_tool("tools_row_polygon_area", ODDHEAT_SHAPE_POLYGON, 0, 0, 305150);
  one_tool("tools_row_box_area", ODDHEAT_SHAPE_BOX, 139, 119, 305150);
  call_tools_end_frame();
  measure("tools_place_area", call_place, 0);
  call_tools_rows();
  measure("tools_end_frame", call_tools_end_frame, 0);
  measure("tools_measurement", call_measurement, 0);
  measure("tools_reading_maximum", call_maximum, 0);
  measure("tools_reading_majority", call_majority, 0);
  measure("tools_area", call_area, 0);
  measure("item_of", call_item_of, 0);
  for (int i = 0; i < ODDHEAT_ITEMS_MAX; i++) {
    items[i].value = 300.0 + i % 5;
    items[i].uncertainty = 0.1;
  }
  measure("like_item_of_64", call_like_item, 0);
}

static void measure_courses(void) {
  measure("profile_init", call_profile_init, 0);
  measure("profile_rows_3_lines", call_profile_rows, 303);
  measure("profile_points", call_profile_points, 0);
  measure("points_to_kelvin_101", call_to_kelvin, 0);
  measure("trace_init", call_trace_init, 0);
  for (int i = 0; i < POINTS; i++) {
    call_trace_add();
  }
  measure("trace_add_and_merge", call_trace_add, 0);
  measure("trace_points", call_trace_points, 0);
}

/* A course for every fit, with a little noise; 32 points. */
static void measure_fits(void) {
  static const uint8_t bell[9] = {135, 119, 82, 44, 18, 6, 2, 0, 0};
  int32_t fall = 1 << 20;
  for (int i = 0; i < POINTS; i++) {
    points[i].place = i;
    points[i].value = 2.0 * i + i % 3 * 0.1;
  }
  measure("fit_line_32", call_fit_line, 0);
  for (int i = 0; i < POINTS; i++) {
    const int away = i < 16 ? 16 - i : i - 16;
    points[i].value = away < 9 ? bell[away] : 0;
  }
  measure("fit_peak_32", call_fit_peak, 0);
  measure("fit_gaussian_32", call_fit_gaussian, 0);
  for (int i = 0; i < POINTS; i++) {
    points[i].value = i < 15 ? 10.0 : i == 15 ? 13.0 : 30.0;
  }
  measure("fit_edge_32", call_fit_edge, 0);
  for (int i = 0; i < POINTS; i++) {
    points[i].value = fall / 16384.0 + (i * i) % 5 * 0.02;
    fall -= fall / 8;
  }
  measure("fit_exponential_32", call_fit_exponential, 0);
  measure("fit_decay_32", call_fit_decay, 0);
  for (int i = 0; i < POINTS; i++) {
    points[i].value = i < 17 ? 2.0 * i : 32.0 - 1.5 * (i - 16);
  }
  measure("fit_knee_32", call_fit_knee, 0);
}

static void measure_pictures(void) {
  note(oddheat_display_config_init(&display_config, WIDTH));
  display_config.zoom = ZOOM;
  measure("display_init", call_display_init, 0);
  measure("display_rows_blocks_of_4", call_display_rows, WIDTH * HEIGHT * ZOOM * ZOOM);
  measure("display_end_frame", call_display_end_frame, 0);
  display_config.smooth = 1;
  call_display_init();
  measure("display_rows_interpolated_4", call_display_rows, WIDTH * HEIGHT * ZOOM * ZOOM);
  measure("display_end_frame_smooth", call_display_end_frame, 0);
  measure("counts_at", call_counts_at, 0);
}

static void measure_level(void) {
  figures.struct_size = (uint32_t)sizeof figures;
  config.regions_max = 1;
  note(oddheat_init(device_block, sizeof device_block, &config, &device));
  measure("level_init", call_level_init, 0);
  call_level_rows();
  call_level_end_frame();
  measure("level_rows", call_level_rows, WIDTH * HEIGHT);
  measure("level_read", call_level_read, 0);
  measure("level_end_frame", call_level_end_frame, 0);
  measure("set_thresholds_by_rule", call_thresholds_by_rule, 0);
}

void measure_tools(void) {
  draw();
  note(oddheat_config_init(&config, WIDTH, HEIGHT));
  config.curve_a_um = 9.36;
  config.curve_b_um_k = 178.0;
  config.curve_c_counts = 1000000.0;
  config.emissivity_q15 = ODDHEAT_Q15(0.95);
  measure_places();
  measure_courses();
  measure_fits();
  measure_pictures();
  measure_level();
}
