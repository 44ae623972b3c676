/* sheet.h - a rig as a checklist to be printed: what the three forms of `rigtally sheet` are
 * written from. The words are put together once, raw, in the rig's arena; each form only lays
 * them out and escapes them for its sink. Private to the report layer. */
#ifndef RT_REPORT_SHEET_H
#define RT_REPORT_SHEET_H
#include "report/report.h"

#define SHEET_ROWS_MAX 1000 /* of one list or table; what is left out is counted */

enum sheet_place {
    SHEET_GLANCE,
    SHEET_FINDINGS,
    SHEET_QUESTIONS,
    SHEET_BUYING,
    SHEET_STEPS,
    SHEET_LOCAL,
    SHEET_ASSUMED,
    SHEET_ORIGINS,
    SHEET_PLACES
};

/* All lists grow in the rig's arena. */
#define SHEET_LIST(type)                                                                           \
    struct {                                                                                       \
        type *at;                                                                                  \
        size_t count, room;                                                                        \
    }

/* One thing said of another: "where", "panel (line 14)". */
struct sheet_fact {
    const char *label;
    const char *words;
    bool lines; /* `words` are lines, each ended by \n, that keep their leading blanks */
};
struct sheet_facts {
    SHEET_LIST(struct sheet_fact);
};

struct sheet_item {
    const char *mark; /* "error 1"; NULL: none */
    enum level level; /* of the mark */
    const char *words;
    struct sheet_facts facts;
    SHEET_LIST(size_t) notes; /* numbers of sources, from 1 */
};

enum sheet_style {
    SHEET_PLAIN,    /* items as they are */
    SHEET_TICKED,   /* each with a box to tick */
    SHEET_NUMBERED, /* the same, to be done in this order */
    SHEET_ASKED,    /* a box, and room for the answer */
};

struct sheet_column {
    const char *heading;
    bool number; /* set to the right */
};

struct sheet_table {
    const char *caption; /* what it is a table of */
    bool ticked;         /* each row with a box, for what stands in the column `named` */
    size_t named;
    const struct sheet_column *columns;
    size_t column_count;
    SHEET_LIST(const char *) cells; /* row by row */
    size_t left_out;                /* rows */
};

/* What stands together in a section, in this order; most of it is empty in most. */
struct sheet_group {
    const char *heading; /* NULL: none */
    const char *words;   /* NULL: none */
    bool goes_on;        /* the words go on where the heading ends */
    bool drawn;          /* beside it the circuits are drawn, in a form that can show that */
    struct sheet_facts facts;
    enum sheet_style style;
    SHEET_LIST(struct sheet_item) items;
    size_t left_out; /* items */
    struct sheet_table table;
    SHEET_LIST(const char *) blanks; /* what is to be filled in by hand */
};

struct sheet_section {
    const char *name; /* "findings": for links */
    const char *heading;
    bool narrow; /* reads well in narrow columns */
    bool small;  /* for looking up, not for reading */
    SHEET_LIST(struct sheet_group) groups;
};

struct sheet {
    const struct report_rig *rig;
    const char *title, *verdict, *sum;
    struct sheet_section sections[SHEET_PLACES];
    SHEET_LIST(const char *) notes; /* sources; the first is number 1 */
    struct sheet_group lost;        /* what was added when memory was out */
};

/* `steps`: a judgement of JUDGE_STEPS. What it makes lives in the arena of rig->rig, which must be
 * there. NULL when memory runs out; there is no other failure. */
const struct sheet *sheet_make(const struct report_rig *rig, const struct judgement *steps,
                               const char *version);

void sheet_html(struct text *out, const struct sheet *sheet);
void sheet_markdown(struct text *out, const struct sheet *sheet);
void sheet_text(struct text *out, const struct sheet *sheet);

/* ---- while it is made ---- */

struct sheet_maker {
    struct arena *arena;
    const struct report_rig *rig;
    const struct judgement *steps;
    const char *version;
    struct sheet *sheet;
    struct text words; /* being put together */
    struct names *noted;
    bool failed; /* memory ran out; what is added afterwards is lost */
};

/* What was put together in maker->words, kept; never NULL. */
const char *sheet_keep(struct sheet_maker *maker);
/* The same of a format. */
const char *sheet_say(struct sheet_maker *maker, const char *format, ...)
    __attribute__((format(printf, 2, 3)));
/* Adds a group to a section; never NULL (one that is thrown away when memory is out). */
struct sheet_group *sheet_add_group(struct sheet_maker *maker, enum sheet_place place,
                                    const char *heading);
/* Adds an item; NULL when there are SHEET_ROWS_MAX, or no memory. */
struct sheet_item *sheet_add_item(struct sheet_maker *maker, struct sheet_group *group,
                                  const char *words);
void sheet_add_fact(struct sheet_maker *maker, struct sheet_facts *facts, const char *label,
                    const char *words);
/* Adds a row of table->column_count cells, unless there are SHEET_ROWS_MAX. */
void sheet_add_row(struct sheet_maker *maker, struct sheet_table *table, const char *const *cells);
/* Prose of a rule, in which a line end is no more than a blank. */
const char *sheet_prose(struct sheet_maker *maker, const char *prose);

/* "pump: circulator-19w-12v", "level: a float-switch". */
const char *sheet_part_words(struct sheet_maker *maker, const struct part *part);
/* A reminder about the order, which stands with what is to be bought. */
bool sheet_is_of_list(const struct rule *rule);

/* What is in the rig and does at bright-noon. */
void sheet_make_glance(struct sheet_maker *maker);
/* What has to be ordered. */
void sheet_make_buying(struct sheet_maker *maker);
#endif
