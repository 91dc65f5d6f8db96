// The loops of light.h, for one instruction set.
#include "lanes.h"
#include "light.h"

// score fills how well n pixels fit the colour, and raises each of best to the best of them. There are
// pixels to a multiple of LANES, of which those from n on do not count for the score.
INLINE void score(const light_target *t, float rgb[3][BLOCK], int n, float *score, lanes *best) {
    const float veil = 0.01f, farthest = 9;
    float ALIGNED part[3][BLOCK];
    // the logarithm of a/b is 2 (a-b)/(a+b), nearly
    for (int i = 0; i < n; i += LANES) {
        lanes r = load(rgb[0] + i), g = load(rgb[1] + i), b = load(rgb[2] + i);
        // IEC 61966-2-1 to CIE XYZ, of which the last is only wanted in x + 15 y + 3 z
        lanes y = 0.2126f * r + 0.7152f * g + 0.0722f * b + veil;
        lanes x = 0.4124f * r + 0.3576f * g + 0.1805f * b + veil * 0.9505f;
        lanes z = 0.0193f * r + 0.1192f * g + 0.9505f * b + veil * 1.089f;
        lanes k = 1 / (x + 15 * y + 3 * z);
        store(part[0] + i, x * k);
        store(part[1] + i, y * k);
        store(part[2] + i, (y - t->y) / (y + t->y));
    }
    float u = 4 / t->near, v = 9 / t->near, l = 2 / t->bright, u0 = t->u / t->near, v0 = t->v / t->near;
    lanes top = *best;
    for (int i = 0; i < n; i += LANES) {
        lanes du = load(part[0] + i) * u - u0, dv = load(part[1] + i) * v - v0, dy = load(part[2] + i) * l;
        lanes s = most(1 - (du * du + dv * dv + dy * dy) * (1 / farthest), all(0));
        put(score + i, s, n - i);
        top = most(top, s);
    }
    *best = top;
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

// split fills luma and the two chromas of n coded pixels.
INLINE void split(const uint8_t *coded, long n, float *luma, float *red, float *blue) {
    for (long i = 0; i < n; i++) {
        float r = coded[4 * i], g = coded[4 * i + 1], b = coded[4 * i + 2], y = luma_r * r + luma_g * g + luma_b * b;
        luma[i] = y;
        red[i] = (r - y) * (1 / chroma_r);
        blue[i] = (b - y) * (1 / chroma_b);
    }
}

INLINE int within(int i, int n) { return i < 0 ? 0 : i < n ? i : n - 1; }

// between fills places 0 to w of what lies right and down of row y of a plane of w by h. The plane goes on
// beyond its ends as it ends.
INLINE void between(const float *plane, int w, int h, int y, int right, int down, float part, float *line, float *out) {
    const float *upper = plane + (long)within(y + down, h) * w, *lower = plane + (long)within(y + down + 1, h) * w;
    for (int x = 0; x < w; x++) line[x] = upper[x] + part * (lower[x] - upper[x]);
    int first = within(-right, w + 2), end = within(w - right, w + 2);
    for (int x = 0; x < first; x++) out[x] = line[0];
    for (int x = first; x < end; x++) out[x] = line[x + right];
    for (int x = end < first ? first : end; x <= w; x++) out[x] = line[w - 1];
}

// step is the places of values between codes in a table of finer steps.
INLINE mask step(lanes v, int finer) {
    return __builtin_convertvector(least(most(v, all(0)), all(255)) * (float)finer + 0.5f, mask);
}

void NAME(light_realign)(const float *fine, int finer, const uint8_t *coded, int w, int h, float right, float down, float *spare,
                        float *light) {
    long n = (long)w * h;
    float *luma = spare, *red = luma + n, *blue = red + n, *line = blue + n, *cr = line + w, *cb = cr + w + LIGHT_MORE;
    int dx = (int)floorf(right), dy = (int)floorf(down);
    float fx = right - (float)dx, fy = down - (float)dy;
    split(coded, n, luma, red, blue);
    for (int y = 0; y < h; y++) {
        between(red, w, h, y, dx, dy, fy, line, cr);
        between(blue, w, h, y, dx, dy, fy, line, cb);
        for (int x = 0; x < w; x += BLOCK) {
            int some = w - x < BLOCK ? w - x : BLOCK;
            int32_t at[3][BLOCK];
            for (int k = 0; k < some; k += LANES) {
                lanes bright = load(luma + (long)y * w + x + k), a = load(cr + x + k), c = load(cb + x + k);
                lanes r = bright + chroma_r * (a + fx * (load(cr + x + k + 1) - a));
                lanes b = bright + chroma_b * (c + fx * (load(cb + x + k + 1) - c));
                lanes g = (bright - luma_r * r - luma_b * b) * (1 / luma_g);
                mask to[3] = {step(r, finer), step(g, finer), step(b, finer)};
                for (int i = 0; i < 3; i++) memcpy(at[i] + k, &to[i], sizeof to[i]);
            }
            float *out = light + 3 * ((long)y * w + x);
            for (int k = 0; k < some; k++)
                for (int i = 0; i < 3; i++) out[3 * k + i] = fine[at[i][k]];
        }
    }
}
