/* Checks, findings and texts through the C interface: every function, every error, and nothing written on an error.
 *
 * Prints what failed; exit code 0 if nothing did. Also run under valgrind and the sanitizers.
 */
#include "fixture.h"

static const oddheat_condition stated[] = {
    {ODDHEAT_CONDITION_AIR_TEMPERATURE, 293150}, {ODDHEAT_CONDITION_SHADED, 1},      {ODDHEAT_CONDITION_DRY, 1},
    {ODDHEAT_CONDITION_STILL_AIR, 1},            {ODDHEAT_CONDITION_SAME_FINISH, 1}, {ODDHEAT_CONDITION_INSTRUMENT_WARM, 1},
    {ODDHEAT_CONDITION_SINCE_STOP, 30000},       {ODDHEAT_CONDITION_BRAKES_USED, 1},
};
#define STATED (sizeof stated / sizeof stated[0])

static void beginning(void) {
  const oddheat_config none = config_of(0);
  const oddheat_condition unknown = {99, 1}, neither = {ODDHEAT_CONDITION_DRY, 2};
  oddheat_place place = place_of(ODDHEAT_ROLE_ROTOR, ODDHEAT_VIEW_LEFT, ODDHEAT_SHAPE_SPOT, 10, 5, 3, 0);
  oddheat_finding finding;
  oddheat *device;
  EXPECT_STATUS(OK, oddheat_init(memory.block, sizeof memory.block, &none, &device));
  EXPECT_STATUS(ERR_MEM_TOO_SMALL, oddheat_check_begin(device, ODDHEAT_KIND_BRAKE, stated, STATED));
  device = fresh();
  GUARD(finding);
  finding.struct_size = (uint32_t)sizeof finding;
  remember();
  EXPECT_STATUS(ERR_ORDER, oddheat_check_judge(device, &finding));
  EXPECT_STATUS(ERR_ORDER, oddheat_check_place(device, &place));
  EXPECT_STATUS(ERR_RANGE, oddheat_check_begin(device, 0, stated, STATED));
  EXPECT_STATUS(ERR_RANGE, oddheat_check_begin(device, 99, stated, STATED));
  EXPECT_STATUS(ERR_RANGE, oddheat_check_begin(device, 0x80000002u, stated, STATED));
  EXPECT_STATUS(ERR_RANGE, oddheat_check_begin(device, ODDHEAT_KIND_BRAKE, &unknown, 1));
  EXPECT_STATUS(ERR_RANGE, oddheat_check_begin(device, ODDHEAT_KIND_BRAKE, &neither, 1));
  EXPECT_STATUS(ERR_NULL, oddheat_check_begin(device, ODDHEAT_KIND_BRAKE, NULL, 1));
  EXPECT(UNCHANGED());
  EXPECT_STATUS(OK, oddheat_check_begin(device, ODDHEAT_KIND_BRAKE, NULL, 0));
  EXPECT_STATUS(OK, oddheat_check_judge(device, &finding));
  EXPECT(finding.check == ODDHEAT_KIND_BRAKE && finding.grade == ODDHEAT_GRADE_NOT_ASSESSABLE);
}

