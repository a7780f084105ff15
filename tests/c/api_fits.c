/* Profiles, traces and fits through the C interface: every function, every error, and nothing written on an error.
 *
 * Prints what failed; exit code 0 if nothing did. Also run under valgrind and the sanitizers.
 */
#include "scene.h"

#define SAMPLES 11
#define ENTRIES 16
#define GUARD_WORD 0x0123456789ABCDEFu

static struct {
  uint64_t before[4];
  uint64_t profile[(ODDHEAT_PROFILE_MEM_SIZE(SAMPLES) + 7u) / 8u];
  uint64_t between[4];
  uint64_t trace[ODDHEAT_TRACE_MEM_SIZE(ENTRIES) / 8u];
  uint64_t after[4];
} memory;

static uint64_t blank[sizeof memory.profile / 8u];

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

static oddheat_line line_of(void) {
  const oddheat_line line = {(uint32_t)sizeof line, 1, 0, 0, 10 << 8, 0};
  return line;
}

static oddheat_profile *fresh_profile(void) {
  const oddheat_config config = scene_config(0);
  const oddheat_line line = line_of();
  oddheat_profile *profile = NULL;
  EXPECT_STATUS(OK, oddheat_profile_init(memory.profile, sizeof memory.profile, &config, &line, &profile));
  EXPECT((void *)profile == (void *)memory.profile);
  return profile;
}

static oddheat_trace *fresh_trace(void) {
  oddheat_trace *trace = NULL;
  EXPECT_STATUS(OK, oddheat_trace_init(memory.trace, sizeof memory.trace, ENTRIES, &trace));
  EXPECT((void *)trace == (void *)memory.trace);
  return trace;
}

static void set_up(void) {
  const oddheat_config good = scene_config(0);
  const size_t size = sizeof memory.profile;
  oddheat_config config = good;
  oddheat_line line = line_of();
  oddheat_profile *profile;
  oddheat_trace *trace;
  size_t bytes;
  GUARD(profile), GUARD(trace), GUARD(bytes);
  EXPECT_STATUS(ERR_NULL, oddheat_profile_mem_size(NULL, &line, &bytes));
  EXPECT_STATUS(ERR_NULL, oddheat_profile_mem_size(&good, NULL, &bytes));
  EXPECT_STATUS(ERR_NULL, oddheat_profile_mem_size(&good, &line, NULL));
  EXPECT_STATUS(ERR_NULL, oddheat_profile_init(NULL, size, &good, &line, &profile));
  EXPECT_STATUS(ERR_NULL, oddheat_profile_init(memory.profile, size, NULL, &line, &profile));
  EXPECT_STATUS(ERR_NULL, oddheat_profile_init(memory.profile, size, &good, NULL, &profile));
  EXPECT_STATUS(ERR_NULL, oddheat_profile_init(memory.profile, size, &good, &line, NULL));
  EXPECT_STATUS(ERR_MEM_ALIGN, oddheat_profile_init(misaligned(memory.profile), size, &good, &line, &profile));
  EXPECT_STATUS(ERR_MEM_TOO_SMALL, oddheat_profile_init(memory.profile, size - 1, &good, &line, &profile));
  config.abi_version = 0;
  EXPECT_STATUS(ERR_ABI, oddheat_profile_init(memory.profile, size, &config, &line, &profile));
#define REFUSED(wanted, field, value) \
  line = line_of(); \
  line.field = (value); \
  EXPECT_STATUS(wanted, oddheat_profile_init(memory.profile, size, &good, &line, &profile)); \
  EXPECT_STATUS(wanted, oddheat_profile_mem_size(&good, &line, &bytes))
  REFUSED(ERR_UNSUPPORTED, struct_size, 0);
  REFUSED(ERR_SIZE, lines, 0);
  REFUSED(ERR_SIZE, lines, 2); /* reaches above the image */
  REFUSED(ERR_SIZE, lines, 32);
  REFUSED(ERR_SIZE, lines, 257);
  REFUSED(ERR_SIZE, x1_q8, 2 << 8); /* short */
  REFUSED(ERR_SIZE, x1_q8, WIDTH << 8);
  REFUSED(ERR_SIZE, y1_q8, UINT32_MAX);
#undef REFUSED
  EXPECT_STATUS(ERR_NULL, oddheat_trace_mem_size(ENTRIES, NULL));
  EXPECT_STATUS(ERR_RANGE, oddheat_trace_mem_size(15, &bytes));
  EXPECT_STATUS(ERR_RANGE, oddheat_trace_mem_size(65536, &bytes));
  EXPECT_STATUS(ERR_NULL, oddheat_trace_init(NULL, sizeof memory.trace, ENTRIES, &trace));
  EXPECT_STATUS(ERR_NULL, oddheat_trace_init(memory.trace, sizeof memory.trace, ENTRIES, NULL));
  EXPECT_STATUS(ERR_RANGE, oddheat_trace_init(memory.trace, sizeof memory.trace, 15, &trace));
  EXPECT_STATUS(ERR_MEM_ALIGN, oddheat_trace_init(misaligned(memory.trace), sizeof memory.trace, ENTRIES, &trace));
  EXPECT_STATUS(ERR_MEM_TOO_SMALL, oddheat_trace_init(memory.trace, sizeof memory.trace - 1, ENTRIES, &trace));
  EXPECT_STATUS(ERR_MEM_TOO_SMALL, oddheat_trace_init(memory.trace, sizeof memory.trace, 17, &trace));
  EXPECT(UNTOUCHED(profile) && UNTOUCHED(trace) && UNTOUCHED(bytes));
}

