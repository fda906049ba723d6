// Between the device and its bytes: lines.c and cobs.c each implement this, an image holds one of them. What goes over the
// wire is described in src/HilRunner.Device/README.md.
#ifndef FORMAT_H
#define FORMAT_H

#include <stddef.h>
#include <stdint.h>

enum refusal { REFUSED_UNKNOWN = 1, REFUSED_MALFORMED, REFUSED_CHECKSUM, REFUSED_RATE, REFUSED_ORDER, REFUSED_TOO_LONG };

// Takes bytes in pieces of any size and calls device_… for every message and every fault.
void format_hear(const uint8_t *bytes, size_t count);

// Ends a message that a restart may have cut off, so that the banner is not glued to it. An empty message means nothing.
void format_delimiter(void);
void format_banner(void);
void format_decision(uint32_t n, int class, uint32_t t_us, int per_mille);
void format_no_decision(void);
void format_credit(uint32_t n);
// What the device's own sensor measured.
void format_measured(uint32_t n, const int16_t *counts);
void format_identity(void);
void format_clock(uint32_t token, uint32_t t_us);
// Samples taken, messages refused, messages said, messages for which there was no room.
void format_counters(uint32_t received, uint32_t refused, uint32_t said, uint32_t dropped);
void format_refusal(enum refusal why);

#endif
