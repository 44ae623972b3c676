/* place.h - where something stands in a file: 1-based line, 1-based column in
 * code points. line 0 means no place (built in, or the file as a whole). */
#ifndef RT_PLACE_H
#define RT_PLACE_H

struct place {
    const char *file; /* as shown to the user; owned by the reader's arena; NULL when built in */
    unsigned line, column;
};
#endif
