#include "clip.h"

#include <string.h>

#include <libavcodec/avcodec.h>
#include <libavformat/avformat.h>
#include <libavutil/avstring.h>
#include <libavutil/pixdesc.h>

#include "clip_private.h"

// The containers that are opened. Playlists, and all formats that would open a second file or a
// connection, are left out on purpose.
static const char containers[] =
    "mov,mp4,m4a,3gp,3g2,mj2,matroska,webm,avi,mpegts,mpeg,mpegvideo,h264,hevc,m4v,flv,asf,ivf,dv";

// listed is the number of packets in the file's own list of a stream, 0 where it has none.
static int64_t listed(const AVFormatContext *f, AVStream *s) {
    return strncmp(f->iformat->name, "mov,", 4) ? 0 : avformat_index_get_entries_count(s);
}

// samples is the number of pictures in a stream as the file states it, 0 unknown.
static int64_t samples(const AVFormatContext *f, AVStream *s) {
    int64_t n = listed(f, s);
    return n ? n : s->nb_frames;
}

// seconds is the duration of a stream as the file states it, 0 unknown.
static double seconds(const AVStream *s) {
    return s->duration > 0 ? s->duration * av_q2d(s->time_base) : 0; // AV_NOPTS_VALUE is negative
}

// is_track tells a video track from a cover picture, a thumbnail and everything else.
static int is_track(const AVStream *s) {
    return s->codecpar->codec_type == AVMEDIA_TYPE_VIDEO &&
           !(s->disposition & (AV_DISPOSITION_ATTACHED_PIC | AV_DISPOSITION_TIMED_THUMBNAILS));
}

// pick chooses the video track that moves and lasts: by the number of pictures, then by the duration,
// then by the size of a picture with a bonus for the track marked as the default. A phone may store one
// or two large stills beside a smaller moving track. Numbers and durations of at least half the greatest
// count as equal: tracks of one recording differ by a few pictures, a still from a moving track by far more.
static int pick(AVFormatContext *f) {
    int64_t most = 0, score = -1;
    double longest = 0;
    int best = -1;
    for (unsigned i = 0; i < f->nb_streams; i++)
        if (is_track(f->streams[i])) most = FFMAX(most, samples(f, f->streams[i]));
    for (unsigned i = 0; i < f->nb_streams; i++) {
        AVStream *s = f->streams[i];
        if (is_track(s) && samples(f, s) >= most - most / 2) longest = FFMAX(longest, seconds(s));
    }
    for (unsigned i = 0; i < f->nb_streams; i++) {
        AVStream *s = f->streams[i];
        if (!is_track(s) || samples(f, s) < most - most / 2 || seconds(s) < longest / 2) continue;
        int64_t n = (int64_t)s->codecpar->width * s->codecpar->height;
        if (s->disposition & AV_DISPOSITION_DEFAULT) n += 5000000;
        if (n > score) score = n, best = i;
    }
    return best;
}

// PROBED is the largest picture, in pixels, that FFmpeg may decode while it probes the streams: it holds as many
// pictures as the stream asks for, up to 17. Missing properties of a stream with larger pictures become known with
// its first frame.
enum { PROBED = 10000000 };

// probe lets FFmpeg read the properties of the streams, with one thread each and no picture above max_pixels.
static int probe(AVFormatContext *f, int64_t max_pixels) {
    unsigned n = f->nb_streams;
    AVDictionary **opts = av_calloc(n ? n : 1, sizeof *opts);
    if (!opts) return AVERROR(ENOMEM);
    for (unsigned i = 0; i < n; i++) {
        av_dict_set_int(&opts[i], "max_pixels", FFMIN(max_pixels, PROBED), 0);
        av_dict_set(&opts[i], "threads", "1", 0);
    }
    int r = avformat_find_stream_info(f, opts);
    for (unsigned i = 0; i < n; i++) av_dict_free(&opts[i]);
    av_freep(&opts);
    return r;
}

struct ec_known {
    int stream;
    AVRational pixel; // aspect ratio of a pixel
    AVCodecParameters *codec; // NULL if the streams have to be probed each time
};

void ec_forget(ec_known *k) {
    if (!k) return;
    avcodec_parameters_free(&k->codec);
    av_free(k);
}

ec_known *ec_know(const ec_clip *c) {
    ec_known *k = av_mallocz(sizeof *k);
    if (!k) return NULL;
    k->stream = c->stream->index;
    if (strncmp(c->format->iformat->name, "mov,", 4)) return k; // the header alone does not describe the streams
    k->pixel = c->stream->sample_aspect_ratio;
    k->codec = avcodec_parameters_alloc();
    if (!k->codec || avcodec_parameters_copy(k->codec, c->stream->codecpar) < 0) {
        ec_forget(k);
        return NULL;
    }
    return k;
}

