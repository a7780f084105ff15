/* The brake recording, driven through the C interface: used by the hosted program and by the firmware image. */
#ifndef BRAKE_H
#define BRAKE_H

#include "oddheat.h"

/** Takes the next piece of the report. */
typedef void (*brake_print_fn)(const char *text);

/** Settings of the recording's instrument and scene. */
oddheat_status brake_configure(oddheat_config *config);
/** Begins the check and places the recording's shapes. */
oddheat_status brake_begin(oddheat *device);
/** Feeds one frame of the recording, 0 to brake_frames() - 1. */
oddheat_status brake_feed(oddheat *device, unsigned frame);
/** Number of frames. */
unsigned brake_frames(void);
/** Counts of one frame. */
const uint16_t *brake_counts(unsigned frame);
/** Runs everything and prints every code, every number and the text of the finding; 0 or the status that stopped it. */
int brake_run(brake_print_fn print);

#endif
