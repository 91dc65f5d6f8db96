// The loops of rim.h, for one instruction set.
#include "lanes.h"
#include "rim.h"

enum { BLOCK = 64 }; // pixels at a time
typedef float pulls __attribute__((vector_size(4 * RIM_PULLS)));

// over_root is one over the root of a positive number, to 2e-7 of it: Newton's steps from the usual
// first guess.
INLINE lanes over_root(lanes x) {
    lanes r = (lanes)(0x5f375a86 - ((mask)x >> 1)), half = 0.5f * x;
    r *= 1.5f - half * r * r;
    r *= 1.5f - half * r * r;
    return r * (1.5f - half * r * r);
}

// normal is the normal distribution function and its density, for t from -12 to 12: Abramowitz and
// Stegun, Handbook of Mathematical Functions, 26.2.17, to 1e-7.
INLINE lanes normal(lanes t, lanes *density) {
    // exp(-t^2/2) as a power of two: a whole one, and a part by its series
    lanes p = t * t * -0.72134752f;
    mask n = __builtin_convertvector(p - 0.5f, mask);
    lanes r = (p - __builtin_convertvector(n, lanes)) * 0.69314718f;
    lanes e = 1 + r * (1 + r * (0.5f + r * (0.16666667f + r * (0.041666667f + r * (0.0083333333f + r * 0.0013888889f)))));
    lanes d = e * (lanes)((n + 127) << 23) * 0.39894228f;
    lanes k = 1 / (1 + 0.2316419f * most(t, -t));
    lanes tail = d * k * (0.319381530f + k * (-0.356563782f + k * (1.781477937f + k * (-1.821255978f + k * 1.330274429f))));
    *density = d;
    return pick(t < 0, tail, 1 - tail);
}

INLINE lanes rho(const rim_outline *o, lanes dx, lanes dy) {
    lanes ex = o->b0 * dx + o->b1 * dy, ey = o->b1 * dx + o->b2 * dy, r2 = ex * ex + ey * ey;
    return r2 * over_root(r2);
}

void NAME(rim_kind)(const rim_outline *o, float radius, float pad, float band, int x0, int y0, int w, int h, uint8_t *kind) {
    rim_outline s = *o;
    lanes half = all(s.length / 2), count = {0};
    for (int c = 0; c < LANES; c++) count[c] = (float)c;
    for (int j = 0; j < h; j++) {
        lanes dy = all((float)(y0 + j) - s.y);
        uint8_t *out = kind + (long)j * w;
        for (int i = 0; i < w; i += LANES) {
            lanes dx = count + ((float)(x0 + i) - s.x), along = dx * s.way_x + dy * s.way_y;
            lanes near = most(-half, least(along, half)), far = pick(along > 0, -half, half);
            lanes off = (rho(&s, dx - near * s.way_x, dy - near * s.way_y) - 1) * radius;
            lanes core = (rho(&s, dx - far * s.way_x, dy - far * s.way_y) - 1) * radius;
            mask on = (off < band) & (core > -band), in = off < 0, within = off <= pad;
            mask k = ((on & RIM_RIM) | (~on & ((in & RIM_IN) | (~in & RIM_OUT)))) & within;
            for (int c = 0; c < LANES && i + c < w; c++) out[i + c] = (uint8_t)k[c];
        }
    }
}