static void placing(void) {
  oddheat *device = fresh();
  const oddheat_place good = place_of(ODDHEAT_ROLE_ROTOR, ODDHEAT_VIEW_LEFT, ODDHEAT_SHAPE_RING, 10, 5, 1, 3);
  oddheat_place place;
  EXPECT_STATUS(OK, oddheat_check_begin(device, ODDHEAT_KIND_BRAKE, stated, STATED));
  remember();
  EXPECT_STATUS(ERR_NULL, oddheat_check_place(device, NULL));
  EXPECT_STATUS(ERR_MEM_ALIGN, oddheat_check_place(device, (oddheat_place *)misaligned(&place)));
#define REFUSED(wanted, field, value) \
  place = good; \
  place.field = (value); \
  EXPECT_STATUS(wanted, oddheat_check_place(device, &place))
  REFUSED(ERR_UNSUPPORTED, struct_size, 0);
  REFUSED(ERR_RANGE, role, 0);
  REFUSED(ERR_RANGE, role, 99);
  REFUSED(ERR_RANGE, view, 99);
  REFUSED(ERR_RANGE, shape, 0);
  REFUSED(ERR_RANGE, shape, 9);
  REFUSED(ERR_RANGE, emissivity_q15, 32769);
  REFUSED(ERR_NOT_IN_CHECK, role, ODDHEAT_ROLE_TWIN);
  REFUSED(ERR_NOT_IN_CHECK, view, 0);
  REFUSED(ERR_SIZE, x_px, WIDTH);
  REFUSED(ERR_SIZE, b_px, 6);
  REFUSED(ERR_SIZE, a_px, 4);
#undef REFUSED
  place = place_of(ODDHEAT_ROLE_RIM, ODDHEAT_VIEW_LEFT, ODDHEAT_SHAPE_BOX, 2, 2, 5, HEIGHT);
  EXPECT_STATUS(ERR_SIZE, oddheat_check_place(device, &place));
  EXPECT(UNCHANGED());
  place.b_px = HEIGHT - 1;
  EXPECT_STATUS(OK, oddheat_check_place(device, &place));
  EXPECT_STATUS(OK, oddheat_check_place(device, &good));
  EXPECT_STATUS(OK, oddheat_check_place(device, &good)); /* moved, not added */
  place = place_of(ODDHEAT_ROLE_ROTOR, ODDHEAT_VIEW_RIGHT, ODDHEAT_SHAPE_SPOT, 10, 5, 3, 0);
  EXPECT_STATUS(OK, oddheat_check_place(device, &place));
  place.role = ODDHEAT_ROLE_CALIPER;
  remember();
  EXPECT_STATUS(ERR_MEM_FULL, oddheat_check_place(device, &place));
  EXPECT(UNCHANGED());
}

static void frames(void) {
  oddheat *device = fresh();
  const uint16_t row[WIDTH] = {0};
  const oddheat_frame good = frame_of(ODDHEAT_VIEW_LEFT, 1000);
  const oddheat_place place = place_of(ODDHEAT_ROLE_ROTOR, ODDHEAT_VIEW_LEFT, ODDHEAT_SHAPE_SPOT, 10, 5, 3, 0);
  oddheat_frame frame;
  oddheat_finding finding;
  EXPECT_STATUS(OK, oddheat_check_begin(device, ODDHEAT_KIND_BRAKE, stated, STATED));
  remember();
  EXPECT_STATUS(ERR_NULL, oddheat_start_frame(device, NULL));
  EXPECT_STATUS(ERR_MEM_ALIGN, oddheat_start_frame(device, (oddheat_frame *)misaligned(&frame)));
#define REFUSED(wanted, field, value) \
  frame = good; \
  frame.field = (value); \
  EXPECT_STATUS(wanted, oddheat_start_frame(device, &frame))
  REFUSED(ERR_UNSUPPORTED, struct_size, 4);
  REFUSED(ERR_RANGE, view, 99);
  REFUSED(ERR_RANGE, shutter, 2);
  REFUSED(ERR_RANGE, housing_mk, -1);
  REFUSED(ERR_NOT_IN_CHECK, view, ODDHEAT_VIEW_SINGLE);
  EXPECT_STATUS(ERR_ORDER, oddheat_push_row(device, row, WIDTH));
  EXPECT(UNCHANGED());
  EXPECT_STATUS(OK, oddheat_start_frame(device, &good));
  remember();
  EXPECT_STATUS(ERR_ORDER, oddheat_start_frame(device, &good));
  EXPECT_STATUS(ERR_ORDER, oddheat_check_place(device, &place));
  GUARD(finding);
  EXPECT_STATUS(ERR_UNSUPPORTED, oddheat_check_judge(device, &finding));
  EXPECT(UNTOUCHED(finding));
  finding.struct_size = (uint32_t)sizeof finding;
  EXPECT_STATUS(ERR_ORDER, oddheat_check_judge(device, &finding));
  EXPECT_STATUS(ERR_NULL, oddheat_check_judge(device, NULL));
  EXPECT_STATUS(ERR_MEM_ALIGN, oddheat_check_judge(device, (oddheat_finding *)misaligned(&finding)));
  EXPECT(all_bytes(&finding.check, sizeof finding - sizeof finding.struct_size, 0xA5));
  EXPECT(UNCHANGED());
  rows(device, HEIGHT, AIR, WARM);
  remember();
  REFUSED(ERR_TIME, time_ms, 999);
  EXPECT(UNCHANGED());
#undef REFUSED
  EXPECT_STATUS(OK, oddheat_start_frame(device, &good));
}

