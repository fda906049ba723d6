// The device's own sensor. Here it lies still; on a board this reads the chip. One of the files to write yourself.
#ifndef SENSOR_H
#define SENSOR_H

#include <stdint.h>

// From the start of its noise on.
void sensor_start(void);

// One count for each channel of the model's table.
void sensor_read(int16_t *counts);

#endif