// recall applies the known properties and returns the number of the stream, or -1 if they do not fit this file.
static int recall(AVFormatContext *f, const ec_known *k) {
    if (!k || !k->codec || (unsigned)k->stream >= f->nb_streams) return -1;
    AVStream *s = f->streams[k->stream];
    if (s->codecpar->codec_id != k->codec->codec_id || s->codecpar->extradata_size != k->codec->extradata_size) return -1;
    s->sample_aspect_ratio = k->pixel;
    return avcodec_parameters_copy(s->codecpar, k->codec) < 0 ? -1 : k->stream;
}

// stop reports whether to end early. FFmpeg calls it during long operations: before it reads from the file, and
// between packets when it probes the streams.
static int stop(void *clip) {
    ec_clip *c = clip;
    if (__atomic_load_n(c->stop, __ATOMIC_RELAXED)) c->stopped = 1;
    return c->stopped;
}

int ec_stopped(const ec_clip *c) { return c->stopped; }

// open_file opens the file and reads its header.
static int open_file(ec_clip *c, const char *url) {
    AVDictionary *opts = NULL;
    if (!(c->format = avformat_alloc_context())) return AVERROR(ENOMEM);
    c->format->interrupt_callback = (AVIOInterruptCB){stop, c};
    av_dict_set(&opts, "format_whitelist", containers, 0);
    av_dict_set(&opts, "protocol_whitelist", "file", 0);
    int r = avformat_open_input(&c->format, url, NULL, &opts);
    av_dict_free(&opts);
    return r;
}

// unlisted reports whether there are several video tracks, and the file does not state the number of pictures of
// every one.
static int unlisted(const AVFormatContext *f) {
    int tracks = 0, unknown = 0;
    for (unsigned i = 0; i < f->nb_streams; i++) {
        tracks += is_track(f->streams[i]);
        unknown |= is_track(f->streams[i]) && !samples(f, f->streams[i]);
    }
    return tracks > 1 && unknown;
}

// measure reads all packets, reopens the file, and stores the number of pictures and the duration of each video
// track in its stream.
static int measure(ec_clip *c, const char *url, int64_t max_pixels) {
    enum { MOST = 16 }; // streams; any beyond these count as having no pictures
    struct {
        int64_t pictures, from, to;
    } track[MOST] = {0};
    AVPacket *p = c->packet;
    for (unsigned i = 0; i < c->format->nb_streams; i++)
        if (!is_track(c->format->streams[i])) c->format->streams[i]->discard = AVDISCARD_ALL;
    for (; !stop(c) && av_read_frame(c->format, p) >= 0; av_packet_unref(p)) {
        int i = p->stream_index;
        if (i >= MOST || p->pts == AV_NOPTS_VALUE) continue;
        if (!track[i].pictures || p->pts < track[i].from) track[i].from = p->pts;
        if (!track[i].pictures++ || p->pts + p->duration > track[i].to) track[i].to = p->pts + p->duration;
    }
    if (c->stopped) return AVERROR_EXIT;
    avformat_close_input(&c->format);
    int r = open_file(c, url);
    if (r < 0 || (r = probe(c->format, max_pixels)) < 0) return r;
    for (unsigned i = 0; i < c->format->nb_streams && i < MOST; i++) {
        c->format->streams[i]->nb_frames = track[i].pictures;
        c->format->streams[i]->duration = track[i].to - track[i].from;
    }
    return 0;
}

ec_clip *ec_open(const char *path, int64_t max_pixels, const ec_known *known, const int *stop_, int *status) {
    ec_clip *c = av_mallocz(sizeof *c);
    char *url = av_asprintf("file:%s", path);
    int r = AVERROR(ENOMEM);
    if (!c || !url) goto fail;
    pthread_mutex_init(&c->storing, NULL);
    c->stop = stop_;
    c->packet = av_packet_alloc();
    c->shown = av_frame_alloc();
    if (!c->packet || !c->shown) goto fail;
    if ((r = open_file(c, url)) < 0) goto fail;
    r = recall(c->format, known);
    if (r < 0) {
        if ((r = probe(c->format, max_pixels)) < 0) goto fail;
        if (known && (unsigned)known->stream < c->format->nb_streams) {
            r = known->stream;
        } else {
            if (unlisted(c->format) && (r = measure(c, url, max_pixels)) < 0) goto fail;
            r = pick(c->format);
            for (unsigned i = 0; r >= 0 && i < c->format->nb_streams; i++) {
                AVStream *s = c->format->streams[i];
                if (is_track(s)) c->shorter = FFMAX(c->shorter, seconds(s) - seconds(c->format->streams[r]));
            }
        }
    }
    if (r < 0) {
        r = EC_NO_VIDEO;
        goto fail;
    }
    c->stream = c->format->streams[r];
    for (unsigned i = 0; i < c->format->nb_streams; i++)
        if ((int)i != r) c->format->streams[i]->discard = AVDISCARD_ALL;
    av_free(url);
    *status = EC_OK;
    return c;
fail:
    av_free(url);
    ec_close(c);
    *status = r;
    return NULL;
}

