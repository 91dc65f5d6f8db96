#include "convert.h"

#include <string.h>

enum {
    TILE = 256, // pixels of a row converted at once
    STRIP = 16, // rows collected before output that is transposed: one cache line of output
    PAD = 16    // keeps the rows of a strip from mapping to the same cache lines
};

typedef struct {
    const uint8_t *plane[3];
    const ec_format *f;
    int cut; // bits cut off each sample
    int top; // the largest sample after that; raw clips may have larger ones
} source;

static source source_of(const uint8_t *p0, const uint8_t *p1, const uint8_t *p2, const ec_format *f) {
    int cut = f->depth > 12 ? f->depth - 12 : 0;
    return (source){.plane = {p0, p1, p2}, .f = f, .cut = cut, .top = (1 << (f->depth - cut)) - 1};
}

// Integer sums and products give the same result in every instruction set, so that a newer one may be used
// if the machine has it.
#if defined(__x86_64__) && defined(__linux__) && defined(__GNUC__) && !defined(__clang__)
#define FAST __attribute__((target_clones("avx2", "default")))
#else
#define FAST
#endif
#define INLINE static inline __attribute__((always_inline))

// at finds sample (x, y) of a plane.
INLINE const void *at(const source *s, int plane, int x, int y) {
    return s->plane[plane] + (ptrdiff_t)y * s->f->stride[plane] + (s->f->depth > 8 ? 2 : 1) * (ptrdiff_t)x;
}

INLINE int clamp(int v, int high) { return v < 0 ? 0 : v > high ? high : v; }

// deep is a sample of more than eight bits, cut to at most twelve.
INLINE int deep(const source *s, uint16_t v) {
    int c = v >> s->cut;
    return c < s->top ? c : s->top;
}

// place converts a luma position p to a position between chroma samples: *part / 2^(shift+1) of the way from
// sample *i to the next.
INLINE void place(int p, int offset, int shift, int *i, int *part) {
    int n = 2 * p - offset;
    *i = n >> (shift + 1);
    *part = n & ((2 << shift) - 1);
}

// chroma interpolates n values of one chroma plane at luma row y from luma column x on, each (2 << shift_x) * (2 << shift_y) times
// its size. That fits into 16 bits: 4095 * 16 at 4:2:0; chroma of a quarter of the columns or rows has eight bits.
INLINE void chroma(const source *s, int plane, int x, int y, int n, uint16_t *out) {
    const ec_format *f = s->f;
    int cw = (f->width + (1 << f->shift_x) - 1) >> f->shift_x, ch = (f->height + (1 << f->shift_y) - 1) >> f->shift_y;
    int top, part, first, last, unused, whole = 2 << f->shift_y;
    place(y, f->offset_y, f->shift_y, &top, &part);
    place(x, f->offset_x, f->shift_x, &first, &unused);
    place(x + n - 1, f->offset_x, f->shift_x, &last, &unused);

    uint16_t line[TILE + 2]; // one value a chroma column, first .. last+1
    int a = clamp(top, ch - 1), b = clamp(top + 1, ch - 1), count = last + 2 - first;
    int inner = 0, end = count; // columns that exist
    if (first < 0) inner = -first;
    if (first + end > cw) end = cw - first;
    const void *pa = at(s, plane, first + inner, a), *pb = at(s, plane, first + inner, b);
    if (f->depth == 8) {
        const uint8_t *ra = pa, *rb = pb;
        for (int i = inner; i < end; i++) line[i] = ra[i - inner] * (whole - part) + rb[i - inner] * part;
    } else {
        const uint16_t *ra = pa, *rb = pb;
        for (int i = inner; i < end; i++)
            line[i] = deep(s, ra[i - inner]) * (whole - part) + deep(s, rb[i - inner]) * part;
    }
    for (int i = 0; i < inner; i++) line[i] = line[inner];
    for (int i = end; i < count; i++) line[i] = line[end - 1];

    if (f->shift_x == 0) {
        for (int i = 0; i < n; i++) out[i] = 2 * line[i];
        return;
    }
    int full = 2 << f->shift_x, i = 0;
    if (f->shift_x == 1) { // the common case, two pixels a step
        int k, p0, k1, p1;
        for (; i < n && ((x + i) & 1); i++) {
            place(x + i, f->offset_x, 1, &k, &p0);
            out[i] = line[k - first] * (4 - p0) + line[k - first + 1] * p0;
        }
        if (i + 1 < n) {
            place(x + i, f->offset_x, 1, &k, &p0);
            place(x + i + 1, f->offset_x, 1, &k1, &p1);
            const uint16_t *e = line + (k - first), *o = line + (k1 - first);
            int pairs = (n - i) / 2;
            for (int j = 0; j < pairs; j++) {
                out[i + 2 * j] = e[j] * (4 - p0) + e[j + 1] * p0;
                out[i + 2 * j + 1] = o[j] * (4 - p1) + o[j + 1] * p1;
            }
            i += 2 * pairs;
        }
    }
    for (; i < n; i++) {
        int k, p;
        place(x + i, f->offset_x, f->shift_x, &k, &p);
        out[i] = line[k - first] * (full - p) + line[k - first + 1] * p;
    }
}

