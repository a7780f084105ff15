/* Before and after, and the local level, through the C interface: every function, every error, and nothing written on
 * an error. Blocks may be moved between calls.
 *
 * Prints what failed; exit code 0 if nothing did. Also run under valgrind and the sanitizers.
 */
#include "refused.h"

#define WIDTH 128
#define HEIGHT 96
#define SIDE 16
/* A change in frames that are no multiple of its blocks either way. */
#define NARROW 13
#define LOW 6
#define PLAIN 8000
#define SATURATED 16000
#define GUARD_WORD 0x0123456789ABCDEFu

static struct {
  uint64_t before[4];
  uint64_t change[ODDHEAT_CHANGE_MEM_SIZE(NARROW, LOW, 1) / 8u];
  uint64_t between[4];
  uint64_t local[ODDHEAT_LOCAL_MEM_SIZE(WIDTH, HEIGHT, SIDE) / 8u];
  uint64_t after[4];
} memory;

/* Where blocks are moved to; room for the local level of a frame that is too wide as well. */
static uint64_t elsewhere[ODDHEAT_LOCAL_MEM_SIZE(4097, 128, 128) / 8u];
static uint16_t frame[HEIGHT][WIDTH];

static oddheat_config config_of(uint16_t width, uint16_t height) {
  oddheat_config config;
  EXPECT_STATUS(OK, oddheat_config_init(&config, width, height));
  config.saturated_at_counts = SATURATED;
  return config;
}

/* What a config is refused for, by either block; memory that is too small for it or not to be had. */
static void set_up(void) {
  const size_t change_size = sizeof memory.change, local_size = sizeof memory.local;
  const oddheat_config narrow = config_of(NARROW, LOW), wide = config_of(WIDTH, HEIGHT);
  const oddheat_config too_wide = config_of(4097, 128);
  static const uint32_t no_block[3] = {0, 3, 16}, no_side[3] = {0, 3, 129};
  oddheat_change *change;
  oddheat_local *local;
  size_t bytes;
  EXPECT_STATUS(OK, oddheat_change_mem_size(&narrow, 1, &bytes));
  EXPECT(bytes == change_size);
  EXPECT_STATUS(OK, oddheat_local_mem_size(&wide, SIDE, &bytes));
  EXPECT(bytes == local_size);
  GUARD(change), GUARD(local), GUARD(bytes);
  for (int i = 0; i < 2; i++) {
    const oddheat_config *no_config = (const oddheat_config *)refused(i);
    REFUSED(oddheat_change_mem_size(no_config, 1, &bytes));
    REFUSED(oddheat_change_mem_size(&narrow, 1, (size_t *)refused(i)));
    REFUSED(oddheat_change_init(refused(i), change_size, &narrow, 1, &change));
    REFUSED(oddheat_change_init(memory.change, change_size, no_config, 1, &change));
    REFUSED(oddheat_change_init(memory.change, change_size, &narrow, 1, (oddheat_change **)refused(i)));
    REFUSED(oddheat_local_mem_size(no_config, SIDE, &bytes));
    REFUSED(oddheat_local_mem_size(&wide, SIDE, (size_t *)refused(i)));
    REFUSED(oddheat_local_init(refused(i), local_size, &wide, SIDE, &local));
    REFUSED(oddheat_local_init(memory.local, local_size, no_config, SIDE, &local));
    REFUSED(oddheat_local_init(memory.local, local_size, &wide, SIDE, (oddheat_local **)refused(i)));
  }
  for (int i = 0; i < 3; i++) {
    EXPECT_STATUS(ERR_RANGE, oddheat_change_mem_size(&narrow, no_block[i], &bytes));
    EXPECT_STATUS(ERR_RANGE, oddheat_change_init(memory.change, change_size, &narrow, no_block[i], &change));
    EXPECT_STATUS(ERR_RANGE, oddheat_local_mem_size(&wide, no_side[i], &bytes));
    EXPECT_STATUS(ERR_RANGE, oddheat_local_init(memory.local, local_size, &wide, no_side[i], &local));
  }
  for (int i = 0; i < 4; i++) {
    static const int wanted[4] = {ODDHEAT_STATUS_ERR_UNSUPPORTED, ODDHEAT_STATUS_ERR_ABI, ODDHEAT_STATUS_ERR_RANGE,
                                  ODDHEAT_STATUS_ERR_RANGE};
    oddheat_config config = narrow;
    config.struct_size = i == 0 ? 0 : config.struct_size;
    config.abi_version = i == 1 ? 0 : config.abi_version;
    config.height_px = i == 2 ? 0 : LOW;
    config.dead_at_or_below_counts = i == 3 ? SATURATED - 1 : 0;
#define BAD(call) expect_status(wanted[i], (int)(call), #call, __LINE__)
    BAD(oddheat_change_mem_size(&config, 1, &bytes));
    BAD(oddheat_change_init(memory.change, change_size, &config, 1, &change));
    BAD(oddheat_local_mem_size(&config, 4, &bytes));
    BAD(oddheat_local_init(memory.local, local_size, &config, 4, &local));
#undef BAD
  }
  EXPECT_STATUS(ERR_MEM_TOO_SMALL, oddheat_change_init(memory.change, change_size - 1, &narrow, 1, &change));
  EXPECT_STATUS(ERR_MEM_TOO_SMALL, oddheat_local_init(memory.local, local_size - 1, &wide, SIDE, &local));
  EXPECT_STATUS(ERR_RANGE, oddheat_local_mem_size(&too_wide, 128, &bytes));
  EXPECT_STATUS(ERR_RANGE, oddheat_local_init(elsewhere, sizeof elsewhere, &too_wide, 128, &local));
  EXPECT(UNTOUCHED(change) && UNTOUCHED(local) && UNTOUCHED(bytes));
}

