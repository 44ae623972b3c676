/* roughness.h - how rough a pipe of a material is inside. */
#ifndef RT_ROUGHNESS_H
#define RT_ROUGHNESS_H

/* Absolute roughness in m of a new pipe of that material (copper, hdpe,
 * pvc-hose ...); NAN for a material that no row covers. The table in
 * roughness.c says which published row stands for which word. */
double roughness_m(const char *material);

/* Hazen-Williams C of the same row; NAN as above. */
double roughness_hazen_williams(const char *material);

#endif