INLINE uint32_t pack(int r, int g, int b) {
    return (uint32_t)clamp(r >> 20, 255) | (uint32_t)clamp(g >> 20, 255) << 8 | (uint32_t)clamp(b >> 20, 255) << 16 |
           0xff000000u;
}

// row converts n pixels, at most TILE, from (x, y) on, four bytes each in the order R G B A.
FAST static void row(const source *s, int x, int y, int n, uint32_t *out) {
    const ec_format *f = s->f;
    if (f->layout == 2) {
        memcpy(out, s->plane[0] + (ptrdiff_t)y * f->stride[0] + 4 * (ptrdiff_t)x, 4 * (size_t)n);
        for (int i = 0; i < n; i++) ((uint8_t *)(out + i))[3] = 255;
        return;
    }
    uint16_t luma[TILE], u[TILE], v[TILE];
    const void *p = at(s, 0, x, y);
    if (f->depth == 8) {
        const uint8_t *r = p;
        for (int i = 0; i < n; i++) luma[i] = r[i];
    } else {
        const uint16_t *r = p;
        for (int i = 0; i < n; i++) luma[i] = deep(s, r[i]);
    }
    if (f->grey) {
        for (int i = 0; i < n; i++) {
            int32_t l = luma[i] * f->y + f->r0;
            out[i] = pack(l, l, l);
        }
    } else {
        chroma(s, 1, x, y, n, u);
        chroma(s, 2, x, y, n, v);
        int32_t ky = f->y, rv = f->rv, gu = f->gu, gv = f->gv, bu = f->bu, r0 = f->r0, g0 = f->g0, b0 = f->b0;
        for (int i = 0; i < n; i++) {
            int32_t l = luma[i] * ky;
            out[i] = pack(l + v[i] * rv + r0, l + u[i] * gu + v[i] * gv + g0, l + u[i] * bu + b0);
        }
    }
#if __BYTE_ORDER__ == __ORDER_BIG_ENDIAN__
    for (int i = 0; i < n; i++) out[i] = __builtin_bswap32(out[i]);
#endif
}

