/* explain.c - the physics' own working of a solved value. */
#include "solve/solve.h"

void solve_working(const struct rig *rig, size_t part, int attribute, enum condition condition, struct text *out)
{
    (void)rig;
    (void)part;
    (void)attribute;
    (void)condition;
    (void)out;
}