/* Every function that takes a profile or a trace, with handles that are none. */
static void handles(void) {
  const int wanted[3] = {ODDHEAT_STATUS_ERR_NULL, ODDHEAT_STATUS_ERR_MEM_ALIGN, ODDHEAT_STATUS_ERR_BAD_STATE};
  oddheat_profile *no_profile[3];
  oddheat_trace *no_trace[3];
  no_profile[0] = NULL;
  no_profile[1] = (oddheat_profile *)misaligned(fresh_profile());
  no_profile[2] = (oddheat_profile *)(void *)fresh_trace(); /* a block of another kind */
  no_trace[0] = NULL;
  no_trace[1] = (oddheat_trace *)misaligned(fresh_trace());
  no_trace[2] = (oddheat_trace *)(void *)blank;
  for (int i = 0; i < 3; i++) {
    oddheat_point point;
    uint32_t averaged;
    size_t count;
    GUARD(point), GUARD(averaged), GUARD(count);
#define REFUSED(call) expect_status(wanted[i], (int)(call), #call, __LINE__)
    REFUSED(oddheat_profile_row(no_profile[i], frame[0], WIDTH));
    REFUSED(oddheat_profile_points(no_profile[i], &point, 1, &count, &averaged));
    REFUSED(oddheat_trace_add(no_trace[i], 0, 0));
    REFUSED(oddheat_trace_points(no_trace[i], &point, 1, &count, &averaged));
#undef REFUSED
    EXPECT(UNTOUCHED(point) && UNTOUCHED(averaged) && UNTOUCHED(count));
  }
  EXPECT(all_bytes(blank, sizeof blank, 0));
}

static void rows_and_points(void) {
  oddheat_profile *profile = fresh_profile();
  oddheat_point points[SAMPLES];
  uint16_t row[WIDTH];
  uint32_t averaged;
  size_t count;
  for (int x = 0; x < WIDTH; x++) {
    row[x] = (uint16_t)(x == 4 ? 0 : 7000 + x);
  }
  EXPECT_STATUS(OK, oddheat_profile_points(profile, NULL, 0, &count, &averaged));
  EXPECT(count == 0 && averaged == 0);
  EXPECT_STATUS(ERR_NULL, oddheat_profile_row(profile, NULL, WIDTH));
  EXPECT_STATUS(ERR_SIZE, oddheat_profile_row(profile, row, WIDTH - 1));
  EXPECT_STATUS(OK, oddheat_profile_row(profile, row, WIDTH));
  GUARD(count), GUARD(averaged), GUARD(points);
  EXPECT_STATUS(ERR_ORDER, oddheat_profile_points(profile, points, SAMPLES, &count, &averaged));
  for (int y = 1; y < HEIGHT; y++) {
    EXPECT_STATUS(OK, oddheat_profile_row(profile, row, WIDTH));
  }
  EXPECT_STATUS(ERR_NULL, oddheat_profile_points(profile, NULL, 1, &count, &averaged));
  EXPECT_STATUS(ERR_NULL, oddheat_profile_points(profile, points, SAMPLES, NULL, &averaged));
  EXPECT_STATUS(ERR_NULL, oddheat_profile_points(profile, points, SAMPLES, &count, NULL));
  EXPECT(UNTOUCHED(count) && UNTOUCHED(averaged) && UNTOUCHED(points));
  /* One is missing, where the pixel is dead; of the others only as many are written as there is room for. */
  EXPECT_STATUS(OK, oddheat_profile_points(profile, points, 2, &count, &averaged));
  EXPECT(count == SAMPLES - 1 && averaged == 1 && points[1].place == 1.0 && points[1].value == 7001.0);
  EXPECT(UNTOUCHED(points[2]));
}

