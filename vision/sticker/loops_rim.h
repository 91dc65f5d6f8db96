// The loops of rim.h over an outline, for one instruction set.
#include "lanes.h"
#include "rim.h"

// normal is the normal distribution function and its density, for t from -12 to 12: Abramowitz and
// Stegun, Handbook of Mathematical Functions, 26.2.16, to 2e-5.
INLINE lanes normal(lanes t, lanes *density) {
    // exp(-t^2/2) as a power of two: a whole one, which stands in the last bits of its sum with a
    // large number, and a part by its series, here of the density
    const float large = 12582912;
    lanes p = t * t * -0.72134752f, whole = p + large, r = p - (whole - large), r2 = r * r;
    lanes e = (0.39894228f + 0.27652572f * r) + r2 * ((0.095836510f + 0.022142936f * r) + r2 * (0.0038370784f + 0.00053193201f * r));
    lanes d = (lanes)((mask)e + ((mask)whole << 23));
    lanes k = 1 / (1 + 0.33267f * most(t, -t));
    lanes tail = d * k * (0.4361836f + k * (-0.1201676f + k * 0.9372980f));
    *density = d;
    return pick(t < 0, tail, 1 - tail);
}

INLINE lanes rho(const rim_outline *o, lanes dx, lanes dy) {
    lanes ex = o->b0 * dx + o->b1 * dy, ey = o->b1 * dx + o->b2 * dy;
    return root(ex * ex + ey * ey);
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

// place is one place on the streak, and the weight of what is seen from it.
typedef struct {
    float x, y, off, weight;
} place;

// With e = B d and f = B e a pixel at d lies at |e| of the way from the middle to the rim, and the rim
// is crossed there at |f| / |e|. depth is how deep a pixel lies within the rim, in widths, held to what
// counts, and 1 / |f|.
INLINE lanes depth(const rim_outline *s, const place *p, lanes x, lanes y, lanes *per_f) {
    lanes dx = x - p->x, dy = y - p->y;
    lanes ex = s->b0 * dx + s->b1 * dy, ey = s->b1 * dx + s->b2 * dy;
    lanes fx = s->b0 * ex + s->b1 * ey, fy = s->b1 * ex + s->b2 * ey;
    lanes r = root(ex * ex + ey * ey);
    *per_f = 1 / root(fx * fx + fy * fy + 1e-30f);
    lanes t = pick(r <= 1e-6f, all(s->reach), (1 - r) * r * *per_f * (1 / s->wide));
    return least(most(t, all(-s->reach)), all(s->reach));
}

// shade is the share of a pixel at depth u, its slope, and that by the logarithm of the width. square
// says that the pixel's square is sampled.
INLINE lanes shade(const rim_outline *s, int square, lanes u, lanes *slope, lanes *moment) {
    lanes cdf, pdf, by;
    if (square) {
        lanes p1, p2, c1 = normal(u - s->half, &p1), c2 = normal(u + s->half, &p2);
        cdf = (c1 + c2) / 2;
        pdf = (p1 + p2) / 2;
        by = pdf * u + (p2 - p1) * (s->half / 2);
    } else {
        cdf = normal(u, &pdf);
        by = pdf * u;
    }
    mask in = u >= s->reach, out = u <= -s->reach;
    *slope = pick(in | out, all(0), pdf);
    *moment = pick(in | out, all(0), by);
    return pick(in, all(1), pick(out, all(0), cdf));
}

// slopes adds to the slopes d what moves the rim where the slope is c / f; those by B lack a factor.
INLINE void slopes(const rim_outline *s, const place *p, lanes x, lanes y, lanes c, lanes *d, int stride) {
    lanes dx = x - p->x, dy = y - p->y;
    lanes ex = s->b0 * dx + s->b1 * dy, ey = s->b1 * dx + s->b2 * dy;
    lanes cx = c * (s->b0 * ex + s->b1 * ey), cy = c * (s->b1 * ex + s->b2 * ey);
    d[0] += cx;
    d[stride] += cy;
    d[2 * stride] += c * ex * dx;
    d[3 * stride] += c * (ex * dy + ey * dx);
    d[4 * stride] += c * ey * dy;
    d[6 * stride] += p->off * (cx * s->way_x + cy * s->way_y);
}

INLINE void share(const rim_outline *o, int square, int n, int stride, float *columns) {
    enum { ALL = BLOCK / LANES };
    rim_outline s = *o;
    place at[RIM_NODES];
    for (int k = 0; k < s.nodes; k++) {
        float step = s.off[k] * s.length;
        at[k] = (place){s.x + step * s.way_x, s.y + step * s.way_y, s.off[k], s.weight[k]};
    }
    // without the square the blur is only a part of the width
    float form = -1 / s.scale, blur = square ? -1 : -(s.blur / s.wide) * (s.blur / s.wide);
    for (int i = 0; i < n; i += BLOCK) {
        lanes x[ALL], y[ALL], m[ALL], d[RIM_SHAPE][ALL], u[ALL], c[ALL];
        int left = n - i, many = left < BLOCK ? (left + LANES - 1) / LANES : ALL;
        for (int v = 0; v < many; v++) {
            x[v] = get(columns + RIM_X * stride + i + v * LANES, left - v * LANES);
            y[v] = get(columns + RIM_Y * stride + i + v * LANES, left - v * LANES);
            m[v] = all(0);
            for (int k = 0; k < RIM_SHAPE; k++) d[k][v] = all(0);
        }
        for (int k = 0; k < s.nodes; k++) {
            place p = at[k];
            float weight = p.weight * (1 / s.wide);
            for (int v = 0; v < many; v++) u[v] = depth(&s, &p, x[v], y[v], &c[v]);
            for (int v = 0; v < many; v++) {
                lanes slope, moment;
                m[v] += p.weight * shade(&s, square, u[v], &slope, &moment);
                d[5][v] += p.weight * moment;
                c[v] *= weight * slope;
            }
            for (int v = 0; v < many; v++) slopes(&s, &p, x[v], y[v], c[v], &d[0][v], ALL);
        }
        for (int v = 0; v < many; v++) {
            float *out = columns + i + v * LANES;
            int some = left - v * LANES;
            put(out + RIM_SHARE * stride, m[v], some);
            for (int k = 0; k < RIM_SHAPE; k++) {
                float by = k == 5 ? blur : k >= 2 && k <= 4 ? form : 1;
                put(out + (RIM_SLOPE + k) * stride, d[k][v] * by, some);
            }
        }
    }
}

void NAME(rim_share)(const rim_outline *o, int n, int stride, float *columns) {
    if (o->half > 0)
        share(o, 1, n, stride, columns);
    else
        share(o, 0, n, stride, columns);
}