void ec_close(ec_clip *c) {
    if (!c) return;
    sws_freeContext(c->scaler);
    avcodec_free_context(&c->decoder);
    ec_unwatch(c);
    av_packet_free(&c->packet);
    av_frame_free(&c->shown);
    avformat_close_input(&c->format);
    ec_close_store(c->store);
    pthread_mutex_destroy(&c->storing);
    av_free(c);
}

// has_times reports whether the container stores time stamps. A bare stream stores none: FFmpeg makes them up at
// 25 frames a second, and flags such formats only since 6.1.
static int has_times(const AVInputFormat *f) {
    static const char *const bare[] = {"h264", "hevc", "mpegvideo", "m4v"}; // names of FFmpeg's formats
    for (unsigned i = 0; i < FF_ARRAY_ELEMS(bare); i++)
        if (!strcmp(f->name, bare[i])) return 0;
    return !(f->flags & AVFMT_NOTIMESTAMPS);
}

// rate is the frame rate that the file states, frames a second, 0 unknown. From FFmpeg 6.1 on, the average of a
// bare stream is a guess; the rate in the coded stream is then in codecpar->framerate.
static AVRational rate(const ec_clip *c) {
    const AVStream *s = c->stream;
#if LIBAVFORMAT_VERSION_INT >= AV_VERSION_INT(60, 15, 100) // FFmpeg 6.1
    if (!has_times(c->format->iformat) && s->codecpar->framerate.num > 0) return s->codecpar->framerate;
#endif
    return s->avg_frame_rate.num ? s->avg_frame_rate : s->r_frame_rate;
}

// nal_length reads the size of a NAL unit's length field from an avcC or hvcC record.
static int nal_length(const AVCodecParameters *p) {
    const uint8_t *e = p->extradata;
    if (!e || p->extradata_size < 7 || e[0] == 0) return 0;
    if (p->codec_id == AV_CODEC_ID_H264) return (e[4] & 3) + 1;
    if (p->codec_id == AV_CODEC_ID_HEVC && p->extradata_size >= 23) return (e[21] & 3) + 1;
    return 0;
}

void ec_describe(ec_clip *c, ec_stream *out) {
    AVStream *s = c->stream;
    AVCodecParameters *p = s->codecpar;
    memset(out, 0, sizeof *out);
    av_strlcpy(out->container, c->format->iformat->name, sizeof out->container);
    av_strlcpy(out->codec, avcodec_get_name(p->codec_id), sizeof out->codec);
    out->width = p->width;
    out->height = p->height;
    out->time_num = s->time_base.num;
    out->time_den = s->time_base.den;
    AVRational r = rate(c);
    out->rate_num = r.num;
    out->rate_den = r.den;
    const AVPixFmtDescriptor *d = av_pix_fmt_desc_get(p->format);
    out->bits = d ? d->comp[0].depth : 0;
    out->nal_length = nal_length(p);
    out->interlaced = p->field_order != AV_FIELD_UNKNOWN && p->field_order != AV_FIELD_PROGRESSIVE;
    out->no_times = !has_times(c->format->iformat);
    out->hdr = p->color_trc == AVCOL_TRC_SMPTE2084 || p->color_trc == AVCOL_TRC_ARIB_STD_B67;
#if LIBAVFORMAT_VERSION_INT >= AV_VERSION_INT(60, 15, 100) // FFmpeg 6.1
    const AVPacketSideData *side = av_packet_side_data_get(p->coded_side_data, p->nb_coded_side_data, AV_PKT_DATA_DISPLAYMATRIX);
    const uint8_t *m = side ? side->data : NULL;
    size_t size = side ? side->size : 0;
#else
    size_t size = 0;
    const uint8_t *m = av_stream_get_side_data(s, AV_PKT_DATA_DISPLAYMATRIX, &size);
#endif
    if (m && size >= sizeof out->matrix) {
        memcpy(out->matrix, m, sizeof out->matrix);
        out->has_matrix = 1;
    }
    out->listed = listed(c->format, s);
    out->duration_us = -1;
    if (c->format->duration > 0 && c->format->duration_estimation_method == AVFMT_DURATION_FROM_STREAM)
        out->duration_us = c->format->duration - (int64_t)(c->shorter * AV_TIME_BASE);
}

const uint8_t *ec_config(const ec_clip *c, int *size) {
    *size = c->stream->codecpar->extradata_size;
    return c->stream->codecpar->extradata;
}

