// Memory of decoded pictures. The system hands out memory in pages of 4 kB, and many pictures are held
// at a time; with pages of 2 MB, where it has them, the first touch costs less.
#define _GNU_SOURCE
#include "clip.h"

#include <stdlib.h>
#include <sys/mman.h>

#include <libavcodec/avcodec.h>
#include <libavutil/imgutils.h>

#include "clip_private.h"

enum { PAGE = 2 << 20 };

static void give_back(void *opaque, uint8_t *data) {
    (void)opaque;
    free(data);
}

static AVBufferRef *large(size_t size) {
    void *data = NULL;
    if (posix_memalign(&data, PAGE, size)) return NULL;
#ifdef MADV_HUGEPAGE
    madvise(data, size, MADV_HUGEPAGE);
#endif
    AVBufferRef *b = av_buffer_create(data, size, give_back, NULL, 0);
    if (!b) free(data);
    return b;
}

// ec_buffer gives a picture one block of memory for all of its planes.
int ec_buffer(AVCodecContext *d, AVFrame *f, int flags) {
    ec_clip *c = d->opaque;
    int w = f->width, h = f->height, align[AV_NUM_DATA_POINTERS], unaligned;
    if (!(d->codec->capabilities & AV_CODEC_CAP_DR1) || d->hw_frames_ctx) return avcodec_default_get_buffer2(d, f, flags);
    avcodec_align_dimensions2(d, &w, &h, align);
    int stride[4];
    ptrdiff_t stride_[4];
    size_t size[4], all = 0;
    // as wide as the decoder asks, and wider by its smallest power of two until all planes are aligned
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
    pthread_mutex_lock(&c->pooling); // the decoder's threads ask
    if (!c->pool || c->pool_size != all) {
        av_buffer_pool_uninit(&c->pool);
        c->pool = av_buffer_pool_init(all, large);
        c->pool_size = all;
    }
    f->buf[0] = c->pool ? av_buffer_pool_get(c->pool) : NULL;
    pthread_mutex_unlock(&c->pooling);
    if (!f->buf[0]) return AVERROR(ENOMEM);
    uint8_t *at = f->buf[0]->data;
    for (int i = 0; i < 4; i++) {
        f->linesize[i] = stride[i];
        f->data[i] = size[i] ? at : NULL;
        at += size[i];
    }
    f->extended_data = f->data;
    return 0;
}
