/* Measuring tools through the C interface: every function, every error, and nothing written on an error.
 *
 * Prints what failed; exit code 0 if nothing did. Also run under valgrind and the sanitizers.
 */
#include "scene.h"

#define TOOLS 3
#define GUARD_WORD 0x0123456789ABCDEFu

static struct {
  uint64_t before[4];
  uint64_t tools[ODDHEAT_TOOLS_MEM_SIZE(TOOLS) / 8u];
  uint64_t after[4];
} memory;

static uint64_t blank[sizeof memory.tools / 8u];

static void guard_memory(void) {
  for (int i = 0; i < 4; i++) {
    memory.before[i] = memory.after[i] = GUARD_WORD;
  }
}

static int memory_is_guarded(void) {
  int intact = 1;
  for (int i = 0; i < 4; i++) {
    intact = intact && memory.before[i] == GUARD_WORD && memory.after[i] == GUARD_WORD;
  }
  return intact;
}

static void *misaligned(void *pointer) { return (unsigned char *)pointer + 1; }

static oddheat_tools *fresh(void) {
  const oddheat_config config = scene_config(16383);
  oddheat_tools *tools = NULL;
  EXPECT_STATUS(OK, oddheat_tools_init(memory.tools, sizeof memory.tools, &config, NULL, TOOLS, &tools));
  EXPECT((void *)tools == (void *)memory.tools);
  return tools;
}

static oddheat_tool box(void) {
  oddheat_tool tool;
  memset(&tool, 0, sizeof tool);
  tool.struct_size = (uint32_t)sizeof tool;
  tool.shape = ODDHEAT_SHAPE_BOX;
  tool.x_px = 2;
  tool.y_px = 2;
  tool.a_px = WIDTH - 1;
  tool.b_px = HEIGHT - 1;
  return tool;
}

static void set_up(void) {
  const oddheat_config good = scene_config(16383);
  const size_t size = sizeof memory.tools;
  oddheat_config config = good;
  oddheat_two_range high;
  oddheat_tools *tools;
  size_t bytes;
  GUARD(tools), GUARD(bytes);
  EXPECT_STATUS(ERR_NULL, oddheat_tools_mem_size(TOOLS, NULL));
  EXPECT_STATUS(ERR_RANGE, oddheat_tools_mem_size(0, &bytes));
  EXPECT_STATUS(ERR_RANGE, oddheat_tools_mem_size(65536, &bytes));
  EXPECT_STATUS(ERR_NULL, oddheat_tools_init(NULL, size, &good, NULL, TOOLS, &tools));
  EXPECT_STATUS(ERR_NULL, oddheat_tools_init(memory.tools, size, NULL, NULL, TOOLS, &tools));
  EXPECT_STATUS(ERR_NULL, oddheat_tools_init(memory.tools, size, &good, NULL, TOOLS, NULL));
  EXPECT_STATUS(ERR_MEM_ALIGN, oddheat_tools_init(misaligned(memory.tools), size, &good, NULL, TOOLS, &tools));
  EXPECT_STATUS(ERR_MEM_TOO_SMALL, oddheat_tools_init(memory.tools, size - 1, &good, NULL, TOOLS, &tools));
  EXPECT_STATUS(ERR_MEM_TOO_SMALL, oddheat_tools_init(memory.tools, size, &good, NULL, TOOLS + 1, &tools));
  EXPECT_STATUS(ERR_MEM_TOO_SMALL, oddheat_tools_init(memory.tools, size, &good, NULL, 65535, &tools));
  EXPECT_STATUS(ERR_RANGE, oddheat_tools_init(memory.tools, size, &good, NULL, 0, &tools));
  config.struct_size = 0;
  EXPECT_STATUS(ERR_UNSUPPORTED, oddheat_tools_init(memory.tools, size, &config, NULL, TOOLS, &tools));
  config = good;
  config.abi_version = 0;
  EXPECT_STATUS(ERR_ABI, oddheat_tools_init(memory.tools, size, &config, NULL, TOOLS, &tools));
  config = good;
  config.curve_a_um = 0.0;
  EXPECT_STATUS(ERR_RANGE, oddheat_tools_init(memory.tools, size, &config, NULL, TOOLS, &tools));
  memset(&high, 0, sizeof high);
  EXPECT_STATUS(ERR_UNSUPPORTED, oddheat_tools_init(memory.tools, size, &good, &high, TOOLS, &tools));
  EXPECT(UNTOUCHED(tools) && UNTOUCHED(bytes));
}

