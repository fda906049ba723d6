// Who this image is. IMAGE_VERSION ("1.2.3") and IMAGE_VERSION_NUMBER (1002003) come from the build.
#ifndef IMAGE_H
#define IMAGE_H

// First 16 hexadecimal digits of the SHA-256 of the image with this field as sixteen '0'; the build puts them in after linking.
extern const char image_hash[16];

#endif
