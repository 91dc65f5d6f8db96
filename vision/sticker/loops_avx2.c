// The loops for machines with AVX2.
#if defined(__x86_64__)
#pragma GCC target("avx2")
#define LANES 8
#define NAME(f) f##_avx2
#include "loops_light.h"
#include "loops_rim.h"
#include "loops_sum.h"
#include "loops_pull.h"
#endif
