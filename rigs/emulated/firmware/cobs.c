// COBS frames with CRC-16/IBM-3740, as src/HilRunner.Device/README.md describes them. Portable: no board.
#include <stdbool.h>

#include "counters.h"
#include "device.h"
#include "format.h"
#include "image.h"
#include "port.h"
#include MODEL_TABLE

#define MAX_FRAME 1024
#define LONGEST_RUN 254
// Longest plain message, with its check sum: what was measured, on six channels. Shorter than a run, so that one code byte more is enough.
#define MAX_MESSAGE 19

enum {
    HEARD_BEGIN = 0x01,
    HEARD_SAMPLES,
    HEARD_END,
    HEARD_IDENTITY,
    HEARD_CLOCK,
    HEARD_RESET,
    HEARD_STATUS,
    HEARD_STREAM,
    HEARD_COUNTERS,
    SAID_DECISION = 0x82,
    SAID_CREDIT,
    SAID_IDENTITY,
    SAID_CLOCK,
    SAID_NO_DECISION = 0x87,
    SAID_BANNER,
    SAID_MEASURED,
    SAID_COUNTERS,
    SAID_REFUSAL = 0x8F,
};

static uint8_t frame[MAX_FRAME];
static size_t frame_length;
static bool too_long;

static uint8_t message[MAX_MESSAGE];
static size_t message_length;

// Polynomial 1021, initial FFFF, not reflected. Bit by bit: at these rates a table would only cost memory.
static uint16_t check_sum(const uint8_t *bytes, size_t count) {
    uint32_t sum = 0xFFFF;
    for (size_t i = 0; i < count; i++) {
        sum ^= (uint32_t)bytes[i] << 8;
        for (int bit = 0; bit < 8; bit++) { sum = (sum & 0x8000) != 0 ? sum << 1 ^ 0x1021 : sum << 1; }
    }
    return (uint16_t)sum;
}

static void put(uint64_t value, int bytes) {
    for (int i = 0; i < bytes; i++) { message[message_length++] = (uint8_t)(value >> (8 * i)); }
}

static void start(uint8_t type) {
    message_length = 0;
    put(type, 1);
}

static bool send(const uint8_t *wire, size_t length) {
    bool said = port_write(wire, length);
    if (!said) { counters.tx_lost++; }
    return said;
}

static bool finish(void) {
    put(check_sum(message, message_length), 2);
    uint8_t wire[MAX_MESSAGE + 2];
    size_t code = 0;
    size_t length = 1;
    for (size_t i = 0; i < message_length; i++) {
        if (message[i] != 0) {
            wire[length++] = message[i];
            continue;
        }
        wire[code] = (uint8_t)(length - code);
        code = length++;
    }
    wire[code] = (uint8_t)(length - code);
    wire[length++] = 0;
    return send(wire, length);
}

// Of what the host did not ask for: it is counted, so that the host can see whether all of it arrived.
static void finish_counted(void) {
    if (finish()) { counters.said++; }
}

void format_delimiter(void) { send((const uint8_t[]){0}, 1); }

void format_banner(void) {
    start(SAID_BANNER);
    put(IMAGE_VERSION_NUMBER, 4);
    finish();
}

void format_decision(uint32_t n, int class, uint32_t t_us, int per_mille) {
    start(SAID_DECISION);
    put(n, 4);
    put((uint64_t)class, 1);
    put(t_us, 4);
    put((uint64_t)per_mille, 2);
    finish_counted();
}

void format_no_decision(void) {
    start(SAID_NO_DECISION);
    finish();
}

void format_credit(uint32_t n) {
    start(SAID_CREDIT);
    put(n, 4);
    finish_counted();
}

void format_measured(uint32_t n, const int16_t *counts) {
    start(SAID_MEASURED);
    put(n, 4);
    for (int i = 0; i < MODEL_CHANNELS; i++) { put((uint16_t)counts[i], 2); }
    finish_counted();
}

void format_identity(void) {
    uint64_t hash = 0;
    for (size_t i = 0; i < sizeof image_hash; i++) {
        char c = image_hash[i];
        hash = hash << 4 | (uint64_t)(c <= '9' ? c - '0' : c - 'a' + 10);
    }
    start(SAID_IDENTITY);
    put(IMAGE_VERSION_NUMBER, 4);
    put(hash, 8);
    finish();
}

