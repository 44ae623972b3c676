/* output.h - files that the tool writes: whole, or not at all. */
#ifndef RT_OUTPUT_H
#define RT_OUTPUT_H
#include "base/text.h"

/* Writes the text under a temporary name in the same folder and renames it: a file of that name is
 * replaced at once or stays as it was. A link is never followed, neither one in the file's place
 * nor one in place of its folder; what is no plain file is not replaced. False: a complaint was
 * made. */
bool output_write(const char *path, const struct text *text);
#endif