// node adds one place on the streak to the share m and its slopes d. square says that the pixel's
// square is sampled.
INLINE void node(const rim_outline *s, int square, float off, float weight, lanes x, lanes y, lanes *m,
                 lanes d[RIM_SHAPE]) {
    float step = off * s->length, part = s->blur / s->wide * (s->blur / s->wide);
    lanes dx = x - (s->x + step * s->way_x), dy = y - (s->y + step * s->way_y);
    lanes ex = s->b0 * dx + s->b1 * dy, ey = s->b1 * dx + s->b2 * dy;
    lanes r2 = most(ex * ex + ey * ey, all(1e-12f)), inv = over_root(r2);
    lanes nx = ex * inv, ny = ey * inv;
    lanes gx = s->b0 * nx + s->b1 * ny, gy = s->b1 * nx + s->b2 * ny;
    lanes per_g = over_root(gx * gx + gy * gy + 1e-20f) * (1 / s->wide);
    lanes t = (1 - r2 * inv) * per_g;
    mask in = (t >= s->reach) | (r2 <= 1e-12f), out = t <= -s->reach;
    lanes u = least(most(t, all(-s->reach)), all(s->reach)), cdf, pdf, moment;
    if (square) {
        lanes p1, p2, c1 = normal(u - s->half, &p1), c2 = normal(u + s->half, &p2);
        cdf = (c1 + c2) / 2;
        pdf = (p1 + p2) / 2;
        moment = (p1 * (u - s->half) + p2 * (u + s->half)) / 2;
    } else {
        cdf = normal(u, &pdf);
        moment = pdf * u * part; // the blur is a part of the width only
    }
    *m += weight * pick(in, all(1), pick(out, all(0), cdf));
    lanes k = weight * pick(in | out, all(0), pdf * per_g), kb = k * (1 / s->scale), cx = k * gx, cy = k * gy;
    d[0] += cx;
    d[1] += cy;
    d[2] -= kb * nx * dx;
    d[3] -= kb * (nx * dy + ny * dx);
    d[4] -= kb * ny * dy;
    d[5] -= weight * pick(in | out, all(0), moment);
    d[6] += off * (cx * s->way_x + cy * s->way_y);
}

void NAME(rim_share)(const rim_outline *o, int n, int stride, float *columns) {
    rim_outline s = *o;
    for (int i = 0; i < n; i += LANES) {
        lanes x = get(columns + RIM_X * stride + i, n - i), y = get(columns + RIM_Y * stride + i, n - i);
        lanes m = {0}, d[RIM_SHAPE] = {{0}};
        for (int k = 0; k < s.nodes; k++) {
            if (s.half > 0)
                node(&s, 1, s.off[k], s.weight[k], x, y, &m, d);
            else
                node(&s, 0, s.off[k], s.weight[k], x, y, &m, d);
        }
        put(columns + RIM_SHARE * stride + i, m, n - i);
        for (int k = 0; k < RIM_SHAPE; k++) put(columns + (RIM_SLOPE + k) * stride + i, d[k], n - i);
    }
}

// weigh fills err, keep and weight. A pixel's weight is Hampel's: full to 3 standard deviations, as
// Huber's to 6, and down to nothing at 12.
INLINE void weigh(const rim_light *l, int n, int stride, float *columns) {
    const float *c = l->light;
    for (int i = 0; i < n; i += LANES) {
        int left = n - i;
        float *at = columns + i;
        lanes u = (get(at + RIM_X * stride, left) - l->x) * l->per, v = (get(at + RIM_Y * stride, left) - l->y) * l->per;
        lanes m = get(at + RIM_SHARE * stride, left), f = get(at + RIM_PLACE * stride, left);
        lanes in = c[0] + c[1] * u + c[2] * v, out = c[3] + c[4] * u + c[5] * v;
        lanes e = f - (out + (in - out) * m);
        lanes variance = l->around + (l->inside - l->around) * m + l->rim * m * (1 - m);
        lanes per = 1 / variance, far2 = e * e * per, inv = over_root(most(far2, all(1))), huber = 3 * inv;
        lanes hampel = huber * most(12 - far2 * inv, all(0)) * (1 / 6.0f);
        lanes keep = pick(far2 <= 9, all(1), pick(far2 <= 36, huber, hampel));
        put(at + RIM_ERR * stride, e, left);
        put(at + RIM_KEEP * stride, keep, left);
        put(at + RIM_WEIGHT * stride, keep * per, left);
    }
}

// row adds the products of parameter a with those from a on, and with what is left over, of a block.
INLINE void row(int a, float j[RIM_ALL + 1][BLOCK], const float *weight, float sums[RIM_ALL + 1][SUMS]) {
    for (int part = 0; part < SUMS; part += LANES) {
        lanes acc[RIM_ALL + 1];
        for (int c = a; c <= RIM_ALL; c++) memcpy(&acc[c], sums[c] + part, sizeof acc[c]);
        for (int i = part; i < BLOCK; i += SUMS) {
            lanes w, p, q;
            memcpy(&w, weight + i, sizeof w);
            memcpy(&p, j[a] + i, sizeof p);
            w *= p;
#pragma GCC unroll 16
            for (int c = a; c <= RIM_ALL; c++) {
                memcpy(&q, j[c] + i, sizeof q);
                acc[c] += w * q;
            }
        }
        for (int c = a; c <= RIM_ALL; c++) memcpy(sums[c] + part, &acc[c], sizeof acc[c]);
    }
}

