#include "model.h"

#include <stddef.h>
#include MODEL_TABLE

#define SERIES_A MODEL_CHANNELS
#define SERIES_G (MODEL_CHANNELS + 1)
#define HAS_GYRO (MODEL_GX >= 0 && MODEL_GY >= 0 && MODEL_GZ >= 0)
#define SERIES_COUNT (MODEL_CHANNELS + (HAS_GYRO ? 2 : 1))
#define MAX_COUNT 32767

#ifdef DEFECT_WINDOW
#define WINDOW (MODEL_WINDOW - 1)  // deliberate defect: one sample short
#else
#define WINDOW MODEL_WINDOW
#endif

struct statistics {
    int32_t mean;
    int32_t deviation;
    int32_t minimum;
    int32_t maximum;
    int32_t step;
    int32_t roughness;
    int32_t crossings;
};

struct rule_state {
    int32_t low;
    int32_t wait;
    int32_t quiet;
};

// Channels lie here as they are, magnitudes (up to 56754) as unsigned: see at(). Position is where the next sample goes,
// which is the oldest one of a full window.
static uint16_t series[SERIES_COUNT][WINDOW];
static struct statistics window_statistics[SERIES_COUNT];
static bool known[SERIES_COUNT];
// By node: whether its question was answered with otherwise when it was last asked.
static bool above[sizeof model_tree / sizeof model_tree[0]];
static int position;
static int filled;
static int until_window;
static int candidate;
static int candidate_runs;
static struct model_decision current;
#if MODEL_RULES > 0
static struct rule_state rule_states[MODEL_RULES];
#endif

// The largest r with r * r <= value, digit by digit.
static uint32_t root(uint64_t value) {
    uint64_t rest = value;
    uint64_t found = 0;
    uint64_t bit = 1ULL << 62;
    while (bit > rest) { bit >>= 2; }
    while (bit != 0) {
        if (rest >= found + bit) {
            rest -= found + bit;
            found = (found >> 1) + bit;
        } else {
            found >>= 1;
        }
        bit >>= 2;
    }
    return (uint32_t)found;
}

static int32_t at(int which, int place) {
    uint16_t raw = series[which][place];
    return which < MODEL_CHANNELS ? (int16_t)raw : (int32_t)raw;
}

static int next(int place) { return place + 1 == WINDOW ? 0 : place + 1; }

// The band keeps sensor noise round the mean from counting as motion.
static int32_t count_crossings(int which, int32_t mean, int32_t band) {
    int side = 0;
    int32_t crossings = 0;
    int place = position;
    for (int i = 0; i < WINDOW; i++, place = next(place)) {
        int32_t off = at(which, place) - mean;
        int now = off > band ? 1 : off < -band ? -1 : 0;
        if (now == 0 || now == side) { continue; }
        if (side != 0) { crossings++; }
        side = now;
    }
    return crossings;
}

static const struct statistics *statistics_of(int which) {
    struct statistics *s = &window_statistics[which];
    if (known[which]) { return s; }
    int64_t sum = 0, squares = 0, steps = 0, step_squares = 0;
    int place = position;
    int32_t previous = at(which, place);
    s->minimum = previous;
    s->maximum = previous;
    for (int i = 0; i < WINDOW; i++, place = next(place)) {
        int32_t value = at(which, place);
        int64_t step = value - previous;
        sum += value;
        squares += (int64_t)value * value;
        steps += step < 0 ? -step : step;
        step_squares += step * step;
        if (value < s->minimum) { s->minimum = value; }
        if (value > s->maximum) { s->maximum = value; }
        previous = value;
    }
    const int64_t count = WINDOW;
    s->mean = (int32_t)(sum / count);
    s->deviation = (int32_t)root((uint64_t)((count * squares - sum * sum) / (count * count)));
    s->step = (int32_t)(steps / (count - 1));
    s->roughness = (int32_t)root((uint64_t)(step_squares / (count - 1)));
    s->crossings = count_crossings(which, s->mean, s->deviation / 2);
    known[which] = true;
    return s;
}

static int main_axis(void) {
    static const int axes[] = {MODEL_AX, MODEL_AY, MODEL_AZ};
    int main = axes[0];
    for (int i = 1; i < 3; i++) {
        if (statistics_of(axes[i])->deviation > statistics_of(main)->deviation) { main = axes[i]; }
    }
    return main;
}

static int32_t value_of(int statistic, int which) {
    const struct statistics *s = statistics_of(which == SERIES_MAIN ? main_axis() : which);
    switch (statistic) {
        case STATISTIC_MEAN: return s->mean;
        case STATISTIC_DEVIATION: return s->deviation;
        case STATISTIC_MINIMUM: return s->minimum;
        case STATISTIC_MAXIMUM: return s->maximum;
        case STATISTIC_RANGE: return s->maximum - s->minimum;
        case STATISTIC_STEP: return s->step;
        case STATISTIC_ROUGHNESS: return s->roughness;
        case STATISTIC_PACE: return s->deviation == 0 ? 0 : 1000 * s->roughness / s->deviation;
        default: return s->crossings;
    }
}

