// From power-on to main: vector table, memory, faults. No vendor's code.
#include <stdint.h>

#include "board.h"
#include "counters.h"

extern uint32_t data_load[], data_start[], data_end[], bss_start[], bss_end[], stack_top[];
int main(void);
void reset_handler(void);

__attribute__((section(".counters"))) volatile struct counters counters;

void board_reset(void) {
    irq_off();
    SYSTEM_CONTROL = 0x05FA0004;  // key and system reset request
    for (;;) { wait_for_interrupt(); }
}

void board_hang(void) {
    irq_off();
    IRQ_DISABLE = UINT32_MAX;
    for (;;) { wait_for_interrupt(); }
}

void reset_handler(void) {
    uint32_t *from = data_load;
    for (uint32_t *to = data_start; to < data_end; to++) { *to = *from++; }
    for (uint32_t *to = bss_start; to < bss_end; to++) { *to = 0; }
    if (counters.magic != COUNTERS_MAGIC) { counters = (struct counters){.magic = COUNTERS_MAGIC}; }
    counters.boots++;
    (void)main();
    board_hang();
}

__attribute__((used)) static void count_fault(void) {
    counters.faults++;
    board_reset();
}

// The stack may be what is broken: it lies at the bottom of memory, so that its overflow comes here. Starts on a new one.
__attribute__((naked)) static void fault_handler(void) { __asm__ volatile("ldr r0, =stack_top\n\tmov sp, r0\n\tb count_fault\n\t.ltorg"); }

typedef void (*handler)(void);

// System exceptions, then interrupts as the machine numbers them. What is empty is never enabled; it would be a fault.
__attribute__((section(".vectors"), used)) static const handler vectors[16 + 32] = {
    [0] = (handler)stack_top,
    [1] = reset_handler,
    [2] = fault_handler,  // non-maskable
    [3] = fault_handler,  // hard: everything, as no finer fault is enabled
    [16 + IRQ_UART_RX] = uart_rx_interrupt,
    [16 + IRQ_UART_TX] = uart_tx_interrupt,
    [16 + IRQ_DUAL_TIMER] = clock_interrupt,
};
