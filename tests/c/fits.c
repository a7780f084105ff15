/* Profiles across the invented scene, a trace of what a tool sees of it while it warms up, and every fit on both, in
 * counts and in kelvin. Prints every double by its bits: the Rust test prints the same lines from the core and compares.
 */
#include "scene.h"

#define SAMPLES 48
#define ENTRIES 16

static uint64_t profile_block[(ODDHEAT_PROFILE_MEM_SIZE(SAMPLES) + 7u) / 8u];
static uint64_t trace_block[ODDHEAT_TRACE_MEM_SIZE(ENTRIES) / 8u], moved_block[ODDHEAT_TRACE_MEM_SIZE(ENTRIES) / 8u];
static oddheat_point points[SAMPLES];

static void print_points(size_t count, uint32_t averaged) {
  printf("points %u %u\n", (unsigned)count, (unsigned)averaged);
  for (size_t i = 0; i < count; i++) {
    number("place", points[i].place);
    number("value", points[i].value);
  }
}

/* A fit prints its numbers or why there are none. */
static int fitted(const char *name, oddheat_status status) {
  printf("%s %d\n", name, (int)status);
  return status == ODDHEAT_STATUS_OK;
}

static void every_fit(size_t count, double noise) {
  oddheat_line_fit line;
  oddheat_peak peak;
  oddheat_edge edge;
  oddheat_exponential exponential;
  oddheat_decay decay;
  oddheat_knee knee;
  oddheat_estimate base;
  base.value = points[count - 1].value;
  base.uncertainty = noise;
  if (fitted("line", oddheat_fit_line(points, count, noise, &line))) {
    number("center", line.center), estimate("level", line.level), estimate("slope", line.slope);
  }
  if (fitted("parabola", oddheat_fit_peak(points, count, noise, &peak))) {
    estimate("place", peak.place), estimate("height", peak.height), estimate("width", peak.width);
  }
  if (fitted("gaussian", oddheat_fit_gaussian(points, count, base.value, noise, &peak))) {
    estimate("place", peak.place), estimate("height", peak.height), estimate("width", peak.width);
  }
  if (fitted("edge", oddheat_fit_edge(points, count, noise, &edge))) {
    estimate("place", edge.place), estimate("before", edge.before), estimate("behind", edge.behind);
    number("blur", edge.width);
  }
  if (fitted("exponential", oddheat_fit_exponential(points, count, noise, &exponential))) {
    estimate("end", exponential.end), estimate("amplitude", exponential.amplitude);
    estimate("constant", exponential.constant);
  }
  if (fitted("decay", oddheat_fit_decay(points, count, &base, noise, &decay))) {
    estimate("height", decay.height), estimate("length", decay.length);
  }
  if (fitted("knee", oddheat_fit_knee(points, count, noise, &knee))) {
    estimate("place", knee.place), estimate("value", knee.value);
    estimate("before", knee.before), estimate("after", knee.after);
  }
}

static void profile(const oddheat_config *config, oddheat_line line) {
  oddheat_profile *profile;
  double noise;
  size_t bytes, count;
  uint32_t pixels;
  EXPECT_STATUS(OK, oddheat_profile_mem_size(config, &line, &bytes));
  EXPECT(bytes <= sizeof profile_block);
  EXPECT_STATUS(OK, oddheat_profile_init(profile_block, bytes, config, &line, &profile));
  for (uint32_t t = 0; t < 2; t++) {
    expose(t);
    for (int y = 0; y < HEIGHT; y++) {
      EXPECT_STATUS(OK, oddheat_profile_row(profile, frame[y], WIDTH));
    }
  }
  EXPECT_STATUS(OK, oddheat_profile_points(profile, points, SAMPLES, &count, &pixels));
  print_points(count, pixels);
  every_fit(count, 1.0);
  EXPECT_STATUS(OK, oddheat_points_to_kelvin(config, NULL, points, count, &noise));
  print_points(count, pixels);
  number("noise", noise);
  every_fit(count, noise);
}

/* Half of an approach to 12000 counts, a little noise, then level: more frames than entries, so that they are merged. */
static int32_t course(uint32_t t) {
  int32_t value = 12000 * 256;
  for (uint32_t i = 0; i < t; i++) {
    value -= value / 40;
  }
  return 12000 * 256 - value + (int32_t)(t * t % 7u) * 16;
}

static void trace(const oddheat_config *config) {
  oddheat_trace *trace;
  double noise;
  size_t bytes, count;
  uint32_t frames;
  EXPECT_STATUS(OK, oddheat_trace_mem_size(ENTRIES, &bytes));
  EXPECT(bytes == sizeof trace_block);
  EXPECT_STATUS(OK, oddheat_trace_init(trace_block, sizeof trace_block, ENTRIES, &trace));
  for (uint32_t t = 0; t < 90; t++) {
    if (t == 50) {
      /* The block holds no pointers: it may be moved between calls. */
      memcpy(moved_block, trace_block, sizeof moved_block);
      memset(trace_block, 0xA5, sizeof trace_block);
      trace = (oddheat_trace *)(void *)moved_block;
    }
    EXPECT_STATUS(OK, oddheat_trace_add(trace, 500u * t, course(t)));
  }
  EXPECT_STATUS(OK, oddheat_trace_points(trace, points, SAMPLES, &count, &frames));
  print_points(count, frames);
  every_fit(count, 0.2);
  every_fit(count / 2, 0.0);
  EXPECT_STATUS(OK, oddheat_points_to_kelvin(config, NULL, points, count, &noise));
  number("noise", noise);
  print_points(count, frames);
}

/* A bell, a step, a decay and a knee of their own, for every fit to say yes once. */
static void drawn(void) {
  static const double bell[9] = {0.0, 1.0, 11.0, 61.0, 135.0, 61.0, 11.0, 1.0, 0.0};
  for (int i = 0; i < 9; i++) {
    points[i].place = i, points[i].value = bell[i];
  }
  every_fit(9, 0.5);
  for (int i = 0; i < 16; i++) {
    points[i].place = i, points[i].value = i < 7 ? 10.0 : i == 7 ? 14.0 : 30.0;
  }
  every_fit(16, 0.1);
  for (int i = 0; i < 16; i++) {
    points[i].place = i, points[i].value = i < 9 ? 2.0 * i : 16.0 - 1.5 * (i - 8);
  }
  every_fit(16, 0.1);
  points[15].value = 64.0;
  for (int i = 0; i < 16; i++) {
    points[i].place = i, points[i].value = i == 0 ? 64.0 : points[i - 1].value * 0.75;
  }
  every_fit(16, 0.1);
  points[15].value = 0.0;
  every_fit(16, 0.1);
}

int main(void) {
  const oddheat_config config = scene_config(16383);
  const oddheat_line across = {(uint32_t)sizeof across, 3, 2 << 8, 16 << 8, 45 << 8, 16 << 8};
  const oddheat_line slanted = {(uint32_t)sizeof slanted, 1, 1000, 700, 6200, 7300};
  const oddheat_line edge = {(uint32_t)sizeof edge, 5, 24 << 8, 3 << 8, 24 << 8, 15 << 8};
  profile(&config, across);
  profile(&config, slanted);
  profile(&config, edge);
  trace(&config);
  drawn();
  return expect_failures == 0 ? 0 : 1;
}
