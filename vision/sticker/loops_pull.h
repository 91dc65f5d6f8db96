// The loops of rim.h for a fit's covariance, for one instruction set.
#include "lanes.h"
#include "rim.h"

typedef float pulls __attribute__((vector_size(4 * RIM_PULLS)));

void NAME(rim_pull)(const rim_light *light, int rim, int n, int stride, const float *columns,
                   const float rows[RIM_PULLS][RIM_ALL], const int32_t *at, float *out) {
    rim_light l = *light;
    float j[RIM_ALL][BLOCK], scatter[BLOCK];
    pulls by[RIM_ALL];
    for (int a = 0; a < RIM_ALL; a++)
        for (int k = 0; k < RIM_PULLS; k++) by[a][k] = rows[k][a];
    for (int i = 0, next; i < n; i = next) {
        int end = i < rim ? rim : n, on_rim = i < rim;
        next = i + BLOCK < end ? i + BLOCK : end;
        derive(&l, on_rim, i, next - i, stride, columns, j);
        const float *m = columns + RIM_SHARE * stride + i, *w = columns + RIM_WEIGHT * stride + i;
        for (int k = 0; k < next - i; k += LANES) {
            lanes share = get(m + k, next - i - k);
            store(scatter + k, get(w + k, next - i - k) * root(variance(&l, share)));
        }
        for (int k = 0; k < next - i; k++) {
            pulls s = {0};
            if (on_rim)
                for (int a = 0; a < RIM_SHAPE; a++) s += by[a] * j[a][k];
            for (int a = RIM_SHAPE; a < RIM_ALL; a++) s += by[a] * j[a][k];
            s *= scatter[k];
            memcpy(out + (long)at[i + k] * RIM_PULLS, &s, sizeof s);
        }
    }
}

// run sums a line of n places, step apart, each with those to either side times rho to the power of
// how far they are.
INLINE void run(float *p, long step, int n, float rho) {
    pulls a = {0}, x, y;
    for (int i = 0; i < n; i++) { // those before it
        memcpy(&x, p + i * step, sizeof x);
        a = x + rho * a;
        memcpy(p + i * step, &a, sizeof a);
    }
    // of the sums s_i = x_i + rho s_(i-1) the whole is s_i + rho w_(i+1), with
    // w_i = x_i + rho w_(i+1) and x_i = s_i - rho s_(i-1)
    pulls w = {0};
    for (int i = n - 1; i >= 0; i--) {
        memcpy(&x, p + i * step, sizeof x);
        y = x + rho * w;
        if (i > 0) {
            pulls before;
            memcpy(&before, p + (i - 1) * step, sizeof before);
            w = x - rho * before + rho * w;
        }
        memcpy(p + i * step, &y, sizeof y);
    }
}

void NAME(rim_correlate)(int w, int h, float rho_x, float rho_y, const float *p, float *spare, double of[RIM_PULLS],
                        double *cross) {
    long n = (long)w * h;
    memcpy(spare, p, n * RIM_PULLS * sizeof *p);
    if (rho_x > 0)
        for (int y = 0; y < h; y++) run(spare + (long)y * w * RIM_PULLS, RIM_PULLS, w, rho_x);
    if (rho_y > 0)
        for (int x = 0; x < w; x++) run(spare + (long)x * RIM_PULLS, (long)w * RIM_PULLS, h, rho_y);
    for (int k = 0; k < RIM_PULLS; k++) of[k] = 0;
    *cross = 0;
    for (long i = 0; i < n; i++) {
        const float *a = p + i * RIM_PULLS, *c = spare + i * RIM_PULLS;
        for (int k = 0; k < RIM_PULLS; k++) of[k] += (double)a[k] * c[k];
        *cross += ((double)a[0] * c[1] + (double)a[1] * c[0]) / 2;
    }
}
