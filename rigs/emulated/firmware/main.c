#include "board.h"
#include "counters.h"
#include "device.h"
#include "format.h"
#include "port.h"

int main(void) {
    clock_start();
    uart_start();
    irq_on();
    if (counters.boots > 1 && !counters.orderly) { format_delimiter(); }
    counters.orderly = 0;
    device_boot();
    for (;;) {
        device_sense();
        uint8_t bytes[64];
        size_t count = port_read(bytes, sizeof bytes);
        if (count == 0) {
            port_sleep(device_due());
        } else {
            format_hear(bytes, count);
        }
    }
}