void format_clock(uint32_t token, uint32_t t_us) {
    start(SAID_CLOCK);
    put(token, 4);
    put(t_us, 4);
    finish();
}

void format_counters(uint32_t received, uint32_t refused, uint32_t said, uint32_t dropped) {
    start(SAID_COUNTERS);
    put(received, 4);
    put(refused, 4);
    put(said, 4);
    put(dropped, 4);
    finish();
}

void format_refusal(enum refusal why) {
    start(SAID_REFUSAL);
    put(why, 1);
    finish();
}

static uint32_t u32(const uint8_t *bytes) {
    return bytes[0] | (uint32_t)bytes[1] << 8 | (uint32_t)bytes[2] << 16 | (uint32_t)bytes[3] << 24;
}

static int16_t i16(const uint8_t *bytes) { return (int16_t)(uint16_t)(bytes[0] | bytes[1] << 8); }

// Decodes a frame, which holds no zero, in its place: what is written never overtakes what is read.
static bool unstuff(uint8_t *bytes, size_t count, size_t *length) {
    size_t read = 0;
    size_t written = 0;
    while (read < count) {
        size_t run = bytes[read++] - 1u;
        if (run > count - read) { return false; }
        for (size_t i = 0; i < run; i++) { bytes[written++] = bytes[read++]; }
        if (run < LONGEST_RUN && read < count) { bytes[written++] = 0; }
    }
    *length = written;
    return true;
}

static void hear_samples(const uint8_t *fields, size_t length) {
    const size_t per_sample = 2 * MODEL_CHANNELS;
    if (length < 4 + per_sample || (length - 4) % per_sample != 0) {
        device_refuse(REFUSED_MALFORMED);
        return;
    }
    int64_t n = u32(fields);
    for (const uint8_t *at = fields + 4; at < fields + length; at += per_sample, n++) {
        int16_t counts[MODEL_CHANNELS];
        for (int i = 0; i < MODEL_CHANNELS; i++) { counts[i] = i16(at + 2 * i); }
        device_sample(n, counts);
    }
}

static void hear(uint8_t type, const uint8_t *fields, size_t length) {
    static const int8_t lengths[] = {
        [HEARD_BEGIN] = 4, [HEARD_SAMPLES] = -1, [HEARD_END] = 0, [HEARD_IDENTITY] = 0,
        [HEARD_CLOCK] = 4, [HEARD_RESET] = 0,    [HEARD_STATUS] = 0, [HEARD_STREAM] = 1,
    };
    if (type < HEARD_BEGIN || type > HEARD_STREAM) {
        device_refuse(REFUSED_UNKNOWN);
        return;
    }
    bool unknown_switch = type == HEARD_STREAM && length == 1 && fields[0] > 1;
    if ((lengths[type] >= 0 && (size_t)lengths[type] != length) || unknown_switch) {
        device_refuse(REFUSED_MALFORMED);
        return;
    }
    switch (type) {
        case HEARD_BEGIN: device_begin(u32(fields)); break;
        case HEARD_SAMPLES: hear_samples(fields, length); break;
        case HEARD_END: device_end(); break;
        case HEARD_IDENTITY: device_identity(); break;
        case HEARD_CLOCK: device_clock(u32(fields)); break;
        case HEARD_RESET: device_reset(); break;
        case HEARD_STREAM: device_stream(fields[0] == 1); break;
        default: device_status(); break;
    }
}

static void end_frame(void) {
    size_t length = frame_length;
    bool refused = too_long;
    frame_length = 0;
    too_long = false;
    if (refused) {
        device_refuse(REFUSED_TOO_LONG);
        return;
    }
    if (length == 0) { return; }
    if (!unstuff(frame, length, &length) || length < 3) {
        device_refuse(REFUSED_MALFORMED);
        return;
    }
    if (check_sum(frame, length - 2) != (uint16_t)(frame[length - 2] | frame[length - 1] << 8)) {
        device_refuse(REFUSED_CHECKSUM);
        return;
    }
    hear(frame[0], frame + 1, length - 3);
}

void format_hear(const uint8_t *bytes, size_t count) {
    for (size_t i = 0; i < count; i++) {
        if (bytes[i] == 0) {
            end_frame();
        } else if (frame_length < MAX_FRAME) {
            frame[frame_length++] = bytes[i];
        } else {
            too_long = true;
        }
    }
}
