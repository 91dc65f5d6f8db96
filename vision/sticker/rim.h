// The loops over the pixels of a fit. Pixels lie in columns of float, each stride long, so that
// many are worked on at once. Places are in px from a place near the sticker, so that a float has
// digits enough.
#ifndef ECART_RIM_H
#define ECART_RIM_H

#include <stdint.h>

enum { RIM_SHAPE = 7, RIM_ALL = 13, RIM_NODES = 16, RIM_PULLS = 8 };

// The columns of the pixels.
enum {
    RIM_X,      // px
    RIM_Y,      // px
    RIM_SHARE,  // of the sticker
    RIM_SLOPE,  // its derivatives: RIM_SHAPE columns; how fast a rim is crossed is held
    RIM_PLACE = RIM_SLOPE + RIM_SHAPE, // of its light between what is around and the sticker
    RIM_ERR,    // what is left over
    RIM_KEEP,   // 1, or less for a pixel that does not fit in
    RIM_WEIGHT, // keep over the variance
    RIM_COLUMNS
};

// An outline as outline.go describes it.
typedef struct {
    float x, y, b0, b1, b2, blur, way_x, way_y, length;
    float scale, wide, half, reach;
    int nodes;
    float off[RIM_NODES], weight[RIM_NODES];
} rim_outline;

// The two sides' light, as planes over the picture, and how much a pixel scatters.
typedef struct {
    float x, y, per; // origin of the planes, and one over their scale
    float light[6];
    float inside, around, rim; // variances; that of the rim as its factor of share (1 - share)
} rim_light;

// Set to use the loops for any machine where there are others; they give the same to the last bit.
extern int loops_plain;

// What a pixel is to an outline.
enum { RIM_OFF, RIM_RIM, RIM_IN, RIM_OUT };

// kind sorts the pixels of a box, whose first one is at (x0, y0): RIM_OFF farther than pad from the
// streaked outline, RIM_RIM nearer than band to its rim.
void rim_kind(const rim_outline *o, float radius, float pad, float band, int x0, int y0, int w, int h, uint8_t *kind);

// share fills the share and its slopes of the first n pixels.
void rim_share(const rim_outline *o, int n, int stride, float *columns);

// sum fills err, keep and weight of n pixels, the first of which, rim of them, are on the rim, and
// the upper triangle of the normal equations h and their right side g.
void rim_sum(const rim_light *l, int rim, int n, int stride, float *columns, double *h, double *g);

// hang takes what n pixels leave over, each in standard deviations and by the root of keep, at its column and
// row of a box of w by h. It sets sums to that of the squares, and of the products with what is
// right of each and below. The box has rows of rim_row(w), and holds rim_box(w, h) floats.
static inline int rim_row(int w) { return (w / 16 + 1) * 16; }
static inline int rim_box(int w, int h) { return rim_row(w) * (h + 1) + 16; }
void rim_hang(const rim_light *l, int n, int stride, const float *columns, const int32_t *col, const int32_t *row, int w, int h,
              float *box, double sums[3]);

// pull fills, at the place at[i] of each pixel i, how its error, at its usual size, moves the quantities
// whose rows of the inverse are given: RIM_PULLS floats a place.
void rim_pull(const rim_light *l, int rim, int n, int stride, const float *columns, const float rows[RIM_PULLS][RIM_ALL],
              const int32_t *at, float *pulls);

// correlate takes the pulls of a box, whose errors hang together along rows and columns by the
// factors rho_x and rho_y a pixel. It sets of[k] to the variance of quantity k and *cross to the
// covariance of the first two. spare is as large as pulls.
void rim_correlate(int w, int h, float rho_x, float rho_y, const float *pulls, float *spare, double of[RIM_PULLS],
                   double *cross);

#endif
