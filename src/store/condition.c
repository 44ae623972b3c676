/* condition.c - the names of conditions and practices. */
#include <string.h>

#include "store/store.h"

static const char *const conditions[CONDITION_COUNT] = {
#define CONDITION(symbol, name, about) name,
#include "store/condition.def"
#undef CONDITION
};

static const char joined[] =
#define CONDITION(symbol, name, about) ", " name
#include "store/condition.def"
#undef CONDITION
    ;

const char *condition_list(void)
{
    return joined + 2; /* behind the first comma */
}

const char *condition_name(enum condition condition)
{
    return conditions[condition];
}

bool condition_find(const char *name, enum condition *out)
{
    for (unsigned i = 0; i < CONDITION_COUNT; i++) {
        if (strcmp(conditions[i], name) == 0) {
            *out = (enum condition)i;
            return true;
        }
    }
    return false;
}

static const char *const practices[] = {
    [PRACTICE_IEC] = "iec",
    [PRACTICE_NORTH_AMERICA] = "north-america",
};

const char *practice_name(enum practice practice)
{
    return practices[practice];
}

bool practice_find(const char *name, enum practice *out)
{
    for (enum practice i = PRACTICE_IEC; i <= PRACTICE_NORTH_AMERICA; i++) {
        if (strcmp(practices[i], name) == 0) {
            *out = i;
            return true;
        }
    }
    return false;
}
