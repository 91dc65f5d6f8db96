#include "coded.h"

#include <string.h>

#include <libavcodec/avcodec.h>

#include "clip_private.h"

struct ec_coded {
    AVCodecContext *decoder;
    AVPacket *packet;
    int faulty; // the decoder has found damage
    ec_unchecked last; // the last buffer that the decoder asked for
};

void ec_coded_fault(void *coded) { ((ec_coded *)coded)->faulty = 1; }

int ec_coded_buffer(AVCodecContext *d, AVFrame *f, int flags) {
    int r = avcodec_default_get_buffer2(d, f, flags);
    if (r >= 0) ((ec_coded *)d->opaque)->last = ec_mark(f);
    return r;
}

ec_coded *ec_coded_open(const uint8_t *extra, int size, int64_t max_pixels, int *status) {
    const AVCodec *codec = avcodec_find_decoder(AV_CODEC_ID_HEVC);
    *status = EC_NO_DECODER;
    if (!codec) return NULL;
    ec_coded *c = av_mallocz(sizeof *c);
    *status = AVERROR(ENOMEM);
    if (!c) return NULL;
    c->packet = av_packet_alloc();
    c->decoder = avcodec_alloc_context3(codec);
    if (!c->packet || !c->decoder) goto fail;
    c->decoder->extradata = av_mallocz(size + AV_INPUT_BUFFER_PADDING_SIZE);
    if (!c->decoder->extradata) goto fail;
    memcpy(c->decoder->extradata, extra, size);
    c->decoder->extradata_size = size;
    c->decoder->thread_count = 1;
    c->decoder->max_pixels = max_pixels;
    c->decoder->get_buffer2 = ec_coded_buffer;
    c->decoder->opaque = c;
    c->decoder->err_recognition |= AV_EF_CRCCHECK;
    if ((*status = avcodec_open2(c->decoder, codec, NULL)) < 0) goto fail;
    *status = EC_OK;
    return c;
fail:
    ec_coded_close(c);
    return NULL;
}

void ec_coded_close(ec_coded *c) {
    if (!c) return;
    avcodec_free_context(&c->decoder);
    av_packet_free(&c->packet);
    av_free(c);
}

int ec_coded_decode(ec_coded *c, const uint8_t *data, int size, ec_picture *out) {
    avcodec_flush_buffers(c->decoder);
    c->faulty = 0;
    int r = av_new_packet(c->packet, size);
    if (r < 0) return r;
    memcpy(c->packet->data, data, size);
    c->packet->flags |= AV_PKT_FLAG_KEY;
    r = avcodec_send_packet(c->decoder, c->packet);
    av_packet_unref(c->packet);
    if (r < 0) return r;
    AVFrame *f = av_frame_alloc();
    if (!f) return AVERROR(ENOMEM);
    r = avcodec_receive_frame(c->decoder, f);
    if (r == AVERROR(EAGAIN)) {
        if ((r = avcodec_send_packet(c->decoder, NULL)) >= 0) r = avcodec_receive_frame(c->decoder, f);
    }
    if (r >= 0 && (c->faulty || f->decode_error_flags || (f->flags & AV_FRAME_FLAG_CORRUPT) || !ec_is_written(&c->last))) r = AVERROR_INVALIDDATA;
    if (r >= 0) {
        r = ec_present(f, out);
        out->width = out->stored_width = f->width;
        out->height = out->stored_height = f->height;
    }
    if (r < 0) av_frame_free(&f);
    return r == AVERROR_EOF ? EC_END : r;
}
