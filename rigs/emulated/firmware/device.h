// What the device does with each message, whatever the format. The format calls these.
#ifndef DEVICE_H
#define DEVICE_H

#include <stdbool.h>
#include <stdint.h>

#include "format.h"

// Once after every start: says the banner.
void device_boot(void);

void device_begin(uint32_t rate_millihertz);
// n counts from 0 and is wider than on the wire, so that a block of samples never wraps. One count per channel.
void device_sample(int64_t n, const int16_t *counts);
void device_end(void);
// Switches the device's own sensor on or off: what it measures is classified and said. A run ends it.
void device_stream(bool on);
void device_identity(void);
void device_clock(uint32_t token);
void device_status(void);
// Says what came, what was refused, what was said and what could not be said.
void device_counters(void);
void device_reset(void);
void device_refuse(enum refusal why);

// Measures what is due; called whenever the processor is awake.
void device_sense(void);
// When the sensor is due next, on port_clock_us; UINT64_MAX while it is off.
uint64_t device_due(void);

#endif
