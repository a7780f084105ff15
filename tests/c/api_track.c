/* Following regions: a mark that stays on the part is told from one that slides over it, a warming one has the slope it
 * was given, a region that goes away is lost, and a refused call changes nothing. */
#include "expect.h"

#define WIDTH 80
#define HEIGHT 60
#define REGIONS 8
#define TRACKS 5
#define FRAMES 14
#define STEP_MS 100u

static uint64_t scan_block[ODDHEAT_SCAN_MEM_SIZE(WIDTH, REGIONS) / 8u];
static uint64_t block[ODDHEAT_TRACKER_MEM_SIZE(WIDTH, HEIGHT, REGIONS, TRACKS) / 8u];
static uint16_t frame[HEIGHT][WIDTH];
static oddheat_region regions[REGIONS];
static oddheat_summary summary;

static oddheat_config config(void) {
  oddheat_config config;
  EXPECT_STATUS(OK, oddheat_config_init(&config, WIDTH, HEIGHT));
  config.regions_max = REGIONS;
  return config;
}

static void square(int x0, int y0, uint16_t count) {
  for (int y = y0; y < y0 + 4; y++)
    for (int x = x0; x < x0 + 4; x++) frame[y][x] = count;
}

/** A part with structure that has moved so far to the right, and on it two marks; the second moves half as far. */
static void paint(int moved, int third) {
  for (int y = 0; y < HEIGHT; y++)
    for (int x = 0; x < WIDTH; x++) {
      const int u = x - moved + 40;
      frame[y][x] = (uint16_t)(5000 + u * u / 7 % 29 * 40 + (u > 60 && u < 71 ? 900 : 0) + y * y % 53 * 20);
    }
  square(20 + moved, 10, (uint16_t)(12000 + 10 * moved));
  square(20 + moved / 2, 40, 13000);
  if (third) square(60, 25, 11000);
}

/** The regions of the frame, and the frame itself for the tracker. */
static size_t scanned(oddheat_scan *scan, oddheat_tracker *tracker) {
  for (int y = 0; y < HEIGHT; y++) {
    EXPECT_STATUS(OK, oddheat_scan_row(scan, frame[y], WIDTH));
    EXPECT_STATUS(OK, oddheat_tracker_row(tracker, frame[y], WIDTH));
  }
  EXPECT_STATUS(OK, oddheat_scan_regions(scan, NULL, regions, REGIONS, &summary));
  return summary.regions_written;
}

static oddheat_tracker *fresh(const oddheat_config *config) {
  const oddheat_tracker_config settings = {sizeof settings, TRACKS, 0, 0, 0, 0, 0};
  oddheat_tracker *tracker = NULL;
  size_t bytes = 0;
  EXPECT_STATUS(OK, oddheat_tracker_mem_size(config, &settings, &bytes));
  EXPECT(bytes == sizeof block);
  EXPECT_STATUS(OK, oddheat_tracker_init(block, sizeof block, config, &settings, &tracker));
  EXPECT_STATUS(OK, oddheat_tracker_set_clip(tracker, 9000, 0));
  return tracker;
}

static const oddheat_track *at_row(const oddheat_track *tracks, uint32_t found, uint16_t y) {
  for (uint32_t i = 0; i < found; i++)
    if (tracks[i].region.y0_px == y) return &tracks[i];
  return NULL;
}

static void stays_or_slides(const oddheat_config *config, oddheat_scan *scan) {
  oddheat_tracker *tracker = fresh(config);
  oddheat_track tracks[TRACKS];
  oddheat_tracked tracked;
  uint32_t found = 0, born = 0, lost = 0;
  for (int i = 0; i < FRAMES; i++) {
    paint(i, i < 6);
    const size_t count = scanned(scan, tracker);
    EXPECT(count == (i < 6 ? 3u : 2u));
    EXPECT_STATUS(OK, oddheat_tracker_frame(tracker, regions, count, STEP_MS * (uint32_t)i, &tracked));
    born += tracked.born, lost += tracked.lost;
    EXPECT(tracked.dropped == 0 && tracked.part_known == 1);
    /* The first frame is where the epoch begins; from then on the shift is what was painted, within a quarter pixel. */
    if (i > 0) EXPECT(tracked.part_x_q4 >= 16 * i - 4 && tracked.part_x_q4 <= 16 * i + 4 && tracked.part_y_q4 == 0);
  }
  EXPECT(born == 3 && lost == 1);
  EXPECT_STATUS(OK, oddheat_tracker_tracks(tracker, 1, tracks, TRACKS, &found));
  EXPECT(found == 2);
  const oddheat_track *mark = at_row(tracks, found, 10), *reflection = at_row(tracks, found, 40);
  EXPECT(mark && reflection);
  if (!mark || !reflection) return;
  EXPECT(mark->id != reflection->id && mark->stage == ODDHEAT_STAGE_CONFIRMED && mark->missed == 0);
  EXPECT(mark->verdict == ODDHEAT_VERDICT_STAYS && mark->cause == ODDHEAT_SLIP_CAUSE_MEASURED);
  EXPECT(mark->slip_per_mille >= -50 && mark->slip_per_mille <= 50 && mark->slip_sightings >= 8);
  EXPECT(reflection->verdict == ODDHEAT_VERDICT_SLIDES);
  EXPECT(reflection->slip_per_mille >= 450 && reflection->slip_per_mille <= 550);
  /* Ten counts a frame, ten frames a second; the area is the same all the time. */
  EXPECT(mark->peak_rate_q8 >= 99 * 256 && mark->peak_rate_q8 <= 101 * 256 && mark->area_rate_q8 == 0);
  EXPECT(reflection->peak_rate_q8 == 0 && mark->trend_sightings == FRAMES);
  EXPECT(mark->trend_span_ms == STEP_MS * (FRAMES - 1));
  /* Whoever may have turned the instrument cannot say that it stays. */
  EXPECT_STATUS(OK, oddheat_tracker_tracks(tracker, 0, tracks, TRACKS, &found));
  mark = at_row(tracks, found, 10);
  EXPECT(mark && mark->verdict == ODDHEAT_VERDICT_UNDECIDED && mark->cause == ODDHEAT_SLIP_CAUSE_NO_STEP_ASIDE);
  /* Less room than there are. */
  GUARD(tracks);
  EXPECT_STATUS(OK, oddheat_tracker_tracks(tracker, 0, tracks, 1, &found));
  EXPECT(found == 2 && tracks[0].id != 0 && UNTOUCHED(tracks[1]));
}

