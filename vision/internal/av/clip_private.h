// What clip.c and picture.c share; Go does not see it.
#ifndef ECART_AV_CLIP_PRIVATE_H
#define ECART_AV_CLIP_PRIVATE_H

#include <pthread.h>

#include <libavcodec/avcodec.h>
#include <libavformat/avformat.h>
#include <libswscale/swscale.h>

typedef struct ec_store ec_store;

struct ec_clip {
    AVFormatContext *format;
    AVStream *stream;
    AVCodecContext *decoder;
    AVPacket *packet; // last read
    AVFrame *shown;   // last received
    struct SwsContext *scaler;
    int64_t max_pixels; // of a picture in square pixels
    ec_store *store; // of pictures' memory
    pthread_mutex_t storing;
};

void ec_close_store(ec_store *s); // what is in use stays valid
int ec_buffer(AVCodecContext *d, AVFrame *f, int flags);

#endif
