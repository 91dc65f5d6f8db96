// The loops of rim.h over what a fit leaves over, for one instruction set.
#include "lanes.h"
#include "rim.h"

typedef float four __attribute__((vector_size(16)));

// variance is what a pixel of share m scatters by.
INLINE lanes variance(const rim_light *l, lanes m) { return l->around + (l->inside - l->around) * m + l->rim * m * (1 - m); }

// derive fills the derivatives of n pixels from number i on by all parameters.
INLINE void derive(const rim_light *l, int on_rim, int i, int n, int stride, const float *columns, float j[][BLOCK]) {
    const float *c = l->light;
    for (int k = 0; k < n; k += LANES) {
        int left = n - k;
        const float *at = columns + i + k;
        lanes u = (get(at + RIM_X * stride, left) - l->x) * l->per, v = (get(at + RIM_Y * stride, left) - l->y) * l->per;
        lanes in = get(at + RIM_SHARE * stride, left), out = 1 - in;
        if (on_rim) {
            lanes step = c[0] - c[3] + (c[1] - c[4]) * u + (c[2] - c[5]) * v;
            for (int a = 0; a < RIM_SHAPE; a++) store(j[a] + k, step * get(at + (RIM_SLOPE + a) * stride, left));
        }
        float (*of)[BLOCK] = j + RIM_SHAPE;
        store(of[0] + k, in);
        store(of[1] + k, in * u);
        store(of[2] + k, in * v);
        store(of[3] + k, out);
        store(of[4] + k, out * u);
        store(of[5] + k, out * v);
    }
}

// weigh fills what is left over of n pixels from number i on, keep and weight. A pixel's weight is
// Hampel's: full to 3 standard deviations, as Huber's to 6, and down to nothing at 12.
INLINE void weigh(const rim_light *l, int i, int n, int stride, float *columns, float *err, float *weight) {
    const float *c = l->light;
    for (int k = 0; k < n; k += LANES) {
        int left = n - k;
        float *at = columns + i + k;
        lanes u = (get(at + RIM_X * stride, left) - l->x) * l->per, v = (get(at + RIM_Y * stride, left) - l->y) * l->per;
        lanes m = get(at + RIM_SHARE * stride, left), f = get(at + RIM_PLACE * stride, left);
        lanes in = c[0] + c[1] * u + c[2] * v, out = c[3] + c[4] * u + c[5] * v;
        lanes e = f - (out + (in - out) * m), per = 1 / variance(l, m);
        lanes far = root(e * e * per), inv = 1 / most(far, all(1)), huber = 3 * inv;
        lanes hampel = huber * most(12 - far, all(0)) * (1 / 6.0f);
        lanes keep = pick(far <= 3, all(1), pick(far <= 6, huber, hampel)), w = keep * per;
        put(at + RIM_ERR * stride, e, left);
        put(at + RIM_KEEP * stride, keep, left);
        put(at + RIM_WEIGHT * stride, w, left);
        store(err + k, e);
        store(weight + k, w);
    }
}

// row adds the products of parameter a with those from a on, and with what is left over, of n pixels of a
// block, a multiple of SUMS.
INLINE void row(int a, float j[][BLOCK], const float *weight, int n, float sums[RIM_ALL + 1][SUMS]) {
    for (int part = 0; part < SUMS; part += LANES) {
        lanes acc[RIM_ALL + 1];
#pragma GCC unroll 16
        for (int c = a; c <= RIM_ALL; c++) acc[c] = load(sums[c] + part);
        for (int i = part; i < n; i += SUMS) {
            lanes w = load(weight + i) * load(j[a] + i);
#pragma GCC unroll 16
            for (int c = a; c <= RIM_ALL; c++) acc[c] += w * load(j[c] + i);
        }
#pragma GCC unroll 16
        for (int c = a; c <= RIM_ALL; c++) store(sums[c] + part, acc[c]);
    }
}

INLINE void add(const rim_light *l, int on_rim, int from, int to, int stride, float *columns,
                float sums[RIM_ALL][RIM_ALL + 1][SUMS]) {
    float ALIGNED j[RIM_ALL + 1][BLOCK], ALIGNED weight[BLOCK];
    for (int i = from; i < to; i += BLOCK) {
        int n = to - i < BLOCK ? to - i : BLOCK, whole = (n + SUMS - 1) / SUMS * SUMS;
        derive(l, on_rim, i, n, stride, columns, j);
        weigh(l, i, n, stride, columns, j[RIM_ALL], weight);
        // those that there are not weigh nothing
        for (int k = n; k < whole; k++) weight[k] = 0;
        for (int k = whole - LANES; k >= n; k -= LANES)
            for (int a = on_rim ? 0 : RIM_SHAPE; a <= RIM_ALL; a++) store(j[a] + k, all(0));
        if (on_rim) {
            row(0, j, weight, whole, sums[0]);
            row(1, j, weight, whole, sums[1]);
            row(2, j, weight, whole, sums[2]);
            row(3, j, weight, whole, sums[3]);
            row(4, j, weight, whole, sums[4]);
            row(5, j, weight, whole, sums[5]);
            row(6, j, weight, whole, sums[6]);
        }
        row(7, j, weight, whole, sums[7]);
        row(8, j, weight, whole, sums[8]);
        row(9, j, weight, whole, sums[9]);
        row(10, j, weight, whole, sums[10]);
        row(11, j, weight, whole, sums[11]);
        row(12, j, weight, whole, sums[12]);
    }
}

// total is the sum of SUMS numbers.
INLINE double total(const float *s) {
    four sum = {0}, part;
    for (int i = 0; i < SUMS; i += 4) {
        memcpy(&part, s + i, sizeof part);
        sum += part;
    }
    return ((double)sum[0] + sum[1]) + ((double)sum[2] + sum[3]);
}

void NAME(rim_sum)(const rim_light *light, int rim, int n, int stride, float *columns, double *h, double *g) {
    rim_light l = *light;
    float ALIGNED sums[RIM_ALL][RIM_ALL + 1][SUMS];
    memset(sums, 0, sizeof sums);
    add(&l, 1, 0, rim, stride, columns, sums);
    add(&l, 0, rim, n, stride, columns, sums);
    for (int a = 0; a < RIM_ALL; a++) {
        for (int c = a; c < RIM_ALL; c++) h[a * RIM_ALL + c] = total(sums[a][c]);
        g[a] = total(sums[a][RIM_ALL]);
    }
}