static void locating(void) {
  oddheat *device = fresh();
  const oddheat_frame frame = frame_of(0, 0);
  const oddheat_place tread = place_of(ODDHEAT_ROLE_TREAD, 0, ODDHEAT_SHAPE_BOX, 1, 1, WIDTH - 2, HEIGHT - 2);
  oddheat_summary summary;
  uint32_t found;
  uint16_t x, y;
  GUARD(found), GUARD(x), GUARD(y);
  EXPECT_STATUS(OK, oddheat_set_thresholds(device, 0, 292150));
  EXPECT_STATUS(ERR_ORDER, oddheat_check_locate(device, ODDHEAT_ROLE_TREAD, 0, &found, &x, &y));
  EXPECT_STATUS(OK, oddheat_check_begin(device, ODDHEAT_KIND_TIRE_LEAK, NULL, 0));
  EXPECT_STATUS(ERR_ORDER, oddheat_check_locate(device, ODDHEAT_ROLE_TREAD, 0, &found, &x, &y));
  EXPECT_STATUS(OK, oddheat_check_place(device, &tread));
  EXPECT_STATUS(OK, oddheat_start_frame(device, &frame));
  EXPECT_STATUS(ERR_ORDER, oddheat_check_locate(device, ODDHEAT_ROLE_TREAD, 0, &found, &x, &y));
  rows(device, HEIGHT, AIR, AIR);
  /* The first question about a frame's regions sorts them in place, also if it is then refused; nobody can see that
   * from outside, but the bytes differ. */
  EXPECT_STATUS(OK, oddheat_regions(device, NULL, 0, &summary));
  remember();
  EXPECT_STATUS(ERR_NOT_IN_CHECK, oddheat_check_locate(device, ODDHEAT_ROLE_SUSPECT, 0, &found, &x, &y));
  EXPECT_STATUS(ERR_RANGE, oddheat_check_locate(device, 99, 0, &found, &x, &y));
  EXPECT_STATUS(ERR_RANGE, oddheat_check_locate(device, ODDHEAT_ROLE_TREAD, 99, &found, &x, &y));
  EXPECT_STATUS(ERR_NULL, oddheat_check_locate(device, ODDHEAT_ROLE_TREAD, 0, NULL, &x, &y));
  EXPECT_STATUS(ERR_NULL, oddheat_check_locate(device, ODDHEAT_ROLE_TREAD, 0, &found, NULL, &y));
  EXPECT_STATUS(ERR_NULL, oddheat_check_locate(device, ODDHEAT_ROLE_TREAD, 0, &found, &x, NULL));
  EXPECT(UNTOUCHED(found) && UNTOUCHED(x) && UNTOUCHED(y) && UNCHANGED());
  EXPECT_STATUS(OK, oddheat_check_locate(device, ODDHEAT_ROLE_TREAD, 0, &found, &x, &y));
  EXPECT(found == 0 && UNTOUCHED(x) && UNTOUCHED(y));
  EXPECT_STATUS(OK, oddheat_start_frame(device, &frame));
  rows(device, HEIGHT, AIR, COLD);
  EXPECT_STATUS(OK, oddheat_check_locate(device, ODDHEAT_ROLE_TREAD, 0, &found, &x, &y));
  EXPECT(found == 1 && (x == 10 || x == 11) && (y == 11 || y == 12));
}

