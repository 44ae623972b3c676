/* level.c - the levels' names. */
#include "base/level.h"

const char *level_name(enum level level)
{
    switch (level) {
    case LEVEL_ERROR:
        return "error";
    case LEVEL_CAUTION:
        return "caution";
    case LEVEL_QUESTION:
        return "question";
    case LEVEL_REMINDER:
        return "reminder";
    case LEVEL_COUNT:
        break;
    }
    return "";
}
