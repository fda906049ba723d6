// A sensor at rest: 1 g on z, and on every channel noise of its own, the ones among 32 random bits less 16 (standard deviation 2.8).
#include "sensor.h"

#include MODEL_TABLE

// Counts of 1 g.
#ifndef SENSOR_ONE_G
#define SENSOR_ONE_G 1000
#endif
#define SEED 2463534242u

static uint32_t state = SEED;

// xorshift32 (Marsaglia 2003, J. Stat. Softw. 8(14)).
static uint32_t random_bits(void) {
    state ^= state << 13;
    state ^= state >> 17;
    state ^= state << 5;
    return state;
}

void sensor_start(void) { state = SEED; }

void sensor_read(int16_t *counts) {
    for (int i = 0; i < MODEL_CHANNELS; i++) {
        int ones = 0;
        for (uint32_t bits = random_bits(); bits != 0; bits &= bits - 1) { ones++; }
        counts[i] = (int16_t)((i == MODEL_AZ ? SENSOR_ONE_G : 0) + ones - 16);
    }
}
