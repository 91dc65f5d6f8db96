// HEVC pictures that do not depend on others, such as the tiles of a still.
#ifndef ECART_AV_CODED_H
#define ECART_AV_CODED_H

#include "clip.h"

typedef struct ec_coded ec_coded;

// extra is the decoder's configuration, an hvcC record.
ec_coded *ec_coded_open(const uint8_t *extra, int size, int64_t max_pixels, int *status);
void ec_coded_close(ec_coded *c);

// ec_coded_decode decodes one picture. EC_END says that data holds none. The planes belong to out->frame.
int ec_coded_decode(ec_coded *c, const uint8_t *data, int size, ec_picture *out);

#endif
