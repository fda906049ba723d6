// The classifier: the host model (src/HilRunner.Core/Models/README.md) bit for bit, in integers. Knows no board and no protocol.
#ifndef MODEL_H
#define MODEL_H

#include <stdbool.h>
#include <stdint.h>

enum model_statistic {
    STATISTIC_MEAN,
    STATISTIC_DEVIATION,
    STATISTIC_MINIMUM,
    STATISTIC_MAXIMUM,
    STATISTIC_RANGE,
    STATISTIC_STEP,
    STATISTIC_ROUGHNESS,
    STATISTIC_PACE,
    STATISTIC_CROSSINGS,
};

// A series of the window that is that one of ax, ay, az which deviates most; the others are numbered as the table says.
#define SERIES_MAIN (-1)

// A question (statistic of series < below leads to node `then`, otherwise to `otherwise`), or a leaf where class >= 0.
struct model_node {
    int32_t below;
    int32_t hysteresis;  // how much lower while the last answer was otherwise
    int16_t then;
    int16_t otherwise;
    int16_t class;
    uint16_t per_mille;
    uint8_t statistic;
    int8_t series;
};

// Free fall and impact: |a| < below for `low` samples or more, then > above within `within` samples; then rest for `quiet`.
struct model_rule {
    int32_t below;
    int32_t low;
    int32_t above;
    int32_t within;
    int32_t quiet;
    int16_t class;
    uint16_t per_mille;
};

struct model_decision {
    int class;
    int per_mille;
};

// Forgets everything: as after a start.
void model_reset(void);

// Takes one sample, a count for each channel in the table's order. True when there is a decision: the class changed, or an event.
bool model_push(const int16_t *counts, struct model_decision *decision);

// The class reported last; false before the first one. Events are no classes in this sense.
bool model_current(struct model_decision *decision);

#endif
