// activity.h: the classifier 'activity', made from its model file by rigs/emulated/MakeTable.cs; do not edit.
#define MODEL_NAME "activity"
#define MODEL_RATE_MILLIHERTZ 50000
#define MODEL_WINDOW 128
#define MODEL_HOP 25
#define MODEL_CHANNELS 3
#define MODEL_AX 0
#define MODEL_AY 1
#define MODEL_AZ 2
#define MODEL_GX (-1)
#define MODEL_GY (-1)
#define MODEL_GZ (-1)
#define MODEL_CLASSES 3
#define MODEL_RULES 0
#define MODEL_LAST_QUESTION 1

#define TABLE static const __attribute__((unused))

TABLE char *const model_class_names[MODEL_CLASSES] = {"walking", "upright", "lying"};

#ifdef MODEL_H
TABLE uint16_t model_confirm[MODEL_CLASSES] = {3, 3, 3};

TABLE struct model_node model_tree[5] = {
    [0] = {.class = -1, .statistic = STATISTIC_DEVIATION, .series = 3, .below = 123, .hysteresis = 0, .then = 1, .otherwise = 4},
    [1] = {.class = -1, .statistic = STATISTIC_MINIMUM, .series = 0, .below = 329, .hysteresis = 0, .then = 2, .otherwise = 3},
    [2] = {.class = 2, .per_mille = 986},  // lying
    [3] = {.class = 1, .per_mille = 993},  // upright
    [4] = {.class = 0, .per_mille = 995},  // walking
};
#endif

#undef TABLE
