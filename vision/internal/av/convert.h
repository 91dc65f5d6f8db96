// Converts any rectangle of a picture from luma and chroma to eight-bit RGBA. Each pixel is independent of the
// rectangle: a part converted alone has the same bytes as in the whole.
#ifndef ECART_AV_CONVERT_H
#define ECART_AV_CONVERT_H

#include <stddef.h>
#include <stdint.h>

typedef struct {
    int width, height, layout, depth; // as in ec_picture; depth 8 to 16
    int stride[3];                    // bytes from row to row
    int shift_x, shift_y;             // powers of two by which chroma is smaller
    int offset_x, offset_y;           // position of chroma sample 0, in half luma pixels
    int grey;                         // all chroma is neutral
    // R = (y*Y + rv*V + r0) >> 20 and so on. U and V are interpolated chroma, scaled by
    // 2^(shift_x+1) * 2^(shift_y+1). Samples of more than 12 bits are cut to 12 first.
    int32_t y, rv, gu, gv, bu, r0, g0, b0;
} ec_format;

// ec_convert writes stored pixel (x0+i, y0+j) to out + i*right + j*down, in bytes, for i < w,
// j < h. The rectangle lies within the picture.
void ec_convert(const uint8_t *p0, const uint8_t *p1, const uint8_t *p2, const ec_format *f, int x0, int y0, int w,
                int h, uint8_t *out, ptrdiff_t right, ptrdiff_t down);

// ec_find looks up n pixels of stored row y, step apart from column x on, in a set of colours: a bit for each of 2^15 numbers, with the
// upper five bits of red, green and blue. It writes which of the pixels are in the set, from 0, and their numbers, and returns how
// many are. Both outputs have room for n.
int ec_find(const uint8_t *p0, const uint8_t *p1, const uint8_t *p2, const ec_format *f, int x, int y, int step, int n,
            const uint64_t *wanted, uint16_t *at, uint16_t *colour);

// ec_halve averages blocks of two by two samples of one plane, of size bytes each (1 or 2), into a plane of
// out_w by out_h samples. A block beyond the last column or row repeats it.
void ec_halve(const uint8_t *in, ptrdiff_t stride, int w, int h, int size, uint8_t *out, ptrdiff_t out_stride,
              int out_w, int out_h);

#endif
