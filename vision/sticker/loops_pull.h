// The loops of rim.h for a fit's covariance, for one instruction set.
#include "lanes.h"
#include "rim.h"

enum { ABREAST = 4 };
typedef float pulls __attribute__((vector_size(4 * RIM_PULLS)));

void NAME(rim_hang)(const rim_light *light, int n, int stride, const float *columns, const int32_t *col, const int32_t *row, int w,
                   int h, float *box, double sums[3]) {
    rim_light l = *light;
    int line = rim_row(w); // whose end is empty, as is the row under the last
    memset(box, 0, sizeof *box * rim_box(w, h));
    for (int i = 0; i < n; i += LANES) {
        const float *at = columns + i;
        int left = n - i;
        lanes m = get(at + RIM_SHARE * stride, left), keep = get(at + RIM_KEEP * stride, left);
        lanes e = root(keep / variance(&l, m)) * get(at + RIM_ERR * stride, left);
        for (int c = 0; c < LANES && c < left; c++) box[row[i + c] * line + col[i + c]] = e[c];
    }
    float ALIGNED of[3][SUMS] = {{0}};
    for (int part = 0; part < SUMS; part += LANES) {
        lanes square = {0}, right = {0}, below = {0};
        for (int i = part; i < line * h; i += SUMS) {
            lanes e = load(box + i);
            square += e * e;
            right += e * load(box + i + 1);
            below += e * load(box + i + line);
        }
        store(of[0] + part, square);
        store(of[1] + part, right);
        store(of[2] + part, below);
    }
    for (int k = 0; k < 3; k++) sums[k] = total(of[k]);
}

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

// run sums lines of n places, step apart, each with those to either side times rho to the power of
// how far they are. There are count lines, beside apart, at once: in one each sum waits for the last.
INLINE void run(float *p, long step, int n, long beside, int count, float rho) {
    pulls a[ABREAST] = {{0}}, w[ABREAST] = {{0}}, x, y;
    for (int i = 0; i < n; i++) // those before it
#pragma GCC unroll 4
        for (int k = 0; k < count; k++) {
            float *at = p + i * step + k * beside;
            memcpy(&x, at, sizeof x);
            y = x + rho * a[k];
            memcpy(at, &y, sizeof y);
            a[k] = y;
        }
    // of the sums s_i = x_i + rho s_(i-1) the whole is s_i + rho w_(i+1), with
    // w_i = x_i + rho w_(i+1) and x_i = s_i - rho s_(i-1)
    for (int i = n - 1; i >= 0; i--)
#pragma GCC unroll 4
        for (int k = 0; k < count; k++) {
            float *at = p + i * step + k * beside;
            memcpy(&x, at, sizeof x);
            y = x + rho * w[k];
            if (i > 0) {
                pulls before;
                memcpy(&before, at - step, sizeof before);
                w[k] = x - rho * before + rho * w[k];
            }
            memcpy(at, &y, sizeof y);
        }
}

// runs is run of all of many lines.
INLINE void runs(float *p, long step, int n, long beside, int many, float rho) {
    int i = 0;
    for (; i + ABREAST <= many; i += ABREAST) run(p + i * beside, step, n, beside, ABREAST, rho);
    for (; i < many; i++) run(p + i * beside, step, n, beside, 1, rho);
}

void NAME(rim_correlate)(int w, int h, float rho_x, float rho_y, const float *p, float *spare, double of[RIM_PULLS],
                        double *cross) {
    long n = (long)w * h, row = (long)w * RIM_PULLS;
    memcpy(spare, p, n * RIM_PULLS * sizeof *p);
    if (rho_x > 0) runs(spare, RIM_PULLS, w, row, h, rho_x);
    if (rho_y > 0) runs(spare, row, h, RIM_PULLS, w, rho_y);
    double sum[RIM_PULLS] = {0}, across = 0;
    for (long i = 0; i < n; i++) {
        const float *a = p + i * RIM_PULLS, *c = spare + i * RIM_PULLS;
        for (int k = 0; k < RIM_PULLS; k++) sum[k] += (double)a[k] * c[k];
        across += (double)a[0] * c[1] + (double)a[1] * c[0];
    }
    for (int k = 0; k < RIM_PULLS; k++) of[k] = sum[k];
    *cross = across / 2;
}