/* One brake check from the first row to the finding; move_at is the row before which the block moves, 0 for never. */
static void brake(oddheat *device, unsigned move_at, oddheat_finding *finding) {
  static uint64_t elsewhere[BLOCK_WORDS];
  static const uint32_t views[] = {ODDHEAT_VIEW_LEFT, ODDHEAT_VIEW_RIGHT};
  for (uint32_t i = 0; i < 2; i++) {
    const oddheat_place place = place_of(ODDHEAT_ROLE_ROTOR, views[i], ODDHEAT_SHAPE_BOX, 5, 2, 12, 7);
    if (i == 0) {
      EXPECT_STATUS(OK, oddheat_check_begin(device, ODDHEAT_KIND_BRAKE, stated, STATED));
    }
    EXPECT_STATUS(OK, oddheat_check_place(device, &place));
  }
  for (uint32_t i = 0; i < 2; i++) {
    const uint16_t counts = i == 0 ? 49315 : 38315; /* 220 and 110 degrees Celsius */
    const oddheat_frame frame = frame_of(views[i], 30000 * i);
    EXPECT_STATUS(OK, oddheat_start_frame(device, &frame));
    rows(device, move_at, counts, counts);
    if (move_at > 0 && i == 1) {
      memcpy(elsewhere, device, sizeof elsewhere);
      memset(device, 0x5A, sizeof elsewhere);
      device = (oddheat *)(void *)elsewhere;
    }
    rows(device, HEIGHT - move_at, counts, counts);
  }
  finding->struct_size = (uint32_t)sizeof *finding;
  EXPECT_STATUS(OK, oddheat_check_judge(device, finding));
}

static void moving(void) {
  oddheat_finding stayed, moved;
  brake(fresh(), 0, &stayed);
  EXPECT(stayed.symptom == ODDHEAT_SYMPTOM_SIDE_HOTTER && stayed.evidence_count > 0);
  EXPECT(stayed.evidence[0].metric == ODDHEAT_METRIC_RISE_RATIO);
  for (unsigned row = 1; row < HEIGHT; row++) {
    brake(fresh(), row, &moved);
    EXPECT(memcmp(&stayed, &moved, sizeof moved) == 0);
  }
}

