// The serial port by interrupt: a ring each way. Main code owns one end of a ring, the interrupt the other.
#include "board.h"
#include "counters.h"
#include "port.h"

#define UART_DATA REGISTER(0x40004000)
#define UART_STATE REGISTER(0x40004004)
#define UART_CONTROL REGISTER(0x40004008)
#define UART_INTERRUPTS REGISTER(0x4000400C)  // write 1 to clear
#define UART_DIVIDER REGISTER(0x40004010)

#define STATE_TX_FULL (1u << 0)
#define STATE_RX_FULL (1u << 1)
#define STATE_RX_OVERRUN (1u << 3)
#define CONTROL_ALL 0x0Fu  // transmitter, receiver, and an interrupt of each
#define INTERRUPT_TX (1u << 0)
#define INTERRUPT_RX (1u << 1)

// Powers of two. The receive ring holds what may come while the main code thinks: all that credit allows (256 lines of at most
// 32 bytes, up to sample 99 999 999). The transmit ring holds what may be said while the host does not read.
#ifdef DEFECT_RESET
#define RX_SIZE 64u  // deliberate defect: too small, and full is taken for a reason to restart
#else
#define RX_SIZE 8192u
#endif
#define TX_SIZE 4096u

static uint8_t rx[RX_SIZE];
static uint8_t tx[TX_SIZE];
// Counts of bytes ever put in and taken out; they wrap, their difference does not.
static volatile uint32_t rx_in, rx_out, tx_in, tx_out;

void uart_start(void) {
    UART_DIVIDER = 217;  // 115200 baud at 25 MHz; an emulator only asks that it is 16 or more
    UART_CONTROL = CONTROL_ALL;
    // What a receiver holds from before is nobody's. The emulator also needs this read: it takes it as the word that bytes are
    // welcome from now on, and without it may leave alone what the host sent before.
    (void)UART_DATA;
    IRQ_ENABLE = 1u << IRQ_UART_RX | 1u << IRQ_UART_TX;
}

static void rx_put(uint8_t byte) {
    uint32_t waiting = rx_in - rx_out;
    if (waiting == RX_SIZE) {
#ifdef DEFECT_RESET
        board_reset();
#endif
        counters.rx_lost++;
        return;
    }
    rx[rx_in % RX_SIZE] = byte;
    rx_in = rx_in + 1;
    if (waiting + 1 > counters.rx_high_water) { counters.rx_high_water = waiting + 1; }
}

void uart_rx_interrupt(void) {
    UART_INTERRUPTS = INTERRUPT_RX;
    if ((UART_STATE & STATE_RX_OVERRUN) != 0) {
        UART_STATE = STATE_RX_OVERRUN;
        counters.rx_overruns++;
    }
    while ((UART_STATE & STATE_RX_FULL) != 0) { rx_put((uint8_t)UART_DATA); }
}

// Also called by port_write, with interrupts off, where the transmitter is idle and no interrupt would come by itself.
static void tx_continue(void) {
    while (tx_out != tx_in && (UART_STATE & STATE_TX_FULL) == 0) {
        UART_DATA = tx[tx_out % TX_SIZE];
        tx_out = tx_out + 1;
    }
}

void uart_tx_interrupt(void) {
    UART_INTERRUPTS = INTERRUPT_TX;
    tx_continue();
}

size_t port_read(uint8_t *bytes, size_t most) {
    size_t count = 0;
    while (count < most && rx_out != rx_in) {
        bytes[count++] = rx[rx_out % RX_SIZE];
        rx_out = rx_out + 1;
    }
    return count;
}

bool port_write(const uint8_t *bytes, size_t count) {
    if (TX_SIZE - (tx_in - tx_out) < count) { return false; }
    for (size_t i = 0; i < count; i++) { tx[(tx_in + i) % TX_SIZE] = bytes[i]; }
    uint32_t state = irq_save();
    tx_in = tx_in + count;
    tx_continue();
    irq_restore(state);
    return true;
}

void port_restart(void) {
    // The answers to what was asked before; no longer than that, for a host that does not read.
    uint64_t end = port_clock_us() + 100000;
    while (tx_out != tx_in && port_clock_us() < end) {}
    counters.orderly = tx_out == tx_in;
    board_reset();
}

void port_sleep(uint64_t until_us) {
    // A byte that comes between the look and the sleep still ends the sleep: a pending interrupt does, also while they are off.
    irq_off();
    if (rx_in == rx_out && clock_alarm(until_us)) { wait_for_interrupt(); }
    irq_on();
}