static void traces(void) {
  oddheat_trace *trace = fresh_trace();
  oddheat_point points[ENTRIES];
  uint32_t averaged;
  size_t count;
  EXPECT_STATUS(OK, oddheat_trace_points(trace, NULL, 0, &count, &averaged));
  EXPECT(count == 0 && averaged == 1);
  EXPECT_STATUS(OK, oddheat_trace_add(trace, 1000, -512));
  EXPECT_STATUS(ERR_TIME, oddheat_trace_add(trace, 999, 0));
  GUARD(count), GUARD(averaged), GUARD(points);
  EXPECT_STATUS(ERR_NULL, oddheat_trace_points(trace, NULL, 1, &count, &averaged));
  EXPECT_STATUS(ERR_NULL, oddheat_trace_points(trace, points, ENTRIES, NULL, &averaged));
  EXPECT_STATUS(ERR_NULL, oddheat_trace_points(trace, points, ENTRIES, &count, NULL));
  EXPECT(UNTOUCHED(count) && UNTOUCHED(averaged) && UNTOUCHED(points));
  EXPECT_STATUS(OK, oddheat_trace_points(trace, points, ENTRIES, &count, &averaged));
  EXPECT(count == 1 && averaged == 1 && points[0].place == 1.0 && points[0].value == -2.0);
}

static void conversion(void) {
  const oddheat_config good = scene_config(0);
  oddheat_config config = good;
  oddheat_point points[2] = {{0.0, 7000.0}, {1.0, 8000.0}};
  double noise;
  GUARD(noise);
  EXPECT_STATUS(ERR_NULL, oddheat_points_to_kelvin(NULL, NULL, points, 2, &noise));
  EXPECT_STATUS(ERR_NULL, oddheat_points_to_kelvin(&good, NULL, NULL, 2, &noise));
  EXPECT_STATUS(ERR_NULL, oddheat_points_to_kelvin(&good, NULL, points, 2, NULL));
  EXPECT_STATUS(ERR_TOO_FEW, oddheat_points_to_kelvin(&good, NULL, NULL, 0, &noise));
  config.curve_c_counts = -1.0;
  EXPECT_STATUS(ERR_RANGE, oddheat_points_to_kelvin(&config, NULL, points, 2, &noise));
  points[1].value = -5.0;
  EXPECT_STATUS(ERR_NO_TEMPERATURE, oddheat_points_to_kelvin(&good, NULL, points, 2, &noise));
  EXPECT(points[0].value == 7000.0 && UNTOUCHED(noise));
  points[1].value = 8000.0;
  EXPECT_STATUS(OK, oddheat_points_to_kelvin(&good, NULL, points, 2, &noise));
  EXPECT(points[0].value > 280.0 && points[1].value > points[0].value && points[1].value < 320.0);
  EXPECT(noise > 0.08 && noise < 0.1);
}

