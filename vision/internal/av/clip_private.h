// What the C files of this package share; Go does not see it.
#ifndef ECART_AV_CLIP_PRIVATE_H
#define ECART_AV_CLIP_PRIVATE_H

#include <pthread.h>

#include <libavcodec/avcodec.h>
#include <libavformat/avformat.h>
#include <libswscale/swscale.h>

#include "clip.h"

typedef struct ec_store ec_store;

// A packet on its way through the decoder, whose threads see it as the decoder's opaque pointer.
typedef struct {
    ec_clip *clip;
    int64_t pts;
    int faulty; // it is in the clip's list of faulty packets
} ec_sent;

// More packets than any decoder works on at a time: 16 threads, and 16 pictures held back.
enum { EC_SENT = EC_FAULTS };

// A buffer that a decoder writes a picture into, and has not been looked at for blocks that it left out.
typedef struct {
    AVBufferRef *buffer; // held until then
    uint8_t *luma;
    int stride, width, height, bytes; // bytes of a row; samples, as coded; bytes of a sample
    const ec_sent *of;                // the packet
    int64_t pts;                      // its time stamp
} ec_unchecked;

struct ec_clip {
    AVFormatContext *format;
    const int *stop;  // not 0 once calls are to end early
    int stopped;      // one has
    AVStream *stream;
    double shorter; // by how many seconds it is shorter than the longest video track, as far as the file says
    AVCodecContext *decoder;
    AVPacket *packet; // last read
    AVFrame *shown;   // last received
    struct SwsContext *scaler;
    int64_t max_pixels; // of a picture in square pixels
    ec_store *store; // of pictures' memory
    int too_wide, too_high; // size of a picture that was refused, since those in use take as much as they may; else 0
    pthread_mutex_t storing; // guards store, too_wide, too_high, sent[].faulty, faulty and unchecked
    ec_sent sent[EC_SENT];   // the packets last sent, in a ring
    int turn;                // of them, the next
    int64_t faulty[EC_SENT]; // time stamps of packets with faults that nobody has asked for yet
    int faults;
    ec_unchecked unchecked[EC_SENT]; // in decoding order
    int buffers;                     // how many those are
};

void ec_close_store(ec_store *s); // what is in use stays valid
int ec_buffer(AVCodecContext *d, AVFrame *f, int flags);

// ec_present says how the samples of a decoded frame lie, where convert.c reads them; out owns it then.
int ec_present(AVFrame *f, ec_picture *out);

// coded.c
int ec_coded_buffer(AVCodecContext *d, AVFrame *f, int flags); // memory in which blocks that are not written show
void ec_coded_fault(void *coded);

// faults.c
ec_unchecked ec_mark(const AVFrame *f);       // marks the blocks of a new buffer, of which no reference is taken
int ec_is_written(const ec_unchecked *u);     // whether all of them have been written since
void ec_watch(AVCodecContext *d, const AVFrame *f); // a new buffer; the caller holds storing
void ec_check(ec_clip *c, const AVFrame *shown);    // buffers up to that of a picture which has come out
void ec_unwatch(ec_clip *c);                        // all

#endif
