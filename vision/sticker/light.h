// The loops over the pixels of a window, red, green and blue interleaved.
#ifndef ECART_LIGHT_H
#define ECART_LIGHT_H

#include <stdint.h>

// The colour that is looked for, as colour.go describes it.
typedef struct {
    float u, v, y, near, bright;
} light_target;

// decode fills light from n coded pixels of four bytes.
void light_decode(const float table[256], const uint8_t *coded, int n, float *light);

// score fills how well each of n pixels fits the colour, and best with the best of them, or 0.
void light_score(const light_target *t, const float *light, int n, float *score, float *best);

// score_coded is score of coded pixels of four bytes. table is the light of every code.
void light_score_coded(const light_target *t, const float *table, const uint8_t *coded, int n, float *score, float *best);

// realign fills light from coded pixels of four bytes whose colours lie (right, down) px off where
// they belong. fine is the light of every code and of finer - 1 steps from each to the next. spare
// holds 3 floats a pixel, and 3 a column with LIGHT_MORE more of each.
enum { LIGHT_MORE = 16 };
void light_realign(const float *fine, int finer, const uint8_t *coded, int w, int h, float right, float down, float *spare,
                   float *light);

#endif
