// What a decoder knows of damage and does not say with the picture.
//
// With several threads a picture may be handed on before its own packet has been decoded to the end,
// so that its flags come too late; H.264 fills in what is missing without a flag; HEVC leaves it as the
// memory was. Two things tell: what the decoder logs while it works on a packet, and blocks of the
// picture that it has not written. Damage after which the entropy code happens to go on to the last block tells
// nothing: about half of it in HEVC, less in H.264 (TestDamageIsMarked in package take has the figures).
#include "clip.h"

#include <string.h>

#include <libavcodec/avcodec.h>

#include "clip_private.h"

// BLOCK is the smallest unit of which H.264 and HEVC write all or nothing: a macroblock, the smallest
// coding tree block.
enum { BLOCK = 16 };

// mark stands in the middle of each block before it is decoded. A picture has it by chance in one block
// of 2^64.
static const uint64_t mark = 0x9e3779b97f4a7c15;

// place is where the mark of block (x, y) is: away from the edges, which filters of the blocks beside it
// change.
static uint8_t *place(const AVFrame *f, int x, int y) {
    return f->data[0] + (y * BLOCK + BLOCK / 2) * (ptrdiff_t)f->linesize[0] + x * BLOCK + BLOCK / 4;
}

void ec_mark_unwritten(AVFrame *f) {
    for (int y = 0; y < f->height / BLOCK; y++)
        for (int x = 0; x < f->width / BLOCK; x++) memcpy(place(f, x, y), &mark, sizeof mark);
}

int ec_is_unwritten(const AVFrame *f) {
    if (!f->buf[0] || f->data[0] != f->buf[0]->data) return 0; // not from ec_buffer, or cropped
    for (int y = 0; y < f->height / BLOCK; y++)
        for (int x = 0; x < f->width / BLOCK; x++)
            if (!memcmp(place(f, x, y), &mark, sizeof mark)) return 1;
    return 0;
}

void ec_fault(ec_sent *s) {
    ec_clip *c = s->clip;
    pthread_mutex_lock(&c->storing);
    if (!s->faulty && c->faults < EC_SENT) c->faulty[c->faults++] = s->pts;
    s->faulty = 1;
    pthread_mutex_unlock(&c->storing);
}

int ec_faults(ec_clip *c, int64_t *out) {
    pthread_mutex_lock(&c->storing);
    int n = c->faults;
    memcpy(out, c->faulty, n * sizeof *out);
    c->faults = 0;
    pthread_mutex_unlock(&c->storing);
    return n;
}

static int starts(const char *s, const char *with) { return !strncmp(s, with, strlen(with)); }

// harmless reports whether an error is about no picture: one in a message beside the pictures (SEI), or a picture
// that is to be dropped and is not there, as after a seek to an open group.
static int harmless(const char *format) { return starts(format, "SEI") || starts(format, "mmco: unref short failure"); }

// listen takes each message of the libraries. Nothing is printed. Errors count, and "concealing ... errors", which
// is logged below that level.
static void listen(void *from, int level, const char *format, va_list args) {
    (void)args;
    if (!from || *(const AVClass **)from != avcodec_get_class()) return;
    AVCodecContext *d = from;
    if (d->get_buffer2 != ec_buffer || !d->opaque) return; // not one of ours, such as those that look into a file
    if (level <= AV_LOG_ERROR ? !harmless(format) : starts(format, "concealing")) ec_fault(d->opaque);
}

void ec_listen(void) { av_log_set_callback(listen); }