static oddheat_change *fresh_change(uint32_t block_px) {
  const oddheat_config config = config_of(NARROW, LOW);
  oddheat_change *change = NULL;
  EXPECT_STATUS(OK, oddheat_change_init(memory.change, sizeof memory.change, &config, block_px, &change));
  EXPECT((void *)change == (void *)memory.change);
  return change;
}

static oddheat_local *fresh_local(void) {
  const oddheat_config config = config_of(WIDTH, HEIGHT);
  oddheat_local *local = NULL;
  EXPECT_STATUS(OK, oddheat_local_init(memory.local, sizeof memory.local, &config, SIDE, &local));
  EXPECT((void *)local == (void *)memory.local);
  return local;
}

/** The block of a handle, moved; what was left behind is overwritten. */
static void *moved(void *block, size_t size) {
  memcpy(elsewhere, block, size);
  memset(block, 0xFF, size);
  return elsewhere;
}

static void handles(void) {
  oddheat_change *change = fresh_change(1);
  oddheat_local *local = fresh_local();
  uint16_t counts[WIDTH];
  uint32_t settled;
  GUARD(counts), GUARD(settled);
  for (int i = 0; i < 3; i++) {
    oddheat_change *no_change = (oddheat_change *)refused(i);
    oddheat_local *no_local = (oddheat_local *)refused(i);
    REFUSED(oddheat_change_row(no_change, 0, 0, frame[0], NARROW));
    REFUSED(oddheat_change_read(no_change, 0, 0, counts, NARROW));
    REFUSED(oddheat_local_row(no_local, frame[0], WIDTH));
    REFUSED(oddheat_local_is_settled(no_local, &settled));
    REFUSED(oddheat_local_correct(no_local, 0, PLAIN, counts, WIDTH));
  }
  for (int i = 0; i < 2; i++) {
    uint16_t *no_counts = (uint16_t *)refused(i);
    REFUSED(oddheat_change_row(change, 0, 0, no_counts, NARROW));
    REFUSED(oddheat_change_read(change, 0, 0, no_counts, NARROW));
    REFUSED(oddheat_local_row(local, no_counts, WIDTH));
    REFUSED(oddheat_local_is_settled(local, (uint32_t *)refused(i)));
    REFUSED(oddheat_local_correct(local, 0, PLAIN, no_counts, WIDTH));
  }
  /* One kind of block is not the other. */
  EXPECT_STATUS(ERR_BAD_STATE, oddheat_change_row((oddheat_change *)(void *)local, 0, 0, frame[0], NARROW));
  EXPECT_STATUS(ERR_BAD_STATE, oddheat_local_row((oddheat_local *)(void *)change, frame[0], WIDTH));
  EXPECT(UNTOUCHED(counts) && UNTOUCHED(settled));
}

/** Two frames before a heater and two after: columns 4 to 7 of the upper four rows rise by 40 counts and by 41, the
 * last column falls by 8. Two pixels are no readings in one frame, and one in both frames after. */
