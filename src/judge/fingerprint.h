/* fingerprint.h - a name for a finding that stays the same when its file is edited
 * elsewhere: made of its rule, its parts and its subject, never of where it stands. */
#ifndef RT_FINGERPRINT_H
#define RT_FINGERPRINT_H
#include "judge/judge.h"

#define FINGERPRINT_LENGTH 16 /* digits, 0-9 and a-f */

/* Gives every finding its fingerprint; the second and further ones of the same rule, parts and
 * subject are told apart by their number. False when memory runs out. */
bool fingerprint_all(struct arena *arena, struct finding *findings, size_t count);
#endif
