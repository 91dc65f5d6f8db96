// Numbers in lanes, for one instruction set. What is worked out is the same, to the last bit, in
// every one: no product is fused with a sum, which C11 forbids unless it is asked for, roots and
// quotients are rounded as IEEE 754 has it, and sums go lane by lane. It is written out rather than
// left to the compiler, which keeps a loop with a choice in it going one pixel at a time.
#ifndef ECART_LANES_H
#define ECART_LANES_H

#include <math.h>
#include <stdint.h>
#include <string.h>
#if defined(__x86_64__)
#include <immintrin.h>
#elif defined(__aarch64__)
#include <arm_neon.h>
#endif

#if !defined(LANES) || !defined(NAME)
#error "loops_*.c says for which instruction set"
#endif

#define INLINE static inline __attribute__((always_inline))
#define ALIGNED __attribute__((aligned(64)))

// LANES is how many there are in a register; SUMS how many there are of each sum, in all sets; BLOCK
// how many pixels are worked on at a time: a multiple of both, and few enough for the nearest cache.
enum { SUMS = 16, BLOCK = 128 };
typedef float lanes __attribute__((vector_size(4 * LANES)));
typedef int32_t mask __attribute__((vector_size(4 * LANES)));

INLINE lanes load(const float *p) {
    lanes v;
    memcpy(&v, p, sizeof v);
    return v;
}

INLINE void store(float *p, lanes v) { memcpy(p, &v, sizeof v); }

// get and put move at most LANES numbers.
INLINE lanes get(const float *p, int n) {
    lanes v = {0};
    if (n >= LANES) return load(p);
    memcpy(&v, p, n * sizeof *p);
    return v;
}

INLINE void put(float *p, lanes v, int n) {
    if (n >= LANES)
        store(p, v);
    else
        memcpy(p, &v, n * sizeof *p);
}

INLINE lanes pick(mask yes, lanes a, lanes b) { return (lanes)(((mask)a & yes) | ((mask)b & ~yes)); }
INLINE lanes all(float a) { return a - (lanes){0}; }
INLINE lanes least(lanes a, lanes b) { return pick(a < b, a, b); }
INLINE lanes most(lanes a, lanes b) { return pick(a > b, a, b); }

INLINE lanes root(lanes a) {
#if LANES == 8 && defined(__AVX2__)
    return _mm256_sqrt_ps(a);
#elif LANES == 4 && defined(__x86_64__)
    return _mm_sqrt_ps(a);
#elif LANES == 4 && defined(__aarch64__)
    return vsqrtq_f32(a);
#else
    for (int c = 0; c < LANES; c++) a[c] = sqrtf(a[c]);
    return a;
#endif
}

#endif
