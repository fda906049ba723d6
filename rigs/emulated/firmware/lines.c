// Text lines, as src/HilRunner.Device/README.md describes them. Portable: no board, no printf.
#include <stdbool.h>
#include <string.h>

#include "counters.h"
#include "device.h"
#include "format.h"
#include "image.h"
#include "port.h"
#include MODEL_TABLE

#define MAX_LINE 256

static char line[MAX_LINE];
static size_t line_length;
static bool too_long;

// A message while it is made. Its longest parts are names, which the table and the version bound.
static char message[192];
static size_t message_length;

static void put_char(char c) {
    if (message_length < sizeof message) { message[message_length++] = c; }
}

static void put_text(const char *text) {
    while (*text != 0) { put_char(*text++); }
}

static void put_digits(uint32_t value, int least) {
    char digits[10];
    int count = 0;
    do {
        digits[count++] = (char)('0' + value % 10);
        value /= 10;
    } while (value != 0);
    for (int i = count; i < least; i++) { put_char('0'); }
    while (count > 0) { put_char(digits[--count]); }
}

static void put_number(uint32_t value) {
    put_char(' ');
    put_digits(value, 1);
}

static void put_count(int16_t value) {
    put_char(' ');
    if (value < 0) { put_char('-'); }
    put_digits(value < 0 ? (uint32_t)-(int32_t)value : (uint32_t)value, 1);
}

static void start(const char *word) {
    message_length = 0;
    put_text(word);
}

static bool finish(void) {
    put_char('\n');
    bool said = port_write((const uint8_t *)message, message_length);
    if (!said) { counters.tx_lost++; }
    return said;
}

// Of what the host did not ask for: it is counted, so that the host can see whether all of it arrived.
static void finish_counted(void) {
    if (finish()) { counters.said++; }
}

void format_delimiter(void) {
    start("");
    finish();
}

void format_banner(void) {
    start("boot ");
    put_text(IMAGE_VERSION);
    finish();
}

void format_decision(uint32_t n, int class, uint32_t t_us, int per_mille) {
    start("c");
    put_number(n);
    put_char(' ');
    put_text(model_class_names[class]);
    put_number(t_us);
    put_number((uint32_t)per_mille / 1000);
    put_char('.');
    put_digits((uint32_t)per_mille % 1000, 3);
    finish_counted();
}

void format_no_decision(void) {
    start("st none");
    finish();
}

void format_credit(uint32_t n) {
    start("k");
    put_number(n);
    finish_counted();
}

void format_measured(uint32_t n, const int16_t *counts) {
    start("d");
    put_number(n);
    for (int i = 0; i < MODEL_CHANNELS; i++) { put_count(counts[i]); }
    finish_counted();
}

void format_identity(void) {
    start("id " MODEL_NAME " ");
    put_text(IMAGE_VERSION);
    put_char(' ');
    for (size_t i = 0; i < sizeof image_hash; i++) { put_char(image_hash[i]); }
    finish();
}

void format_clock(uint32_t token, uint32_t t_us) {
    start("t");
    put_number(token);
    put_number(t_us);
    finish();
}

void format_counters(uint32_t received, uint32_t refused, uint32_t said, uint32_t dropped) {
    start("ct");
    put_number(received);
    put_number(refused);
    put_number(said);
    put_number(dropped);
    finish();
}

void format_refusal(enum refusal why) {
    static const char *const words[] = {"", "unknown", "malformed", "checksum", "rate", "order", "too_long"};
    start("e");
    put_number(why);
    put_char(' ');
    put_text(words[why]);
    finish();
}

// What is left of a line.
struct rest {
    const char *at;
    const char *end;
};

static bool digit_next(const struct rest *rest) { return rest->at < rest->end && *rest->at >= '0' && *rest->at <= '9'; }

// One blank and one whole number from least to most.
static bool take(struct rest *rest, int64_t least, int64_t most, int64_t *value) {
    if (rest->at == rest->end || *rest->at != ' ') { return false; }
    rest->at++;
    bool negative = rest->at < rest->end && *rest->at == '-';
    if (negative) { rest->at++; }
    if (!digit_next(rest)) { return false; }
    int64_t magnitude = 0;
    for (; digit_next(rest); rest->at++) {
        magnitude = magnitude * 10 + (*rest->at - '0');
        if (magnitude > UINT32_MAX) { return false; }
    }
    *value = negative ? -magnitude : magnitude;
    return *value >= least && *value <= most;
}

static void hear_sample(struct rest rest) {
    int64_t n;
    int16_t counts[MODEL_CHANNELS];
    bool good = take(&rest, 0, UINT32_MAX, &n);
    for (int i = 0; i < MODEL_CHANNELS && good; i++) {
        int64_t count = 0;
        good = take(&rest, INT16_MIN, INT16_MAX, &count);
        counts[i] = (int16_t)count;
    }
    if (good && rest.at == rest.end) {
        device_sample(n, counts);
    } else {
        device_refuse(REFUSED_MALFORMED);
    }
}

static void hear_stream(struct rest rest) {
    size_t length = (size_t)(rest.end - rest.at);
    if (length == 3 && memcmp(rest.at, " on", 3) == 0) {
        device_stream(true);
    } else if (length == 4 && memcmp(rest.at, " off", 4) == 0) {
        device_stream(false);
    } else {
        device_refuse(REFUSED_MALFORMED);
    }
}

static void hear_number(struct rest rest, void (*heard)(uint32_t)) {
    int64_t value;
    if (take(&rest, 0, UINT32_MAX, &value) && rest.at == rest.end) {
        heard((uint32_t)value);
    } else {
        device_refuse(REFUSED_MALFORMED);
    }
}

static void hear(const char *text, size_t length) {
    if (length == 0) { return; }
    size_t word = 0;
    while (word < length && text[word] != ' ') { word++; }
    struct rest rest = {text + word, text + length};
    bool alone = word == length;
#define IS(name) (word == sizeof name - 1 && memcmp(text, name, word) == 0)
    if (IS("s")) {
        hear_sample(rest);
    } else if (IS("begin")) {
        hear_number(rest, device_begin);
    } else if (IS("t")) {
        hear_number(rest, device_clock);
    } else if (IS("stream")) {
        hear_stream(rest);
    } else if (alone && IS("end")) {
        device_end();
    } else if (alone && IS("id")) {
        device_identity();
    } else if (alone && IS("st")) {
        device_status();
    } else if (alone && IS("ct")) {
        device_counters();
    } else if (alone && IS("reset")) {
        device_reset();
    } else {
        device_refuse(REFUSED_UNKNOWN);
    }
#undef IS
}

static void end_line(void) {
    size_t length = line_length;
    bool refused = too_long;
    line_length = 0;
    too_long = false;
    while (length > 0 && line[length - 1] == '\r') { length--; }
    if (refused) {
        device_refuse(REFUSED_TOO_LONG);
    } else {
        hear(line, length);
    }
}

void format_hear(const uint8_t *bytes, size_t count) {
    for (size_t i = 0; i < count; i++) {
        if (bytes[i] == '\n') {
            end_line();
        } else if (line_length < MAX_LINE) {
            line[line_length++] = (char)bytes[i];
        } else {
            too_long = true;
        }
    }
}