static void heat(oddheat_change *change) {
  for (int t = 0; t < 4; t++) {
    for (int y = 0; y < LOW; y++) {
      uint16_t row[NARROW];
      for (int x = 0; x < NARROW; x++) {
        const int rise = x >= 4 && x < 8 && y < 4 ? 38 + t : x == NARROW - 1 ? -8 : 0;
        row[x] = (uint16_t)(PLAIN + 10 * x + y + (t >= 2 ? rise : 0));
      }
      row[9] = (uint16_t)(y == 2 && t == 3 ? SATURATED : row[9]);
      row[2] = (uint16_t)(y == 5 && t == 0 ? 0 : row[2]);
      row[0] = (uint16_t)(y == 5 && t >= 2 ? SATURATED : row[0]);
      EXPECT_STATUS(OK, oddheat_change_row(change, t >= 2, (uint32_t)y, row, NARROW));
    }
  }
}

static void changes(void) {
  oddheat_change *change = fresh_change(1);
  uint16_t out[NARROW + 1];
  GUARD(out);
  EXPECT_STATUS(ERR_RANGE, oddheat_change_row(change, 2, 0, frame[0], NARROW));
  EXPECT_STATUS(ERR_SIZE, oddheat_change_row(change, 0, 0, frame[0], NARROW - 1));
  EXPECT_STATUS(ERR_SIZE, oddheat_change_row(change, 0, LOW, frame[0], NARROW));
  EXPECT_STATUS(ERR_SIZE, oddheat_change_row(change, 0, 65536, frame[0], NARROW));
  EXPECT_STATUS(ERR_RANGE, oddheat_change_read(change, 0, 7, out, NARROW));
  EXPECT_STATUS(ERR_RANGE, oddheat_change_read(change, 0, 256, out, NARROW));
  EXPECT_STATUS(ERR_SIZE, oddheat_change_read(change, 0, 0, out, NARROW + 1));
  EXPECT_STATUS(ERR_SIZE, oddheat_change_read(change, LOW, 0, out, NARROW));
  EXPECT_STATUS(ERR_SIZE, oddheat_change_read(change, UINT32_MAX, 0, out, NARROW));
  EXPECT(UNTOUCHED(out));
  EXPECT_STATUS(OK, oddheat_change_read(change, 0, 0, out, NARROW)); /* no row came */
  EXPECT(all_bytes(out, NARROW * sizeof out[0], 0));
  heat(change);
  change = (oddheat_change *)moved(change, sizeof memory.change);
  for (uint32_t y = 0; y < LOW; y++) {
    EXPECT_STATUS(OK, oddheat_change_read(change, y, 1, out, NARROW));
    for (int x = 0; x < NARROW; x++) {
      const int halves = x >= 4 && x < 8 && y < 4 ? 81 : x == NARROW - 1 ? -16 : 0;
      /* A pixel by itself is the same one in the frames in which it was read. */
      EXPECT(out[x] == (x == 0 && y == 5 ? 0 : ODDHEAT_CHANGE_ZERO + halves));
    }
  }
  EXPECT_STATUS(OK, oddheat_change_read(change, 0, 6, out, NARROW));
  EXPECT(out[3] == ODDHEAT_CHANGE_ZERO && out[4] == ODDHEAT_CHANGE_ZERO + 81 * 32);
  EXPECT(out[12] == ODDHEAT_CHANGE_ZERO - 8 * 64);
  for (int x = 0; x < NARROW; x++) {
    frame[0][x] = (uint16_t)(x == 4 ? SATURATED - 1 : x == 5 ? PLAIN + 50 + 41 : 1);
  }
  EXPECT_STATUS(OK, oddheat_change_row(change, 1, 0, frame[0], NARROW));
  EXPECT_STATUS(OK, oddheat_change_read(change, 0, 6, out, NARROW)); /* more than there are counts for */
  EXPECT(out[3] == 1 && out[4] == 65534);
  EXPECT_STATUS(OK, oddheat_change_read(change, 0, 0, out, NARROW));
  EXPECT(out[5] == ODDHEAT_CHANGE_ZERO + 41); /* 40 2/3 */
  change = fresh_change(4);
  EXPECT_STATUS(ERR_SIZE, oddheat_change_read(change, 0, 0, out, NARROW));
  EXPECT_STATUS(ERR_SIZE, oddheat_change_read(change, 2, 0, out, 4));
  heat(change);
  EXPECT_STATUS(OK, oddheat_change_read(change, 0, 1, out, 4));
  EXPECT(out[0] == ODDHEAT_CHANGE_ZERO && out[1] == ODDHEAT_CHANGE_ZERO + 81);
  EXPECT(out[2] == 0 && out[3] == ODDHEAT_CHANGE_ZERO - 16); /* a pixel of it was saturated once; cut by the border */
  EXPECT_STATUS(OK, oddheat_change_read(change, 1, 0, out, 4));
  EXPECT(out[0] == 0 && out[1] == ODDHEAT_CHANGE_ZERO && out[3] == ODDHEAT_CHANGE_ZERO - 8);
  EXPECT(out[NARROW] == 0xA5A5);
}