static void wording(void) {
  static char text[8192], cut[100];
  oddheat_finding good, finding;
  size_t needed, again;
  brake(fresh(), 0, &good);
#define FINDING(from, language, unit, to, room, out) oddheat_finding_text(from, language, unit, to, room, out)
  GUARD(text), GUARD(needed);
  EXPECT_STATUS(ERR_NULL, FINDING(NULL, ODDHEAT_LANGUAGE_ENGLISH, 0, text, sizeof text, &needed));
  EXPECT_STATUS(ERR_NULL, FINDING(&good, ODDHEAT_LANGUAGE_ENGLISH, 0, NULL, 1, &needed));
  EXPECT_STATUS(ERR_NULL, FINDING(&good, ODDHEAT_LANGUAGE_ENGLISH, 0, text, sizeof text, NULL));
  EXPECT_STATUS(ERR_MEM_ALIGN, FINDING((oddheat_finding *)misaligned(&good), ODDHEAT_LANGUAGE_ENGLISH, 0, text, 9, &needed));
  EXPECT_STATUS(ERR_RANGE, FINDING(&good, 0, 0, text, sizeof text, &needed));
  EXPECT_STATUS(ERR_RANGE, FINDING(&good, ODDHEAT_LANGUAGE_ENGLISH, 9, text, sizeof text, &needed));
#define REFUSED(wanted, field, value) \
  finding = good; \
  finding.field = (value); \
  EXPECT_STATUS(wanted, FINDING(&finding, ODDHEAT_LANGUAGE_ENGLISH, 0, text, sizeof text, &needed))
  REFUSED(ERR_UNSUPPORTED, struct_size, 0);
  REFUSED(ERR_RANGE, check, 99);
  REFUSED(ERR_RANGE, grade, 0);
  REFUSED(ERR_RANGE, reaches, 99);
  REFUSED(ERR_RANGE, symptom, 99);
  REFUSED(ERR_RANGE, suspect_role, 99);
  REFUSED(ERR_RANGE, evidence_count, 13);
  REFUSED(ERR_RANGE, gates_count, 13);
  REFUSED(ERR_RANGE, causes_count, 7);
  REFUSED(ERR_RANGE, tests_count, 0xFFFFFFFFu);
  REFUSED(ERR_RANGE, cautions_count, 9);
  REFUSED(ERR_RANGE, notes_count, 7);
  REFUSED(ERR_RANGE, evidence[0].metric, 99);
  REFUSED(ERR_RANGE, evidence[0].grade, 0);
  REFUSED(ERR_RANGE, evidence[0].limit, 999);
  REFUSED(ERR_RANGE, causes[0], 99);
#undef REFUSED
  EXPECT(UNTOUCHED(text) && UNTOUCHED(needed));
  EXPECT_STATUS(OK, FINDING(&good, ODDHEAT_LANGUAGE_ENGLISH, ODDHEAT_UNIT_CELSIUS, NULL, 0, &again));
  EXPECT_STATUS(OK, FINDING(&good, ODDHEAT_LANGUAGE_ENGLISH, ODDHEAT_UNIT_CELSIUS, text, sizeof text, &needed));
  EXPECT(needed == again && needed == strlen(text) + 1);
  EXPECT_STATUS(OK, FINDING(&good, ODDHEAT_LANGUAGE_ENGLISH, ODDHEAT_UNIT_CELSIUS, cut, sizeof cut, &again));
  EXPECT(needed == again && strlen(cut) < sizeof cut && strncmp(text, cut, strlen(cut)) == 0);
  EXPECT_STATUS(OK, FINDING(&good, ODDHEAT_LANGUAGE_ENGLISH, ODDHEAT_UNIT_FAHRENHEIT, cut, 1, &again));
  EXPECT(cut[0] == '\0');
#undef FINDING

  GUARD(text), GUARD(needed);
  EXPECT_STATUS(ERR_NULL, oddheat_brief_text(ODDHEAT_KIND_BRAKE, 1, 0, 0, NULL, 1, &needed));
  EXPECT_STATUS(ERR_NULL, oddheat_brief_text(ODDHEAT_KIND_BRAKE, 1, 0, 0, text, sizeof text, NULL));
  EXPECT_STATUS(ERR_RANGE, oddheat_brief_text(99, 1, 0, 0, text, sizeof text, &needed));
  EXPECT_STATUS(ERR_RANGE, oddheat_brief_text(ODDHEAT_KIND_BRAKE, 9, 0, 0, text, sizeof text, &needed));
  EXPECT_STATUS(ERR_RANGE, oddheat_brief_text(ODDHEAT_KIND_BRAKE, 1, 9, 0, text, sizeof text, &needed));
  EXPECT(UNTOUCHED(text) && UNTOUCHED(needed));
  EXPECT_STATUS(OK, oddheat_brief_text(ODDHEAT_KIND_BRAKE, 1, 0, 0, text, sizeof text, &again));
  EXPECT(again == strlen(text) + 1);
  EXPECT_STATUS(OK, oddheat_brief_text(ODDHEAT_KIND_BRAKE, 1, 0, 1, text, sizeof text, &needed));
  EXPECT(needed == strlen(text) + 1 && needed > again);
}

