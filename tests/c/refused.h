/* Pointers that no call takes, and what each is refused with. */
#ifndef REFUSED_H
#define REFUSED_H

#include "expect.h"

/* As large as any handle's head. */
static uint64_t blank[ODDHEAT_MEM_HEAD / 8u];

/* NULL, a misaligned pointer, and for handles a block of zeros. */
static const int refusals[3] = {ODDHEAT_STATUS_ERR_NULL, ODDHEAT_STATUS_ERR_MEM_ALIGN, ODDHEAT_STATUS_ERR_BAD_STATE};
static inline void *refused(int i) {
  return i == 0 ? NULL : i == 1 ? (void *)((unsigned char *)blank + 1) : (void *)blank;
}
/** A call with the pointer refused(i). */
#define REFUSED(call) expect_status(refusals[i], (int)(call), #call, __LINE__)
/** Nothing was written to the block of zeros. */
#define BLANK_IS_BLANK() EXPECT(all_bytes(blank, sizeof blank, 0))

#endif
