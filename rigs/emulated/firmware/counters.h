// What went wrong, counted where a debugger, or the control socket of the emulator, can read it: the truth that the tool's own
// counts are held against. Lies at a fixed address (link.ld) and survives a restart, as it would in memory that a reset leaves alone.
#ifndef COUNTERS_H
#define COUNTERS_H

#include <stdint.h>

#define COUNTERS_MAGIC 0x48494C31u

// In the order in which rigs/emulated/control reads them.
struct counters {
    uint32_t magic;
    uint32_t boots;
    uint32_t samples;        // consumed in runs
    uint32_t samples_idle;   // heard outside a run, dropped
    uint32_t refusals;
    uint32_t decisions;
    uint32_t rx_lost;        // bytes for which the ring had no room
    uint32_t rx_high_water;  // most bytes that ever waited in the ring
    uint32_t rx_overruns;    // bytes that the receiver itself lost
    uint32_t tx_lost;        // messages for which the ring had no room
    uint32_t faults;         // stack overflow or illegal access; each one restarts the chip
    uint32_t orderly;        // no count: 1 when the last restart was asked for and everything was sent before it
    uint32_t said;           // decisions, credit and measured samples handed to the transmitter
};

extern volatile struct counters counters;

#endif
