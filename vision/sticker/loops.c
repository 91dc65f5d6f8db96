// Each loop in the widest instruction set that the machine has.
#include "light.h"
#include "rim.h"

int loops_plain;

#if defined(__x86_64__)
#define PICK(f, arguments)                                                                            \
    do {                                                                                              \
        if (!loops_plain && __builtin_cpu_supports("avx2"))                                           \
            f##_avx2 arguments;                                                                       \
        else                                                                                          \
            f##_plain arguments;                                                                      \
    } while (0)
#else
#define PICK(f, arguments) f##_plain arguments
#endif

// LOOP defines f, of the given parameters, by those of the instruction sets.
#define LOOP(f, parameters, arguments)                                                                \
    void f##_plain parameters;                                                                        \
    void f##_avx2 parameters;                                                                         \
    void f parameters { PICK(f, arguments); }

LOOP(rim_kind, (const rim_outline *o, float radius, float pad, float band, int x0, int y0, int w, int h, uint8_t *kind),
     (o, radius, pad, band, x0, y0, w, h, kind))
LOOP(rim_share, (const rim_outline *o, int n, int stride, float *columns),
     (o, n, stride, columns))
LOOP(rim_sum, (const rim_light *l, int rim, int n, int stride, float *columns, double *h, double *g),
     (l, rim, n, stride, columns, h, g))
LOOP(rim_hang, (const rim_light *l, int n, int stride, const float *columns, const int32_t *col, const int32_t *row, int w, int h, float *box, double sums[3]),
     (l, n, stride, columns, col, row, w, h, box, sums))
LOOP(rim_pull, (const rim_light *l, int rim, int n, int stride, const float *columns, const float rows[RIM_PULLS][RIM_ALL], const int32_t *at, float *pulls),
     (l, rim, n, stride, columns, rows, at, pulls))
LOOP(rim_correlate, (int w, int h, float rho_x, float rho_y, const float *pulls, float *spare, double of[RIM_PULLS], double *cross),
     (w, h, rho_x, rho_y, pulls, spare, of, cross))
LOOP(light_score, (const light_target *t, const float *light, int n, float *score, float *best),
     (t, light, n, score, best))
LOOP(light_score_coded, (const light_target *t, const float *table, const uint8_t *coded, int n, float *score, float *best),
     (t, table, coded, n, score, best))
LOOP(light_realign, (const float *fine, int finer, const uint8_t *coded, int w, int h, float right, float down, float *spare, float *light),
     (fine, finer, coded, w, h, right, down, spare, light))

void light_decode(const float table[256], const uint8_t *coded, int n, float *light) {
    for (int i = 0; i < n; i++) {
        const uint8_t *c = coded + 4 * (long)i;
        light[3 * i] = table[c[0]];
        light[3 * i + 1] = table[c[1]];
        light[3 * i + 2] = table[c[2]];
    }
}
