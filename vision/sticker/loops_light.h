// The loops of light.h, for one instruction set.
#include "lanes.h"
#include "light.h"

// score fills how well n pixels fit the colour, and raises each of best to the best of them. There are
// pixels to a multiple of LANES, of which those from n on do not count for the score.
INLINE void score(const light_target *t, float rgb[3][BLOCK], int n, float *score, lanes *best) {
    const float veil = 0.01f, farthest = 9;
    for (int i = 0; i < n; i += LANES) {
        lanes r = load(rgb[0] + i), g = load(rgb[1] + i), b = load(rgb[2] + i);
        // IEC 61966-2-1 to CIE XYZ
        lanes y = 0.2126f * r + 0.7152f * g + 0.0722f * b + veil;
        // 2 (a-b)/(a+b) is the logarithm of a/b, nearly
        lanes dy = 2 * (y - t->y) / ((y + t->y) * t->bright);
        lanes x = 0.4124f * r + 0.3576f * g + 0.1805f * b + veil * 0.9505f;
        lanes z = 0.0193f * r + 0.1192f * g + 0.9505f * b + veil * 1.089f;
        lanes k = 1 / (x + 15 * y + 3 * z);
        lanes du = (4 * x * k - t->u) * (1 / t->near), dv = (9 * y * k - t->v) * (1 / t->near);
        lanes s = most(1 - (du * du + dv * dv + dy * dy) * (1 / farthest), all(0));
        put(score + i, s, n - i);
        *best = most(*best, s);
    }
}

INLINE float largest(lanes v) {
    float most = v[0];
    for (int c = 1; c < LANES; c++) most = v[c] > most ? v[c] : most;
    return most;
}

// whole repeats the last of n pixels up to a multiple of LANES.
INLINE void whole(float rgb[3][BLOCK], int n) {
    for (int k = n; k % LANES; k++)
        for (int a = 0; a < 3; a++) rgb[a][k] = rgb[a][n - 1];
}

void NAME(light_score)(const light_target *target, const float *light, int n, float *scores, float *best) {
    light_target t = *target;
    float ALIGNED rgb[3][BLOCK];
    lanes top = {0};
    for (int i = 0; i < n; i += BLOCK) {
        int some = n - i < BLOCK ? n - i : BLOCK;
        const float *c = light + 3 * (long)i;
        for (int k = 0; k < some; k++)
            for (int a = 0; a < 3; a++) rgb[a][k] = c[3 * k + a];
        whole(rgb, some);
        score(&t, rgb, some, scores + i, &top);
    }
    *best = largest(top);
}

void NAME(light_score_coded)(const light_target *target, const float *table, const uint8_t *coded, int n, float *scores, float *best) {
    light_target t = *target;
    float ALIGNED rgb[3][BLOCK];
    lanes top = {0};
    for (int i = 0; i < n; i += BLOCK) {
        int some = n - i < BLOCK ? n - i : BLOCK;
        const uint8_t *c = coded + 4 * (long)i;
        for (int k = 0; k < some; k++)
            for (int a = 0; a < 3; a++) rgb[a][k] = table[c[4 * k + a]];
        whole(rgb, some);
        score(&t, rgb, some, scores + i, &top);
    }
    *best = largest(top);
}

// Rec. ITU-R BT.709, item 3
static const float luma_r = 0.2126f, luma_g = 0.7152f, luma_b = 0.0722f, chroma_r = 1.5748f, chroma_b = 1.8556f;

// between finds the two samples about i + shift, and how far it is from the first to the second.
INLINE float between(int i, float shift, int n, int *a, int *b) {
    float at = (float)i + shift;
    at = at < 0 ? 0 : at > (float)(n - 1) ? (float)(n - 1) : at;
    *a = (int)at;
    *b = *a + 1 < n ? *a + 1 : n - 1;
    return at - (float)*a;
}

// step is the place of a value between codes in a table of finer steps.
INLINE int step(float v, int finer) {
    v = v < 0 ? 0 : v > 255 ? 255 : v;
    return (int)(v * (float)finer + 0.5f);
}

void NAME(light_realign)(const float *fine, int finer, const uint8_t *coded, int w, int h, float right, float down, float *chroma,
                        float *light) {
    for (long i = 0, n = (long)w * h; i < n; i++) {
        float r = coded[4 * i], g = coded[4 * i + 1], b = coded[4 * i + 2], y = luma_r * r + luma_g * g + luma_b * b;
        light[3 * i] = y;
        chroma[2 * i] = (r - y) * (1 / chroma_r);
        chroma[2 * i + 1] = (b - y) * (1 / chroma_b);
    }
    for (int y = 0; y < h; y++) {
        int ya, yb;
        float fy = between(y, down, h, &ya, &yb);
        const float *upper = chroma + 2 * (long)ya * w, *lower = chroma + 2 * (long)yb * w;
        float *out = light + 3 * (long)y * w;
        for (int x = 0; x < w; x++) {
            int xa, xb;
            float fx = between(x, right, w, &xa, &xb);
            float cr = upper[2 * xa] + fx * (upper[2 * xb] - upper[2 * xa]);
            float cb = upper[2 * xa + 1] + fx * (upper[2 * xb + 1] - upper[2 * xa + 1]);
            if (fy != 0) {
                cr += fy * (lower[2 * xa] + fx * (lower[2 * xb] - lower[2 * xa]) - cr);
                cb += fy * (lower[2 * xa + 1] + fx * (lower[2 * xb + 1] - lower[2 * xa + 1]) - cb);
            }
            float bright = out[3 * x], r = bright + chroma_r * cr, b = bright + chroma_b * cb;
            float g = (bright - luma_r * r - luma_b * b) * (1 / luma_g);
            out[3 * x] = fine[step(r, finer)];
            out[3 * x + 1] = fine[step(g, finer)];
            out[3 * x + 2] = fine[step(b, finer)];
        }
    }
}