/* The same texts by handle: English is the one with the number, Spanish another, cut only between characters. */
static void languages(void) {
  static char english[8192], spanish[8192], text[8192];
  static const uint64_t none[4] = {0, 0, 0, 0};
  const oddheat_language *const en = oddheat_language_english(), *const es = oddheat_language_spanish();
  const oddheat_language *const no = (const oddheat_language *)none;
  oddheat_finding good;
  size_t needed, again;
  brake(fresh(), 0, &good);
  EXPECT(en != NULL && es != NULL && en != es && es == oddheat_language_spanish());
#define IN(from, language, unit, to, room, out) oddheat_finding_text_in(from, language, unit, to, room, out)
#define BRIEF_IN(kind, language, unit, to, room, out) oddheat_brief_text_in(kind, language, unit, 1, to, room, out)
  GUARD(text), GUARD(needed);
  EXPECT_STATUS(ERR_NULL, IN(NULL, es, 0, text, sizeof text, &needed));
  EXPECT_STATUS(ERR_NULL, IN(&good, NULL, 0, text, sizeof text, &needed));
  EXPECT_STATUS(ERR_NULL, IN(&good, es, 0, NULL, 1, &needed));
  EXPECT_STATUS(ERR_NULL, IN(&good, es, 0, text, sizeof text, NULL));
  EXPECT_STATUS(ERR_MEM_ALIGN, IN(&good, (const oddheat_language *)misaligned(&good), 0, text, sizeof text, &needed));
  EXPECT_STATUS(ERR_BAD_STATE, IN(&good, no, 0, text, sizeof text, &needed));
  EXPECT_STATUS(ERR_RANGE, IN(&good, es, 9, text, sizeof text, &needed));
  EXPECT_STATUS(ERR_NULL, BRIEF_IN(ODDHEAT_KIND_BRAKE, NULL, 0, text, sizeof text, &needed));
  EXPECT_STATUS(ERR_NULL, BRIEF_IN(ODDHEAT_KIND_BRAKE, es, 0, NULL, 1, &needed));
  EXPECT_STATUS(ERR_NULL, BRIEF_IN(ODDHEAT_KIND_BRAKE, es, 0, text, sizeof text, NULL));
  EXPECT_STATUS(ERR_BAD_STATE, BRIEF_IN(ODDHEAT_KIND_BRAKE, no, 0, text, sizeof text, &needed));
  EXPECT_STATUS(ERR_RANGE, BRIEF_IN(99, es, 0, text, sizeof text, &needed));
  EXPECT_STATUS(ERR_RANGE, BRIEF_IN(ODDHEAT_KIND_BRAKE, es, 9, text, sizeof text, &needed));
  EXPECT(UNTOUCHED(text) && UNTOUCHED(needed));

  EXPECT_STATUS(OK, oddheat_finding_text(&good, ODDHEAT_LANGUAGE_ENGLISH, 0, english, sizeof english, &again));
  EXPECT_STATUS(OK, IN(&good, en, 0, text, sizeof text, &needed));
  EXPECT(needed == again && strcmp(text, english) == 0);
  EXPECT_STATUS(OK, IN(&good, es, 0, spanish, sizeof spanish, &needed));
  EXPECT(needed == strlen(spanish) + 1 && strncmp(spanish, "Frenos, ", 8) == 0);
  for (size_t room = 0; room <= needed; room++) {
    EXPECT_STATUS(OK, IN(&good, es, 0, text, room, &again));
    const size_t length = room == 0 ? 0 : strlen(text);
    /* Whole characters: at most one of three bytes is left out, and none is begun. */
    EXPECT(again == needed && (room == 0 || length < room) && memcmp(text, spanish, length) == 0);
    EXPECT((spanish[length] & 0xC0) != 0x80 && length + 3 >= room);
  }

  EXPECT_STATUS(OK, oddheat_brief_text(ODDHEAT_KIND_BRAKE, ODDHEAT_LANGUAGE_ENGLISH, 0, 1, english, sizeof english, &again));
  EXPECT_STATUS(OK, BRIEF_IN(ODDHEAT_KIND_BRAKE, en, 0, text, sizeof text, &needed));
  EXPECT(needed == again && strcmp(text, english) == 0);
  EXPECT_STATUS(OK, BRIEF_IN(ODDHEAT_KIND_BRAKE, es, 0, text, sizeof text, &needed));
  EXPECT(needed == strlen(text) + 1 && strncmp(text, "Frenos, ", 8) == 0);
#undef IN
#undef BRIEF_IN
}

static void status_texts(void) {
  static const int32_t codes[] = {0, -1, -2, -3, -4, -5, -16, -17, -18, -32, -33, -34, -35, -48, -64,
                                   -65, -66, -67, -68, -69, -70, -71, -72, -73, -74, -75, -76, -77};
  const char *unknown = oddheat_status_text(1);
  EXPECT(unknown != NULL && strcmp(unknown, oddheat_status_text(INT32_MIN)) == 0);
  for (size_t i = 0; i < sizeof codes / sizeof codes[0]; i++) {
    const char *text = oddheat_status_text(codes[i]);
    EXPECT(text != NULL && text[0] != '\0' && strcmp(text, unknown) != 0);
  }
}

int main(void) {
  guard_memory();
  beginning();
  placing();
  frames();
  locating();
  moving();
  wording();
  languages();
  status_texts();
  EXPECT(memory_is_guarded());
  return expect_failures == 0 ? 0 : 1;
}
