// Converts a decoded frame to a picture in square pixels whose samples convert.c can read.
#include "clip.h"

#include <string.h>

#include <libavutil/imgutils.h>
#include <libavutil/pixdesc.h>

#include "clip_private.h"

// plain reports whether convert.c can read a format directly: planar luma and chroma, or luma only, of
// 8 to 16 bits in the machine's own byte order.
static int plain(const AVPixFmtDescriptor *d) {
    uint64_t odd = AV_PIX_FMT_FLAG_RGB | AV_PIX_FMT_FLAG_PAL | AV_PIX_FMT_FLAG_BITSTREAM |
                   AV_PIX_FMT_FLAG_HWACCEL | AV_PIX_FMT_FLAG_BAYER | AV_PIX_FMT_FLAG_FLOAT;
    if (d->flags & odd || d->nb_components == 2) return 0;
    int depth = d->comp[0].depth, planes = d->nb_components == 1 ? 1 : 3;
    if (depth < 8 || depth > 16) return 0;
    if (depth > 8 && (d->flags & AV_PIX_FMT_FLAG_BE)) return 0;
    for (int i = 0; i < planes; i++) {
        const AVComponentDescriptor *p = &d->comp[i];
        if (p->plane != i || p->depth != depth || p->shift || p->offset) return 0;
        if (p->step != (depth + 7) / 8) return 0;
    }
    return 1;
}

// nearest returns the plain format that loses nothing of d that is needed here.
static enum AVPixelFormat nearest(const AVPixFmtDescriptor *d) {
    if (d->flags & (AV_PIX_FMT_FLAG_RGB | AV_PIX_FMT_FLAG_PAL | AV_PIX_FMT_FLAG_BAYER)) return AV_PIX_FMT_RGBA;
    int deep = d->comp[0].depth > 8;
    if (d->nb_components < 3) return deep ? AV_PIX_FMT_GRAY16 : AV_PIX_FMT_GRAY8;
    if (d->log2_chroma_h) return deep ? AV_PIX_FMT_YUV420P16 : AV_PIX_FMT_YUV420P;
    if (d->log2_chroma_w) return deep ? AV_PIX_FMT_YUV422P16 : AV_PIX_FMT_YUV422P;
    return deep ? AV_PIX_FMT_YUV444P16 : AV_PIX_FMT_YUV444P;
}

// square computes the size in square pixels. The shorter side of a pixel is stretched, so that no sample
// is lost. A pixel aspect ratio beyond 8:1 counts as a mistake in the file and is ignored.
static void square(AVRational shape, int w, int h, int *sw, int *sh) {
    *sw = w;
    *sh = h;
    if (shape.num <= 0 || shape.den <= 0 || shape.num == shape.den) return;
    if (shape.num > 8LL * shape.den || shape.den > 8LL * shape.num) return;
    if (shape.num > shape.den)
        *sw = av_rescale(w, shape.num, shape.den);
    else
        *sh = av_rescale(h, shape.den, shape.num);
}

// convert makes a new frame of the given size and format.
static int convert(ec_clip *c, const AVFrame *from, enum AVPixelFormat format, int w, int h, AVFrame *to) {
    int flags = SWS_BICUBIC | SWS_ACCURATE_RND | SWS_BITEXACT | SWS_FULL_CHR_H_INP | SWS_FULL_CHR_H_INT;
    c->scaler = sws_getCachedContext(c->scaler, from->width, from->height, from->format, w, h, format, flags,
                                     NULL, NULL, NULL);
    if (!c->scaler) return AVERROR(EINVAL);
    to->format = format;
    to->width = w;
    to->height = h;
    int r = av_frame_get_buffer(to, 0);
    if (r < 0) return r;
    r = sws_scale(c->scaler, (const uint8_t *const *)from->data, from->linesize, 0, from->height, to->data,
                  to->linesize);
    return r < 0 ? r : av_frame_copy_props(to, from);
}

// fill describes the samples of a frame in out, which then owns the frame.
static void fill(AVFrame *f, ec_picture *out) {
    const AVPixFmtDescriptor *d = av_pix_fmt_desc_get(f->format);
    out->layout = f->format == AV_PIX_FMT_RGBA ? EC_RGBA : d->nb_components == 1 ? EC_GREY : EC_YUV;
    out->depth = d->comp[0].depth;
    out->shift_x = d->log2_chroma_w;
    out->shift_y = d->log2_chroma_h;
    for (int i = 0; i < (out->layout == EC_YUV ? 3 : 1); i++) {
        out->plane[i] = f->data[i];
        out->stride[i] = f->linesize[i];
    }
    out->frame = f;
}

int ec_take(ec_clip *c, ec_picture *out) {
    const AVFrame *in = c->shown;
    const AVPixFmtDescriptor *d = av_pix_fmt_desc_get(in->format);
    if (!d || (d->flags & AV_PIX_FMT_FLAG_HWACCEL) || !in->data[0]) return AVERROR(EINVAL);
    memset(out, 0, sizeof *out);
    out->stored_width = in->width;
    out->stored_height = in->height;
    square(av_guess_sample_aspect_ratio(c->format, c->stream, c->shown), in->width, in->height, &out->width,
           &out->height);

    if ((int64_t)out->width * out->height > c->max_pixels) return AVERROR(ERANGE);

    AVFrame *f = av_frame_alloc();
    if (!f) return AVERROR(ENOMEM);
    enum AVPixelFormat format = plain(d) ? in->format : nearest(d);
    int upside_down = in->linesize[0] < 0 || in->linesize[1] < 0 || in->linesize[2] < 0;
    int r;
    if (format == in->format && !upside_down && out->width == in->width && out->height == in->height)
        r = av_frame_ref(f, in);
    else
        r = convert(c, in, format, out->width, out->height, f);
    if (r < 0) {
        av_frame_free(&f);
        return r;
    }

    // yuvj formats say "full range" by their name alone.
    out->full = in->color_range == AVCOL_RANGE_JPEG || !strncmp(d->name, "yuvj", 4);
    out->space = in->colorspace;
    out->siting = in->chroma_location;
    fill(f, out);
    return EC_OK;
}

int ec_present(AVFrame *f, ec_picture *out) {
    const AVPixFmtDescriptor *d = av_pix_fmt_desc_get(f->format);
    if (!d || !plain(d) || f->linesize[0] <= 0) return AVERROR(EINVAL);
    memset(out, 0, sizeof *out);
    fill(f, out);
    return EC_OK;
}

void ec_release(void *frame) {
    AVFrame *f = frame;
    av_frame_free(&f);
}