/* Every function that takes tools, with handles that are none. */
static void handles(void) {
  const oddheat_tool tool = box();
  const oddheat_estimate one = {1.0, 0.0};
  oddheat_tools *none[3];
  const int wanted[3] = {ODDHEAT_STATUS_ERR_NULL, ODDHEAT_STATUS_ERR_MEM_ALIGN, ODDHEAT_STATUS_ERR_BAD_STATE};
  none[0] = NULL;
  none[1] = (oddheat_tools *)misaligned(fresh());
  none[2] = (oddheat_tools *)(void *)blank;
  for (int i = 0; i < 3; i++) {
    oddheat_measurement measurement;
    oddheat_reading reading;
    oddheat_estimate area;
    uint32_t mean;
    GUARD(measurement), GUARD(reading), GUARD(area), GUARD(mean);
#define REFUSED(call) expect_status(wanted[i], (int)(call), #call, __LINE__)
    REFUSED(oddheat_tools_place(none[i], 0, &tool));
    REFUSED(oddheat_tools_row(none[i], frame[0], WIDTH));
    REFUSED(oddheat_tools_end_frame(none[i], 0));
    REFUSED(oddheat_tools_clear(none[i]));
    REFUSED(oddheat_tools_measurement(none[i], 0, &measurement));
    REFUSED(oddheat_tools_reading(none[i], 0, ODDHEAT_STATISTIC_MEAN, &reading));
    REFUSED(oddheat_tools_frame_mean(none[i], 0, &mean));
    REFUSED(oddheat_tools_area(none[i], 0, &one, &one, &area));
#undef REFUSED
    EXPECT(UNTOUCHED(measurement) && UNTOUCHED(reading) && UNTOUCHED(area) && UNTOUCHED(mean));
  }
  EXPECT(all_bytes(blank, sizeof blank, 0));
}

static void placing(void) {
  oddheat_tools *tools = fresh();
  oddheat_tool tool = box();
  uint64_t remembered[sizeof memory.tools / 8u];
  EXPECT_STATUS(OK, oddheat_tools_place(tools, 0, &tool));
  memcpy(remembered, memory.tools, sizeof remembered);
  EXPECT_STATUS(ERR_RANGE, oddheat_tools_place(tools, TOOLS, &tool));
  EXPECT_STATUS(ERR_RANGE, oddheat_tools_place(tools, UINT32_MAX, NULL));
  EXPECT_STATUS(ERR_MEM_ALIGN, oddheat_tools_place(tools, 0, (const oddheat_tool *)misaligned(&tool)));
#define REFUSED(wanted, field, value) \
  tool = box(); \
  tool.field = (value); \
  EXPECT_STATUS(wanted, oddheat_tools_place(tools, 0, &tool))
  REFUSED(ERR_UNSUPPORTED, struct_size, 0);
  REFUSED(ERR_RANGE, shape, 0);
  REFUSED(ERR_RANGE, shape, 7);
  REFUSED(ERR_SIZE, a_px, WIDTH);
  REFUSED(ERR_SIZE, a_px, 1); /* corners crossed */
  REFUSED(ERR_SIZE, b_px, HEIGHT);
  REFUSED(ERR_SIZE, shape, ODDHEAT_SHAPE_SPOT); /* reaches outside */
  REFUSED(ERR_SIZE, shape, ODDHEAT_SHAPE_SECTOR); /* none of none */
  REFUSED(ERR_SIZE, shape, ODDHEAT_SHAPE_ELLIPSE); /* no axis */
  REFUSED(ERR_SIZE, shape, ODDHEAT_SHAPE_POLYGON); /* no vertices */
  REFUSED(ERR_RANGE, emissivity_q15, 32769);
  REFUSED(ERR_RANGE, above_mk, -1);
  REFUSED(ERR_RANGE, above_mk, 2000001);
#undef REFUSED
  tool = box();
  tool.above_mk = 313150;
  tool.above_u_mk = 1000001;
  EXPECT_STATUS(ERR_RANGE, oddheat_tools_place(tools, 0, &tool));
  tool.shape = ODDHEAT_SHAPE_SECTOR;
  tool.sectors = 256;
  EXPECT_STATUS(ERR_RANGE, oddheat_tools_place(tools, 0, &tool));
  tool.shape = ODDHEAT_SHAPE_POLYGON;
  tool.vertices_count = 17;
  EXPECT_STATUS(ERR_SIZE, oddheat_tools_place(tools, 0, &tool));
  tool.vertices_count = UINT32_MAX;
  EXPECT_STATUS(ERR_SIZE, oddheat_tools_place(tools, 0, &tool));
#ifndef PADDING_IS_WATCHED
  EXPECT(memcmp(remembered, memory.tools, sizeof remembered) == 0);
#endif
}