void ec_convert(const uint8_t *p0, const uint8_t *p1, const uint8_t *p2, const ec_format *f, int x0, int y0, int w,
                int h, uint8_t *out, ptrdiff_t right, ptrdiff_t down) {
    source s = source_of(p0, p1, p2, f);
    uint32_t strip[STRIP][TILE + PAD];
    for (int y = 0; y < h; y += STRIP) {
        int rows = h - y < STRIP ? h - y : STRIP;
        for (int x = 0; x < w; x += TILE) {
            int n = w - x < TILE ? w - x : TILE;
            uint8_t *corner = out + x * right + y * down;
            for (int j = 0; j < rows; j++) row(&s, x0 + x, y0 + y + j, n, strip[j]);
            if (right == 4) {
                for (int j = 0; j < rows; j++) memcpy(corner + j * down, strip[j], 4 * (size_t)n);
            } else if (rows == STRIP && (down == 4 || down == -4)) {
                uint8_t *low = down > 0 ? corner : corner - 4 * (STRIP - 1);
                for (int i = 0; i < n; i++) {
                    uint32_t line[STRIP];
                    for (int j = 0; j < STRIP; j++) line[j] = strip[down > 0 ? j : STRIP - 1 - j][i];
                    memcpy(low + i * right, line, sizeof line);
                }
            } else {
                for (int i = 0; i < n; i++)
                    for (int j = 0; j < rows; j++) memcpy(corner + i * right + j * down, &strip[j][i], 4);
            }
        }
    }
}

// numbers writes the numbers of the colours of n converted pixels, each step apart.
FAST static void numbers(const uint32_t *in, int step, int n, uint16_t *out) {
    for (int i = 0; i < n; i++) {
        uint32_t c = in[i * step];
        out[i] = (uint16_t)((c >> 3 & 31) << 10 | (c >> 11 & 31) << 5 | (c >> 19 & 31));
    }
}

int ec_find(const uint8_t *p0, const uint8_t *p1, const uint8_t *p2, const ec_format *f, int x, int y, int step, int n,
            const uint64_t *wanted, uint16_t *at, uint16_t *colour) {
    source s = source_of(p0, p1, p2, f);
    uint32_t pixels[TILE];
    uint16_t number[TILE];
    int found = 0, most = step < TILE ? TILE / step : 1; // pixels of a tile
    for (int i = 0; i < n; i += most) {
        int count = n - i < most ? n - i : most;
        row(&s, x + i * step, y, (count - 1) * step + 1, pixels);
        numbers(pixels, step, count, number);
        for (int j = 0; j < count; j++) {
            at[found] = (uint16_t)(i + j), colour[found] = number[j];
            found += wanted[number[j] >> 6] >> (number[j] & 63) & 1;
        }
    }
    return found;
}

FAST static void halve8(const uint8_t *a, const uint8_t *b, uint8_t *out, int n) {
    for (int x = 0; x < n; x++) out[x] = (uint8_t)((a[2 * x] + a[2 * x + 1] + b[2 * x] + b[2 * x + 1] + 2) >> 2);
}

FAST static void halve16(const uint16_t *a, const uint16_t *b, uint16_t *out, int n) {
    for (int x = 0; x < n; x++)
        out[x] = (uint16_t)(((uint32_t)a[2 * x] + a[2 * x + 1] + b[2 * x] + b[2 * x + 1] + 2) >> 2);
}

void ec_halve(const uint8_t *in, ptrdiff_t stride, int w, int h, int size, uint8_t *out, ptrdiff_t out_stride,
              int out_w, int out_h) {
    int whole = w / 2 < out_w ? w / 2 : out_w; // blocks of two columns
    for (int y = 0; y < out_h; y++) {
        const uint8_t *a = in + 2 * y * stride, *b = 2 * y + 1 < h ? a + stride : a;
        uint8_t *to = out + y * out_stride;
        if (size == 1) {
            halve8(a, b, to, whole);
            if (whole < out_w) to[whole] = (uint8_t)((a[w - 1] + b[w - 1] + 1) >> 1);
        } else {
            const uint16_t *c = (const uint16_t *)a, *d = (const uint16_t *)b;
            halve16(c, d, (uint16_t *)to, whole);
            if (whole < out_w) ((uint16_t *)to)[whole] = (uint16_t)((c[w - 1] + (uint32_t)d[w - 1] + 1) >> 1);
        }
    }
}
