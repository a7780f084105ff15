/* A brake check over an embedded recording, without a C library: init, begin, place, frames, judge, text.
 *
 * The report's format is also written by tests/src/direct.rs straight from the Rust core; the two must agree byte for
 * byte, on every machine. recording.h is made by tests/src/embed.rs.
 */
#include "brake.h"

#include "recording.h"

/* Regions play no part in this check; one slot is the least there is. */
ODDHEAT_MEM(block, RECORDING_WIDTH_PX, 1, RECORDING_SHAPES);
/* Findings take about 2 KB (core/src/wording); the report fails if this does not hold it all. */
static char text[8192];

unsigned brake_frames(void) { return RECORDING_FRAMES; }

const uint16_t *brake_counts(unsigned frame) { return recording_counts[frame]; }

oddheat_status brake_configure(oddheat_config *config) {
  const oddheat_status status = oddheat_config_init(config, RECORDING_WIDTH_PX, RECORDING_HEIGHT_PX);
  if (status == ODDHEAT_STATUS_OK) {
    config->regions_max = 1;
    config->shapes_max = RECORDING_SHAPES;
    recording_settings(config);
  }
  return status;
}

oddheat_status brake_begin(oddheat *device) {
  const size_t conditions = sizeof recording_conditions / sizeof recording_conditions[0];
  oddheat_status status = oddheat_check_begin(device, RECORDING_KIND, recording_conditions, conditions);
  for (unsigned i = 0; i < RECORDING_SHAPES && status == ODDHEAT_STATUS_OK; i++) {
    status = oddheat_check_place(device, &recording_places[i]);
  }
  return status;
}

oddheat_status brake_feed(oddheat *device, unsigned frame) {
  oddheat_status status = oddheat_start_frame(device, &recording_frames[frame]);
  for (unsigned y = 0; y < RECORDING_HEIGHT_PX && status == ODDHEAT_STATUS_OK; y++) {
    status = oddheat_push_row(device, recording_counts[frame] + (size_t)y * RECORDING_WIDTH_PX, RECORDING_WIDTH_PX);
  }
  return status;
}

/* Decimal without printf, which a small C library may not have and whose sizes differ from one to the next. */
static void print_number(brake_print_fn print, int64_t value) {
  char digits[24];
  char *at = digits + sizeof digits - 1;
  uint64_t rest = value < 0 ? 0u - (uint64_t)value : (uint64_t)value;
  *at = '\0';
  do {
    *--at = (char)('0' + (char)(rest % 10u));
    rest /= 10u;
  } while (rest != 0u);
  if (value < 0) {
    *--at = '-';
  }
  print(at);
}

static void print_line(brake_print_fn print, const char *name, const int64_t *values, unsigned count) {
  print(name);
  for (unsigned i = 0; i < count; i++) {
    print(" ");
    print_number(print, values[i]);
  }
  print("\n");
}

static void print_codes(brake_print_fn print, const char *name, const uint16_t *codes, uint32_t count) {
  for (uint32_t i = 0; i < count; i++) {
    const int64_t code = codes[i];
    print_line(print, name, &code, 1);
  }
}

static void print_finding(brake_print_fn print, const oddheat_finding *finding) {
  const int64_t head[] = {finding->check,   finding->grade,        finding->reaches,
                          finding->symptom, finding->suspect_role, finding->suspect_view};
  print_line(print, "finding", head, 6);
  for (uint32_t i = 0; i < finding->evidence_count; i++) {
    const oddheat_evidence *e = &finding->evidence[i];
    const int64_t values[] = {e->metric, e->role,  e->view,  e->value_q16, e->uncertainty_q16,
                              e->limit,  e->grade, e->reaches};
    print_line(print, "evidence", values, 8);
  }
  for (uint32_t i = 0; i < finding->gates_count; i++) {
    const oddheat_failed_gate *g = &finding->gates[i];
    const int64_t values[] = {g->gate, g->stops, g->condition, g->role, g->view};
    print_line(print, "gate", values, 5);
  }
  print_codes(print, "cause", finding->causes, finding->causes_count);
  print_codes(print, "test", finding->tests, finding->tests_count);
  print_codes(print, "caution", finding->cautions, finding->cautions_count);
  print_codes(print, "note", finding->notes, finding->notes_count);
}

/* 0 on success, as brake_run(). */
static int print_text(brake_print_fn print, const oddheat_finding *finding, const oddheat_language *language) {
  size_t needed;
  const oddheat_status status =
      oddheat_finding_text_in(finding, language, ODDHEAT_UNIT_CELSIUS, text, sizeof text, &needed);
  if (status != ODDHEAT_STATUS_OK) {
    return (int)status;
  }
  if (needed > sizeof text) {
    return 1;
  }
  print(text);
  print("\n");
  return 0;
}

int brake_run(brake_print_fn print) {
  oddheat_config config;
  oddheat_finding finding;
  oddheat *device;
  oddheat_status status = brake_configure(&config);
  if (status == ODDHEAT_STATUS_OK) {
    status = oddheat_init(block, sizeof block, &config, &device);
  }
  if (status == ODDHEAT_STATUS_OK) {
    status = brake_begin(device);
  }
  for (unsigned frame = 0; frame < RECORDING_FRAMES && status == ODDHEAT_STATUS_OK; frame++) {
    status = brake_feed(device, frame);
  }
  if (status == ODDHEAT_STATUS_OK) {
    finding.struct_size = (uint32_t)sizeof finding;
    status = oddheat_check_judge(device, &finding);
  }
  if (status != ODDHEAT_STATUS_OK) {
    return (int)status;
  }
  print_finding(print, &finding);
  const int stopped = print_text(print, &finding, oddheat_language_english());
  return stopped != 0 ? stopped : print_text(print, &finding, oddheat_language_spanish());
}