static void whole_frame(oddheat_tools *tools, uint16_t count) {
  uint16_t row[WIDTH];
  for (int x = 0; x < WIDTH; x++) {
    row[x] = count;
  }
  for (int y = 0; y < HEIGHT; y++) {
    EXPECT_STATUS(OK, oddheat_tools_row(tools, row, WIDTH));
  }
}

static void order(void) {
  oddheat_tools *tools = fresh();
  oddheat_tool tool = box();
  oddheat_measurement measurement;
  oddheat_reading reading;
  const oddheat_estimate one = {1.0, 0.0}, none = {0.0, 0.0};
  oddheat_estimate area;
  uint32_t mean;
  uint16_t row[WIDTH + 1] = {0};
  GUARD(measurement), GUARD(reading), GUARD(area), GUARD(mean);
  measurement.struct_size = (uint32_t)sizeof measurement;
  reading.struct_size = (uint32_t)sizeof reading;
#define REFUSED(wanted, index) \
  EXPECT_STATUS(wanted, oddheat_tools_measurement(tools, index, &measurement)); \
  EXPECT_STATUS(wanted, oddheat_tools_reading(tools, index, ODDHEAT_STATISTIC_MEAN, &reading)); \
  EXPECT_STATUS(wanted, oddheat_tools_frame_mean(tools, index, &mean))
  REFUSED(ERR_ORDER, 0); /* nothing placed */
  REFUSED(ERR_RANGE, TOOLS);
  EXPECT_STATUS(OK, oddheat_tools_place(tools, 0, &tool));
  REFUSED(ERR_NO_TEMPERATURE, 0); /* nothing measured */
  EXPECT_STATUS(ERR_ORDER, oddheat_tools_area(tools, 0, &one, &one, &area));
  EXPECT_STATUS(ERR_NULL, oddheat_tools_row(tools, NULL, WIDTH));
  EXPECT_STATUS(ERR_SIZE, oddheat_tools_row(tools, row, WIDTH + 1));
  EXPECT_STATUS(ERR_SIZE, oddheat_tools_row(tools, row, 0));
  EXPECT_STATUS(ERR_MEM_ALIGN, oddheat_tools_row(tools, (const uint16_t *)misaligned(row), WIDTH));
  EXPECT_STATUS(ERR_ORDER, oddheat_tools_end_frame(tools, 0));
  EXPECT_STATUS(OK, oddheat_tools_row(tools, row, WIDTH));
  REFUSED(ERR_ORDER, 0); /* inside a frame */
  EXPECT_STATUS(ERR_ORDER, oddheat_tools_place(tools, 1, &tool));
  EXPECT_STATUS(ERR_ORDER, oddheat_tools_end_frame(tools, 0));
  EXPECT_STATUS(OK, oddheat_tools_clear(tools));
  whole_frame(tools, 0);
  EXPECT_STATUS(ERR_ORDER, oddheat_tools_row(tools, row, WIDTH)); /* one too many */
  EXPECT_STATUS(OK, oddheat_tools_end_frame(tools, 5));
  REFUSED(ERR_NO_TEMPERATURE, 0); /* all pixels dead */
  whole_frame(tools, 7000);
  EXPECT_STATUS(ERR_TIME, oddheat_tools_end_frame(tools, 4));
  EXPECT_STATUS(OK, oddheat_tools_end_frame(tools, 5));
#undef REFUSED
  EXPECT_STATUS(ERR_NULL, oddheat_tools_measurement(tools, 0, NULL));
  EXPECT_STATUS(ERR_NULL, oddheat_tools_reading(tools, 0, ODDHEAT_STATISTIC_MEAN, NULL));
  EXPECT_STATUS(ERR_NULL, oddheat_tools_frame_mean(tools, 0, NULL));
  EXPECT_STATUS(ERR_RANGE, oddheat_tools_reading(tools, 0, 0, &reading));
  EXPECT_STATUS(ERR_RANGE, oddheat_tools_reading(tools, 0, 8, &reading));
  EXPECT_STATUS(ERR_ORDER, oddheat_tools_area(tools, 0, &one, &one, &area)); /* no area asked for */
  measurement.struct_size = 0;
  reading.struct_size = 0;
  EXPECT_STATUS(ERR_UNSUPPORTED, oddheat_tools_measurement(tools, 0, &measurement));
  EXPECT_STATUS(ERR_UNSUPPORTED, oddheat_tools_reading(tools, 0, ODDHEAT_STATISTIC_MEAN, &reading));
  EXPECT(all_bytes((unsigned char *)&measurement + 4, sizeof measurement - 4, 0xA5));
  EXPECT(all_bytes((unsigned char *)&reading + 4, sizeof reading - 4, 0xA5));
  EXPECT(UNTOUCHED(area) && UNTOUCHED(mean));
  measurement.struct_size = (uint32_t)sizeof measurement;
  EXPECT_STATUS(OK, oddheat_tools_measurement(tools, 0, &measurement));
  EXPECT(measurement.frames == 1 && measurement.count_px == (WIDTH - 2) * (HEIGHT - 2));
  EXPECT(measurement.rejected_px == (WIDTH - 2) * (HEIGHT - 2));
  EXPECT(measurement.minimum_q16 == measurement.maximum_q16 && measurement.deviation_q16 == 0);
  EXPECT(measurement.mean_q16 > 250 * 65536 && measurement.mean_u_q16 > 65536);
  EXPECT(measurement.area == ODDHEAT_AREA_NONE && measurement.area_px == 0);

  /* An area above 250 K, and one above what any count means. */
  tool.above_mk = 250000;
  EXPECT_STATUS(OK, oddheat_tools_place(tools, 1, &tool));
  tool.above_mk = 2000000;
  EXPECT_STATUS(OK, oddheat_tools_place(tools, 2, &tool));
  whole_frame(tools, 7000);
  EXPECT_STATUS(OK, oddheat_tools_end_frame(tools, 6));
  EXPECT_STATUS(OK, oddheat_tools_measurement(tools, 1, &measurement));
  EXPECT(measurement.area == ODDHEAT_AREA_AT_LEAST && measurement.area_px == (WIDTH - 2) * (HEIGHT - 2));
  EXPECT_STATUS(OK, oddheat_tools_measurement(tools, 2, &measurement));
  EXPECT(measurement.area == ODDHEAT_AREA_WHOLE && measurement.area_px == 0 && measurement.area_u_q8 == 0);
  GUARD(area);
  EXPECT_STATUS(ERR_NULL, oddheat_tools_area(tools, 1, NULL, &one, &area));
  EXPECT_STATUS(ERR_NULL, oddheat_tools_area(tools, 1, &one, NULL, &area));
  EXPECT_STATUS(ERR_NULL, oddheat_tools_area(tools, 1, &one, &one, NULL));
  EXPECT_STATUS(ERR_RANGE, oddheat_tools_area(tools, 1, &none, &one, &area));
  EXPECT_STATUS(ERR_RANGE, oddheat_tools_area(tools, 1, &one, &none, &area));
  EXPECT(UNTOUCHED(area));
  EXPECT_STATUS(OK, oddheat_tools_area(tools, 1, &one, &one, &area));
  EXPECT(area.value == (WIDTH - 2) * (HEIGHT - 2));
}

