#include "defects.h"

#include <stddef.h>
#include <stdint.h>

#include "board.h"
#include "port.h"

#if THINK_MS > 0 || defined(DEFECT_SLOW) || defined(DEFECT_RESET)
// Real work with an end in time: sums the program's own memory, over and over. Interrupts go on meanwhile.
static volatile uint32_t self_test_sum;

static void work(uint32_t ms) {
    uint64_t end = port_clock_us() + 1000ULL * ms;
    while (port_clock_us() < end) {
        uint32_t sum = 0;
        for (const uint32_t *word = image_start; word < image_start + 256; word++) { sum = (sum << 1 | sum >> 31) ^ *word; }
        self_test_sum = sum;
    }
}
#endif

void think(void) {
#if THINK_MS > 0
    work(THINK_MS);
#endif
}

void defect_on_sample(void) {
#ifdef DEFECT_LEAK
    static uint8_t heap[64 * 1024];
    static size_t taken;
    taken += 16;  // deliberate defect: 16 bytes a sample, never given back
    if (taken > sizeof heap) { board_hang(); }
    heap[taken - 16] = 1;
#endif
}

void defect_before_report(void) {
#ifdef DEFECT_SLOW
    work(300);  // deliberate defect: the report waits for a self-test
#endif
}

void defect_after_report(void) {
#ifdef DEFECT_RESET
    work(50);  // deliberate defect: longer than the small receive ring lasts (uart.c)
#endif
}
