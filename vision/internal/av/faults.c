// What a decoder knows of damage and does not say with the picture.
//
// With several threads a picture may be handed on before its own packet has been decoded to the end,
// so that its flags come too late; H.264 fills in what is missing without a flag; HEVC leaves it as the
// memory was. Two things tell: what the decoder logs while it works on a packet, and blocks of the
// picture that it has not written. Damage after which the entropy code happens to go on to the last block tells
// nothing: about half of it in HEVC without sums of its pictures, less in H.264 (TestDamageIsMarked in package take has the figures).
// The decoders' further checks of a stream (AV_EF_BITSTREAM to AV_EF_AGGRESSIVE) help no more: in that test, of 12 packets each,
// those missed went from 4 to 4 in HEVC and from 4 to 3 in H.264 with CAVLC.
#include "clip.h"

#include <string.h>

#include <libavcodec/avcodec.h>
#include <libavutil/pixdesc.h>

#include "clip_private.h"

// BLOCK is the smallest unit of which H.264 and HEVC write all or nothing: a macroblock, the smallest
// coding tree block. At the right and at the bottom of HEVC there may be half of one.
enum { BLOCK = 16 };

// mark stands in the middle of each block before it is decoded. A picture has it by chance in one block
// of 2^64.
static const uint64_t mark = 0x9e3779b97f4a7c15;

// middle is where the mark of a block begins, along one side of the picture: away from the edges of a whole block,
// which filters of the blocks beside it change.
static int middle(int from, int end, int length) { return from + ((end - from < BLOCK ? end - from : BLOCK) - length) / 2; }

// unmarked puts the mark into each block, or reports whether all of them are gone.
static int unmarked(const ec_unchecked *u, int put) {
    int length = sizeof mark / u->bytes;
    for (int y = 0; y < u->height; y += BLOCK)
        for (int x = 0; x + length <= u->width; x += BLOCK) {
            uint8_t *at = u->luma + middle(y, u->height, 0) * (ptrdiff_t)u->stride + middle(x, u->width, length) * u->bytes;
            if (put)
                memcpy(at, &mark, sizeof mark);
            else if (!memcmp(at, &mark, sizeof mark))
                return 0;
        }
    return 1;
}

ec_unchecked ec_mark(const AVFrame *f) {
    const AVPixFmtDescriptor *p = av_pix_fmt_desc_get(f->format);
    ec_unchecked u = {.luma = f->data[0], .stride = f->linesize[0], .width = f->width, .height = f->height, .bytes = p->comp[0].step};
    unmarked(&u, 1);
    return u;
}

int ec_is_written(const ec_unchecked *u) { return unmarked(u, 0); }

void ec_watch(AVCodecContext *d, const AVFrame *f) {
    if (d->codec_id != AV_CODEC_ID_H264 && d->codec_id != AV_CODEC_ID_HEVC) return; // others may leave out blocks
    ec_sent *s = d->opaque;
    ec_clip *c = s->clip;
    ec_unchecked u = ec_mark(f);
    u.of = s, u.pts = s->pts;
    if (!(u.buffer = av_buffer_ref(f->buf[0]))) return;
    // others of the same packet stand for pictures that are not there, such as after a seek: H.264 asks for them
    // before the packet's own, HEVC after it
    if (c->buffers && c->unchecked[c->buffers - 1].of == s) {
        if (d->codec_id == AV_CODEC_ID_HEVC) {
            av_buffer_unref(&u.buffer);
            return;
        }
        av_buffer_unref(&c->unchecked[--c->buffers].buffer);
    }
    if (c->buffers == EC_SENT) {
        av_buffer_unref(&c->unchecked[0].buffer);
        memmove(c->unchecked, c->unchecked + 1, --c->buffers * sizeof u);
    }
    c->unchecked[c->buffers++] = u;
}

static void fault(ec_clip *c, int64_t pts) {
    if (c->faults < EC_SENT) c->faulty[c->faults++] = pts;
}

// A picture comes out once all packets up to its own have been decoded to the end, so that nothing will be written
// any more into their buffers. Among them are those that it was predicted from, which may be shown later.
void ec_check(ec_clip *c, const AVFrame *shown) {
    ec_unchecked list[EC_SENT];
    int n = 0;
    pthread_mutex_lock(&c->storing);
    for (int i = 0; shown->buf[0] && i < c->buffers; i++)
        if (c->unchecked[i].buffer->data == shown->buf[0]->data) n = i + 1;
    memcpy(list, c->unchecked, n * sizeof *list);
    c->buffers -= n;
    memmove(c->unchecked, c->unchecked + n, c->buffers * sizeof *list);
    pthread_mutex_unlock(&c->storing);
    for (int i = 0; i < n; i++) {
        if (!unmarked(&list[i], 0)) {
            pthread_mutex_lock(&c->storing);
            fault(c, list[i].pts);
            pthread_mutex_unlock(&c->storing);
        }
        av_buffer_unref(&list[i].buffer);
    }
}

void ec_unwatch(ec_clip *c) {
    pthread_mutex_lock(&c->storing);
    while (c->buffers) av_buffer_unref(&c->unchecked[--c->buffers].buffer);
    pthread_mutex_unlock(&c->storing);
}

static void ec_fault(ec_sent *s) {
    ec_clip *c = s->clip;
    pthread_mutex_lock(&c->storing);
    if (!s->faulty) fault(c, s->pts);
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
    int fault = level <= AV_LOG_ERROR ? !harmless(format) : starts(format, "concealing");
    if (fault && d->get_buffer2 == ec_coded_buffer) ec_coded_fault(d->opaque);
    if (d->get_buffer2 != ec_buffer || !d->opaque) return; // not one of ours, such as those that look into a file
    if (fault) ec_fault(d->opaque);
}

void ec_listen(void) { av_log_set_callback(listen); }
