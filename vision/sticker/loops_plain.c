// The loops for any machine.
#define LANES 4
#define NAME(f) f##_plain
#include "loops_light.h"
#include "loops_rim.h"
#include "loops_sum.h"
#include "loops_pull.h"
