/* level.h - how bad a finding is. Order: the worst first. */
#ifndef RT_LEVEL_H
#define RT_LEVEL_H

enum level {
    LEVEL_ERROR,    /* will not work, or can hurt */
    LEVEL_CAUTION,  /* thin, wearing or doubtful */
    LEVEL_QUESTION, /* a figure is missing: ask the seller */
    LEVEL_REMINDER, /* cannot be computed: check on site, local code */
    LEVEL_COUNT
};

const char *level_name(enum level level); /* "error", "caution", ... */
#endif