static void like_items(void) {
  const oddheat_config config = scene_config(0);
  oddheat_estimate items[65], item;
  oddheat_likeness likeness;
  oddheat_reading reading;
  oddheat_inputs inputs;
  GUARD(likeness), GUARD(item);
  for (int i = 0; i < 65; i++) {
    items[i].value = i == 2 ? 320.0 : 300.0;
    items[i].uncertainty = i == 3 ? -1.0 : 0.1; /* item 3 could not be measured */
  }
  EXPECT_STATUS(ERR_NULL, oddheat_like_item(NULL, 5, 2, &likeness));
  EXPECT_STATUS(ERR_NULL, oddheat_like_item(items, 5, 2, NULL));
  EXPECT_STATUS(ERR_RANGE, oddheat_like_item(items, 5, 5, &likeness));
  EXPECT_STATUS(ERR_RANGE, oddheat_like_item(items, 5, 3, &likeness));
  EXPECT_STATUS(ERR_RANGE, oddheat_like_item(NULL, 0, 0, &likeness));
  EXPECT_STATUS(ERR_TOO_FEW, oddheat_like_item(items, 4, 2, &likeness));
  EXPECT_STATUS(ERR_TOO_MANY, oddheat_like_item(items, 65, 2, &likeness));
  items[0].value = 1e101;
  EXPECT_STATUS(ERR_RANGE, oddheat_like_item(items, 5, 2, &likeness));
  items[0].value = 300.0;
  for (int i = 0; i < 5; i++) {
    items[i].uncertainty = 0.0;
    items[i].value = 300.0;
  }
  EXPECT_STATUS(ERR_NO_SIGNAL, oddheat_like_item(items, 5, 2, &likeness));
  EXPECT(UNTOUCHED(likeness));
  items[2].value = 320.0;
  items[2].uncertainty = 0.1;
  EXPECT_STATUS(OK, oddheat_like_item(items, 64, 2, &likeness));
  EXPECT(likeness.difference == 20.0 && likeness.score > 3.0);

  EXPECT_STATUS(OK, oddheat_inputs_init(&config, &inputs));
  reading.struct_size = (uint32_t)sizeof reading;
  EXPECT_STATUS(OK, oddheat_reading_at(&config, NULL, 330.0, 0.02, &reading));
  EXPECT_STATUS(ERR_NULL, oddheat_item_of(NULL, &inputs, &item));
  EXPECT_STATUS(ERR_NULL, oddheat_item_of(&reading, NULL, &item));
  EXPECT_STATUS(ERR_NULL, oddheat_item_of(&reading, &inputs, NULL));
  inputs.netd_k = -1.0;
  EXPECT_STATUS(ERR_RANGE, oddheat_item_of(&reading, &inputs, &item));
  reading.struct_size = 0;
  EXPECT_STATUS(ERR_UNSUPPORTED, oddheat_item_of(&reading, &inputs, &item));
  EXPECT(UNTOUCHED(item));
}

int main(void) {
  guard_memory();
  set_up();
  handles();
  placing();
  order();
  like_items();
  EXPECT(memory_is_guarded());
  return expect_failures == 0 ? 0 : 1;
}
