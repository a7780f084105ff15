/* Measures an invented scene through the C interface: one tool of every shape over three frames, statistics, areas,
 * readings and like items. Prints every number, doubles by their bits: the Rust test prints the same lines from the
 * core and compares.
 */
#include "scene.h"

#define TOOLS 8
#define SATURATED 16383u

static uint64_t tools_block[ODDHEAT_TOOLS_MEM_SIZE(TOOLS) / 8u], moved_block[ODDHEAT_TOOLS_MEM_SIZE(TOOLS) / 8u];

static oddheat_tool tool_of(uint32_t shape, uint16_t x, uint16_t y, uint16_t a, uint16_t b) {
  oddheat_tool tool;
  memset(&tool, 0, sizeof tool);
  tool.struct_size = (uint32_t)sizeof tool;
  tool.shape = shape;
  tool.x_px = x;
  tool.y_px = y;
  tool.a_px = a;
  tool.b_px = b;
  return tool;
}

static void place(oddheat_tools *tools) {
  static const oddheat_vertex vertices[5] = {{4, 4}, {30, 2}, {40, 20}, {20, 30}, {2, 24}};
  oddheat_tool tool = tool_of(ODDHEAT_SHAPE_SPOT, 40, 20, 5, 0);
  EXPECT_STATUS(OK, oddheat_tools_place(tools, 0, &tool));
  tool = tool_of(ODDHEAT_SHAPE_BOX, 2, 3, 45, 28);
  tool.above_mk = 305150;
  EXPECT_STATUS(OK, oddheat_tools_place(tools, 1, &tool));
  tool = tool_of(ODDHEAT_SHAPE_RING, 24, 16, 5, 12);
  tool.emissivity_q15 = ODDHEAT_Q15(0.8);
  tool.emissivity_u_q15 = ODDHEAT_Q15(0.05);
  EXPECT_STATUS(OK, oddheat_tools_place(tools, 2, &tool));
  tool = tool_of(ODDHEAT_SHAPE_SECTOR, 24, 16, 3, 14);
  tool.sector = 2;
  tool.sectors = 7;
  tool.above_mk = 305150;
  tool.above_u_mk = 1500;
  EXPECT_STATUS(OK, oddheat_tools_place(tools, 3, &tool));
  tool = tool_of(ODDHEAT_SHAPE_ELLIPSE, 24, 16, 7, 0);
  tool.axis_x_px = 12;
  tool.axis_y_px = -5;
  EXPECT_STATUS(OK, oddheat_tools_place(tools, 4, &tool));
  tool = tool_of(ODDHEAT_SHAPE_POLYGON, 0, 0, 0, 0);
  tool.vertices_count = 5;
  memcpy(tool.vertices, vertices, sizeof vertices);
  tool.above_mk = 305150;
  EXPECT_STATUS(OK, oddheat_tools_place(tools, 5, &tool));
  /* Placed and taken away again; the last one stays empty. */
  EXPECT_STATUS(OK, oddheat_tools_place(tools, 6, &tool));
  EXPECT_STATUS(OK, oddheat_tools_place(tools, 6, NULL));
}

static void print_measurements(oddheat_tools *tools) {
  for (uint32_t i = 0; i < 6; i++) {
    oddheat_measurement m;
    uint32_t mean;
    m.struct_size = (uint32_t)sizeof m;
    EXPECT_STATUS(OK, oddheat_tools_measurement(tools, i, &m));
    EXPECT_STATUS(OK, oddheat_tools_frame_mean(tools, i, &mean));
    printf("tool %u %u %u %u\n", (unsigned)i, (unsigned)m.frames, (unsigned)m.count_px, (unsigned)m.rejected_px);
    printf("kelvin %d %d %d %d %d %d %d %d %d\n", (int)m.mean_q16, (int)m.mean_u_q16, (int)m.median_q16,
           (int)m.median_u_q16, (int)m.minimum_q16, (int)m.minimum_u_q16, (int)m.maximum_q16, (int)m.maximum_u_q16,
           (int)m.deviation_q16);
    printf("area %u %u %u\nframe %u\n", (unsigned)m.area, (unsigned)m.area_px, (unsigned)m.area_u_q8, (unsigned)mean);
  }
}

static void print_readings(oddheat_tools *tools, const oddheat_config *config) {
  const oddheat_estimate distance = {1.5, 0.05}, ifov = {3.0, 0.1};
  oddheat_estimate items[5], area;
  oddheat_inputs inputs;
  oddheat_likeness likeness;
  EXPECT_STATUS(OK, oddheat_inputs_init(config, &inputs));
  for (uint32_t statistic = ODDHEAT_STATISTIC_MEAN; statistic <= ODDHEAT_STATISTIC_COOLER_MEDIAN; statistic++) {
    oddheat_reading reading;
    reading.struct_size = (uint32_t)sizeof reading;
    EXPECT_STATUS(OK, oddheat_tools_reading(tools, 2, statistic, &reading));
    number("kelvin", reading.kelvin);
    number("noise", reading.noise_k);
    number("by-emissivity", reading.by_emissivity);
    number("emissivity-u", reading.emissivity_u);
  }
  for (uint32_t i = 0; i < 5; i++) {
    oddheat_reading reading;
    reading.struct_size = (uint32_t)sizeof reading;
    EXPECT_STATUS(OK, oddheat_tools_reading(tools, i, ODDHEAT_STATISTIC_MEAN, &reading));
    EXPECT_STATUS(OK, oddheat_item_of(&reading, &inputs, &items[i]));
    estimate("item", items[i]);
  }
  EXPECT_STATUS(OK, oddheat_like_item(items, 5, 1, &likeness));
  number("difference", likeness.difference);
  number("uncertainty", likeness.uncertainty);
  number("scatter", likeness.scatter);
  number("score", likeness.score);
  EXPECT_STATUS(OK, oddheat_tools_area(tools, 1, &distance, &ifov, &area));
  estimate("mm2", area);
}

static void frames(oddheat_tools *tools, uint32_t from, uint32_t to) {
  for (uint32_t t = from; t < to; t++) {
    expose(t);
    for (int y = 0; y < HEIGHT; y++) {
      EXPECT_STATUS(OK, oddheat_tools_row(tools, frame[y], WIDTH));
    }
    EXPECT_STATUS(OK, oddheat_tools_end_frame(tools, 100u * t));
  }
}

int main(void) {
  const oddheat_config config = scene_config(SATURATED);
  oddheat_tools *tools;
  size_t bytes;
  EXPECT_STATUS(OK, oddheat_tools_mem_size(TOOLS, &bytes));
  EXPECT(bytes == sizeof tools_block);
  EXPECT_STATUS(OK, oddheat_tools_init(tools_block, sizeof tools_block, &config, NULL, TOOLS, &tools));
  place(tools);
  frames(tools, 0, 2);
  print_measurements(tools);
  /* The block holds no pointers: it may be moved between calls. */
  memcpy(moved_block, tools_block, sizeof moved_block);
  memset(tools_block, 0xA5, sizeof tools_block);
  tools = (oddheat_tools *)(void *)moved_block;
  frames(tools, 2, 6);
  print_measurements(tools);
  print_readings(tools, &config);
  EXPECT_STATUS(OK, oddheat_tools_clear(tools));
  frames(tools, 0, 1); /* time may begin anew */
  print_measurements(tools);
  return expect_failures == 0 ? 0 : 1;
}
