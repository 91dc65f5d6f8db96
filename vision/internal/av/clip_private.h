// What clip.c and picture.c share; Go does not see it.
#ifndef ECART_AV_CLIP_PRIVATE_H
#define ECART_AV_CLIP_PRIVATE_H

#include <pthread.h>

#include <libavcodec/avcodec.h>
#include <libavformat/avformat.h>
#include <libswscale/swscale.h>

struct ec_clip {
    AVFormatContext *format;
    AVStream *stream;
    AVCodecContext *decoder;
    AVPacket *packet; // last read
    AVFrame *shown;   // last received
    struct SwsContext *scaler;
    int64_t max_pixels; // of a picture in square pixels
    AVBufferPool *pool; // of pictures of pool_size bytes
    size_t pool_size;
    pthread_mutex_t pooling;
};

int ec_buffer(AVCodecContext *d, AVFrame *f, int flags);

#endif
