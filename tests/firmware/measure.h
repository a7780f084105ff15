/* What the parts of the image share: how a call is measured, and what happens if it is refused. */
#ifndef MEASURE_H
#define MEASURE_H

#include "board.h"
#include "oddheat.h"

/** A status that a measured call did not return fails the run: a refused call would be cheap. */
void note(oddheat_status status);
/** Calls once and prints the cost; pixels is 0 if the call is not per pixel. */
void measure(const char *name, void (*call)(void), uint32_t pixels);
/** Measuring tools, profiles, fits and pictures. */
void measure_tools(void);
/** Finding lines, rows and twins; before/after; the local level. */
void measure_patterns(void);

#endif
