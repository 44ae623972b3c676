/* mend.h - looks for changes to a rig that make a promise hold. Each change is
 * tried: the whole rig is read, solved and judged anew with it, and only one that
 * ends the finding and brings no other counts. Changes are those of the catalogue:
 * another entry in a part's place, one more part in a run, more of a panel or
 * battery in parallel. The nearest to what is there are tried first. */
#ifndef RT_MEND_H
#define RT_MEND_H
#include "judge/judge.h"

enum {
    MEND_WAYS = 3,          /* are enough to choose from */
    MEND_TRIES_EACH = 600,  /* for one finding */
    MEND_TRIES_ALL = 6000,  /* for one rig */
    MEND_EFFECTS = 2,       /* figures shown before and after */
    MEND_DROPPED_MOST = 16, /* figures that go with the old part; a change with more is not tried */
};

enum mend_how { MEND_SWAP, MEND_ADD, MEND_PARALLEL };

struct mend_change {
    enum mend_how how;
    const char *part;          /* which changes; ADD: the run that takes one more */
    struct place at;           /* where it stands */
    const char *before;        /* SWAP: the entry, or (written out in the file) the kind, it was */
    const struct entry *entry; /* SWAP, ADD */
    const char *dropped[MEND_DROPPED_MOST]; /* SWAP: figures given beside it that have to go */
    size_t dropped_count;
    const char *added; /* ADD: the new part's id */
    bool last;         /* ADD: at the run's `to` end */
    double distance_m; /* ADD: from its `from` end; NAN: need not be said */
    unsigned parallel; /* PARALLEL: so many, in place of ... */
    unsigned were;
};

/* A figure that the promise rests on, before and after. */
struct mend_effect {
    const char *name; /* "buck-pump.drop_share" */
    struct value before, after;
    const char *unit;      /* in which it is printed, */
    const char *customary; /* and the one in its place in US customary units (NULL: as a rule) */
};

struct mend_way {
    struct mend_change change;
    struct mend_effect effects[MEND_EFFECTS];
    size_t effect_count;
};

struct mend {
    const struct finding *finding;
    struct mend_way ways[MEND_WAYS];
    size_t way_count;
    size_t tried; /* changes */
};

struct mends {
    const struct mend *at; /* errors first, then cautions, each in file order */
    size_t count;
    /* One way of each, as far as they go together, and what is left then. */
    const struct mend_change *together;
    size_t together_count;
    size_t left[LEVEL_COUNT];
};

/* What rigs are read and judged by. */
struct mend_bench {
    const struct store *store;
    const struct rulebook *book;
    const struct defaults *defaults;
    const struct rig_settings *settings; /* NULL: none */
    const char *today;                   /* as in judge_options */
};

/* Looks for mends of every error and caution of a rig that its owner has not accepted. `root` is
 * the tree of the rig file; `rig` was read from it and solved, and `judgement` is of that rig, with
 * values. Everything in *out lives in `arena`. OUTCOME_OK or OUTCOME_NO_MEMORY. */
enum outcome mend_find(struct arena *arena, const struct mend_bench *bench, const struct node *root,
                       const struct rig *rig, const struct judgement *judgement, struct mends *out);
#endif
