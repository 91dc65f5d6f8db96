// Memory of decoded pictures. Many pictures are held at a time. With pages of 2 MB instead of 4 kB, where the
// system has them, the first access costs less.
#define _GNU_SOURCE
#include "clip.h"

#include <stdlib.h>
#include <sys/mman.h>

#include <libavcodec/avcodec.h>
#include <libavutil/imgutils.h>

#include "clip_private.h"

enum { PAGE = 2 << 20 };

// What a decoder keeps besides the planes, in bytes for each 16 pixels: MOTION with each picture, HEVC 12 for
// the motion of a block of 4 by 4 (MvField in libavcodec/hevcdec.h), H.264 less; TABLES once, H.264 about 100
// for each macroblock.
enum { MOTION = 12, TABLES = 8 };

// SPARE is the number of free blocks kept for the next pictures; a decoder seldom frees more before it asks for
// one. Further blocks go back to the system, since the decoder may not need as many again.
enum { SPARE = 8 };

// A store holds equal blocks of memory. It lives as long as its clip or any of its pictures.
struct ec_store {
    pthread_mutex_t lock;
    size_t size; // of a block
    int users;   // the clip, and blocks in use
    int closed;  // the clip is gone
    int spares;
    uint8_t *spare[SPARE];
};

static size_t pages(size_t size) { return (size + 4095) / 4096 * 4096; }

static uint8_t *block(size_t size) {
    size_t all = pages(size) + PAGE;
    uint8_t *p = mmap(NULL, all, PROT_READ | PROT_WRITE, MAP_PRIVATE | MAP_ANONYMOUS, -1, 0);
    if (p == MAP_FAILED) return NULL;
    size_t before = (PAGE - (uintptr_t)p % PAGE) % PAGE;
    if (before) munmap(p, before);
    munmap(p + before + pages(size), PAGE - before);
#ifdef MADV_HUGEPAGE
    madvise(p + before, pages(size), MADV_HUGEPAGE);
#endif
    return p + before;
}

// leave removes one user, unlocks, and frees the store after the last user.
static void leave(ec_store *s) {
    int last = --s->users == 0;
    while (s->closed && s->spares) munmap(s->spare[--s->spares], pages(s->size));
    pthread_mutex_unlock(&s->lock);
    if (!last) return;
    pthread_mutex_destroy(&s->lock);
    free(s);
}

static void give_back(void *opaque, uint8_t *data) {
    ec_store *s = opaque;
    pthread_mutex_lock(&s->lock);
    if (!s->closed && s->spares < SPARE)
        s->spare[s->spares++] = data;
    else
        munmap(data, pages(s->size));
    leave(s);
}

static ec_store *open_store(size_t size) {
    ec_store *s = calloc(1, sizeof *s);
    if (!s) return NULL;
    pthread_mutex_init(&s->lock, NULL);
    s->size = size;
    s->users = 1;
    return s;
}

void ec_close_store(ec_store *s) {
    if (!s) return;
    pthread_mutex_lock(&s->lock);
    s->closed = 1;
    leave(s);
}

static AVBufferRef *take(ec_store *s) {
    pthread_mutex_lock(&s->lock);
    uint8_t *data = s->spares ? s->spare[--s->spares] : block(s->size);
    if (data) s->users++;
    pthread_mutex_unlock(&s->lock);
    AVBufferRef *b = data ? av_buffer_create(data, s->size, give_back, s, 0) : NULL;
    if (data && !b) give_back(s, data);
    return b;
}

static int in_use(ec_store *s) {
    pthread_mutex_lock(&s->lock);
    int n = s->users - 1; // without the clip
    pthread_mutex_unlock(&s->lock);
    return n;
}

void ec_too_large(ec_clip *c, int *width, int *height) {
    pthread_mutex_lock(&c->storing);
    *width = c->too_wide, *height = c->too_high;
    pthread_mutex_unlock(&c->storing);
}

// ec_buffer allocates one block of memory for all planes of a picture.
int ec_buffer(AVCodecContext *d, AVFrame *f, int flags) {
    ec_clip *c = ((ec_sent *)d->opaque)->clip;
    int w = f->width, h = f->height, align[AV_NUM_DATA_POINTERS], unaligned;
    if (!(d->codec->capabilities & AV_CODEC_CAP_DR1) || d->hw_frames_ctx) return avcodec_default_get_buffer2(d, f, flags);
    avcodec_align_dimensions2(d, &w, &h, align);
    int stride[4];
    ptrdiff_t stride_[4];
    size_t size[4], all = 0;
    // widen the row by its lowest set bit until all planes are aligned
    do {
        int r = av_image_fill_linesizes(stride, f->format, w);
        if (r < 0) return r;
        w += w & ~(w - 1);
        unaligned = 0;
        for (int i = 0; i < 4; i++) unaligned |= stride[i] % align[i];
    } while (unaligned);
    for (int i = 0; i < 4; i++) stride_[i] = stride[i];
    int r = av_image_fill_plane_sizes(size, f->format, h, stride_);
    if (r < 0) return r;
    for (int i = 0; i < 4; i++) size[i] = size[i] ? (size[i] + 16 + 127) / 64 * 64 : 0, all += size[i];
    int64_t blocks = (int64_t)f->width * f->height / 16;
    pthread_mutex_lock(&c->storing); // called from the decoder's threads
    if (!c->store || c->store->size != all) {
        ec_close_store(c->store);
        c->store = open_store(all);
    }
    if (c->store && (in_use(c->store) + 1) * (int64_t)(all + blocks * MOTION) + blocks * TABLES > EC_MOST)
        c->too_wide = f->width, c->too_high = f->height;
    else
        f->buf[0] = c->store ? take(c->store) : NULL;
    uint8_t *at = f->buf[0] ? f->buf[0]->data : NULL;
    for (int i = 0; at && i < 4; i++) {
        f->linesize[i] = stride[i];
        f->data[i] = size[i] ? at : NULL;
        at += size[i];
    }
    f->extended_data = f->data;
    if (at) ec_watch(d, f);
    pthread_mutex_unlock(&c->storing);
    return at ? 0 : AVERROR(ENOMEM);
}
