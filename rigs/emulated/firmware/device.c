#include "device.h"

#include <stdbool.h>

#include "counters.h"
#include "defects.h"
#include "model.h"
#include "port.h"
#include "sensor.h"
#include MODEL_TABLE

// Samples that the host may have on the way: at most what the receive ring holds of them.
#ifndef CREDIT_WINDOW
#define CREDIT_WINDOW 256
#endif
#define CREDIT_EVERY (CREDIT_WINDOW / 4)

static bool running;
static int64_t last;
static int64_t credited;
static int since_credit;

static bool sensing;
static int64_t sensor_next;
static uint64_t sensor_due_us;
static uint32_t sensor_due_ns;  // beyond the microsecond

// Added up and never divided at run time, which would cost 1.6 kB of library.
#define PERIOD_NS (1000000000000 / MODEL_RATE_MILLIHERTZ)

static void forget_run(void) {
    model_reset();
    last = -1;
    credited = -1;
    since_credit = 0;
}

static void say_credit(void) {
    since_credit = 0;
    credited = last;
    format_credit((uint32_t)last);
}

static void classify(int64_t n, const int16_t *counts) {
    struct model_decision decision;
    if (!model_push(counts, &decision)) { return; }
    think();
    // The stamp is the moment of the decision, not of its sending.
    uint32_t t_us = (uint32_t)port_clock_us();
    counters.decisions++;
    defect_before_report();
    format_decision((uint32_t)n, decision.class, t_us, decision.per_mille);
    defect_after_report();
}

void device_boot(void) {
    running = false;
    sensing = false;
    forget_run();
    format_banner();
}

void device_begin(uint32_t rate_millihertz) {
    forget_run();
    sensing = false;
    running = rate_millihertz == MODEL_RATE_MILLIHERTZ;
    if (!running) { device_refuse(REFUSED_RATE); }
}

void device_sample(int64_t n, const int16_t *counts) {
    if (!running) {
        counters.samples_idle++;
        return;
    }
    if (n <= last) {
        device_refuse(REFUSED_ORDER);
        return;
    }
    last = n;
    counters.samples++;
    defect_on_sample();
    classify(n, counts);
    if (++since_credit >= CREDIT_EVERY) { say_credit(); }
}

void device_end(void) {
    if (running && credited < last) { say_credit(); }
    running = false;
}

void device_stream(bool on) {
    running = false;
    forget_run();
    sensing = on;
    sensor_next = 0;
    sensor_due_us = port_clock_us();
    sensor_due_ns = 0;
    sensor_start();
}

uint64_t device_due(void) { return sensing ? sensor_due_us : UINT64_MAX; }

static void next_due(void) {
    sensor_due_us += PERIOD_NS / 1000;
    sensor_due_ns += PERIOD_NS % 1000;
    if (sensor_due_ns >= 1000) {
        sensor_due_ns -= 1000;
        sensor_due_us++;
    }
}

void device_sense(void) {
    while (device_due() <= port_clock_us()) {
        int16_t counts[MODEL_CHANNELS];
        sensor_read(counts);
        next_due();
        last = sensor_next++;
        format_measured((uint32_t)last, counts);
        classify(last, counts);
    }
}

void device_identity(void) { format_identity(); }

void device_clock(uint32_t token) { format_clock(token, (uint32_t)port_clock_us()); }

void device_status(void) {
    struct model_decision decision;
    if (model_current(&decision)) {
        format_decision((uint32_t)last, decision.class, (uint32_t)port_clock_us(), decision.per_mille);
    } else {
        format_no_decision();
    }
}

void device_counters(void) {
    format_counters(counters.samples, counters.refusals, counters.said, counters.tx_lost);
}

void device_reset(void) { port_restart(); }

void device_refuse(enum refusal why) {
    counters.refusals++;
    format_refusal(why);
}
