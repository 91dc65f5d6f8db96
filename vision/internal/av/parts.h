// Squares of a picture, found by the colours in them.
#ifndef ECART_AV_PARTS_H
#define ECART_AV_PARTS_H

#include <stdint.h>

#include "convert.h"

// Cells of codes of eight bits: luma in 16, each chroma in 32 steps.
enum { EC_CELL_Y = 4, EC_CELL_C = 3, EC_CELLS = 1 << (8 - EC_CELL_Y + 2 * (8 - EC_CELL_C)) };

// ec_find_parts sets found[i] to 1 for each square i, row by row, in which some pixel's cell is set.
// It looks at every step-th pixel of every step-th row; step is a power of two up to EC_SQUARE.
void ec_find_parts(const uint8_t *p0, const uint8_t *p1, const uint8_t *p2, const ec_format *f, const uint8_t *cells,
                   int step, uint8_t *found);

#endif