static void fits(void) {
  static const double none[2] = {-1.0, 1e101};
  const oddheat_estimate base = {0.0, 0.0}, bad_base = {0.0, -1.0};
  oddheat_point points[16];
  oddheat_line_fit line;
  oddheat_peak peak;
  oddheat_edge edge;
  oddheat_exponential exponential;
  oddheat_decay decay;
  oddheat_knee knee;
  GUARD(line), GUARD(peak), GUARD(edge), GUARD(exponential), GUARD(decay), GUARD(knee);
  for (int i = 0; i < 16; i++) {
    points[i].place = i;
    points[i].value = 2.0 * i;
  }
#define EVERY(wanted, points, count, noise) \
  EXPECT_STATUS(wanted, oddheat_fit_line(points, count, noise, &line)); \
  EXPECT_STATUS(wanted, oddheat_fit_peak(points, count, noise, &peak)); \
  EXPECT_STATUS(wanted, oddheat_fit_gaussian(points, count, 0.0, noise, &peak)); \
  EXPECT_STATUS(wanted, oddheat_fit_edge(points, count, noise, &edge)); \
  EXPECT_STATUS(wanted, oddheat_fit_exponential(points, count, noise, &exponential)); \
  EXPECT_STATUS(wanted, oddheat_fit_decay(points, count, &base, noise, &decay)); \
  EXPECT_STATUS(wanted, oddheat_fit_knee(points, count, noise, &knee))
  EVERY(ERR_NULL, NULL, 16, 1.0);
  EVERY(ERR_MEM_ALIGN, (const oddheat_point *)misaligned(points), 15, 1.0);
  EVERY(ERR_SIZE, points, SIZE_MAX / 2u, 1.0);
  EVERY(ERR_TOO_FEW, NULL, 0, 1.0);
  EVERY(ERR_TOO_FEW, points, 1, 1.0);
  EVERY(ERR_RANGE, points, 16, none[0]);
  EVERY(ERR_RANGE, points, 16, none[1]);
  points[3].value = -1.0 / points[0].place; /* infinite */
  EVERY(ERR_RANGE, points, 16, 1.0);
  points[3].value = 6.0;
#undef EVERY
  EXPECT_STATUS(ERR_NULL, oddheat_fit_line(points, 16, 1.0, NULL));
  EXPECT_STATUS(ERR_NULL, oddheat_fit_peak(points, 16, 1.0, NULL));
  EXPECT_STATUS(ERR_NULL, oddheat_fit_gaussian(points, 16, 0.0, 1.0, NULL));
  EXPECT_STATUS(ERR_NULL, oddheat_fit_edge(points, 16, 1.0, NULL));
  EXPECT_STATUS(ERR_NULL, oddheat_fit_exponential(points, 16, 1.0, NULL));
  EXPECT_STATUS(ERR_NULL, oddheat_fit_decay(points, 16, &base, 1.0, NULL));
  EXPECT_STATUS(ERR_NULL, oddheat_fit_decay(points, 16, NULL, 1.0, &decay));
  EXPECT_STATUS(ERR_NULL, oddheat_fit_knee(points, 16, 1.0, NULL));
  EXPECT_STATUS(ERR_RANGE, oddheat_fit_decay(points, 16, &bad_base, 1.0, &decay));
  EXPECT_STATUS(ERR_RANGE, oddheat_fit_gaussian(points, 16, -1.0 / points[0].place, 1.0, &peak));
  /* A slope is no peak, end value, decay or knee. */
  EXPECT_STATUS(ERR_AT_END, oddheat_fit_peak(points, 16, 0.1, &peak));
  EXPECT_STATUS(ERR_AT_END, oddheat_fit_gaussian(points, 16, 0.0, 0.1, &peak));
  EXPECT_STATUS(ERR_BELOW_NOISE, oddheat_fit_peak(points, 16, 0.0, &peak));
  EXPECT_STATUS(ERR_AS_STRAIGHT, oddheat_fit_exponential(points, 16, 0.1, &exponential));
  EXPECT_STATUS(ERR_NOT_DECAYING, oddheat_fit_decay(points, 16, &base, 0.1, &decay));
  EXPECT_STATUS(ERR_AS_STRAIGHT, oddheat_fit_knee(points, 16, 0.1, &knee));
  points[8].value = 0.0; /* back and forth is no edge */
  EXPECT_STATUS(ERR_NO_FIT, oddheat_fit_edge(points, 16, 0.1, &edge));
  points[8].value = 16.0;
  points[15].place = points[14].place = 0.0;
  EXPECT_STATUS(ERR_TOO_SHORT, oddheat_fit_line(points + 14, 2, 0.1, &line));
  EXPECT(UNTOUCHED(line) && UNTOUCHED(peak) && UNTOUCHED(edge));
  EXPECT(UNTOUCHED(exponential) && UNTOUCHED(decay) && UNTOUCHED(knee));
  EXPECT_STATUS(OK, oddheat_fit_line(points, 14, 0.1, &line));
  EXPECT(line.slope.value == 2.0 && line.center == 6.5 && line.level.value == 13.0 && line.slope.uncertainty > 0.0);
}

int main(void) {
  guard_memory();
  set_up();
  handles();
  rows_and_points();
  traces();
  conversion();
  fits();
  EXPECT(memory_is_guarded());
  return expect_failures == 0 ? 0 : 1;
}