/** Twenty counts a column from left to right, a spot of five by five pixels 300 counts above it, a dead pixel and a
 * saturated one. */
static void paint_slope(void) {
  for (int y = 0; y < HEIGHT; y++) {
    for (int x = 0; x < WIDTH; x++) {
      frame[y][x] = (uint16_t)(PLAIN + 20 * x + (x >= 60 && x < 65 && y >= 40 && y < 45 ? 300 : 0));
    }
  }
  frame[20][30] = 0;
  frame[70][90] = SATURATED;
}

static void push_frame(oddheat_local *local) {
  for (int y = 0; y < HEIGHT; y++) {
    EXPECT_STATUS(OK, oddheat_local_row(local, frame[y], WIDTH));
  }
}

static void local_level(void) {
  oddheat_local *local = fresh_local();
  uint16_t row[WIDTH + 1];
  uint32_t settled = 7;
  int frames = 0, above = 0;
  paint_slope();
  GUARD(row);
  EXPECT_STATUS(ERR_SIZE, oddheat_local_row(local, frame[0], WIDTH - 1));
  EXPECT_STATUS(OK, oddheat_local_is_settled(local, &settled));
  EXPECT(settled == 0);
  EXPECT_STATUS(ERR_ORDER, oddheat_local_correct(local, 0, 9000, row, WIDTH));
  for (; settled == 0 && frames < 12; frames++) {
    push_frame(local);
    EXPECT_STATUS(OK, oddheat_local_is_settled(local, &settled));
    if (settled == 0) {
      EXPECT_STATUS(ERR_ORDER, oddheat_local_correct(local, 0, 9000, row, WIDTH));
    }
  }
  EXPECT(settled == 1 && frames > 1);
  local = (oddheat_local *)moved(local, sizeof memory.local);
  EXPECT_STATUS(ERR_RANGE, oddheat_local_correct(local, 0, 65536, row, WIDTH));
  EXPECT_STATUS(ERR_SIZE, oddheat_local_correct(local, HEIGHT, 9000, row, WIDTH));
  EXPECT_STATUS(ERR_SIZE, oddheat_local_correct(local, 65536, 9000, row, WIDTH));
  EXPECT_STATUS(ERR_SIZE, oddheat_local_correct(local, 0, 9000, row, WIDTH + 1));
  EXPECT(UNTOUCHED(row));
  for (int y = 0; y < HEIGHT; y++) {
    memcpy(row, frame[y], sizeof frame[y]);
    EXPECT_STATUS(OK, oddheat_local_correct(local, (uint32_t)y, 9000, row, WIDTH));
    for (int x = 0; x < WIDTH; x++) {
      const int spot = x >= 60 && x < 65 && y >= 40 && y < 45, wanted = spot ? 9300 : 9000;
      /* Half a block at either end, the level is that of the outermost blocks. */
      const int within = x < SIDE / 2 || x >= WIDTH - SIDE / 2 ? 30 + 20 * SIDE / 2 : 30;
      if ((y == 20 && x == 30) || (y == 70 && x == 90)) {
        EXPECT(row[x] == frame[y][x]);
      } else {
        EXPECT(row[x] >= wanted - within && row[x] <= wanted + within);
        above += row[x] > 9200;
      }
    }
    EXPECT(row[WIDTH] == 0xA5A5);
  }
  EXPECT(above == 25);
  /* What is read stays read, far below and far above. */
  for (uint32_t level = 0; level <= 65535; level += 65535) {
    memcpy(row, frame[20], sizeof frame[20]);
    EXPECT_STATUS(OK, oddheat_local_correct(local, 20, level, row, WIDTH));
    EXPECT(row[30] == 0 && row[31] > 0 && row[31] < SATURATED && row[127] > 0 && row[127] < SATURATED);
  }
}

int main(void) {
  for (int i = 0; i < 4; i++) {
    memory.before[i] = memory.between[i] = memory.after[i] = GUARD_WORD;
  }
  set_up();
  handles();
  changes();
  local_level();
  for (int i = 0; i < 4; i++) {
    EXPECT(memory.before[i] == GUARD_WORD && memory.between[i] == GUARD_WORD && memory.after[i] == GUARD_WORD);
  }
  BLANK_IS_BLANK();
  return expect_failures == 0 ? 0 : 1;
}
