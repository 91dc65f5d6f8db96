// Numbers in lanes, for one instruction set. What is worked out is the same, to the last bit, in
// every one: no product is fused with a sum, which C11 forbids unless it is asked for, and sums go
// lane by lane. It is written out rather than left to the compiler, which keeps a loop with a choice
// in it going one pixel at a time.
#ifndef ECART_LANES_H
#define ECART_LANES_H

#include <stdint.h>
#include <string.h>

#if !defined(LANES) || !defined(NAME)
#error "loops_*.c says for which instruction set"
#endif

#define INLINE static inline __attribute__((always_inline))

// LANES is how many there are in a register; SUMS how many there are of each sum, in all sets.
enum { SUMS = 16 };
typedef float lanes __attribute__((vector_size(4 * LANES)));
typedef int32_t mask __attribute__((vector_size(4 * LANES)));

// get and put move at most LANES numbers.
INLINE lanes get(const float *p, int n) {
    lanes v = {0};
    if (n >= LANES)
        memcpy(&v, p, sizeof v);
    else
        memcpy(&v, p, n * sizeof *p);
    return v;
}

INLINE void put(float *p, lanes v, int n) {
    if (n >= LANES)
        memcpy(p, &v, sizeof v);
    else
        memcpy(p, &v, n * sizeof *p);
}

INLINE lanes pick(mask yes, lanes a, lanes b) { return (lanes)(((mask)a & yes) | ((mask)b & ~yes)); }
INLINE lanes all(float a) { return a - (lanes){0}; }
INLINE lanes least(lanes a, lanes b) { return pick(a < b, a, b); }
INLINE lanes most(lanes a, lanes b) { return pick(a > b, a, b); }

#endif