int ec_others(const ec_clip *c, ec_track *out, int most) {
    int n = 0;
    for (unsigned i = 0; i < c->format->nb_streams && n < most; i++) {
        AVStream *s = c->format->streams[i];
        if (s == c->stream || !is_track(s)) continue;
        out[n++] = (ec_track){s->codecpar->width, s->codecpar->height, samples(c->format, s)};
    }
    return n;
}

int ec_metadata(ec_clip *c, const char *key, char *out, int size) {
    AVDictionaryEntry *e = av_dict_get(c->format->metadata, key, NULL, 0);
    if (!e) e = av_dict_get(c->stream->metadata, key, NULL, 0);
    if (!e) return 0;
    av_strlcpy(out, e->value, size);
    return 1;
}

int ec_read(ec_clip *c, ec_packet *out) {
    for (;;) {
        if (stop(c)) return AVERROR_EXIT; // FFmpeg does not call stop if it has the packet in memory
        av_packet_unref(c->packet);
        int r = av_read_frame(c->format, c->packet);
        if (r == AVERROR_EOF) return EC_END;
        if (r < 0) return r;
        if (c->packet->stream_index == c->stream->index) break;
    }
    AVPacket *p = c->packet;
    out->pts = p->pts;
    out->dts = p->dts;
    out->duration = p->duration;
    out->flags = (p->flags & AV_PKT_FLAG_KEY ? EC_KEY : 0) |
                 (p->flags & AV_PKT_FLAG_DISCARD ? EC_DISCARD : 0) |
                 (p->flags & AV_PKT_FLAG_CORRUPT ? EC_CORRUPT : 0);
    out->size = p->size;
    out->data = p->data;
    return EC_OK;
}

int ec_seek(ec_clip *c, int64_t ts) {
    av_packet_unref(c->packet);
    if (c->decoder) avcodec_flush_buffers(c->decoder);
    c->too_wide = c->too_high = 0;
    ec_unwatch(c);
    return av_seek_frame(c->format, c->stream->index, ts, AVSEEK_FLAG_BACKWARD);
}

// sent returns the next entry of the ring of packets sent, set to a packet with this time stamp.
static ec_sent *sent(ec_clip *c, int64_t pts) {
    ec_sent *s = &c->sent[c->turn++ % EC_SENT];
    pthread_mutex_lock(&c->storing);
    *s = (ec_sent){c, pts, 0};
    pthread_mutex_unlock(&c->storing);
    return s;
}

int ec_start(ec_clip *c, int threads, int64_t max_pixels) {
    const AVCodec *codec = avcodec_find_decoder(c->stream->codecpar->codec_id);
    if (!codec) return EC_NO_DECODER;
    avcodec_free_context(&c->decoder);
    c->too_wide = c->too_high = 0;
    ec_unwatch(c);
    if (!(c->decoder = avcodec_alloc_context3(codec))) return AVERROR(ENOMEM);
    int r = avcodec_parameters_to_context(c->decoder, c->stream->codecpar);
    if (r < 0) return r;
    c->decoder->pkt_timebase = c->stream->time_base;
    c->decoder->framerate = c->stream->avg_frame_rate;
    c->decoder->thread_count = threads;
    c->decoder->opaque = sent(c, AV_NOPTS_VALUE);
    c->decoder->get_buffer2 = ec_buffer;
#if LIBAVCODEC_VERSION_MAJOR < 60
#pragma GCC diagnostic push
#pragma GCC diagnostic ignored "-Wdeprecated-declarations"
    c->decoder->thread_safe_callbacks = 1; // ec_buffer is thread safe; later versions require that
#pragma GCC diagnostic pop
#endif
    c->decoder->err_recognition |= AV_EF_CRCCHECK; // checks pictures in streams that have checksums
    c->decoder->max_pixels = c->max_pixels = max_pixels;
    return avcodec_open2(c->decoder, codec, NULL);
}

// ec_status converts a return value of FFmpeg to one of this interface.
static int ec_status(int r) {
    if (r == AVERROR(EAGAIN)) return EC_AGAIN;
    if (r == AVERROR_EOF) return EC_END;
    return r < 0 ? r : EC_OK;
}

int ec_send(ec_clip *c) {
    c->decoder->opaque = sent(c, c->packet->pts); // FFmpeg passes it to the thread that decodes this packet
    return ec_status(avcodec_send_packet(c->decoder, c->packet));
}

int ec_drain(ec_clip *c) { return ec_status(avcodec_send_packet(c->decoder, NULL)); }

int ec_receive(ec_clip *c, ec_shown *out) {
    int r = ec_status(avcodec_receive_frame(c->decoder, c->shown));
    if (r != EC_OK) return r;
    out->pts = c->shown->pts;
    out->best = c->shown->best_effort_timestamp;
    out->damaged = c->shown->decode_error_flags || (c->shown->flags & AV_FRAME_FLAG_CORRUPT);
    ec_check(c, c->shown);
    return EC_OK;
}
