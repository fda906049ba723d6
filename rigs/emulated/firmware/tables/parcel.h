// parcel.h: the classifier 'parcel-tag', made from its model file by rigs/emulated/MakeTable.cs; do not edit.
#define MODEL_NAME "parcel-tag"
#define MODEL_RATE_MILLIHERTZ 100000
#define MODEL_WINDOW 128
#define MODEL_HOP 25
#define MODEL_CHANNELS 3
#define MODEL_AX 0
#define MODEL_AY 1
#define MODEL_AZ 2
#define MODEL_GX (-1)
#define MODEL_GY (-1)
#define MODEL_GZ (-1)
#define MODEL_CLASSES 4
#define MODEL_RULES 1
#define MODEL_LAST_QUESTION 2

#define TABLE static const __attribute__((unused))

TABLE char *const model_class_names[MODEL_CLASSES] = {"resting", "carried", "conveyed", "dropped"};

#ifdef MODEL_H
TABLE uint16_t model_confirm[MODEL_CLASSES] = {3, 3, 3, 1};

TABLE struct model_node model_tree[5] = {
    [0] = {.class = -1, .statistic = STATISTIC_DEVIATION, .series = SERIES_MAIN, .below = 38, .hysteresis = 0, .then = 1, .otherwise = 2},
    [1] = {.class = 0, .per_mille = 980},  // resting
    [2] = {.class = -1, .statistic = STATISTIC_PACE, .series = SERIES_MAIN, .below = 520, .hysteresis = 0, .then = 3, .otherwise = 4},
    [3] = {.class = 1, .per_mille = 950},  // carried
    [4] = {.class = 2, .per_mille = 960},  // conveyed
};

TABLE struct model_rule model_rules[MODEL_RULES] = {
    {.below = 350, .low = 20, .above = 2500, .within = 12, .quiet = 100, .class = 3, .per_mille = 990},  // dropped
};
#endif

#undef TABLE