static void refused(const oddheat_config *good, oddheat_scan *scan) {
  oddheat_tracker *tracker = NULL;
  oddheat_tracker_config settings = {sizeof settings, TRACKS, 0, 0, 0, 0, 0};
  oddheat_tracked tracked;
  oddheat_track track;
  uint32_t found;
  GUARD(tracked), GUARD(track), GUARD(found);
  settings.reach_px = 16;
  EXPECT_STATUS(ERR_RANGE, oddheat_tracker_init(block, sizeof block, good, &settings, &tracker));
  settings.reach_px = 0, settings.born_after = 6;
  EXPECT_STATUS(ERR_RANGE, oddheat_tracker_init(block, sizeof block, good, &settings, &tracker));
  settings.born_after = 0, settings.struct_size--;
  EXPECT_STATUS(ERR_UNSUPPORTED, oddheat_tracker_init(block, sizeof block, good, &settings, &tracker));
  settings.struct_size++;
  EXPECT_STATUS(ERR_MEM_TOO_SMALL, oddheat_tracker_init(block, sizeof block - 1, good, &settings, &tracker));
  EXPECT_STATUS(ERR_NULL, oddheat_tracker_init(block, sizeof block, good, NULL, &tracker));
  EXPECT(tracker == NULL);
  tracker = fresh(good);
  paint(0, 1);
  size_t count = scanned(scan, tracker);
  EXPECT_STATUS(ERR_SIZE, oddheat_tracker_row(tracker, frame[0], WIDTH));
  EXPECT_STATUS(ERR_ORDER, oddheat_tracker_set_clip(tracker, 9000, 0));
  EXPECT_STATUS(OK, oddheat_tracker_frame(tracker, regions, count, 500, &tracked));
  GUARD(tracked);
  EXPECT_STATUS(OK, oddheat_tracker_row(tracker, frame[0], WIDTH));
  EXPECT_STATUS(ERR_ORDER, oddheat_tracker_frame(tracker, regions, count, 600, &tracked));
  for (int y = 1; y < HEIGHT; y++) EXPECT_STATUS(OK, oddheat_tracker_row(tracker, frame[y], WIDTH));
  EXPECT_STATUS(ERR_TIME, oddheat_tracker_frame(tracker, regions, count, 499, &tracked));
  EXPECT_STATUS(ERR_SIZE, oddheat_tracker_frame(tracker, regions, REGIONS + 1, 600, &tracked));
  regions[0].x1_px = WIDTH;
  EXPECT_STATUS(ERR_RANGE, oddheat_tracker_frame(tracker, regions, count, 600, &tracked));
  regions[0].x1_px = regions[0].x0_px, regions[0].sign = 3;
  EXPECT_STATUS(ERR_RANGE, oddheat_tracker_frame(tracker, regions, count, 600, &tracked));
  EXPECT_STATUS(ERR_RANGE, oddheat_tracker_tracks(tracker, 2, &track, 1, &found));
  EXPECT(UNTOUCHED(tracked) && UNTOUCHED(track) && UNTOUCHED(found));
  /* None of the refusals took the frame away. */
  regions[0].sign = ODDHEAT_SIGN_HOT;
  EXPECT_STATUS(OK, oddheat_tracker_frame(tracker, regions, count, 600, &tracked));
  EXPECT(tracked.part_known == 1 && tracked.part_x_q4 == 0);
  /* Without rows it is not known where the part lies, and regions are followed all the same. */
  EXPECT_STATUS(OK, oddheat_tracker_frame(tracker, regions, count, 700, &tracked));
  EXPECT(tracked.part_known == 0 && tracked.born == 3);
  memset(block, 0, 8);
  EXPECT_STATUS(ERR_BAD_STATE, oddheat_tracker_row(tracker, frame[0], WIDTH));
}

int main(void) {
  const oddheat_config plain = config();
  oddheat_scan *scan = NULL;
  EXPECT_STATUS(OK, oddheat_scan_init(scan_block, sizeof scan_block, &plain, &scan));
  EXPECT_STATUS(OK, oddheat_scan_start(scan, 9000, 0));
  stays_or_slides(&plain, scan);
  refused(&plain, scan);
  return expect_failures != 0;
}