// derive fills the derivatives of n pixels from number i on by all parameters, and what is left over.
INLINE void derive(const rim_light *l, int on_rim, int i, int n, int stride, const float *columns, float j[RIM_ALL + 1][BLOCK]) {
    const float *x = columns + RIM_X * stride + i, *y = columns + RIM_Y * stride + i, *m = columns + RIM_SHARE * stride + i;
    const float *d = columns + RIM_SLOPE * stride + i, *e = columns + RIM_ERR * stride + i, *c = l->light;
    for (int k = 0; k < n; k++) {
        float u = (x[k] - l->x) * l->per, v = (y[k] - l->y) * l->per;
        float step = c[0] - c[3] + (c[1] - c[4]) * u + (c[2] - c[5]) * v, in = m[k], out = 1 - m[k];
        if (on_rim)
            for (int a = 0; a < RIM_SHAPE; a++) j[a][k] = step * d[a * stride + k];
        j[RIM_SHAPE][k] = in;
        j[RIM_SHAPE + 1][k] = in * u;
        j[RIM_SHAPE + 2][k] = in * v;
        j[RIM_SHAPE + 3][k] = out;
        j[RIM_SHAPE + 4][k] = out * u;
        j[RIM_SHAPE + 5][k] = out * v;
        j[RIM_ALL][k] = e[k];
    }
}

INLINE void add(const rim_light *l, int on_rim, int from, int to, int stride, const float *columns,
                float sums[RIM_ALL][RIM_ALL + 1][SUMS]) {
    float j[RIM_ALL + 1][BLOCK], weight[BLOCK];
    for (int i = from; i < to; i += BLOCK) {
        int n = to - i < BLOCK ? to - i : BLOCK;
        memcpy(weight, columns + RIM_WEIGHT * stride + i, n * sizeof *weight);
        derive(l, on_rim, i, n, stride, columns, j);
        if (n < BLOCK) {
            memset(weight + n, 0, (BLOCK - n) * sizeof *weight);
            for (int a = on_rim ? 0 : RIM_SHAPE; a <= RIM_ALL; a++) memset(j[a] + n, 0, (BLOCK - n) * sizeof *weight);
        }
        if (on_rim) {
            row(0, j, weight, sums[0]);
            row(1, j, weight, sums[1]);
            row(2, j, weight, sums[2]);
            row(3, j, weight, sums[3]);
            row(4, j, weight, sums[4]);
            row(5, j, weight, sums[5]);
            row(6, j, weight, sums[6]);
        }
        row(7, j, weight, sums[7]);
        row(8, j, weight, sums[8]);
        row(9, j, weight, sums[9]);
        row(10, j, weight, sums[10]);
        row(11, j, weight, sums[11]);
        row(12, j, weight, sums[12]);
    }
}

void NAME(rim_sum)(const rim_light *light, int rim, int n, int stride, float *columns, double *h, double *g) {
    rim_light l = *light;
    float sums[RIM_ALL][RIM_ALL + 1][SUMS];
    memset(sums, 0, sizeof sums);
    weigh(&l, n, stride, columns);
    add(&l, 1, 0, rim, stride, columns, sums);
    add(&l, 0, rim, n, stride, columns, sums);
    for (int a = 0; a < RIM_ALL; a++)
        for (int c = a; c <= RIM_ALL; c++) {
            double s = 0;
            for (int i = 0; i < SUMS; i++) s += sums[a][c][i];
            if (c < RIM_ALL)
                h[a * RIM_ALL + c] = s;
            else
                g[a] = s;
        }
}

void NAME(rim_pull)(const rim_light *light, int rim, int n, int stride, const float *columns,
                   const float rows[RIM_PULLS][RIM_ALL], const int32_t *at, float *out) {
    rim_light l = *light;
    float j[RIM_ALL + 1][BLOCK], scatter[BLOCK];
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
            lanes variance = l.around + (l.inside - l.around) * share + l.rim * share * (1 - share);
            lanes by_it = get(w + k, next - i - k) * variance * over_root(variance);
            memcpy(scatter + k, &by_it, sizeof by_it);
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
