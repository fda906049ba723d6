// What a board supplies: five functions. Everything else in device.c, model.c and lines.c or cobs.c is the same on every board.
#ifndef PORT_H
#define PORT_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

// Bytes that have come in since the last call, oldest first, at most `most` of them; 0 when there are none. Never waits.
size_t port_read(uint8_t *bytes, size_t most);

// Hands over one whole message. Never waits: false, and nothing of it is sent, where there is no room for all of it.
bool port_write(const uint8_t *bytes, size_t count);

// Microseconds since the start, from a free-running hardware timer. Never goes back.
uint64_t port_clock_us(void);

// Sends what port_write has taken, within a limit, and restarts the chip as if power-cycled. Does not return.
void port_restart(void) __attribute__((noreturn));

// Sleeps until an interrupt or, at the latest, until port_clock_us shows until_us (UINT64_MAX: no such moment). Returns at once when
// port_read has something to give.
void port_sleep(uint64_t until_us);

#endif
