// The device clock: a free-running 32-bit timer of 25 MHz, never a count of tick interrupts, which loses whatever time the
// interrupts were held up. The timer wraps every 171.8 s; its wrap raises an interrupt, so that no wrap is missed however long
// nobody asks.
#include "board.h"
#include "port.h"

#define TIMER_LOAD REGISTER(0x40002000)
#define TIMER_VALUE REGISTER(0x40002004)
#define TIMER_CONTROL REGISTER(0x40002008)
#define TIMER_CLEAR REGISTER(0x4000200C)

// The second of the pair wakes the processor for what is due; nothing is counted with it.
#define ALARM_LOAD REGISTER(0x40002020)
#define ALARM_CONTROL REGISTER(0x40002028)
#define ALARM_CLEAR REGISTER(0x4000202C)

#define CONTROL_ONE_SHOT (1u << 0)
#define CONTROL_32_BIT (1u << 1)
#define CONTROL_INTERRUPT (1u << 5)
#define CONTROL_ENABLE (1u << 7)

#define TICKS_PER_US (TIMER_HZ / 1000000)

static uint32_t wraps;
static uint32_t last_ticks;

void clock_start(void) {
    TIMER_CONTROL = 0;
    TIMER_LOAD = UINT32_MAX;
    TIMER_CLEAR = 1;
    TIMER_CONTROL = CONTROL_32_BIT | CONTROL_INTERRUPT | CONTROL_ENABLE;
    IRQ_ENABLE = 1u << IRQ_DUAL_TIMER;
}

// Whoever comes first after a wrap, reader or interrupt, sees that the count fell, and counts it; the other one does not.
static uint64_t ticks(void) {
    uint32_t state = irq_save();
    uint32_t now = UINT32_MAX - TIMER_VALUE;
    if (now < last_ticks) { wraps++; }
    last_ticks = now;
    uint64_t all = (uint64_t)wraps << 32 | now;
    irq_restore(state);
    return all;
}

void clock_interrupt(void) {
    TIMER_CLEAR = 1;
    ALARM_CLEAR = 1;
    (void)ticks();
}

bool clock_alarm(uint64_t until_us) {
    ALARM_CONTROL = 0;
    ALARM_CLEAR = 1;
    if (until_us == UINT64_MAX) { return true; }
    uint64_t now = port_clock_us();
    if (until_us <= now) { return false; }
    uint64_t wait = until_us - now;
    ALARM_LOAD = wait > UINT32_MAX / TICKS_PER_US ? UINT32_MAX : (uint32_t)wait * TICKS_PER_US;
    ALARM_CONTROL = CONTROL_ONE_SHOT | CONTROL_32_BIT | CONTROL_INTERRUPT | CONTROL_ENABLE;
    return true;
}

uint64_t port_clock_us(void) {
    int64_t us = (int64_t)(ticks() / TICKS_PER_US);
    // Both are 0 in a healthy image; defect clock runs 2 % fast. 2 % of a clock of 64 bits fits for 14 000 years.
    return (uint64_t)(us + us * CLOCK_PPM / 1000000) + CLOCK_OFFSET_US;
}
