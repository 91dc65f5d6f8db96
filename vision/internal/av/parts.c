#include "parts.h"

#define INLINE static inline __attribute__((always_inline))

INLINE int cell(int y, int u, int v) {
    return (y >> EC_CELL_Y) << 2 * (8 - EC_CELL_C) | (u >> EC_CELL_C) << (8 - EC_CELL_C) | v >> EC_CELL_C;
}

// sample is sample i of a row, cut to eight bits. Raw clips may have samples beyond their depth.
INLINE int sample(const uint8_t *row, int i, int depth) {
    if (depth == 8) return row[i];
    int v = ((const uint16_t *)row)[i] >> (depth - 8);
    return v < 255 ? v : 255;
}

INLINE void line(const uint8_t *p0, const uint8_t *p1, const uint8_t *p2, int width, int shift, int depth,
                 const uint8_t *cells, int step, uint8_t *found) {
    for (int x0 = 0; x0 < width; x0 += EC_SQUARE, found++) {
        int end = x0 + EC_SQUARE < width ? x0 + EC_SQUARE : width, any = 0;
        for (int x = x0 + step / 2; x < end; x += step) {
            int c = x >> shift;
            any |= cells[cell(sample(p0, x, depth), sample(p1, c, depth), sample(p2, c, depth))];
        }
        *found |= any;
    }
}

void ec_find_parts(const uint8_t *p0, const uint8_t *p1, const uint8_t *p2, const ec_format *f, const uint8_t *cells,
                   int step, uint8_t *found) {
    int across = (f->width + EC_SQUARE - 1) / EC_SQUARE;
    for (int y = step / 2; y < f->height; y += step) {
        const uint8_t *y0 = p0 + (ptrdiff_t)y * f->stride[0];
        ptrdiff_t c = y >> f->shift_y;
        const uint8_t *u = p1 + c * f->stride[1], *v = p2 + c * f->stride[2];
        uint8_t *row = found + (ptrdiff_t)(y / EC_SQUARE) * across;
        if (f->depth == 8 && f->shift_x == 1)
            line(y0, u, v, f->width, 1, 8, cells, step, row);
        else
            line(y0, u, v, f->width, f->shift_x, f->depth, cells, step, row);
    }
}
