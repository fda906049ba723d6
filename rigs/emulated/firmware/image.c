#include "image.h"

// A section of its own, so that the build can replace it without knowing its address.
__attribute__((section(".image_hash"))) const char image_hash[16] = {
    '0', '0', '0', '0', '0', '0', '0', '0', '0', '0', '0', '0', '0', '0', '0', '0',
};
