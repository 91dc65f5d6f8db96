// Declarations shared by the C files of this package, not visible to Go.
#ifndef ECART_AV_CLIP_PRIVATE_H
#define ECART_AV_CLIP_PRIVATE_H

#include <pthread.h>

#include <libavcodec/avcodec.h>
#include <libavformat/avformat.h>
#include <libswscale/swscale.h>

#include "clip.h"

typedef struct ec_store ec_store;

// A packet that is being decoded. The decoder's threads get it as the decoder's opaque pointer.
typedef struct {
    ec_clip *clip;
    int64_t pts;
    int faulty; // already in the clip's list of faulty packets
} ec_sent;

// More packets than any decoder works on at a time: 16 threads and 16 pictures held back.
enum { EC_SENT = EC_FAULTS };

// A buffer that a decoder writes a picture into, and that has not been checked yet for unwritten blocks.
typedef struct {
    AVBufferRef *buffer; // a reference, held until the check
    uint8_t *luma;
    int stride, width, height, bytes; // bytes per row; coded size in samples; bytes per sample
    const ec_sent *of;                // the packet
    int64_t pts;                      // its time stamp
} ec_unchecked;

struct ec_clip {
    AVFormatContext *format;
    const int *stop;  // not 0: calls must end early
    int stopped;      // a call has ended early
    AVStream *stream;
    double shorter; // seconds by which the longest video track is longer, as far as the file states
    AVCodecContext *decoder;
    AVPacket *packet; // last read
    AVFrame *shown;   // last received
    struct SwsContext *scaler;
    int64_t max_pixels; // of a picture in square pixels
    ec_store *store; // memory of pictures
    int too_wide, too_high; // size of a picture that was refused memory, since those in use would exceed EC_MOST; else 0
    pthread_mutex_t storing; // guards store, too_wide, too_high, sent[].faulty, faulty and unchecked
    ec_sent sent[EC_SENT];   // the packets last sent, in a ring
    int turn;                // number of the next entry, modulo EC_SENT
    int64_t faulty[EC_SENT]; // time stamps of damaged packets, not yet returned by ec_faults
    int faults;
    ec_unchecked unchecked[EC_SENT]; // in decoding order
    int buffers;                     // number of entries in unchecked
};

void ec_close_store(ec_store *s); // blocks in use stay valid
int ec_buffer(AVCodecContext *d, AVFrame *f, int flags);

// ec_present describes the samples of a decoded frame in out, which then owns the frame. It fails if convert.c
// cannot read the format.
int ec_present(AVFrame *f, ec_picture *out);

// coded.c
int ec_coded_buffer(AVCodecContext *d, AVFrame *f, int flags); // memory in which unwritten blocks can be detected
void ec_coded_fault(void *coded);

// faults.c
ec_unchecked ec_mark(const AVFrame *f);       // marks the blocks of a new buffer; takes no reference to it
int ec_is_written(const ec_unchecked *u);     // whether all blocks have been written since
void ec_watch(AVCodecContext *d, const AVFrame *f); // registers a new buffer for ec_check; the caller holds storing
void ec_check(ec_clip *c, const AVFrame *shown);    // checks the buffers up to that of a picture which has been put out
void ec_unwatch(ec_clip *c);                        // drops all registered buffers

#endif
