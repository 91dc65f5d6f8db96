// The interface from Go to FFmpeg's libraries: one video stream of one local file.
//
// It uses no type of FFmpeg, so that Go sees only numbers and pointers.
#ifndef ECART_AV_CLIP_H
#define ECART_AV_CLIP_H

#include <stdint.h>

// Return values of the calls. A negative value is an error code of FFmpeg.
enum {
    EC_OK = 0,
    EC_AGAIN = 1,     // the decoder needs another packet first
    EC_END = 2,       // the end of the file, or of what the decoder still held
    EC_NO_VIDEO = 3,  // the file is readable and has no video stream
    EC_NO_DECODER = 4 // the libraries cannot decode this codec
};

// Flags of a packet.
enum { EC_KEY = 1, EC_DISCARD = 2, EC_CORRUPT = 4 };

// How the samples of a picture lie in memory.
enum { EC_GREY = 0, EC_YUV = 1, EC_RGBA = 2 };

#define EC_NO_TIME INT64_MIN

typedef struct ec_clip ec_clip;

// The video stream as its file describes it.
typedef struct {
    char container[64], codec[32];
    int width, height;             // as stored; 0 where the file does not say
    int time_num, time_den;        // seconds to one tick of a time stamp
    int rate_num, rate_den;        // average frames per second, 0/0 unknown
    int bits;                      // per sample, 0 unknown
    int nal_length;                // bytes of a NAL unit's length, 0 for start codes
    int interlaced;                // marked as stored in fields
    int no_times;                  // the container carries no time stamps
    int hdr;                       // PQ or HLG transfer
    int has_matrix;
    int32_t matrix[9];             // display matrix, row by row as ISO/IEC 14496-12 stores it
    int64_t listed;                // packets in the file's own list, 0 where it has none
    int64_t duration_us;           // as declared for the whole file, minus the excess of a longer video track; -1 unknown
} ec_stream;

// A video track that is not read.
typedef struct {
    int width, height; // as stored; 0 where the file does not say
    int64_t samples;   // pictures, 0 unknown
} ec_track;

typedef struct {
    int64_t pts, dts, duration; // ticks; EC_NO_TIME unknown
    int flags, size;
    const uint8_t *data;        // until the next call of ec_read
} ec_packet;

// A picture that the decoder has put out and ec_take has not returned yet.
typedef struct {
    int64_t pts, best; // ticks: as stored; FFmpeg's best guess
    int damaged;       // the decoder says so
} ec_shown;

// A picture in square pixels, not yet upright. The planes belong to frame.
typedef struct {
    void *frame;
    int width, height;               // square pixels
    int stored_width, stored_height; // as decoded
    int layout, depth;               // EC_GREY ...; bits per sample
    int shift_x, shift_y;            // chroma planes are smaller by these powers of two
    int space;                       // AVColorSpace, numbered as in ISO/IEC 23091-2
    int full;                        // full range
    int siting;                      // AVChromaLocation
    uint8_t *plane[3];
    int stride[3];
} ec_picture;

// The properties of a clip's streams that were found when it was opened.
typedef struct ec_known ec_known;

// known, from an earlier opening of the same file, saves probing its streams again if the container describes
// them in its header; NULL if there is none.
//
// stop points to a number that another thread may set: once it is not 0, opening, reading and seeking end
// early with an error. The caller keeps it valid until ec_close has returned.
ec_clip *ec_open(const char *path, int64_t max_pixels, const ec_known *known, const int *stop, int *status);
int ec_stopped(const ec_clip *c); // whether a call has ended early: the position in the clip is then unknown
ec_known *ec_know(const ec_clip *c);
void ec_forget(ec_known *k);
void ec_close(ec_clip *c);
void ec_describe(ec_clip *c, ec_stream *out);
enum { EC_OTHERS = 8 };
const uint8_t *ec_config(const ec_clip *c, int *size);     // the decoder's configuration, which lives as long as the clip; NULL where there is none
int ec_others(const ec_clip *c, ec_track *out, int most); // the other video tracks, at most most; returns their number
int ec_metadata(ec_clip *c, const char *key, char *out, int size);

int ec_read(ec_clip *c, ec_packet *out); // the next packet of the stream
int ec_seek(ec_clip *c, int64_t ts);     // to a key packet at or before ts, decoder emptied

int ec_start(ec_clip *c, int threads, int64_t max_pixels); // opens the decoder
int ec_send(ec_clip *c);                                   // the packet last read
int ec_drain(ec_clip *c);                                  // no more packets
int ec_receive(ec_clip *c, ec_shown *out);
int ec_take(ec_clip *c, ec_picture *out); // the picture last received

// ec_faults stores the time stamps of the packets in which the decoder has found damage since the last
// call, at most EC_FAULTS, and returns their number. All damage that a picture may show is known once the picture
// has been received. Pictures that are predicted from those of these packets are not listed.
enum { EC_FAULTS = 64 };
int ec_faults(ec_clip *c, int64_t *out);
// EC_MOST is the largest memory for the pictures of one clip, in bytes: reference pictures, pictures waiting to be
// shown, and pictures in use. How many a file needs is known only when the decoder asks for them. Together with
// everything else the program stays below 600 MB.
enum { EC_MOST = 480000000 };
void ec_too_large(ec_clip *c, int *width, int *height); // size of a picture that was refused memory, else 0
void ec_release(void *frame);

void ec_listen(void); // watches the log messages of the libraries for damage; none is printed

#endif
