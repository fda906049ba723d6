// Registers of the reference machine, and what start-up code and drivers share. Not needed on another board.
#ifndef BOARD_H
#define BOARD_H

#include <stdbool.h>
#include <stdint.h>

#define REGISTER(address) (*(volatile uint32_t *)(address))

#define TIMER_HZ 25000000u
#define IRQ_UART_RX 0
#define IRQ_UART_TX 1
#define IRQ_DUAL_TIMER 10

#define SYSTEM_CONTROL REGISTER(0xE000ED0C)  // application interrupt and reset control
#define IRQ_ENABLE REGISTER(0xE000E100)
#define IRQ_DISABLE REGISTER(0xE000E180)

// First word of the program in memory.
extern const uint32_t image_start[];

static inline void irq_off(void) { __asm__ volatile("cpsid i" ::: "memory"); }
static inline void irq_on(void) { __asm__ volatile("cpsie i" ::: "memory"); }

// For code that may run with interrupts on or off.
static inline uint32_t irq_save(void) {
    uint32_t state;
    __asm__ volatile("mrs %0, primask\n\tcpsid i" : "=r"(state)::"memory");
    return state;
}
static inline void irq_restore(uint32_t state) { __asm__ volatile("msr primask, %0" ::"r"(state) : "memory"); }

static inline void wait_for_interrupt(void) { __asm__ volatile("wfi" ::: "memory"); }

// Restarts the chip at once.
void board_reset(void) __attribute__((noreturn));

// Stops for good: hears nothing, says nothing, sleeps.
void board_hang(void) __attribute__((noreturn));

void uart_start(void);
void clock_start(void);
void uart_rx_interrupt(void);
void uart_tx_interrupt(void);
void clock_interrupt(void);

// Raises an interrupt when port_clock_us shows until_us, or after 171 s where that comes first. False: it shows that already.
bool clock_alarm(uint64_t until_us);

#endif
