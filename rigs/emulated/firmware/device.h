// What the device does with each message, whatever the format. The format calls these.
#ifndef DEVICE_H
#define DEVICE_H

#include <stdint.h>

#include "format.h"

// Once after every start: says the banner.
void device_boot(void);

void device_begin(uint32_t rate_millihertz);
// n counts from 0 and is wider than on the wire, so that a block of samples never wraps. One count per channel.
void device_sample(int64_t n, const int16_t *counts);
void device_end(void);
void device_identity(void);
void device_clock(uint32_t token);
void device_status(void);
void device_reset(void);
void device_refuse(enum refusal why);

#endif