static int32_t threshold(const struct model_node *node) {
#ifdef DEFECT_THRESHOLD
    if (node == &model_tree[MODEL_LAST_QUESTION]) { return 2 * node->below; }  // deliberate defect: one threshold doubled
#endif
    return node->below - (above[node - model_tree] ? node->hysteresis : 0);
}

static const struct model_node *classify(void) {
    const struct model_node *node = model_tree;
    while (node->class < 0) {
        bool below = value_of(node->statistic, node->series) < threshold(node);
        above[node - model_tree] = !below;
        node = &model_tree[below ? node->then : node->otherwise];
    }
    return node;
}

static bool confirmed(int found) {
#ifdef DEFECT_COUNT
    const int needed = 1;  // deliberate defect: no confirmation
#else
    const int needed = model_confirm[found];
#endif
    if (found != candidate) {
        candidate = found;
        candidate_runs = 0;
    }
    if (candidate_runs < needed) { candidate_runs++; }
    return candidate_runs == needed && found != current.class;
}

static void restart_window(void) {
    filled = 0;
    until_window = 1;
    candidate = -1;
    candidate_runs = 0;
}

static uint16_t length(const int *axes) {
    uint64_t squares = 0;
    for (int i = 0; i < 3; i++) {
        int64_t value = at(axes[i], position);
        squares += (uint64_t)(value * value);
    }
    return (uint16_t)root(squares);
}

// Returns |a| of the sample.
static int32_t store(const int16_t *counts) {
    static const int acceleration[] = {MODEL_AX, MODEL_AY, MODEL_AZ};
    for (int channel = 0; channel < MODEL_CHANNELS; channel++) {
        int16_t cut = counts[channel] < -MAX_COUNT ? -MAX_COUNT : counts[channel];
        series[channel][position] = (uint16_t)cut;
    }
    int32_t magnitude = length(acceleration);
    series[SERIES_A][position] = (uint16_t)magnitude;
#if HAS_GYRO
    static const int gyro[] = {MODEL_GX, MODEL_GY, MODEL_GZ};
    series[SERIES_G][position] = length(gyro);
#endif
    for (int i = 0; i < SERIES_COUNT; i++) { known[i] = false; }
    position = next(position);
    return magnitude;
}

static bool window_due(void) {
    if (filled < WINDOW) { filled++; }
    if (filled < WINDOW || --until_window > 0) { return false; }
    until_window = MODEL_HOP;
    return true;
}

#if MODEL_RULES > 0
static bool step_rule(struct rule_state *state, const struct model_rule *rule, int32_t magnitude) {
    if (state->quiet > 0) {
        state->quiet--;
        return false;
    }
    if (magnitude >= rule->below) {
        state->low = 0;
    } else if (state->low < rule->low) {
        state->low++;
    }
    if (state->low == rule->low) {
        state->wait = rule->within;
        return false;
    }
    if (state->wait == 0) { return false; }
    state->wait--;
    if (magnitude <= rule->above) { return false; }
    state->wait = 0;
    state->quiet = rule->quiet;
    return true;
}
#endif

// Every rule takes every sample; the first that finds something is reported.
static const struct model_rule *event(int32_t magnitude) {
    const struct model_rule *found = NULL;
#if MODEL_RULES > 0
    for (int i = 0; i < MODEL_RULES; i++) {
        if (step_rule(&rule_states[i], &model_rules[i], magnitude) && found == NULL) { found = &model_rules[i]; }
    }
#else
    (void)magnitude;
#endif
    return found;
}

void model_reset(void) {
#if MODEL_RULES > 0
    for (int i = 0; i < MODEL_RULES; i++) { rule_states[i] = (struct rule_state){0}; }
#endif
    for (size_t i = 0; i < sizeof above; i++) { above[i] = false; }
    restart_window();
    position = 0;
    current = (struct model_decision){.class = -1};
}

bool model_push(const int16_t *counts, struct model_decision *decision) {
    int32_t magnitude = store(counts);
    bool due = window_due();
    const struct model_rule *rule = event(magnitude);
    if (rule != NULL) {
        // A window that holds a fall and an impact says nothing about the state before or after.
        restart_window();
        *decision = (struct model_decision){rule->class, rule->per_mille};
        return true;
    }
    if (!due) { return false; }
    const struct model_node *leaf = classify();
    if (!confirmed(leaf->class)) { return false; }
    current = (struct model_decision){leaf->class, leaf->per_mille};
    *decision = current;
    return true;
}

bool model_current(struct model_decision *decision) {
    *decision = current;
    return current.class >= 0;
}
