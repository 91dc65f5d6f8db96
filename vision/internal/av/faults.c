// Finds damage that a decoder does not report with the picture.
//
// With several threads a picture may be put out before its own packet has been decoded to the end, so that its
// flags come too late. H.264 fills in missing parts without a flag; HEVC leaves the memory as it was. Two signs
// remain: messages that the decoder logs while it works on a packet, and blocks of the picture that it has not
// written. Damage after which entropy decoding happens to continue to the last block leaves no sign here, since FFmpeg does
// not look whether the slice ends there: about half of it in HEVC, less in H.264. In HEVC package hevc finds it. The
// decoders' further checks (AV_EF_BITSTREAM to AV_EF_AGGRESSIVE) do not help: in TestDamageIsMarked of package take, of
// 12 packets each, the number missed went from 4 to 4 in HEVC and from 4 to 3 in H.264 with CAVLC.
#include "clip.h"

#include <string.h>

#include <libavcodec/avcodec.h>
#include <libavutil/pixdesc.h>

#include "clip_private.h"

// BLOCK is the side of the smallest unit that H.264 and HEVC write completely or not at all, in samples: a
// macroblock, the smallest coding tree block. At the right and bottom edges HEVC may have half a unit.
enum { BLOCK = 16 };

// mark is written into the middle of each block before decoding. By chance a picture has it in one block of
// 2^64.
static const uint64_t mark = 0x9e3779b97f4a7c15;

// middle returns the position at which the mark of a block begins, along one side of the picture. It is away from
// the edges of the block, which the filters of neighbouring blocks change.
static int middle(int from, int end, int length) { return from + ((end - from < BLOCK ? end - from : BLOCK) - length) / 2; }

// unmarked writes the mark into each block if put is set. Else it reports whether no block has the mark any more.
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
    // Further buffers of the same packet replace missing reference pictures, such as after a seek. H.264 asks for
    // them before the packet's own buffer, HEVC after it.
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

// A picture is put out once all packets up to its own have been decoded to the end, so that their buffers are
// complete. Among them are its reference pictures, which may be shown later.
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

// harmless reports whether an error message is not about a picture's content: an error in an SEI message, or a
// reference to drop that is missing, as after a seek to an open GOP.
static int harmless(const char *format) { return starts(format, "SEI") || starts(format, "mmco: unref short failure"); }

// listen receives each log message of the libraries and prints none. Damage is any error, and "concealing ...
// errors", which has a lower level.
static void listen(void *from, int level, const char *format, va_list args) {
    (void)args;
    if (!from || *(const AVClass **)from != avcodec_get_class()) return;
    AVCodecContext *d = from;
    int fault = level <= AV_LOG_ERROR ? !harmless(format) : starts(format, "concealing");
    if (fault && d->get_buffer2 == ec_coded_buffer) ec_coded_fault(d->opaque);
    if (d->get_buffer2 != ec_buffer || !d->opaque) return; // not a decoder opened here, such as those that probe a file
    if (fault) ec_fault(d->opaque);
}

void ec_listen(void) { av_log_set_callback(listen); }
